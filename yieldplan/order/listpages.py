"""The machine lists: what is set, a heading each, and under it what is done, in columns to pin at the machine."""

from __future__ import annotations

from itertools import groupby
from typing import TYPE_CHECKING

from reportlab.platypus import BalancedColumns

from yieldplan.order.cautions import CAUTIONS
from yieldplan.order.data import At
from yieldplan.order.listed import list_note, list_title, setting_head, setting_lines, totals_of
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
    together,
    width_of,
)

if TYPE_CHECKING:
    from collections.abc import Iterator

    from reportlab.platypus import Flowable

    from yieldplan.model import Shop
    from yieldplan.order.data import MachineList, Order, Setting
    from yieldplan.order.listed import ListLine
    from yieldplan.pages.document import Document


def put_lists(document: Document, order: Order) -> None:
    """Put the machine lists on the pages, one after the other, a machine's cautions above the first of its own."""
    totals, said = totals_of(order), {At.JOINTER}  # its cautions stand on the set-up sheet: it has no list
    for one in order.lists:
        head = [para(list_title(one), SET, bold=True, after=1.0)]
        for machine in dict.fromkeys(setting.machine for setting in one.settings):
            if machine not in said:
                head.append(para(" ".join(CAUTIONS[machine]), FOOT))
                said.add(machine)
        if note := list_note(one):
            head.append(para(note, FOOT))
        document.part(height_of(head, document.measure) + LEAST)
        columns, lines = (
            _columns(one, order.job.shop, totals, document.measure),
            _column(one, order.job.shop, totals),
        )
        document.story += [*head, BalancedColumns(list(lines), columns, needed=TOGETHER / 2, **AIR)]


LEAST = TOGETHER / 2 + 16.0
"""Room for a list's first lines below its head and the line above it, in points."""


def _columns(one: MachineList, shop: Shop, totals: dict[str, int], width: float) -> int:
    """Return how many columns a list is set in: three if most of its lines find room in a third of the page."""
    lines = [line for setting in one.settings for line in setting_lines(setting, shop, totals)]
    room = width / 3 - AIR["innerPadding"] - INDENT
    short = sum(len(line.items) == 1 and width_of(printable(line.text), HAND) <= room for line in lines)
    return 3 if 4 * short >= 3 * len(lines) else 2


AIR = {"leftPadding": 0, "rightPadding": 0, "topPadding": 0, "bottomPadding": 0, "innerPadding": 14}


def _column(one: MachineList, shop: Shop, totals: dict[str, int]) -> Iterator[Flowable]:
    """Yield the settings of a list under the headings of its parts; no heading is parted from what it heads."""
    for part, settings in groupby(one.settings, key=lambda setting: setting.part):
        heads = [para(part, HAND, bold=True, after=1.0)] if part else []
        for setting in settings:
            for found in _setting(setting, shop, totals):
                yield from together(*heads, *found) if isinstance(found, list) else (found,)
                heads = []


def _setting(setting: Setting, shop: Shop, totals: dict[str, int]) -> Iterator[list[Flowable] | Flowable]:
    """Yield a setting's heading with its first line, then its other lines; with only one all is one line."""
    size, words = setting_head(setting, shop)
    lines = setting_lines(setting, shop, totals)
    large = f"{marked(size, size=SET, bold=True)} " if size else ""
    if size and len(lines) == 1 and len(lines[0].items) == 1:
        said = marked(", ".join(filter(None, (words, lines[0].text))), size=HAND)
        yield [Para(large + said, style(HAND, False, 0.0, 1.0, INDENT), bulletText=BOX)]
        return
    head = [Para(large + marked(words, size=HAND), style(SET, after=1.0))] if size or words else []
    found = [one for line in lines for one in _line(line)]
    if large and not words and (boxed := _boxed(lines[0])):
        found[0] = Para(f"{large}{NO_BREAK}{marked(boxed[0], size=HAND)}", style(HAND))
        yield found[:1]
    else:
        yield [*head, found[0]]
    for number, one in enumerate(found[1:], 1):
        yield one if number % AGAIN or not head else [*head, one]


def _line(line: ListLine) -> Iterator[Para]:
    """Yield a line with a box for each of its items, as paragraphs of some items each."""
    boxed = _boxed(line)
    yield from (para(words, after=0.5) for words in boxed)
    if not boxed:
        yield to_tick(line.items[0])


def _boxed(line: ListLine) -> list[str]:
    """Return a line in paragraphs of some items each, a box before each; none for one item and nothing before it."""
    if not line.lead and len(line.items) == 1:
        return []
    items = [f"{BOX} {item}".replace(" ", NO_BREAK, 2) for item in line.items]
    parts = ([*filter(None, (line.lead,)), *items[:FIRST]], items[FIRST:])
    return [f"{NO_BREAK}  ".join(words) for words in parts if words]


AGAIN = 24
"""After so many lines the setting is said again, so that every column says what it is for."""

FIRST = 3
"""So many items stay with their heading; the others may go on in the next column."""
