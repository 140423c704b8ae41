"""The sheets of a workbook as ``sheets.toml`` has them: headings, what belongs under each, how many rows."""

from __future__ import annotations

import tomllib
from dataclasses import dataclass, field
from importlib.resources import files
from typing import TYPE_CHECKING, Any, Final

if TYPE_CHECKING:
    from collections.abc import Mapping


@dataclass(frozen=True, slots=True, kw_only=True)
class Layout:
    """The headings of one sheet.

    Attributes
    ----------
    keeps
        Whether other columns are kept and shown back.
    gone
        Headings that were read once, and what to use now.
    notes
        What belongs under each heading: tally's workbook and the guide show it.
    offers
        What a spreadsheet program offers under a heading: ``words``, or what is ``typed_on`` a sheet under a heading;
        ``strict`` takes nothing else; or a whole number from ``least`` to ``most``.
    usual
        By unit and heading between what two sizes, in that unit, nobody looks twice.
    """

    name: str
    required: tuple[str, ...]
    optional: tuple[str, ...]
    most_rows: int
    keeps: bool = False
    gone: Mapping[str, str] = field(default_factory=dict)
    notes: Mapping[str, str] = field(default_factory=dict)
    offers: Mapping[str, Mapping[str, Any]] = field(default_factory=dict)
    usual: Mapping[str, Mapping[str, list[str]]] = field(default_factory=dict)

    @property
    def headings(self) -> tuple[str, ...]:
        """All headings that are read."""
        return self.required + self.optional


def _layout(name: str, needed: Mapping[str, str], optional: Mapping[str, str], **others: Any) -> Layout:
    notes = {**needed, **optional}
    return Layout(name=name, required=tuple(needed), optional=tuple(optional), notes=notes, **others)


_READ = tomllib.loads(files(__package__).joinpath("sheets.toml").read_text(encoding="utf-8"))
WORDS: Final[Mapping[str, list[str]]] = _READ.pop("words")
"""Words that columns offer: ``kinds`` of defect (any other word does as well), ``rings``, ``slopes``."""

SETTINGS: Final[Mapping[str, Mapping[str, str]]] = _READ.pop("settings")
"""Every setting of the sheet Shop, and what is said of it."""

GONE_SETTINGS: Final[Mapping[str, str]] = _READ.pop("gone_settings")
"""Settings that were read once, and what to do now."""

EVERY_LAYOUT = tuple(_layout(name, **given) for name, given in _READ.items())
"""All sheets that a workbook may have, in the order in which their rows are told of."""

OFFCUTS, DEFECTS, BLANKS, SHOP, SPECIES, YARD, RUN, POINTS, OBSTACLES = EVERY_LAYOUT
LAYOUTS = EVERY_LAYOUT[:6]
"""What a job is read from."""

STATION_LAYOUTS = EVERY_LAYOUT[6:]
"""What stations are set out from."""

CUT = "Cut"
"""The sheet that settled boards are struck to: for people; only the names of its boards are read, under Offcut."""
