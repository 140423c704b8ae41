"""No plan escapes: every kind of change to a good plan, or to what it was made for, each on fifty plans.

The plans are sawn at random (order/random_plans.py) and pass the recheck as they are. A change takes one thing of a
plan, picked at random, and spoils it; the recheck has to name the rule that it breaks, whatever else breaks with it.
"""

from __future__ import annotations

import json
import random
from dataclasses import replace
from functools import cache
from typing import TYPE_CHECKING, Any, TypeVar

import pytest
from random_plans import random_plan

from yieldplan.model import Defect, Job, Plan, dump_plan, load_plan
from yieldplan.verify import verify

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

Raw = dict[str, Any]
T = TypeVar("T")
PLANS = 50


class NotHereError(Exception):
    """The plan has nothing that this change could spoil."""


class Case:
    """A good plan as its file holds it, its job, and a hand that picks."""

    def __init__(self, seed: int) -> None:
        self.job, text = good(seed)
        self.raw: Raw = json.loads(text)
        self.rng = random.Random(seed)

    def pick(self, things: Sequence[T]) -> T:
        """Return one of the things; the change is not for this plan if there is none."""
        if not things:
            raise NotHereError
        return self.rng.choice(things)

    def cut(self, kind: str, least: int = 0) -> tuple[Raw, Raw, Raw, Raw]:
        """Return an offcut, a segment of it, a strip of that and a stick of that, one that has blanks.

        ``kind`` names what shall have at least ``least`` parts, as in ``stick blanks``.
        """
        found = [
            (drawn, segment, strip, stick)
            for drawn in self.raw["offcuts"]
            for segment in drawn["segments"]
            for strip in segment.get("strips", ())
            for stick in strip["sticks"]
            if stick["blanks"]
        ]
        level, _, part = kind.partition(" ")
        at = ("offcut", "segment", "strip", "stick").index(level)
        return self.pick([path for path in found if not part or len(path[at][part]) >= least])

    def pair(self, pieces: list[Raw]) -> tuple[Raw, Raw]:
        """Return two neighbours, in their order."""
        row = sorted(pieces, key=lambda piece: int(piece["from"]))
        at = self.pick(range(len(row) - 1))
        return row[at], row[at + 1]

    def shop(self, **changed: Any) -> None:
        """Change the shop."""
        self.job = replace(self.job, shop=replace(self.job.shop, **changed))

    def offcut(self, name: str, **changed: Any) -> None:
        """Change an offcut of the pile."""
        pile = (replace(o, **changed) if o.name == name else o for o in self.job.offcuts)
        self.job = replace(self.job, offcuts=tuple(pile))

    def blank(self, name: str, **changed: Any) -> None:
        """Change a kind of blank."""
        batch = (replace(b, **changed) if b.name == name else b for b in self.job.blanks)
        self.job = replace(self.job, blanks=tuple(batch))

    def plan(self) -> Plan:
        """Return the plan as it stands now."""
        return load_plan(json.dumps(self.raw).encode())


@cache
def good(seed: int) -> tuple[Job, str]:
    """Return a job and a plan for it that passes the recheck."""
    job, plan = random_plan(seed, offcuts=2)
    if not job.blanks:
        raise NotHereError
    assert verify(job, plan) == ()
    return job, dump_plan(plan).decode()


def move(piece: Raw, by: int) -> None:
    """Shift a piece along its axis."""
    piece["from"] += by
    piece["to"] += by


ATTACKS: dict[str, tuple[Callable[[Case], object], str]] = {}


def breaks(rule: str) -> Callable[[Callable[[Case], object]], Callable[[Case], object]]:
    """Note a change and the rule that it breaks."""

    def note(change: Callable[[Case], object]) -> Callable[[Case], object]:
        ATTACKS[change.__name__.strip("_").replace("_", " ")] = (change, rule)
        return change

    return note


# Places and sizes


@breaks("R1")
def _a_longer_end_trim(case: Case) -> None:
    drawn, _, _, stick = case.cut("stick")
    length = case.job.offcut(drawn["offcut"]).length
    case.shop(end_trim=min(stick["blanks"][0]["from"], length - stick["blanks"][0]["to"]) + 1)


@breaks("R2")
def _a_jointer_a_step_too_narrow(case: Case) -> None:
    case.shop(jointer_width=case.job.offcut(case.cut("stick")[0]["offcut"]).width - 1)


@breaks("R2")
def _a_billet_a_step_too_short(case: Case) -> None:
    segment = case.cut("stick")[1]
    case.shop(shortest_machined_length=segment["to"] - segment["from"] + 1)


@breaks("R2")
def _a_planer_a_step_too_narrow(case: Case) -> None:
    name = case.cut("stick")[3]["blanks"][0]["blank"]
    case.shop(planer_width=next(b.width for b in case.job.blanks if b.name == name) - 1)


