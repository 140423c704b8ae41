"""All cuttings of an offcut within a slack of its best value, by the recurrences of the kernels.

The kernels give the best value; these walk the same graphs, keep every label (counts of blanks, worth of
keepers) that can still come within ``slack`` of it, and remember how it was cut. With slack 0 they yield the
best cuttings themselves; with a slack of at least upper bound less lower bound, every cutting that an optimal
plan can use (enumeration by reduced cost).
"""

from __future__ import annotations

import math
import operator
import time
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any

import numpy as np

from yieldplan.solve.kernel import axis_mask
from yieldplan.solve.layouts import grown
from yieldplan.solve.listing import row_moves, stick_moves

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from yieldplan.solve.pricing import Priced

EPS = 2.0**-22
MOST_LABELS = 20000

MOST_COMPARED = 3000
"""Labels at most that are compared with each other; of more some are listed that another matches."""

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
    if not 1 < len(labels) <= MOST_COMPARED:
        return labels
    labels.sort(key=lambda label: (-sum(label.counts), -label.worth, label.counts))
    rows = np.array([(*label.counts, label.worth) for label in labels])
    kept: list[int] = []
    for index, row in enumerate(rows):
        if not kept or not (rows[kept] >= row).all(axis=1).any():
            kept.append(index)
    return [labels[index] for index in kept]


