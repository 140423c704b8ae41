"""plan.json: the same plan gives the same bytes, what was written is read back, and damage is named."""

from __future__ import annotations

import json
from dataclasses import replace
from typing import TYPE_CHECKING, Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from yieldplan.model import Account, Billet, CutBlank, OffcutPlan, Plan, Proof, SplitBillet, Stick, Strip
from yieldplan.model.errors import PlanFileError
from yieldplan.model.plan import Work
from yieldplan.model.planfile import dump_plan, load_plan

if TYPE_CHECKING:
    from collections.abc import Callable

CUTS = (
    CutBlank(blank="Rib", start=10, end=20),
    CutBlank(blank="Rib", spare=True, start=21, end=31, clear_end="B"),
)
STRIPS = (Strip(start=0, end=5, sticks=(Stick(start=0, end=4, turned=True, blanks=CUTS),)),)
BILLET = Billet(start=0, end=60, layout="resaw first", face_loss=1, edge_loss=2, strips=STRIPS)
HALF = Billet(start=61, end=100, layout="rip first", face_loss=3, edge_loss=4, strips=STRIPS)
PLAN = Plan(
    input_name="pile Ä.xlsx",
    input_sha256="ab" * 32,
    mark=254,
    proof=Proof(
        missing=(("1", 0), ("2", 3), ("10", 1), ("spares", 5)),
        missing_at_least=(("1", 0), ("2", 1), ("10", 0), ("spares", 0)),
        cost=150,
        net_worth=100,
        bound=135,
        gap=0.1,
        proven=False,
    ),
    made=(("Chock", 0), ("Rib", 1)),
    spare=(("Chock", 0), ("Rib", 1)),
    missing=(("Chock", 4), ("Rib", 0)),
    account=Account(volume_in=600, blanks=100, keepers=200, kerf=50, shavings=50, trimmings=200),
    work=Work(
        hundredths=50,
        offcuts=1,
        billets=2,
        sticks=3,
        passes=4,
        bandsaw_passes=5,
        odd_cuts=6,
        crosscuts=7,
        saw_settings=8,
        planer_settings=9,
        stop_settings=10,
    ),
    offcuts=(
        OffcutPlan(
            offcut="P1",
            copy=2,
            billets=(BILLET, SplitBillet(start=61, end=100, split=7, halves=(HALF, None))),
        ),
    ),
)


def raw() -> Any:
    """Return the plan file as plain data."""
    return json.loads(dump_plan(PLAN))


def test_what_was_written_is_read_back() -> None:
    """Every part of a plan that has one of each comes back equal."""
    assert load_plan(dump_plan(PLAN)) == PLAN


@pytest.mark.parametrize("price", [None, 0, 200])
def test_the_price_of_work_is_read_back(price: int | None) -> None:
    """It stands in the file only where it is not the shop's own."""
    priced = replace(PLAN, price=price)
    assert load_plan(dump_plan(priced)) == priced
    assert ("hundredths_for_a_board_foot" in json.loads(dump_plan(priced))) is (price is not None)


def test_the_file_is_plain_sorted_utf8() -> None:
    """Keys are sorted, letters are not escaped, and the file ends in a newline."""
    data = dump_plan(PLAN)
    assert "pile Ä.xlsx" in data.decode("utf-8")
    assert data.endswith(b"}\n")
    assert list(raw()) == sorted(raw())


def test_the_layout_is_the_documented_one() -> None:
    """The keys are those of version 2."""
    data = raw()
    assert (data["format"], data["version"], data["mark"]) == ("yieldplan", 2, 254)
    assert data["input"] == {"name": "pile Ä.xlsx", "sha256": "ab" * 32}
    assert data["proof"]["missing"] == {"1": 0, "2": 3, "10": 1, "spares": 5}
    assert data["account"] == {
        "in": 600,
        "blanks": 100,
        "keepers": 200,
        "kerf": 50,
        "shavings": 50,
        "trimmings": 200,
    }
    assert data["work"] == {
        "hundredths": 50,
        "offcuts": 1,
        "billets": 2,
        "sticks": 3,
        "passes": 4,
        "bandsaw_passes": 5,
        "odd_cuts": 6,
        "crosscuts": 7,
        "settings": {"saws": 8, "planer": 9, "stop": 10},
    }
    billet, split = data["offcuts"][0]["billets"]
    assert set(billet) == {"from", "to", "layout", "face_loss", "edge_loss", "strips"}
    assert set(split) == {"from", "to", "split", "halves"}
    assert set(split["halves"][0]) == {"layout", "face_loss", "edge_loss", "strips"}
    assert split["halves"][1] is None
    stick = billet["strips"][0]["sticks"][0]
    assert set(stick) == {"from", "to", "turned", "blanks"}
    assert stick["blanks"][1] == {"blank": "Rib", "spare": True, "from": 21, "to": 31, "clear_end": "B"}


