"""The master problem: which cuttings of which offcuts make the batch at least cost; and its bound.

Classes c of like offcuts, m_c copies each; kinds b, of which d_b = need_b + spare_b are wanted; saw and planer settings
s at a price f_s; columns j, each a cutting of class c(j): counts a_jb, settings S_j, cost w_j (worth less leftovers'
worth, and its own work). x_j: how often a column is used; y_s: whether a setting is made; u_b, v_b: missing blanks and
spares. ::

    min  sum_j w_j x_j + sum_s f_s y_s
    cover     p_b >= 0    sum_j a_jb x_j + u_b + v_b >= d_b              u_b <= need_b, v_b <= spare_b
    class     mu_c        l_c <= sum_{j of c} x_j <= h_c                 0 and m_c, but for branching
    settings  q_cs >= 0   sum_{j of c, s in S_j} x_j <= m_c y_s          0 <= y_s <= 1
    caps      r_cb >= 0   sum_{j of c} (d_b - a_jb) x_j >= 0             no board is drawn in fractions of a cutting
                                                                         that holds more than is wanted
    missing               sum of u_b over a class of aim 1 <= its limit, of v_b <= that of spares

While missing blanks are counted (aim 1) the objective is the sum of u over one class, or of v, within the limits of the
classes before it; then every w_j and f_s is 0.

The reduced cost of a column is z_j - mu_c, where ::

    z_j = w_j - sum_b (p_b - r_cb) a_jb - sum_b r_cb d_b + sum_{s in S_j} q_cs
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING, NamedTuple

from yieldplan.solve.graph import SCALE
from yieldplan.solve.pairs import Pairs

if TYPE_CHECKING:
    from collections.abc import Collection, Iterator, Mapping, Sequence

    import numpy as np
    from numpy.typing import NDArray

    from yieldplan.solve.columns import Column

MISSING_UNIT = 1000
"""What a missing blank counts while missing ones are counted: so prices are of a size with those of cost."""


@dataclass(frozen=True, slots=True, kw_only=True)
class MasterProblem:
    """What the master knows but for its columns.

    ``aims`` are the classes of aim 1, each the kinds in it; the last is that of spares. ``limits`` is how many may be
    missing of each, None where nothing is said. ``surely`` are settings that every plan uses.
    """

    copies: tuple[int, ...]
    need: tuple[int, ...]
    spare: tuple[int, ...]
    aims: tuple[tuple[int, ...], ...]
    limits: tuple[int | None, ...]
    setting_prices: tuple[int, ...]
    surely: frozenset[int] = frozenset()
    pairs: Pairs = field(default_factory=Pairs)

    @property
    def wanted(self) -> tuple[int, ...]:
        """Need and spares, by kind."""
        return tuple(a + b for a, b in zip(self.need, self.spare, strict=True))

    def can_miss(self, aim: int, kind: int) -> int:
        """Return how many of a kind an aim's class may miss at most."""
        return self.spare[kind] if aim == len(self.aims) - 1 else self.need[kind]

    def limit(self, aim: int, stage: int | None) -> int | None:
        """Return how many an aim's class may miss at a stage: what is counted has no limit."""
        return None if aim == stage else self.limits[aim]

    def without(self, kinds: Collection[int]) -> MasterProblem:
        """Return the master where some kinds, which nothing gives, are neither wanted nor missed."""
        limits = (
            None
            if limit is None
            else limit - sum(self.can_miss(aim, kind) for kind in members if kind in kinds)
            for aim, (limit, members) in enumerate(zip(self.limits, self.aims, strict=True))
        )
        need, spare = (
            tuple(0 if kind in kinds else many for kind, many in enumerate(counts))
            for counts in (self.need, self.spare)
        )
        return replace(self, limits=tuple(limits), need=need, spare=spare)


class Dual(NamedTuple):
    """Prices of the rows as whole numbers, scaled, none below 0: by kind; by class and setting; by class and kind."""

    prices: NDArray[np.int64]
    charges: Mapping[tuple[int, int], int]
    caps: Mapping[tuple[int, int], int]


