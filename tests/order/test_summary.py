"""The summary of a plan, as it stands on the terminal."""

from __future__ import annotations

from dataclasses import replace

import pytest

from yieldplan.model import (
    Account,
    Billet,
    Blank,
    CutBlank,
    Job,
    Keeper,
    Lesser,
    Offcut,
    OffcutPlan,
    Plan,
    Proof,
    Shop,
    Stick,
    Strip,
    WholeKeeper,
)
from yieldplan.model.shop import INCH
from yieldplan.order.renderables import plain_text
from yieldplan.order.summary import lesser_sentence, proof_sentence, summary
from yieldplan.verify import verify


def inches(value: float) -> int:
    """Return inches (whole 64ths) in steps."""
    return int(value * 64) * (INCH // 64)


P1 = Offcut(
    name="P1", length=inches(20), width=inches(4), thickness=inches(2), rack="A1", note="from the old keel"
)
P2 = Offcut(name="P2", length=inches(40), width=inches(3), thickness=inches(1.5), qty=2, rack="B2")
P3 = Offcut(name="P3", length=inches(10), width=inches(3), thickness=inches(1.5))
RIB = Blank(name="Rib", need=2, length=inches(12), width=inches(2), thickness=inches(1))
JOB = Job(
    offcuts=(P1, P2, P3),
    blanks=(RIB,),
    shop=Shop(keeper_length=inches(6)),
    name="pile.xlsx",
    sha256="ab",
)


def billet(end: float, *strips: Strip) -> Billet:
    """Return a rip-first billet from end A to ``end`` inches of an offcut without warp."""
    skim = inches(1 / 32)
    return Billet(start=0, end=inches(end), layout="rip first", face_loss=skim, edge_loss=skim, strips=strips)


def rib_stick(*keepers: Keeper) -> Stick:
    """Return a stick at the face with one Rib at end A."""
    cut = CutBlank(blank="Rib", extra=False, start=inches(0.5), end=inches(13))
    return Stick(start=0, end=inches(1.0625), blanks=(cut,), keepers=keepers)


PLAN = Plan(
    input_name="pile.xlsx",
    input_sha256="ab",
    proof=Proof(missing=((1, 0),), net_worth=1115, bound=1115, gap=0.0, proven=True),
    made=(("Rib", 2),),
    extra=(("Rib", 0),),
    missing=(("Rib", 0),),
    account=Account(
        volume_in=182570246471680,
        blanks=25774623031296,
        keepers=125284217043968,
        kerf=9591020817920,
        shavings=7653152177536,
        trimmings=14267233400960,
    ),
    offcuts=(
        OffcutPlan(
            offcut="P1",
            copy=1,
            segments=(
                billet(
                    20,
                    Strip(
                        start=0,
                        end=inches(2.125),
                        sticks=(
                            rib_stick(Keeper(start=inches(13.125), end=inches(20))),
                            Stick(start=inches(1.1875), end=inches(1 + 31 / 32), keeper=True),
                        ),
                    ),
                    Strip(start=inches(2.25), end=inches(3 + 31 / 32), keeper=True),
                ),
            ),
        ),
        OffcutPlan(
            offcut="P2",
            copy=1,
            segments=(
                billet(13.5, Strip(start=0, end=inches(2.125), sticks=(rib_stick(),))),
                WholeKeeper(start=inches(13.625), end=inches(40)),
            ),
        ),
    ),
)
SHORT = replace(PLAN, proof=replace(PLAN.proof, missing=((1, 1),)), made=(("Rib", 2),), missing=(("Rib", 1),))
CUTS = 5
"""Crosscuts of the plan: on each stick before its rib and behind it, and before the whole keeper of P2."""
MEANING = (
    "Net worth is the stock used: thousandths of a board foot, a long piece counted dearer, keepers taken "
    "off."
)

ALL_MADE = """\
All 2 needed blanks are made.

Blank  Finished size, in  Need  Made  Missing  Extra
----------------------------------------------------
Rib    12 × 2 × 1            2     2        0      0

Offcuts drawn
Offcut  Rack  Measured size, in  Gives             Remarks
--------------------------------------------------------------------
P1      A1    20 × 4 × 2         1 Rib, 3 keepers  from the old keel
P2#1    B2    40 × 3 × 1 1/2     1 Rib, 1 keeper

Left alone
2 of 4 pieces: P2 (1 of 2), P3.

Keepers, back to the rack
From  Size, in                Form
-----------------------------------------
P1    6 7/8 × 2 × 1           planed end
P1    20 × 2 1/8 × 25/32      stick
P1    20 × 1 31/32 × 1 23/32  strip
P2#1  26 3/8 × 3 × 1 1/2      as measured

Wood
                                Board feet      m³    Share
-----------------------------------------------------------
Drawn from the pile                   2.36  0.0056  100.0 %
  finished blanks                     0.33  0.0008   14.1 %
  keepers                             1.62  0.0038   68.6 %
  saw kerf                            0.12  0.0003    5.3 %
  shavings (jointing, planing)        0.10  0.0002    4.2 %
  trimmings (all the rest)            0.18  0.0004    7.8 %
Waste figure: 55.0 % of the wood that is not kept went into kerf, shavings and
trimmings.

Proof
Proven: no plan under the same rules makes every needed blank from less stock
than this one, with its net worth of 1,115. Net worth is the stock used:
thousandths of a board foot, a long piece counted dearer, keepers taken off.
"""


def test_the_example_plan_is_a_right_one() -> None:
    """What this file shows is a plan that passes the recheck, so the figures below can be trusted."""
    assert verify(JOB, PLAN) == ()


def test_whole_summary_of_a_full_batch() -> None:
    """The whole text at 80 columns, when everything is made."""
    assert plain_text(summary(JOB, PLAN, {}), 80) == ALL_MADE


def test_short_is_said_first_and_explained() -> None:
    """A short plan says so in its first line and gives the reason below the batch."""
    job = replace(JOB, blanks=(replace(RIB, need=3),))
    reason = "Enough for 2 of 3: only P1 and P2 will do, and they are used up for these and for nothing else."
    text = plain_text(summary(job, SHORT, {"Rib": reason}), 80)
    assert text.startswith("SHORT: 1 of the 3 needed blanks is missing.\n")
    assert (
        "\nWhy blanks are missing\n"
        "Rib, 1 missing\n"
        "  Enough for 2 of 3: only P1 and P2 will do, and they are used up for these and\n"
        "  for nothing else.\n"
        "\nOffcuts drawn\n"
    ) in text


def test_nothing_cut() -> None:
    """A plan that draws nothing has no table of offcuts and no waste figure."""
    nothing = replace(
        SHORT,
        made=(("Rib", 0),),
        missing=(("Rib", 2),),
        offcuts=(),
        account=Account(volume_in=0, blanks=0, keepers=0, kerf=0, shavings=0, trimmings=0),
    )
    text = plain_text(summary(JOB, nothing, {}), 80)
    assert "Offcuts drawn" not in text
    assert "4 of 4 pieces: P1, P2 (2 of 2), P3." in text
    assert "Keepers, back to the rack\nNone.\n" in text
    assert "Waste figure: none, since nothing is cut." in text


def test_what_the_user_typed_is_no_markup_and_cannot_steer_the_terminal() -> None:
    """Brackets and emoji words stay as typed; escape characters are written out."""
    name = "[red]Rib[/red] :boom: \x1b[2J"
    job = replace(JOB, blanks=(replace(RIB, name=name),))
    plan = replace(PLAN, made=((name, 2),), offcuts=())
    text = plain_text(summary(job, plan, {}), 100)
    assert "[red]Rib[/red] :boom: \\x1b[2J" in text
    assert "\x1b" not in text


def test_priorities_have_a_column_only_where_they_differ() -> None:
    """With one priority class there is nothing to tell."""
    job = replace(JOB, blanks=(RIB, replace(RIB, name="Cleat", need=0, priority=2)))
    assert "Priority" in plain_text(summary(job, PLAN, {}))
    assert "Priority" not in plain_text(summary(JOB, PLAN, {}))


def test_columns_that_no_rule_reads_are_shown_back() -> None:
    """An extra column of the user's own stands with the offcut."""
    job = replace(JOB, offcuts=(replace(P1, other=(("Bin", "7"), ("Paint", ""))), P2, P3))
    assert "from the old keel; Bin: 7" in plain_text(summary(job, PLAN, {}), 100)


def test_metric_shop_reads_millimetres() -> None:
    """Sizes are in the user's unit: stock rounded down, wanted sizes up."""
    job = replace(JOB, shop=replace(JOB.shop, units="mm"))
    text = plain_text(summary(job, PLAN, {}))
    assert "Finished size, mm" in text
    assert "305 × 51 × 25.5" in text
    assert "508 × 101.5 × 50.5" in text


@pytest.mark.parametrize("width", [60, 80, 100, 132])
def test_no_line_is_wider_than_the_screen(width: int) -> None:
    """Long names are broken, never cut off, and no line runs over."""
    name = "Frame-" + "x" * 60
    job = replace(JOB, blanks=(replace(RIB, name=name),))
    text = plain_text(summary(job, replace(PLAN, made=((name, 2),), offcuts=()), {}), width)
    assert max(map(len, text.splitlines())) <= width
    assert text.count("x") >= 60


UNPROVEN = replace(SHORT, proof=replace(SHORT.proof, proven=False))
OPEN = replace(PLAN.proof, bound=1100, gap=15 / 1115, proven=False)
NO_BOUND = replace(PLAN.proof, bound=0, gap=1.0, proven=False)
UNKNOWN = (
    "the search ended before it had a bound, so how far this plan's net worth of 1,115 is from the least is "
    "not known. "
)
DOUBT = "Not proven: another plan may make more of the missing blanks. Of plans that miss no more, "
LESS = " than this one, with its net worth of 1,115. "
GAP = (
    "can draw less than a net worth of 1,100, and this one draws 1,115: at most 1.4 % of it could still be "
    "saved. "
)


@pytest.mark.parametrize(
    ("plan", "start", "end"),
    [
        (SHORT, "Proven: no plan under the same rules misses fewer blanks, nor as few from less stock", LESS),
        (
            replace(SHORT, proof=replace(SHORT.proof, missing=((1, 0), (2, 1)))),
            "Proven: no plan under the same rules misses fewer blanks (first priority first), nor as few ",
            "from less stock" + LESS,
        ),
        (replace(PLAN, proof=OPEN), "Not proven: no plan ", GAP),
        (replace(SHORT, proof=OPEN), DOUBT + "none ", GAP),
        (replace(PLAN, proof=NO_BOUND), "Not proven: ", UNKNOWN),
        (
            replace(SHORT, proof=NO_BOUND),
            "Not proven: another plan may make more of the missing blanks, and ",
            UNKNOWN,
        ),
        (UNPROVEN, DOUBT, "none draws less than this one's net worth of 1,115. "),
        (
            replace(SHORT, proof=replace(OPEN, missing=((1, 1),), missing_at_least=((1, 1),))),
            "Not proven: no plan misses fewer blanks. Of plans that miss no more, none ",
            GAP,
        ),
        (
            replace(SHORT, proof=replace(OPEN, missing=((1, 1),), missing_at_least=((1, 0),))),
            DOUBT + "none ",
            GAP,
        ),
        (
            replace(SHORT, proof=replace(OPEN, missing=((1, 3),), missing_at_least=((1, 2),))),
            "Not proven: another plan may make more of the missing blanks, though none misses fewer than 2. Of plans ",
            "that miss no more, none " + GAP,
        ),
        (
            replace(
                SHORT,
                proof=replace(NO_BOUND, missing=((1, 1), (2, 4)), missing_at_least=((1, 1), (2, 3))),
            ),
            "Not proven: another plan may make more of the missing blanks, though none misses fewer than 3 of ",
            "priority 2, and " + UNKNOWN,
        ),
    ],
)
def test_proof_in_a_plain_sentence(plan: Plan, start: str, end: str) -> None:
    """What is proven is said exactly, and a gap is rounded up, never down."""
    assert proof_sentence(plan) == start + end + MEANING


@pytest.mark.parametrize(
    ("lesser", "extra", "says"),
    [
        (None, 0, ""),
        (
            Lesser(extras=0, offcuts=2, crosscuts=1),
            0,
            (
                "Next come offcuts and crosscuts, each among the plans that are as good in all before it. Offcuts "
                "drawn: 2, the fewest there can be. Crosscuts: {cuts}, and it takes at least 1."
            ),
        ),
        (
            Lesser(extras=2, offcuts=0, crosscuts=0),
            3,
            (
                "Next come extras, offcuts and crosscuts, each among the plans that are as good in all before it. "
                "Extras: 0, and no plan has more than 2. Offcuts drawn: 2, and it takes at least 0. Crosscuts: "
                "{cuts}, and it takes at least 0."
            ),
        ),
        (
            Lesser(extras=0, offcuts=2, crosscuts=CUTS),
            3,
            (
                "Next come extras, offcuts and crosscuts, each among the plans that are as good in all before it. "
                "Extras: 0, the most there can be. Offcuts drawn: 2, the fewest there can be. Crosscuts: {cuts}, "
                "the fewest there can be."
            ),
        ),
    ],
    ids=["nothing known", "no extra is welcome", "open", "proven"],
)
def test_the_lesser_aims_in_plain_sentences(lesser: Lesser | None, extra: int, says: str) -> None:
    """What the plan has, and whether it is the most or the fewest there can be, or how far that may be off."""
    job = replace(JOB, blanks=tuple(replace(blank, extra=extra) for blank in JOB.blanks))
    plan = replace(PLAN, proof=replace(PLAN.proof, lesser=lesser))
    assert lesser_sentence(job, plan) == says.format(cuts=CUTS)


def test_a_plan_that_draws_nothing_says_nothing_of_the_lesser_aims() -> None:
    """There is nothing to be fewer."""
    lesser = Lesser(extras=0, offcuts=0, crosscuts=0)
    assert lesser_sentence(JOB, replace(PLAN, offcuts=(), proof=replace(PLAN.proof, lesser=lesser))) == ""
