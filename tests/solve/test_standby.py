"""Whether one offcut gives several blanks all together."""

from __future__ import annotations

from dataclasses import replace

import pytest

from yieldplan.model import Blank, Defect, Job, Offcut
from yieldplan.solve import standby
from yieldplan.solve.standby import Giver

INCH = 8128
PIECE = Offcut(name="P", length=30 * INCH, width=5 * INCH, thickness=2 * INCH, species="oak")
RIB = Blank(name="Rib", need=9, length=12 * INCH, width=2 * INCH, thickness=3 * INCH // 2)
CLEAT = Blank(
    name="Cleat", need=1, length=6 * INCH, width=2 * INCH, thickness=3 * INCH // 2, species=("oak",)
)
JOB = Job(offcuts=(PIECE,), blanks=(RIB, CLEAT))


@pytest.mark.parametrize(
    ("ribs", "cleats", "gives"),
    [(4, 0, True), (5, 0, False), (3, 2, True), (4, 1, False), (0, 8, True), (2, 4, True), (2, 5, False)],
)
def test_counts_that_fit_together(ribs: int, cleats: int, gives: bool) -> None:
    """Two strips of 29 in between the trims: two ribs of 12 1/2 in each, or a rib and two cleats, or four cleats."""
    counts = {name: count for name, count in (("Rib", ribs), ("Cleat", cleats)) if count}
    assert Giver(JOB)(PIECE, counts) is gives


def test_what_the_wood_forbids_it_does_not_give() -> None:
    """Another species, a kink in the middle of every strip, or a check right across stop what would fit."""
    giver = Giver(JOB)
    check = Defect(kind="check", x1=8 * INCH, x2=9 * INCH, y1=0, y2=5 * INCH, z1=0, z2=2 * INCH)
    assert giver(PIECE, {"Rib": 2, "Cleat": 1})
    assert not giver(replace(PIECE, species="ash"), {"Rib": 2, "Cleat": 1})
    assert not giver(replace(PIECE, kinks=(10 * INCH,)), {"Rib": 4})
    assert not giver(replace(PIECE, defects=(check,)), {"Rib": 4})
    assert giver(replace(PIECE, defects=(check,)), {"Rib": 2})


def test_it_looks_only_so_long(monkeypatch: pytest.MonkeyPatch) -> None:
    """Once the work for a whole order is spent nothing more is found; each question that is new costs some."""
    gives = Giver(JOB)
    assert gives(PIECE, {"Rib": 1})
    spent = gives.spent
    assert spent >= standby.ASKING
    assert gives(PIECE, {"Rib": 1})
    assert gives.spent == spent
    monkeypatch.setattr(standby, "MOST_IN_ALL", spent / 2)
    assert not gives(PIECE, {"Rib": 1})
    assert Giver(JOB)(PIECE, {"Rib": 1})
