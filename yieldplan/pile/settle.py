"""The next input: the pile as a batch leaves it, written into the input that it was planned from; and its ledger row.

Both are written whole or not at all, over nothing that is there.
"""

from __future__ import annotations

from collections import Counter
from typing import TYPE_CHECKING

from yieldplan.files import check_writable, unless_there, write_set
from yieldplan.measuring.readback import defect_words
from yieldplan.model.errors import ArgumentError
from yieldplan.model.kept import said_rings
from yieldplan.model.words import fold
from yieldplan.pile.ledger import LEDGER, with_row
from yieldplan.workbook.edit import Copied, typed_length
from yieldplan.workbook.edit_xlsx import edit_input
from yieldplan.workbook.grid import Faults
from yieldplan.workbook.layouts import BLANKS, CUT, DEFECTS, OFFCUTS
from yieldplan.workbook.source import open_source

if TYPE_CHECKING:
    from collections.abc import Mapping
    from pathlib import Path

    from yieldplan.files import Content
    from yieldplan.model import Blank, Defect, Job, Offcut, Shop
    from yieldplan.pile.settlement import Settlement
    from yieldplan.workbook.edit import SheetEdit, Value

CAME = ("Date", "Plan", "What came of it", "Defects")
"""The headings of the sheet Cut beside those of Offcuts."""

AS_THE_BOARD = ("Species", "Moisture", "Grain slope", "Rack")
"""What a keeper has of its board's row, cell for cell."""


def next_input(source: Path, job: Job, settled: Settlement, date: str = "") -> Mapping[str, bytes]:
    """Return the files of the next input by their names; a workbook is one, under ``""``.

    Boards that are cut stand on the sheet Cut, keepers as new rows of Offcuts, Need is what is still to be made; all
    else is as it was. The same batch gives the same bytes.

    ``source`` is the input that the plan was made from; ``date`` stands under Date on the sheet Cut.
    """
    following = _Next(source, job, settled)
    if settled.boards:
        following.strike(date)
        following.keep()
        following.count()
    return following.edit.contents()


class _Next:
    """One input being taken on to the next."""

    def __init__(self, source: Path, job: Job, settled: Settlement) -> None:
        self.job, self.settled, self.edit = job, settled, edit_input(source)
        self._grids = open_source(source, Faults()).grids

    def _sheet(self, name: str, heading: str) -> tuple[SheetEdit, dict[str, list[int]]]:
        """Return a sheet, and its rows by the folded name that stands under a heading."""
        sheet, found = self.edit.sheet(name), dict[str, list[int]]()
        assert sheet is not None
        column = sheet.column(heading)
        for number, cells in self._grids[name].rows[1:]:
            if column is not None and column in cells:
                found.setdefault(fold(cells[column].text), []).append(number)
        return sheet, found

    def strike(self, date: str) -> None:
        """Move the boards that are cut to the sheet Cut, and count like ones down."""
        pile, rows = self._sheet(OFFCUTS.name, "Offcut")
        headings = tuple(text for _, text in pile.heads)
        cut = self.edit.sheet(CUT) or self.edit.new_sheet(CUT, (*CAME[:3], *headings, CAME[3]))
        for board in self.settled.boards:
            (row, *_), offcut = rows[fold(board.offcut.name)], board.offcut
            values: dict[str, Value] = {"Plan": self.settled.plan, "What came of it": board.gave}
            values |= {"Date": date} if date else {}
            if offcut.qty > 1:
                values |= {"Offcut": board.name, "Qty": 1}
            if offcut.defects:
                said = ((defect_words(one, offcut, self.job.shop), one.note) for one in offcut.defects)
                values["Defects"] = "; ".join(f"{words} ({note})" if note else words for words, note in said)
            cut.need(CAME)
            cut.add(values, Copied(sheet=pile, row=row, headings=headings))
        struck = []
        for name, taken in Counter(board.offcut.name for board in self.settled.boards).items():
            if left := self.job.offcut(name).qty - taken:
                pile.put(rows[fold(name)][0], "Qty", left)
            else:
                struck.append(fold(name))
        pile.strike([rows[name][0] for name in struck])
        if self.edit.sheet(DEFECTS.name) is not None:
            marked, on = self._sheet(DEFECTS.name, "Offcut")
            marked.strike([row for name in struck for row in on.get(name, ())])

    def keep(self) -> None:
        """Add keepers as new rows of Offcuts, and their defects."""
        (pile, rows), shop = self._sheet(OFFCUTS.name, "Offcut"), self.job.shop
        boards = {board.name: fold(board.offcut.name) for board in self.settled.boards}
        for piece in self.settled.kept:
            (row, *_) = rows[boards[piece.origin]]
            pile.add(_cells(piece, shop), Copied(sheet=pile, row=row, headings=AS_THE_BOARD))
            for one in piece.defects:
                self._sheet(DEFECTS.name, "Offcut")[0].add(_defect_cells(piece, one, shop))

    def count(self) -> None:
        """Take what was made good off Need, and what is more than that off a number under Spare."""
        batch, rows = self._sheet(BLANKS.name, "Blank")
        for blank, (_, good) in zip(self.job.blanks, self.settled.good, strict=True):
            if not good:
                continue
            (row, *_), over = rows[fold(blank.name)], good - blank.need
            batch.put(row, "Need", max(0, -over))
            if over > 0 and self._is_number(batch, row, blank):
                batch.put(row, "Spare", max(0, blank.spare - over))

    def _is_number(self, batch: SheetEdit, row: int, blank: Blank) -> bool:
        """Return whether spares are asked for as a number; a share of the need falls with it."""
        column = batch.column("Spare")
        cell = dict(self._grids[BLANKS.name].rows)[row].get(column) if column else None
        return bool(blank.spare) and cell is not None and cell.kind != "percent" and "%" not in cell.text


