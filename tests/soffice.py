"""A spreadsheet program, where there is one: what it makes of our workbooks."""

from __future__ import annotations

import shutil
import subprocess
from typing import TYPE_CHECKING

import pytest

if TYPE_CHECKING:
    from pathlib import Path

SOFFICE = shutil.which("soffice")
needs_soffice = pytest.mark.skipif(SOFFICE is None, reason="there is no spreadsheet program here")


def saved(path: Path, folder: Path, ending: str = "xlsx") -> Path:
    """Return a file opened by the program and saved in a folder ``saved`` of ``folder``, perhaps as of another kind."""
    out = folder / "saved"
    profile = f"-env:UserInstallation=file://{folder / 'profile'}"
    command = [str(SOFFICE), profile, "--headless", "--convert-to", ending, "--outdir", str(out), str(path)]
    subprocess.run(command, check=True, capture_output=True, timeout=180)
    return out / f"{path.stem}.{ending}"
