"""What an offcut can yield: like offcuts together, and which sticks and places suit which blank."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

import numpy as np
import pytest
from small_stocks import small_stocks

from yieldplan.model import Blank, Defect, Job, Offcut, Shop, ring_window, worth
from yieldplan.solve.aims import Options, plan
from yieldplan.solve.barriers import ring_barriers
from yieldplan.solve.stock import (
    END_A,
    END_B,
    MIXED,
    MOST_DEFECTS,
    NO_END,
    classes,
    clear_at,
    few_defects,
    prepare,
    usable_kinds,
)

INCH = 8128
SHOP = Shop()
PIECE = Offcut(name="P", length=30 * INCH, width=4 * INCH, thickness=2 * INCH, species="oak", ring_angle=20)
RIB = Blank(name="Rib", need=1, length=14 * INCH, width=2 * INCH, thickness=INCH)
KNOT = Defect(kind="knot", x1=10 * INCH, x2=11 * INCH, y1=0, y2=4 * INCH, z1=0, z2=2 * INCH)
CHECK = Defect(kind="check", x1=0, x2=INCH, y1=0, y2=4 * INCH, z1=0, z2=2 * INCH)


def test_like_offcuts_are_one_class() -> None:
    """Name, rack, note, how words are typed and the order of defects make no difference."""
    one = replace(PIECE, defects=(KNOT, CHECK))
    other = replace(
        PIECE,
        name="Q",
        qty=2,
        species=" OAK",
        rack="B2",
        note="dusty",
        moisture=Fraction(12),
        defects=(CHECK, replace(KNOT, kind="Knot", note="tight")),
    )
    found = classes(Job(offcuts=(one, other), blanks=(RIB,)))
    assert [members for _, members in found] == [(("P", 1), ("Q", 1), ("Q", 2))]


@pytest.mark.parametrize(
    "change",
    [
        {"length": 31 * INCH},
        {"crook": 1},
        {"twist": 1},
        {"ring_angle": None},
        {"species": "ash"},
        {"defects": (KNOT,)},
    ],
)
def test_offcuts_that_differ_are_two_classes(change: dict[str, object]) -> None:
    """Whatever can change the cutting keeps them apart."""
    other = replace(PIECE, name="Q", **change)  # type: ignore[arg-type]
    assert len(classes(Job(offcuts=(PIECE, other), blanks=(RIB,)))) == 2


def test_a_blank_lies_flat_or_turned() -> None:
    """R6: rough 2 1/8 by 1 1/16 in; in a piece 2 in thick it lies flat alone, in one of 3 in turned as well."""
    flat = usable_kinds(PIECE, [RIB], SHOP)
    assert [(s.turned, s.across_y, s.across_z) for s in flat] == [(False, 17 * INCH // 8, 17 * INCH // 16)]
    both = usable_kinds(replace(PIECE, thickness=3 * INCH), [RIB], SHOP)
    assert [s.turned for s in both] == [False, True]


@pytest.mark.parametrize(
    ("offcut", "blank"),
    [
        (
            replace(PIECE, width=9 * INCH, thickness=13 * INCH // 2),
            RIB,
        ),  # R2: too wide, too thick to split
        (replace(PIECE, length=12 * INCH - 1), replace(RIB, length=8 * INCH)),  # R2: shorter than is machined
        (PIECE, replace(RIB, length=28 * INCH + INCH // 2 + 1)),  # R1, R8: no room between the end trims
        (PIECE, replace(RIB, width=4 * INCH)),  # R6: no room for the width allowance
        (PIECE, replace(RIB, thickness=INCH // 4 - 1)),  # R2: thinner than is planed
        (PIECE, replace(RIB, thickness=INCH // 2)),  # R2: 9/16 in is too narrow a rip
        (PIECE, replace(RIB, species=("ash",))),  # R10
        (PIECE, replace(RIB, ring_from=30, ring_to=60)),  # R7: 20 flat
        (PIECE, replace(RIB, need=0)),  # nobody wants it
    ],
)
def test_what_no_stick_can_serve(offcut: Offcut, blank: Blank) -> None:
    """Each of these blanks comes out of the piece with no stick at all."""
    assert usable_kinds(PIECE, [RIB], SHOP)
    assert not usable_kinds(offcut, [blank], SHOP)
    assert prepare(offcut, (("P", 1),), Job(offcuts=(offcut,), blanks=(blank,))) is None


def test_blanks_of_one_section_share_a_stick() -> None:
    """A stick carries blanks of one finished section; another section is another stick."""
    blanks = [
        RIB,
        replace(RIB, name="Long rib", length=20 * INCH),
        replace(RIB, name="Cleat", width=3 * INCH),
    ]
    sticks = usable_kinds(PIECE, blanks, SHOP)
    assert sorted(s.kinds for s in sticks) == [(0, 1), (2,)]


def test_a_square_blank_is_not_looked_at_twice() -> None:
    """Flat and turned are the same for equal rough sizes and any grain."""
    shop = Shop(thickness_allowance=SHOP.width_allowance)
    square = replace(RIB, width=INCH, thickness=INCH)
    assert len(usable_kinds(PIECE, [square], shop)) == 1


@pytest.mark.parametrize(
    ("start", "end"),
    [(0, END_A), (6, NO_END), (9, NO_END), (10, NO_END), (11, END_A)],
)
def test_a_defect_keeps_a_blank_off(start: int, end: int) -> None:
    """R9: 5 in that would meet the knot at 10..11 in are not cut; touching is not meeting."""
    ends = clear_at(replace(PIECE, defects=(KNOT,)), RIB, 5 * INCH, np.array([start * INCH]), mask=1)
    assert ends.tolist() == [end]


@pytest.mark.parametrize(
    ("start", "end"),
    [(0, END_A), (6, END_A), (9, END_B), (10, END_B), (11, END_A)],
)
def test_a_clear_end_lies_at_the_sound_end(start: int, end: int) -> None:
    """A blank of 5 in that allows knots, 2 in of one end clear, turns its sound end away from the knot."""
    blank = replace(RIB, allows=("knot",), clear_end=2 * INCH)
    ends = clear_at(replace(PIECE, defects=(KNOT,)), blank, 5 * INCH, np.array([start * INCH]), mask=1)
    assert ends.tolist() == [end]


def test_a_clear_end_needs_one_sound_end() -> None:
    """With 3 in of 5 to be clear a knot in the middle spoils both ends."""
    blank = replace(RIB, allows=("knot",), clear_end=3 * INCH)
    ends = clear_at(replace(PIECE, defects=(KNOT,)), blank, 5 * INCH, np.array([8 * INCH]), mask=1)
    assert ends.tolist() == [NO_END]


def test_defects_that_a_stick_does_not_meet_do_not_count() -> None:
    """The mask says which defects lie in the stick."""
    ends = clear_at(replace(PIECE, defects=(KNOT,)), RIB, 5 * INCH, np.array([8 * INCH]), mask=0)
    assert ends.tolist() == [END_A]


def test_a_stock_is_consistent() -> None:
    """Cost is the worth of the piece; billets and nodes are sorted and point at each other."""
    for job, stock, _ in small_stocks(range(10)):
        offcut = stock.offcut
        assert stock.cost == worth(offcut.length, offcut.width, offcut.thickness, job.shop)
        assert stock.complete
        start, end = stock.arcs.start[: stock.billets], stock.arcs.end[: stock.billets]
        assert (np.diff(start) >= 0).all()
        assert (end - start >= job.shop.shortest_machined_length).all()
        assert (end <= offcut.length).all()
        assert np.isin(start, stock.nodes).all()
        after = np.append(stock.nodes, 1 << 60)[stock.chain.next]
        assert (after >= end + job.shop.crosscut_kerf).all()


def _knots(count: int, kinds: tuple[str, ...] = ("knot",)) -> Offcut:
    """Return an offcut of 20 ft with small knots evenly along it."""
    knots = tuple(
        Defect(
            kind=kinds[i % len(kinds)],
            x1=(1 + 2 * i) * INCH,
            x2=(2 + 2 * i) * INCH,
            y1=(i % 3) * INCH,
            y2=(i % 3 + 1) * INCH,
            z1=0,
            z2=2 * INCH,
        )
        for i in range(count)
    )
    return replace(PIECE, length=240 * INCH, defects=knots)


@pytest.mark.parametrize("kinds", [("knot",), ("knot", "check")])
def test_more_defects_than_the_kernels_hold_are_taken_together(kinds: tuple[str, ...]) -> None:
    """Each of 100 defects lies within one of 40 boxes, which no blank allows unless it allows all in it."""
    offcut = _knots(100, kinds)
    few = few_defects(offcut).defects
    assert len(few) == MOST_DEFECTS
    for d in offcut.defects:
        assert any(
            f.x1 <= d.x1 and d.x2 <= f.x2 and f.y1 <= d.y1 and d.y2 <= f.y2 and f.kind in (d.kind, MIXED)
            for f in few
        )
    assert few_defects(_knots(MOST_DEFECTS)) == _knots(MOST_DEFECTS)


def test_an_offcut_with_a_hundred_knots_is_planned_and_not_called_proven() -> None:
    """Between knots of 1 in every 2 in only the wood beside them is left; the plan passes verify."""
    small = replace(RIB, length=14 * INCH, width=2 * INCH, thickness=INCH, need=3)
    offcut = replace(_knots(100), width=6 * INCH)
    plan_ = plan(Job(offcuts=(offcut,), blanks=(small,)), options=Options(seconds=20))
    assert plan_.missing_total == 0
    assert not plan_.proof.proven


TURNING = replace(PIECE, ring_angle=0, ring_angle_far=90)
RIFT = replace(RIB, width=INCH, thickness=3 * INCH // 4, ring_from=30, ring_to=60)


def test_rings_are_barriers_only_where_they_do_not_suit() -> None:
    """From 0 to 90 across 4 in, 30 to 60 is stopped on both sides, lying flat and turned; a wide range nowhere."""
    barriers, all_told = ring_barriers(TURNING, [RIFT, replace(RIFT, ring_from=0, ring_to=90)], SHOP)
    skim, third = SHOP.edge_skim, -(-4 * INCH // 3)
    assert {(b.box.y1, b.box.y2 - skim, b.turned) for b in barriers} == {
        (0, third, False),
        (4 * INCH * 2 // 3, 4 * INCH, False),
        (0, third, True),
        (4 * INCH * 2 // 3, 4 * INCH, True),
    }
    assert all(barrier.kinds == {0} for barrier in barriers)
    assert all_told


def test_many_ranges_are_taken_together_on_the_safe_side() -> None:
    """Of ten ranges the barriers are four a side, each at least as wide as any range that it stands for needs."""
    blanks = [replace(RIFT, ring_from=20 + 2 * k, ring_to=90) for k in range(10)]
    barriers, all_told = ring_barriers(TURNING, blanks, SHOP)
    assert not all_told
    near = [barrier for barrier in barriers if not barrier.turned]
    assert len(near) == 4
    for k, blank in enumerate(blanks):
        window = ring_window(TURNING, blank, turned=False)
        (own,) = [barrier for barrier in near if k in barrier.kinds]
        assert window is not None
        assert own.box.y2 - SHOP.edge_skim >= window[0]


def test_no_billet_spans_a_kink() -> None:
    """Those on either side begin and end there at the latest, and lose what their own side makes them lose."""
    kinked = replace(PIECE, crook=INCH // 8, kinks=(14 * INCH,))
    blank = replace(RIB, length=10 * INCH)
    stock = prepare(kinked, (("P", 1),), Job(offcuts=(kinked,), blanks=(blank,)))
    assert stock is not None
    spans = list(
        zip(stock.arcs.start.tolist(), stock.arcs.end.tolist(), stock.arcs.edge.tolist(), strict=True)
    )
    assert spans
    for start, end, edge in spans:
        assert end <= 14 * INCH or start >= 14 * INCH
        side = 14 * INCH if end <= 14 * INCH else 16 * INCH
        assert edge == -(-(INCH // 8) * (end - start) ** 2 // side**2) + SHOP.edge_skim
    assert {start >= 14 * INCH for start, _, _ in spans} == {False, True}


@pytest.mark.parametrize(
    "change",
    [{"ring_angle_far": 50}, {"grain_slope": Fraction(1, 9)}, {"kinks": (9 * INCH,)}],
)
def test_readings_of_the_wood_keep_offcuts_apart(change: dict[str, object]) -> None:
    """Rings, slope and kinks can change the cutting; moisture does so only with a target."""
    other = replace(PIECE, name="Q", **change)  # type: ignore[arg-type]
    assert len(classes(Job(offcuts=(PIECE, other), blanks=(RIB,)))) == 2


def test_moisture_keeps_offcuts_apart_where_there_is_a_target() -> None:
    """Two that dry alike are one class; without a target every moisture is the same."""
    wet, wetter = (
        replace(PIECE, name=name, species="White oak", moisture=Fraction(part))
        for name, part in (("A", 31), ("B", 60))
    )
    dry = replace(wet, name="C", moisture=Fraction(10))
    for target, count in ((None, 1), (Fraction(12), 2)):
        job = Job(offcuts=(wet, wetter, dry), blanks=(RIB,), shop=Shop(target_moisture=target))
        assert len(classes(job)) == count
