"""What was read from an input, to compare with what was meant: a report, and each board in one line.

A line is read back, or called over against the wood.
"""

from __future__ import annotations

from collections import Counter
from dataclasses import fields
from typing import TYPE_CHECKING

from rich.console import Group
from rich.text import Text

from yieldplan.measure import write
from yieldplan.model.words import fold, slope_words
from yieldplan.pages.renderables import Words, heading, row, table
from yieldplan.pages.wording import (
    VOLUMES,
    bare_volume,
    length,
    per_cent,
    percent,
    pile_sentences,
    plural,
    shown_setting,
    size,
    unit_sign,
    unit_word,
    usual_shop,
)

if TYPE_CHECKING:
    from collections.abc import Iterator

    from rich.console import RenderableType

    from yieldplan.measure import Unit
    from yieldplan.model import Blank, Defect, Job, Offcut, Shop


def understood(job: Job) -> Group:
    """Return the report on a job: the pile by species and board by board, the batch, settings unlike the defaults."""
    boards = table("Offcut", f"As read, {unit_sign(job.shop)}")
    for offcut in job.offcuts:
        row(boards, offcut.name, read_back(offcut, job.shop))
    parts = [heading(job.name, first=True), *_pile(job), heading("Board by board"), boards]
    parts += [heading("Batch"), *_batch(job), heading("Shop settings"), *_settings(job.shop)]
    kept = [
        f"{sheet}: {', '.join(heads)}"
        for sheet, rows in (("Offcuts", job.offcuts), ("Blanks", job.blanks))
        if (heads := dict.fromkeys(head for one in rows for head, _ in one.other))
    ]
    if kept:
        parts += [heading("Columns kept but not used"), Words(f"{'; '.join(kept)}.")]
    return Group(*parts)


def _pile(job: Job) -> Iterator[RenderableType]:
    volume, pieces, spelled = Counter[str](), Counter[str](), dict[str, str]()
    for offcut in job.offcuts:
        word = fold(offcut.species)
        spelled.setdefault(word, offcut.species or "(none written down)")
        pieces[word] += offcut.qty
        volume[word] += offcut.qty * offcut.volume
    units, heads = _units(job), {"inch": "Board feet", "mm": "m³"}
    by_species = table("Species", *(numbers := ("Pieces", *(heads[unit] for unit in units))), right=numbers)
    lines = [(name, pieces[word], volume[word]) for word, name in spelled.items()]
    for name, count, wood in (*lines, *[("all", pieces.total(), volume.total())] * (len(lines) > 1)):
        row(by_species, name, count, *(bare_volume(wood, unit) for unit in units))
    rows, count = len(job.offcuts), pieces.total()
    defects = sum(offcut.qty * len(offcut.defects) for offcut in job.offcuts)
    unread = sum(offcut.qty for offcut in job.offcuts if offcut.rings is None)
    yield Words(
        f"{rows} {plural(rows, 'row')} of offcuts, {count} {plural(count, 'piece')}, "
        f"{defects} {plural(defects, 'defect')} marked, {unread or 'all'} with{'out' if unread else ''} a ring angle."
    )
    yield from (Text(""), by_species, Text(""))
    yield from map(Words, pile_sentences(job))


def _units(job: Job) -> tuple[Unit, Unit]:
    """Return in which units volumes are said: first as the job is measured."""
    return ("inch", "mm") if job.shop.units == "inch" else ("mm", "inch")


def _batch(job: Job) -> Iterator[RenderableType]:
    """Yield the batch in a sentence and as a table; spares and priorities have a column only where they differ."""
    shop, kinds = job.shop, len(job.blanks)
    need, spare = (sum(getattr(blank, name) for blank in job.blanks) for name in ("need", "spare"))
    wanted = sum(blank.need * blank.length * blank.width * blank.thickness for blank in job.blanks)
    pile = sum(offcut.qty * offcut.volume for offcut in job.offcuts)
    first, second = (f"{bare_volume(wanted, unit)} {VOLUMES[unit][0]}" for unit in _units(job))
    more = f" and {spare} {plural(spare, 'spare')}" if spare else ""
    yield Words(
        f"{kinds} {plural(kinds, 'kind')} of blank, {need} needed{more}: {first} ({second}) finished, "
        f"{percent(wanted, pile)} of the pile."
    )
    priorities = len({blank.priority for blank in job.blanks}) > 1
    counts = ["Need", *["Spare"] * bool(spare), *["Priority"] * priorities]
    finished = f"Finished size, {unit_sign(shop)}"
    result = table("Blank", *counts, finished, "Asks for", right=counts, whole=(finished,))
    for blank in job.blanks:
        shown = size(shop, blank.length, blank.width, blank.thickness)
        numbers = (getattr(blank, count.lower()) for count in counts)
        row(result, blank.name, *numbers, shown, _asks_for(blank, shop))
    yield from (Text(""), result)


