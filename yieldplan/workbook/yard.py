"""The Yard sheet: boards that can be bought, and what they cost."""

from __future__ import annotations

import math
import re
from fractions import Fraction
from typing import TYPE_CHECKING

from yieldplan.measure import INCH, MM
from yieldplan.model import BOARD_FOOT, YardBoard
from yieldplan.workbook import cells
from yieldplan.workbook.offcuts import read_offcut

if TYPE_CHECKING:
    from yieldplan.model import Offcut, Shop
    from yieldplan.workbook.table import Row, Table

FAULTS = 15
"""Per cent of a board's length that will not be usable where nothing is said (common practice, no source)."""

MOST_TO_BUY = 500
DEAREST = 1_000_000

_EACH = ("", "each", "piece", "board")
_BY_LENGTH = {
    **dict.fromkeys(("foot", "ft", "running foot", "lineal foot", "linear foot"), 12 * INCH),
    **dict.fromkeys(("metre", "meter", "m", "running metre", "running meter"), 1000 * MM),
}
_BY_VOLUME = {
    **dict.fromkeys(("board foot", "board ft", "bd ft", "bdft", "bf"), BOARD_FOOT),
    **dict.fromkeys(("cubic foot", "cu ft", "ft3", "ft³"), (12 * INCH) ** 3),
    **dict.fromkeys(("cubic metre", "cubic meter", "cu m", "m3", "m³"), (1000 * MM) ** 3),
}
_SIGNS = "£$€"
_PRICE = re.compile(
    rf"([{_SIGNS}]?) ?([0-9]{{1,9}}(?:[.,][0-9]{{1,6}})?) ?([{_SIGNS}]?) ?(?:(?:an?|per|the|/) ?)?(.*)",
    re.ASCII | re.IGNORECASE,
)
_SHARE = "a share of its length, 0 to 95 %"
_EXPECTED = {
    "inch": "a price such as 24.50 each, or 6.80 a board foot",
    "mm": "a price such as 24.50 each, or 1450 a cubic metre",
}


def read_yard(sheet: Table, shop: Shop) -> tuple[YardBoard, ...]:
    """Return the boards that are without fault; ``shop`` says what ring words mean."""
    found: list[YardBoard] = []
    first: dict[str, Row] = {}
    signs: dict[str, Row] = {}
    for row in sheet.rows():
        name = cells.own_name(row, "Stock", "row", first)
        price = _price(row)
        figure, sign, unit = price or (Fraction(0), "", "")
        if sign and signs.setdefault(sign, row) is not next(iter(signs.values())):
            other, said = next(iter(signs.items()))
            row.fault("Price", f"is in another currency than {said.place('Price')} ({other})", "one currency")
        most = cells.whole(row, "At most", 0, MOST_TO_BUY, default=0)
        faults = cells.number(row, "Faults", 100, percent=True, expected=_SHARE)
        if faults is not None and faults > 95:
            row.fault("Faults", "leaves next to nothing of the board", _SHARE)
        board = read_offcut(row, name, shop)
        if board is not None and price is not None:
            found.append(
                YardBoard(
                    board=board,
                    price=_cost(board, figure, unit),
                    at_most=None if row.cell("At most").empty else most,
                    faults=Fraction(FAULTS) if faults is None else faults,
                    currency=sign,
                )
            )
    return tuple(found)


def _cost(board: Offcut, figure: Fraction, unit: str) -> int:
    """Return what a board costs in hundredths, a part of one counted whole; of each, length or volume."""
    share = Fraction(1)
    if unit in _BY_LENGTH:
        share = Fraction(board.length, _BY_LENGTH[unit])
    elif unit in _BY_VOLUME:
        share = Fraction(board.volume, _BY_VOLUME[unit])
    return max(math.ceil(100 * figure * share), 1)


def _price(row: Row) -> tuple[Fraction, str, str] | None:
    """Return a price's figure, the sign beside it, and what it is for; None where there is none that can be read."""
    heading, expected = "Price", _EXPECTED[row.unit]
    cell = cells.filled(row, heading, "a price", expected, needed=True)
    if cell is None:
        return None
    text = repr(cell.value) if isinstance(cell.value, float) else cell.text
    match = _PRICE.fullmatch(text)
    sign, figure, behind, unit = match.groups() if match else ("", "", "", "")
    unit = " ".join(unit.casefold().rstrip(".").split())
    if not match or (sign and behind) or not (unit in _EACH or unit in _BY_LENGTH or unit in _BY_VOLUME):
        row.fault(heading, "is not a price", expected)
    elif re.search(r",[0-9]{3}$", figure):
        row.fault(heading, "could be thousands or thousandths", expected, "write it without the comma")
    elif not 0 < (exact := Fraction(figure.replace(",", "."))) <= DEAREST:
        row.fault(heading, "is out of range", f"a price above 0, at most {DEAREST}")
    else:
        return exact, sign or behind, unit
    return None
