"""The set-up sheet: what is made, what the machines are set to, where the wood and the time go, what to mind."""

from __future__ import annotations

from fractions import Fraction
from itertools import groupby
from typing import TYPE_CHECKING
from xml.sax.saxutils import escape

from yieldplan.order.cautions import ALWAYS, CAUTIONS, DEFER
from yieldplan.order.columns import KINDS, cells
from yieldplan.order.data import At
from yieldplan.order.drawing import Sketch, Word
from yieldplan.order.howgood import how_good
from yieldplan.order.minutes import how_long, shares
from yieldplan.order.paper import FOOT, HAND, SET, Para, font, grid, para, style
from yieldplan.order.shapes import Box
from yieldplan.order.wording import board_feet, cubic_metres, figure, listed, percent, plural

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping, Sequence

    from reportlab.graphics.shapes import Drawing
    from reportlab.platypus import Flowable, Table

    from yieldplan.model import Account
    from yieldplan.order.data import Order, Setting
    from yieldplan.order.document import Document

HATCHES: Sequence[tuple[str, tuple[float, ...], float]] = (
    ("blanks", (), 0.0),
    ("keepers", (90.0,), 8.0),
    ("kerf", (0.0,), 2.5),
    ("shavings", (45.0,), 4.0),
    ("trimmings", (45.0, 135.0), 5.0),
)
"""Where the wood goes: field of the account, angles of its hatching, distance of its lines."""


def put_front(document: Document, order: Order, reasons: Mapping[str, str]) -> None:
    """Put the set-up sheet on the pages."""
    width = document.measure
    document.story += [
        para("Set-up sheet", 18, bold=True, after=1.0),
        para(
            f"Cutting order for {order.job.name}. All figures in {UNITS[order.job.shop.units]}.",
            FOOT,
            after=4.0,
        ),
        *(para(line, SET, bold=True, after=3.0) for line in headlines(order)),
        *([_batch(order, width)] if order.kinds else []),
        *(
            para(f"{kind.name}, {kind.missing} missing: {reasons.get(kind.name, 'No reason was found.')}")
            for kind in order.kinds
            if kind.missing
        ),
    ]
    for words, flowables in (
        ("Settings, in working order, with how many pieces each", _settings(order, width)),
        ("Wood and work", _wood_and_work(order, width)),
        ("The wood itself", [para(sentence, PROSE) for sentence in order.notes]),
        (
            "Mind",
            [
                para(" ".join((*ALWAYS, DEFER)), PROSE),
                para(f"Jointer: {' '.join(CAUTIONS[At.JOINTER])}", PROSE),
            ],
        ),
    ):
        if flowables:
            document.story += [para(words, HAND + 1, bold=True, before=6.0, after=2.0), *flowables]


PROSE = 10.0
"""Size of sentences by which no hand works."""

UNITS = {"inch": "inches", "mm": "millimetres"}


def headlines(order: Order) -> list[str]:
    """Return what matters first: how much is made of what, and which boards nothing stands by for."""
    need, made = sum(kind.need for kind in order.kinds), sum(kind.made for kind in order.kinds)
    boards, missing, spares = len(order.cards), order.plan.missing_total, order.plan.spare_total
    short = f"SHORT by {missing}: " if missing else ""
    more = f" and {spares} {plural(spares, 'spare')}" if spares else ""
    lines = [f"{short}{made} of {need} made{more} from {boards} {plural(boards, 'board')}."]
    alone = [card.board for card in order.cards if not card.stand_by]
    if alone:
        lines.append(f"No spare board for {listed(alone, 12)}: cut with care.")
    return lines


def _batch(order: Order, width: float) -> Table:
    """Return the batch: what is made, from what wood, and where a lost blank could come from."""
    rows = cells(KINDS, order.kinds, order.job.shop)
    used = [place for place in range(len(KINDS)) if any(row[place] for row in rows)]
    shares = [SHARES[KINDS[place].heading] for place in used]
    heads = [KINDS[place].heading for place in used]
    return grid(
        heads, [[row[place] for place in used] for row in rows], [width * x / sum(shares) for x in shares]
    )


SHARES = {
    "Blank": 20,
    "Finished size": 26,
    "Need": 6,
    "Made": 6,
    "Spare": 6,
    "Missing": 9,
    "From": 20,
    "A lost one from": 20,
}
"""How wide the columns of the batch are, one beside the other."""


def _settings(order: Order, width: float) -> list[Flowable]:
    """Return the settings by machine: one row a stage and machine."""
    rows: list[tuple[str, str, list[Setting]]] = [
        (part, machine.value, list(group))
        for one in order.lists
        if one.kind != "ends"
        for (part, machine), group in groupby(
            one.settings, key=lambda setting: (setting.part, setting.machine)
        )
    ]
    if not rows:
        return []
    fig = figure(order.job.shop)
    cells = [
        (
            machine.capitalize(),
            part.split(",")[0],
            Para(" &nbsp; ".join(_set(one, fig) for one in group), style(HAND)),
        )
        for part, machine, group in rows
    ]
    return [grid((), cells, [width * 0.14, width * 0.2, width * 0.66])]


def _set(setting: Setting, fig: Callable[[int], str]) -> str:
    """Return a setting with how many pieces it is for, in the page maker's marks."""
    size = (
        ""
        if setting.size is None
        else f'<font name="{font(True)}" size="{SET:g}">{escape(fig(setting.size))}</font> '
    )
    return f"{size}({setting.pieces}{', odd' if setting.odd else ''})"


def _wood_and_work(order: Order, width: float) -> list[Flowable]:
    """Return where the wood goes with its bar, the minutes by machine, and how good the plan is."""
    account, plan = order.plan.account, order.plan
    if account.volume_in <= 0:
        return [para(how_good(order.job, plan))]
    said, waste = _volumes(order), account.kerf + account.shavings + account.trimmings
    figure = percent(waste, account.volume_in - account.keepers)
    times = ", ".join(f"{share.at.lower()} {how_long(share.hundredths)}" for share in shares(order.job, plan))
    return [
        para(
            f"Drawn {said(account.volume_in)}, kept {said(account.keepers)}. Waste figure {figure}: so much of what is "
            "drawn and not kept goes into kerf, shavings and trimmings."
        ),
        wood_bar(account, width),
        para(f"Work {how_long(plan.work.hundredths)}: {times}."),
        para(how_good(order.job, plan), PROSE),
    ]


def _volumes(order: Order) -> Callable[[int], str]:
    if order.job.shop.units == "mm":
        return lambda volume: f"{cubic_metres(volume)} m³"
    return lambda volume: f"{board_feet(volume)} board feet"


def wood_bar(account: Account, width: float) -> Drawing:
    """Return a bar whose parts are as long as their shares of the wood drawn, with its key below."""
    sketch, x, at = Sketch(width, 38.0), 0.0, 0.0
    for name, angles, spacing in HATCHES:
        volume = getattr(account, name)
        wide = float(Fraction(volume, account.volume_in)) * width
        patch = Box(at, 2.0, at + 16.0, 12.0)
        for box in (Box(x, 17.0, x + wide, 36.0), patch):
            sketch.rect(box)
            sketch.hatch(box, angles, spacing)
        word = Word(f"{name} {percent(volume, account.volume_in)}", patch.x2 + 4, 3.5, FOOT)
        sketch.write(word)
        x, at = x + wide, word.box.x2 + 12.0
    return sketch.drawing
