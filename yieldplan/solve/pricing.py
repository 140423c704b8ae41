"""Pricing: the best value of an offcut at given prices, and with it the bound.

Prices are whole multiples of 2**-20 of a unit of worth, so that every sum below is exact in float64.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Any

import numpy as np

from yieldplan.solve import settle
from yieldplan.solve.budget import PRICING
from yieldplan.solve.kernel import Piece, boxes
from yieldplan.solve.layouts import KEY, SPOT, Held, Row, find_row, layout_value, strip_row
from yieldplan.solve.sticks import ABOVE, END, QUICK, STEP, SURE

if TYPE_CHECKING:
    from yieldplan.solve.kernel import Floats, Ints, Records
    from yieldplan.solve.stock import Stock

GRID = 2**20
"""Prices are multiples of 1/GRID; that is also the least price of a blank that is wanted at all."""

LOOKS = 200
"""Closer looks at billets between two questions whether to stop."""


def on_grid(prices: Floats, limits: Floats) -> Floats:
    """Return prices rounded down to the grid, none above its limit, none below the least unless the limit is."""
    floored = np.floor(np.minimum(prices, limits) * GRID) / GRID
    least = np.where(limits > 0, 1 / GRID, 0.0)
    return np.asarray(np.maximum(floored, least), dtype=np.float64)


class Priced:
    """The dynamic programme of one offcut at given prices, worked out as far as somebody asked.

    Parameters
    ----------
    stock
        The offcut, prepared.
    prices
        (kinds of the whole batch,) price of a blank of each, on the grid.
    upper
        Ask for an upper bound that holds for every length in between the tried ones too.
    keepers
        Whether keepers are worth anything (not while aim 1 is in hand).
    relief
        What is to be added to values (:class:`yieldplan.solve.master.Prices`).
    """

    def __init__(
        self, stock: Stock, prices: Floats, *, upper: bool, keepers: bool, relief: float = 0.0
    ) -> None:
        self.stock, self._asked, self.relief = stock, (prices, keepers), relief
        self.proper: float | None = None
        """The best value of cuttings that hold no more blanks of a kind than are needed, where it is known."""
        self.listing = 0.0
        """Seconds of work that it took to know it."""
        self.listed = math.inf
        """From which value on all cuttings are listed."""
        self.laborious = False
        """Whether listing them once took too long."""
        self.prices = np.ascontiguousarray(prices[list(stock.kinds)])
        self.rule = stock.rule if keepers else stock.rule.without_keepers()
        self._upper = upper and keepers
        growth = stock.growth if self._upper else np.zeros_like(stock.growth)
        offcut = stock.offcut
        self.chain = stock.chain._replace(more=float(stock.parting)) if self._upper else stock.chain
        self.piece = Piece(offcut.width, offcut.thickness, stock.grain.defects, growth)
        self._known, self._spent = math.inf, 0.0
        """A bound of the best value, and the seconds of work, from before the tables were given up."""
        self._begin()

    def _begin(self) -> None:
        """Make the tables, empty."""
        stock = self.stock
        sticks, nodes, billets = len(stock.sticks), len(stock.grain.nodes), stock.billets
        self.held = Held(
            _empty_table(8 * sticks + 64),
            np.empty((2 * sticks + 16, billets)),
            np.zeros((2 * sticks + 16, int(stock.arcs.group[billets - 1]) + 1), bool),
            np.zeros(1, np.int64),
            np.zeros(1),
            np.recarray(nodes + 1, STEP),
            np.recarray(stock.grain.ends, END),
            _remainders(stock, above=self._upper),
            np.empty((2 * sticks + 16, nodes)),
            np.full(2 * sticks + 16, -1),
        )
        rows = []
        for layout in stock.layouts:
            for pieces, table in ((len(layout.firsts), layout.across), (len(layout.depth), layout.inner)):
                most = 2 * table.shape[-1]
                rows.append(
                    Row(
                        np.recarray(most + 1, SPOT),
                        np.zeros((pieces, most)),
                        np.zeros(pieces, np.int64),
                        np.zeros(pieces, np.int64),
                        np.zeros((2, most + pieces + 1), np.int64),
                    )
                )
        self.rows = tuple(rows)
        self.worked = settle.Worked(
            np.recarray((2, len(stock.arcs)), settle.VALUE),
            np.full((2, len(stock.arcs)), -1.0),
            np.recarray(len(stock.chain.begin), settle.REACH),
        )
        self._bounded = self._given_up = False

    def give_up(self) -> None:
        """Give up the tables, which are large; they are worked out anew where they are asked for again."""
        if not self._given_up:
            self._known, self._spent = self.best, self.seconds
            del self.held, self.rows, self.worked
            self._given_up = True

    def of(self, stock: Stock) -> Priced:
        """Return another form of the stock at the same prices, exact, not yet worked out."""
        prices, keepers = self._asked
        return Priced(stock, prices, upper=False, keepers=keepers, relief=self.relief)

    @property
    def best(self) -> float:
        """Largest value over all ways to cut the offcut: prices of blanks plus worth of keepers."""
        return self._known if self._given_up else min(self._known, float(self.worked.nodes.rest[0]))

    @property
    def most(self) -> float:
        """What no cutting is worth more than to a plan: one of the best value, or the best proper one."""
        return self.best + self.relief if self.proper is None else self.proper

    @property
    def seconds(self) -> float:
        """What the work done so far takes (:mod:`yieldplan.solve.budget`)."""
        return self._spent + (0.0 if self._given_up else PRICING * float(self.held.work[0]))

    def find_best(self, floor: float, limit: float = math.inf) -> bool:
        """Work out the best value, or that it is at most ``floor``.

        Returns False, with a bound in place of the value, once more than ``limit`` seconds of work were done in all.
        """
        return self._settle(floor, limit, single=True)

    def find_all(self, least: float, limit: float = math.inf) -> bool:
        """Work out every billet that can be part of a cutting worth at least ``least``; False beyond the limit."""
        return self._settle(least, limit, single=False)

    def _settle(self, threshold: float, limit: float, *, single: bool) -> bool:
        if self._given_up:
            self._begin()
        if not self._bounded:
            while not settle.bound_by_area(*self.bound_arguments()):
                self.enlarge()
            self._bounded = True
        while True:
            state = settle.settle(*self.settle_arguments(threshold, single=single))
            if state == 0:
                return True
            if state < 0:
                self.enlarge()
            elif self.seconds > limit:
                return False

    def box(self, arc: int, side: int) -> tuple[int, int]:
        """Return the box of a billet on the first and second axis of a layout (R3)."""
        layout = self.stock.layouts[side]
        box_u, box_v = boxes(layout, self.stock.arcs, arc, self.piece.thickness)
        return int(box_u), int(box_v)

    def row_of_strips(self, arc: int, side: int) -> tuple[Row, int]:
        """Work out the strips across a billet once more; return their row and its number of nodes.

        The row is scratch space: the next one worked out in that layout takes its place.
        """
        stock, outer, inner = self.stock, self.rows[2 * side], self.rows[2 * side + 1]
        _, n = layout_value(
            *(stock.layouts[side], stock.grain, stock.arcs, arc, self.piece, self.rule, self.prices),
            *(self.held, outer, inner, False),
        )
        return outer, n

    def row_of_sticks(self, arc: int, side: int, first: int, met: int) -> tuple[Row, int, Ints]:
        """Do the same for the sticks across a strip; return the kinds of stick of its pieces too.

        ``first`` is the index of the strip's size, ``met`` the set of defects that it meets on its own axis.
        """
        stock, row = self.stock, self.rows[2 * side + 1]
        _, n, pieces = strip_row(
            *(stock.layouts[side], stock.grain, stock.arcs, arc, self.piece, self.rule, self.prices),
            *(self.held, row, first, met, False),
        )
        return row, n, row.kinds[:pieces]

    def bound_arguments(self) -> tuple[Any, ...]:
        """Return the arguments of :func:`yieldplan.solve.settle.bound_by_area`."""
        stock = self.stock
        sections = np.array([(s.across_y, s.across_z) for s in stock.sticks], np.int64)
        return (
            *(stock.grain, stock.arcs, self.piece, self.rule, self.prices, self.held),
            *(sections, self.worked, self._upper),
        )

    def settle_arguments(self, threshold: float, *, single: bool) -> tuple[Any, ...]:
        """Return the arguments of :func:`yieldplan.solve.settle.settle`."""
        return (*self.list_arguments(), float(threshold), single, LOOKS)

    def list_arguments(self) -> tuple[Any, ...]:
        """Return the first arguments of :func:`yieldplan.solve.listing.list_cuttings`."""
        stock = self.stock
        return (
            *(self.chain, *stock.layouts, stock.grain, stock.arcs, self.piece, self.rule, self.prices),
            *(self.held, self.rows, self.worked),
        )

    def enlarge(self) -> None:
        """Double the table of values of sticks."""
        old = self.held
        count, groups = old.done.shape
        values = np.empty((2 * count, old.values.shape[1]))
        done = np.zeros((2 * count, groups), bool)
        values[:count], done[:count] = old.values, old.done
        taken = old.keys[old.keys.key >= 0]
        held = old._replace(
            keys=_empty_table(8 * count + 1),
            values=values,
            done=done,
            used=np.zeros(1, np.int64),
            behind=np.empty((2 * count, old.behind.shape[1])),
            noted=np.full(2 * count, -1),
        )
        for key in taken.key[np.argsort(taken.row)]:
            find_row(held, key)
        self.held = held


def _remainders(stock: Stock, *, above: bool) -> int:
    """Return what remainders count for; where not every billet is tried either, nothing laborious is asked."""
    if not stock.thorough:
        return QUICK
    return ABOVE if above and stock.two_ended else SURE


def _empty_table(size: int) -> Records:
    table = np.recarray(size, KEY)
    table.key = -1
    return table


def price(
    stock: Stock,
    prices: Floats,
    *,
    upper: bool = False,
    keepers: bool = True,
    relief: float = 0.0,
    floor: float = -1.0,
    limit: float = math.inf,
) -> Priced:
    """Return an offcut priced: its best value, or a bound that is at most ``floor`` or took ``limit`` seconds of work.

    The other parameters are those of :class:`Priced`.
    """
    priced = Priced(stock, prices, upper=upper, keepers=keepers, relief=relief)
    priced.find_best(floor, limit)
    return priced