@breaks("R2")
def _a_blank_a_step_too_thin_for_the_planer(case: Case) -> None:
    name = case.cut("stick")[3]["blanks"][0]["blank"]
    case.shop(thinnest_planed=next(b.thickness for b in case.job.blanks if b.name == name) + 1)


@breaks("R2")
def _a_stick_a_step_too_narrow_to_rip(case: Case) -> None:
    stick = case.cut("stick")[3]
    case.shop(narrowest_rip=stick["to"] - stick["from"] + 1)


@breaks("R3")
def _a_face_loss_a_step_less(case: Case) -> None:
    case.cut("stick")[1]["face_loss"] -= 1


@breaks("R3")
def _an_edge_loss_a_step_more(case: Case) -> None:
    case.cut("stick")[1]["edge_loss"] += 1


@breaks("R3")
def _more_cup_than_was_measured(case: Case) -> None:
    offcut = case.job.offcut(case.cut("stick")[0]["offcut"])
    case.offcut(offcut.name, cup=offcut.cup + 1)


@breaks("R4")
def _strips_that_overlap(case: Case) -> None:
    first, second = case.pair(case.cut("segment strips", 2)[1]["strips"])
    move(second, first["to"] - second["from"] - 1)


@breaks("R4")
def _sticks_that_overlap(case: Case) -> None:
    first, second = case.pair(case.cut("strip sticks", 2)[2]["sticks"])
    move(second, first["to"] - second["from"] - 1)


@breaks("R4")
def _a_strip_outside_the_box(case: Case) -> None:
    strip = case.cut("stick")[2]
    move(strip, -strip["from"] - 1)


@breaks("R4")
def _a_stick_outside_the_box(case: Case) -> None:
    drawn, segment, strip, stick = case.cut("stick")
    offcut = case.job.offcut(drawn["offcut"])
    rip_first = segment["layout"] == "rip first"
    deep = offcut.thickness - segment["face_loss"] if rip_first else offcut.width - segment["edge_loss"]
    last = max(strip["sticks"], key=lambda stick: int(stick["to"]))
    assert stick in strip["sticks"]
    move(last, deep - last["to"] + 1)


@breaks("R4")
def _a_keeper_strip_claimed_twice(case: Case) -> None:
    strips = [
        (segment["strips"], strip)
        for drawn in case.raw["offcuts"]
        for segment in drawn["segments"]
        for strip in segment.get("strips", ())
        if strip["keeper"]
    ]
    row, strip = case.pick(strips)
    row.append(dict(strip))


@breaks("R4")
def _a_stick_listed_twice(case: Case) -> None:
    _, _, strip, stick = case.cut("stick")
    strip["sticks"].append(stick)


@breaks("R4")
def _a_stick_without_its_blanks(case: Case) -> None:
    stick = case.cut("stick")[3]
    stick["blanks"], stick["keepers"] = [], []


@breaks("R5")
def _no_kerf_between_strips(case: Case) -> None:
    first, second = case.pair(case.cut("segment strips", 2)[1]["strips"])
    move(second, first["to"] - second["from"])


@breaks("R5")
def _a_step_less_than_a_kerf_between_sticks(case: Case) -> None:
    _, _, strip, _ = case.cut("strip sticks", 2)
    first, second = case.pair(strip["sticks"])
    kerf = case.job.shop.kerf_at(strip["to"] - strip["from"])
    assert kerf is not None
    move(second, first["to"] + kerf - 1 - second["from"])


@breaks("R5")
def _saws_that_reach_nothing(case: Case) -> None:
    case.cut("segment strips", 2)
    case.shop(saw_depth=0, bandsaw_height=0)


@breaks("R6")
def _a_strip_a_step_wider(case: Case) -> None:
    case.cut("stick")[2]["to"] += 1


@breaks("R6")
def _a_stick_a_step_thinner(case: Case) -> None:
    case.cut("stick")[3]["to"] -= 1


@breaks("R6")
def _flat_called_turned(case: Case) -> None:
    _, _, strip, stick = case.cut("stick")
    shop = case.job.shop
    sizes = [piece["to"] - piece["from"] for piece in (strip, stick)]
    if sizes[0] - sizes[1] in (0, shop.width_allowance - shop.thickness_allowance):
        raise NotHereError  # a section that is right either way round
    stick["turned"] = not stick["turned"]


@breaks("R6")
def _another_width_allowance(case: Case) -> None:
    case.shop(width_allowance=case.job.shop.width_allowance + 1)


@breaks("R6")
def _two_sections_on_one_stick(case: Case) -> None:
    stick = case.cut("stick blanks", 2)[3]
    last = stick["blanks"][-1]
    kinds = {blank.name: (blank.width, blank.thickness) for blank in case.job.blanks}
    others = [name for name, section in kinds.items() if section != kinds[last["blank"]]]
    last["blank"] = case.pick(others)


