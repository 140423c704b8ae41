"""Whether one offcut could give one blank, against a search of every place there is."""

from __future__ import annotations

import random
from dataclasses import replace
from itertools import product

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from yieldplan.model import Blank, Defect, Offcut, Shop, edge_loss, face_loss, halves, split_range
from yieldplan.model.shop import INCH
from yieldplan.order.fit import Hindrance, judge, length_needed

OFFCUT = Offcut(
    name="P1", length=20 * INCH, width=4 * INCH, thickness=2 * INCH, species="White oak", ring_angle=40
)
BLANK = Blank(
    name="Rib",
    need=1,
    length=12 * INCH,
    width=2 * INCH,
    thickness=INCH,
    species=("White oak",),
    ring_from=30,
    ring_to=60,
)
CHECK = Defect(kind="check", x1=9 * INCH, x2=10 * INCH, y1=0, y2=4 * INCH, z1=0, z2=2 * INCH, through=True)


def test_a_sound_offcut_large_enough_will_do() -> None:
    """Nothing stands in the way of a blank that fits with all its allowances."""
    assert judge(BLANK, OFFCUT, Shop()).hindrance is None


@pytest.mark.parametrize(
    ("offcut", "hindrance"),
    [
        (replace(OFFCUT, species="Ash"), Hindrance.SPECIES),
        (replace(OFFCUT, ring_angle=None), Hindrance.NO_RINGS_READ),
        (replace(OFFCUT, ring_angle=75), Hindrance.GRAIN),
        (replace(OFFCUT, width=17 * INCH), Hindrance.JOINTER),
        (replace(OFFCUT, length=13 * INCH), Hindrance.LENGTH),
        (replace(OFFCUT, width=2 * INCH), Hindrance.SECTION),
        (replace(OFFCUT, thickness=INCH), Hindrance.SECTION),
        (replace(OFFCUT, defects=(CHECK,)), Hindrance.DEFECTS),
    ],
)
def test_the_first_thing_that_stops_it_is_named(offcut: Offcut, hindrance: Hindrance) -> None:
    """Each single fault of an otherwise good offcut is found as what it is."""
    assert judge(BLANK, offcut, Shop()).hindrance is hindrance


def test_too_high_for_the_saws() -> None:
    """A billet that has to be cut both ways and is higher than the bandsaw both ways gives nothing."""
    block = replace(OFFCUT, width=7 * INCH, thickness=7 * INCH)
    assert judge(BLANK, block, Shop()).hindrance is Hindrance.SAWS


def test_amounts_are_exact_to_the_step() -> None:
    """A piece one step too short, or too thin after jointing by one step, is said to miss by one step."""
    needed = length_needed(BLANK, Shop())
    assert needed == 13 * INCH + INCH // 2
    assert judge(BLANK, replace(OFFCUT, length=needed - 1), Shop()).short == 1
    assert judge(BLANK, replace(OFFCUT, length=needed), Shop()).hindrance is None
    thick_enough = INCH + INCH // 16 + INCH // 32
    assert judge(BLANK, replace(OFFCUT, thickness=thick_enough - 1), Shop()).thin == 1
    assert judge(BLANK, replace(OFFCUT, thickness=thick_enough), Shop()).hindrance is None


