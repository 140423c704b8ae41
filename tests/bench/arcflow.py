"""Bars without defects as one arc flow, solved by HiGHS (within ortools): the rival of the solver for bars.

J. M. Valerio de Carvalho (1999), Ann. Oper. Res. 86, 629-659, from memory. Nodes are lengths from 0 to that of a bar;
an arc from d to d + w is a piece of length w that begins at d; where nothing is cut an arc leads on to the next node.
Every bar is a path from 0 to its end, so a flow of z units is z bars. Pieces stand in order of decreasing length: an
arc of a piece begins only where a sum of longer ones, and of fewer of itself than are wanted, can end.
"""

from __future__ import annotations

import time
from collections import Counter
from itertools import pairwise
from typing import TYPE_CHECKING, NamedTuple

from brute import Answer, crosscuts_of, witness
from ortools.linear_solver import pywraplp

from yieldplan.model import Billet, CutBlank, OffcutPlan, Stick, Strip, worth

if TYPE_CHECKING:
    from yieldplan.model import Job, Plan

Arc = tuple[int, int, int]
"""From, to, and the piece's length; 0 where nothing is cut."""


class Flow(NamedTuple):
    """What came of it: arcs, bars of the best flow (None: none was found), the least there can be, seconds, a plan."""

    arcs: int
    bars: int | None
    bound: float
    seconds: float
    proven: bool
    plan: Plan | None


def arcs_of(length: int, wanted: dict[int, int]) -> list[Arc]:
    """Return the arcs for a bar's length and how many are wanted of each length."""
    found: set[Arc] = set()
    reached = {0}
    for piece, need in sorted(wanted.items(), reverse=True):
        front = set(reached)
        for _ in range(min(need, length // piece)):
            fresh = {(d, d + piece, piece) for d in front if d + piece <= length} - found
            found |= fresh
            front = {end for _, end, _ in fresh}
            reached |= front
            if not front:
                break
    nodes = sorted(reached | {length})
    return sorted(found) + [(a, b, 0) for a, b in pairwise(nodes)]


def solve(job: Job, seconds: float) -> Flow:
    """Return the fewest bars for a job of bars of one length, and blanks of their section."""
    start = time.perf_counter()
    (bar,) = job.offcuts
    names = {blank.length: blank.name for blank in job.blanks}
    wanted = {blank.length: blank.need for blank in job.blanks}
    arcs = arcs_of(bar.length, wanted)
    solver = pywraplp.Solver.CreateSolver("HIGHS")
    if solver is None:
        raise SystemExit("this ortools was built without HiGHS")
    solver.SuppressOutput()
    most = sum(wanted.values())
    flows = {arc: solver.IntVar(0, wanted[arc[2]] if arc[2] else most, "") for arc in arcs}
    bars = solver.IntVar(0, bar.qty, "")
    nodes = {node: solver.Constraint(0, 0) for arc in arcs for node in arc[:2]}
    covers = {piece: solver.Constraint(need, most) for piece, need in wanted.items()}
    for (a, b, piece), flow in flows.items():
        nodes[a].SetCoefficient(flow, -1)
        nodes[b].SetCoefficient(flow, 1)
        if piece:
            covers[piece].SetCoefficient(flow, 1)
    nodes[0].SetCoefficient(bars, 1)
    nodes[bar.length].SetCoefficient(bars, -1)
    solver.Minimize(bars)
    solver.SetTimeLimit(max(1, int(1000 * (seconds - (time.perf_counter() - start)))))
    status = solver.Solve()
    taken = time.perf_counter() - start
    bound = solver.Objective().BestBound()
    if status not in (pywraplp.Solver.OPTIMAL, pywraplp.Solver.FEASIBLE):
        return Flow(len(arcs), None, bound, taken, False, None)
    used = Counter({arc: round(flow.solution_value()) for arc, flow in flows.items()})
    whole = status == pywraplp.Solver.OPTIMAL
    patterns = _paths(used, bar.length, round(bars.solution_value()))
    return Flow(len(arcs), len(patterns), bound, taken, whole, _plan(job, patterns, names, wanted))


def _paths(used: Counter[Arc], length: int, count: int) -> list[list[int]]:
    """Return the pieces along each of the bars that a flow is made of."""
    paths = []
    for _ in range(count):
        place, pieces = 0, []
        while place < length:
            arc = next(arc for arc in used if arc[0] == place and used[arc] > 0)
            used[arc] -= 1
            if arc[2]:
                pieces.append(arc[2])
            place = arc[1]
        paths.append(pieces)
    return paths


def _plan(job: Job, patterns: list[list[int]], names: dict[int, str], wanted: dict[int, int]) -> Plan:
    """Return the bars as a plan; pieces beyond the need are left out."""
    (bar,) = job.offcuts
    left, cuttings = Counter(wanted), []
    for copy, pattern in enumerate(patterns, 1):
        cuts, place = [], 0
        for piece in pattern:
            if left[piece]:
                left[piece] -= 1
                cuts.append(
                    CutBlank(blank=names[piece], extra=False, start=place, end=place + piece, clear_end="A")
                )
                place += piece
        stick = Stick(start=0, end=bar.thickness, blanks=tuple(cuts))
        billet = Billet(
            start=0,
            end=bar.length,
            layout="rip first",
            face_loss=0,
            edge_loss=0,
            strips=(Strip(start=0, end=bar.width, sticks=(stick,)),),
        )
        cuttings.append(OffcutPlan(offcut=bar.name, copy=copy, segments=(billet,)))
    net = len(cuttings) * worth(bar.length, bar.width, bar.thickness, job.shop)
    drawn = tuple(cuttings)
    missing = ((job.blanks[0].priority, 0),)
    return witness(job, Answer(missing, net, 0, len(drawn), crosscuts_of(job, drawn), drawn))
