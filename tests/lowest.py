"""Run the tests with the lowest versions that pyproject.toml allows of everything that yieldplan needs.

    python tests/lowest.py [FOLDER [PYTEST ARGUMENTS]]

Makes a virtual environment in FOLDER (.venv-lowest beside pyproject.toml), installs every dependency at its lower
bound there, and runs the tests in it; their own tools are the newest that are allowed. `.ci/run` runs the tests with
the highest versions.
"""

from __future__ import annotations

import re
import subprocess
import sys
import tomllib
import venv
from pathlib import Path

ROOT = Path(__file__).resolve().parents[1]


def lowest(requirements: list[str]) -> list[str]:
    """Return each requirement pinned to its lower bound: ``rich>=13.7,<16`` to ``rich==13.7``.

    Raises
    ------
    ValueError
        If one has no lower bound.
    """
    pinned = []
    for requirement in requirements:
        match = re.match(r"([A-Za-z0-9_.-]+)\s*>=\s*([0-9.]+)", requirement)
        if match is None:
            raise ValueError(f"{requirement} has no lower bound; write one into pyproject.toml")
        pinned.append(f"{match[1]}=={match[2]}")
    return pinned


def main(arguments: list[str]) -> int:
    """Make the environment, run the tests in it and return their exit status."""
    folder = Path(arguments[0]) if arguments else ROOT / ".venv-lowest"
    project = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    pins = lowest(project["dependencies"])
    python = folder / ("Scripts" if sys.platform == "win32" else "bin") / "python"
    if not python.exists():
        venv.create(folder, with_pip=True)
    print("with", ", ".join(pins), flush=True)
    install = [str(python), "-m", "pip", "install", "-q", *pins, *project["optional-dependencies"]["test"]]
    subprocess.run(install, check=True)
    subprocess.run([str(python), "-m", "pip", "install", "-q", "--no-deps", "-e", str(ROOT)], check=True)
    return subprocess.run(
        [str(python), "-m", "pytest", "-q", *arguments[1:]], cwd=ROOT, check=False
    ).returncode


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