def test_warp_counts_at_the_length_the_blank_needs() -> None:
    """Bow costs only what it is over the billet, (12.5/20)^2 of it here, not what it is over the offcut."""
    bow = 32 * 400
    thick_enough = INCH + INCH // 16 + INCH // 32 + 32 * 157  # 12.5^2 = 156.25, rounded up below
    offcut = replace(OFFCUT, bow=bow, thickness=thick_enough)
    verdict = judge(BLANK, replace(offcut, thickness=thick_enough - 32 + 32 // 4 - 1), Shop())
    assert verdict.thin == 1
    assert judge(BLANK, offcut, Shop()).hindrance is None


def test_the_nearer_way_of_lying_is_reported() -> None:
    """Where neither flat nor turned fits, the smaller miss is reported."""
    narrow = replace(OFFCUT, width=2 * INCH, thickness=2 * INCH)
    verdict = judge(BLANK, narrow, Shop())
    assert (verdict.narrow, verdict.thin) == (INCH // 8 + INCH // 32, 0)


def test_a_rule_can_be_left_out() -> None:
    """With any species and any grain allowed, what else stops the offcut shows."""
    other = replace(OFFCUT, species="Ash", ring_angle=75)
    assert judge(BLANK, other, Shop(), any_species=True).hindrance is Hindrance.GRAIN
    assert judge(BLANK, other, Shop(), any_species=True, any_grain=True).hindrance is None


small = st.integers(0, 3)


@st.composite
def tiny_defects(draw: st.DrawFn) -> Defect:
    """Return a defect of a few steps, of a kind that is sometimes allowed."""
    x1, y1, z1 = draw(st.integers(0, 8)), draw(st.integers(0, 4)), draw(st.integers(0, 3))
    return Defect(
        kind=draw(st.sampled_from(["pin knot", "check"])),
        x1=x1,
        x2=x1 + draw(small),
        y1=y1,
        y2=y1 + draw(small),
        z1=z1,
        z2=z1 + draw(small),
        through=draw(st.booleans()),
    )


@settings(max_examples=400, deadline=None)
@given(
    sizes=st.tuples(st.integers(4, 10), st.integers(2, 6), st.integers(1, 5)),
    warp=st.tuples(small, small, small, small),
    wanted=st.tuples(st.integers(1, 5), st.integers(1, 3), st.integers(1, 3)),
    allowances=st.tuples(*[st.integers(0, 1)] * 7),
    shortest=st.integers(1, 7),
    clear=st.integers(0, 2),
    defects=st.lists(tiny_defects(), max_size=3),
)
def test_agrees_with_a_search_of_every_place(
    sizes: tuple[int, int, int],
    warp: tuple[int, int, int, int],
    wanted: tuple[int, int, int],
    allowances: tuple[int, ...],
    shortest: int,
    clear: int,
    defects: list[Defect],
) -> None:
    """On tiny offcuts the verdict is that of trying every billet and every place in it, by the rules."""
    length, width, thickness = sizes[0], max(sizes[1:]), min(sizes[1:])
    shop = Shop(
        face_skim=allowances[0],
        edge_skim=allowances[1],
        width_allowance=allowances[2],
        thickness_allowance=allowances[3],
        length_allowance=allowances[4],
        snipe=allowances[5],
        end_trim=allowances[6],
        shortest_machined_length=shortest,
    )
    offcut = Offcut(
        name="p",
        length=length,
        width=width,
        thickness=thickness,
        bow=warp[0],
        crook=warp[1],
        cup=warp[2],
        twist=warp[3],
        defects=tuple(defects),
    )
    blank = Blank(
        name="b",
        need=1,
        length=wanted[0],
        width=max(wanted[1:]),
        thickness=min(wanted[1:]),
        allows=("pin knot",),
        clear_end=min(clear, wanted[0]),
    )
    assert (judge(blank, offcut, shop).hindrance is None) == _somewhere(blank, offcut, shop)


@pytest.mark.parametrize("mark", [1, 3])
def test_halves_of_a_split_are_judged_as_if_all_were(mark: int) -> None:
    """A verdict on a board that may be split is the nearest of all its halves, each judged as an offcut of its own."""
    rng = random.Random(mark)
    shop = Shop(
        face_skim=1,
        edge_skim=1,
        width_allowance=1,
        thickness_allowance=1,
        length_allowance=1,
        snipe=0,
        end_trim=0,
        shortest_machined_length=30,
        split_warp=2,
        narrowest_rip=3,
        bandsaw_kerf=2,
        bandsaw_height=13,
        saw_depth=9,
        jointer_width=40,
        shown_to=mark,
    )
    whole_only = replace(shop, split_warp=10**6)
    seen = dict.fromkeys(Hindrance, 0)
    for _ in range(1500):
        width, thickness = rng.randint(20, 60), rng.randint(6, 16)
        offcut = Offcut(
            name="p",
            length=100,
            width=width,
            thickness=thickness,
            bow=rng.randint(0, 3),
            crook=rng.randint(0, 3),
            cup=rng.randint(0, 9),
            twist=rng.randint(0, 9),
            defects=tuple(
                Defect(
                    kind="knot",
                    x1=0,
                    x2=100,
                    y1=y,
                    y2=min(width, y + 3),
                    z1=0,
                    z2=2,
                    through=rng.random() < 0.7,
                )
                for y in rng.sample(range(width), rng.randint(0, 5))
            ),
        )
        sides = sorted((rng.randint(2, 20), rng.randint(2, 9)))
        blank = Blank(name="b", need=1, length=rng.randint(20, 60), width=sides[1], thickness=sides[0])
        verdict = judge(blank, offcut, shop)
        every = [
            judge(blank, half, whole_only)
            for at in split_range(offcut, shop)
            for half in halves(offcut, at, shop)
        ]
        whole = judge(blank, offcut, whole_only)
        every = [whole] if whole.narrow else [whole, *every]  # a half is narrower still
        if any(one.hindrance is None for one in every):
            assert verdict.hindrance is None
            continue
        last = max(one.hindrance.value for one in every if one.hindrance)
        assert verdict.hindrance is not None
        assert verdict.hindrance.value == last
        assert verdict.amount == min(one.amount for one in every if one.hindrance is verdict.hindrance)
        seen[verdict.hindrance] += len(every) > 1
    assert min(seen[kind] for kind in (Hindrance.SECTION, Hindrance.SAWS, Hindrance.DEFECTS)) > 10


def _somewhere(blank: Blank, offcut: Offcut, shop: Shop) -> bool:
    """Return whether any billet, way of lying, place and clear end does, tried one by one."""
    take = blank.length + shop.length_allowance
    wide, thick = blank.width + shop.width_allowance, blank.thickness + shop.thickness_allowance
    for start, end in product(range(offcut.length), range(1, offcut.length + 1)):
        if end - start < shop.shortest_machined_length:
            continue
        e, f = edge_loss(offcut, end - start, shop), face_loss(offcut, end - start, shop)
        for across, deep in ((wide, thick), (thick, wide)):
            for x, y, z in product(
                range(max(start + shop.snipe, shop.end_trim), offcut.length),
                range(offcut.width - e - across + 1),
                range(offcut.thickness - f - deep + 1),
            ):
                if x + take > min(end - shop.snipe, offcut.length - shop.end_trim):
                    break
                spot = (x, x + take, y, y + across, z, z + deep)
                if any(_allowed(blank, offcut, shop, spot, clear, (e, f)) for clear in "AB"):
                    return True
    return False


def _allowed(
    blank: Blank,
    offcut: Offcut,
    shop: Shop,
    spot: tuple[int, int, int, int, int, int],
    clear: str,
    losses: tuple[int, int],
) -> bool:
    x1, x2, y1, y2, z1, z2 = spot
    zone = (x1, x1 + blank.clear_end) if clear == "A" else (x2 - blank.clear_end, x2)
    for defect in offcut.defects:
        d1, d2 = defect.y1 - losses[0], defect.y2 - shop.edge_skim
        h1, h2 = defect.z1 - losses[1], defect.z2 - shop.face_skim
        if not (d1 < y2 and y1 < d2) or not (defect.through or (h1 < z2 and z1 < h2)):
            continue
        if defect.kind != "pin knot" and defect.x1 < x2 and x1 < defect.x2:
            return False
        if blank.clear_end and defect.x1 < zone[1] and zone[0] < defect.x2:
            return False
    return True
