"""The front page: batch, wood, proof, what is missing, settings, names on the wood, cautions."""

from __future__ import annotations

from fractions import Fraction
from typing import TYPE_CHECKING

from reportlab.platypus import CondPageBreak, KeepTogether

from yieldplan.order.cautions import ALWAYS, DEFER
from yieldplan.order.columns import SETTING_HEADS, setting_rows
from yieldplan.order.explain import LAYING, naming
from yieldplan.order.howgood import how_good
from yieldplan.order.paper import (
    LARGE,
    SMALL,
    Column,
    Drawing,
    Line,
    Rect,
    Text,
    para,
    table,
)
from yieldplan.order.shapes import Box, hatch
from yieldplan.order.wording import board_feet, cubic_metres, percent, plural, size, unit_sign

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from reportlab.platypus import Flowable, Paragraph, Table

    from yieldplan.model import Account
    from yieldplan.order.data import Order
    from yieldplan.order.document import Document
    from yieldplan.order.paper import Mark

TITLE_AND_ROWS = 90.0
"""Points that must be left on a page for a table's title to stand there: it and some rows."""

HATCHES: Sequence[tuple[str, str, tuple[float, ...], float]] = (
    ("blanks", "finished blanks", (), 0.0),
    ("keepers", "keepers", (90.0,), 9.0),
    ("kerf", "saw kerf", (0.0,), 2.5),
    ("shavings", "shavings", (45.0,), 4.0),
    ("trimmings", "trimmings and all the rest", (45.0, 135.0), 5.0),
)
"""Where the wood goes: field of the account, words, angles of its hatching, distance of its lines."""


def put_front(document: Document, order: Order, reasons: Mapping[str, str]) -> None:
    """Put the front page, and what does not find room on it, on the pages."""
    job, plan, width = order.job, order.plan, document.measure
    document.story += [
        para("Cutting order", 20, bold=True),
        para(f"{job.name}, plan {order.fingerprint}", LARGE, after=6.0),
        para(_headline(order), LARGE, bold=True, after=6.0),
        *([_batch(order, width)] if job.blanks else []),
    ]
    if plan.missing_total:
        whys = [
            para(f"{name}, {count} missing: {reasons.get(name, 'No reason was found.')}", after=0.0)
            for name, count in plan.missing
            if count
        ]
        document.story += [KeepTogether([_heading("Missing, and why"), whys[0]]), *whys[1:]]
    sentences = (*naming(order), LAYING)
    wood: list[Flowable] = [para(sentence) for sentence in order.notes]
    if order.settings:
        columns = [Column(head, bold=head == "Plane to") for head in SETTING_HEADS]
        wood += [CondPageBreak(TITLE_AND_ROWS), para("Planer settings, by species and moisture:", bold=True)]
        wood.append(table(columns, setting_rows(order), width, SMALL))
    for words, flowables in (
        ("Where the wood goes", _wood(plan.account, width)),
        ("How good the plan is", [para(how_good(job, plan))]),
        *([("The wood itself", wood)] if wood else []),
        ("Names on the wood, and how to lay it", [para(sentence) for sentence in sentences]),
        ("Cautions", [para(sentence) for sentence in (*ALWAYS, DEFER)]),
    ):
        document.story += [KeepTogether([_heading(words), flowables[0]]), *flowables[1:]]


def _heading(words: str) -> Paragraph:
    return para(words, LARGE, bold=True, before=6.0)


def _headline(order: Order) -> str:
    need = sum(blank.need for blank in order.job.blanks)
    missing = order.plan.missing_total
    spare = order.plan.spare_total
    more = f" {spare} {plural(spare, 'spare')} as well." if spare else ""
    if missing:
        return f"SHORT: {missing} of {need} needed blanks {plural(missing, 'is', 'are')} missing.{more}"
    return f"All {need} needed {plural(need, 'blank')} {plural(need, 'is', 'are')} made.{more}"


def _batch(order: Order, width: float) -> Table:
    shop = order.job.shop
    made, spare, missing = (dict(pairs) for pairs in (order.plan.made, order.plan.spare, order.plan.missing))
    columns = (
        Column("Blank"),
        Column(f"Finished size, {unit_sign(shop)}"),
        *(Column(word, right=True) for word in ("Need", "Made", "Spare", "Missing")),
    )
    rows = [
        (
            blank.name,
            size(shop, blank.length, blank.width, blank.thickness),
            str(blank.need),
            *(str(counts.get(blank.name, 0)) for counts in (made, spare, missing)),
        )
        for blank in order.job.blanks
    ]
    return table(columns, rows, width)


def _wood(account: Account, width: float) -> list[Flowable]:
    """Return the picture of where the wood goes, its key, and the waste figure in a sentence."""
    waste = account.kerf + account.shavings + account.trimmings
    figure = percent(waste, account.volume_in - account.keepers)
    sentence = (
        f"Waste figure {figure}: so much of the wood drawn and not kept goes into kerf, shavings and "
        f"trimmings. Drawn from the pile: {board_feet(account.volume_in)} board feet "
        f"({cubic_metres(account.volume_in)} m³)."
    )
    if account.volume_in <= 0:
        return [para(sentence)]
    return [para(sentence), wood_bar(account, width), *(_key(account, width, *row) for row in HATCHES)]


def wood_bar(account: Account, width: float) -> Drawing:
    """Return a bar whose parts are as long as their shares of the wood drawn."""
    marks: list[Mark] = []
    x = 0.0
    for name, _, angles, spacing in HATCHES:
        wide = float(Fraction(getattr(account, name), account.volume_in)) * width
        marks += _hatched(Box(x, 2.0, x + wide, 26.0), angles, spacing)
        x += wide
    return Drawing(width, 32.0, marks)


def _hatched(box: Box, angles: tuple[float, ...], spacing: float) -> list[Mark]:
    return [Rect(box, 0.8), *(Line(*s, 0.4) for angle in angles for s in hatch(box, angle, spacing))]


def _key(
    account: Account, width: float, name: str, words: str, angles: tuple[float, ...], spacing: float
) -> Drawing:
    volume = getattr(account, name)
    text = f"{words}: {board_feet(volume)} board feet, {percent(volume, account.volume_in)}"
    marks = _hatched(Box(0.0, 1.0, 24.0, 11.0), angles, spacing)
    return Drawing(width, 14.0, [*marks, Text(32.0, 0.5, text)])
