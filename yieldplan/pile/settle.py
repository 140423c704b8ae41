"""The next input: the pile as a batch leaves it, written into the input that it was planned from."""

from __future__ import annotations

from collections import Counter
from typing import TYPE_CHECKING

from yieldplan.model.kept import said_rings
from yieldplan.model.words import fold
from yieldplan.workbook.edit import Copied, typed_length
from yieldplan.workbook.grid import Faults
from yieldplan.workbook.layouts import BLANKS, CUT, DEFECTS, OFFCUTS
from yieldplan.workbook.open_edit import edit_input
from yieldplan.workbook.source import open_source

if TYPE_CHECKING:
    from collections.abc import Mapping
    from pathlib import Path

    from yieldplan.model import Blank, Defect, Job, Offcut, Shop
    from yieldplan.pile.settlement import Settlement
    from yieldplan.workbook.edit import SheetEdit, Value
    from yieldplan.workbook.open_edit import InputEdit

CAME = ("Date", "Plan", "What came of it", "Defects")
"""The headings of the sheet Cut beside those of Offcuts."""

AS_THE_BOARD = ("Species", "Moisture", "Grain slope", "Rack")
"""What a keeper has of its board's row, cell for cell."""


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

    def _rows(self, name: str, heading: str) -> dict[str, list[int]]:
        """Return the rows of a sheet by the folded name that stands under a heading."""
        column, found = self._sheet(name).column(heading), dict[str, list[int]]()
        for number, cells in self._grids[name].rows[1:]:
            if column is not None and column in cells:
                found.setdefault(fold(cells[column].text), []).append(number)
        return found

    def _boards(self) -> dict[str, int]:
        """Return the row of each board of the pile, by its folded name."""
        return {name: rows[0] for name, rows in self._rows(OFFCUTS.name, "Offcut").items()}

    def _strike(self) -> None:
        """Move the boards that are cut to the sheet Cut, and count like ones down."""
        pile = self._sheet(OFFCUTS.name)
        rows = self._boards()
        headings = tuple(text for _, text in pile.heads)
        cut = self.edit.sheet(CUT) or self.edit.new_sheet(CUT, (*CAME[:3], *headings, CAME[3]))
        for board in self.settled.boards:
            row, offcut = rows[fold(board.offcut.name)], board.offcut
            values: dict[str, Value] = {"Plan": self.settled.plan, "What came of it": board.gave}
            values |= {"Date": self.date} if self.date else {}
            if offcut.qty > 1:
                values |= {"Offcut": board.name, "Qty": 1}
            if offcut.defects:
                values["Defects"] = "; ".join(_said(offcut, one, self.job.shop) for one in offcut.defects)
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
        if (marked := self.edit.sheet(DEFECTS.name)) is not None:
            on = self._rows(DEFECTS.name, "Offcut")
            marked.strike([row for name in struck for row in on.get(fold(name), ())])

    def _keep(self) -> None:
        """Add keepers as new rows of Offcuts, and their defects."""
        pile, shop = self._sheet(OFFCUTS.name), self.job.shop
        rows = self._boards()
        boards = {board.name: board.offcut.name for board in self.settled.boards}
        for piece in self.settled.kept:
            row = rows[fold(boards[piece.origin])]
            pile.add(_cells(piece, shop), Copied(sheet=pile, row=row, headings=AS_THE_BOARD))
            for one in piece.defects:
                self._sheet(DEFECTS.name).add(_defect_cells(piece, one, shop))

    def _count(self) -> None:
        """Take what was made good off Need, and what is more than that off a number under Spare."""
        batch, good = self._sheet(BLANKS.name), dict(self.settled.good)
        rows = self._rows(BLANKS.name, "Blank")
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


def _cells(piece: Offcut, shop: Shop) -> Mapping[str, Value]:
    """Return a keeper's row of Offcuts, but for what it has of its board's row; only cells that hold something."""
    near, far = said_rings(piece, shop) or ("", "")
    lengths = ("length", "width", "thickness", "bow", "crook", "cup", "twist")
    measures = {name.title(): steps for name in lengths if (steps := getattr(piece, name))}
    cells: dict[str, Value] = {
        "Offcut": piece.name,
        **{heading: typed_length(steps, shop.units) for heading, steps in measures.items()},
        "Ring angle": near,
        "Ring angle far": far,
        "Kink at": "; ".join(str(typed_length(place, shop.units)) for place in piece.kinks),
        "From": piece.origin,
        "Note": piece.note,
    }
    return {heading: value for heading, value in cells.items() if value != ""}


def _defect_cells(piece: Offcut, one: Defect, shop: Shop) -> Mapping[str, Value]:
    """Return a row of Defects for a defect of a keeper; only cells that hold something."""
    lengths = {"From": one.x1, "To": one.x2}
    if (one.y1, one.y2) != (0, piece.width):
        lengths |= {"Edge from": one.y1, "Edge to": one.y2}
    face = {}
    if not one.through:
        face = {"Face": "1" if one.z1 == 0 else "2"}
        lengths["Depth"] = one.z2 if one.z1 == 0 else piece.thickness - one.z1
    return {
        "Offcut": piece.name,
        "Kind": one.kind,
        **{heading: typed_length(steps, shop.units) for heading, steps in lengths.items()},
        **face,
        **({"Note": one.note} if one.note else {}),
    }


def _said(offcut: Offcut, one: Defect, shop: Shop) -> str:
    """Return a defect in words, for people who look a struck board up."""
    cells = _defect_cells(offcut, one, shop)
    text = f"{one.kind} {cells['From']} to {cells['To']}"
    if "Edge from" in cells:
        text += f", edge {cells['Edge from']} to {cells['Edge to']}"
    if "Face" in cells:
        text += f", face {cells['Face']} {cells['Depth']} deep"
    return f"{text} ({one.note})" if one.note else text