@breaks("R7")
def _rings_that_do_not_suit(case: Case) -> None:
    drawn, _, _, stick = case.cut("stick")
    rings = case.job.offcut(drawn["offcut"]).rings
    seen = -1 if rings is None else 90 - rings[0][0] if stick["turned"] else rings[0][0]
    low = (seen + 1, 90) if seen < 90 else (0, 89)
    case.blank(stick["blanks"][0]["blank"], ring_from=low[0], ring_to=low[1])


@breaks("R7")
def _rings_that_were_not_read(case: Case) -> None:
    drawn, _, _, stick = case.cut("stick")
    case.offcut(drawn["offcut"], ring_angle=None)
    case.blank(stick["blanks"][0]["blank"], ring_from=0, ring_to=90)


@breaks("R8")
def _a_blank_a_step_longer(case: Case) -> None:
    case.pick(case.cut("stick")[3]["blanks"])["to"] += 1


@breaks("R8")
def _a_blank_a_step_shorter(case: Case) -> None:
    case.pick(case.cut("stick")[3]["blanks"])["from"] += 1


@breaks("R8")
def _blanks_closer_than_a_kerf(case: Case) -> None:
    first, second = case.pair(case.cut("stick blanks", 2)[3]["blanks"])
    move(second, first["to"] + case.job.shop.crosscut_kerf - 1 - second["from"])


@breaks("R8")
def _a_blank_past_the_end_of_its_billet(case: Case) -> None:
    _, segment, _, stick = case.cut("stick")
    last = max(stick["blanks"], key=lambda cut: int(cut["to"]))
    move(last, segment["to"] - last["to"] + 1)


@breaks("R8")
def _a_remainder_claimed_twice(case: Case) -> None:
    stick = case.cut("stick keepers", 1)[3]
    stick["keepers"].append(dict(stick["keepers"][0]))


@breaks("R8")
def _a_remainder_that_is_still_in_a_blank(case: Case) -> None:
    stick = case.cut("stick keepers", 1)[3]
    stick["keepers"][0]["from"] = stick["blanks"][-1]["to"] - 1


@breaks("R8")
def _segments_without_a_kerf(case: Case) -> None:
    drawn = case.cut("offcut segments", 2)[0]
    first, second = case.pair(drawn["segments"])
    first["to"] = second["from"]


@breaks("R8")
def _segments_in_the_wrong_order(case: Case) -> None:
    case.cut("offcut segments", 2)[0]["segments"].reverse()


@breaks("R8")
def _an_offcut_that_is_shorter_than_measured(case: Case) -> None:
    drawn = case.cut("stick")[0]
    case.offcut(drawn["offcut"], length=drawn["segments"][-1]["to"] - 1)


@breaks("R8")
def _more_snipe(case: Case) -> None:
    _, segment, _, stick = case.cut("stick")
    case.shop(snipe=stick["blanks"][0]["from"] - segment["from"] + 1)


@breaks("R9")
def _a_blank_on_a_defect(case: Case) -> None:
    drawn, _, _, stick = case.cut("stick")
    offcut, cut = case.job.offcut(drawn["offcut"]), case.pick(stick["blanks"])
    shake = Defect(
        kind="shake", x1=cut["to"] - 1, x2=offcut.length, y1=0, y2=offcut.width, z1=0, z2=offcut.thickness
    )
    case.offcut(offcut.name, defects=(*offcut.defects, shake))


@breaks("R9")
def _an_allowed_knot_in_a_clear_end(case: Case) -> None:
    drawn, _, _, stick = case.cut("stick")
    offcut, cut = case.job.offcut(drawn["offcut"]), case.pick(stick["blanks"])
    knot = Defect(kind="knot", x1=cut["from"], x2=cut["to"], y1=0, y2=offcut.width, z1=0, z2=offcut.thickness)
    case.offcut(offcut.name, defects=(knot,))
    case.blank(cut["blank"], clear_end=1)


@breaks("R9")
def _a_knot_that_is_no_longer_allowed(case: Case) -> None:
    drawn, _, _, stick = case.cut("stick")
    offcut, cut = case.job.offcut(drawn["offcut"]), case.pick(stick["blanks"])
    knot = Defect(kind="knot", x1=0, x2=offcut.length, y1=0, y2=offcut.width, z1=0, z2=offcut.thickness)
    case.offcut(offcut.name, defects=(knot,))
    case.blank(cut["blank"], allows=("pin knot",))


@breaks("R10")
def _another_species(case: Case) -> None:
    case.blank(case.cut("stick")[3]["blanks"][0]["blank"], species=("Elm", "Ash"))


