"""Single cells read as what their heading says; each fault is reported and the reading goes on.

A reader returns a harmless value where the cell is at fault; the row then knows (``row.failed``).
"""

from __future__ import annotations

import math
import re
from fractions import Fraction
from typing import TYPE_CHECKING

from yieldplan import measure
from yieldplan.measure import MeasureError, Rounding, write
from yieldplan.model.words import fold
from yieldplan.workbook.cell_artifacts import Artifact, artifact
from yieldplan.workbook.suggest import measure_meant

if TYPE_CHECKING:
    from yieldplan.workbook.grid import Cell
    from yieldplan.workbook.table import Row

MOST_NAME = 80
MOST_NOTE = 2000
_WHOLE_TYPED = r"([0-9]{1,12})(?:[.,]00?)?"
"""Programs write 2 as 2.0 where other cells of the column are empty; 2,000 may mean two thousand."""

_NUMBER = re.compile(r"-?[0-9]{1,12}(?:[.,][0-9]{1,12})?", re.ASCII)
_NOTHING = {"-", "--", "–", "none", "null", "no", "nil", "n/a", "na", "x", "flat", "straight", "ok"}
"""What people write where there is no warp."""

_WORDS = re.compile(r"[^\W\d_]{3,}(?:[ -][^\W\d_]{2,})*")
A_LENGTH, A_PLACE, _A_NUMBER = "a length", "a place", "a number"
_NO_LENGTH = "is not a length at all"
_LONG = measure.LONGEST // 4
"""What is offered for a length that is too long is no longer than this, in steps."""

_INCH_COMMA = re.compile(r"[0-9]*,[0-9]+", re.ASCII)
_DEGREES = r"(?:\s*(?:°|deg\.?|degrees?))?"


def length(
    row: Row, heading: str, rounding: Rounding, *, default: int | None = None, above_nothing: bool = False
) -> int:
    """Return a length in whole marks, in steps; an empty cell gives ``default``, or is a fault where there is none."""
    found = exact_length(row, heading, default=default, above_nothing=above_nothing)
    steps = in_marks(row, heading, found, rounding) if row.good(heading) else 0
    if above_nothing and row.good(heading) and steps == 0:
        row.fault(heading, _NO_LENGTH, f"at least a mark, {write(row.marks.mark, row.unit)}")
    return steps


def in_marks(row: Row, heading: str, exact: Fraction, rounding: Rounding) -> int:
    """Return a length as whole marks, in steps; nothing behind this rounds again.

    A wanted size that moves is warned of at once, for it is what the user will hold in hand; any other that moves by
    more than half a mark is noted.
    """
    steps = rounding.steps(exact, row.marks.mark)
    if rounding is Rounding.WANTED and steps != exact:
        mark, made = (write(size, row.unit) for size in (row.marks.mark, steps))
        row.warn(heading, f"is not a whole number of marks of {mark}, so it is made {made}")
    elif 2 * abs(steps - exact) > row.marks.mark:
        row.marks.note(row.table.grid.problem(row.place(heading), "").place)
    return steps


def filled(
    row: Row, heading: str, what: str, expected: str, *, needed: bool = False, percent: bool = False
) -> Cell | None:
    """Return a cell that may hold ``what`` is meant; None where it is empty, or at fault, which is reported.

    ``percent``: a cell shown as a percentage will do as well.
    """
    cell = row.cell(heading)
    if row.unread(heading):
        return None
    if cell.empty:
        if needed:
            row.fault(heading, "is empty", expected)
        return None
    odd = artifact(cell)
    if odd and not (percent and cell.kind == "percent"):
        found = odd.found if what in (A_LENGTH, A_PLACE) else odd.plain
        row.fault(heading, f"{found}, not {what}", expected, odd.suggestion)
        return None
    return cell


