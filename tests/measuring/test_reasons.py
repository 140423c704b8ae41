"""Why the pile does not make a blank: the whole sentences."""

from __future__ import annotations

from dataclasses import replace

import pytest

from yieldplan.measuring.reasons import reasons
from yieldplan.model import (
    Billet,
    Blank,
    CutBlank,
    Defect,
    Job,
    Offcut,
    OffcutPlan,
    Plan,
    Shop,
    Stick,
    Strip,
    metric_shop,
)
from yieldplan.model.shop import INCH, MM
from yieldplan.solve.assemble import assemble

RIB = Blank(
    name="Rib",
    need=5,
    length=12 * INCH,
    width=2 * INCH,
    thickness=INCH,
    species=("White oak",),
    ring_from=30,
    ring_to=60,
)
GOOD = Offcut(
    name="P1", length=20 * INCH, width=4 * INCH, thickness=2 * INCH, species="White oak", ring_angle=40
)
CHECK = Defect(kind="check", x1=9 * INCH, x2=10 * INCH, y1=0, y2=4 * INCH, z1=0, z2=2 * INCH)


NOTHING = assemble(Job(offcuts=(), blanks=()), [])


def plan_for(job: Job, drawn: dict[str, tuple[str, ...]], missing: dict[str, int]) -> Plan:
    """Return a plan that cuts the named blanks from the named offcuts; places are of no matter here."""
    return replace(
        NOTHING,
        made=tuple((blank.name, blank.need - missing.get(blank.name, 0)) for blank in job.blanks),
        missing=tuple((blank.name, missing.get(blank.name, 0)) for blank in job.blanks),
        offcuts=tuple(_cutting(name, blanks) for name, blanks in drawn.items()),
    )


def _cutting(name: str, blanks: tuple[str, ...]) -> OffcutPlan:
    cuts = tuple(CutBlank(blank=blank, start=0, end=1) for blank in blanks)
    strip = Strip(start=0, end=1, sticks=(Stick(start=0, end=1, blanks=cuts),))
    billet = Billet(start=0, end=1, layout="rip first", face_loss=0, edge_loss=0, strips=(strip,))
    return OffcutPlan(offcut=name, copy=1, billets=(billet,))


def reason(*offcuts: Offcut, blank: Blank = RIB, shop: Shop | None = None) -> str:
    """Return why none of these offcuts gives the blank, none being cut."""
    job = Job(offcuts=offcuts, blanks=(blank,), shop=shop or Shop())
    return reasons(job, plan_for(job, {}, {blank.name: blank.need}))[blank.name]


def test_nothing_missing_needs_no_reason() -> None:
    """A plan that makes everything has nothing to explain."""
    job = Job(offcuts=(GOOD,), blanks=(RIB,))
    assert reasons(job, plan_for(job, {"P1": ("Rib",)}, {})) == {}


def test_only_the_missing_blanks_are_explained() -> None:
    """Blanks that are all made are left out."""
    other = replace(RIB, name="Cleat", need=1)
    job = Job(offcuts=(GOOD,), blanks=(RIB, other))
    assert list(reasons(job, plan_for(job, {"P1": ("Rib",)}, {"Cleat": 1}))) == ["Cleat"]


BOTH = '1 is too thin or too narrow after jointing (nearest P1, too thin by 1/8" and too narrow by 3/16")'


