"""The smallest job there is: one Rib out of one offcut, its only plan, and a run of the command line."""

from __future__ import annotations

import csv
from typing import TYPE_CHECKING

from yieldplan.cli import main
from yieldplan.model import Billet, CutBlank, Job, OffcutPlan, Plan, Stick, Strip
from yieldplan.model.shop import INCH
from yieldplan.solve import Solution
from yieldplan.solve.assemble import assemble

if TYPE_CHECKING:
    from pathlib import Path

    import pytest

OFFCUTS = [["Offcut", "Length", "Width", "Thickness"], ["P1", "14", "2 3/8", "1 1/4"]]
BLANKS = [["Blank", "Need", "Length", "Width", "Thickness"], ["Rib", "1", "12", "2", "1"]]


def folder(path: Path, offcuts: list[list[str]] = OFFCUTS, blanks: list[list[str]] = BLANKS) -> Path:
    """Write a csv folder and return it."""
    path.mkdir()
    for name, rows in (("offcuts.csv", offcuts), ("blanks.csv", blanks)):
        with (path / name).open("w", newline="", encoding="utf-8") as file:
            csv.writer(file).writerows(rows)
    return path


def one_rib(job: Job, *, price: int | None = None) -> Plan:
    """Return the plan that cuts one Rib out of P1: ends off, planed on all sides, nothing to rip or resaw."""
    skim, half = INCH // 16, INCH // 2
    cut = CutBlank(blank="Rib", start=INCH, end=13 * INCH)
    stick = Stick(start=0, end=INCH + skim, blanks=(cut,))
    billet = Billet(
        start=half,
        end=13 * INCH + half,
        layout="rip first",
        face_loss=skim,
        edge_loss=skim,
        strips=(Strip(start=0, end=2 * INCH + INCH // 8, sticks=(stick,)),),
    )
    drawn = (OffcutPlan(offcut="P1", copy=1, billets=(billet,)),)
    known = assemble(job, drawn, price=price).proof
    return assemble(job, drawn, bound=known.cost, missing_at_least=dict(known.missing), price=price)


def found(job: Job, **_: object) -> Solution:
    """Stand in for the search: its known answer for the pile."""
    return Solution(plan=one_rib(job), ended="it is proven", coarse=(), alternatives=())


class Streams:
    """What one run wrote, and its exit status."""

    def __init__(self, capsys: pytest.CaptureFixture[str], *args: object) -> None:
        self.status = main([str(arg) for arg in args])
        self.out, self.err = capsys.readouterr()