def _asks_for(blank: Blank, shop: Shop) -> str:
    asks = [" or ".join(blank.species)] if blank.species else []
    if blank.ring_range is not None:
        low, high = blank.ring_range
        asks.append(f"rings {low}–{high}°")
    if blank.max_slope is not None:
        asks.append(f"grain at most {slope_words(blank.max_slope)}")
    if blank.clear_end:
        asks.append(f"{length(blank.clear_end, shop)} clear at one end")
    if blank.allows:
        asks.append(f"{' and '.join(blank.allows)} allowed")
    wood = "; ".join(asks) or "any wood without defects"
    return f"{wood}; in pairs" if blank.pairs else wood


def _settings(shop: Shop) -> Iterator[RenderableType]:
    """Yield the settings that are not the defaults of a workbook in these units."""
    default, bare = usual_shop(shop), f"bare numbers are {unit_word(shop)}."
    changed = [one.name for one in fields(shop) if getattr(shop, one.name) != getattr(default, one.name)]
    if not changed:
        yield Text(f"All at their defaults; {bare}")
        return
    result = table("Setting", "Here", "Default")
    for name in changed:
        row(result, name.replace("_", " "), *(shown_setting(shop, one, name) for one in (shop, default)))
    yield from (result, Text(f"All others at their defaults; {bare}"))


def read_back(offcut: Offcut, shop: Shop) -> str:
    """Return what was read of a board, but for its name: sizes, wood, warp, defects from end A on."""
    sizes = " × ".join(_figure(size, shop) for size in (offcut.length, offcut.width, offcut.thickness))
    wood = ", ".join(filter(None, (offcut.species, *(words for _, words in _readings(offcut)))))
    parts = (sizes, _alike(offcut), wood, ", ".join(_warps(offcut, shop)), *_defects(offcut, shop))
    return "; ".join(filter(None, parts))


def called(offcut: Offcut, shop: Shop) -> str:
    """Return a board in the order in which it is called: name, sizes, defects from end A on, warp, wood.

    Figures stand without a unit, as they are read off the tape; one in another unit has it.
    """
    sizes = ((offcut.length, "long"), (offcut.width, "wide"), (offcut.thickness, "thick"))
    sentences = [
        f"{offcut.name}: {', '.join(f'{_figure(size, shop)} {way}' for size, way in sizes)}",
        _alike(offcut),
        *(_defects(offcut, shop) or ["no defects"]),
        *(_warps(offcut, shop) or ["straight and flat"]),
        offcut.species,
        *(f"{word} {words}" for word, words in _readings(offcut)),
    ]
    return " ".join(f"{sentence[:1].upper()}{sentence[1:]}." for sentence in sentences if sentence)


def calling_order(job: Job) -> tuple[str, tuple[str, ...]]:
    """Return what the two who call over must know, and a line for each board."""
    count = len(job.offcuts)
    head = (
        f"{job.name}, {count} {plural(count, 'board')}, in {unit_word(job.shop)}. Hook the tape on end A, edge 1 "
        "towards you, face 1 up. A defect with no width given goes right across; one with no face given goes right "
        "through."
    )
    return head, tuple(called(offcut, job.shop) for offcut in job.offcuts)


def defect_words(defect: Defect, offcut: Offcut, shop: Shop) -> str:
    """Return a defect by where it lies; what goes right across, or right through, is not said."""
    words = f"{defect.kind} {_figure(defect.x1, shop)} to {_figure(defect.x2, shop)}"
    if defect.y1 > 0 or defect.y2 < offcut.width:
        words += f", {_figure(defect.y1, shop)} to {_figure(defect.y2, shop)} from edge 1"
    if not defect.through:
        face, depth = (1, defect.z2) if defect.z1 == 0 else (2, offcut.thickness - defect.z1)
        words += f", face {face}, {_figure(depth, shop)} deep"
    return words


def _figure(steps: int, shop: Shop) -> str:
    return write(steps, shop.units).removesuffix('"' if shop.units == "inch" else " mm")


def _alike(offcut: Offcut) -> str:
    return f"{offcut.qty} alike" if offcut.qty > 1 else ""


def _warps(offcut: Offcut, shop: Shop) -> list[str]:
    warps = (("bow", offcut.bow), ("crook", offcut.crook), ("cup", offcut.cup), ("twist", offcut.twist))
    return [f"{warp} {_figure(steps, shop)}" for warp, steps in warps if steps]


def _defects(offcut: Offcut, shop: Shop) -> list[str]:
    """Return defects and kinks from end A on."""
    places = [(defect.x1, defect_words(defect, offcut, shop)) for defect in offcut.defects]
    places += [(kink, f"kink at {_figure(kink, shop)}") for kink in offcut.kinks]
    return [words for _, words in sorted(places)]


def _readings(offcut: Offcut) -> Iterator[tuple[str, str]]:
    """Yield what was read of the wood, each with its word: by their signs they are known without it."""
    if offcut.rings is not None:
        near, far = (f"{low}" if low == high else f"{low} to {high}" for low, high in offcut.rings)
        yield "rings", f"{near}°" if near == far else f"{near}° at edge 1, {far}° at the far edge"
    if offcut.moisture is not None:
        yield "moisture", per_cent(offcut.moisture)
    if offcut.grain_slope is not None:
        yield "grain", slope_words(offcut.grain_slope)
