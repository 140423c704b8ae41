"""The columns of each kind of sheet, in words and figures, the same for terminal, paper and workbook."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from fractions import Fraction
from typing import TYPE_CHECKING

from yieldplan.harmless import harmless
from yieldplan.measure import INCH, MM, write
from yieldplan.order.data import Line, Machine, Sheet, Stage

if TYPE_CHECKING:
    from collections.abc import Sequence

    from yieldplan.model import Shop
    from yieldplan.order.data import Order, Piece

Fig = Callable[[int], str]
"""Makes the bare figure of a length."""


@dataclass(frozen=True, slots=True)
class Column:
    """One column: its heading, what stands in it, and whether it holds figures (set to the right)."""

    heading: str
    cell: Callable[[Line, Fig], str]
    figure: bool = False


def _gives(line: Line, _: Fig) -> str:
    return ", ".join(line.gives)


def _start(line: Line, fig: Fig) -> str:
    return "" if line.start is None else fig(line.start)


def _size(line: Line, fig: Fig) -> str:
    return fig(line.size)


def _before(line: Line, fig: Fig) -> str:
    return "" if line.before is None else fig(line.before)


def _note(line: Line, _: Fig) -> str:
    return "; ".join([*([line.note] if line.note else []), *(flag.value for flag in line.flags)])


def _piece(heading: str) -> Column:
    return Column(heading, lambda line, _: line.piece)


def _where(heading: str) -> Column:
    return Column(heading, lambda line, _: line.where)


def _times(heading: str) -> Column:
    return Column(heading, lambda line, _: str(line.times), figure=True)


_NOTE = Column("Note", _note)
_GIVES = Column("Gives", _gives)
_FOR = Column("For", lambda line, _: line.blank or ("the rack" if line.note == "keeper" else ""))
_SAW = (
    _piece("Piece"),
    _where("On the fence"),
    Column("Fence", _size, figure=True),
    _times("Passes"),
    _GIVES,
    Column("Left over", lambda line, _: line.rest),
    _NOTE,
)


def _jointer(heading: str) -> tuple[Column, ...]:
    return (
        _piece("Piece"),
        _where("Joint"),
        Column(heading, _size, figure=True),
        Column("To spare", _before, figure=True),
        _times("How many"),
        _NOTE,
    )


def _planer(heading: str) -> tuple[Column, ...]:
    return (
        _piece("Stick"),
        _where("On the table"),
        Column("From", _before, figure=True),
        Column(heading, _size, figure=True),
        _times("How many"),
        _NOTE,
    )


def _bandsaw(where: str, size: str) -> tuple[Column, ...]:
    return (_piece("Piece"), _where(where), Column(size, _size, figure=True), *_SAW[3:])


COLUMNS: dict[Stage, tuple[Column, ...]] = {
    Stage.ROUGH_CROSSCUT: (
        _piece("Piece"),
        _where("Measured from"),
        Column("From", _start, figure=True),
        Column("To", _size, figure=True),
        _times("How many"),
        _GIVES,
        Column("Long", _before, figure=True),
        _NOTE,
    ),
    Stage.SPLIT: _bandsaw("Measured from", "Line at"),
    Stage.FACE: _jointer("At least thick"),
    Stage.EDGE: _jointer("At least wide"),
    Stage.RESAW_BILLETS: _SAW,
    Stage.RIP: _SAW,
    Stage.RESAW_STRIPS: _SAW,
    Stage.PLANE_EDGE: _planer("To width"),
    Stage.PLANE_FLAT: _planer("To thickness"),
    Stage.PART: (
        _piece("Stick"),
        _where("Measured from"),
        Column("From", _start, figure=True),
        Column("To", _size, figure=True),
        _times("How many"),
        _GIVES,
        _FOR,
        _NOTE,
    ),
    Stage.LENGTH: (
        _piece("Piece"),
        _where("On the stop"),
        Column("From", _before, figure=True),
        Column("To length", _size, figure=True),
        _times("How many"),
        Column("Blank", lambda line, _: line.blank),
        _NOTE,
    ),
}


MACHINE_COLUMNS: dict[Machine, tuple[Column, ...]] = {
    Machine.CROSSCUT: (
        _piece("Piece"),
        _where("From where"),
        Column("From", _start, figure=True),
        Column("To", _size, figure=True),
        _times("How many"),
        _GIVES,
        _FOR,
        _NOTE,
    ),
    Machine.JOINTER: _jointer("At least"),
    Machine.TABLE_SAW: _SAW,
    Machine.BANDSAW: _bandsaw("On the fence, or line from", "Fence, or line"),
    Machine.PLANER: _planer("To"),
}
"""The columns of all of a machine's work on one sheet."""