def exact_length(
    row: Row, heading: str, *, default: int | None = None, above_nothing: bool = False
) -> Fraction:
    """Return a length as it was typed, in steps that are seldom whole; 0 where the cell is at fault."""
    cell = filled(row, heading, A_LENGTH, _expected(row), needed=default is None)
    if cell is None:
        return Fraction(default or 0) if row.good(heading) else Fraction(0)
    try:
        found = measure.exact(cell.value, row.unit, decimal_comma=row.table.grid.decimal_comma)
    except MeasureError as error:
        step = _next_step(row, heading, error, optional=default is not None)
        row.fault(heading, error.found, error.expected, step)
        return Fraction(0)
    row.lengths[heading] = found
    doubt_comma(row, heading, cell.text)
    if above_nothing and not found:
        row.fault(heading, _NO_LENGTH, "a length above 0")
    return found


def _next_step(row: Row, heading: str, error: MeasureError, *, optional: bool) -> str:
    """Return what to do about a cell that is not a length."""
    text = row.cell(heading).text
    if error.found == measure.TOO_LONG:
        meant = measure_meant(text, row.unit, lambda steps: steps <= _LONG)
        return meant or "check the unit and the figure"
    if optional and fold(text) in _NOTHING:
        return "leave the cell empty where there is none"
    if not error.suggestion and error.found == measure.NOT_A_LENGTH and _WORDS.fullmatch(text):
        return "is it in the right column?"
    return error.suggestion


def shown(row: Row, size: Fraction) -> str:
    """Return what a measured size is shown as: whole marks, as stock is read."""
    return write(Rounding.STOCK.steps(size, row.marks.mark), row.unit)


def slip(row: Row, heading: str, place: Fraction, most: Fraction | int) -> str:
    """Return what a length far above ``most`` was meant to be; one a little above it is measured wrong."""
    if place < 2 * most:
        return ""
    return measure_meant(row.cell(heading).text, row.unit, lambda meant: 0 < meant < most)


def doubt_comma(row: Row, heading: str, text: str) -> None:
    """Warn of a decimal comma among inches, where few write one, unless the whole file has them."""
    if row.unit == "inch" and not row.table.grid.decimal_comma and _INCH_COMMA.fullmatch(text):
        found = f"is read as {text.replace(',', '.')} inches, the comma as a decimal point"
        row.warn(heading, found, "write a point or a fraction")


def _expected(row: Row) -> str:
    return "a length such as 41 3/8" if row.unit == "inch" else "a length such as 1050 or 1050 mm"


def whole(
    row: Row,
    heading: str,
    low: int,
    high: int,
    *,
    default: int | None = None,
    expected: str = "",
    sign: str = "",
) -> int:
    """Return a whole number from ``low`` to ``high``; an empty cell gives ``default``, or is a fault.

    ``sign`` is the pattern of one that may stand behind it.
    """
    expected = expected or f"a whole number from {low} to {high}"
    cell = filled(row, heading, _A_NUMBER, expected, needed=default is None)
    if cell is None:
        return low if default is None or not row.good(heading) else default
    value = cell.value
    if isinstance(value, str) and (typed := re.fullmatch(_WHOLE_TYPED + sign, value.strip(), re.IGNORECASE)):
        value = int(typed[1])
    if isinstance(value, float) and value.is_integer():
        value = int(value)
    if not isinstance(value, int):
        row.fault(heading, "is not a whole number", expected)
        return low
    if not low <= value <= high:
        row.fault(heading, "is out of range", expected)
        return low
    return value


def angle(row: Row, heading: str) -> int | None:
    """Return an angle in whole degrees from 0 to 90, or None where the cell is empty."""
    return None if row.cell(heading).empty else whole(row, heading, 0, 90, sign=_DEGREES)