@dataclass
class Opener:
    """Labels of one priced offcut, level by level. Kinds are counted in the stock's own order.

    Leftovers count as they did when the prices were taken. Past ``deadline`` (monotonic seconds) it gives up with
    OutOfTimeError. ``whole`` tells afterwards whether no label was left out for being more than ``most`` at a
    node.
    """

    priced: Priced
    caps: Counts | None = None
    deadline: float = math.inf
    most: int = MOST_LABELS
    whole: bool = True
    _billets: dict[tuple[int, ...], tuple[float, list[Label]]] = field(default_factory=dict)
    _contents: dict[tuple[int, int, int], tuple[float, list[Label]]] = field(default_factory=dict)

    def __post_init__(self) -> None:
        self.prices = [float(p) for p in self.priced.prices]
        self.kinds = len(self.prices)
        self.zero = (0,) * self.kinds
        self.stock, self.rule = self.priced.stock, self.priced.rule
        arcs = self.stock.arcs
        self.start, self.end, self.relevant = arcs.start.tolist(), arcs.end.tolist(), arcs.relevant.tolist()
        self.units = [tuple(int(a == k) for a in range(self.kinds)) for k in range(self.kinds)]

    def _near_best(self, moves: list[list[Move]], least: float, anchor: Sequence[bool]) -> list[Label]:
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
        if not self.priced.find_all(least, lambda: time.monotonic() > self.deadline):
            raise OutOfTimeError
        chain, offcut = self.priced.chain, self.stock.offcut
        nodes, n = self.stock.nodes.tolist(), len(self.stock.nodes)
        ahead, rest = self.priced.worked.nodes.ahead, self.priced.worked.nodes.rest
        values, after = self.priced.worked.billets.value, self.stock.arcs.next
        moves: list[list[Move]] = [[] for _ in range(n)]
        begin = np.repeat(np.arange(n), np.diff(chain.begin.arc))
        good = (ahead[begin] + values + rest[after] >= least) & (values > 0)
        for side, arc in np.argwhere(good).tolist():
            options = self._billet_options(arc, side)
            moves[begin[arc]].append(Move(int(after[arc]), float(values[side, arc]), options))
        begin = np.repeat(np.arange(n), np.diff(chain.begin.kept))
        for q in np.nonzero(ahead[begin] + chain.kept.worth + rest[chain.kept.to] >= least)[0].tolist():
            i, j = int(begin[q]), int(chain.kept.to[q])
            end = offcut.length if j == n else nodes[j] - self.rule.crosscut
            moves[i].append(self._left(j, float(chain.kept.worth[q]), ("whole", nodes[i], end)))
        return [
            label for label in self._near_best(moves, least, self.stock.anchor.tolist()) if any(label.counts)
        ]

    def _billet_options(self, arc: int, side: int) -> Callable[[float], list[Label]]:
        """Return what lists a billet's labels in one layout."""
        key = self._alike(arc, side)

        def options(least: float) -> list[Label]:
            known = self._billets.get(key)
            if known is None or known[0] > least:
                moves, anchor = self._billet_moves(arc, side, least)
                known = (least, self._near_best(moves, least, anchor))
                self._billets[key] = known
            return [
                Label(label.counts, label.worth, ("billet", arc, side, label.pieces)) for label in known[1]
            ]

        return options

    def _alike(self, arc: int, side: int) -> tuple[int, ...]:
        """Return what a billet's labels depend on: without defects its length and the trims it holds."""
        offcut, first = self.stock.offcut, self.stock.grain.trim
        if self.relevant[arc]:
            return (side, arc)
        start, end = self.start[arc], self.end[arc]
        return (side, end - start, max(0, first - start), max(0, end + first - offcut.length))

    def _billet_moves(self, arc: int, side: int, least: float) -> tuple[list[list[Move]], list[bool]]:
        """Return the moves of strips across a billet that can be part of something worth ``least``."""
        priced, layout, arcs = self.priced, self.stock.layouts[side], self.stock.arcs
        row, n = priced.row_of_strips(arc, side)
        box_u, box_v = priced.box(arc, side)
        length, kerf = self.end[arc] - self.start[arc], max(layout.kerf, 0)
        keep = layout.kerf >= 0 and length >= self.rule.keeper_length
        grow_u, grow_v = grown(priced.piece.growth, arcs, arc, layout.first_is_y)
        sizes = np.ascontiguousarray(layout.firsts[:, 0])
        found, values = row_moves(
            row, n, sizes, len(sizes), kerf, box_u, length, box_v, grow_u, grow_v, keep, self.rule, least
        )  # fmt: skip
        nodes, anchor = row.spots.node[:n].tolist(), row.spots.held[:n].tolist()
        known: dict[tuple[int, int], dict[str, Any]] = {}
        moves: list[list[Move]] = [[] for _ in range(n)]
        for (i, j, d), value in zip(found.tolist(), values.tolist(), strict=True):
            u = nodes[i]
            if d < 0:
                end = box_u if j == n else nodes[j] - kerf
                moves[i].append(self._left(j, value, ("keeper strip", u, end)))
                continue
            du = int(layout.firsts[d, 0])
            mask = int(axis_mask(arcs, arc, priced.piece.defects, layout.first_is_y, u, u + du, self.rule))
            same = known.setdefault((d, mask), {})
            moves[i].append(Move(j, value, self._strip_options(arc, side, d, u, mask, same)))
        return moves, anchor

    def _strip_options(
        self, arc: int, side: int, d: int, u: int, known: int, same: dict[str, Any]
    ) -> Callable[[float], list[Label]]:
        """Return what lists the labels of a strip; ``same`` holds those of a like strip of the billet."""
        u_end = u + int(self.stock.layouts[side].firsts[d, 0])

        def options(least: float) -> list[Label]:
            if not same or same["least"] > least:
                moves, anchor = self._strip_moves(arc, side, d, known, least)
                same["labels"] = self._near_best(moves, least, anchor)
                same["least"] = least
            return [
                Label(label.counts, label.worth, ("strip", u, u_end, label.pieces))
                for label in same["labels"]
            ]

        return options

    def _strip_moves(
        self, arc: int, side: int, d: int, known: int, least: float
    ) -> tuple[list[list[Move]], list[bool]]:
        """Return the moves of sticks across a strip that can be part of something worth ``least``."""
        priced, layout, arcs = self.priced, self.stock.layouts[side], self.stock.arcs
        row, m, kinds = priced.row_of_sticks(arc, side, d, known)
        du, kerf = int(layout.firsts[d, 0]), int(layout.firsts[d, 1])
        length = self.end[arc] - self.start[arc]
        _, box_v = priced.box(arc, side)
        pieces = int(np.count_nonzero(layout.holds[d]))
        keep = kerf >= 0 and length >= self.rule.keeper_length and du >= self.rule.narrowest
        _, grow_v = grown(priced.piece.growth, arcs, arc, layout.first_is_y)
        found, values = row_moves(
            row, m, layout.depth[kinds[:pieces]], pieces, max(kerf, 0), box_v, length, du, grow_v, np.zeros(3), keep,
            self.rule, least,
        )  # fmt: skip
        nodes, anchor = row.spots.node[:m].tolist(), row.spots.held[:m].tolist()
        moves: list[list[Move]] = [[] for _ in range(m)]
        for (i, j, p), value in zip(found.tolist(), values.tolist(), strict=True):
            v = nodes[i]
            if p < 0:
                end = box_v if j == m else nodes[j] - max(kerf, 0)
                moves[i].append(self._left(j, value, ("keeper stick", v, end)))
                continue
            s = int(kinds[p])
            dv = int(layout.depth[s])
            on_y = not layout.first_is_y
            mask = known & int(axis_mask(arcs, arc, priced.piece.defects, on_y, v, v + dv, self.rule))
            moves[i].append(Move(j, value, self._stick_options(mask, arc, s, v, dv)))
        return moves, anchor

    def _stick_options(self, mask: int, arc: int, s: int, v: int, dv: int) -> Callable[[float], list[Label]]:
        """Return what lists the labels of a stick."""

        def options(least: float) -> list[Label]:
            known = self._contents.get((s, mask, arc))
            if known is None or known[0] > least:
                moves, anchor = self._content_moves(s, mask, arc, least - EPS)
                labels = self._near_best(moves, least - EPS, anchor)
                known = (least, [label for label in labels if any(label.counts)])
                self._contents[s, mask, arc] = known
            return [
                Label(label.counts, label.worth, ("stick", v, v + dv, s, label.pieces)) for label in known[1]
            ]

        return options

    def _content_moves(
        self, s: int, mask: int, arc: int, least: float
    ) -> tuple[list[list[Move]], list[bool]]:
        """Return the moves of blanks along a stick that can be part of something worth ``least``."""
        grain, rule = self.stock.grain, self.rule
        begin, end = self.start[arc], self.end[arc]
        longer = min(max(0, grain.trim - begin), self.priced.held.extra)
        found, values, first, n = stick_moves(
            grain, s, mask, self.priced.prices, rule, begin, end, longer, least
        )
        nodes = grain.nodes[first : first + n].tolist()
        moves: list[list[Move]] = [[] for _ in range(n)]
        for (i, j, k), value in zip(found.tolist(), values.tolist(), strict=True):
            if k < 0:
                start, stop = nodes[i] if i else begin, end if j == n else nodes[j] - rule.crosscut
                moves[i].append(self._left(j, value, ("remainder", start - begin, stop - begin)))
                continue
            at = nodes[i] - begin
            label = [Label(self.units[k], 0.0, ("blank", k, at, at + self.stock.spans[k]))]
            moves[i].append(Move(j, value, lambda _, label=label: label))  # type: ignore[misc]
        return moves, grain.anchor[first : first + n].tolist()
