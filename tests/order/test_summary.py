"""The summary of a plan, as it stands on the terminal."""

from __future__ import annotations

from dataclasses import replace

import pytest
from rich.console import Group
from test_sawmill import demo

from yieldplan.model import (
    BOARD_FOOT,
    Billet,
    Blank,
    CutBlank,
    Defect,
    Job,
    Offcut,
    OffcutPlan,
    Plan,
    Problem,
    Proof,
    Shop,
    SplitBillet,
    Stick,
    Strip,
)
from yieldplan.model.shop import INCH
from yieldplan.model.work import QUICK, WOOD_ALONE
from yieldplan.order import cutting_order
from yieldplan.order.howgood import how_good, net_wood, shares
from yieldplan.order.summary import summary, why_missing
from yieldplan.pages.renderables import plain_text
from yieldplan.pages.wording import how_long
from yieldplan.solve.assemble import assemble
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
    shop=Shop(keeper_length=inches(6), keeper_width=inches(1), keeper_thickness=inches(3 / 4)),
    name="pile.xlsx",
    sha256="ab",
)


def billet(end: float) -> Billet:
    """Return a rip-first billet from 1/2 to ``end`` inches of an offcut without warp, with one Rib at edge 1."""
    skim = inches(1 / 16)
    cut = CutBlank(blank="Rib", start=inches(1), end=inches(13))
    stick = Stick(start=0, end=inches(1.0625), blanks=(cut,))
    return Billet(
        start=inches(0.5),
        end=inches(end),
        layout="rip first",
        face_loss=skim,
        edge_loss=skim,
        strips=(Strip(start=0, end=inches(2.125), sticks=(stick,)),),
    )


DRAWN = (
    OffcutPlan(offcut="P1", copy=1, billets=(billet(19.5),)),
    OffcutPlan(offcut="P2", copy=1, billets=(billet(13.5),)),
)


def planned(job: Job = JOB, drawn: tuple[OffcutPlan, ...] = DRAWN) -> Plan:
    """Return the plan that draws these, proven to a unit."""
    known = assemble(job, drawn).proof
    return assemble(job, drawn, bound=known.cost, missing_at_least=dict(known.missing))


PLAN = planned()
SHORT_JOB = replace(JOB, blanks=(replace(RIB, need=3),))
SHORT = replace(
    PLAN,
    proof=replace(PLAN.proof, missing=(("1", 1), ("spares", 0)), missing_at_least=(("1", 1), ("spares", 0))),
    missing=(("Rib", 1),),
)

ALL_MADE = """\
All 2 needed blanks are made, from 2 boards.
Boards: P1 and P2#1; 2 boards are left alone.
Take care: less than 1/16 in to spare on P2#1-1.
Keepers, in: K1 19 × 1 15/16 × 1 11/16; K2 19 × 2 1/8 × 25/32; K3 6 3/8 × 2 × 1;
K4 26 3/8 × 3 × 1 1/2.
Wood: 2.36 board feet drawn, 1.56 kept; waste figure 58.2 %.
Work: 34 min; handling 8 min, jointer 6 min, table saw 3 min, bandsaw 5 min,
planer 7 min, crosscut saw 5 min.
Proven: nothing better exists.
"""


def at_prices(plan: Plan) -> list[Plan]:
    """Return a plan at four prices of work, with more saw settings the less it counts."""
    prices = (QUICK, 1000, 6000, WOOD_ALONE)
    return [
        replace(plan, price=price, work=replace(plan.work, saw_settings=20 + number))
        for number, price in enumerate(prices)
    ]


def shown(job: Job, plan: Plan, width: int = 80, **more: object) -> str:
    """Return what is missing and the summary as text."""
    said = summary(cutting_order(job, plan), **more)  # type: ignore[arg-type]
    return plain_text(Group(*why_missing(plan, {}), said), width)


def test_the_example_plan_is_a_right_one() -> None:
    """What this file shows is a plan that passes the recheck, so the figures below can be trusted."""
    assert verify(JOB, PLAN) == ()


def test_whole_summary_of_a_full_batch() -> None:
    """The whole text at 80 columns, when everything is made."""
    assert shown(JOB, PLAN) == ALL_MADE