def number(
    row: Row, heading: str, high: int, *, percent: bool = False, expected: str = ""
) -> Fraction | None:
    """Return a number from 0 to ``high``, exactly; None where the cell is empty or at fault.

    With ``percent`` a per cent sign and a cell shown as a percentage are taken as meant (12% is 12).
    """
    expected = expected or f"a number from 0 to {high}"
    cell = filled(row, heading, _A_NUMBER, expected, percent=percent)
    if cell is None:
        return None
    value = cell.value
    if isinstance(value, (int, float)) and math.isfinite(value):
        exact = Fraction(repr(value)) * (100 if cell.kind == "percent" else 1)
    else:
        figure = cell.text.removesuffix("%").strip() if percent else cell.text
        if not _NUMBER.fullmatch(figure):
            row.fault(heading, "is not a number", expected)
            return None
        exact = Fraction(figure.replace(",", "."))
    if not 0 <= exact <= high:
        row.fault(heading, "is out of range", expected)
        return None
    return exact


def name(row: Row, heading: str) -> str:
    """Return a name: text that must be there, that one line holds and a printer can print."""
    cell = row.cell(heading)
    expected = f"the name of {'an' if heading[0] in 'AEIOU' else 'a'} {heading.lower()}"
    if row.unread(heading):
        pass
    elif cell.empty:
        row.fault(heading, "is empty", expected)
    elif odd := _no_text(cell):
        row.fault(heading, f"{odd.plain}, not a name", expected, _AS_TEXT)
    elif len(cell.text) > MOST_NAME:
        row.fault(heading, f"has {len(cell.text)} characters", f"a name of at most {MOST_NAME}")
    elif not cell.text.isprintable():
        row.fault(heading, "holds a character that cannot be printed", "a plain name", "type it again")
    return cell.text


def own_name(row: Row, heading: str, what: str, first: dict[str, Row]) -> str:
    """Return a name that no row above has; ``first`` holds the first row of each, by folded name, and gets this one."""
    found = name(row, heading)
    other = first.setdefault(fold(found), row)
    if found and other is not row:
        row.fault(heading, f"is the name of another {what} ({other.place(heading)})", "a name of its own")
    return found


_YES_NO = {"yes": True, "y": True, "no": False, "n": False}
_AS_TEXT = "format the cell as text and type it again"


def _no_text(cell: Cell) -> Artifact | None:
    """Return what is odd about a cell meant for text: there only what *looks* like a date is what it says."""
    odd = artifact(cell)
    plain = isinstance(cell.value, str) and cell.kind == "plain"
    return None if odd and plain and "error value" not in odd.found else odd


def text(row: Row, heading: str, *, word: bool = False) -> str:
    """Return free text; signs in it that cannot be printed are left out.

    ``word``: words are taken from it, and an error value, a date or a truth value is none.
    """
    cell = row.cell(heading)
    if row.unread(heading) or cell.empty:
        return ""
    odd = _no_text(cell)
    if odd and word:
        row.fault(heading, f"{odd.plain}, not a word", "text", _AS_TEXT)
        return ""
    if odd and cell.kind == "formula":
        row.fault(heading, odd.found, "text", odd.suggestion)
    elif len(cell.text) > MOST_NOTE:
        row.fault(heading, f"has {len(cell.text)} characters", f"at most {MOST_NOTE}")
    return "".join(sign for sign in cell.text if sign.isprintable())


def words(row: Row, heading: str) -> tuple[str, ...]:
    """Return the words of a list parted by commas (or semicolons), each once."""
    found: dict[str, str] = {}
    for part in re.split(r"[,;]", text(row, heading, word=True)):
        if part.strip():
            found.setdefault(fold(part), " ".join(part.split()))
    return tuple(found.values())


def word(row: Row, heading: str, *, required: bool = False) -> str:
    """Return a single word or phrase, with no comma in it."""
    found = text(row, heading, word=True)
    if not found and required and row.good(heading):
        row.fault(heading, "is empty", f"the {heading.lower()} in a word")
    if re.search(r"[,;]", found):
        row.fault(heading, "is a list", f"one {heading.lower()}")
    return found


def yes(row: Row, heading: str, expected: str) -> bool:
    """Return whether a cell says yes; an empty one does not."""
    found = fold(row.cell(heading).text)
    if found and found not in _YES_NO:
        row.fault(heading, "is neither yes nor no", expected)
    return _YES_NO.get(found, False)
