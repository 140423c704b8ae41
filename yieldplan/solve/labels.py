"""All cuttings of an offcut within a slack of its best value, by the recurrences of the kernels.

The kernels give the best value; these walk the same graphs, keep every label (counts of blanks, worth of
keepers) that can still come within ``slack`` of it, and remember how it was cut. With slack 0 they yield the
best cuttings themselves; with a slack of at least upper bound less lower bound, every cutting that an optimal
plan can use (enumeration by reduced cost).
"""

from __future__ import annotations

import bisect
import math
import operator
import time
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any

import numpy as np

from yieldplan.solve import kernel

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from yieldplan.solve.pricing import Priced
    from yieldplan.solve.stock import Stock

EPS = 2.0**-22
MOST_LABELS = 20000

Counts = tuple[int, ...]


class OutOfTimeError(Exception):
    """The slack lets through more cuttings than can be listed in the time given."""


@dataclass(frozen=True, slots=True)
class Label:
    """A partial cutting: blanks of each kind, worth of keepers, and the pieces as a linked list (rest, piece).

    Places along x are counted from the billet's start, so that like billets share their labels.
    """

    counts: Counts
    worth: float
    pieces: Any


@dataclass(frozen=True, slots=True)
class Move:
    """A piece from one node to another: its best value, and its labels worth at least something."""

    to: int
    value: float
    options: Callable[[float], list[Label]]
    leftover: bool = False


def near_best(
    moves: list[list[Move]],
    least: float,
    prices: list[float],
    caps: Counts | None,
    anchor: Sequence[bool],
    most: int = MOST_LABELS,
) -> tuple[list[Label], bool]:
    """Return the undominated labels of all paths worth at least ``least``, and whether none was left out.

    ``moves[i]`` leave node i; node len(moves) is the end, and idling from i to i + 1 is free. ``caps`` bounds
    the counts (None: no bound): a surplus blank counts for nothing, as if it were left uncut. A leftover
    starts only where a piece has just ended: else it would be longer. So does any piece, except at an
    ``anchor``: else it could be pushed back. At each node the ``most`` best labels are kept.
    """
    whole = True
    rest = rest_values(moves)
    zero = (0,) * len(prices)
    states: list[dict[Counts, Label]] = [{} for _ in range(len(moves) + 1)]
    arrived: list[dict[Counts, Label]] = [{} for _ in range(len(moves) + 1)]
    arrived[0][zero] = Label(zero, 0.0, None)
    for i, leaving in enumerate(moves):
        here, new = states[i], arrived[i]
        for label in new.values():
            _keep(here, label)
        if not here:
            continue
        whole &= _prune(here, prices, least - rest[i], most)
        ended = {counts: label for counts, label in here.items() if new.get(counts) is label}
        for move in leaving:
            begun = ended if move.leftover or not anchor[i] else here
            if not begun:
                continue
            values = [(label, _value(label, prices)) for label in begun.values()]
            needed = least - rest[move.to] - max(value for _, value in values)
            if move.value < needed:
                continue
            offers = [(option, _value(option, prices)) for option in move.options(needed)]
            for label, value in values:
                reach = value + rest[move.to] - least
                for option, worth in offers:
                    if reach + worth < 0:
                        continue
                    counts = tuple(map(operator.add, label.counts, option.counts))
                    if caps is not None:
                        counts = tuple(map(min, counts, caps))
                    _keep(
                        arrived[move.to],
                        Label(counts, label.worth + option.worth, (label.pieces, option.pieces)),
                    )
        for label in here.values():
            _keep(states[i + 1], label)
    for label in arrived[-1].values():
        _keep(states[-1], label)
    return _undominated(list(states[-1].values())), whole


def first_best(moves: list[list[Move]], kinds: int) -> list[Label]:
    """Return one best path as a label: the first found from the start on."""
    rest, i = rest_values(moves), 0
    label = Label((0,) * kinds, 0.0, None)
    while i < len(moves):
        best = [m for m in moves[i] if m.value + rest[m.to] >= rest[i] - EPS]
        if rest[i + 1] >= rest[i] - EPS or not best:
            i += 1
            continue
        (piece,) = best[0].options(best[0].value)
        counts = tuple(map(int.__add__, label.counts, piece.counts))
        label = Label(counts, label.worth + piece.worth, (label.pieces, piece.pieces))
        i = best[0].to
    return [label]


