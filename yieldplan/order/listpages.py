"""The machine lists: what is set, a heading each, and under it what is done, in columns to pin at the machine."""

from __future__ import annotations

from itertools import groupby
from typing import TYPE_CHECKING
from xml.sax.saxutils import escape

from reportlab.platypus import BalancedColumns, CondPageBreak, Paragraph

CAUTIONS = {}
from yieldplan.order.data import Square
from yieldplan.order.listed import list_title, setting_head, setting_lines, totals_of
from yieldplan.order.paper import BOX, FOOT, HAND, INDENT, SET, font, para, printable, rule, style, to_tick

if TYPE_CHECKING:
    from collections.abc import Iterator

    from reportlab.platypus import Flowable

    from yieldplan.model import Shop
    from yieldplan.order.data import MachineList, Order, Setting
    from yieldplan.order.document import Document

COLUMNS = {"ends": 3, "saws": 2, "planer": 2, "stop": 2}
LEAST = 150.0
"""A list does not begin where less height is left on a page, in points."""


def put_lists(document: Document, order: Order) -> None:
    """Put the machine lists on the pages, one after the other."""
    document.section(para("Machine lists", SET, bold=True, after=4.0))
    totals = totals_of(order)
    for number, one in enumerate(order.lists):
        if number:
            document.story.append(rule(1.5, 6.0, 6.0))
        document.story.append(CondPageBreak(LEAST))
        document.story += [para(list_title(one), SET, bold=True, after=1.0)]
        machines = dict.fromkeys(setting.machine for setting in one.settings)
        document.story += [para(" ".join(CAUTIONS.get(machine, ["Mind."])), FOOT) for machine in machines]
        document.story.append(
            BalancedColumns(list(_column(one, order.job.shop, totals)), COLUMNS[one.kind], **AIR)
        )


AIR = {"leftPadding": 0, "rightPadding": 0, "topPadding": 0, "bottomPadding": 0, "innerPadding": 14}


def _column(one: MachineList, shop: Shop, totals: dict[str, int]) -> Iterator[Flowable]:
    for part, settings in groupby(one.settings, key=lambda setting: setting.part):
        if part:
            yield para(part, HAND, bold=True, before=3.0, after=2.0)
        for setting in settings:
            yield from _setting(setting, shop, totals)


def _setting(setting: Setting, shop: Shop, totals: dict[str, int]) -> Iterator[Flowable]:
    size, words = setting_head(setting, shop)
    lines = setting_lines(setting, shop, totals)
    large = f'<font name="{font(True)}" size="{SET:g}">{escape(printable(size))}</font> ' if size else ""
    small = f'<font size="{HAND:g}">{escape(printable(words))}</font>'
    if len(lines) == 1 and size:
        said = escape(printable(", ".join(filter(None, (words, lines[0])))))
        text = f'{large}<font size="{HAND:g}">{said}</font>'
        yield Paragraph(text, style(SET, False, 2.0, 2.0, INDENT), bulletText=BOX)
        return
    head = Paragraph(f"{large}{small}", style(SET, False, 3.0, 1.0))
    head.keepWithNext = 1
    if size or words:
        yield head
    if isinstance(setting.steps[0], Square):
        yield para("  ".join(f"{BOX} {line}".replace(" ", NO_BREAK) for line in lines))
    else:
        yield from (to_tick(line) for line in lines)


NO_BREAK = "\N{NO-BREAK SPACE}"