def figure(shop: Shop) -> Fig:
    """Return what makes bare figures in the shop's unit."""
    return lambda steps: write(steps, shop.units, mark=False)


def unit_word(shop: Shop) -> str:
    """Return the unit's word for headings."""
    return "inches" if shop.units == "inch" else "mm"


def setting_text(sheet: Sheet, shop: Shop) -> str:
    """Return a sheet's setting as it stands large at its top."""
    if sheet.stage is Stage.SPLIT:
        return "No fence: along a drawn line"
    if sheet.setting is None:
        return "Mark from end A" if sheet.lines[0].start is not None else "Least cut that will do"
    word = {
        Stage.PLANE_EDGE: "Planer at",
        Stage.PLANE_FLAT: "Planer at",
        Stage.LENGTH: "Stop at",
    }.get(sheet.stage, "Fence at")
    return f"{word} {write(sheet.setting, shop.units)}"


def sheet_rows(sheet: Sheet, shop: Shop, columns: Sequence[Column]) -> list[list[str]]:
    """Return a sheet's cells, a list a line, in the order of the columns; cells are plain text."""
    fig = figure(shop)
    return [[harmless(column.cell(line, fig)) for column in columns] for line in sheet.lines]


def used_columns(sheet: Sheet, shop: Shop) -> list[Column]:
    """Return a sheet's columns, without the notes' where no line has one."""
    fig = figure(shop)
    noted = any(_note(line, fig) for line in sheet.lines)
    return [column for column in COLUMNS[sheet.stage] if noted or column is not _NOTE]


def size_text(piece: Piece, shop: Shop) -> str:
    """Return a final piece's length × width × thickness with the unit."""
    fig = figure(shop)
    unit = "in" if shop.units == "inch" else "mm"
    return f"{fig(piece.length)} × {fig(piece.width)} × {fig(piece.thickness)} {unit}"


MARGIN_HEADS = ("Piece", "Blank", "Thickness", "Width", "Length", "Stand-by for its offcut")
SETTING_HEADS = (*("Species", "Moisture", "Finished", "Plane to", "May swell by", "Sticks"),)


def fine(steps: int, shop: Shop) -> str:
    """Return a small length, rounded up: thousandths of an inch, or hundredths of a millimetre."""
    grain, places = (Fraction(INCH, 1000), 3) if shop.units == "inch" else (Fraction(MM, 100), 2)
    return f"{float(math.ceil(steps / grain) * grain / (INCH if places == 3 else MM)):.{places}f}"


def margin_rows(order: Order) -> list[tuple[str, ...]]:
    """Return the margins as rows under :data:`MARGIN_HEADS`, the tightest first, rounded down."""
    fig, step = figure(order.job.shop), order.job.shop.shown_steps
    return [
        (
            harmless(margin.name),
            harmless(margin.blank),
            *(fig(spare // step * step) for spare in (margin.thickness, margin.width, margin.length)),
            harmless(margin.stand_by) or "none",
        )
        for margin in order.margins
    ]


def setting_rows(order: Order) -> list[tuple[str, ...]]:
    """Return the planer settings as rows under :data:`SETTING_HEADS`."""
    fig = figure(order.job.shop)
    return [
        (
            harmless(setting.species),
            setting.moisture,
            *(" × ".join(map(fig, pair)) for pair in (setting.finished, setting.planed)),
            " × ".join(fine(grows, order.job.shop) for grows in setting.grows) if any(setting.grows) else "",
            harmless(", ".join(setting.sticks)),
        )
        for setting in order.settings
    ]