@pytest.mark.parametrize(
    ("offcut", "clause"),
    [
        (replace(GOOD, species="Ash"), "1 is not White oak (P1 would do otherwise)"),
        (replace(GOOD, species="Ash", length=INCH), "1 is not White oak"),
        (replace(GOOD, ring_angle=None), "1 has no ring angle written down (P1 would do otherwise)"),
        (
            replace(GOOD, ring_angle=75),
            "1 has the wrong grain, not 30° to 60° lying flat or turned (P1 at 75° would do otherwise)",
        ),
        (
            replace(GOOD, width=17 * INCH, ring_angle_far=40),
            '1 is wider than the jointer (nearest P1, by 9")',
        ),
        (
            replace(GOOD, length=13 * INCH),
            '1 is shorter than the 14" it takes with its ends (nearest P1, by 1")',
        ),
        (
            replace(GOOD, thickness=INCH, bow=INCH // 8),
            '1 is too thin after jointing (nearest P1, too thin by 3/16")',
        ),
        (replace(GOOD, width=2 * INCH, thickness=INCH), BOTH),
        (replace(GOOD, width=7 * INCH, thickness=7 * INCH), "1 is too high for any saw (P1)"),
        (replace(GOOD, defects=(CHECK,)), "1 has defects in the way (P1 with check)"),
    ],
)
def test_each_hindrance_has_its_words(offcut: Offcut, clause: str) -> None:
    """One offcut, one fault: the sentence names it, the nearest miss and the amount."""
    assert reason(offcut) == f"No piece of the pile (1 in all) will do: {clause}. Nearest miss: P1."


def test_every_piece_is_counted_once_and_the_nearest_is_named() -> None:
    """Pieces are counted under the first fault, copies one by one, and each fault names its nearest miss."""
    text = reason(
        replace(GOOD, name="A", species="Ash", qty=3),
        replace(GOOD, name="B", length=10 * INCH),
        replace(GOOD, name="C", length=13 * INCH),
        replace(GOOD, name="D", defects=(CHECK,)),
    )
    assert text == (
        "No piece of the pile (6 in all) will do: 3 are not White oak (A (3 of them) would do otherwise); "
        '2 are shorter than the 14" it takes with its ends (nearest C, by 1"); 1 has defects in the '
        "way (D with check). Nearest miss: D."
    )


def test_amounts_are_in_the_users_unit() -> None:
    """A metric shop reads millimetres."""
    text = reason(replace(GOOD, length=300 * MM), blank=replace(RIB, length=304 * MM), shop=metric_shop())
    assert "shorter than the 358 mm it takes with its ends (nearest P1, by 58 mm)" in text


def test_used_up_for_other_blanks() -> None:
    """Where the fitting offcuts are cut up, the reason names them and what they went to."""
    cleat = replace(RIB, name="Cleat", need=2)
    job = Job(offcuts=(GOOD, replace(GOOD, name="P2")), blanks=(RIB, cleat))
    plan = plan_for(job, {"P1": ("Rib", "Cleat"), "P2": ("Rib", "Rib", "Cleat")}, {"Rib": 2})
    assert reasons(job, plan)["Rib"] == (
        "Enough for 3 of 5: only P1 and P2 will do, and they are used up on these and on Cleat."
    )


def test_used_up_by_itself() -> None:
    """Where nothing else is cut from the only fitting offcut, the rest of the pile is explained too."""
    job = Job(offcuts=(GOOD, replace(GOOD, name="P2", species="Ash")), blanks=(RIB,))
    assert reasons(job, plan_for(job, {"P1": ("Rib", "Rib")}, {"Rib": 3}))["Rib"] == (
        "Enough for 2 of 5: only P1 will do, and it is used up on these. Of the others, 1 is not White oak "
        "(P2 would do otherwise). Nearest miss: P2."
    )


def test_a_fitting_offcut_left_alone_is_owned_up_to() -> None:
    """A search that ended too early may leave wood that would do; the reason says so."""
    job = Job(offcuts=(GOOD,), blanks=(RIB,))
    assert reasons(job, plan_for(job, {}, {"Rib": 5}))["Rib"] == (
        "0 of 5 made, though P1 would do and is left alone: the search ended too early to settle it; give it "
        "more time."
    )


@pytest.mark.parametrize(
    ("blank", "text"),
    [
        (
            replace(RIB, thickness=INCH // 2),
            'its rough size of 9/16" is below the narrowest rip of 3/4"',
        ),
        (replace(RIB, width=13 * INCH), 'its width of 13" is over the planer width of 12 1/2"'),
    ],
)
def test_what_no_machine_makes(blank: Blank, text: str) -> None:
    """A section beyond the machines is said to be so, whatever is in the pile."""
    assert reason(GOOD, blank=blank) == f"No machine in this shop makes it: {text}."


def test_too_thin_for_the_planer() -> None:
    """A thickness under the thinnest planed is said to be so."""
    shop = Shop(thickness_allowance=INCH, narrowest_rip=INCH)
    assert reason(GOOD, blank=replace(RIB, thickness=INCH // 8), shop=shop) == (
        'No machine in this shop makes it: its thickness of 1/8" is below the thinnest planed of 1/4".'
    )


def test_long_lists_of_names_are_counted() -> None:
    """Past a handful of names the rest is counted, and a single name is never counted."""
    offcuts = [replace(GOOD, name=f"P{number}", species="Ash") for number in range(1, 10)]
    assert "(P1, P2, P3, P4, P5, P6 and 3 more would do otherwise)" in reason(*offcuts)
    assert "(P1, P2, P3, P4, P5, P6 and P7 would do otherwise)" in reason(*offcuts[:7])
