"""The cutting order as plain text, for ``cutting-order.txt`` and the screen."""

from __future__ import annotations

from itertools import groupby
from typing import TYPE_CHECKING

from yieldplan.model.pieces import counted
from yieldplan.order.cautions import ALWAYS, CAUTIONS, DEFER
from yieldplan.order.columns import KINDS, filled
from yieldplan.order.data import At
from yieldplan.order.explain import LAYING, board_facts, headlines, kept_words, left_words, naming, whys
from yieldplan.order.howgood import how_good
from yieldplan.order.listed import list_note, list_title, setting_head, setting_lines, totals_of
from yieldplan.order.minutes import work_line
from yieldplan.order.sentences import card_lines
from yieldplan.pages.renderables import Words, plain_text, row, table
from yieldplan.pages.wording import size, unit_word, wood_words

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping

    from yieldplan.order.data import Card, MachineList, Order

NARROWEST = 72
TICK = "[ ] "
SIZE = "Finished size"


def order_text(order: Order, *, width: int = 96, reasons: Mapping[str, str] | None = None) -> str:
    """Return the whole cutting order as plain text.

    Parameters
    ----------
    order
        From :func:`yieldplan.order.steps.cutting_order`.
    width
        Longest line, in characters; at least 72.
    reasons
        Blank name to the reason why the pile does not make the missing ones.

    Raises
    ------
    ValueError
        If ``width`` is below 72.
    """
    if width < NARROWEST:
        raise ValueError(f"width must be at least {NARROWEST}, not {width}")
    return "".join(_Text(order, width).whole(reasons or {}))


def boards_text(order: Order, *, width: int = 80) -> str:
    """Return the order board by board as plain text, and the rack, for the screen."""
    text = _Text(order, max(width, NARROWEST))
    return "".join((*text.cards(), *text.rack()))


class _Text:
    """Writes the order's text part by part, each ending in a line end."""

    def __init__(self, order: Order, width: int) -> None:
        self.order, self.width, self.shop = order, width, order.job.shop

    def whole(self, reasons: Mapping[str, str]) -> Iterator[str]:
        """Yield the whole text."""
        yield from self.set_up(reasons)
        if self.order.cards:
            yield from self.cards()
            for one in self.order.lists:
                yield from self.machine_list(one)
            yield from self.rack()
        yield _title("Left alone")
        yield self._words(left_words(self.order))

    def set_up(self, reasons: Mapping[str, str]) -> Iterator[str]:
        """Yield what stands on the set-up sheet."""
        order = self.order
        yield _title("Cutting order")
        yield self._words(
            f"{order.job.name}, plan {order.fingerprint}. All figures in {unit_word(self.shop)}."
        )
        yield from map(self._words, headlines(order))
        yield "\n"
        yield self._kinds()
        yield from map(self._words, whys(order, reasons))
        yield "\n"
        if order.cards:
            said = (wood_words(order.plan.account, order.job.shop), work_line(order.job, order.plan))
            yield from map(self._words, (*said, how_good(order.job, order.plan)))
            yield "\n"
            yield from map(self._words, (*order.notes, LAYING, *naming(order), *ALWAYS, DEFER))
            yield "\n"

    def cards(self) -> Iterator[str]:
        """Yield the order board by board."""
        yield _title("Board by board")
        for card in self.order.cards:
            yield self._words(self._head(card))
            yield from (self._words(f"! {note}") for note in card.notes)
            part = ""
            for line in card_lines(card, self.shop):
                if line.part != part:
                    part = line.part
                    yield self._words(f"    {part}")
                yield self._hanging(TICK, line.text)
            yield "\n"

    def _head(self, card: Card) -> str:
        offcut = card.offcut
        sizes = size(self.shop, offcut.length, offcut.width, offcut.thickness)
        gives = ", ".join(counted(count, name) for name, count, _ in card.gives)
        return f"{card.board}: {', '.join((sizes, *board_facts(offcut)))}. Gives {gives}."

    def machine_list(self, one: MachineList) -> Iterator[str]:
        """Yield a machine's list, its cautions above it."""
        yield _title(list_title(one))
        for machine in At:
            if any(setting.machine is machine for setting in one.settings):
                yield from (self._words(f"! {caution}") for caution in CAUTIONS[machine])
        if note := list_note(one):
            yield self._words(note)
        for part, settings in groupby(one.settings, key=lambda setting: setting.part):
            if part:
                yield f"\n{part}\n"
            for setting in settings:
                figure, words = setting_head(setting, self.shop)
                if figure or words:
                    yield self._words(f"--- {' '.join(filter(None, (figure, words)))} ---")
                for line in setting_lines(setting, self.shop, totals_of(self.order)):
                    yield self._hanging(TICK, line.text)
        yield "\n"

    def rack(self) -> Iterator[str]:
        """Yield what goes back on the rack."""
        yield _title("Rack: what goes back")
        for kept in self.order.rack:
            yield self._hanging(TICK, kept_words(kept, self.shop))
        yield "\n" if self.order.rack else "Nothing.\n\n"

    def _words(self, text: str) -> str:
        return "".join(f"{line}\n" for line in Words(text).lines(self.width))

    def _hanging(self, head: str, text: str) -> str:
        """Return a line that is indented by its head where it is broken."""
        lines = Words(text).lines(self.width - len(head))
        return "".join(f"{head if at == 0 else ' ' * len(head)}{line}\n" for at, line in enumerate(lines))

    def _kinds(self) -> str:
        """Return the batch as a table, without the columns in which nothing stands."""
        columns, rows = filled(KINDS, self.order.kinds, self.shop)
        figures = [column.heading for column in columns if column.figure]
        made = table(*(column.heading for column in columns), right=figures, whole=(SIZE,))
        for cells in rows:
            row(made, *cells)
        return plain_text(made, self.width)


def _title(words: str) -> str:
    return f"{words.upper()}\n{'=' * len(words)}\n"
