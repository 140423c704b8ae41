"""The recheck accepts plans worked out by hand and names the rule that each mutation of them breaks."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction
from typing import TYPE_CHECKING, Any

import pytest
from hand_plans import (
    CUPPED,
    CUPPED_RAW,
    MARK,
    RICH,
    RICH_RAW,
    TINY,
    TINY_RAW,
    Raw,
    billet,
    copy_of,
    inch,
    leaves,
    move,
    plan_of,
    put,
    rules,
    stick,
    stretch,
    strip,
    with_blank,
    with_offcut,
    with_shop,
)
from hypothesis import given
from hypothesis import strategies as st
from strategies import jobs, wild_numbers, wild_plans

from yieldplan.model import Defect, Job, Plan
from yieldplan.model.planfile import dump_plan, load_plan
from yieldplan.verify import verify

if TYPE_CHECKING:
    from collections.abc import Callable

GOOD = {"tiny": (TINY, TINY_RAW), "rich": (RICH, RICH_RAW), "cupped": (CUPPED, CUPPED_RAW)}


@pytest.mark.parametrize(("job", "raw"), GOOD.values(), ids=GOOD.keys())
def test_good_plan_has_no_breach(job: Job, raw: Raw) -> None:
    """A plan worked out by hand, account, work and cost included, passes; so it does through its file."""
    assert verify(job, plan_of(raw)) == ()
    assert verify(job, load_plan(dump_plan(plan_of(raw)))) == ()


def test_input_name_alone_does_not_matter() -> None:
    """A renamed input with the same bytes is the same input."""
    assert verify(replace(TINY, name="renamed.xlsx"), plan_of(TINY_RAW)) == ()


# Mutations of a plan. Each is caught, and no rule but the named ones is said to be broken.

TINY_CHANGES: list[tuple[str, Callable[[Raw], object], set[str]]] = [
    ("billet in the end trim", lambda raw: stretch(billet(raw), "from", "-1/32"), {"R1"}),
    ("billet in the far end trim", lambda raw: move(billet(raw), "193/32"), {"R1", "R8"}),
    ("billet too short", lambda raw: stretch(billet(raw), "to", "-33/32"), {"R2", "R8"}),
    ("face loss", lambda raw: billet(raw).update(face_loss=inch("1/32")), {"R3"}),
    ("edge loss", lambda raw: billet(raw).update(edge_loss=0), {"R3"}),
    ("strip outside the box", lambda raw: move(strip(raw), "7/8"), {"R4"}),
    ("strip before the box", lambda raw: move(strip(raw), "-1/32"), {"R4"}),
    ("strip reversed", lambda raw: strip(raw).update({"from": inch("2 1/8"), "to": 0}), {"R2", "R4", "R6"}),
    ("stick outside the box", lambda raw: move(stick(raw), "5/32"), {"R4"}),
    ("two sticks in one place", lambda raw: strip(raw)["sticks"].append(stick(raw)), {"R4"}),
    ("no strips", lambda raw: billet(raw).update(strips=[]), {"R4"}),
    ("strip without sticks", lambda raw: strip(raw).update(sticks=[]), {"R4"}),
    ("stick without blanks", lambda raw: stick(raw).update(blanks=[]), {"R4"}),
    ("strip a mark wide", lambda raw: stretch(strip(raw), "to", "1/32"), {"R6"}),
    ("strip a mark narrow", lambda raw: stretch(strip(raw), "to", "-1/32"), {"R6"}),
    ("stick a mark thin", lambda raw: stretch(stick(raw), "to", "-1/32"), {"R6"}),
    ("said to be turned", lambda raw: stick(raw).update(turned=True), {"R6"}),
    ("blank a mark short", lambda raw: stretch(stick(raw)["blanks"][0], "to", "-1/32"), {"R8"}),
    ("blank in the stick trim", lambda raw: move(stick(raw)["blanks"][0], "1/32"), {"R8"}),
    ("blank reversed", lambda raw: stick(raw)["blanks"][0].update({"from": inch("13"), "to": inch("1")}), {"R8"}),
    ("billet past the offcut", lambda raw: billet(raw).update(to=inch("20 1/32")), {"R1", "R8"}),
    ("billet before the offcut", lambda raw: billet(raw).update({"from": -MARK}), {"R1", "R8"}),
    ("billet reversed", lambda raw: billet(raw).update({"from": inch("13 1/2"), "to": inch("1/2")}), {"R2", "R8"}),
    ("clear end where none is asked", lambda raw: stick(raw)["blanks"][0].update(clear_end="B"), {"R9"}),
    ("strip between two marks", lambda raw: strip(raw).update(to=inch("2 1/8") + 1), {"marks", "R6"}),
    ("blank between two marks", lambda raw: move(stick(raw)["blanks"][0], f"-1/{inch('1')}"), {"marks", "R8"}),
    ("billet between two marks", lambda raw: billet(raw).update(to=inch("13 1/2") + 1), {"marks"}),
    ("another mark", lambda raw: raw.update(mark=127), {"marks"}),
]  # fmt: skip

RICH_CHANGES: list[tuple[str, Callable[[Raw], object], set[str]]] = [
    ("strips closer than a kerf", lambda raw: move(strip(raw, 1), "-1/32"), {"R5"}),
    ("strips overlap", lambda raw: move(strip(raw, 1), "-1/4"), {"R4"}),
    ("strips listed the wrong way round", lambda raw: billet(raw)["strips"].reverse(), {"R4"}),
    ("sticks without the bandsaw's skim between", lambda raw: move(stick(raw, 1), "-1/32"), {"R5"}),
    ("sticks listed the wrong way round", lambda raw: strip(raw)["sticks"].reverse(), {"R4"}),
    ("layouts exchanged", lambda raw: billet(raw, 1).update(layout="rip first"), {"R4", "R6"}),
    ("turned cleat said to be flat", lambda raw: stick(raw, 0, 1).update(turned=False), {"R6", "R7"}),
    ("two sections on a stick", lambda raw: stick(raw, 1)["blanks"][1].update(blank="Cleat"), {"R6", "R7", "R8"}),
    ("billets closer than a kerf", lambda raw: move(billet(raw, 1), "-1/32"), {"R8"}),
    ("billets overlap", lambda raw: stretch(billet(raw, 1), "from", "-2"), {"R3", "R8"}),
    ("billets out of order", lambda raw: raw["offcuts"][0]["billets"].reverse(), {"R8"}),
    ("blanks closer than a kerf", lambda raw: move(stick(raw, 1)["blanks"][1], "-1/32"), {"R8"}),
    ("blanks overlap", lambda raw: move(stick(raw, 1)["blanks"][1], "-1"), {"R8"}),
    ("blanks listed from end B", lambda raw: stick(raw, 1)["blanks"].reverse(), {"R8"}),
    ("blank past a knot, not far enough", lambda raw: move(stick(raw, 0, 1)["blanks"][0], "113/32"), {"R9"}),
    ("pin knot in the clear end", lambda raw: stick(raw, 0, 1)["blanks"][0].update(clear_end="A"), {"R9"}),
    ("check on face 2, moved by jointing", lambda raw: move(stick(raw, 0, 1), "3/16"), {"R9"}),
    ("pin knot at the edge of strip 1, moved by jointing", lambda raw: move(strip(raw), "1/32"), {"R5", "R9"}),
]  # fmt: skip


@pytest.mark.parametrize(
    ("job", "raw", "change", "broken"),
    [
        pytest.param(*GOOD[word], change, broken, id=f"{word}: {name}")
        for word, changes in (("tiny", TINY_CHANGES), ("rich", RICH_CHANGES))
        for name, change, broken in changes
    ],
)
def test_mutation_of_a_plan_names_its_rule(
    job: Job, raw: Raw, change: Callable[[Raw], object], broken: set[str]
) -> None:
    """A change of the plan breaks the named rules and no other."""
    changed = copy_of(raw)
    change(changed)
    assert rules(verify(job, plan_of(changed))) == broken


def oak(**values: Any) -> Job:
    """Return the rich job with another oak offcut."""
    return with_offcut(RICH, **values)


def shop(**values: Any) -> Job:
    """Return the rich job in another shop."""
    return with_shop(RICH, **values)


KNOT, PIN, CHECK = RICH.offcuts[1].defects
END_CHECK = Defect(
    kind="end check", x1=0, x2=inch("3/8"), y1=0, y2=inch("6"), z1=0, z2=inch("2"), through=True
)

JOB_CHANGES: list[tuple[str, Job, set[str]]] = [
    ("longer end trim", shop(end_trim=inch("17/32")), {"R1"}),
    ("through check at end A", oak(defects=(KNOT, PIN, CHECK, END_CHECK)), {"R1", "R9"}),
    ("longer shortest machined length", shop(shortest_machined_length=inch("15 1/32")), {"R2"}),
    ("smaller jointer", shop(jointer_width=inch("5 31/32")), {"R2"}),
    ("smaller planer", shop(planer_width=inch("1 31/32")), {"R2"}),
    ("thicker thinnest planed", shop(thinnest_planed=inch("25/32")), {"R2"}),
    ("wider narrowest rip", shop(narrowest_rip=inch("27/32")), {"R2"}),
    ("a kink under a billet", oak(kinks=(inch("10"),)), {"R2", "R3", "R4", "R9"}),
    ("more cup", oak(cup=inch("3/32")), {"R3"}),
    ("more crook", oak(crook=inch("3/8")), {"R3", "R9"}),
    ("cup that leaves nothing", oak(cup=inch("2")), {"R3", "R4", "R9"}),
    ("wider rip kerf", shop(rip_kerf=inch("5/32")), {"R5"}),
    ("wider bandsaw kerf", shop(bandsaw_kerf=inch("3/32")), {"R5"}),
    ("more to joint behind the bandsaw", shop(bandsaw_skim=inch("1/16")), {"R5"}),
    ("a table saw that leaves the rips to the bandsaw", shop(saw_depth=inch("1 31/32"), rip_kerf=0), set()),
    ("a table saw that takes the resaw", shop(saw_depth=inch("2 1/8")), {"R5"}),
    ("no saw reaches the wide resaw", shop(bandsaw_height=inch("5 31/32")), {"R5"}),
    ("no saw resaws so wide", shop(resaw_height=inch("5 31/32")), {"R5"}),
    ("no saw reaches any cut", shop(saw_depth=0, bandsaw_height=0), {"R5"}),
    ("other width allowance", shop(width_allowance=inch("5/32")), {"R6"}),
    ("other thickness allowance", shop(thickness_allowance=inch("3/32")), {"R6"}),
    ("more planing than the allowance", shop(least_planing=inch("3/32")), {"R6"}),
    ("wet wood, ripped the same", with_shop(oak(moisture=Fraction(20)), target_moisture=Fraction(8)), set()),
    ("wood too wet for that", with_shop(oak(moisture=Fraction(30)), target_moisture=Fraction(6)), {"R6"}),
    ("rings too flat for the cleat", oak(ring_angle=31), {"R7"}),
    ("rings a degree out for the cleat", with_blank(RICH, 1, ring_from=71), {"R7"}),
    ("rings a degree out for the frame", with_blank(RICH, 0, ring_to=19), {"R7"}),
    ("rings not read", oak(ring_angle=None), {"R7"}),
    ("rings read by a word that says too little", oak(ring_angle=(20, 31)), {"R7"}),
    ("rings out of range towards the far edge", oak(ring_angle=20, ring_angle_far=45), {"R7"}),
    ("slope not read", with_blank(RICH, 0, max_slope=Fraction(1, 10)), {"R7"}),
    ("a steeper slope", with_blank(oak(grain_slope=Fraction(1, 9)), 0, max_slope=Fraction(1, 10)), {"R7"}),
    ("longer stick trim", shop(stick_trim=inch("17/32")), {"R8"}),
    ("length allowance", shop(length_allowance=inch("1/32")), {"R8"}),
    ("wider crosscut kerf", shop(crosscut_kerf=inch("5/32")), {"R8"}),
    ("cleat that allows nothing", with_blank(RICH, 1, allows=()), {"R9"}),
    ("cleat clear over its whole length", with_blank(RICH, 1, clear_end=inch("20")), {"R9"}),
    ("through check instead of one on a face", oak(defects=(KNOT, PIN, replace(CHECK, through=True))), {"R9"}),
    ("other species", oak(species="Red oak"), {"R10"}),
    ("no species", oak(species=""), {"R10"}),
    ("longer keepers", shop(keeper_length=inch("14 9/32")), set()),
    ("another mark", shop(mark=inch("1/64")), {"marks", "R3"}),
]  # fmt: skip


@pytest.mark.parametrize(
    ("job", "broken"), [pytest.param(job, broken, id=name) for name, job, broken in JOB_CHANGES]
)
def test_plan_under_another_job_names_the_rule(job: Job, broken: set[str]) -> None:
    """The same plan under a changed shop, offcut or blank breaks the named rules and no other."""
    breaches = verify(job, plan_of(RICH_RAW))
    assert breaches
    assert rules(breaches) == broken


# Mutations of what stands beside the cuts.

COUNTS = [name for name in RICH_RAW["work"] if name != "settings"]
SETTINGS = list(RICH_RAW["work"]["settings"])


def less(figures: Raw, name: str) -> None:
    """Take one off a figure."""
    figures[name] -= 1


BESIDE: list[tuple[str, Callable[[Raw], object], str]] = [
    ("fingerprint", lambda raw: raw["input"].update(sha256="ef" * 32), "input"),
    ("unknown offcut", lambda raw: raw["offcuts"][0].update(offcut="Elm 9"), "input"),
    ("copy 0", lambda raw: raw["offcuts"][0].update(copy=0), "input"),
    ("copy beyond qty", lambda raw: raw["offcuts"][0].update(copy=3), "input"),
    ("a copy cut twice", lambda raw: raw["offcuts"].append(raw["offcuts"][0]), "input"),
    ("unknown blank", lambda raw: stick(raw)["blanks"][0].update(blank="Knee"), "input"),
    ("made one more", lambda raw: raw["made"].update(Frame=4), "counts"),
    ("made of an unknown blank", lambda raw: raw["made"].update(Knee=0), "counts"),
    ("made leaves a blank out", lambda raw: raw["made"].pop("Thwart"), "counts"),
    ("spare hidden", lambda raw: raw["spare"].update(Frame=0), "counts"),
    ("missing hidden", lambda raw: raw["missing"].update(Thwart=0), "counts"),
    ("spare called needed", lambda raw: stick(raw, 0, 0, 1)["blanks"][0].update(spare=False), "counts"),
    ("needed called spare", lambda raw: stick(raw, 0, 1)["blanks"][0].update(spare=True), "counts"),
    ("two spares of one", lambda raw: stick(raw)["blanks"][0].update(spare=True), "counts"),
    ("an offcut for nothing", lambda raw: raw["offcuts"][0].update(billets=[]), "counts"),
    ("missing a class", lambda raw: raw["proof"]["missing"].update({"2": 0}), "proof"),
    ("spares not made", lambda raw: raw["proof"]["missing"].update(spares=1), "proof"),
    ("no class of spares", lambda raw: raw["proof"]["missing"].pop("spares"), "proof"),
    ("missing in an unknown class", lambda raw: raw["proof"]["missing"].update({"3": 0}), "proof"),
    ("a bound for a class that is none", lambda raw: raw["proof"]["missing_at_least"].update({"3": 0}), "proof"),
    ("no bound for a class", lambda raw: raw["proof"]["missing_at_least"].pop("2"), "proof"),
    ("fewer missing than claimed", lambda raw: raw["proof"]["missing_at_least"].update({"2": 2}), "proof"),
    ("net worth", lambda raw: raw["proof"].update(net_worth=raw["proof"]["net_worth"] - 1), "proof"),
    ("cost", lambda raw: raw["proof"].update(cost=raw["proof"]["cost"] - 1), "proof"),
    ("another price of work", lambda raw: raw.update(hundredths_for_a_board_foot=2000), "proof"),
    ("no price of work", lambda raw: raw.update(hundredths_for_a_board_foot=0), "proof"),
    ("a negative price of work", lambda raw: raw.update(hundredths_for_a_board_foot=-1), "proof"),
    ("bound raised, gap kept", lambda raw: raw["proof"].update(bound=raw["proof"]["bound"] + 100), "proof"),
    ("bound above the cost", lambda raw: raw["proof"].update(bound=raw["proof"]["cost"] + 1), "proof"),
    ("gap", lambda raw: raw["proof"].update(gap=0.0), "proof"),
    ("proven with a gap", lambda raw: raw["proof"].update(proven=True), "proof"),
    ("kerf called trimmings", lambda raw: raw["account"].update(kerf=0), "account"),
    ("a cubic step too many", lambda raw: raw["account"].update(blanks=raw["account"]["blanks"] + 1), "account"),
    *((f"{name} one off", lambda raw, name=name: less(raw["work"], name), "work") for name in COUNTS),
    *(
        (f"a setting dropped: {name}", lambda raw, name=name: less(raw["work"]["settings"], name), "work")
        for name in SETTINGS
    ),
]  # fmt: skip


@pytest.mark.parametrize(
    ("change", "rule"), [pytest.param(change, rule, id=name) for name, change, rule in BESIDE]
)
def test_mutation_beside_the_cuts_is_named(change: Callable[[Raw], object], rule: str) -> None:
    """A wrong name, count, figure or claim is found and named for what it is."""
    changed = copy_of(RICH_RAW)
    change(changed)
    assert rule in {breach.rule for breach in verify(RICH, plan_of(changed))}


@pytest.mark.parametrize("gap", [float("nan"), float("inf")])
def test_a_gap_that_is_no_number_is_named(gap: float) -> None:
    """No plan file gives one, a program might."""
    plan = plan_of(RICH_RAW)
    wrong = replace(plan, proof=replace(plan.proof, gap=gap))
    assert {breach.rule for breach in verify(RICH, wrong)} == {"proof"}


def test_a_spare_of_a_kind_that_misses_one() -> None:
    """A spare of a kind that misses a needed one is a breach even where the counts say so."""
    raw = copy_of(RICH_RAW)
    raw["missing"]["Frame"] = raw["proof"]["missing"]["1"] = raw["proof"]["missing_at_least"]["1"] = 1
    (breach,) = verify(with_blank(RICH, 0, need=4), plan_of(raw))
    assert breach.sentence() == ("counts, blank Frame: 1 are cut as spares while 1 needed ones are missing.")


def test_an_offcut_may_be_drawn_for_a_spare_alone() -> None:
    """A spare counts as much as a needed blank where it carries its offcut."""
    raw = copy_of(TINY_RAW)
    raw["made"]["Rib"], raw["spare"]["Rib"] = 0, 1
    stick(raw)["blanks"][0]["spare"] = True
    assert verify(with_blank(TINY, 0, need=0, spare=1), plan_of(raw)) == ()


@pytest.mark.parametrize(("foot", "work"), [(0, 0), (1, 1_800_000), (700, 2577), (1000, 1800), (6000, 306)])
def test_cost_at_another_price_of_work(foot: int, work: int) -> None:
    """Each price is rounded up by itself: at 60 minutes a board foot a setting costs 34, a crosscut 9, and so on.

    Tiny: 3 settings of 2 min, a stop of 1, an offcut of 4, a billet of 3, 5 cuts of 0.5, a stick of 1.5.
    """
    raw = copy_of(TINY_RAW)
    raw["hundredths_for_a_board_foot"] = foot
    raw["proof"].update(cost=503 + work, bound=503 + work)
    assert verify(TINY, plan_of(raw)) == ()


@pytest.mark.parametrize(("bound", "proven"), [(3000, True), (2997, True), (2996, False)])
def test_proven_is_a_gap_of_a_thousandth(bound: int, proven: bool) -> None:
    """Of a cost of 3000 a bound of 2997 is proven, and has to be called so; one of 2996 is not."""
    job = with_shop(TINY, offcut_handled=400 + 697)
    raw = copy_of(TINY_RAW)
    raw["work"]["hundredths"] += 697
    for word in (True, False):
        raw["proof"].update(cost=3000, bound=bound, gap=(3000 - bound) / 3000, proven=word)
        assert (verify(job, plan_of(raw)) == ()) is (word is proven)


def test_nothing_is_proven_while_fewer_may_be_missing() -> None:
    """A gap of nothing proves nothing where a class might still miss fewer."""
    raw = copy_of(RICH_RAW)
    raw["proof"].update(bound=raw["proof"]["cost"], gap=0.0, proven=True)
    assert verify(RICH, plan_of(raw)) == ()
    raw["proof"]["missing_at_least"]["spares"] = 1
    assert {breach.rule for breach in verify(RICH, plan_of(raw))} == {"proof"}
    raw["proof"]["proven"] = False
    assert verify(RICH, plan_of(raw)) == ()


def test_nothing_drawn_is_right_where_nothing_is_said_to_be_made() -> None:
    """An empty plan with everything missing is right."""
    raw = copy_of(TINY_RAW)
    raw.update(offcuts=[], made={"Rib": 0}, missing={"Rib": 1})
    raw["proof"].update(
        missing={"1": 1, "spares": 0}, missing_at_least={"1": 1, "spares": 0}, net_worth=0, cost=0, bound=0
    )
    raw["account"] = dict.fromkeys(raw["account"], 0)
    raw["work"] = {**dict.fromkeys(raw["work"], 0), "settings": dict.fromkeys(raw["work"]["settings"], 0)}
    assert verify(TINY, plan_of(raw)) == ()


def test_unknown_layout_is_a_breach() -> None:
    """A layout that is neither of the two breaks R4 (no plan file gives one, a program might)."""
    plan = plan_of(TINY_RAW)
    sideways = replace(plan.offcuts[0].jointed[0], layout="sideways")  # type: ignore[arg-type]
    wrong = replace(plan, offcuts=(replace(plan.offcuts[0], billets=(sideways,)),))
    assert "R4" in rules(verify(TINY, wrong))


def test_a_blank_listed_twice_is_said() -> None:
    """The blank and how often it stands there."""
    plan = replace(plan_of(TINY_RAW), made=(("Rib", 1), ("Rib", 1)))
    (breach,) = verify(TINY, plan)
    assert breach.sentence() == "counts, blank Rib: it is listed 2 times under made; expected once."


# Every number and flag.


def paths(raw: Raw, kind: type) -> list[tuple[Any, ...]]:
    """Return the paths of all numbers (int) or all flags (bool) of a raw plan."""
    found = [path for path in leaves(raw) if path[0] not in ("format", "version")]
    return [path for path in found if type(put(copy_of(raw), path, 0)) is kind]


@pytest.mark.parametrize("by", [1, -1, MARK, -MARK])
@pytest.mark.parametrize("word", GOOD)
def test_no_number_of_a_plan_is_off_unseen(word: str, by: int) -> None:
    """Every single number of a good plan, made larger or smaller, is caught; but which copy it is does not matter."""
    job, good = GOOD[word]
    numbers = paths(good, int)
    assert numbers
    for path in numbers:
        if path[-1] == "copy" or path[:2] == ("proof", "missing_at_least"):
            continue
        raw = copy_of(good)
        put(raw, path, put(raw, path, 0) + by)
        assert verify(job, plan_of(raw)), path


@pytest.mark.parametrize("word", GOOD)
def test_no_flag_of_a_plan_is_turned_over_unseen(word: str) -> None:
    """Every single flag of a good plan, turned over, is caught."""
    job, good = GOOD[word]
    flags = paths(good, bool)
    assert flags
    for path in flags:
        raw = copy_of(good)
        put(raw, path, not put(raw, path, None))
        assert verify(job, plan_of(raw)), path


NUMBERS = [
    path for path in paths(RICH_RAW, int) if path[:2] != ("proof", "missing_at_least") and path[-1] != "copy"
]


@given(path=st.sampled_from(NUMBERS), number=wild_numbers())
def test_wild_number_is_a_breach_not_a_crash(path: tuple[Any, ...], number: int) -> None:
    """Any number anywhere in a plan is either the right one or gives a breach that can be said."""
    raw = copy_of(RICH_RAW)
    old = put(raw, path, number)
    breaches = verify(RICH, plan_of(raw))
    assert bool(breaches) == (number != old)
    assert all(breach.sentence().endswith(".") for breach in breaches)


@given(job=jobs(), data=st.data())
def test_any_plan_gives_breaches_not_exceptions(job: Job, data: st.DataObject) -> None:
    """A plan put together at random is answered with breaches, each of which can be said."""
    for breach in verify(job, data.draw(wild_plans(job))):
        assert breach.sentence()


def _frames(*, oak: int, ash: int) -> Plan:
    """Return a plan that cuts so many frames from an oak board, and so many from one like it of ash."""
    raw = copy_of(RICH_RAW)
    (board,) = raw["offcuts"]
    raw["offcuts"] = [copy_of(board) | {"offcut": name} for name in ("Oak 2", "Ash 3")]
    for drawn, wanted in zip(raw["offcuts"], (oak, ash), strict=True):
        rows = [row["blanks"] for part in drawn["billets"] for one in part["strips"] for row in one["sticks"]]
        places = [(row, cut) for row in rows for cut in row if cut["blank"] == "Frame"]
        for row, cut in places[wanted:]:
            row.remove(cut)
    return plan_of(raw)


@pytest.mark.parametrize(
    ("oak", "ash", "need", "right"),
    [(4, 0, 4, True), (2, 4, 6, True), (3, 0, 4, False), (3, 0, 3, True), (3, 3, 6, False), (3, 3, 7, False)],
)
def test_pairs_are_of_one_species(oak: int, ash: int, need: int, right: bool) -> None:
    """Of each species an even number, but for one where the need is odd; three of oak and three of ash are no pairs."""
    ash_board = replace(RICH.offcuts[1], name="Ash 3", species="Ash")
    job = with_blank(RICH, 0, pairs=True, need=need, spare=0, species=())
    job = replace(job, offcuts=(*job.offcuts, ash_board))
    said = [breach.message for breach in verify(job, _frames(oak=oak, ash=ash)) if breach.rule == "R10"]
    assert any("pairs of one species" in message for message in said) is not right