def rest_values(moves: list[list[Move]]) -> list[float]:
    """Return the best value from each node to the end."""
    rest = [0.0] * (len(moves) + 1)
    for i in range(len(moves) - 1, -1, -1):
        rest[i] = max(rest[i + 1], max((m.value + rest[m.to] for m in moves[i]), default=0.0))
    return rest


def _value(label: Label, prices: list[float]) -> float:
    blanks: float = sum(map(operator.mul, label.counts, prices))
    return label.worth + blanks


def _keep(state: dict[Counts, Label], label: Label) -> None:
    other = state.get(label.counts)
    if other is None or other.worth < label.worth:
        state[label.counts] = label


def _prune(state: dict[Counts, Label], prices: list[float], least: float, most: int) -> bool:
    """Take out the labels worth less than ``least``, and all but the ``most`` best; return whether none of those."""
    values = {counts: _value(label, prices) for counts, label in state.items()}
    for counts in [c for c, value in values.items() if value < least]:
        del state[counts]
    if len(state) <= most:
        return True
    for counts in sorted(state, key=lambda c: -values[c])[most:]:
        del state[counts]
    return False


def _undominated(labels: list[Label]) -> list[Label]:
    """Return the labels that no other matches in every count and in worth."""
    if len(labels) > 3000:
        return labels
    labels.sort(key=lambda label: (-sum(label.counts), -label.worth, label.counts))
    kept: list[Label] = []
    table = np.empty((0, len(labels[0].counts) + 1)) if labels else np.empty((0, 0))
    rows = np.array([(*label.counts, label.worth) for label in labels])
    for label, row in zip(labels, rows, strict=True):
        if not len(table) or not (table >= row).all(axis=1).any():
            kept.append(label)
            table = np.vstack([table, row])
    return kept


