"""Headings and tables of the terminal reports: no colour, no markup, nothing cut off."""

from __future__ import annotations

import re
from io import StringIO
from typing import TYPE_CHECKING

from rich import box
from rich.cells import cell_len
from rich.console import Console
from rich.measure import Measurement
from rich.padding import Padding
from rich.table import Table
from rich.text import Text

from yieldplan.sanitize import sanitize

if TYPE_CHECKING:
    from collections.abc import Iterable

    from rich.console import ConsoleOptions, RenderableType, RenderResult

_RULED = box.Box("    \n    \n -- \n    \n    \n    \n    \n    \n", ascii=True)
"""A rule of hyphens under the column headings and nothing else."""


def heading(words: str, *, first: bool = False) -> Padding:
    """Return a heading with an empty line above it, unless it is the first of a report."""
    return Padding(Text(sanitize(words), style="bold"), (0 if first else 1, 0, 0, 0))


_IN_FIGURE = re.compile(r"(?<=\d) (?=\d+/\d|in \d|(?:%|mm)(?!\w))|(?<=\d in|face|edge) (?=\d)|(?<=×) (?=\d)")
_HELD = "\ue000"
"""Stands for a space in a figure (``4 7/8``, ``1 in 12``, ``12 %``) while lines are broken; no text uses it."""


class Words:
    """A paragraph of plain text, made harmless, whose figures are never broken over two lines."""

    def __init__(self, text: str, style: str = "") -> None:
        self.text, self.style = sanitize(text), style

    def lines(self, width: int) -> list[str]:
        """Return its lines of so many columns at most."""
        if cell_len(self.text) <= width:
            return [self.text]
        held = Text(_IN_FIGURE.sub(_HELD, self.text.replace(_HELD, " ")))
        return [line.plain.rstrip().replace(_HELD, " ") for line in held.wrap(_PLAIN, width, overflow="fold")]

    def __rich_console__(self, console: Console, options: ConsoleOptions) -> RenderResult:
        """Yield its lines."""
        return (Text(line, style=self.style) for line in self.lines(options.max_width))

    def __rich_measure__(self, console: Console, options: ConsoleOptions) -> Measurement:
        """Return how wide it must and may be."""
        return Measurement.get(console, options, Text(_IN_FIGURE.sub(_HELD, self.text)))


_PLAIN = Console(file=StringIO(), color_system=None, force_terminal=False, legacy_windows=False)


def table(*columns: str, right: Iterable[str] = (), whole: Iterable[str] = ()) -> Table:
    """Return an empty table.

    Parameters
    ----------
    *columns
        The headings.
    right
        The columns that hold numbers: set to the right and never broken.
    whole
        Other columns whose cells are never broken.
    """
    result = Table(
        box=_RULED,
        show_edge=False,
        pad_edge=False,
        padding=(0, 1, 0, 0),
        header_style="bold",
    )
    numbers, unbroken = set(right), set(whole)
    for column in columns:
        result.add_column(
            Text(column),
            justify="right" if column in numbers else "left",
            overflow="fold",
            no_wrap=column in numbers | unbroken,
        )
    return result


def row(to: Table, *cells: object) -> None:
    """Add a row of plain text, whatever signs the cells hold."""
    to.add_row(*(Words(str(cell)) for cell in cells))


def plain_text(renderable: RenderableType, width: int = 80) -> str:
    """Return a renderable as text without any styling, at a given width, ending in a newline."""
    page = StringIO()
    console = Console(file=page, width=width, color_system=None, force_terminal=False, legacy_windows=False)
    console.print(renderable)
    return "\n".join(line.rstrip() for line in page.getvalue().splitlines()) + "\n"
