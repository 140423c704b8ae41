"""plan.json: the plan as bytes, and back. The same plan gives the same bytes."""

from __future__ import annotations

import json
from typing import Any

from yieldplan.model.errors import PlanFileError
from yieldplan.model.plan import (
    Account,
    Billet,
    CutBlank,
    Keeper,
    Lesser,
    OffcutPlan,
    Plan,
    Proof,
    Segment,
    SplitBillet,
    Stick,
    Strip,
    WholeKeeper,
)

FORMAT, VERSION = "yieldplan", 1

LESSER = {"extras": "extras_at_most", "offcuts": "offcuts_at_least", "crosscuts": "crosscuts_at_least"}
"""What the bounds of aims 3 and 4 are called in the file, all of them or none."""


def dump_plan(plan: Plan) -> bytes:
    """Return the plan file's bytes: UTF-8 JSON, keys sorted, ending in a newline."""
    proof, account = plan.proof, plan.account
    data = {
        "format": FORMAT,
        "version": VERSION,
        "input": {"name": plan.input_name, "sha256": plan.input_sha256},
        "proof": {
            "missing": _by_class(proof.missing),
            "net_worth": proof.net_worth,
            "bound": proof.bound,
            "gap": proof.gap,
            "proven": proof.proven,
            **({"missing_at_least": _by_class(proof.missing_at_least)} if proof.missing_at_least else {}),
            **_lesser(proof.lesser),
        },
        "made": dict(plan.made),
        "extra": dict(plan.extra),
        "missing": dict(plan.missing),
        "account": {
            "in": account.volume_in,
            "blanks": account.blanks,
            "keepers": account.keepers,
            "kerf": account.kerf,
            "shavings": account.shavings,
            "trimmings": account.trimmings,
        },
        "offcuts": [
            {"offcut": drawn.offcut, "copy": drawn.copy, "segments": [_segment(s) for s in drawn.segments]}
            for drawn in plan.offcuts
        ],
    }
    return (json.dumps(data, ensure_ascii=False, sort_keys=True, indent=1, allow_nan=False) + "\n").encode()


def _by_class(pairs: tuple[tuple[int, int], ...]) -> dict[str, int]:
    return {str(priority): count for priority, count in pairs}


def _read_classes(raw: dict[str, Any]) -> tuple[tuple[int, int], ...]:
    return tuple(sorted((_priority(key), _whole(count)) for key, count in raw.items()))


def _lesser(lesser: Lesser | None) -> dict[str, int]:
    return {} if lesser is None else {key: getattr(lesser, name) for name, key in LESSER.items()}


def _segment(segment: Segment) -> dict[str, object]:
    place = {"from": segment.start, "to": segment.end}
    if isinstance(segment, WholeKeeper):
        return {"kind": "keeper", **place}
    if isinstance(segment, SplitBillet):
        halves = [_milled(half) for half in segment.halves]
        return {"kind": "billet", **place, "split": segment.split, "halves": halves}
    return {"kind": "billet", **place, **_milled(segment)}


def _milled(billet: Billet) -> dict[str, object]:
    return {
        "layout": billet.layout,
        "face_loss": billet.face_loss,
        "edge_loss": billet.edge_loss,
        "strips": [
            {
                "from": strip.start,
                "to": strip.end,
                "keeper": strip.keeper,
                "sticks": [_stick(stick) for stick in strip.sticks],
            }
            for strip in billet.strips
        ],
    }


def _stick(stick: Stick) -> dict[str, object]:
    return {
        "from": stick.start,
        "to": stick.end,
        "turned": stick.turned,
        "keeper": stick.keeper,
        "blanks": [
            {
                "blank": cut.blank,
                "extra": cut.extra,
                "from": cut.start,
                "to": cut.end,
                "clear_end": cut.clear_end,
            }
            for cut in stick.blanks
        ],
        "keepers": [{"from": keeper.start, "to": keeper.end} for keeper in stick.keepers],
    }


def load_plan(data: bytes) -> Plan:
    """Return the plan that the bytes of a plan file hold.

    Raises
    ------
    PlanFileError
        If the bytes are not JSON, not a plan file, of another version, or a field is missing or mistyped.
    """
    try:
        raw = json.loads(data.decode("utf-8"), object_pairs_hook=_each_once)
    except PlanFileError:
        raise
    except (ValueError, RecursionError) as error:
        raise PlanFileError(
            f"the file is not JSON ({error}); expected a plan.json that yieldplan wrote"
        ) from None
    if not isinstance(raw, dict) or raw.get("format") != FORMAT:
        raise PlanFileError("the file is not a yieldplan plan; expected a plan.json that yieldplan wrote")
    if raw.get("version") != VERSION or raw["version"] is True:
        raise PlanFileError(
            f"the plan file is of version {raw.get('version')!r}; this program reads {VERSION}"
        )
    try:
        return _read_plan(raw)
    except (KeyError, TypeError, ValueError, AttributeError, OverflowError) as error:
        detail = f"no {error} where one belongs" if isinstance(error, KeyError) else str(error)
        raise PlanFileError(f"the plan file is damaged: {detail}") from None