@dataclass
class Opener:
    """Labels of one priced offcut, level by level. Kinds are counted in the stock's own order.

    ``single`` asks for one best cutting instead of all that are good enough; ``upper`` counts leftovers at
    the upper bound of :func:`yieldplan.solve.kernel.leftover`, as the prices were taken. Past ``deadline``
    (monotonic seconds) it gives up with OutOfTimeError. ``whole`` tells afterwards whether no label was left out for
    being more than ``most`` at a node.
    """

    stock: Stock
    priced: Priced
    caps: Counts | None = None
    keepers: bool = True
    single: bool = False
    upper: bool = False
    deadline: float = math.inf
    most: int = MOST_LABELS
    whole: bool = True
    _billets: dict[tuple[int, ...], tuple[float, list[Label]]] = field(default_factory=dict)
    _contents: dict[tuple[int, int], tuple[float, list[Label]]] = field(default_factory=dict)

    def __post_init__(self) -> None:
        self.prices = [float(p) for p in self.priced.prices]
        self.kinds = len(self.prices)
        self.zero = (0,) * self.kinds
        rule = self.stock.rule
        self.rule = rule if self.keepers else rule._replace(per_volume=0.0, keeper_length=1 << 60)
        self.growth = np.zeros_like(self.stock.growth)
        if self.upper and self.keepers:
            self.growth = self.stock.growth
        self.units = [tuple(int(a == k) for a in range(self.kinds)) for k in range(self.kinds)]

    def _near_best(self, moves: list[list[Move]], least: float, anchor: Sequence[bool]) -> list[Label]:
        if self.single:
            return first_best(moves, self.kinds)
        if time.monotonic() > self.deadline:
            raise OutOfTimeError
        labels, whole = near_best(moves, least, self.prices, self.caps, anchor, self.most)
        self.whole &= whole
        return labels

    def _left(self, to: int, worth: float, piece: object) -> Move:
        label = [Label(self.zero, float(worth), piece)]
        return Move(to, float(worth), lambda _: label, leftover=True)

    def cuttings(self, least: float) -> list[Label]:
        """Return the cuttings of the whole offcut that hold blanks and are worth at least ``least``."""
        least -= EPS
        stock, rule, offcut = self.stock, self.rule, self.stock.offcut
        nodes, n = stock.nodes.tolist(), len(stock.nodes)
        rest = self.priced.rest
        stops = np.nonzero(stock.anchor)[0].tolist()
        ahead = np.zeros(n + 1)
        best = self.priced.billets.max(axis=0)
        reach = best + rest[stock.next_node]
        moves: list[list[Move]] = []
        for i in range(n):
            if i:
                ahead[i] = max(ahead[i], ahead[i - 1])
            leaving: list[Move] = []
            low, high = int(stock.first_arc[i]), int(stock.first_arc[i + 1])
            for arc in low + np.nonzero((ahead[i] + reach[low:high] >= least) & (best[low:high] > 0))[0]:
                j = int(stock.next_node[arc])
                ahead[j] = max(ahead[j], ahead[i] + best[arc])
                leaving.extend(
                    Move(j, float(self.priced.billets[side, arc]), self._billet_options(int(arc), side))
                    for side in (0, 1)
                    if ahead[i] + self.priced.billets[side, arc] + rest[j] >= least
                    and self.priced.billets[side, arc] > 0
                )
            for j in (*stops[bisect.bisect_right(stops, i) :], n):
                end = offcut.length if j == n else nodes[j] - rule.crosscut
                if rule.keeper_length <= end - nodes[i] < offcut.length:
                    worth = kernel.piece_worth(end - nodes[i], offcut.width, offcut.thickness, rule)
                    if ahead[i] + worth + rest[j] >= least:
                        ahead[j] = max(ahead[j], ahead[i] + worth)
                        leaving.append(self._left(j, worth, ("whole", nodes[i], end)))
            moves.append(leaving)
        return [label for label in self._near_best(moves, least, stock.anchor.tolist()) if any(label.counts)]

    def _billet_options(self, arc: int, side: int) -> Callable[[float], list[Label]]:
        """Return what lists a billet's labels in one layout."""
        key = self._alike(arc, side)

        def options(least: float) -> list[Label]:
            known = self._billets.get(key)
            if known is None or known[0] > least:
                moves, anchor = self._billet_moves(arc, side)
                known = (least, self._near_best(moves, least, anchor))
                self._billets[key] = known
            return [
                Label(label.counts, label.worth, ("billet", arc, side, label.pieces)) for label in known[1]
            ]

        return options

    def _alike(self, arc: int, side: int) -> tuple[int, ...]:
        """Return what a billet's labels depend on: without defects its length and the trims it holds."""
        arcs, offcut = self.stock.arcs, self.stock.offcut
        if arcs.relevant[arc]:
            return (side, arc)
        start, end = int(arcs.start[arc]), int(arcs.end[arc])
        first = self.stock.first
        return (side, end - start, max(0, first - start), max(0, end + first - offcut.length))

    def _billet_moves(self, arc: int, side: int) -> tuple[list[list[Move]], list[bool]]:
        layout, arcs, rule = self.stock.layouts[side], self.stock.arcs, self.rule
        offcut = self.stock.offcut
        box_u, box_v = kernel.boxes(layout, arcs, arc, offcut.width, offcut.thickness)
        case, length = arcs.case[arc], int(arcs.end[arc] - arcs.start[arc])
        nodes = _places(layout.left[case], layout.right[case], layout.counts[case], box_u)
        anchor = self._anchors(nodes, layout.right[case], layout.counts[case], box_u, layout.first_is_y)
        keep = layout.kerf >= 0 and length >= rule.keeper_length
        kerf = max(layout.kerf, 0)
        _, by_v = kernel.across_axes(layout, arcs, arc)
        grow = self._grow(layout, arc)
        known: dict[tuple[int, int], tuple[list[list[Move]], list[bool]]] = {}
        moves: list[list[Move]] = []
        for i, u in enumerate(nodes):
            leaving: list[Move] = []
            for d, du in enumerate(layout.size.tolist()):
                if u + du > box_u or (layout.kerf < 0 and (u != 0 or du != box_u)):
                    continue
                if by_v:
                    key = (d, -1 - i)
                else:
                    key = (d, kernel.stick_mask(layout, arcs, arc, self.stock.defects, u, du, 0, 1, rule))
                if key not in known:
                    known[key] = self._strip_moves(arc, side, d, u, int(box_v))
                inside, inner_anchor = known[key]
                value = rest_values(inside)[0] if any(inside) else 0.0
                if value > 0:
                    to = _rank(nodes, u + du + kerf)
                    leaving.append(Move(to, value, self._strip_options(inside, inner_anchor, u, du)))
            if keep:
                found = self._leftovers(
                    nodes, anchor, i, kerf, int(box_u), int(box_v), length, "strip", *grow
                )
                leaving.extend(found)
            moves.append(leaving)
        return moves, anchor

    def _anchors(self, nodes: list[int], right: Any, count: Any, box: int, by_y: bool) -> list[bool]:
        """Return where across a billet a piece may start though nothing ends just before."""
        rule, defects = self.stock.rule, self.stock.defects
        far = defects[:, 3] - rule.edge_skim if by_y else defects[:, 5] - rule.face_skim
        held = {0, *far.tolist(), *(int(box) - right[: count[1]]).tolist()}
        return [node in held for node in nodes]

    def _strip_options(
        self, inside: list[list[Move]], anchor: list[bool], u: int, du: int
    ) -> Callable[[float], list[Label]]:
        return lambda least: [
            Label(label.counts, label.worth, ("strip", u, u + du, label.pieces))
            for label in self._near_best(inside, least, anchor)
        ]

    def _grow(self, layout: Any, arc: int) -> tuple[Any, Any]:
        """Return what leftovers may grow by on the layout's first and second axis (zeros unless ``upper``)."""
        grow = self.growth.copy()
        for axis in (0, 1):
            grow[axis, 1] = max(0.0, self.stock.arcs.losses[arc, axis] - grow[axis, 1]) if grow.any() else 0.0
        return (grow[0], grow[1]) if layout.first_is_y else (grow[1], grow[0])

    def _leftovers(
        self,
        nodes: list[int],
        anchor: list[bool],
        i: int,
        kerf: int,
        box: int,
        other: int,
        length: int,
        name: str,
        grow_gap: Any,
        grow_other: Any,
    ) -> list[Move]:
        """Return the keeper strips or sticks that may start at node i of a row across the billet."""
        rule, found = self.rule, []
        for j in range(i + 1, len(nodes) + 1):
            if j < len(nodes) and not anchor[j]:
                continue
            end = box if j == len(nodes) else nodes[j] - kerf
            gap = end - nodes[i]
            wide, thin = max(gap, other), min(gap, other)
            if gap >= rule.narrowest and wide >= rule.keeper_width and thin >= rule.keeper_thickness:
                worth = kernel.leftover(length, gap, other, grow_gap, grow_other, rule)
                found.append(self._left(j, worth, ("keeper " + name, nodes[i], end)))
        return found

    def _strip_moves(
        self, arc: int, side: int, d: int, u: int, box_v: int
    ) -> tuple[list[list[Move]], list[bool]]:
        stock, rule = self.stock, self.rule
        layout, arcs = stock.layouts[side], stock.arcs
        case, length = arcs.case[arc], int(arcs.end[arc] - arcs.start[arc])
        du, kerf = int(layout.size[d]), int(layout.inner_kerf[d])
        nodes = _places(
            layout.inner_left[case, d], layout.inner_right[case, d], layout.inner_count[case, d], box_v
        )
        right, count = layout.inner_right[case, d], layout.inner_count[case, d]
        anchor = self._anchors(nodes, right, count, box_v, not layout.first_is_y)
        keep = kerf >= 0 and length >= rule.keeper_length and du >= rule.narrowest
        _, grow_v = self._grow(layout, arc)
        moves: list[list[Move]] = []
        for i, v in enumerate(nodes):
            leaving: list[Move] = []
            for s in np.nonzero(layout.holds[d])[0].tolist():
                dv = int(layout.depth[s])
                if v + dv > box_v or (kerf < 0 and (v != 0 or dv != box_v)):
                    continue
                mask = kernel.stick_mask(layout, arcs, arc, stock.defects, u, du, v, dv, rule)
                row = int(stock.row_of[s, int(np.searchsorted(stock.masks, mask))])
                value = float(self.priced.sticks[row, arc])
                if value > 0:
                    to = _rank(nodes, v + dv + max(kerf, 0))
                    leaving.append(Move(to, value, self._stick_options(row, arc, s, v, dv)))
            if keep:
                found = self._leftovers(
                    nodes, anchor, i, max(kerf, 0), box_v, du, length, "stick", grow_v, np.zeros(3)
                )
                leaving.extend(found)
            moves.append(leaving)
        return moves, anchor

    def _stick_options(self, row: int, arc: int, s: int, v: int, dv: int) -> Callable[[float], list[Label]]:
        def options(least: float) -> list[Label]:
            known = self._contents.get((row, arc))
            if known is None or known[0] > least:
                moves, anchor = self._content_moves(row, arc)
                most = MOST_LABELS if self.single else self.most
                labels, whole = near_best(moves, least - EPS, self.prices, self.caps, anchor, most)
                self.whole &= whole
                labels = [label for label in labels if any(label.counts)]
                if self.single:
                    labels = [max(labels, key=lambda label: _value(label, self.prices))]
                known = (least, labels)
                self._contents[row, arc] = known
            return [
                Label(label.counts, label.worth, ("stick", v, v + dv, s, label.pieces)) for label in known[1]
            ]

        return options

    def _content_moves(self, row: int, arc: int) -> tuple[list[list[Move]], list[bool]]:
        grain, arcs, rule = self.stock.grain, self.stock.arcs, self.rule
        stick, mask = grain.tables[row].tolist()
        wide, thin = grain.sections[stick].tolist()
        keeps = wide > 0
        begin, end = int(arcs.start[arc]), int(arcs.end[arc])
        first = int(np.searchsorted(grain.nodes, begin + rule.snipe))
        stop = int(np.searchsorted(grain.nodes, end))
        nodes = grain.nodes[first:stop].tolist()
        n = len(nodes)
        anchor = grain.anchor[first:stop].tolist()
        stops = [j for j in range(n) if anchor[j]]
        moves: list[list[Move]] = []

        def leftover(start: int, j: int) -> Move | None:
            to = end if j == n else nodes[j] - rule.crosscut
            if to - start < rule.keeper_length:
                return None
            return self._left(
                j, kernel.piece_worth(to - start, wide, thin, rule), ("remainder", start - begin, to - begin)
            )

        for i, at in enumerate(nodes):
            leaving: list[Move] = []
            for k in range(self.kinds):
                span = self.stock.spans[k]
                if (
                    grain.allowed[stick, k]
                    and grain.fits[mask, k, first + i]
                    and at + span + rule.snipe <= end
                ):
                    label = [Label(self.units[k], 0.0, ("blank", k, at - begin, at + span - begin))]
                    to = min(int(grain.next_node[first + i, k]) - first, n)
                    leaving.append(Move(to, self.prices[k], lambda _, label=label: label))  # type: ignore[misc]
            if keeps:
                targets = stops[bisect.bisect_right(stops, i) :] if mask else []
                found = [leftover(at if i else begin, j) for j in (*targets, *((n,) if i else ()))]
                leaving.extend(move for move in found if move)
            moves.append(leaving)
        return moves, anchor


def _places(left: Any, right: Any, count: Any, box: int) -> list[int]:
    found = np.empty(len(left) + len(right), np.int64)
    return [int(p) for p in found[: kernel.places(left, right, count, box, found)]]


def _rank(nodes: list[int], value: int) -> int:
    return bisect.bisect_left(nodes, value)
