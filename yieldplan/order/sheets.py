"""What stands on the sheets of the order's workbook: headings and rows, and sentences above them."""

from __future__ import annotations

from dataclasses import dataclass, fields
from typing import TYPE_CHECKING

from yieldplan.model.kept import said_rings
from yieldplan.model.pieces import HAPPENED, HAPPENED_SHEET, counted
from yieldplan.model.words import slope_words
from yieldplan.order.columns import KINDS, LEFT, cells
from yieldplan.order.columns import MARGINS as MARGIN_COLUMNS
from yieldplan.order.explain import MARGINS, headlines
from yieldplan.order.happened import happened_rows
from yieldplan.order.howgood import FIGURES, how_good, wood_or_work_rows
from yieldplan.order.listed import list_title, setting_head, setting_lines, totals_of
from yieldplan.order.minutes import how_long, net_wood, shares, work_line
from yieldplan.pages.paper import BOX
from yieldplan.pages.wording import VOLUMES, figure, noted, shown_setting, usual_shop, volume, wood_words

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping, Sequence

    from yieldplan.model import Defect, Plan
    from yieldplan.order.columns import Column
    from yieldplan.order.data import Kept, Order

Cell = str | int

RACK = (
    *("Offcut", "Length", "Width", "Thickness", "Qty", "Species", "Bow", "Crook", "Cup", "Twist"),
    *("Ring angle", "Ring angle far", "Moisture", "Grain slope", "Kink at", "Rack", "From", "Note"),
)
"""The headings of a pile's Offcuts sheet: rows of keepers can be pasted there as they are."""

RACK_DEFECTS = ("Offcut", "Kind", "From", "To", "Edge from", "Edge to", "Face", "Depth", "Note")
"""The headings of a pile's Defects sheet."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Sheet:
    """One sheet: its name, sentences, headings, rows. ``fills`` has lines to write on, and its outcomes a list."""

    title: str
    lines: tuple[str, ...] = ()
    heads: tuple[str, ...]
    rows: Sequence[tuple[Cell, ...]]
    wide: bool = True
    fills: bool = False


def sheets(order: Order, reasons: Mapping[str, str], others: Sequence[Plan]) -> Iterator[Sheet]:
    """Yield the sheets of the order's workbook, in their order."""
    yield _set_up(order, reasons)
    yield _boards(order)
    yield _machines(order)
    yield Sheet(
        title="Rack",
        heads=RACK,
        rows=[_kept(order, kept) for kept in order.rack],
    )
    defects = [row for kept in order.rack for row in _defects(order, kept)]
    if defects:
        yield Sheet(title="Rack defects", heads=RACK_DEFECTS, rows=defects)
    yield Sheet(title=HAPPENED_SHEET, heads=HAPPENED, rows=happened_rows(order), fills=True)
    spare = sorted(
        ((one, card.stand_by) for card in order.cards for one in card.margins),
        key=lambda row: row[0].tightest,
    )
    margins = cells(MARGIN_COLUMNS, spare, order.job.shop)
    yield Sheet(title="Margins", lines=(MARGINS,), heads=_heads(MARGIN_COLUMNS), rows=margins)
    yield Sheet(
        title="Left alone", heads=_heads(LEFT), rows=cells(LEFT, order.left, order.job.shop), wide=False
    )
    yield _figures(order)
    heads, others_rows = wood_or_work_rows(order.job, order.plan, others)
    if others_rows:
        yield Sheet(title="Wood or work", lines=(FIGURES,), heads=heads, rows=others_rows, wide=False)
    yield _settings(order)


def _set_up(order: Order, reasons: Mapping[str, str]) -> Sheet:
    made = cells(KINDS, order.kinds, order.job.shop)
    whys = [reasons.get(kind.name, "") if kind.missing else "" for kind in order.kinds]
    lines = (f"Cutting order for {order.job.name}, plan {order.fingerprint}", *headlines(order), *order.notes)
    rows = [(*row, why) for row, why in zip(made, whys, strict=True)]
    return Sheet(title="Set-up", lines=lines, heads=(*_heads(KINDS), "Why missing"), rows=rows)


def _heads(columns: Sequence[Column]) -> tuple[str, ...]:
    return tuple(column.heading for column in columns)


