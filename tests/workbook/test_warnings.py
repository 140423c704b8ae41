"""When something questionable is told, and in which order; what is told of each case stands in corpus.tsv."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest
from skiff_workbook import Maker, cells

from yieldplan.measure import INCH
from yieldplan.model import InputError
from yieldplan.workbook import read

if TYPE_CHECKING:
    from pathlib import Path


def test_a_turned_row_is_turned(tmp_path: Path) -> None:
    """Width and thickness are exchanged; edges of its defects are measured across the wider face."""
    make = cells(Offcuts_C3="1 1/2", Offcuts_D3="4", Defects_E3="3", Defects_F3=None)
    offcut = read(make(tmp_path)).offcuts[1]
    assert (offcut.width, offcut.thickness) == (4 * INCH, 3 * INCH // 2)
    assert (offcut.defects[0].y1, offcut.defects[0].y2) == (3 * INCH, 4 * INCH)
    assert offcut.ring_angle == 75


def _refused(make: Maker, parent: Path) -> list[str]:
    with pytest.raises(InputError) as refusal:
        read(make(parent))
    return [problem.cell for problem in refusal.value.problems]


def test_no_doubts_over_an_input_that_is_refused(tmp_path: Path) -> None:
    """What no offcut can yield is not guessed at while offcuts are at fault."""
    assert _refused(cells(Offcuts_B3="x", Blanks_C2=60), tmp_path) == ["B3"]


SHORT = {"Offcuts_A4": "A3", "Offcuts_B4": 9, "Offcuts_C4": 4, "Offcuts_D4": 1.5, "Offcuts_F4": "ash"}


def test_an_offcut_that_gives_nothing_is_told_though_another_is_at_fault(tmp_path: Path) -> None:
    """That a sound offcut gives none of the blanks does not hang on the others: all is said in one go."""
    assert _refused(cells(Offcuts_B3="x", **SHORT), tmp_path) == ["B3", "B4"]


def test_an_offcut_is_not_judged_by_a_batch_that_is_at_fault(tmp_path: Path) -> None:
    """The blank whose row cannot be read may be the one that it gives."""
    assert _refused(cells(Blanks_C3="x", **SHORT), tmp_path) == ["C3"]


def test_nothing_is_said_to_give_nothing_where_a_setting_is_doubted(tmp_path: Path) -> None:
    """An end trim of 15 in would leave nothing of any offcut: the setting alone is told."""
    warnings = read(cells(Shop_A3="end trim", Shop_B3=15, **SHORT)(tmp_path)).warnings
    assert [(warning.sheet, warning.cell) for warning in warnings] == [("Shop", "B3")]


def test_warnings_are_told_down_the_sheets(tmp_path: Path) -> None:
    """Offcuts first, row by row and column by column, then Defects, Blanks and Shop: a walk through the workbook."""
    make = cells(
        Shop_B3=3, Blanks_D2="3/4", Blanks_E2="1 1/2", Defects_B2="knots", Offcuts_G3="4", Offcuts_B2="41 1/3"
    )
    warnings = read(make(tmp_path)).warnings
    assert [warning.sheet for warning in warnings] == ["", "Offcuts", "Defects", "Blanks", "Shop"]
