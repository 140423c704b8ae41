"""The columns of each kind of sheet, in words and figures, the same for terminal, paper and workbook."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from fractions import Fraction
from typing import TYPE_CHECKING

from yieldplan.measure import INCH, MM, write
from yieldplan.order.data import Line, Machine, Sheet, Stage
from yieldplan.order.wording import size, unit_sign
from yieldplan.sanitize import sanitize

if TYPE_CHECKING:
    from collections.abc import Sequence

    from yieldplan.model import Shop
    from yieldplan.order.data import Kept, Order

Fig = Callable[[int], str]
"""Makes the bare figure of a length."""


@dataclass(frozen=True, slots=True)
class Column:
    """One column: its heading, what stands in it, and whether it holds figures (set to the right)."""

    heading: str
    cell: Callable[[Line, Fig], str]
    figure: bool = False


def _note(line: Line, _: Fig) -> str:
    return "; ".join([*([line.note] if line.note else []), *(flag.value for flag in line.flags)])


def _words(heading: str, field: str) -> Column:
    return Column(heading, lambda line, _: getattr(line, field))


def _figures(heading: str, field: str) -> Column:
    def cell(line: Line, fig: Fig) -> str:
        steps = getattr(line, field)
        return "" if steps is None else fig(steps)

    return Column(heading, cell, figure=True)


def _times(heading: str) -> Column:
    return Column(heading, lambda line, _: str(line.times), figure=True)


_PIECE, _STICK = _words("Piece", "piece"), _words("Stick", "piece")
_BLANK, _REST, _NOTE = _words("Blank", "blank"), _words("Left over", "rest"), Column("Note", _note)
_GIVES = Column("Gives", lambda line, _: ", ".join(line.gives))
_SAW = (
    _PIECE, _words("On the fence", "where"), _figures("Fence", "size"), _times("Passes"), _GIVES, _REST, _NOTE,
)  # fmt: skip


def _jointer(heading: str) -> tuple[Column, ...]:
    return (
        _PIECE,
        _words("Joint", "where"),
        _figures(heading, "size"),
        _figures("To spare", "before"),
        _NOTE,
    )


def _planer(heading: str) -> tuple[Column, ...]:
    return (
        _STICK, _words("On the table", "where"), _figures("From", "before"), _figures(heading, "size"), _NOTE,
    )  # fmt: skip


def _bandsaw(where: str, size: str) -> tuple[Column, ...]:
    return (_PIECE, _words(where, "where"), _figures(size, "size"), *_SAW[3:])


COLUMNS: dict[Stage, tuple[Column, ...]] = {
    Stage.ENDS: (
        _PIECE, _words("Measured from", "where"), _figures("From", "start"), _figures("To", "size"), _GIVES,
        _figures("Long", "before"), _NOTE,
    ),
    Stage.SPLIT: _bandsaw("Measured from", "Line at"),
    Stage.FACE: _jointer("At least thick"),
    Stage.EDGE: _jointer("At least wide"),
    Stage.FIRST: _SAW,
    Stage.SECOND: _SAW,
    Stage.PLANE_EDGE: _planer("To width"),
    Stage.PLANE_FLAT: _planer("To thickness"),
    Stage.SQUARE: (_STICK, _words("Measured from", "where"), _figures("Cut at", "size"), _GIVES, _NOTE),
    Stage.STOP: (
        _STICK, _words("On the stop", "where"), _figures("Stop", "size"), _times("How many"), _BLANK, _GIVES, _REST,
        _NOTE,
    ),
}  # fmt: skip


MACHINE_COLUMNS: dict[Machine, tuple[Column, ...]] = {
    Machine.CROSSCUT: (
        _PIECE, _words("From where", "where"), _figures("From", "start"), _figures("To, or stop", "size"),
        _times("How many"), _BLANK, _GIVES, _REST, _NOTE,
    ),
    Machine.JOINTER: _jointer("At least"),
    Machine.TABLE_SAW: _SAW,
    Machine.BANDSAW: _bandsaw("On the fence, or line from", "Fence, or line"),
    Machine.PLANER: _planer("To"),
}  # fmt: skip
"""The columns of all of a machine's work on one sheet."""


