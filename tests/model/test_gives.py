"""Whether one offcut could give one blank, against a search of every place there is."""

from __future__ import annotations

from dataclasses import replace
from itertools import product

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from yieldplan.model import Blank, Defect, Hindrance, Offcut, Shop, Wood, length_needed, whole, why_not
from yieldplan.model.shop import INCH
from yieldplan.model.wood import halves, split_range

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
MARK = Shop().mark


def test_a_sound_offcut_large_enough_will_do() -> None:
    """Nothing stands in the way of a blank that fits with all its allowances."""
    assert why_not(OFFCUT, BLANK, Shop()) is None


@pytest.mark.parametrize(
    ("offcut", "hindrance"),
    [
        (replace(OFFCUT, species="Ash"), Hindrance.SPECIES),
        (replace(OFFCUT, ring_angle=None), Hindrance.NO_RINGS_READ),
        (replace(OFFCUT, ring_angle=75), Hindrance.GRAIN),
        (replace(OFFCUT, width=17 * INCH, ring_angle_far=40), Hindrance.JOINTER),
        (replace(OFFCUT, length=13 * INCH), Hindrance.LENGTH),
        (replace(OFFCUT, kinks=(10 * INCH,)), Hindrance.LENGTH),
        (replace(OFFCUT, width=2 * INCH), Hindrance.SECTION),
        (replace(OFFCUT, thickness=INCH), Hindrance.SECTION),
        (replace(OFFCUT, defects=(CHECK,)), Hindrance.DEFECTS),
        (replace(OFFCUT, width=7 * INCH, thickness=7 * INCH), Hindrance.SAWS),
    ],
)
def test_the_first_thing_that_stops_it_is_named(offcut: Offcut, hindrance: Hindrance) -> None:
    """Each single fault of an otherwise good offcut is found as what it is."""
    found = why_not(offcut, BLANK, Shop())
    assert found is not None
    assert found.hindrance is hindrance


def test_a_board_wider_than_the_jointer_may_be_split() -> None:
    """A wide board gives a blank out of a half of it, where the bandsaw reaches."""
    wide = replace(OFFCUT, width=9 * INCH)
    assert why_not(wide, BLANK, Shop()) is None
    found = why_not(wide, BLANK, Shop(bandsaw_height=INCH))
    assert found is not None
    assert (found.hindrance, found.wide) == (Hindrance.JOINTER, INCH)


def test_amounts_are_exact_to_the_mark() -> None:
    """A piece one mark too short, or too thin after jointing by one mark, is said to miss by one mark."""
    needed = length_needed(BLANK, Shop())
    assert needed == 14 * INCH  # 12, half an inch of stick trim and of end trim at both ends
    short = why_not(replace(OFFCUT, length=needed - MARK), BLANK, Shop())
    assert short is not None
    assert short.short == MARK
    assert why_not(replace(OFFCUT, length=needed), BLANK, Shop()) is None
    thick_enough = INCH + INCH // 16 + INCH // 16  # its allowance and the face skim
    thin = why_not(replace(OFFCUT, thickness=thick_enough - MARK), BLANK, Shop())
    assert thin is not None
    assert thin.thin == MARK
    assert why_not(replace(OFFCUT, thickness=thick_enough), BLANK, Shop()) is None