def test_what_is_missing_is_explained() -> None:
    """Each kind that misses any has its reason below it; what is made has none."""
    reason = "Enough for 2 of 3: only P1 and P2 will do, and they are used up on these and on nothing else."
    assert plain_text(Group(*why_missing(SHORT, {"Rib": reason})), 80) == (
        "1 rib missing:\n"
        "  Enough for 2 of 3: only P1 and P2 will do, and they are used up on these and\n"
        "  on nothing else.\n"
    )
    assert not [*why_missing(PLAN, {})]


def test_short_is_said_on_the_last_screen() -> None:
    """A short plan says so behind the reasons, in the first line of its summary."""
    assert "\nSHORT: 1 of 3 needed blanks is missing.\nBoards: " in shown(SHORT_JOB, SHORT)


def test_spares_of_a_short_plan_are_told_from_what_is_missing() -> None:
    """Of the spares it says how many are made, next to a count of what is missing."""
    spared = replace(SHORT_JOB, blanks=(replace(RIB, need=3, spare=2),))
    assert (
        "SHORT: 1 of 3 needed blanks is missing; 0 of 2 spares are made." in shown(spared, SHORT).splitlines()
    )


def test_nothing_cut() -> None:
    """A plan that draws nothing says no word of wood and work."""
    text = shown(JOB, assemble(JOB, ()))
    assert "4 boards are left alone." in text
    assert not [word for word in ("Boards:", "Keepers", "Wood:", "Work:") if word in text]


def test_spares_are_counted_beside_the_needs() -> None:
    """How many spares of how many wanted stand in the first line; nothing is said of any that nobody asked for."""
    job = replace(
        JOB, blanks=(replace(RIB, need=1, spare=2), replace(RIB, name="Cleat", need=0, length=inches(4)))
    )
    assert shown(job, planned(job)).startswith(
        "The one needed blank is made, and 1 of 2 spares, from 2 boards.\n"
    )
    assert "spares" not in shown(JOB, PLAN)


def test_what_to_be_careful_with_is_named() -> None:
    """Boards that no other could replace, and metal, each in a word."""
    nail = Defect(kind="nail", x1=inches(15), x2=inches(16), y1=inches(3), y2=inches(4), z1=0, z2=inches(2))
    job = replace(JOB, offcuts=(replace(P1, defects=(nail,)), replace(P2, qty=1), P3))
    text = shown(job, planned(job), 200)
    assert (
        "Take care: no spare board for P1 and P2; metal in P1; less than 1/16 in to spare on P2-1.\n" in text
    )


def test_warnings_are_counted_first() -> None:
    """They were shown before the search; the last screen says that there were some, and where to see them again."""
    warning = Problem(severity="warning", file="pile.xlsx", found="is odd")
    text = shown(replace(JOB, warnings=(warning,)), PLAN)
    assert text == "1 warning above; yieldplan check shows it again.\n" + ALL_MADE


def test_the_inch_demo_and_other_prices_fit_a_screen() -> None:
    """All of it stands within 22 lines of 80 columns: the files and the prompt take the rest of 24."""
    job, plan = demo("skiff-frames.xlsx")
    text = shown(job, replace(plan, missing=()), others=at_prices(plan), ended="the time is up")
    assert "any work (--wood)" in text
    assert text.count("\n") <= 22
    assert max(map(len, text.splitlines())) <= 80


def test_what_the_user_typed_is_no_markup_and_cannot_steer_the_terminal() -> None:
    """Brackets and emoji words stay as typed; escape characters are written out."""
    name = "[red]Rib[/red] :boom: \x1b[2J"
    job = replace(JOB, blanks=(replace(RIB, name=name),))
    text = shown(job, assemble(job, ()), 100)
    assert "[red]Rib[/red] :boom: \\x1b[2J" in text
    assert "\x1b" not in text


@pytest.mark.parametrize("width", [60, 80, 100, 132])
def test_no_line_is_wider_than_the_screen(width: int) -> None:
    """Long names are broken, never cut off, and no line runs over."""
    name = "Frame-" + "x" * 60
    job = replace(JOB, blanks=(replace(RIB, name=name),))
    text = shown(job, assemble(job, ()), width)
    assert text.count("x") >= 60
    text += shown(JOB, PLAN, width, others=at_prices(PLAN))
    assert max(map(len, text.splitlines())) <= width
    assert text.count("58.2 %") == 5


# Work


