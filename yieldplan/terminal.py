"""What is written to the terminal: the report on standard output, all talk and progress on standard error.

Piped output is plain text without trailing blanks; a terminal gets bold headings. rich is imported late, as
many calls of the command line never need it.
"""

from __future__ import annotations

import errno
import os
import shutil
import sys
import textwrap
from contextlib import contextmanager
from io import TextIOWrapper
from typing import TYPE_CHECKING

from yieldplan.sanitize import sanitize
from yieldplan.stopping import raising_stop

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Iterator

    from rich.console import RenderableType

    from yieldplan.measure import Unit
    from yieldplan.model import Problem
    from yieldplan.solve import Progress

ON_WINDOWS = sys.platform == "win32"

NARROWEST = 60
"""Columns below which tables are no longer made narrower."""

WIDE = 107
"""Columns that a line of progress takes in all its words, with the sign that turns before it."""


def steady_streams() -> None:
    """Let signs that an output's encoding cannot hold be written out instead of ending the run.

    Windows gives a pipe or a file an encoding that lacks fractions: there it is UTF-8 unless another is asked for.
    """
    forced = ON_WINDOWS and "PYTHONIOENCODING" not in os.environ
    for stream in (sys.stdout, sys.stderr):
        if isinstance(stream, TextIOWrapper):
            stream.reconfigure(encoding="utf-8" if forced else None, errors="backslashreplace")


def is_reader_gone(error: BaseException) -> bool:
    """Return whether an error says that whoever read the output has gone: a broken pipe, told otherwise on Windows."""
    if isinstance(error, BrokenPipeError):
        return True
    quiet = ON_WINDOWS and isinstance(error, OSError) and error.filename is None
    return quiet and getattr(error, "errno", None) == errno.EINVAL


def drop_stdout() -> None:
    """Let go of a standard output whose reader has gone, so that Python's own flush at the end is quiet."""
    os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())


def put(text: str) -> None:
    """Write report text to standard output; its line ends are kept, all else is sanitized."""
    sys.stdout.write("".join(f"{sanitize(line)}\n" for line in text.split("\n")).removesuffix("\n"))


def talk(sentence: str) -> None:
    """Write one line to standard error; on a terminal it is broken between words, never in a figure."""
    lines = [sanitize(sentence)]
    if sys.stderr.isatty() and len(sentence) > screen_width():
        from yieldplan.pages.renderables import Words  # noqa: PLC0415 - slow to load

        lines = Words(sentence).lines(screen_width())
    sys.stderr.write("".join(f"{line}\n" for line in lines))


def warn(problems: Iterable[Problem]) -> None:
    """Write warnings to standard error, one a line."""
    for problem in problems:
        talk(f"Warning: {problem.sentence()}")


def screen_width() -> int:
    """Return how many columns the terminal has, or 80 where there is none; at least :data:`NARROWEST`."""
    return max(NARROWEST, shutil.get_terminal_size((80, 24)).columns)


def show(renderable: RenderableType) -> None:
    """Write a rich renderable to standard output: bold headings on a terminal, plain text otherwise."""
    width = screen_width()
    if sys.stdout.isatty():
        from rich.console import Console  # noqa: PLC0415 - slow to load

        Console(file=sys.stdout, width=width, markup=False, emoji=False, highlight=False).print(renderable)
    else:
        from yieldplan.pages.renderables import plain_text  # noqa: PLC0415 - slow to load

        sys.stdout.write(plain_text(renderable, width))


def show_large(head: str, lines: Iterable[str]) -> None:
    """Write lines to be read from the other side of a bench: on a terminal in letters of double width, apart.

    A terminal that has no such letters shows them as any others, in half its width. Piped output is a line each.
    """
    if not sys.stdout.isatty():
        put("\n".join((head, *lines)) + "\n")
        return
    columns = screen_width()
    put(textwrap.fill(head, columns) + "\n")
    wide = _has_wide_letters()
    for line in lines:
        put("\n")
        for part in textwrap.wrap(sanitize(line), columns // 2 if wide else columns):
            sys.stdout.write(f"{_WIDE}{_BOLD}{part}{_PLAIN}\n" if wide else f"{part}\n")


_WIDE, _BOLD, _PLAIN = "\x1b#6", "\x1b[1m", "\x1b[0m"
"""A line of double width (DECDWL, as terminals have had it since the VT100), bold letters, and as before."""


def _has_wide_letters() -> bool:
    """Return whether a terminal can be told to show letters wide, or passes over what it does not know."""
    from rich.console import Console  # noqa: PLC0415 - slow to load

    return os.environ.get("TERM") != "dumb" and not Console(file=sys.stdout).legacy_windows


def turn_pages(text: str) -> None:
    """Write a long text to standard output; on a terminal through the pager that is set up there."""
    if not sys.stdout.isatty():
        put(text)
        return
    from rich.console import Console  # noqa: PLC0415 - slow to load

    console = Console(markup=False, emoji=False, highlight=False)
    with raising_stop(), console.pager():  # the pager has a Ctrl-C of its own
        console.print(text, soft_wrap=True)


@contextmanager
def progress_line(need: int, units: Unit) -> Iterator[Callable[[Progress], None]]:
    """Give an observer that keeps one line of progress on standard error, if that is a terminal.

    ``need`` is how many blanks are needed, ``units`` what the job is measured in. The line is taken away at the end.
    """
    if not sys.stderr.isatty() or os.environ.get("TERM") == "dumb":
        yield lambda _: None
        return
    from rich.console import Console  # noqa: PLC0415 - slow to load
    from rich.text import Text  # noqa: PLC0415 - slow to load

    console = Console(file=sys.stderr, highlight=False)
    with console.status("starting") as line:
        yield lambda event: line.update(Text(progress_words(event, need, units, console.width)))


def progress_words(event: Progress, need: int, units: Unit, width: int = WIDE) -> str:
    """Return how far the search is: what is made, wood and work of it, how much better there may be.

    Fewer words where the screen has fewer than :data:`WIDE` columns for it.
    """
    from yieldplan.pages.wording import VOLUMES, bare_volume, gap_percent, how_long  # noqa: PLC0415 - slow to load

    wide = width >= WIDE
    made = f"{need - event.missing} of {need} made" if event.missing else f"all {need} made"
    wood = f"{bare_volume(event.used, units)} {VOLUMES[units][0]}"
    words = [made, f"{wood}, {how_long(event.hundredths)}{' so far' if wide else ''}"]
    if event.gap is not None:
        gap = gap_percent(event.gap).replace(".0 ", " ")
        words.append(f"nothing better by more than {gap}" if wide else f"within {gap}")
    words.append("Ctrl-C keeps this")
    return "; ".join(words)
