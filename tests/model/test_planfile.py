"""plan.json: the same plan gives the same bytes, what was written is read back, and damage is named."""

from __future__ import annotations

import json
from dataclasses import replace
from typing import TYPE_CHECKING, Any

import pytest

from yieldplan.model import (
    Account,
    Billet,
    CutBlank,
    Keeper,
    Lesser,
    OffcutPlan,
    Plan,
    PlanFileError,
    Proof,
    Stick,
    Strip,
    WholeKeeper,
    dump_plan,
    load_plan,
)

if TYPE_CHECKING:
    from collections.abc import Callable

CUTS = (
    CutBlank(blank="Rib", extra=False, start=10, end=20),
    CutBlank(blank="Rib", extra=True, start=21, end=31, clear_end="B"),
)
STRIPS = (
    Strip(
        start=0,
        end=5,
        sticks=(
            Stick(start=0, end=4, turned=True, blanks=CUTS, keepers=(Keeper(start=32, end=60),)),
            Stick(start=5, end=9, keeper=True),
        ),
    ),
    Strip(start=6, end=9, keeper=True),
)
BILLET = Billet(start=0, end=60, layout="resaw first", face_loss=1, edge_loss=2, strips=STRIPS)
PLAN = Plan(
    input_name="pile Ä.xlsx",
    input_sha256="ab" * 32,
    proof=Proof(missing=((1, 0), (2, 3), (10, 1)), net_worth=100, bound=90, gap=0.1, proven=False),
    made=(("Chock", 0), ("Rib", 1)),
    extra=(("Chock", 0), ("Rib", 1)),
    missing=(("Chock", 4), ("Rib", 0)),
    account=Account(volume_in=600, blanks=100, keepers=200, kerf=50, shavings=50, trimmings=200),
    offcuts=(OffcutPlan(offcut="P1", copy=2, segments=(BILLET, WholeKeeper(start=61, end=100))),),
)


def raw() -> Any:
    """Return the plan file as plain data."""
    return json.loads(dump_plan(PLAN))


def test_what_was_written_is_read_back() -> None:
    """Every part of a plan that has one of each comes back equal."""
    assert load_plan(dump_plan(PLAN)) == PLAN


def test_bounds_of_the_lesser_aims_are_read_back() -> None:
    """They stand beside the proof, all three or none; a plan without them is the file that it was before."""
    lesser = Lesser(extras=5, offcuts=1, crosscuts=2)
    more = replace(PLAN, proof=replace(PLAN.proof, lesser=lesser))
    assert load_plan(dump_plan(more)) == more
    data = json.loads(dump_plan(more))
    added = {"extras_at_most": 5, "offcuts_at_least": 1, "crosscuts_at_least": 2}
    assert data["proof"] == {**raw()["proof"], **added}
    del data["proof"]["offcuts_at_least"]
    with pytest.raises(PlanFileError, match="no 'offcuts_at_least' where one belongs"):
        load_plan(json.dumps(data).encode())


def test_bounds_of_missing_blanks_are_read_back() -> None:
    """One for each class, beside those that are missing; a class that is none is named there too."""
    more = replace(PLAN, proof=replace(PLAN.proof, missing_at_least=((1, 0), (2, 2), (10, 0))))
    assert load_plan(dump_plan(more)) == more
    data = json.loads(dump_plan(more))
    assert data["proof"] == {**raw()["proof"], "missing_at_least": {"1": 0, "2": 2, "10": 0}}
    data["proof"]["missing_at_least"] = {"first": 0}
    with pytest.raises(PlanFileError, match="'first' is not a priority class"):
        load_plan(json.dumps(data).encode())


def test_the_file_is_plain_sorted_utf8() -> None:
    """Keys are sorted, letters are not escaped, and the file ends in a newline."""
    data = dump_plan(PLAN)
    assert "pile Ä.xlsx" in data.decode("utf-8")
    assert data.endswith(b"}\n")
    assert list(raw()) == sorted(raw())


def test_the_layout_is_the_documented_one() -> None:
    """The keys are those that DEVELOPERS.md shows."""
    data = raw()
    assert data["input"] == {"name": "pile Ä.xlsx", "sha256": "ab" * 32}
    assert data["proof"]["missing"] == {"1": 0, "2": 3, "10": 1}
    billet, keeper = data["offcuts"][0]["segments"]
    assert keeper == {"kind": "keeper", "from": 61, "to": 100}
    assert (billet["kind"], billet["layout"]) == ("billet", "resaw first")
    assert billet["strips"][0]["sticks"][0]["blanks"][1] == {
        "blank": "Rib",
        "extra": True,
        "from": 21,
        "to": 31,
        "clear_end": "B",
    }


