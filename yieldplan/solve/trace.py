"""One best cutting of a priced offcut, read back from the recurrences of the kernels."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from yieldplan.solve.kernel import axis_mask, piece_worth
from yieldplan.solve.labels import Label
from yieldplan.solve.layouts import path_of
from yieldplan.solve.settle import WHOLE_SIDES, best_path
from yieldplan.solve.sticks import trace_stick

if TYPE_CHECKING:
    from yieldplan.solve.pricing import Priced

Pieces = Any
"""A linked list (rest, piece), first piece innermost; see :func:`yieldplan.solve.columns.listed`."""


def best_cutting(priced: Priced) -> Label:
    """Return one best cutting as a label.

    ``priced`` must have been worked out by :meth:`yieldplan.solve.pricing.Priced.find_best`.
    """
    tracer = _Tracer(priced)
    tracer.offcut()
    return Label(tuple(tracer.counts), tracer.worth, tracer.pieces)


class _Tracer:
    def __init__(self, priced: Priced) -> None:
        self.priced, self.stock = priced, priced.stock
        self.counts = [0] * len(self.stock.kinds)
        self.worth = 0.0
        self.pieces: Pieces = None

    def offcut(self) -> None:
        """Walk along the offcut, from segment to segment."""
        stock, piece = self.stock, self.priced.piece
        rule = self.priced.rule
        for node, arc, index in best_path(stock.chain, stock.arcs, piece, rule, self.priced.worked).tolist():
            if arc >= 0 and index < WHOLE_SIDES:
                self.pieces = (self.pieces, ("billet", arc, index, self._billet(arc, index)))
                continue
            if arc >= 0:
                self.pieces = (self.pieces, ("split", index - WHOLE_SIDES, self._halves(index - WHOLE_SIDES)))
                continue
            last = index == len(stock.nodes)
            start = int(stock.nodes[node])
            end = stock.offcut.length if last else int(stock.nodes[index]) - rule.crosscut
            self.pieces = (self.pieces, ("whole", start, end))
            self.worth += float(piece_worth(end - start, piece.width, piece.thickness, rule))

    def _halves(self, near: int) -> Pieces:
        values = self.priced.worked.billets.value
        found: Pieces = None
        for half in (near, int(self.stock.arcs.twin[near])):
            side = int(values[1, half] > values[0, half])
            if values[side, half] > 0:
                found = (found, ("billet", half, side, self._billet(half, side)))
        return found

    def _billet(self, arc: int, side: int) -> Pieces:
        priced, arcs = self.priced, self.stock.arcs
        layout, piece, rule = self.stock.layouts[side], priced.piece, priced.rule
        row, n = priced.row_of_strips(arc, side)
        box_u, box_v = priced.box(arc, side)
        path, nodes = path_of(row.spots, n).tolist(), row.spots.node[:n].tolist()
        kerf = int(layout.kerfs[arcs.clean[arc]])
        strips: Pieces = None
        for d, i, j in path:
            u = nodes[i]
            if d < 0:
                end = box_u if j == n else nodes[j] - kerf
                self.worth += float(piece_worth(self._length(arc), end - u, box_v, rule))
                strips = (strips, ("keeper strip", u, end))
                continue
            du = int(layout.firsts[d, 0])
            met = int(axis_mask(arcs, arc, piece.defects, layout.first_is_y, u, u + du, rule))
            strips = (strips, ("strip", u, u + du, self._strip(arc, side, d, met)))
        return strips

    def _strip(self, arc: int, side: int, d: int, met: int) -> Pieces:
        priced, layout = self.priced, self.stock.layouts[side]
        row, m, kinds = priced.row_of_sticks(arc, side, d, met)
        du, nodes = int(layout.firsts[d, 0]), row.spots.node[:m].tolist()
        _, box_v = priced.box(arc, side)
        sticks: Pieces = None
        for p, i, j in path_of(row.spots, m).tolist():
            v = nodes[i]
            if p < 0:
                end = box_v if j == m else nodes[j] - int(layout.firsts[d, 1])
                self.worth += float(piece_worth(self._length(arc), end - v, du, priced.rule))
                sticks = (sticks, ("keeper stick", v, end))
                continue
            s, on_y = int(kinds[p]), not layout.first_is_y
            dv = int(layout.depth[s])
            mask = met & int(
                axis_mask(self.stock.arcs, arc, priced.piece.defects, on_y, v, v + dv, priced.rule)
            )
            mask &= int(self.stock.grain.cares[s])
            sticks = (sticks, ("stick", v, v + dv, s, self._stick(arc, s, mask)))
        return sticks

    def _length(self, arc: int) -> int:
        return int(self.stock.arcs.end[arc] - self.stock.arcs.start[arc])

    def _stick(self, arc: int, s: int, mask: int) -> Pieces:
        priced, stock = self.priced, self.stock
        found = trace_stick(
            stock.grain,
            stock.arcs,
            s,
            mask,
            priced.prices,
            priced.rule,
            arc,
            priced.held.run,
            priced.held.ended,
        ).tolist()
        begin = int(stock.arcs.start[arc])
        wide, thin = stock.grain.sections[s].tolist()
        pieces: Pieces = None
        for k, start, end in reversed(found):
            if k < 0:
                self.worth += float(piece_worth(end - start, wide, thin, priced.rule))
                pieces = (pieces, ("remainder", start - begin, end - begin))
            else:
                self.counts[k] += 1
                pieces = (pieces, ("blank", k, start - begin, end - begin))
        return pieces
