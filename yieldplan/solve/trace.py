"""One best cutting of a priced offcut, read back from the recurrences of the kernels."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from yieldplan.solve.kernel import axis_mask, boxes, piece_worth
from yieldplan.solve.labels import Label
from yieldplan.solve.layouts import layout_value, path_of, strip_row
from yieldplan.solve.sticks import trace_stick

if TYPE_CHECKING:
    from yieldplan.solve.pricing import Priced

Pieces = Any
"""A linked list (rest, piece), first piece innermost; see :func:`yieldplan.solve.columns.listed`."""


def best_cutting(priced: Priced) -> Label | None:
    """Return one best cutting as a label, None where it holds no blank.

    ``priced`` must have been worked out by :meth:`yieldplan.solve.pricing.Priced.find_best`.
    """
    tracer = _Tracer(priced)
    tracer.offcut()
    return Label(tuple(tracer.counts), tracer.worth, tracer.pieces) if any(tracer.counts) else None


class _Tracer:
    def __init__(self, priced: Priced) -> None:
        self.priced, self.stock = priced, priced.stock
        self.counts = [0] * len(self.stock.kinds)
        self.worth = 0.0
        self.pieces: Pieces = None

    def offcut(self) -> None:
        """Walk along the offcut, from segment to segment."""
        stock, kept, after = self.stock, self.priced.chain.kept, self.stock.arcs.next
        arcs_of, kept_of = self.priced.chain.begin.arc, self.priced.chain.begin.kept
        values, rest = self.priced.worked.billets.value, self.priced.worked.nodes.rest
        n, i = len(stock.nodes), 0
        while i < n:
            if rest[i + 1] >= rest[i]:
                i += 1
                continue
            for arc in range(arcs_of[i], arcs_of[i + 1]):
                side = int(values[1, arc] > values[0, arc])
                value, to = values[side, arc], int(after[arc])
                if value > 0.0 and value + rest[to] >= rest[i]:
                    self.pieces = (self.pieces, ("billet", arc, side, self._billet(arc, side)))
                    break
            else:
                moves = range(kept_of[i], kept_of[i + 1])
                q = next(q for q in moves if kept.worth[q] + rest[kept.to[q]] >= rest[i])
                to = int(kept.to[q])
                end = stock.offcut.length if to == n else int(stock.nodes[to]) - self.stock.rule.crosscut
                self.pieces = (self.pieces, ("whole", int(stock.nodes[i]), end))
                self.worth += float(kept.worth[q])
            i = to

    def _billet(self, arc: int, side: int) -> Pieces:
        priced, stock = self.priced, self.stock
        layout, arcs, piece, rule = stock.layouts[side], stock.arcs, priced.piece, priced.rule
        outer, inner = priced.rows[2 * side], priced.rows[2 * side + 1]
        _, n = layout_value(
            layout, stock.grain, arcs, arc, piece, rule, priced.prices, priced.held, outer, inner, False
        )
        box_u, box_v = boxes(layout, arcs, arc, piece.width, piece.thickness)
        path, nodes = path_of(outer.spots, n).tolist(), outer.spots.node[:n].tolist()
        strips: Pieces = None
        for d, i, j in path:
            u = nodes[i]
            if d < 0:
                end = int(box_u) if j == n else nodes[j] - layout.kerf
                kept = piece_worth(int(arcs.end[arc] - arcs.start[arc]), end - u, int(box_v), rule)
                self.worth += float(kept)
                strips = (strips, ("keeper strip", u, end))
                continue
            du = int(layout.firsts[d, 0])
            known = int(axis_mask(arcs, arc, piece.defects, layout.first_is_y, u, u + du, rule))
            strips = (strips, ("strip", u, u + du, self._strip(arc, side, d, known)))
        return strips

    def _strip(self, arc: int, side: int, d: int, known: int) -> Pieces:
        priced, stock = self.priced, self.stock
        layout, arcs, rule = stock.layouts[side], stock.arcs, priced.rule
        inner = priced.rows[2 * side + 1]
        _, m, kinds = strip_row(
            layout, stock.grain, arcs, arc, priced.piece, rule, priced.prices, priced.held, inner, d, known,
            False,
        )  # fmt: skip
        du, nodes = int(layout.firsts[d, 0]), inner.spots.node[:m].tolist()
        box_v = int(boxes(layout, arcs, arc, priced.piece.width, priced.piece.thickness)[1])
        sticks: Pieces = None
        for p, i, j in path_of(inner.spots, m).tolist():
            v = nodes[i]
            if p < 0:
                end = box_v if j == m else nodes[j] - int(layout.firsts[d, 1])
                self.worth += float(piece_worth(int(arcs.end[arc] - arcs.start[arc]), end - v, du, rule))
                sticks = (sticks, ("keeper stick", v, end))
                continue
            s = int(kinds[p])
            dv = int(layout.depth[s])
            mask = known
            if known:
                on_y = not layout.first_is_y
                mask &= int(axis_mask(arcs, arc, priced.piece.defects, on_y, v, v + dv, rule))
            sticks = (sticks, ("stick", v, v + dv, s, self._stick(arc, s, mask)))
        return sticks

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