@dataclass(slots=True, kw_only=True)
class Bounds:
    """What branching says: how many of a class are drawn, least and most; which settings are used (1) or not (0)."""

    classes: dict[int, tuple[int, int]] = field(default_factory=dict)
    settings: dict[int, int] = field(default_factory=dict)

    def of_class(self, number: int, copies: int) -> tuple[int, int]:
        """Return the least and the most that are drawn of a class."""
        return self.classes.get(number, (0, copies))

    def of_setting(self, setting: int, problem: MasterProblem) -> tuple[int, int]:
        """Return the least and the most of y_s; what branching says comes before what is sure."""
        surely = int(setting in problem.surely)
        fixed = self.settings.get(setting)
        return (surely, 1) if fixed is None else (fixed, fixed)


def lagrangian_bound(
    problem: MasterProblem,
    dual: Dual,
    reduced: Sequence[int],
    bounds: Bounds,
    stage: int | None = None,
) -> int:
    """Return what no plan costs less than, in units, at prices that are scaled.

    ``reduced`` is the least z_j of each class, over all its columns, known or not: exact or too low. ``stage`` is the
    class of aim 1 whose missing blanks are counted, in :data:`MISSING_UNIT`; None while cost is.

    **It holds for any p, q, r >= 0.** A solution keeps cover, settings and caps, so what it has in hand of each, times
    its price, is not negative; take that off its objective, and it does not grow. With g_b and h_b the price that the
    objective has for a missing blank and spare, what is left is ::

        sum_b p_b d_b - sum_b (p_b - g_b) u_b - sum_b (p_b - h_b) v_b + sum_j z_j x_j + sum_s (f_s - sum_c m_c q_cs) y_s

    and each of its parts is at its least by itself: the missing are those of the dearest kinds, up to their limits; a
    class is drawn h_c times if its least z is below 0, else l_c times; y_s stands at one of its ends. (Geoffrion 1974,
    from memory.) All is in whole numbers, so no float can make it wrong; and a cost is a whole number of units. A plan
    has no more of a kind on all offcuts than is wanted (others are left out of the cutting), so it keeps the caps.
    """
    total = sum(int(p) * d for p, d in zip(dual.prices, problem.wanted, strict=True))
    total -= sum(_most_saved(problem, dual, aim, stage) for aim in range(len(problem.aims)))
    for number, value in enumerate(reduced):
        low, high = bounds.of_class(number, problem.copies[number])
        total += value * (high if value < 0 else low)
    total += sum(_of_settings(problem, dual, bounds, stage))
    return -(-total // SCALE)


def _most_saved(problem: MasterProblem, dual: Dual, aim: int, stage: int | None) -> int:
    """Return the most that missing blanks of a class can save: the dearest ones, within its limit."""
    cost = MISSING_UNIT * SCALE if stage == aim else 0
    limit = problem.limit(aim, stage)
    saved = 0
    for kind in sorted(problem.aims[aim], key=lambda kind: (-int(dual.prices[kind]), kind)):
        gain = int(dual.prices[kind]) - cost
        if gain <= 0:
            break
        most = problem.can_miss(aim, kind)
        taken = most if limit is None else min(most, limit)
        saved += gain * taken
        limit = None if limit is None else limit - taken
    return saved


def _of_settings(problem: MasterProblem, dual: Dual, bounds: Bounds, stage: int | None) -> Iterator[int]:
    """Yield the least that each setting costs once its charges are paid."""
    charged = [0] * len(problem.setting_prices)
    for (number, setting), charge in dual.charges.items():
        charged[setting] += problem.copies[number] * charge
    for setting, price in enumerate(problem.setting_prices):
        left = (0 if stage is not None else price * SCALE) - charged[setting]
        low, high = bounds.of_setting(setting, problem)
        yield left * (high if left < 0 else low)


def left_of(problem: MasterProblem, kept: Sequence[Column]) -> MasterProblem:
    """Return what is left of a master problem when some columns are fixed: their settings cost nothing more."""
    copies, need, spare = list(problem.copies), list(problem.need), list(problem.spare)
    used = set(problem.surely)
    for column in kept:
        copies[column.offcut_class] -= 1
        used |= column.settings
        for kind, made in column.counts:
            needed = min(made, need[kind])
            need[kind] -= needed
            spare[kind] = max(spare[kind] - (made - needed), 0)
    return replace(
        problem,
        copies=tuple(copies),
        need=tuple(need),
        spare=tuple(spare),
        surely=frozenset(used),
        pairs=replace(problem.pairs, fixed=problem.pairs.held(kept)),
    )
