"""What the recheck says reads as sentences: rule, place, what was found, what is needed, in the shop's unit."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest
from hand_plans import (
    MARK,
    RICH,
    RICH_RAW,
    TINY,
    TINY_RAW,
    Raw,
    billet,
    copy_of,
    inch,
    move,
    plan_of,
    stick,
    stretch,
    strip,
    with_offcut,
    with_shop,
)

from yieldplan.model import Defect, Job
from yieldplan.verify import verify

if TYPE_CHECKING:
    from collections.abc import Callable

KNOT = Defect(kind="knot", x1=inch("5"), x2=inch("6"), y1=0, y2=inch("3"), z1=0, z2=inch("1"))
PLACE = "offcut Ash 1 copy 1, billet 1"

SAID: list[tuple[Job, Raw, Callable[[Raw], object], str]] = [
    (
        TINY,
        TINY_RAW,
        lambda raw: stretch(strip(raw), "to", "-1/32"),
        (
            f"R6 section, {PLACE}, strip 1, stick 1: its rough size across y, the width of blanks that lie flat, "
            'is said to be 17018 steps (2 3/32"); it has to be 17272 steps (2 1/8").'
        ),
    ),
    (
        TINY,
        TINY_RAW,
        lambda raw: strip(raw).update(to=inch("2 1/8") + 1),
        (
            f"marks, {PLACE}, strip 1: its end is 17273 steps (53.978125 mm), not a whole number of marks of "
            '254 steps (1/32").'
        ),
    ),
    (
        TINY,
        TINY_RAW,
        lambda raw: stretch(billet(raw), "from", "-1/32"),
        (
            f'R1 ends, {PLACE}: it runs from 3810 steps (15/32") to 109728 steps (13 1/2"); an offcut of '
            '162560 steps (20") is sound from 4064 steps (1/2") to 158496 steps (19 1/2"), its ends '
            "are sawn off before."
        ),
    ),
    (
        TINY,
        TINY_RAW,
        lambda raw: billet(raw).update(face_loss=-MARK),
        (
            f'R3 losses, {PLACE}: its face loss is said to be -254 steps (-1/32"); it has to be 508 '
            'steps (1/16").'
        ),
    ),
    (
        with_shop(TINY, resaw_height=0, bandsaw_height=inch("3"), plane_off=inch("3/32")),
        TINY_RAW,
        lambda raw: None,
        (
            f'R5 kerf, {PLACE}, strip 1: the cuts are 17272 steps (2 1/8") high; the saws reach 24384 '
            'steps (3"), in a resaw 0 steps (0").'
        ),
    ),
    (
        with_offcut(TINY, defects=(KNOT,)),
        TINY_RAW,
        lambda raw: None,
        (
            f'R9 defects, {PLACE}, strip 1, stick 1, blank Rib (1): it meets the knot at 36576 steps (4 1/2") '
            'to 52832 steps (6 1/2"); it allows no defect.'
        ),
    ),
    (
        RICH,
        RICH_RAW,
        lambda raw: move(stick(raw, 1)["blanks"][1], "-1/32"),
        (
            "R8 length, offcut Oak 2 copy 2, billet 1, strip 1, stick 2, blank Frame (1) and blank Frame "
            '(2): they are 762 steps (3/32") apart; the saw takes 1016 steps (1/8").'
        ),
    ),
    (
        TINY,
        TINY_RAW,
        lambda raw: raw["work"].update(crosscuts=3),
        "work, plan: crosscuts are said to be 3; they come to 4.",
    ),
    (
        TINY,
        TINY_RAW,
        lambda raw: raw["work"].update(hundredths=1799),
        "work, plan: hundredths of a minute are said to be 1799; they come to 1800.",
    ),
    (
        TINY,
        TINY_RAW,
        lambda raw: raw["proof"].update(bound=2304),
        "proof, plan: the bound 2304 is above the cost, 2303; no bound can beat the plan it stands beside.",
    ),
    (
        TINY,
        TINY_RAW,
        lambda raw: raw["proof"].update(proven=False),
        (
            "proof, plan: it is called not proven with 0 of class 1, 0 spares missing of at least 0 of class "
            "1, 0 spares, a cost of 2303 and a bound of 2303; proven is no fewer missing and a gap of at most 0.001."
        ),
    ),
]


@pytest.mark.parametrize(("job", "raw", "change", "sentence"), SAID)
def test_it_says_what_is_wrong_and_where(
    job: Job, raw: Raw, change: Callable[[Raw], object], sentence: str
) -> None:
    """Every breach is one sentence."""
    changed = copy_of(raw)
    change(changed)
    assert sentence in [breach.sentence() for breach in verify(job, plan_of(changed))]


def test_sizes_in_millimetres() -> None:
    """Where the shop's unit is mm, sizes are shown in mm."""
    raw = copy_of(TINY_RAW)
    billet(raw)["face_loss"] = -320
    found = [
        breach.message for breach in verify(with_shop(TINY, units="mm"), plan_of(raw)) if breach.rule == "R3"
    ]
    assert found == [("its face loss is said to be -320 steps (-1 mm); it has to be 508 steps (1.5875 mm)")]