@breaks("R11")
def _a_remainder_a_step_too_short(case: Case) -> None:
    kept = case.cut("stick keepers", 1)[3]["keepers"][0]
    case.shop(keeper_length=kept["to"] - kept["from"] + 1)


@breaks("R11")
def _keepers_of_a_larger_section(case: Case) -> None:
    case.cut("stick keepers", 1)
    case.shop(keeper_width=10**6, keeper_thickness=10**6)


@breaks("R11")
def _a_stick_with_blanks_called_a_keeper(case: Case) -> None:
    case.cut("stick")[3]["keeper"] = True


# What stands beside the cuts


@breaks("input")
def _an_input_that_was_changed(case: Case) -> None:
    case.job = replace(case.job, sha256="1" * 64)


@breaks("input")
def _an_offcut_that_is_not_in_the_pile(case: Case) -> None:
    case.cut("stick")[0]["offcut"] = "Q1"


@breaks("input")
def _a_copy_that_is_not_there(case: Case) -> None:
    drawn = case.cut("stick")[0]
    drawn["copy"] = case.job.offcut(drawn["offcut"]).qty + 1


@breaks("input")
def _a_piece_cut_up_twice(case: Case) -> None:
    case.raw["offcuts"].append(case.cut("stick")[0])


@breaks("input")
def _a_blank_that_no_one_asked_for(case: Case) -> None:
    case.pick(case.cut("stick")[3]["blanks"])["blank"] = "mast"


@breaks("counts")
def _one_more_said_to_be_made(case: Case) -> None:
    case.raw["made"][case.pick(list(case.raw["made"]))] += 1


@breaks("counts")
def _a_blank_left_out_of_the_cuts(case: Case) -> None:
    case.cut("stick blanks", 2)[3]["blanks"].pop()


@breaks("counts")
def _a_missing_one_kept_quiet(case: Case) -> None:
    blank = case.pick(case.job.blanks)
    case.blank(blank.name, need=blank.need + 1)


@breaks("counts")
def _a_needed_one_called_extra(case: Case) -> None:
    case.pick(case.cut("stick")[3]["blanks"])["extra"] = True


@breaks("counts")
def _more_than_is_needed(case: Case) -> None:
    blank = case.pick(case.job.blanks)
    case.blank(blank.name, need=blank.need - 1)


@breaks("account")
def _kerf_called_trimmings(case: Case) -> None:
    case.raw["account"]["kerf"] -= 1
    case.raw["account"]["trimmings"] += 1


@breaks("account")
def _wood_from_nowhere(case: Case) -> None:
    case.raw["account"]["in"] += 1
    case.raw["account"]["trimmings"] += 1


@breaks("account")
def _an_account_that_does_not_balance(case: Case) -> None:
    case.raw["account"][case.pick(("blanks", "keepers", "shavings"))] += 1


@breaks("account")
def _a_keeper_that_is_not_in_the_account(case: Case) -> None:
    case.cut("stick keepers", 1)[3]["keepers"].pop()


@breaks("proof")
def _less_net_worth(case: Case) -> None:
    case.raw["proof"]["net_worth"] -= 1
    case.raw["proof"]["bound"] -= 1


@breaks("proof")
def _proven_with_a_gap(case: Case) -> None:
    proof = case.raw["proof"]
    proof["bound"] -= 1
    proof["gap"] = 1 / max(proof["net_worth"], 1)


@breaks("proof")
def _a_bound_above_the_plan(case: Case) -> None:
    proof = case.raw["proof"]
    proof["bound"] += 1
    proof.update(gap=-1 / max(proof["net_worth"], 1), proven=False)


@breaks("proof")
def _a_gap_kept_quiet(case: Case) -> None:
    case.raw["proof"].update(bound=case.raw["proof"]["bound"] - 1000, proven=False)


@breaks("proof")
def _a_missing_class(case: Case) -> None:
    case.raw["proof"]["missing"]["1"] += 1


def test_there_are_enough_kinds_of_change() -> None:
    """At least thirty, and every rule and every claim has one."""
    assert len(ATTACKS) >= 30
    rules = {f"R{number}" for number in range(1, 12)} | {"input", "counts", "account", "proof"}
    assert {rule for _, rule in ATTACKS.values()} == rules


@pytest.mark.parametrize("name", ATTACKS)
def test_a_change_is_caught_on_fifty_plans(name: str) -> None:
    """On every plan that has what the change spoils, the rule that it breaks is named."""
    change, rule = ATTACKS[name]
    tried = 0
    for seed in range(400):
        try:
            case = Case(seed)
            change(case)
        except NotHereError:
            continue
        found = {breach.rule for breach in verify(case.job, case.plan())}
        assert rule in found, (seed, found)
        tried += 1
        if tried == PLANS:
            return
    pytest.fail(f"only {tried} plans have what this change spoils")
