"""What stands on the sheets of the order's workbook: headings and rows, and sentences above them."""

from __future__ import annotations

from dataclasses import fields
from typing import TYPE_CHECKING, NamedTuple

from yieldplan.model.kept import said_rings
from yieldplan.model.pieces import HAPPENED, HAPPENED_SHEET, counted
from yieldplan.model.words import slope_words
from yieldplan.order.explain import KINDS, MARGINS, headlines, kind_rows
from yieldplan.order.happened import happened_rows
from yieldplan.order.howgood import (
    FIGURES,
    how_good,
    net_wood,
    shares,
    wood_or_work_rows,
    work_line,
)
from yieldplan.order.listed import list_note, setting_head, setting_lines
from yieldplan.pages.paper import BOX
from yieldplan.pages.wording import (
    VOLUMES,
    figure,
    how_long,
    noted,
    shown_setting,
    size,
    usual_shop,
    volume,
    wood_words,
)

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping, Sequence

    from yieldplan.model import Plan
    from yieldplan.order.data import Order

Cell = str | int

BOARDS = ("Done", "Board", "Species", "Rack", "Length", "Width", "Thickness", "Gives", "Spare board")
LISTS = ("Done", "List", "Work", "Setting", "With", "Height", "What is done")
SPARE = ("Stick", "Blank", "Thickness", "Width", "Length", "Spare board")
LEFT = ("Board", "Left", "Species", "Size", "Rack")

RACK = (
    *("Offcut", "Length", "Width", "Thickness", "Qty", "Species", "Bow", "Crook", "Cup", "Twist"),
    *("Ring angle", "Ring angle far", "Moisture", "Grain slope", "Kink at", "Rack", "From", "Note"),
)
"""The headings of a pile's Offcuts sheet: rows of keepers can be pasted there as they are."""

RACK_DEFECTS = ("Offcut", "Kind", "From", "To", "Edge from", "Edge to", "Face", "Depth", "Note")
"""The headings of a pile's Defects sheet."""


class Sheet(NamedTuple):
    """One sheet: its name, headings, rows, and sentences above them."""

    title: str
    heads: tuple[str, ...]
    rows: Sequence[tuple[Cell, ...]]
    lines: tuple[str, ...] = ()


def sheets(order: Order, reasons: Mapping[str, str], others: Sequence[Plan]) -> Iterator[Sheet]:
    """Yield the sheets of the order's workbook, in their order."""
    job, plan = order.job, order.plan
    whys = (reasons.get(kind.blank.name, "") if kind.missing else "" for kind in order.kinds)
    made = [(*row, why) for row, why in zip(kind_rows(order), whys, strict=True)]
    title = f"Cutting order for {job.name}, plan {order.fingerprint}"
    yield Sheet("Set-up", (*KINDS, "Why missing"), made, (title, *headlines(order), *order.notes))
    yield Sheet("Boards", BOARDS, list(_boards(order)))
    yield Sheet("Machine lists", LISTS, list(_lists(order)), tuple(filter(None, map(list_note, order.lists))))
    yield Sheet("Rack", RACK, list(_rack(order)))
    if defects := list(_defects(order)):
        yield Sheet("Rack defects", RACK_DEFECTS, defects)
    yield Sheet(HAPPENED_SHEET, HAPPENED, happened_rows(order))
    yield Sheet("Margins", SPARE, list(_margins(order)), (MARGINS,))
    yield Sheet("Left alone", LEFT, list(_left(order)))
    lines = (wood_words(plan.account, job.shop), work_line(job, plan), how_good(job, plan))
    yield Sheet("Figures", ("What", "How much", ""), list(_figures(order)), lines)
    heads, rows = wood_or_work_rows(job, plan, others)
    if rows:
        yield Sheet("Wood or work", heads, rows, (FIGURES,))
    yield Sheet("Shop", ("Setting", "Value", "Note"), list(_settings(order)))


