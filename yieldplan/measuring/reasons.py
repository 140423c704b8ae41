"""Why the pile does not make a missing blank, in sentences that count every piece once."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from typing import TYPE_CHECKING

from yieldplan.model import Hindrance, fits_machines, length_needed, section, why_not
from yieldplan.model.words import slope_words
from yieldplan.pages.wording import length, listed, plural, ring_text

if TYPE_CHECKING:
    from collections.abc import Iterable

    from yieldplan.model import Blank, Job, Offcut, Plan, Shop
    from yieldplan.model.gives import Miss


def reasons(job: Job, plan: Plan) -> dict[str, str]:
    """Return, for each blank that the plan misses some of, why the pile does not make them.

    Every piece of the pile is counted once, under the first thing that stops it, so the counts add up to the
    pile. Names stand as they were typed; a rendering has to sanitize control characters.

    Parameters
    ----------
    job, plan
        The plan was made for this job.

    Returns
    -------
    dict
        Blank name to a few sentences, in the batch's order; empty if nothing is missing.
    """
    short = [(job.blank(name), count) for name, count in plan.missing if count]
    return {blank.name: _reason(job, plan, blank, count) for blank, count in short}


@dataclass(frozen=True, slots=True)
class _Asked:
    """An offcut that gives none of a blank, and why."""

    offcut: Offcut
    miss: Miss


def _reason(job: Job, plan: Plan, blank: Blank, missing: int) -> str:
    machine = _no_machine(blank, job)
    if machine:
        return machine
    judged = [(offcut, why_not(offcut, blank, job.shop)) for offcut in job.offcuts]
    fitting = [offcut for offcut, miss in judged if miss is None]
    rest = [_Asked(offcut, miss) for offcut, miss in judged if miss is not None]
    groups = ((kind, [asked for asked in rest if asked.miss.hindrance is kind]) for kind in Hindrance)
    clauses = "; ".join(_Group(job.shop, blank, kind, group).clause() for kind, group in groups if group)
    if not fitting:
        count = sum(asked.offcut.qty for asked in rest)
        return f"No piece of the pile ({count} in all) will do: {clauses}.{_nearest_miss(rest)}"
    text = _used_up(plan, blank, fitting, missing)
    return f"{text} Of the others {clauses}.{_nearest_miss(rest)}" if rest else text


def _nearest_miss(rest: list[_Asked]) -> str:
    """Name the piece that came closest: of those that fail last the one that fails by least."""
    near = max(rest, key=lambda asked: asked.miss.nearness)
    return f" Nearest miss: {near.offcut.name}."


def _no_machine(blank: Blank, job: Job) -> str:
    """Return why no machine makes this section, whatever the offcut (R2), or nothing."""
    shop = job.shop
    sizes = [
        section(offcut, blank, shop, turned=turned) for offcut in job.offcuts for turned in (False, True)
    ]
    if not sizes or any(fits_machines(found, shop) for found in sizes):
        return ""
    rough = max(min(found.rough_width, found.rough_thickness) for found in sizes)
    thick = max(min(found.planed_width, found.planed_thickness) for found in sizes)
    wide = min(max(found.planed_width, found.planed_thickness) for found in sizes)
    limits = (
        (rough < shop.narrowest_rip, "rough size", rough, "below the narrowest rip", shop.narrowest_rip),
        (thick < shop.thinnest_planed, "thickness", thick, "below the thinnest planed", shop.thinnest_planed),
        (wide > shop.planer_width, "width", wide, "over the planer width", shop.planer_width),
    )
    for broken, what, steps, beyond, limit in limits:
        if broken:
            return (
                f"No machine of this shop makes it: its {what} of {length(steps, shop)} is {beyond} of "
                f"{length(limit, shop)}."
            )
    return ""


def _used_up(plan: Plan, blank: Blank, fitting: list[Offcut], missing: int) -> str:
    """Say how far the fitting offcuts go, what else is cut from them, and whether one is left alone."""
    names = {offcut.name for offcut in fitting}
    drawn = [cutting for cutting in plan.offcuts if cutting.offcut in names]
    left = [o for o in fitting if o.qty > sum(cutting.offcut == o.name for cutting in drawn)]
    made = blank.need - missing
    if left:
        return (
            f"{made} of {blank.need} made, though {_names(left)} would do and "
            f"{plural(sum(o.qty for o in left), 'is', 'are')} left alone: the search ended too early to "
            "settle it; give it more time."
        )
    given = dict.fromkeys(cut.blank for cutting in drawn for cut in cutting.blanks)
    others = listed(name for name in given if name != blank.name)
    whom = (" for these and for " if made else " for ") + others if others else " for these"
    return (
        f"Enough for {made} of {blank.need}: only {_names(fitting)} will do, and "
        f"{plural(sum(o.qty for o in fitting), 'it is', 'they are')} used up{whom}."
    )


MANY = {"is": "are", "has": "have", "needs": "need"}


@dataclass(frozen=True, slots=True)
class _Group:
    """The pieces that one hindrance stops; ``clause`` counts them and names the nearest miss."""

    shop: Shop
    blank: Blank
    kind: Hindrance
    asked: list[_Asked]

    def clause(self) -> str:
        count, detail = sum(asked.offcut.qty for asked in self.asked), self._detail()
        verb, words = self._words().split(" ", 1)
        return f"{count} {verb if count == 1 else MANY[verb]} {words}" + (f" ({detail})" if detail else "")

    def _words(self) -> str:
        """Return what is said of one such piece."""
        blank, misses = self.blank, [asked.miss for asked in self.asked]
        low, high = blank.ring_range or (0, 90)
        lacks = (("thin", any(miss.thin for miss in misses)), ("narrow", any(miss.narrow for miss in misses)))
        words = {
            Hindrance.SPECIES: f"is not {' or '.join(blank.species)}",
            Hindrance.NO_RINGS_READ: "has no ring angle written down",
            Hindrance.GRAIN: f"has the wrong grain, not {low}° to {high}° lying flat or turned",
            Hindrance.NO_SLOPE_READ: "has no slope of grain written down",
            Hindrance.SLOPE: f"has grain that slopes more than {slope_words(blank.max_slope or Fraction(0))}",
            Hindrance.LENGTH: (
                f"is shorter than the {length(length_needed(blank, self.shop), self.shop)} it takes with its ends"
            ),
            Hindrance.MACHINES: "needs a section too wide for the planer, cut larger for moisture",
            Hindrance.JOINTER: "is wider than the jointer",
            Hindrance.SECTION: f"is {' or '.join(f'too {word}' for word, so in lacks if so)} after jointing",
            Hindrance.RINGS: "has rings that suit it in too narrow a part of the width",
            Hindrance.SAWS: "is too high for any saw",
            Hindrance.DEFECTS: "has defects in the way",
        }
        return words[self.kind]

    def _detail(self) -> str:
        """Return what helps to find the piece that comes nearest, or those that would do but for this."""
        kind, offcuts = self.kind, [asked.offcut for asked in self.asked]
        if kind in (Hindrance.SPECIES, Hindrance.NO_RINGS_READ, Hindrance.GRAIN):
            return self._would_do()
        if kind is Hindrance.DEFECTS:
            return listed(
                f"{o.name} with {listed(dict.fromkeys(d.kind for d in o.defects))}" for o in offcuts
            )
        if kind in (Hindrance.MACHINES, Hindrance.SAWS):
            return _names(offcuts)
        if kind is Hindrance.SLOPE:
            near = min(offcuts, key=lambda offcut: offcut.grain_slope or Fraction(0))
            return f"nearest {near.name}, {slope_words(near.grain_slope or Fraction(0))}"
        if kind is Hindrance.NO_SLOPE_READ:
            return ""
        nearest = min(self.asked, key=lambda asked: asked.miss.amount)
        offcut, miss = nearest.offcut, nearest.miss
        if kind is Hindrance.SECTION:
            amounts = (("thin", miss.thin), ("narrow", miss.narrow))
            by = " and ".join(f"too {word} by {length(steps, self.shop)}" for word, steps in amounts if steps)
        else:
            by = f"by {length(miss.amount, self.shop)}"
        rings = f" with {ring_text(offcut)}" if kind is Hindrance.RINGS else ""
        return f"nearest {offcut.name}{rings}, {by}"

    def _would_do(self) -> str:
        """Name the pieces that nothing but this hindrance stops."""
        species, grain = self.kind is Hindrance.SPECIES, self.kind is not Hindrance.SPECIES
        would = [
            asked.offcut
            for asked in self.asked
            if why_not(asked.offcut, self.blank, self.shop, any_species=species, any_grain=grain) is None
        ]
        if self.kind is Hindrance.GRAIN:
            names = listed(f"{offcut.name} at {ring_text(offcut)}" for offcut in would)
        else:
            names = _names(would)
        return f"{names} would do otherwise" if would else ""


def _names(offcuts: Iterable[Offcut]) -> str:
    return listed(f"{o.name} ({o.qty} of them)" if o.qty > 1 else o.name for o in offcuts)
