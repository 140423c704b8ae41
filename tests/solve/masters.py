"""Random small master problems, and their answers by other means: every choice tried, and another linear solver."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import product
from typing import TYPE_CHECKING

import numpy as np
from scipy.optimize import linprog

from yieldplan.solve.columns import Column
from yieldplan.solve.master import MISSING_UNIT, Bounds, MasterProblem

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

Name = tuple[str, int, int]
LinearRow = tuple[dict[Name, float], float]


@dataclass(frozen=True, slots=True)
class Case:
    """A master problem with its columns, what branching says, and the stage."""

    problem: MasterProblem
    columns: tuple[Column, ...]
    bounds: Bounds
    stage: int | None


def random_case(seed: int, *, branched: bool = False) -> Case:
    """Return a small case; with two classes of aim 1, spares, sure settings, and sometimes a stage of aim 1."""
    rng = np.random.default_rng(seed)
    kinds, classes, settings = int(rng.integers(1, 4)), int(rng.integers(1, 4)), int(rng.integers(1, 4))
    need = tuple(int(n) for n in rng.integers(1, 4, kinds))
    spare = tuple(int(n) for n in rng.integers(0, 3, kinds))
    first = tuple(b for b in range(kinds) if rng.random() < 0.6)
    aims = (first, tuple(b for b in range(kinds) if b not in first), tuple(range(kinds)))
    stage = None if rng.random() < 0.6 else int(rng.integers(0, 3))
    before = 3 if stage is None else stage
    limits = tuple(int(rng.integers(0, 4)) if aim < before else None for aim in range(3))
    problem = MasterProblem(
        copies=tuple(int(n) for n in rng.integers(1, 3, classes)),
        need=need,
        spare=spare,
        aims=aims,
        limits=limits,
        setting_prices=tuple(int(n) for n in rng.integers(0, 400, settings)),
        surely=frozenset(s for s in range(settings) if rng.random() < 0.2),
    )
    columns = tuple(_random_column(rng, problem) for _ in range(int(rng.integers(2, 6))))
    bounds = Bounds()
    if branched:
        bounds.classes = {
            c: (m, m) if rng.random() < 0.5 else (0, m - 1)
            for c, m in enumerate(problem.copies)
            if rng.random() < 0.4
        }
        bounds.settings = {s: int(rng.random() < 0.5) for s in range(settings) if rng.random() < 0.4}
    return Case(problem, columns, bounds, stage)


def _random_column(rng: np.random.Generator, problem: MasterProblem) -> Column:
    held = [int(rng.integers(0, wanted + 2)) for wanted in problem.wanted]
    return Column(
        offcut_class=int(rng.integers(0, len(problem.copies))),
        counts=tuple((b, n) for b, n in enumerate(held) if n),
        settings=frozenset(s for s in range(len(problem.setting_prices)) if rng.random() < 0.4),
        cost=int(rng.integers(100, 1000)) * max(1, sum(held)),
    )


def every_choice(case: Case, *, proper: bool = False) -> Iterator[tuple[int, ...]]:
    """Yield how often each column is used, in every choice that keeps to the copies and to what branching says.

    ``proper`` ones have no column that holds more than is wanted.
    """
    problem, wanted = case.problem, case.problem.wanted
    most = [problem.copies[column.offcut_class] for column in case.columns]
    for uses in product(*(range(m + 1) for m in most)):
        drawn = [0] * len(problem.copies)
        for column, n in zip(case.columns, uses, strict=True):
            drawn[column.offcut_class] += n
        if not all(
            low <= n <= high
            for n, (low, high) in (
                (n, case.bounds.of_class(c, problem.copies[c])) for c, n in enumerate(drawn)
            )
        ):
            continue
        used = {s for column, n in zip(case.columns, uses, strict=True) if n for s in column.settings}
        if any(case.bounds.settings.get(s) == 0 for s in used):
            continue
        if proper and any(
            n and held > wanted[b]
            for column, n in zip(case.columns, uses, strict=True)
            for b, held in column.counts
        ):
            continue
        yield uses


def value(case: Case, uses: Sequence[int]) -> int | None:
    """Return the objective of a choice, None if it misses more than it may; said anew, from the law."""
    problem = case.problem
    held = [0] * len(problem.need)
    cost, settings = 0, set(problem.surely) | {s for s, fixed in case.bounds.settings.items() if fixed}
    for column, n in zip(case.columns, uses, strict=True):
        cost += n * column.cost
        settings |= column.settings if n else frozenset()
        for b, count in column.counts:
            held[b] += n * count
    missing = []
    for aim, kinds in enumerate(problem.aims):
        if aim < len(problem.aims) - 1:
            missing.append(sum(max(0, problem.need[b] - held[b]) for b in kinds))
        else:
            spares = [max(0, held[b] - problem.need[b]) for b in kinds]
            missing.append(sum(max(0, problem.spare[b] - n) for b, n in zip(kinds, spares, strict=True)))
    for aim, limit in enumerate(problem.limits):
        if aim != case.stage and limit is not None and missing[aim] > limit:
            return None
    if case.stage is not None:
        return MISSING_UNIT * missing[case.stage]
    return cost + sum(problem.setting_prices[s] for s in settings)


def best(case: Case, *, proper: bool = False) -> int | None:
    """Return the least objective of all choices; None if none keeps the limits."""
    values = [value(case, uses) for uses in every_choice(case, proper=proper)]
    return min((v for v in values if v is not None), default=None)


def relaxed(case: Case, caps: Sequence[tuple[int, int]] = ()) -> float | None:
    """Return the value of the linear relaxation by scipy, all rows of settings in it; None if it has no solution."""
    problem, columns = case.problem, case.columns
    names: list[Name] = [("x", j, 0) for j in range(len(columns))]
    names += [("y", s, 0) for s in range(len(problem.setting_prices))]
    names += [("miss", aim, b) for aim, kinds in enumerate(problem.aims) for b in kinds]
    cost = []
    limits: list[tuple[float, float | None]] = []
    for what, i, b in names:
        if what == "x":
            cost.append(columns[i].cost if case.stage is None else 0)
            limits.append((0, None))
        elif what == "y":
            cost.append(problem.setting_prices[i] if case.stage is None else 0)
            limits.append(case.bounds.of_setting(i, problem))
        else:
            cost.append(MISSING_UNIT if i == case.stage else 0)
            limits.append((0, problem.can_miss(i, b)))
    rows = [*_rows_of_kinds(case, names), *_rows_of_classes(case, caps)]
    matrix = np.zeros((len(rows), len(names)))
    for i, (row, _) in enumerate(rows):
        for name, coefficient in row.items():
            matrix[i, names.index(name)] = coefficient
    found = linprog(cost, matrix, [most for _, most in rows], bounds=limits)
    return float(found.fun) if found.status == 0 else None


def _rows_of_kinds(case: Case, names: Sequence[Name]) -> Iterator[LinearRow]:
    """Yield the rows, <= a number, of cover and of limits of missing blanks."""
    for b, wanted in enumerate(case.problem.wanted):
        row: dict[Name, float] = {name: -1.0 for name in names if name[0] == "miss" and name[2] == b}
        yield row | {("x", j, 0): -dict(col.counts).get(b, 0) for j, col in enumerate(case.columns)}, -wanted
    for aim, limit in enumerate(case.problem.limits):
        if aim != case.stage and limit is not None:
            yield {("miss", aim, b): 1.0 for b in case.problem.aims[aim]}, limit


def _rows_of_classes(case: Case, caps: Sequence[tuple[int, int]]) -> Iterator[LinearRow]:
    """Yield the rows of copies, settings and caps."""
    for c, copies in enumerate(case.problem.copies):
        mine = {j: column for j, column in enumerate(case.columns) if column.offcut_class == c}
        least, most = case.bounds.of_class(c, copies)
        yield {("x", j, 0): 1.0 for j in mine}, most
        yield {("x", j, 0): -1.0 for j in mine}, -least
        for s in range(len(case.problem.setting_prices)):
            row: dict[Name, float] = {("x", j, 0): 1.0 for j, column in mine.items() if s in column.settings}
            yield row | {("y", s, 0): -copies}, 0
        for b in (b for number, b in caps if number == c):
            wanted = case.problem.wanted[b]
            yield {("x", j, 0): dict(column.counts).get(b, 0) - wanted for j, column in mine.items()}, 0
