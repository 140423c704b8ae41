"""The cutting order as printed pages: set-up sheet, board cards, machine lists, rack sheet, tickets."""

from __future__ import annotations

import re
from fractions import Fraction
from itertools import groupby
from typing import TYPE_CHECKING

from reportlab.lib.colors import black

from yieldplan.model.pieces import pieces
from yieldplan.order.cards import put_cards
from yieldplan.order.cautions import ALWAYS, DEFER, cautions
from yieldplan.order.data import At
from yieldplan.order.explain import (
    COUNTS,
    KINDS,
    LAYING,
    SIZE,
    filled,
    headlines,
    kept_words,
    kind_rows,
    naming,
    whys,
)
from yieldplan.order.howgood import how_good, work_line
from yieldplan.order.listpages import put_lists
from yieldplan.pages.document import Document
from yieldplan.pages.drawing import Box, Sketch, Word
from yieldplan.pages.paper import (
    FOOT,
    HAND,
    NO_BREAK,
    PROSE,
    SET,
    Para,
    grid,
    height_of,
    marked,
    para,
    printable,
    style,
    width_of,
)
from yieldplan.pages.wording import figure, percent, size, unit_word, wood_words

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from reportlab.graphics.shapes import Drawing
    from reportlab.platypus import Flowable, Table

    from yieldplan.model import Account
    from yieldplan.order.data import Order, Setting
    from yieldplan.pages.paper import Paper

HATCHES: Sequence[tuple[str, tuple[float, ...], float]] = (
    ("blanks", (), 0.0),
    ("keepers", (90.0,), 8.0),
    ("kerf", (0.0,), 2.5),
    ("shavings", (45.0,), 4.0),
    ("trimmings", (45.0, 135.0), 5.0),
)
"""Where the wood goes: field of the account, angles of its hatching, distance of its lines."""


LEAST = 40.0
"""No column of words is narrower, in points."""

NAME, MEASURED = 48.0, 54.0
"""Room for a new name, and for a box to write in, in points."""

SHORT = 1 / 3
"""A sheet that takes no more than so much of a page is kept whole."""

RULE_ROOM = 9.0
"""Room for the line above the sheet, in points."""

TICKETS = 3
"""Tickets beside one another."""


def pdf_bytes(
    order: Order,
    *,
    paper: Paper = "letter",
    reasons: Mapping[str, str] | None = None,
    tickets: bool = False,
) -> bytes:
    """Return the printed pages as a pdf file; the same order gives the same bytes.

    ``reasons`` say by blank name why the pile does not make the missing ones. With ``tickets`` one to cut out follows
    for each stick and keeper.
    """
    foot = f"{order.job.name}, plan {order.fingerprint}"
    document = Document(paper, f"Cutting order {order.fingerprint}", foot)
    _put_front(document, order, reasons or {})
    if order.cards:
        put_cards(document, order)
        put_lists(document, order)
        _put_rack(document, order)
    if tickets and order.cards:
        _put_tickets(document, order)
    return document.drawn()


def page_count(data: bytes) -> int:
    """Return how many pages a file of :func:`pdf_bytes` has."""
    found = re.search(rb"/Count (\d+)", data)
    return int(found[1]) if found else 0


def _put_front(document: Document, order: Order, reasons: Mapping[str, str]) -> None:
    """Put the set-up sheet on the pages; its sentences are set smaller where else it would not fit on one."""
    found = [_sheet(order, reasons, document.measure, size) for size in (PROSE, FOOT)]
    fits = height_of(found[0], document.measure) <= document.whole
    document.story += found[0] if fits else found[1]


def _sheet(order: Order, reasons: Mapping[str, str], width: float, prose: float) -> list[Flowable]:
    job = order.job
    story = [
        para("Set-up sheet", 18, bold=True, after=1.0),
        para(f"Cutting order for {job.name}. All figures in {unit_word(job.shop)}.", FOOT, after=3.0),
        *(para(line, SET, bold=True) for line in headlines(order)),
        *([_batch(order, width)] if order.kinds else []),
        *(para(why, prose) for why in whys(order, reasons)),
    ]
    first = [" ".join(order.notes), " ".join((LAYING, *naming(order)) if order.cards else ())]
    mind = f"{' '.join((*ALWAYS, DEFER))} Jointer: {' '.join(cautions(At.JOINTER, job.shop))}"
    for words, flowables in (
        ("Settings, in working order, with how many pieces each", _settings(order, width)),
        ("Wood and work", [para(wood_words(order.plan.account, job.shop)), *_bar(order.plan.account, width)]),
        ("", [para(work_line(job, order.plan)), para(how_good(job, order.plan), prose)]),
        ("Before the first cut", [para(text, prose, after=1.0) for text in first if text]),
        ("Take care", [para(mind, prose)]),
    ):
        if flowables:
            story += [*([para(words, HAND, bold=True, before=4.0, after=1.0)] if words else []), *flowables]
    return story


