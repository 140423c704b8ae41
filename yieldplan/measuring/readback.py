"""What was read from an input, for the user to compare with what was meant."""

from __future__ import annotations

from collections import Counter
from dataclasses import fields
from typing import TYPE_CHECKING

from rich.console import Group
from rich.text import Text

from yieldplan.measuring.boards import read_back
from yieldplan.model.words import fold, slope_words
from yieldplan.pages.renderables import Words, heading, row, table
from yieldplan.pages.wood import pile_sentences
from yieldplan.pages.wording import (
    VOLUMES,
    bare_volume,
    length,
    percent,
    plural,
    shown_setting,
    size,
    unit_sign,
    unit_word,
    usual_shop,
)

if TYPE_CHECKING:
    from rich.console import RenderableType
    from rich.table import Table

    from yieldplan.measure import Unit
    from yieldplan.model import Blank, Job, Shop


def understood(job: Job) -> Group:
    """Return the report on a job: the pile by species and board by board, the batch, settings unlike the defaults."""
    parts: list[RenderableType] = [heading(job.name, first=True), *_pile(job)]
    parts += [heading("Board by board"), _boards(job), heading("Batch"), *_batch(job)]
    parts += [heading("Shop settings"), _settings(job.shop)]
    kept = _other_columns(job)
    if kept:
        parts += [heading("Columns kept that no rule reads"), Words(kept)]
    return Group(*parts)


def _pile(job: Job) -> list[RenderableType]:
    volume, pieces, spelled = Counter[str](), Counter[str](), dict[str, str]()
    for offcut in job.offcuts:
        word = fold(offcut.species)
        spelled.setdefault(word, offcut.species or "(none written down)")
        pieces[word] += offcut.qty
        volume[word] += offcut.qty * offcut.volume
    units = _units(job)
    heads = ("Pieces", *({"inch": "Board feet", "mm": "m³"}[unit] for unit in units))
    by_species = table("Species", *heads, right=heads)
    for word, name in spelled.items():
        row(by_species, name, pieces[word], *(bare_volume(volume[word], unit) for unit in units))
    if len(spelled) > 1:
        row(by_species, "all", pieces.total(), *(bare_volume(volume.total(), unit) for unit in units))
    rows, count = len(job.offcuts), pieces.total()
    defects = sum(offcut.qty * len(offcut.defects) for offcut in job.offcuts)
    unread = sum(offcut.qty for offcut in job.offcuts if offcut.rings is None)
    text = (
        f"{rows} {plural(rows, 'row')} of offcuts, {count} {plural(count, 'piece')}, "
        f"{defects} {plural(defects, 'defect')} marked"
    )
    text += f", {unread} without a ring angle." if unread else ", all with a ring angle."
    return [Words(text), Text(""), by_species, Text(""), *map(Words, pile_sentences(job))]


def _units(job: Job) -> tuple[Unit, Unit]:
    """Return in which units volumes are said: first as the job is measured."""
    return ("inch", "mm") if job.shop.units == "inch" else ("mm", "inch")


def _boards(job: Job) -> Table:
    """Return every board as it was read, in a line."""
    result = table("Offcut", f"As read, {unit_sign(job.shop)}")
    for offcut in job.offcuts:
        row(result, offcut.name, read_back(offcut, job.shop))
    return result


def _batch(job: Job) -> list[RenderableType]:
    need = sum(blank.need for blank in job.blanks)
    spare = sum(blank.spare for blank in job.blanks)
    wanted = sum(blank.need * blank.length * blank.width * blank.thickness for blank in job.blanks)
    pile = sum(offcut.qty * offcut.volume for offcut in job.offcuts)
    first, second = (f"{bare_volume(wanted, unit)} {VOLUMES[unit][0]}" for unit in _units(job))
    kinds = len(job.blanks)
    more = f" and {spare} {plural(spare, 'spare')}" if spare else ""
    text = (
        f"{kinds} {plural(kinds, 'kind')} of blank, {need} needed{more}: "
        f"{first} ({second}) finished, "
        f"{percent(wanted, pile)} of the pile."
    )
    return [Words(text), Text(""), _blanks(job)]


def _blanks(job: Job) -> Table:
    """Return the batch as a table; spares and priorities have a column only where they differ."""
    shop = job.shop
    counts = {"Need": [blank.need for blank in job.blanks]}
    if any(blank.spare for blank in job.blanks):
        counts["Spare"] = [blank.spare for blank in job.blanks]
    if len({blank.priority for blank in job.blanks}) > 1:
        counts["Priority"] = [blank.priority for blank in job.blanks]
    finished = f"Finished size, {unit_sign(shop)}"
    result = table("Blank", *counts, finished, "Asks for", right=counts, whole=(finished,))
    for index, blank in enumerate(job.blanks):
        shown = size(shop, blank.length, blank.width, blank.thickness)
        row(result, blank.name, *(count[index] for count in counts.values()), shown, _asks_for(blank, shop))
    return result


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


def _settings(shop: Shop) -> RenderableType:
    """Return the settings that are not the defaults of a workbook in these units."""
    default = usual_shop(shop)
    names = [field.name for field in fields(shop)]
    changed = [name for name in names if getattr(shop, name) != getattr(default, name)]
    bare = unit_word(shop)
    if not changed:
        return Text(f"All at their defaults; bare numbers are {bare}.")
    result = table("Setting", "Here", "Default")
    for name in changed:
        here, standard = (shown_setting(shop, one, name) for one in (shop, default))
        row(result, name.replace("_", " "), here, standard)
    return Group(result, Text(f"All others at their defaults; bare numbers are {bare}."))


def _other_columns(job: Job) -> str:
    offcuts = dict.fromkeys(head for offcut in job.offcuts for head, _ in offcut.other)
    blanks = dict.fromkeys(head for blank in job.blanks for head, _ in blank.other)
    sheets = [
        f"{sheet}: {', '.join(heads)}" for sheet, heads in (("Offcuts", offcuts), ("Blanks", blanks)) if heads
    ]
    return "; ".join(sheets) + "." if sheets else ""