def _each_once(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    """Return an object of the file; of two fields of one name nobody could say which counts."""
    found = dict(pairs)
    if len(found) < len(pairs):
        names = [name for name, _ in pairs]
        twice = next(name for name in names if names.count(name) > 1)
        raise PlanFileError(f"the plan file is damaged: {twice!r} stands twice in one place")
    return found


def _rows(raw: dict[str, Any], key: str) -> list[Any]:
    value = raw[key]
    if not isinstance(value, list):
        raise TypeError(f"{key!r} is {value!r}, not a list")
    return value


def _priority(key: str) -> int:
    if not (key.isascii() and key.isdecimal() and len(key) < 10):
        raise ValueError(f"{key!r} is not a priority class")
    return int(key)


def _read_plan(raw: dict[str, Any]) -> Plan:
    proof, account = raw["proof"], raw["account"]
    return Plan(
        input_name=_text(raw["input"]["name"]),
        input_sha256=_text(raw["input"]["sha256"]),
        proof=Proof(
            missing=_read_classes(proof["missing"]),
            net_worth=_whole(proof["net_worth"]),
            bound=_whole(proof["bound"]),
            gap=_number(proof["gap"]),
            proven=_flag(proof["proven"]),
            missing_at_least=_read_classes(proof.get("missing_at_least", {})),
            lesser=_read_lesser(proof),
        ),
        made=_counts(raw["made"]),
        extra=_counts(raw["extra"]),
        missing=_counts(raw["missing"]),
        account=Account(
            volume_in=_whole(account["in"]),
            blanks=_whole(account["blanks"]),
            keepers=_whole(account["keepers"]),
            kerf=_whole(account["kerf"]),
            shavings=_whole(account["shavings"]),
            trimmings=_whole(account["trimmings"]),
        ),
        offcuts=tuple(
            OffcutPlan(
                offcut=_text(drawn["offcut"]),
                copy=_whole(drawn["copy"]),
                segments=tuple(_read_segment(segment) for segment in _rows(drawn, "segments")),
            )
            for drawn in _rows(raw, "offcuts")
        ),
    )


def _read_lesser(proof: dict[str, Any]) -> Lesser | None:
    if not any(key in proof for key in LESSER.values()):
        return None
    return Lesser(**{name: _whole(proof[key]) for name, key in LESSER.items()})


def _read_segment(raw: dict[str, Any]) -> Segment:
    start, end = _whole(raw["from"]), _whole(raw["to"])
    if raw["kind"] == "keeper":
        return WholeKeeper(start=start, end=end)
    if raw["kind"] != "billet":
        raise ValueError(f"a segment of kind {raw['kind']!r}; expected keeper or billet")
    if "split" not in raw:
        return _read_milled(raw, start, end)
    near, far = (_read_milled(half, start, end) for half in _rows(raw, "halves"))
    return SplitBillet(start=start, end=end, split=_whole(raw["split"]), halves=(near, far))


def _read_milled(raw: dict[str, Any], start: int, end: int) -> Billet:
    if raw["layout"] not in ("rip first", "resaw first"):
        raise ValueError(f"a layout {raw['layout']!r}; expected rip first or resaw first")
    return Billet(
        start=start,
        end=end,
        layout=raw["layout"],
        face_loss=_whole(raw["face_loss"]),
        edge_loss=_whole(raw["edge_loss"]),
        strips=tuple(
            Strip(
                start=_whole(strip["from"]),
                end=_whole(strip["to"]),
                keeper=_flag(strip["keeper"]),
                sticks=tuple(_read_stick(stick) for stick in _rows(strip, "sticks")),
            )
            for strip in _rows(raw, "strips")
        ),
    )


def _read_stick(raw: dict[str, Any]) -> Stick:
    for cut in _rows(raw, "blanks"):
        if cut["clear_end"] not in ("A", "B"):
            raise ValueError(f"a clear end {cut['clear_end']!r}; expected A or B")
    return Stick(
        start=_whole(raw["from"]),
        end=_whole(raw["to"]),
        turned=_flag(raw["turned"]),
        keeper=_flag(raw["keeper"]),
        blanks=tuple(
            CutBlank(
                blank=_text(cut["blank"]),
                extra=_flag(cut["extra"]),
                start=_whole(cut["from"]),
                end=_whole(cut["to"]),
                clear_end=cut["clear_end"],
            )
            for cut in raw["blanks"]
        ),
        keepers=tuple(Keeper(start=_whole(k["from"]), end=_whole(k["to"])) for k in _rows(raw, "keepers")),
    )


def _whole(value: object) -> int:
    if isinstance(value, bool) or not isinstance(value, int):
        raise TypeError(f"{value!r} is not a whole number")
    return value


def _number(value: object) -> float:
    if isinstance(value, bool) or not isinstance(value, (int, float)):
        raise TypeError(f"{value!r} is not a number")
    return float(value)


def _flag(value: object) -> bool:
    if not isinstance(value, bool):
        raise TypeError(f"{value!r} is neither true nor false")
    return value


def _text(value: object) -> str:
    if not isinstance(value, str):
        raise TypeError(f"{value!r} is not text")
    return value


def _counts(raw: dict[str, Any]) -> tuple[tuple[str, int], ...]:
    return tuple((name, _whole(count)) for name, count in raw.items())