def test_work_by_machine_is_all_of_the_work() -> None:
    """The minutes of the machines add up to the plan's, settings too, with a split and odd cuts among them."""
    half = replace(
        billet(13.5), strips=(replace(billet(13.5).strips[0], start=inches(1), end=inches(3.125)),)
    )
    cut = SplitBillet(start=inches(0.5), end=inches(13.5), split=inches(3.5), halves=(half, None))
    job = replace(JOB, offcuts=(replace(P1, width=inches(9)), P2, P3))
    plan = assemble(job, (OffcutPlan(offcut="P1", copy=1, billets=(cut,)), DRAWN[1]))
    found = shares(job, plan)
    assert sum(found.values()) == plan.work.hundredths
    assert plan.work.odd_cuts == 2  # the split, and what is cleared before the half's strip
    passes = plan.work.bandsaw_passes * job.shop.bandsaw_pass
    assert (
        found["bandsaw"] == passes + 2 * job.shop.machine_setting
    )  # the split, and the resaw of both sticks


@pytest.mark.parametrize(
    ("hundredths", "words"),
    [(0, "0 s"), (20, "12 s"), (198, "119 s"), (200, "2 min"), (1234, "13 min"), (24_950, "4 h 10 min")],
)
def test_times_are_rounded_up(hundredths: int, words: str) -> None:
    """A time never looks shorter than it is."""
    assert how_long(hundredths) == words


def test_wood_is_rounded_up() -> None:
    """Nor does a volume of wood look smaller, in board feet or cubic metres (1 board foot = 0.002359737 m³)."""
    assert [net_wood(cost, "inch") for cost in (1, 20, 21_392)] == ["0.01", "0.02", "21.40"]
    assert [net_wood(cost, "mm") for cost in (1, 43, 21_392)] == ["0.0001", "0.0002", "0.0505"]
    assert (net_wood(21_392, "inch", up=False), net_wood(21_392, "mm", up=False)) == ("21.39", "0.0504")


# How good

KNOWN = PLAN.proof
OPEN = replace(KNOWN, bound=4560, gap=30 / 4590, proven=False)
NEAR = replace(KNOWN, bound=4588, gap=2 / 4590)
NO_BOUND = replace(KNOWN, bound=0, gap=1.0, proven=False)


def of(proof: Proof, missing: dict[str, int], least: dict[str, int]) -> Plan:
    """Return a plan that misses so many of each class, with bounds on that."""
    classes = replace(proof, missing=tuple(missing.items()), missing_at_least=tuple(least.items()))
    return replace(PLAN, proof=classes, missing=(("Rib", missing["1"]),))


MADE, SPARES_LEFT = {"1": 0, "spares": 0}, {"1": 0, "spares": 2}
ONE, TWO_CLASSES = {"1": 1, "spares": 0}, {"1": 0, "2": 4, "spares": 0}
NOT_KNOWN = "how much wood and work another plan might save is not known."


@pytest.mark.parametrize(
    ("plan", "said"),
    [
        (of(KNOWN, MADE, MADE), "Proven: nothing better exists."),
        (
            of(NEAR, MADE, MADE),
            "Proven: nothing better by more than 0.01 board feet (2 s of work) exists.",
        ),
        (
            of(OPEN, MADE, MADE),
            "Not proven: nothing better by more than 0.03 board feet (18 s of work), 0.7 %, exists.",
        ),
        (
            of(KNOWN, ONE, ONE),
            "Proven: no plan makes more of the blanks; of plans that miss no more, none is better.",
        ),
        (
            of(KNOWN, SPARES_LEFT, SPARES_LEFT),
            "Proven: no plan makes all that is needed and more spares; of plans that miss no more, none is better.",
        ),
        (
            of(OPEN, SPARES_LEFT, {"1": 0, "spares": 1}),
            (
                "Not proven: another plan may make more spares, though none misses fewer than 1; of plans that miss no "
                "more, none is better by more than 0.03 board feet (18 s of work), 0.7 %."
            ),
        ),
        (of(NO_BOUND, MADE, MADE), f"Not proven: {NOT_KNOWN}"),
        (
            of(NO_BOUND, ONE, MADE),
            f"Not proven: another plan may make more of the missing blanks; {NOT_KNOWN}",
        ),
        (
            of(NO_BOUND, TWO_CLASSES, {"1": 0, "2": 3, "spares": 0}),
            (
                "Not proven: another plan may make more of the missing blanks, though none misses fewer than 3 of "
                f"priority 2; {NOT_KNOWN}"
            ),
        ),
    ],
)
def test_how_good_in_a_plain_sentence(plan: Plan, said: str) -> None:
    """What is proven is said exactly; wood and minutes that may still be saved are rounded up, never down."""
    assert how_good(JOB, plan) == said


