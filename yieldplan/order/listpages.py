"""The machine lists: what is set, a heading each, and under it what is done, in columns to pin at the machine."""

from __future__ import annotations

from dataclasses import replace
from itertools import groupby
from typing import TYPE_CHECKING

from yieldplan.order.cautions import cautions
from yieldplan.order.data import At
from yieldplan.order.listed import list_note, setting_head, setting_lines
from yieldplan.pages.columns import GAP, Columns, Line
from yieldplan.pages.paper import (
    BOX,
    FOOT,
    HAND,
    INDENT,
    NO_BREAK,
    SET,
    TOGETHER,
    Para,
    height_of,
    marked,
    para,
    printable,
    style,
    to_tick,
    width_of,
)

if TYPE_CHECKING:
    from collections.abc import Iterator

    from yieldplan.model import Shop
    from yieldplan.order.data import MachineList, Order, Setting
    from yieldplan.order.listed import ListLine
    from yieldplan.pages.document import Document


def put_lists(document: Document, order: Order) -> None:
    """Put the machine lists on the pages, one after the other, a machine's cautions above the first of its own."""
    said = {At.JOINTER}  # its cautions stand on the set-up sheet: it has no list
    for one in order.lists:
        head = [para(one.title, SET, bold=True, after=1.0)]
        for machine in dict.fromkeys(setting.machine for setting in one.settings):
            if machine not in said:
                head.append(para(" ".join(cautions(machine, order.job.shop)), FOOT))
                said.add(machine)
        if note := list_note(one):
            head.append(para(note, FOOT))
        document.part(height_of(head, document.measure) + LEAST)
        document.story += head
        document.running(para(f"{one.title}, {CONTINUED}", SET, bold=True, after=1.0))
        columns = _columns(one, order.job.shop, document.measure)
        document.story.append(Columns([*_lines(one, order.job.shop)], columns))


CONTINUED = "continued"
"""Said of a list on a further page, and of a setting in a further column."""

LEAST = TOGETHER / 2 + 16.0
"""Room for a list's first lines below its head and the line above it, in points."""


def _columns(one: MachineList, shop: Shop, width: float) -> int:
    """Return how many columns a list is set in: three if most of its lines find room in a third of the page."""
    lines = [line for setting in one.settings for line in setting_lines(setting, shop)]
    room = width / 3 - GAP - INDENT
    short = sum(len(line.items) == 1 and width_of(printable(line.text), HAND) <= room for line in lines)
    return 3 if 4 * short >= 3 * len(lines) else 2


def _lines(one: MachineList, shop: Shop) -> Iterator[Line]:
    """Yield the lines of a list, its parts' headings and its settings above them."""
    for part, settings in groupby(one.settings, key=lambda setting: setting.part):
        heads = (para(part, HAND, bold=True, after=1.0),) if part else ()
        for setting in settings:
            for line in _setting(setting, shop):
                yield line if line.above is None else replace(line, above=(*heads, *line.above))
                heads = ()


def _setting(setting: Setting, shop: Shop) -> Iterator[Line]:
    """Yield a setting's lines, its heading above the first; with only one all is one line."""
    size, words = setting_head(setting, shop)
    lines = setting_lines(setting, shop)
    large = f"{marked(size, size=SET, bold=True)} " if size else ""

    def head(*said: str) -> tuple[Para, ...]:
        text = marked(", ".join(filter(None, said)), size=HAND)
        return (Para(large + text, style(HAND, after=1.0)),) if size or words else ()

    again = head(words, CONTINUED)
    if size and len(lines) == 1 and len(lines[0].items) == 1:
        said = marked(", ".join(filter(None, (words, lines[0].text))), size=HAND)
        text = Para(large + said, style(HAND, False, 0.0, 1.0, INDENT), bulletText=BOX)
        yield Line(text=text, above=(), again=again)
        return
    beside = large and not words and lines[0].runs_on
    yield Line(text=_line(lines[0], large * bool(beside)), above=() if beside else head(words), again=again)
    for line in lines[1:]:
        yield Line(text=_line(line), again=again)


def _line(line: ListLine, before: str = "") -> Para:
    """Return a line with a box for each of its items; ``before`` is what stands on it already."""
    if not line.runs_on:
        return to_tick(line.items[0])
    items = [f"{BOX} {item}".replace(" ", NO_BREAK, 2) for item in line.items]
    words = f"{NO_BREAK}  ".join(filter(None, (line.lead, *items)))
    return Para(f"{before}{marked(words, size=HAND)}", style(HAND, after=0.5))