def _set(path: str, value: object) -> Callable[[Any], None]:
    *way, last = path.split("/")

    def change(data: Any) -> None:
        for key in way:
            data = data[int(key) if key.isdigit() else key]
        data[int(last) if last.isdigit() else last] = value

    return change


def _drop(key: str) -> Callable[[Any], None]:
    return lambda data: data.pop(key)


SEGMENT = "offcuts/0/segments/0"
BLANK = f"{SEGMENT}/strips/0/sticks/0/blanks/0"


@pytest.mark.parametrize(
    ("change", "says"),
    [
        (_set("format", "something"), "the file is not a yieldplan plan"),
        (_set("version", 2), "the plan file is of version 2; this program reads 1"),
        (_drop("version"), "the plan file is of version None; this program reads 1"),
        (_drop("account"), "the plan file is damaged: no 'account' where one belongs"),
        (_set("proof/net_worth", 1.5), "the plan file is damaged: 1.5 is not a whole number"),
        (_set("proof/net_worth", True), "the plan file is damaged: True is not a whole number"),
        (_set("proof/gap", "0"), "the plan file is damaged: '0' is not a number"),
        (_set("proof/proven", 1), "the plan file is damaged: 1 is neither true nor false"),
        (_set("proof/missing", {"first": 0}), "the plan file is damaged: "),
        (_set("made", ["Rib"]), "the plan file is damaged: "),
        (_set("offcuts", None), "the plan file is damaged: 'offcuts' is None, not a list"),
        (_set(f"{SEGMENT}/strips", {}), "the plan file is damaged: 'strips' is {}, not a list"),
        (_set("offcuts/0/copy", "1"), "the plan file is damaged: '1' is not a whole number"),
        (_set("offcuts/0/offcut", 7), "the plan file is damaged: 7 is not text"),
        (_set(f"{SEGMENT}/kind", "waste"), "a segment of kind 'waste'; expected keeper or billet"),
        (_set(f"{SEGMENT}/layout", "rip"), "a layout 'rip'; expected rip first or resaw first"),
        (_set(f"{SEGMENT}/layout", []), "the plan file is damaged: "),
        (_set(f"{BLANK}/clear_end", "C"), "a clear end 'C'; expected A or B"),
        (_set(f"{BLANK}/extra", "no"), "'no' is neither true nor false"),
        (_set(BLANK, "Rib"), "the plan file is damaged: "),
        (_set("proof/gap", 10**400), "the plan file is damaged: "),
    ],
)
def test_damage_is_named(change: Callable[[Any], None], says: str) -> None:
    """A missing, mistyped or unknown part gives PlanFileError that says what is wrong."""
    data = raw()
    change(data)
    with pytest.raises(PlanFileError) as caught:
        load_plan(json.dumps(data).encode())
    assert says in str(caught.value)


@pytest.mark.parametrize(
    ("data", "says"),
    [
        (b"", "the file is not JSON"),
        (b"Offcut,Length\n", "the file is not JSON"),
        (b"\xff\xfe\x00", "the file is not JSON"),
        (b"[" * 100_000, "the file is not JSON"),
        (b"[1, 2]", "the file is not a yieldplan plan"),
        (b"null", "the file is not a yieldplan plan"),
        (b'{"format": "yieldplan", "version": 1' + b"0" * 5000 + b"}", "JSON"),
        (dump_plan(PLAN)[:-20], "the file is not JSON"),
    ],
)
def test_what_is_no_plan_file_is_refused(data: bytes, says: str) -> None:
    """Any other bytes give PlanFileError too, cut short or of another make."""
    with pytest.raises(PlanFileError, match=says):
        load_plan(data)


@pytest.mark.parametrize("key", ["x", "-1", "1.0", "\u0663", " 1", "9" * 5000])
def test_a_priority_class_that_is_none_is_named(key: str) -> None:
    """Classes are written with plain figures; anything else is said in our own words, not in Python's."""
    raw = {"format": "yieldplan", "version": 1, "proof": {"missing": {key: 0}}, "account": {}, "input": {}}
    with pytest.raises(PlanFileError, match=r"the plan file is damaged"):
        load_plan(json.dumps(raw).encode())


def test_true_is_not_version_1() -> None:
    """Though Python takes the two for equal."""
    with pytest.raises(PlanFileError, match="of version True"):
        load_plan(json.dumps({"format": "yieldplan", "version": True}).encode())


def test_a_field_that_stands_twice_is_named() -> None:
    """Nobody could say which of the two counts; another program might take the other one."""
    data = dump_plan(PLAN).replace(b'"made":', b'"made":{},"made":', 1)
    with pytest.raises(PlanFileError, match=r"^the plan file is damaged: 'made' stands twice in one place"):
        load_plan(data)
