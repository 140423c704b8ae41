"""Every figure that a cutting order may print, from the plan and the model alone: nothing of the order's code."""

from __future__ import annotations

import re
from fractions import Fraction
from itertools import pairwise
from typing import TYPE_CHECKING

from yieldplan.measure import INCH, MM
from yieldplan.model import keepers, milled, sawn_rows, section
from yieldplan.model.kept import as_offcut
from yieldplan.model.leftovers import gaps

if TYPE_CHECKING:
    from collections.abc import Iterator

    from yieldplan.model import Billet, Job, Offcut, OffcutPlan, Plan, Row, Stick, Wood
    from yieldplan.order.data import Order

_NO_LENGTH = re.compile(
    r"\d+(?:\.\d+)?[ \xa0]?[%°]|1 in [\d.]+|[\d.]+ (?:board|m³)|[\d.]+ kept|\(\d+(?: \d+/\d+)? in\)"
)
"""What has digits in it and is no length of the plan: shares, angles, slopes, what a caution says in brackets."""

_INCHES = re.compile(r"(?<![\d/.#-])(?:(\d+)[ \xa0])?(\d+)/(\d+)(?![\d/])")
_MILLIMETRES = re.compile(r"(?<![\w.#-])\d+\.\d+(?![\d%])")


def read_figures(text: str, job: Job) -> Iterator[int]:
    """Yield the fractions of an inch, or the halves of a millimetre, that stand in a text, in steps, exactly.

    Whole numbers may be counts or names, so that they say nothing.
    """
    text = _NO_LENGTH.sub(" ", text)
    if job.shop.units == "inch":
        for whole, part, of in _INCHES.findall(text):
            value = (int(whole or 0) + Fraction(int(part), int(of))) * INCH
            yield int(value) if value.denominator == 1 else -1
        return
    for found in _MILLIMETRES.findall(text):
        value = Fraction(found) * MM
        yield int(value) if value.denominator == 1 else -1


def figures(job: Job, plan: Plan) -> set[int]:
    """Return every length of a plan that may be printed: places, sizes, settings, losses, what is left."""
    found = {size for blank in job.blanks for size in (blank.length, blank.width, blank.thickness)}
    for drawn in plan.offcuts:
        found |= set(_of_board(job, job.offcut(drawn.offcut), drawn))
    return found


def figures_and_margins(order: Order) -> set[int]:
    """Return the figures of an order's plan, and what its cards say there is to spare."""
    margins = (one for card in order.cards for one in card.margins)
    spare = {size for one in margins for size in (one.thickness, one.width, one.length)}
    return figures(order.job, order.plan) | spare


def _of_board(job: Job, offcut: Offcut, drawn: OffcutPlan) -> Iterator[int]:
    yield from _of_offcut(offcut)
    for keeper in keepers(job, drawn):
        yield from keeper.x
        yield from _of_offcut(as_offcut(offcut, keeper, "", job.shop))
    for billet in drawn.billets:
        yield from (billet.start, billet.end)
        if not hasattr(billet, "strips"):
            yield billet.split
        for wood, part in milled(offcut, billet, job.shop):
            yield from _of_part(job, wood, part)


def _of_offcut(offcut: Offcut) -> Iterator[int]:
    yield from (offcut.length, offcut.width, offcut.thickness, *offcut.kinks)
    for one in offcut.defects:
        yield from (one.x1, one.x2, one.y1, one.y2, one.z1, one.z2)


def _of_part(job: Job, wood: Wood, part: Billet) -> Iterator[int]:
    rows = list(sawn_rows(wood, part, job.shop))
    for row in rows:
        yield from _of_row(row)
    for axis in "yz":
        spans = [span for row in rows if row.axis == axis for span in row.spans]
        yield max(span[1] for span in spans)
        yield max(span[1] for span in spans) - min(span[0] for span in spans)
    sticks = [
        (strip, number)
        for strip in range(len(part.strips))
        for number in range(len(part.strips[strip].sticks))
    ]
    for strip, number in sticks:
        rows_of = (rows[0], strip), (rows[1 + strip], number)
        yield from _of_stick(job, wood, part, part.strips[strip].sticks[number], rows_of)


def _of_row(row: Row) -> Iterator[int]:
    """Yield the settings of a row, and what the jointer takes where a piece begins within a kerf."""
    yield from (sawn.at for sawn in row.passes)
    before = 0
    for start, end in row.spans:
        yield from (start - before, start - before - row.kerf)
        before = end


def _of_stick(
    job: Job, wood: Wood, part: Billet, stick: Stick, lies: tuple[tuple[Row, int], tuple[Row, int]]
) -> Iterator[int]:
    """Yield what a stick measures before and after the planer, what that takes, its stops and its running measures."""
    sizes = section(wood.offcut, job.blank(stick.blanks[0].blank), job.shop, turned=stick.turned)
    planed = (sizes.planed_width, sizes.planed_thickness)
    for row, place in lies:
        start, end = row.spans[place]
        sawn = any(one.piece == place and not one.odd for one in row.passes)
        before = (end if sawn else row.end) - start
        yield before
        yield from (before - size for size in planed)
    yield from planed
    for cut in stick.blanks:
        yield from (cut.start, cut.end, cut.end - cut.start, cut.start - part.start)
    for one, other in pairwise(stick.blanks):
        yield other.start - one.end
        yield other.start - one.end - job.shop.crosscut_kerf
    spans = [(cut.start, cut.end) for cut in stick.blanks]
    for gap in gaps(spans, (part.start, part.end), job.shop.crosscut_kerf):
        yield from (*gap, gap[1] - gap[0])
