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
from yieldplan.workbook import blanks, cells, csvfolder, job, offcuts, source, wood, xlsx
from yieldplan.workbook.layouts import BLANKS, DEFECTS, LAYOUTS, OFFCUTS, SETTINGS, SHOP, SPECIES
from yieldplan.workbook.shop_sheet import MOST_MINUTES, default_text
from yieldplan.workbook.suggest import did_you_mean

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable

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
    fillings: dict[str, Callable[[], str]] = {
        "commands": lambda: commands,
        "sheets": _sheets,
        "settings": _settings,
        "species": _species,
        "limits": _limits,
        "most_minutes": lambda: str(MOST_MINUTES),
    }
    return _PLACE.sub(lambda place: fillings[place[1]](), text(topic.lower()))


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


def _limits() -> str:
    """Return how large an input may be."""
    million = 1_000_000
    found = {
        "rows of Offcuts": f"{OFFCUTS.most_rows}, each with a Qty of up to {offcuts.MOST_QTY}, "
        f"{offcuts.MOST_DEFECTS} defects and {wood.MOST_KINKS} kinks; {offcuts.MOST_PIECES} pieces in all",
        "rows of Defects": f"{DEFECTS.most_rows}",
        "rows of Blanks": f"{BLANKS.most_rows}, each with a Need and a Spare of up to {blanks.MOST_WANTED}; "
        f"{blanks.MOST_IN_ALL} blanks in all",
        "Offcuts times Blanks": f"{job.MOST_PAIRS} pairs of rows",
        "rows of Shop, Species": f"{SHOP.most_rows}, {SPECIES.most_rows}",
        "a length": f"{LONGEST // MM // 1000} m",
        "a name; a note": f"{cells.MOST_NAME} characters; {cells.MOST_NOTE}",
        "an input file": f"{source.MOST_BYTES // million} MB",
        "a workbook, unpacked": f"{xlsx.MOST_UNPACKED // million} MB, {xlsx.MOST_CELLS} filled cells",
        "a csv file": f"{csvfolder.MOST_FIELDS} fields",
    }
    return _terms(found.items())
