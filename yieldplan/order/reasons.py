"""Why the pile does not make a missing blank, in sentences that count every piece once."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from typing import TYPE_CHECKING

from yieldplan.model import Hindrance, Miss, fits_machines, length_needed, section, why_not
from yieldplan.model.grain import slope_words
from yieldplan.order.wording import length, listed, plural, ring_text

if TYPE_CHECKING:
    from collections.abc import Iterable

    from yieldplan.model import Blank, Job, Offcut, Plan, Shop


def reasons(job: Job, plan: Plan) -> dict[str, str]:
    """Return, for each blank that the plan misses some of, why the pile does not make them.

    Every piece of the pile is counted once, under the first thing that stops it, so the counts add up to the
    pile. Names stand as they were typed; a rendering has to make control characters harmless.

    Parameters
    ----------
    job, plan
        The plan was made for this job.

    Returns
    -------
    dict
        Blank name to a few sentences, in the batch's order; empty if nothing is missing.
    """
    return {name: _reason(job, plan, job.blank(name), count) for name, count in plan.missing if count}


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
        return (
            f"No piece of the pile ({count} in all) will do: {clauses}.{_nearest_miss(rest, blank, job.shop)}"
        )
    text = _used_up(plan, blank, fitting, missing)
    return f"{text} Of the others {clauses}.{_nearest_miss(rest, blank, job.shop)}" if rest else text


def _nearest_miss(rest: list[_Asked], blank: Blank, shop: Shop) -> str:
    """Name the piece that came closest: of those that fail last the one that fails by least."""
    near = max(rest, key=lambda asked: (asked.miss.hindrance.value, -asked.miss.amount))
    return f" Nearest miss: {near.offcut.name}, {_miss_words(near, blank, shop)}."


def _miss_words(asked: _Asked, blank: Blank, shop: Shop) -> str:
    """Return in a few words what stops a piece from giving a blank, and by how much."""
    miss = asked.miss
    amounts = ((miss.thin, "too thin"), (miss.narrow, "too narrow"))
    words = {
        Hindrance.SPECIES: f"not {' or '.join(blank.species)}",
        Hindrance.NO_RINGS_READ: "no ring angle written down",
        Hindrance.GRAIN: "wrong grain, lying flat or turned",
        Hindrance.NO_SLOPE_READ: "no slope of grain written down",
        Hindrance.SLOPE: "grain slopes too much",
        Hindrance.JOINTER: f"{length(miss.wide, shop)} wider than the jointer",
        Hindrance.LENGTH: f"{length(miss.short, shop)} too short",
        Hindrance.MACHINES: "too wide for the planer, cut larger for its moisture",
        Hindrance.SECTION: " and ".join(f"{length(by, shop)} {how}" for by, how in amounts if by)
        + " after jointing at this length",
        Hindrance.RINGS: f"rings suit it in a part of the width too narrow by {length(miss.narrow, shop)}",
        Hindrance.SAWS: "too high for any saw",
        Hindrance.DEFECTS: f"defects in the way: {listed(dict.fromkeys(d.kind for d in asked.offcut.defects))}",
    }
    return words[miss.hindrance]


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


@dataclass(frozen=True, slots=True)
class _Group:
    """The pieces that one hindrance stops; ``clause`` counts them and names the nearest miss."""

    shop: Shop
    blank: Blank
    kind: Hindrance
    asked: list[_Asked]

    def clause(self) -> str:
        clauses = {
            Hindrance.SPECIES: self._species,
            Hindrance.NO_RINGS_READ: self._no_rings,
            Hindrance.GRAIN: self._grain,
            Hindrance.NO_SLOPE_READ: self._no_slope,
            Hindrance.SLOPE: self._slope,
            Hindrance.JOINTER: self._jointer,
            Hindrance.LENGTH: self._length,
            Hindrance.MACHINES: self._machines,
            Hindrance.SECTION: self._section,
            Hindrance.RINGS: self._part,
            Hindrance.SAWS: self._saws,
            Hindrance.DEFECTS: self._defects,
        }
        return clauses[self.kind]()

    @property
    def _nearest(self) -> _Asked:
        return min(self.asked, key=lambda asked: asked.miss.amount)

    def _count(self, one: str, many: str) -> str:
        count = sum(asked.offcut.qty for asked in self.asked)
        return f"{count} {plural(count, one, many)}"

    def _otherwise(self, *, any_species: bool = False, any_grain: bool = False) -> list[Offcut]:
        """Return the pieces that nothing but this hindrance stops."""
        return [
            asked.offcut
            for asked in self.asked
            if why_not(asked.offcut, self.blank, self.shop, any_species=any_species, any_grain=any_grain)
            is None
        ]

    def _species(self) -> str:
        would = self._otherwise(any_species=True)
        wanted = " or ".join(self.blank.species)
        return f"{self._count('is', 'are')} not {wanted}" + (
            f" ({_names(would)} would do otherwise)" if would else ""
        )

    def _no_rings(self) -> str:
        would = self._otherwise(any_grain=True)
        near = f" ({_names(would)} would do otherwise)" if would else ""
        return f"{self._count('has', 'have')} no ring angle written down{near}"

    def _grain(self) -> str:
        low, high = self.blank.ring_from or 0, 90 if self.blank.ring_to is None else self.blank.ring_to
        would = [f"{offcut.name} at {ring_text(offcut)}" for offcut in self._otherwise(any_grain=True)]
        near = f" ({listed(would)} would do otherwise)" if would else ""
        return (
            f"{self._count('has', 'have')} the wrong grain, not {low}° to {high}° lying flat or turned{near}"
        )

    def _no_slope(self) -> str:
        return f"{self._count('has', 'have')} no slope of grain written down"

    def _slope(self) -> str:
        limit = slope_words(self.blank.max_slope or Fraction(0))
        near = min(
            (asked.offcut for asked in self.asked), key=lambda offcut: offcut.grain_slope or Fraction(0)
        )
        slope = slope_words(near.grain_slope or Fraction(0))
        return (
            f"{self._count('has', 'have')} grain that slopes more than {limit} (nearest {near.name}, {slope})"
        )

    def _machines(self) -> str:
        return (
            f"{self._count('needs', 'need')} a section too wide for the planer, cut larger for moisture "
            f"({_names(asked.offcut for asked in self.asked)})"
        )

    def _jointer(self) -> str:
        near = self._nearest
        return (
            f"{self._count('is', 'are')} wider than the jointer "
            f"(nearest {near.offcut.name}, by {length(near.miss.wide, self.shop)})"
        )

    def _length(self) -> str:
        near, needed = self._nearest, length(length_needed(self.blank, self.shop), self.shop)
        return (
            f"{self._count('is', 'are')} shorter than the {needed} it takes with its ends "
            f"(nearest {near.offcut.name}, by {length(near.miss.short, self.shop)})"
        )

    def _section(self) -> str:
        near = self._nearest
        thin, narrow = any(one.miss.thin for one in self.asked), any(one.miss.narrow for one in self.asked)
        what = " or ".join(word for word, true in (("too thin", thin), ("too narrow", narrow)) if true)
        by = " and ".join(
            f"too {word} by {length(steps, self.shop)}"
            for word, steps in (("thin", near.miss.thin), ("narrow", near.miss.narrow))
            if steps
        )
        return f"{self._count('is', 'are')} {what} after jointing (nearest {near.offcut.name}, {by})"

    def _part(self) -> str:
        near = self._nearest
        return (
            f"{self._count('has', 'have')} rings that suit it in too narrow a part of the width "
            f"(nearest {near.offcut.name} with {ring_text(near.offcut)}, by {length(near.miss.narrow, self.shop)})"
        )

    def _saws(self) -> str:
        return f"{self._count('is', 'are')} too high for any saw ({_names(asked.offcut for asked in self.asked)})"

    def _defects(self) -> str:
        near = listed(
            f"{asked.offcut.name} with {listed(dict.fromkeys(d.kind for d in asked.offcut.defects))}"
            for asked in self.asked
        )
        return f"{self._count('has', 'have')} defects in the way ({near})"


def _names(offcuts: Iterable[Offcut]) -> str:
    return listed(f"{o.name} ({o.qty} of them)" if o.qty > 1 else o.name for o in offcuts)