def test_a_check_at_an_end_takes_the_end_with_it() -> None:
    """A through check that begins in the end trim lengthens it to an inch past the check (R1)."""
    check = replace(CHECK, x1=0, x2=2 * INCH)
    found = why_not(replace(OFFCUT, length=16 * INCH, defects=(check,)), BLANK, Shop())
    assert found is not None
    assert (found.hindrance, found.short) == (Hindrance.LENGTH, INCH // 2)  # 3 off, 1/2 off, 13 needed
    assert why_not(replace(OFFCUT, length=17 * INCH, defects=(check,)), BLANK, Shop()) is None


def test_rings_that_suit_in_a_part_of_the_width() -> None:
    """Rings of 20 to 60 degrees across 4 in suit 30 to 60 from 1 in on: a part too narrow for a 3 in blank."""
    turning = replace(OFFCUT, ring_angle=20, ring_angle_far=60)
    wide = replace(BLANK, width=3 * INCH, ring_to=60)
    found = why_not(turning, wide, Shop())
    assert found is not None
    assert (found.hindrance, found.narrow) == (
        Hindrance.RINGS,
        3 * INCH // 16,
    )  # 1/8 allowance, 1/16 edge skim
    assert why_not(turning, replace(wide, width=3 * INCH - 3 * INCH // 16), Shop()) is None


@pytest.mark.parametrize(
    ("blank", "shop"),
    [
        (replace(BLANK, thickness=INCH // 8), Shop()),
        (replace(BLANK, width=3 * INCH), Shop(planer_width=2 * INCH)),
        (BLANK, Shop(narrowest_rip=2 * INCH)),
    ],
)
def test_a_section_that_no_machine_makes(blank: Blank, shop: Shop) -> None:
    """Too thin for the planer, too wide for it, or ripped too narrow: the machines stand in the way (R2)."""
    found = why_not(OFFCUT, blank, shop)
    assert found is not None
    assert found.hindrance is Hindrance.MACHINES


def test_what_the_planer_takes_may_bring_it_in_reach_of_the_saw_beside_a_defect() -> None:
    """It is right in one place only: far enough over for the resaw, not so far that it meets the wane (R5, R9)."""
    wane = Defect(kind="wane", x1=0, x2=20 * INCH, y1=4 * INCH - 2 * MARK, y2=4 * INCH, z1=0, z2=2 * INCH)
    wide = 4 * INCH - 12 * MARK  # between the skim and the wane it has a room of seven marks
    blank = replace(BLANK, width=wide, species=(), ring_from=None, ring_to=None)
    shop = Shop(plane_off=8 * MARK, resaw_height=4 * INCH - 3 * MARK, bandsaw_height=6 * INCH, face_skim=0)
    offcut = replace(OFFCUT, defects=(wane,))
    assert why_not(offcut, replace(blank, allows=("wane",)), shop) is None
    assert why_not(offcut, blank, shop) is None


small = st.integers(0, 3)


@st.composite
def tiny_defects(draw: st.DrawFn) -> Defect:
    """Return a defect of a few steps, of a kind that is sometimes allowed."""
    x1, y1, z1 = draw(st.integers(0, 8)), draw(st.integers(0, 4)), draw(st.integers(0, 3))
    return Defect(
        kind=draw(st.sampled_from(["pin knot", "check", "wane"])),
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
    allowances=st.tuples(*[st.integers(0, 1)] * 9),
    saws=st.one_of(st.just((9, 9, 9)), st.tuples(st.integers(1, 6), st.integers(1, 6), st.integers(1, 6))),
    splits=st.tuples(st.integers(0, 6), st.integers(2, 9), st.integers(0, 2)),
    plane_off=st.integers(0, 3),
    shortest=st.integers(1, 7),
    clear=st.integers(0, 2),
    defects=st.lists(tiny_defects(), max_size=3),
)
def test_agrees_with_a_search_of_every_place(
    sizes: tuple[int, int, int],
    warp: tuple[int, int, int, int],
    wanted: tuple[int, int, int],
    allowances: tuple[int, ...],
    saws: tuple[int, int, int],
    splits: tuple[int, int, int],
    plane_off: int,
    shortest: int,
    clear: int,
    defects: list[Defect],
) -> None:
    """On tiny offcuts the answer is that of trying every billet, every split and every place in them, by the rules."""
    length, width, thickness = sizes[0], max(sizes[1:]), min(sizes[1:])
    shop = Shop(
        least_planing=0,
        plane_off=plane_off,
        thinnest_planed=0,
        mark=1,
        face_skim=allowances[0],
        edge_skim=allowances[1],
        width_allowance=allowances[2],
        thickness_allowance=allowances[3],
        length_allowance=allowances[4],
        stick_trim=allowances[5],
        end_trim=allowances[6],
        past_a_check=allowances[7],
        past_a_knot=allowances[8],
        shortest_machined_length=shortest,
        saw_depth=saws[0],
        bandsaw_height=saws[1],
        resaw_height=saws[2],
        split_warp=splits[0],
        jointer_width=splits[1],
        narrowest_rip=splits[2],
        bandsaw_kerf=1,
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
    assert (why_not(offcut, blank, shop) is None) == _somewhere(blank, offcut, shop)


def _somewhere(blank: Blank, offcut: Offcut, shop: Shop) -> bool:
    """Return whether any billet, way of lying, place and clear end does, tried one by one."""
    pieces = [whole(offcut), *(half for at in split_range(offcut, shop) for half in halves(offcut, at, shop))]
    return any(_in_wood(blank, wood, shop) for wood in pieces if wood.width <= shop.jointer_width)


def _in_wood(blank: Blank, wood: Wood, shop: Shop) -> bool:
    take = blank.length + shop.length_allowance
    wide, thick = blank.width + shop.width_allowance, blank.thickness + shop.thickness_allowance
    if min(wide, thick) < shop.narrowest_rip:
        return False
    low, high = _sound(wood.offcut, shop)
    shortest = max(shop.shortest_machined_length, take + 2 * shop.stick_trim)
    saws_reach = min(shop.saw_depth, shop.resaw_height) > max(wood.width, wood.thickness)
    for start, end in product(range(low, wood.offcut.length), range(1, high + 1)):
        if end - start < shortest or (end - start > shortest and not saws_reach):
            continue  # where saws do not reach, no billet is drawn out to bend away what they would take
        e, f = wood.edge_loss(end - start, shop), wood.face_loss(end - start, shop)
        for across, deep in ((wide, thick), (thick, wide)):
            for x, y, z in product(
                range(start + shop.stick_trim, end - shop.stick_trim - take + 1),
                range(wood.width - e - across + 1),
                range(wood.thickness - f - deep + 1),
            ):
                spot = (x, x + take, y, y + across, z, z + deep)
                if _sawn(wood, shop, spot, (e, f)) and any(
                    _allowed(blank, wood, shop, spot, clear, (e, f)) for clear in "AB"
                ):
                    return True
    return False


def _sound(offcut: Offcut, shop: Shop) -> tuple[int, int]:
    """Return between which places the ends are sound: step by step outward from the trims."""
    cracks = [
        d for d in offcut.defects if d.kind == "check" and d.through and d.y1 <= 0 and d.y2 >= offcut.width
    ]
    low, high, before = shop.end_trim, offcut.length - shop.end_trim, None
    while before != (low, high):
        before = (low, high)
        low = max([low, *(d.x2 + shop.past_a_check for d in cracks if d.x1 < low)])
        high = min([high, *(d.x1 - shop.past_a_check for d in cracks if d.x2 > high)])
    return low, high


def _sawn(wood: Wood, shop: Shop, spot: tuple[int, int, int, int, int, int], losses: tuple[int, int]) -> bool:
    """Return whether a single stick can be sawn there in either layout (R4, R5)."""
    _, _, y1, y2, z1, z2 = spot
    over_y, over_z = wood.width - losses[0] - y2, wood.thickness - losses[1] - z2
    off_y, off_z = over_y > shop.plane_off, over_z > shop.plane_off
    tall = y2 - y1 if off_y else wood.width - y1
    thick = z2 - z1 if off_z else wood.thickness - z1
    rip, resaw = y1 > 0 or off_y, z1 > 0 or off_z
    reach = max(shop.saw_depth, shop.bandsaw_height)
    deep = min(reach, shop.resaw_height)
    rip_first = (not rip or wood.thickness <= reach) and (not resaw or tall <= deep)
    resaw_first = (not resaw or wood.width <= deep) and (not rip or thick <= reach)
    return rip_first or resaw_first


def _allowed(
    blank: Blank,
    wood: Wood,
    shop: Shop,
    spot: tuple[int, int, int, int, int, int],
    clear: str,
    losses: tuple[int, int],
) -> bool:
    x1, x2, y1, y2, z1, z2 = spot
    zone = (x1, x1 + blank.clear_end) if clear == "A" else (x2 - blank.clear_end, x2)
    past = {"check": shop.past_a_check, "pin knot": shop.past_a_knot, "wane": 0}
    for defect in wood.offcut.defects:
        if defect.y2 <= wood.low or defect.y1 >= wood.low + wood.width:
            continue
        d1 = max(defect.y1 - wood.low, 0) - losses[0]
        d2 = min(defect.y2 - wood.low, wood.width) - shop.edge_skim
        h1, h2 = defect.z1 - losses[1], defect.z2 - shop.face_skim
        if not (d1 < y2 and y1 < d2) or not (defect.through or (h1 < z2 and z1 < h2)):
            continue
        first, last = (
            max(defect.x1 - past[defect.kind], 0),
            min(defect.x2 + past[defect.kind], wood.offcut.length),
        )
        if defect.kind != "pin knot" and first < x2 and x1 < last:
            return False
        if blank.clear_end and first < zone[1] and zone[0] < last:
            return False
    return True