def test_a_metric_job_speaks_of_cubic_metres() -> None:
    """What may still be saved is said in the unit of the job."""
    metric = replace(JOB, shop=replace(JOB.shop, units="mm"))
    assert "nothing better by more than 0.0001 m³ (18 s of work), 0.7 %" in how_good(
        metric, of(OPEN, MADE, MADE)
    )


def test_where_the_first_priority_came_first_it_is_said() -> None:
    """With two classes, fewest missing means first priority first."""
    plan = replace(of(KNOWN, TWO_CLASSES, TWO_CLASSES), missing=(("Rib", 4),))
    assert "no plan makes more of the blanks, the first priority first;" in how_good(JOB, plan)


def test_where_work_counts_for_nothing_no_minutes_are_told() -> None:
    """A plan for wood alone speaks of wood alone."""
    plan = replace(of(OPEN, MADE, MADE), price=WOOD_ALONE)
    assert "of work" not in how_good(JOB, plan)


def test_at_another_price_the_minutes_are_those_of_that_price() -> None:
    """A plan made quickly is measured at two minutes for a board foot."""
    plan = replace(of(OPEN, MADE, MADE), price=QUICK)
    assert "(4 s of work)" in how_good(JOB, plan)


def test_why_the_search_ended_is_told_where_nothing_is_proven() -> None:
    """Who may wait longer learns whether that would help; a proven plan needs no such word."""
    text = shown(JOB, of(OPEN, MADE, MADE), 200, ended="the time is up")
    assert " exists. The search ended: the time is up.\n" in text
    assert "The search ended" not in shown(JOB, PLAN, ended="it is proven")


def test_offcuts_looked_at_on_a_coarser_mark_are_named() -> None:
    """Nothing vanishes: where only some places were tried, that is said."""
    text = shown(JOB, PLAN, 200, coarse=("P1", "P3"))
    assert "P1 and P3: so many places for cuts that only some were tried" in text


def test_wood_or_work_sets_prices_side_by_side() -> None:
    """Four lines, from quick to wood alone; what is not proven is only found, and this plan is marked."""
    others = (
        replace(
            PLAN,
            price=WOOD_ALONE,
            account=replace(PLAN.account, keepers=PLAN.account.keepers + BOARD_FOOT // 10),
            work=replace(PLAN.work, saw_settings=5, hundredths=25_000),
        ),
        replace(PLAN, price=6000, proof=replace(PLAN.proof, proven=False)),
        replace(PLAN, price=1000),
        replace(PLAN, price=QUICK),
    )
    rule = "-" * 79
    assert shown(JOB, PLAN, others=others).endswith(
        "\n\nFor a board foot    Boards  Net bd ft  Saw settings        Work   Waste\n"
        f"{rule}\n"
        "2 min (--quick)          2       0.80             2      34 min  58.2 %  proven\n"
        "10 min (this plan)       2       0.80             2      34 min  58.2 %  proven\n"
        "60 min                   2       0.80             2      34 min  58.2 %  found\n"
        "any work (--wood)        2       0.70             5  4 h 10 min  66.6 %  proven\n"
    )
    metric = replace(JOB, shop=replace(JOB.shop, units="mm"))
    assert "For a board foot    Boards  Net m³  Saw settings" in shown(metric, PLAN, others=others)
    other = replace(others[0], missing=(("Rib", 1),))
    assert "66.6 %  proven, 1 missing\n" in shown(JOB, PLAN, 100, others=(other, *others[1:]))


def test_prices_that_all_give_the_same_are_not_shown() -> None:
    """Nor is anything shown of other prices where nothing is made."""
    assert "For a board foot" not in shown(JOB, PLAN, others=[replace(PLAN, price=QUICK), PLAN])
    assert "For a board foot" not in shown(JOB, assemble(JOB, ()), others=at_prices(PLAN))