def figure(shop: Shop) -> Fig:
    """Return what makes bare figures in the shop's unit."""
    return lambda steps: write(steps, shop.units, mark=False)


def unit_word(shop: Shop) -> str:
    """Return the unit's word for headings."""
    return "inches" if shop.units == "inch" else "mm"


_SET = {
    Stage.FIRST: "Fence at",
    Stage.SECOND: "Fence at",
    Stage.PLANE_EDGE: "Planer at",
    Stage.PLANE_FLAT: "Planer at",
    Stage.STOP: "Stop at",
}
_UNSET = {
    Stage.ENDS: "Mark from end A",
    Stage.SPLIT: "No fence: along a drawn line",
    Stage.SQUARE: "Square, no stop",
}


def setting_text(sheet: Sheet, shop: Shop) -> str:
    """Return a sheet's setting as it stands large at its top."""
    if sheet.odd and sheet.setting is None:
        return f"No fence: joint {write(sheet.lines[0].size, shop.units)} off"
    if sheet.setting is None:
        return _UNSET.get(sheet.stage, "Light passes; stop when flat")
    odd = " for this piece alone" if sheet.odd else " once more" if sheet.again else ""
    return f"{_SET[sheet.stage]} {write(sheet.setting, shop.units)}{odd}"


def sheet_rows(sheet: Sheet, shop: Shop, columns: Sequence[Column]) -> list[list[str]]:
    """Return a sheet's cells, a list a line, in the order of the columns; cells are plain text."""
    fig = figure(shop)
    return [[sanitize(column.cell(line, fig)) for column in columns] for line in sheet.lines]


def used_columns(sheet: Sheet, shop: Shop) -> list[Column]:
    """Return a sheet's columns, without those in which no line has anything."""
    fig = figure(shop)
    return [c for c in COLUMNS[sheet.stage] if any(c.cell(line, fig) for line in sheet.lines)]


def size_text(kept: Kept, shop: Shop) -> str:
    """Return a keeper's length × width × thickness with the unit."""
    return f"{size(shop, kept.length, kept.width, kept.thickness)} {unit_sign(shop)}"


MARGIN_HEADS = ("Stick", "Blank", "Thickness", "Width", "Length", "Spare board")
SETTING_HEADS = ("Species", "Moisture", "Finished", "Plane to", "May swell by", "Sticks")


def fine(steps: int, shop: Shop) -> str:
    """Return a small length, rounded up: thousandths of an inch, or hundredths of a millimetre."""
    grain, places = (Fraction(INCH, 1000), 3) if shop.units == "inch" else (Fraction(MM, 100), 2)
    return f"{float(math.ceil(steps / grain) * grain / (INCH if places == 3 else MM)):.{places}f}"


def margin_rows(order: Order) -> list[tuple[str, ...]]:
    """Return the margins as rows under :data:`MARGIN_HEADS`, the tightest first."""
    fig = figure(order.job.shop)
    return [
        (
            sanitize(margin.name),
            sanitize(margin.blank),
            *(fig(spare) for spare in (margin.thickness, margin.width, margin.length)),
            sanitize(margin.stand_by) or "none",
        )
        for margin in order.margins
    ]


def setting_rows(order: Order) -> list[tuple[str, ...]]:
    """Return the planer settings as rows under :data:`SETTING_HEADS`."""
    fig = figure(order.job.shop)
    return [
        (
            sanitize(setting.species),
            setting.moisture,
            *(" × ".join(map(fig, pair)) for pair in (setting.finished, setting.planed)),
            " × ".join(fine(grows, order.job.shop) for grows in setting.grows) if any(setting.grows) else "",
            sanitize(", ".join(setting.sticks)),
        )
        for setting in order.settings
    ]