def _boards(order: Order) -> Iterator[tuple[Cell, ...]]:
    fig = figure(order.job.shop)
    for card in order.cards:
        one = card.offcut
        gives = ", ".join(counted(count, name) for name, count in card.gives.items())
        sizes = map(fig, (one.length, one.width, one.thickness))
        yield BOX, card.board, one.species, one.rack, *sizes, gives, card.stand_by or "none"


def _lists(order: Order) -> Iterator[tuple[Cell, ...]]:
    """Yield the machine lists, an item a row, as they hang at the machines."""
    shop = order.job.shop
    for one in order.lists:
        for setting in one.settings:
            head = (one.title, setting.part, *setting_head(setting, shop))
            for line in setting_lines(setting, shop):
                yield from ((BOX, *head, line.lead, item) for item in line.items)


def _rack(order: Order) -> Iterator[tuple[Cell, ...]]:
    """Yield the keepers as rows of a pile."""
    shop, fig = order.job.shop, figure(order.job.shop)
    for kept in order.rack:
        one = kept.offcut
        warp = (fig(steps) if steps else "" for steps in (one.bow, one.crook, one.cup, one.twist))
        yield (
            one.name,
            *map(fig, kept.size),
            1,
            one.species,
            *warp,
            *map(str, said_rings(one, shop) or ("", "")),
            "" if one.moisture is None else f"{float(one.moisture):g}",
            "" if one.grain_slope is None else slope_words(one.grain_slope),
            "; ".join(map(fig, one.kinks)),
            *(one.rack, kept.board, noted(one, shop)),
        )


def _defects(order: Order) -> Iterator[tuple[Cell, ...]]:
    """Yield the keepers' defects as rows of a pile; one that goes through has neither face nor depth."""
    fig = figure(order.job.shop)
    for kept in order.rack:
        for one in kept.offcut.defects:
            face = "" if one.through else "1" if one.z1 == 0 else "2"
            depth = "" if one.through else fig(one.z2 - one.z1)
            yield kept.name, one.kind, *map(fig, (one.x1, one.x2, one.y1, one.y2)), face, depth, one.note


def _margins(order: Order) -> Iterator[tuple[Cell, ...]]:
    """Yield what each blank has to spare, the tightest first."""
    fig = figure(order.job.shop)
    found = ((one, card.stand_by) for card in order.cards for one in card.margins)
    for one, board in sorted(found, key=lambda pair: pair[0].tightest):
        yield one.name, one.blank, fig(one.thickness), fig(one.width), fig(one.length), board or "none"


def _left(order: Order) -> Iterator[tuple[Cell, ...]]:
    for one, count in order.left:
        sizes = size(order.job.shop, one.length, one.width, one.thickness)
        yield one.name, count, one.species, sizes, one.rack


def _figures(order: Order) -> Iterator[tuple[Cell, ...]]:
    """Yield the figures behind the plan: wood, work, and how good it is."""
    account, proof, shop = order.plan.account, order.plan.proof, order.job.shop
    for field in fields(account):
        what = f"Wood: {field.name.replace('volume_in', 'drawn')}"
        yield what, volume(getattr(account, field.name), shop), ""
    for machine, hundredths in shares(order.job, order.plan).items():
        yield f"Work: {machine}", how_long(hundredths), ""
    unit = VOLUMES[shop.units][0]
    cost, wood = (f"{net_wood(one, shop.units)} {unit}" for one in (proof.cost, proof.net_worth))
    yield "Cost: wood and the price of work", cost, f"of which wood {wood}"
    least = f"{net_wood(proof.bound, shop.units, up=False)} {unit}"
    yield "No plan that misses as few costs less than", least, f"gap {100 * proof.gap:.2f} %"


def _settings(order: Order) -> Iterator[tuple[Cell, ...]]:
    """Yield the shop's settings; one that is not the default is said to be the shop's own."""
    shop, usual = order.job.shop, usual_shop(order.job.shop)
    for field in fields(shop):
        own = getattr(shop, field.name) != getattr(usual, field.name)
        value = shown_setting(shop, shop, field.name)
        yield field.name.replace("_", " "), value, "the shop's own" if own else ""