def _set(path: str, value: object) -> Callable[[Any], None]:
    *way, last = path.split("/")

    def change(data: Any) -> None:
        for key in way:
            data = data[int(key) if key.isdigit() else key]
        data[int(last) if last.isdigit() else last] = value

    return change


def _drop(key: str) -> Callable[[Any], None]:
    return lambda data: data.pop(key)


BILLET_AT = "offcuts/0/billets/0"
BLANK = f"{BILLET_AT}/strips/0/sticks/0/blanks/0"


@pytest.mark.parametrize(
    ("change", "says"),
    [
        (_set("format", "something"), "the file is not a yieldplan plan"),
        (_set("version", 1), "the plan file is of version 1, by an earlier edition whose rules were others"),
        (_set("version", 1), "expected version 2; plan the same input again"),
        (_set("version", 3), "the plan file is of version 3; this program reads 2"),
        (_drop("version"), "the plan file is of version None; this program reads 2"),
        (_drop("account"), "the plan file is damaged: account is missing"),
        (
            _set("proof/net_worth", 1.5),
            "the plan file is damaged: proof.net_worth is 1.5, expected a whole number",
        ),
        (
            _set("proof/net_worth", True),
            "the plan file is damaged: proof.net_worth is True, expected a whole number",
        ),
        (_set("proof/gap", "0"), "the plan file is damaged: proof.gap is '0', expected a number"),
        (_set("proof/proven", 1), "the plan file is damaged: proof.proven is 1, expected true or false"),
        (
            _set("proof/missing", {"first": 0}),
            "proof.missing is 'first', expected the number of a class, or spares",
        ),
        (_set("made", ["Rib"]), "made is ['Rib'], expected an object"),
        (_set("offcuts", None), "the plan file is damaged: offcuts is None, expected a list"),
        (_set(f"{BILLET_AT}/strips", {}), "offcuts[0].billets[0].strips is {}, expected a list"),
        (_set("offcuts/0/copy", "1"), "offcuts[0].copy is '1', expected a whole number"),
        (_set("offcuts/0/copy", -(10**30)), "expected a whole number of at most 30 figures"),
        (_set("offcuts/0/offcut", 7), "offcuts[0].offcut is 7, expected text"),
        (_set("offcuts/0/billets/1/halves", [None]), "billets[1].halves is [None], expected a list of two"),
        (
            _set("offcuts/0/billets/1/halves", None),
            "offcuts[0].billets[1].halves is None, expected a list of two",
        ),
        (_drop("mark"), "the plan file is damaged: mark is missing"),
        (_drop("work"), "the plan file is damaged: work is missing"),
        (
            _set("work/settings/saws", "7"),
            "the plan file is damaged: work.settings.saws is '7', expected a whole number",
        ),
        (
            _set("hundredths_for_a_board_foot", None),
            "the plan file is damaged: hundredths_for_a_board_foot is None, expected a whole number",
        ),
        (_set(f"{BILLET_AT}/layout", "rip"), "layout is 'rip', expected rip first or resaw first"),
        (_set(f"{BILLET_AT}/layout", []), "layout is [], expected rip first or resaw first"),
        (_set(f"{BLANK}/clear_end", "C"), "blanks[0].clear_end is 'C', expected A or B"),
        (_set(f"{BLANK}/spare", "no"), "blanks[0].spare is 'no', expected true or false"),
        (_set(BLANK, "Rib"), "blanks[0] is 'Rib', expected an object"),
        (_set("work/settings", None), "work.settings is None, expected an object"),
        (_set("input", ()), "the plan file is damaged: input is [], expected an object"),
        (_drop("input"), "the plan file is damaged: input is missing"),
        (_set("proof/gap", float("nan")), "proof.gap is nan, expected a number of at most 30 figures"),
        (
            _set("input/path", "/"),
            "the plan file is damaged: the plan has 'input.path', which is not a key there",
        ),
        (_set(f"{BILLET_AT}/spilt", 7), "offcuts[0].billets[0] has 'spilt', which is not a key there"),
        (_set("made/Rib", 0.5), "the plan file is damaged: made['Rib'] is 0.5, expected a whole number"),
        (_set("proof/gap", 10**400), "proof.gap is 1000"),
    ],
)
def test_damage_is_named(change: Callable[[Any], None], says: str) -> None:
    """A missing, mistyped or unknown part gives PlanFileError that says what is wrong."""
    data = raw()
    change(data)
    with pytest.raises(PlanFileError) as caught:
        load_plan(json.dumps(data).encode())
    assert says in str(caught.value)