def _boards(order: Order) -> Sheet:
    fig = figure(order.job.shop)
    rows = []
    for card in order.cards:
        offcut = card.offcut
        sizes = tuple(map(fig, (offcut.length, offcut.width, offcut.thickness)))
        gives = ", ".join(counted(count, name) for name, count, _ in card.gives)
        rows.append((BOX, card.board, offcut.species, offcut.rack, *sizes, gives, card.stand_by or "none"))
    heads = ("Done", "Board", "Species", "Rack", "Length", "Width", "Thickness", "Gives", "Spare board")
    return Sheet(title="Boards", heads=heads, rows=rows)


def _machines(order: Order) -> Sheet:
    """Return the machine lists, an item a row, as they hang at the machines."""
    shop, totals = order.job.shop, totals_of(order)
    rows = [
        (BOX, list_title(one), setting.part, *setting_head(setting, shop), line.lead, item)
        for one in order.lists
        for setting in one.settings
        for line in setting_lines(setting, shop, totals)
        for item in line.items
    ]
    heads = ("Done", "List", "Work", "Setting", "With", "Height", "What is done")
    return Sheet(title="Machine lists", heads=heads, rows=rows)


def _kept(order: Order, kept: Kept) -> tuple[Cell, ...]:
    """Return a keeper as a row of the pile."""
    shop, fig, offcut = order.job.shop, figure(order.job.shop), kept.offcut

    def some(steps: int) -> str:
        return fig(steps) if steps else ""

    return (
        offcut.name,
        *map(fig, kept.size),
        1,
        offcut.species,
        *map(some, (offcut.bow, offcut.crook, offcut.cup, offcut.twist)),
        *map(str, said_rings(offcut, shop) or ("", "")),
        "" if offcut.moisture is None else f"{float(offcut.moisture):g}",
        "" if offcut.grain_slope is None else slope_words(offcut.grain_slope),
        "; ".join(map(fig, offcut.kinks)),
        offcut.rack,
        kept.board,
        noted(offcut, shop),
    )


def _defects(order: Order, kept: Kept) -> Iterator[tuple[Cell, ...]]:
    """Yield a keeper's defects as rows of the pile."""
    fig = figure(order.job.shop)
    for defect in kept.offcut.defects:
        face, depth = _face(defect)
        places = map(fig, (defect.x1, defect.x2, defect.y1, defect.y2))
        yield (kept.name, defect.kind, *places, face, fig(depth) if depth else "", defect.note)


def _face(defect: Defect) -> tuple[str, int]:
    """Return from which face a defect goes, and how deep; through the piece it has neither."""
    if defect.through:
        return "", 0
    return ("1", defect.z2) if defect.z1 == 0 else ("2", defect.z2 - defect.z1)


def _figures(order: Order) -> Sheet:
    """Return the figures behind the plan: wood, work, and how good it is."""
    account, proof = order.plan.account, order.plan.proof
    rows: list[tuple[Cell, ...]] = []
    for field in fields(account):
        what = f"Wood: {field.name.replace('volume_in', 'drawn')}"
        rows.append((what, volume(getattr(account, field.name), order.job.shop), ""))
    for share in shares(order.job, order.plan):
        sets = f", {share.settings} settings" if share.settings else ""
        rows.append((f"Work: {share.at.lower()}", share.does + sets, how_long(share.hundredths)))
    units = order.job.shop.units
    cost, wood = (f"{net_wood(one, units)} {VOLUMES[units][0]}" for one in (proof.cost, proof.net_worth))
    least = f"{net_wood(proof.bound, units, up=False)} {VOLUMES[units][0]}"
    rows += [
        ("Cost: wood and the price of work", cost, f"of which wood {wood}"),
        ("No plan that misses no more costs less than", least, f"gap {100 * proof.gap:.2f} %"),
    ]
    lines = (
        wood_words(order.plan.account, order.job.shop),
        work_line(order.job, order.plan),
        how_good(order.job, order.plan),
    )
    return Sheet(title="Figures", lines=lines, heads=("What", "How much", ""), rows=rows, wide=False)


def _settings(order: Order) -> Sheet:
    """Return the shop's settings; one that is not the default is said to be the shop's own."""
    shop = order.job.shop
    usual = usual_shop(shop)
    rows = [
        (
            field.name.replace("_", " "),
            shown_setting(shop, shop, field.name),
            "the shop's own" if getattr(shop, field.name) != getattr(usual, field.name) else "",
        )
        for field in fields(shop)
    ]
    return Sheet(title="Shop", heads=("Setting", "Value", ""), rows=rows, wide=False)