def _cells(piece: Offcut, shop: Shop) -> Mapping[str, Value]:
    """Return a keeper's row of Offcuts, but for what it has of its board's row; only cells that hold something."""
    near, far = said_rings(piece, shop) or ("", "")
    lengths = ("Length", "Width", "Thickness", "Bow", "Crook", "Cup", "Twist")
    measures = {heading: steps for heading in lengths if (steps := getattr(piece, heading.lower()))}
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
    cells: dict[str, Value] = {"Offcut": piece.name, "Kind": one.kind}
    if not one.through:
        cells["Face"] = "1" if one.z1 == 0 else "2"
        lengths["Depth"] = one.z2 if one.z1 == 0 else piece.thickness - one.z1
    cells |= {heading: typed_length(steps, shop.units) for heading, steps in lengths.items()}
    return {**cells, "Note": one.note} if one.note else cells


def check_out(source: Path, out: Path) -> None:
    """Raise before any work is done if the next input cannot be called ``out``.

    Raises ArgumentError if it is the input itself, or not of the input's kind.
    """
    if source.exists() and out.exists() and out.samefile(source):
        raise ArgumentError(
            f"{out} is the input itself, which is left as it is; choose another name for --out."
        )
    if source.is_dir() and (out.is_file() or out.suffix.lower() == ".xlsx"):
        raise ArgumentError(f"{out} is not a folder, as the input is; name a folder for --out.")
    if source.is_file() and out.suffix.lower() != ".xlsx":
        raise ArgumentError(f"{out.name} does not end in .xlsx, as the input does; give --out such a name.")


def write_settled(
    source: Path, out: Path, files: Mapping[str, bytes], row: dict[str, str], *, force: bool
) -> tuple[str, str]:
    """Write the next input, and the batch's row into the ledger beside the input; return the two as they are said.

    Both appear at one moment where they lie in one folder; else the next input does first, and settling once more adds
    a row that is missing. Another run that writes there is waited for. ``force``: whether a next input that is there
    already, and is another, may be overwritten.

    Raises ArgumentError if it may not; InputError if the ledger is none; OutputError if something cannot be written;
    nothing is changed then.
    """
    home = (source if source.name not in ("", "..") else source.absolute()).parent
    _, replaced = with_row(home / LEDGER, row)  # what is no ledger is refused before anything is written
    folder, named = (out, files) if source.is_dir() else (out.parent, {out.name: files[""]})
    check_writable(home, (LEDGER,))
    advice = "choose another name for --out, or overwrite it with --force"
    contents: dict[str, Content] = {
        name: data if force else unless_there(folder / name, data, advice) for name, data in named.items()
    }
    ledger: dict[str, Content] = {LEDGER: lambda path: path.write_bytes(with_row(home / LEDGER, row)[0])}
    if folder.exists() and folder.samefile(home):
        write_set(folder, {**contents, **ledger})
    else:
        write_set(folder, contents)
        write_set(home, ledger)
    instead = f" (in place of the row of plan {row['Plan']} that stood there)" if replaced else ""
    return str(out), f"{home / LEDGER}{instead}"