def test_all_damage_is_named_at_once() -> None:
    """Five places at most: a file that is damaged all over is not worth a longer list."""
    data = raw()
    data["mark"], data["proof"]["cost"] = "1", None
    with pytest.raises(PlanFileError, match=r"mark is '1'.*; proof\.cost is None[^;]*$"):
        load_plan(json.dumps(data).encode())
    data["work"] = dict.fromkeys(data["work"], ()) | {"settings": {}}
    with pytest.raises(PlanFileError, match=r"(.*; ){5}and so on\.$"):
        load_plan(json.dumps(data).encode())


@pytest.mark.parametrize(
    ("data", "says"),
    [
        (b"", "the file is not JSON"),
        (b"Offcut,Length\n", "the file is not JSON"),
        (b"\xff\xfe\x00", "the file is not JSON"),
        (b"[" * 100_000, "the file is not JSON"),
        (b"[1, 2]", "the file is not a yieldplan plan"),
        (b"null", "the file is not a yieldplan plan"),
        (b'{"format": "yieldplan", "version": 2' + b"0" * 5000 + b"}", "JSON"),
        (dump_plan(PLAN)[:-20], "the file is not JSON"),
    ],
)
def test_what_is_no_plan_file_is_refused(data: bytes, says: str) -> None:
    """Any other bytes give PlanFileError too, cut short or of another make."""
    with pytest.raises(PlanFileError, match=says):
        load_plan(data)


@pytest.mark.parametrize("key", ["x", "-1", "1.0", "\u0663", " 1", "9" * 5000])
def test_a_class_that_is_none_is_named(key: str) -> None:
    """Classes are written with plain figures; anything else is said in our own words, not in Python's."""
    data = raw()
    data["proof"]["missing"] = {key: 0}
    with pytest.raises(PlanFileError, match=r"the plan file is damaged"):
        load_plan(json.dumps(data).encode())


def test_true_is_no_version() -> None:
    """Though Python takes the two for equal."""
    with pytest.raises(PlanFileError, match="of version True"):
        load_plan(json.dumps({"format": "yieldplan", "version": True}).encode())


def test_a_field_that_stands_twice_is_named() -> None:
    """Nobody could say which of the two counts; another program might take the other one."""
    data = dump_plan(PLAN).replace(b'"made":', b'"made":{},"made":', 1)
    with pytest.raises(PlanFileError, match=r"^the plan file is damaged: 'made' is there twice in one place"):
        load_plan(data)


ANY_JSON = st.recursive(
    st.none()
    | st.booleans()
    | st.integers(-(2**50), 2**50)
    | st.floats()
    | st.text(max_size=4)
    | st.just(10**500),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text(max_size=4), inner, max_size=3),
    max_leaves=5,
)


def places(data: Any, way: tuple[Any, ...] = ()) -> list[tuple[Any, ...]]:
    """Return the way to every value of plain data."""
    inside = data.items() if isinstance(data, dict) else enumerate(data) if isinstance(data, list) else ()
    return [(*way, key) for key, _ in inside] + [
        deeper for key, value in inside for deeper in places(value, (*way, key))
    ]


@given(st.sampled_from(places(raw())), ANY_JSON)
def test_anything_in_any_place_is_refused_or_read(way: tuple[Any, ...], value: Any) -> None:
    """Whatever stands where another value belongs: the file is refused in a sentence, or read and written again."""
    data = inside = raw()
    *first, last = way
    for key in first:
        inside = inside[key]
    inside[last] = value
    said = ""
    try:
        assert json.loads(dump_plan(load_plan(json.dumps(data).encode()))) == data
    except PlanFileError as error:
        said = str(error)
    assert len(said) < 1000
