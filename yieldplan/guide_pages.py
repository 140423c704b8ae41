"""Pages of the guide: its texts, with what the readers of a workbook know in the places that are held for it."""

from __future__ import annotations

import re
import textwrap
from typing import TYPE_CHECKING

from yieldplan.guide import TOPICS, text, title
from yieldplan.measure import LONGEST, MM
from yieldplan.model.errors import ArgumentError
from yieldplan.model.species import BUILT_IN
from yieldplan.pages.renderables import plain_text, row, table
from yieldplan.workbook import blanks, cells, csvfolder, job, offcuts, shop_sheet, source, wood, xlsx
from yieldplan.workbook.layouts import LAYOUTS, SETTINGS
from yieldplan.workbook.shop_sheet import default_text
from yieldplan.workbook.suggest import did_you_mean

if TYPE_CHECKING:
    from collections.abc import Iterable

WIDTH = 78
_PLACE = re.compile(r"\{(\w+)\}")


def page(topic: str | None, commands: str) -> str:
    """Return a topic's page, or the list of topics where none is named.

    ``commands`` lists the commands, for the page on them.

    Raises
    ------
    ArgumentError
        If there is no such topic; the nearest is offered.
    """
    if topic is None:
        topics = _terms(((name, title(name).partition(": ")[2]) for name in TOPICS), 13)
        return f"The guide has these pages; yieldplan guide TOPIC shows one.\n\n{topics}\n"
    if topic.lower() not in TOPICS:
        likely = did_you_mean(topic, TOPICS)
        expected = f"expected one of {', '.join(TOPICS)}."
        raise ArgumentError(f"The guide has no topic {topic!r}; {likely or expected}")
    fillings = {
        "commands": commands,
        "sheets": _sheets(),
        "settings": _settings(),
        "species": _species(),
        **{name: f"{most:,}" for name, most in _limits().items()},
    }
    return _PLACE.sub(lambda place: fillings[place[1]], text(topic.lower()))


def _species() -> str:
    """Return the species whose figures are built in."""
    names = ", ".join(sorted({species.name for species in BUILT_IN.values()}))
    return textwrap.fill(names, WIDTH, initial_indent="    ", subsequent_indent="    ")


def _terms(entries: Iterable[tuple[str, str]], wide: int = 26) -> str:
    """Return words, each with what it means beside it."""
    indent = " " * wide
    return "\n".join(
        textwrap.fill(f"  {term:{wide - 2}}{meaning}", WIDTH, subsequent_indent=indent)
        for term, meaning in entries
    )


def _sheets() -> str:
    """Return every sheet that is read, with its columns and what belongs in them."""
    return "\n\n".join(
        f"{layout.name}\n"
        + _terms(
            (f"{heading} *" if heading in layout.required else heading, layout.notes[heading])
            for heading in layout.headings
        )
        for layout in LAYOUTS
    )


def _settings() -> str:
    """Return every setting with its defaults and its meaning."""
    made = table("setting", "inch", "mm", "what it is", whole=("setting",))
    for name, said in SETTINGS.items():
        defaults = (default_text(name, unit).removesuffix(" mm") or "none" for unit in ("inch", "mm"))
        row(made, name, *defaults, said["note"])
    return textwrap.indent(plain_text(made, WIDTH - 2), "  ").rstrip()


def _limits() -> dict[str, int]:
    """Return how large an input may be, by the names of the limits: bytes in MB, the longest length in m."""
    readers = (blanks, cells, csvfolder, job, offcuts, shop_sheet, source, wood, xlsx)
    every = (item for reader in readers for item in vars(reader).items())
    found = {name: most for name, most in every if name.startswith("MOST_") and isinstance(most, int)}
    rows = {f"{layout.name}_rows": layout.most_rows for layout in LAYOUTS}
    sizes = {name: found[name] // 1_000_000 for name in ("MOST_BYTES", "MOST_UNPACKED")}
    return {**found, **rows, **sizes, "LONGEST": LONGEST // MM // 1000}