def _batch(order: Order, width: float) -> Table:
    """Return the batch: what is made, from what wood, and where a lost blank could come from.

    Each column is as wide as what stands in it; if that is too much the widest words give way, no figures.
    """
    heads, rows = filled(KINDS, kind_rows(order))
    columns = zip(heads, *rows, strict=True)
    natural = [max(width_of(printable(text), HAND) for text in column) + 11 for column in columns]
    cap, widths = width, natural
    while sum(widths) > width and cap > LEAST:
        cap -= 1
        widths = [
            wide if head in (SIZE, *COUNTS) else min(wide, cap)
            for head, wide in zip(heads, natural, strict=True)
        ]
    return grid(heads, rows, widths)


def _settings(order: Order, width: float) -> list[Flowable]:
    """Return the settings by machine: one row a stage and machine."""
    every = (setting for one in order.lists if one.kind != "ends" for setting in one.settings)
    settings, rows = [setting for setting in every if setting.machine is not At.JOINTER], []
    for (part, machine), group in groupby(settings, key=lambda one: (one.part, one.machine)):
        said = " &nbsp; ".join(_set(one, order) for one in group)
        rows.append((machine.value.capitalize(), part.split(",")[0], Para(said, style(HAND))))
    return [grid((), rows, [width * 0.14, width * 0.2, width * 0.66])] if rows else []


def _set(setting: Setting, order: Order) -> str:
    """Return a setting with how many pieces it is for, in the page maker's marks."""
    size = "" if setting.size is None else figure(order.job.shop)(setting.size)
    large = f"{marked(size, size=SET, bold=True)} " if size else ""
    return large + marked(f"({setting.pieces}{', odd' if setting.odd else ''})", size=HAND)


def _bar(account: Account, width: float) -> list[Drawing]:
    """Return a bar whose parts are as long as their shares of the wood drawn, with its key below."""
    if account.volume_in <= 0:
        return []
    sketch, x, at = Sketch(width, 31.0), 0.0, 0.0
    for name, angles, spacing in HATCHES:
        volume = getattr(account, name)
        wide = float(Fraction(volume, account.volume_in)) * width
        patch = Box(at, 2.0, at + 16.0, 12.0)
        for box in (Box(x, 15.0, x + wide, 30.0), patch):
            sketch.rect(box)
            sketch.hatch(box, angles, spacing)
        word = Word(f"{name} {percent(volume, account.volume_in)}", patch.x2 + 4, 3.5, FOOT)
        sketch.write(word)
        x, at = x + wide, word.box.x2 + 12.0
    return [sketch.drawing]


def _put_rack(document: Document, order: Order) -> None:
    """Put the rack sheet below the machine lists, whole if it is short; without room there on a page of its own."""
    if not order.rack:
        return
    rows = [
        (
            para(one.name, SET, bold=True),
            kept_words(one, order.job.shop).removeprefix(f"{one.name}, "),
            "",
            "",
            "",
        )
        for one in order.rack
    ]
    widths = (NAME, document.measure - NAME - 3 * MEASURED, *[MEASURED] * 3)
    heads = ("Name", "What it is", "Length", "Width", "Thickness")
    large = marked("Rack sheet: what goes back", size=SET, bold=True)
    words = "Write the new name on end B, and what you measure into the boxes."
    title = Para(f"{large}{NO_BREAK} {words}", style(PROSE, after=1.0))
    sheet = [title, grid(heads, rows, widths, ("GRID", 0.6, black))]
    document.part(min(height_of(sheet, document.measure), SHORT * document.whole) + RULE_ROOM)
    document.story += sheet


def _put_tickets(document: Document, order: Order) -> None:
    """Put a ticket to cut out for each stick and keeper on the pages."""
    sizes = {kept.name: size(order.job.shop, *kept.size) for kept in order.rack}
    found = [
        [para(piece.name, SET, bold=True), para(piece.gives or f"Keeper, {sizes[piece.name]}")]
        for piece in pieces(order.job, order.plan)
        if piece.kind != "board"
    ]
    found += [[]] * (-len(found) % TICKETS)
    rows = [found[at : at + TICKETS] for at in range(0, len(found), TICKETS)]
    document.section(para("Tickets to cut out", FOOT, after=4.0))
    widths = [document.measure / TICKETS] * TICKETS
    document.story.append(grid((), rows, widths, ("GRID", 0.5, black, None, (3, 3))))
