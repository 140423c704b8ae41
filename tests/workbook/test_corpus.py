"""Hundreds of broken and odd inputs: each has its message, or what is understood of it.

``python tests/workbook/test_corpus.py`` writes what is expected anew; read the difference before it is kept.
"""

from __future__ import annotations

import sys
import tempfile
from pathlib import Path
from typing import TYPE_CHECKING

import pytest
from corpus import CASES
from sane import check_job, check_refusal

from yieldplan.measure import write
from yieldplan.model import InputError, Job
from yieldplan.workbook import read

if TYPE_CHECKING:
    from collections.abc import Sequence

    from yieldplan.model import Problem

EXPECTED = Path(__file__).with_name("corpus.tsv")


def outcome(name: str, parent: Path) -> str:
    """Return what becomes of a case, on one line."""
    try:
        job = read(CASES[name](parent))
    except InputError as error:
        check_refusal(error)
        return "refused: " + _all(error.problems)
    check_job(job)
    return " | ".join(filter(None, (f"read: {understood(job)}", _all(job.warnings))))


_TOLD = 5
"""Problems of a case that are kept whole; more are counted."""


def _all(problems: Sequence[Problem]) -> str:
    """Return what is said of an input, warnings among it with that word."""
    told = [f"{'Warning: ' if p.severity == 'warning' else ''}{p.sentence()}" for p in problems[:_TOLD]]
    more = [f"and {len(problems) - _TOLD} more"] if len(problems) > _TOLD else []
    return " | ".join(told + more)


def understood(job: Job) -> str:
    """Return the first offcut and the first blank, and how many there are."""
    one, blank = job.offcuts[0], job.blanks[0]
    sizes = " x ".join(write(size, "inch") for size in (one.length, one.width, one.thickness))
    words = [
        f"{len(job.offcuts)}",
        one.name,
        sizes,
        f"qty {one.qty}",
        one.species[:40],
        write(one.bow, "inch"),
    ]
    words += [f"ring {one.ring_angle}", f"moist {one.moisture}", one.rack[:40], f"defects {len(one.defects)}"]
    return "; ".join(
        [*words, f"{len(job.blanks)}", f"{blank.need} {blank.name}{' in pairs' if blank.pairs else ''}"]
    )


def expected() -> dict[str, str]:
    """Return what is expected of each case."""
    lines = EXPECTED.read_text(encoding="utf-8").splitlines()
    return dict(line.split("\t") for line in lines)


WANTED = expected() if EXPECTED.exists() else {}


@pytest.mark.parametrize("name", CASES)
def test_each_input_is_answered_as_expected(name: str, tmp_path: Path) -> None:
    """The message says place, value, what was expected and the next step; or the meaning is the one that is meant."""
    assert outcome(name, tmp_path) == WANTED[name]


def test_the_corpus_is_whole() -> None:
    """Every case has its expectation and the other way round, and there are at least five hundred."""
    assert list(WANTED) == list(CASES)
    assert len(CASES) >= 500


def main() -> None:
    """Write what becomes of every case."""
    lines = []
    for name in CASES:
        with tempfile.TemporaryDirectory() as folder:
            lines.append(f"{name}\t{outcome(name, Path(folder))}\n")
    EXPECTED.write_text("".join(lines), encoding="utf-8")


if __name__ == "__main__":
    sys.path.insert(0, str(Path(__file__).parents[1]))
    main()
