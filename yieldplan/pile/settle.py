"""The next input: the pile as a batch leaves it, written into the input that it was planned from."""

from __future__ import annotations

from collections import Counter
from typing import TYPE_CHECKING

from yieldplan.measure import write
from yieldplan.model.words import fold
from yieldplan.pile.rack import AS_THE_BOARD, cells_of, defect_cells
from yieldplan.workbook.edit import Copied
from yieldplan.workbook.grid import Faults
from yieldplan.workbook.layouts import BLANKS, CUT, DEFECTS, OFFCUTS
from yieldplan.workbook.open_edit import edit_input
from yieldplan.workbook.source import open_source

if TYPE_CHECKING:
    from collections.abc import Mapping
    from pathlib import Path

    from yieldplan.model import Blank, Defect, Job, Offcut
    from yieldplan.pile.settlement import Settlement
    from yieldplan.workbook.edit import InputEdit, SheetEdit, Value
    from yieldplan.workbook.grid import Grid

CAME = ("Date", "Plan", "What came of it", "Defects")
"""The headings of the sheet Cut beside those of Offcuts."""


def next_input(source: Path, job: Job, settled: Settlement, date: str = "") -> Mapping[str, bytes]:
    """Return the files of the next input by their names; a workbook is one, under ``""``.

    Boards that are cut stand on the sheet Cut, keepers as new rows of Offcuts, Need is what is still to be made; all
    else is as it was. The same batch gives the same bytes.

    Parameters
    ----------
    source, job
        The input that the plan was made from, and what was read from it.
    settled
        What the batch leaves.
    date
        What stands under Date on the sheet Cut.
    """
    return _Next(source, job, settled, date).contents()


class _Next:
    """One input being taken on to the next."""

    def __init__(self, source: Path, job: Job, settled: Settlement, date: str) -> None:
        self.job, self.settled, self.date = job, settled, date
        self.edit: InputEdit = edit_input(source)
        self._grids = open_source(source, Faults()).grids

    def contents(self) -> Mapping[str, bytes]:
        """Return the changed input."""
        if self.settled.boards:
            self._strike()
            self._keep()
            self._count()
        return self.edit.contents()

    def _sheet(self, name: str) -> SheetEdit:
        sheet = self.edit.sheet(name)
        assert sheet is not None
        return sheet

    def _rows(self, name: str, sheet: SheetEdit, heading: str) -> dict[str, list[int]]:
        """Return the rows of a sheet by the folded name that stands under a heading."""
        column, found = sheet.column(heading), dict[str, list[int]]()
        grid: Grid = self._grids[name]
        for number, cells in grid.rows[1:]:
            if column is not None and column in cells:
                found.setdefault(fold(cells[column].text), []).append(number)
        return found

    def _strike(self) -> None:
        """Move the boards that are cut to the sheet Cut, and count like ones down."""
        pile = self._sheet(OFFCUTS.name)
        rows = {name: own[0] for name, own in self._rows(OFFCUTS.name, pile, "Offcut").items()}
        headings = tuple(text for _, text in pile.heads)
        cut = self.edit.sheet(CUT) or self.edit.new_sheet(CUT, (*CAME[:3], *headings, CAME[3]))
        for board in self.settled.boards:
            row, offcut = rows[fold(board.offcut.name)], board.offcut
            values: dict[str, Value] = {"Plan": self.settled.plan, "What came of it": board.gave}
            values |= {"Date": self.date} if self.date else {}
            if offcut.qty > 1:
                values |= {"Offcut": board.name, "Qty": 1}
            if offcut.defects:
                values["Defects"] = "; ".join(self._said(one, offcut) for one in offcut.defects)
            cut.need(CAME)
            cut.add(values, Copied(sheet=pile, row=row, headings=headings))
        struck = []
        for name, taken in Counter(board.offcut.name for board in self.settled.boards).items():
            left = self.job.offcut(name).qty - taken
            if left:
                pile.put(rows[fold(name)], "Qty", left)
            else:
                struck.append(name)
        pile.strike([rows[fold(name)] for name in struck])
        marked = self.edit.sheet(DEFECTS.name)
        if marked is not None:
            on = self._rows(DEFECTS.name, marked, "Offcut")
            marked.strike([row for name in struck for row in on.get(fold(name), ())])

    def _said(self, one: Defect, offcut: Offcut) -> str:
        """Return a defect in words, for people who look a struck board up."""

        def fig(steps: int) -> str:
            return write(steps, self.job.shop.units, mark=False)

        text = f"{one.kind} {fig(one.x1)} to {fig(one.x2)}"
        if (one.y1, one.y2) != (0, offcut.width):
            text += f", edge {fig(one.y1)} to {fig(one.y2)}"
        if not one.through:
            face, depth = (1, one.z2) if one.z1 == 0 else (2, offcut.thickness - one.z1)
            text += f", face {face} {fig(depth)} deep"
        return f"{text} ({one.note})" if one.note else text

    def _keep(self) -> None:
        """Add keepers as new rows of Offcuts, and their defects."""
        pile, shop = self._sheet(OFFCUTS.name), self.job.shop
        rows = {name: own[0] for name, own in self._rows(OFFCUTS.name, pile, "Offcut").items()}
        boards = {board.name: board.offcut for board in self.settled.boards}
        marked = self.edit.sheet(DEFECTS.name)
        for piece in self.settled.kept:
            row = rows[fold(boards[piece.origin].name)]
            copied = Copied(sheet=pile, row=row, headings=AS_THE_BOARD)
            pile.add(cells_of(piece, shop), copied)
            for one in piece.defects:
                assert marked is not None
                marked.add(defect_cells(piece, one, shop))

    def _count(self) -> None:
        """Take what was made good off Need, and what is more than that off a number under Spare."""
        batch, good = self._sheet(BLANKS.name), dict(self.settled.good)
        rows = self._rows(BLANKS.name, batch, "Blank")
        for blank in self.job.blanks:
            if not good[blank.name]:
                continue
            row = rows[fold(blank.name)][0]
            batch.put(row, "Need", max(0, blank.need - good[blank.name]))
            over = good[blank.name] - blank.need
            if over > 0 and self._is_number(batch, row, blank):
                batch.put(row, "Spare", max(0, blank.spare - over))

    def _is_number(self, batch: SheetEdit, row: int, blank: Blank) -> bool:
        """Return whether spares are asked for as a number; a share of the need falls with it."""
        column = batch.column("Spare")
        cells = dict(self._grids[BLANKS.name].rows)[row]
        cell = cells.get(column) if column else None
        return bool(blank.spare) and cell is not None and cell.kind != "percent" and "%" not in cell.text
