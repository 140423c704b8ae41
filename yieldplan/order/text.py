"""The cutting order as plain text, for ``cutting-order.txt`` and the screen."""

from __future__ import annotations

from itertools import groupby
from typing import TYPE_CHECKING

from yieldplan.model.pieces import counted
from yieldplan.order.cautions import ALWAYS, DEFER, cautions
from yieldplan.order.data import At
from yieldplan.order.explain import (
    COUNTS,
    KINDS,
    LAYING,
    SIZE,
    board_facts,
    filled,
    headlines,
    kept_words,
    kind_rows,
    left_words,
    naming,
    whys,
)
from yieldplan.order.howgood import how_good, work_line
from yieldplan.order.listed import list_note, setting_head, setting_lines
from yieldplan.order.sentences import card_lines
from yieldplan.pages.renderables import Words, plain_text, row, table
from yieldplan.pages.wording import size, unit_word, wood_words

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping

    from yieldplan.order.data import Card, MachineList, Order

NARROWEST = 72
TICK = "[ ] "


def order_text(order: Order, *, width: int = 96, reasons: Mapping[str, str] | None = None) -> str:
    """Return the whole cutting order as plain text, in lines of at most ``width`` characters.

    ``reasons`` say by blank name why the pile does not make the missing ones.
    """
    parts = [*_set_up(order, reasons or {}, width)]
    if order.cards:
        parts += [*_cards(order), *(line for one in order.lists for line in _list(order, one)), *_rack(order)]
    return "".join(_broken(line, width) for line in (*parts, *_title("Left alone"), left_words(order)))


def boards_text(order: Order, *, width: int = 80) -> str:
    """Return the order board by board as plain text, and the rack, for the screen."""
    return "".join(_broken(line, max(width, NARROWEST)) for line in (*_cards(order), *_rack(order)))


def _broken(line: str, width: int) -> str:
    """Return a line in lines of so many characters; behind a box to tick they are indented."""
    head = TICK if line.startswith(TICK) else ""
    lines = Words(line.removeprefix(head)).lines(width - len(head))
    return "".join(f"{head if at == 0 else ' ' * len(head)}{part}\n" for at, part in enumerate(lines))


def _title(words: str) -> tuple[str, str]:
    return words.upper(), "=" * len(words)


def _set_up(order: Order, reasons: Mapping[str, str], width: int) -> Iterator[str]:
    """Yield what stands on the set-up sheet."""
    job, plan = order.job, order.plan
    yield from _title("Cutting order")
    yield f"{job.name}, plan {order.fingerprint}. All figures in {unit_word(job.shop)}."
    yield from (*headlines(order), "")
    heads, rows = filled(KINDS, kind_rows(order))
    made = table(*heads, right=COUNTS, whole=(SIZE,))
    for cells in rows:
        row(made, *cells)
    yield from plain_text(made, width).splitlines()
    yield from (*whys(order, reasons), "")
    if order.cards:
        yield from (wood_words(plan.account, job.shop), work_line(job, plan), how_good(job, plan), "")
        yield from (*order.notes, LAYING, *naming(order), *ALWAYS, DEFER, "")


def _cards(order: Order) -> Iterator[str]:
    """Yield the order board by board."""
    yield from _title("Board by board")
    for card in order.cards:
        yield _head(order, card)
        yield from (f"! {note}" for note in card.notes)
        for part, lines in groupby(card_lines(card, order.job.shop), key=lambda line: line.part):
            if part:
                yield f"    {part}"
            yield from (TICK + line.text for line in lines)
        yield ""


def _head(order: Order, card: Card) -> str:
    offcut = card.offcut
    sizes = size(order.job.shop, offcut.length, offcut.width, offcut.thickness)
    gives = ", ".join(counted(count, name) for name, count in card.gives.items())
    return f"{card.board}: {', '.join((sizes, *board_facts(offcut)))}. Gives {gives}."


def _list(order: Order, one: MachineList) -> Iterator[str]:
    """Yield a machine's list, its cautions above it."""
    shop = order.job.shop
    yield from _title(one.title)
    machines = {setting.machine for setting in one.settings}
    yield from (f"! {said}" for machine in At if machine in machines for said in cautions(machine, shop))
    yield from filter(None, (list_note(one),))
    for part, settings in groupby(one.settings, key=lambda setting: setting.part):
        yield from ("", part) if part else ()
        for setting in settings:
            if head := " ".join(filter(None, setting_head(setting, shop))):
                yield f"--- {head} ---"
            yield from (TICK + line.text for line in setting_lines(setting, shop))
    yield ""


def _rack(order: Order) -> Iterator[str]:
    """Yield what goes back on the rack."""
    yield from _title("Rack: what goes back")
    yield from [TICK + kept_words(kept, order.job.shop) for kept in order.rack] or ["Nothing."]
    yield ""
