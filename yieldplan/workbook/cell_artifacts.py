"""What spreadsheets put where a figure was meant: dates, times, percentages, error values, formulas."""

from __future__ import annotations

import datetime
import re
from typing import TYPE_CHECKING, NamedTuple

if TYPE_CHECKING:
    from yieldplan.workbook.grid import Cell

_BELOW = (2, 4, 8, 16, 32, 64)  # what an inch is divided into on a rule
_MONTHS = ("jan", "feb", "mar", "apr", "may", "jun", "jul", "aug", "sep", "oct", "nov", "dec")
_MONTH = rf"(?P<month>{'|'.join(_MONTHS)})[a-z]*\.?"
_DATES = (
    re.compile(r"(?P<year>(?:19|20)\d\d)-(?P<month>\d{1,2})-(?P<day>\d{1,2})(?:[ t].*)?", re.ASCII),
    re.compile(r"(?P<month>\d{1,2})[/.\-](?P<day>\d{1,2})[/.\-](?:19|20)\d\d", re.ASCII),
    re.compile(rf"(?P<day>\d{{1,2}})[ \-/.]*{_MONTH}(?:[ \-/.,]+\d{{2,4}})?", re.ASCII),
    re.compile(rf"{_MONTH}[ \-/.]*(?P<day>\d{{1,2}})(?:[ \-/.,]+\d{{2,4}})?", re.ASCII),
)
_TIME = re.compile(r"\d{1,2}:\d\d(?::\d\d(?:\.\d+)?)?(?: ?[ap]m)?", re.ASCII)
_AS_TEXT = "format the cell as text and type the figure again"
_ERROR = re.compile(r"#(?:N/A|REF!|VALUE!|DIV/0!|NAME\?|NUM!|NULL!|SPILL!|CALC!|###*)|Err:\d+", re.ASCII)


class Artifact(NamedTuple):
    """What is wrong with a cell, and the next step."""

    found: str
    suggestion: str

    @property
    def plain(self) -> str:
        """What is wrong where no length is meant: of a date not the fraction that it may have been."""
        return "is a date" if self.found.startswith("is a date") else self.found


def artifact(cell: Cell) -> Artifact | None:
    """Return what the spreadsheet made of this cell, where that can be neither a length nor a number."""
    value = cell.value
    if cell.kind == "formula":
        return Artifact(
            "is a formula with no stored value",
            "open the file in a spreadsheet program and save it there, or type the value",
        )
    if cell.kind == "error" or (isinstance(value, str) and _ERROR.fullmatch(value.strip())):
        return Artifact("is an error value of the spreadsheet", "mend the formula or type the value")
    if isinstance(value, bool) or (isinstance(value, str) and value.strip().upper() in ("TRUE", "FALSE")):
        return Artifact("is TRUE or FALSE", "type the figure")
    if cell.kind == "percent":
        return Artifact("is a percentage", _AS_TEXT)
    if isinstance(value, datetime.date):
        return _date(_fractions(value.month, value.day, value.year))
    if isinstance(value, (datetime.time, datetime.timedelta)):
        return Artifact("is a time", _AS_TEXT)
    return _artifact_of_text(value.strip().lower()) if isinstance(value, str) else None


def _artifact_of_text(text: str) -> Artifact | None:
    """Return what is odd about text that a spreadsheet wrote out, such as 3-Aug."""
    if found := next(filter(None, (date.fullmatch(text) for date in _DATES)), None):
        parts = found.groupdict("0")
        month = parts["month"]
        number = int(month) if month.isdecimal() else _MONTHS.index(month) + 1
        return _date(_fractions(number, int(parts["day"]), int(parts.get("year", "0"))))
    return Artifact("is a time", _AS_TEXT) if _TIME.fullmatch(text) else None


def _date(fractions: list[str]) -> Artifact:
    probably = f", probably {' or '.join(fractions)}" if fractions else ""
    return Artifact(f"is a date{probably}", "format the cell as text and type the measure again")


def _fractions(month: int, day: int, year: int = 0) -> list[str]:
    """Return the fractions that a spreadsheet may have taken for this date, likeliest first.

    3/8 becomes 8 March or 3 August by the country's custom; 3/32, having no 32nd day, becomes March 1932;
    1-3/8 becomes 3 January 2008.
    """
    found = []
    if day == 1 and year % 100 in (32, 64) and month < year % 100:
        found.append(f"{month}/{year % 100}")
    for above, below in ((month, day), (day, month)):
        if below in _BELOW and above < below:
            found.append(f"{above}/{below}")
    if not found and year % 100 in _BELOW:
        pairs = dict.fromkeys([(month, day), (day, month)])
        found.extend(f"{a} {b}/{year % 100}" for a, b in pairs if b < year % 100)
    return found
