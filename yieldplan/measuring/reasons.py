"""Why the pile does not make a missing blank, in sentences that count every piece once."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction
from typing import TYPE_CHECKING

from yieldplan.model import Hindrance, length_needed, past_machines, section, why_not
from yieldplan.model.words import slope_words
from yieldplan.pages.wording import length, listed, plural, ring_text
from yieldplan.workbook.warnings import Near

if TYPE_CHECKING:
    from collections.abc import Iterable

    from yieldplan.model import Blank, Job, Offcut, Plan, Shop

_MANY = {"is": "are", "has": "have", "needs": "need"}
_SAID: dict[Hindrance, tuple[str, str, str]] = {
    Hindrance.SPECIES: ("is", "not {species}", "{would}"),
    Hindrance.NO_RINGS_READ: ("has", "no ring angle written down", "{would}"),
    Hindrance.GRAIN: ("has", "the wrong grain, not {low}° to {high}° lying flat or turned", "{would}"),
    Hindrance.NO_SLOPE_READ: ("has", "no slope of grain written down", ""),
    Hindrance.SLOPE: ("has", "grain that slopes more than {slope}", "nearest {nearest}, {its_slope}"),
    Hindrance.LENGTH: (
        "is",
        "shorter than the {needed} it takes with its ends",
        "nearest {nearest}, by {by}",
    ),
    Hindrance.MACHINES: ("needs", "a section too wide for the planer, cut larger for moisture", "{names}"),
    Hindrance.JOINTER: ("is", "wider than the jointer", "nearest {nearest}, by {by}"),
    Hindrance.SECTION: ("is", "{lacks} after jointing", "nearest {nearest}, {lacking}"),
    Hindrance.RINGS: (
        *("has", "rings that suit it in too narrow a part of the width"),
        "nearest {nearest} with {rings}, by {by}",
    ),
    Hindrance.SAWS: ("is", "too high for any saw", "{names}"),
    Hindrance.DEFECTS: ("has", "defects in the way", "{kinds}"),
}
"""Verb and words of one piece that is stopped; and what helps to find the one that comes nearest, or would do."""


def reasons(job: Job, plan: Plan) -> dict[str, str]:
    """Return, for each blank that the plan misses some of, why the pile does not make them, by its name.

    Every piece of the pile is counted once, under the first thing that stops it, so the counts add up to the pile.
    Names stand as they were typed; a rendering has to sanitize control characters.
    """
    return {name: _reason(job, plan, job.blank(name), count) for name, count in plan.missing if count}


def _reason(job: Job, plan: Plan, blank: Blank, missing: int) -> str:
    if machine := _no_machine(blank, job):
        return machine
    judged = [(offcut, why_not(offcut, blank, job.shop)) for offcut in job.offcuts]
    fitting = [offcut for offcut, miss in judged if miss is None]
    rest = [Near(offcut=offcut, blank=blank, miss=miss) for offcut, miss in judged if miss is not None]
    if not rest:
        return _used_up(plan, blank, fitting, missing)
    groups = ([near for near in rest if near.miss.hindrance is kind] for kind in Hindrance)
    clauses = "; ".join(_clause(group, job.shop) for group in groups if group)
    nearest = max(rest, key=lambda near: near.miss.nearness).offcut.name
    start = f"No piece of the pile ({sum(near.offcut.qty for near in rest)} in all) will do:"
    if fitting:
        start = f"{_used_up(plan, blank, fitting, missing)} Of the others,"
    return f"{start} {clauses}. Nearest miss: {nearest}."


def _no_machine(blank: Blank, job: Job) -> str:
    """Return why no machine makes this section, whatever the offcut (R2), or nothing."""
    shop = job.shop
    sizes = (section(o, blank, shop, turned=turned) for o in job.offcuts for turned in (False, True))
    past = [past_machines(found, shop) for found in sizes]
    least = min((one for one in past if one), key=lambda one: one.by, default=None)
    if least is None or None in past:
        return ""
    return (
        f"No machine in this shop makes it: its {least.what} of {length(least.size, shop)} is {least.beyond} of "
        f"{length(least.limit, shop)}."
    )


def _used_up(plan: Plan, blank: Blank, fitting: list[Offcut], missing: int) -> str:
    """Say how far the fitting offcuts go, what else is cut from them, and whether one is left alone."""
    names, made = {offcut.name for offcut in fitting}, blank.need - missing
    drawn = [cutting for cutting in plan.offcuts if cutting.offcut in names]
    left = [o for o in fitting if o.qty > sum(cutting.offcut == o.name for cutting in drawn)]
    if left:
        are = plural(sum(o.qty for o in left), "is", "are")
        return (
            f"{made} of {blank.need} made, though {_names(left)} would do and {are} left alone: the search ended too "
            "early to settle it; give it more time."
        )
    given = dict.fromkeys(cut.blank for cutting in drawn for cut in cutting.blanks)
    others = listed(name for name in given if name != blank.name)
    whom = (" on these and on " if made else " on ") + others if others else " on these"
    are = plural(sum(o.qty for o in fitting), "it is", "they are")
    return f"Enough for {made} of {blank.need}: only {_names(fitting)} will do, and {are} used up{whom}."


def _clause(stopped: list[Near], shop: Shop) -> str:
    """Count the pieces that one hindrance stops, and name the nearest miss, or those that would do but for this."""
    blank, offcuts = stopped[0].blank, [near.offcut for near in stopped]
    verb, words, detail = _SAID[stopped[0].miss.hindrance]
    nearest = min(stopped, key=lambda near: (near.miss.amount, near.offcut.grain_slope or 0))
    offcut, miss = nearest.offcut, nearest.miss
    low, high = blank.ring_range or (0, 90)
    lacks = [word for word in ("thin", "narrow") if any(getattr(near.miss, word) for near in stopped)]
    by = (("thin", miss.thin), ("narrow", miss.narrow))
    said = {
        "species": " or ".join(blank.species),
        "low": low,
        "high": high,
        "slope": slope_words(blank.max_slope or Fraction(0)),
        "its_slope": slope_words(offcut.grain_slope or Fraction(0)),
        "needed": length(length_needed(blank, shop), shop),
        "nearest": offcut.name,
        "by": length(miss.amount, shop),
        "lacks": " or ".join(f"too {word}" for word in lacks),
        "lacking": " and ".join(f"too {word} by {length(steps, shop)}" for word, steps in by if steps),
        "rings": ring_text(offcut),
        "names": _names(offcuts),
        "kinds": listed(f"{o.name} with {listed(dict.fromkeys(d.kind for d in o.defects))}" for o in offcuts),
        "would": _would_do(stopped, shop) if detail == "{would}" else "",
    }
    count, found = sum(o.qty for o in offcuts), detail.format_map(said)
    return f"{count} {verb if count == 1 else _MANY[verb]} {words.format_map(said)}" + (
        f" ({found})" if found else ""
    )


def _would_do(stopped: list[Near], shop: Shop) -> str:
    """Name the pieces that nothing but this hindrance stops."""
    kind, blank = stopped[0].miss.hindrance, stopped[0].blank
    any_rings = replace(blank, ring_from=None, ring_to=None)
    other = replace(blank, species=()) if kind is Hindrance.SPECIES else any_rings
    would = [near.offcut for near in stopped if why_not(near.offcut, other, shop) is None]
    names = _names(would)
    if kind is Hindrance.GRAIN:
        names = listed(f"{offcut.name} at {ring_text(offcut)}" for offcut in would)
    return f"{names} would do otherwise" if would else ""


def _names(offcuts: Iterable[Offcut]) -> str:
    return listed(f"{o.name} ({o.qty} of them)" if o.qty > 1 else o.name for o in offcuts)
