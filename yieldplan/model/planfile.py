"""plan.json, version 2: the plan as bytes, and back. The same plan gives the same bytes."""

from __future__ import annotations

import json
from typing import Any

from yieldplan.model.errors import PlanFileError
from yieldplan.model.plan import (
    SPARES,
    Account,
    Billet,
    CutBlank,
    OffcutPlan,
    Plan,
    Proof,
    SplitBillet,
    Stick,
    Strip,
    Work,
)

FORMAT, VERSION = "yieldplan", 2

_COUNTS = ("offcuts", "billets", "sticks", "passes", "bandsaw_passes", "odd_cuts", "crosscuts")
_SETTINGS = ("saws", "planer", "stop")
_PARTS = ("blanks", "keepers", "kerf", "shavings", "trimmings")


def dump_plan(plan: Plan) -> bytes:
    """Return the plan file's bytes: UTF-8 JSON, keys sorted, ending in a newline."""
    proof, account, work = plan.proof, plan.account, plan.work
    data = {
        "format": FORMAT,
        "version": VERSION,
        "input": {"name": plan.input_name, "sha256": plan.input_sha256},
        "mark": plan.mark,
        **({} if plan.price is None else {"hundredths_for_a_board_foot": plan.price}),
        "proof": {
            "missing": dict(proof.missing),
            "missing_at_least": dict(proof.missing_at_least),
            "cost": proof.cost,
            "net_worth": proof.net_worth,
            "bound": proof.bound,
            "gap": proof.gap,
            "proven": proof.proven,
        },
        "made": dict(plan.made),
        "spare": dict(plan.spare),
        "missing": dict(plan.missing),
        "account": {"in": account.volume_in, **{part: getattr(account, part) for part in _PARTS}},
        "work": {
            "hundredths": work.hundredths,
            **{name: getattr(work, name) for name in _COUNTS},
            "settings": {
                "saws": work.saw_settings,
                "planer": work.planer_settings,
                "stop": work.stop_settings,
            },
        },
        "offcuts": [
            {"offcut": drawn.offcut, "copy": drawn.copy, "billets": [_billet(b) for b in drawn.billets]}
            for drawn in plan.offcuts
        ],
    }
    return (json.dumps(data, ensure_ascii=False, sort_keys=True, indent=1, allow_nan=False) + "\n").encode()


def _billet(billet: Billet | SplitBillet) -> dict[str, object]:
    place = {"from": billet.start, "to": billet.end}
    if isinstance(billet, SplitBillet):
        halves = [None if half is None else _layout(half) for half in billet.halves]
        return {**place, "split": billet.split, "halves": halves}
    return {**place, **_layout(billet)}


def _layout(billet: Billet) -> dict[str, object]:
    return {
        "layout": billet.layout,
        "face_loss": billet.face_loss,
        "edge_loss": billet.edge_loss,
        "strips": [
            {"from": strip.start, "to": strip.end, "sticks": [_stick(stick) for stick in strip.sticks]}
            for strip in billet.strips
        ],
    }


def _stick(stick: Stick) -> dict[str, object]:
    return {
        "from": stick.start,
        "to": stick.end,
        "turned": stick.turned,
        "blanks": [
            {
                "blank": cut.blank,
                "spare": cut.spare,
                "from": cut.start,
                "to": cut.end,
                "clear_end": cut.clear_end,
            }
            for cut in stick.blanks
        ],
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
    version = raw.get("version")
    if version == 1 and version is not True:
        raise PlanFileError(
            "the plan file is of version 1, by an earlier edition whose rules were others; expected version 2; "
            "plan the same input again"
        )
    if version != VERSION or version is True:
        raise PlanFileError(f"the plan file is of version {version!r}; this program reads {VERSION}")
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


def _class_order(name: str) -> tuple[bool, int]:
    if name == SPARES:
        return True, 0
    if not (name.isascii() and name.isdecimal() and len(name) < 10):
        raise ValueError(f"{name!r} is not a class of blanks")
    return False, int(name)


def _classes(raw: dict[str, Any]) -> tuple[tuple[str, int], ...]:
    return tuple((name, _whole(raw[name])) for name in sorted(raw, key=_class_order))


def _read_plan(raw: dict[str, Any]) -> Plan:
    proof, account, work = raw["proof"], raw["account"], raw["work"]
    settings = work["settings"]
    return Plan(
        input_name=_text(raw["input"]["name"]),
        input_sha256=_text(raw["input"]["sha256"]),
        mark=_whole(raw["mark"]),
        price=_whole(raw["hundredths_for_a_board_foot"]) if "hundredths_for_a_board_foot" in raw else None,
        proof=Proof(
            missing=_classes(proof["missing"]),
            missing_at_least=_classes(proof["missing_at_least"]),
            cost=_whole(proof["cost"]),
            net_worth=_whole(proof["net_worth"]),
            bound=_whole(proof["bound"]),
            gap=_number(proof["gap"]),
            proven=_flag(proof["proven"]),
        ),
        made=_counts(raw["made"]),
        spare=_counts(raw["spare"]),
        missing=_counts(raw["missing"]),
        account=Account(volume_in=_whole(account["in"]), **{part: _whole(account[part]) for part in _PARTS}),
        work=Work(
            hundredths=_whole(work["hundredths"]),
            **{name: _whole(work[name]) for name in _COUNTS},
            saw_settings=_whole(settings["saws"]),
            planer_settings=_whole(settings["planer"]),
            stop_settings=_whole(settings["stop"]),
        ),
        offcuts=tuple(
            OffcutPlan(
                offcut=_text(drawn["offcut"]),
                copy=_whole(drawn["copy"]),
                billets=tuple(_read_billet(billet) for billet in _rows(drawn, "billets")),
            )
            for drawn in _rows(raw, "offcuts")
        ),
    )


def _read_billet(raw: dict[str, Any]) -> Billet | SplitBillet:
    start, end = _whole(raw["from"]), _whole(raw["to"])
    if "split" not in raw:
        return _read_layout(raw, start, end)
    near, far = (None if half is None else _read_layout(half, start, end) for half in _rows(raw, "halves"))
    return SplitBillet(start=start, end=end, split=_whole(raw["split"]), halves=(near, far))


def _read_layout(raw: dict[str, Any], start: int, end: int) -> Billet:
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
        blanks=tuple(
            CutBlank(
                blank=_text(cut["blank"]),
                spare=_flag(cut["spare"]),
                start=_whole(cut["from"]),
                end=_whole(cut["to"]),
                clear_end=cut["clear_end"],
            )
            for cut in raw["blanks"]
        ),
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
