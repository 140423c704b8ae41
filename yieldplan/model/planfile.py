"""plan.json, version 2: the plan as bytes, and back. The same plan gives the same bytes."""

from __future__ import annotations

import json
from itertools import islice
from reprlib import repr as short
from typing import TYPE_CHECKING, Any

from yieldplan.model.errors import PlanFileError

if TYPE_CHECKING:
    from yieldplan.model.plan import Plan

FORMAT, VERSION = "yieldplan", 2
_MOST_SAID = 5


def dump_plan(plan: Plan) -> bytes:
    """Return the plan file's bytes: UTF-8 JSON, keys sorted, ending in a newline."""
    from yieldplan.model.plandata import plain  # noqa: PLC0415 - slow to load

    data = {"format": FORMAT, "version": VERSION, **plain(plan)}
    return (json.dumps(data, ensure_ascii=False, sort_keys=True, indent=1, allow_nan=False) + "\n").encode()


def load_plan(data: bytes) -> Plan:
    """Return the plan that the bytes of a plan file hold.

    Raises
    ------
    PlanFileError
        If the bytes are not JSON, not a plan file, of another version, or a key is missing, unknown or mistyped.
    """
    from yieldplan.model.plandata import DamagedError, faults, structured  # noqa: PLC0415 - slow to load

    raw = _parse(data)
    if not isinstance(raw, dict) or raw.pop("format", None) != FORMAT:
        raise PlanFileError("the file is not a yieldplan plan; expected a plan.json that yieldplan wrote")
    version = raw.pop("version", None)
    if version == 1 and version is not True:
        raise PlanFileError(
            "the plan file is of version 1, by an earlier edition whose rules were others; expected version 2; "
            "plan the same input again"
        )
    if version != VERSION:
        raise PlanFileError(f"the plan file is of version {short(version)}; this program reads {VERSION}")
    try:
        return structured(raw)
    except DamagedError as error:
        found = list(islice(faults(error), _MOST_SAID + 1))
        said = "; ".join(found[:_MOST_SAID]) + ("; and so on" if len(found) > _MOST_SAID else "")
        raise PlanFileError(f"the plan file is damaged: {said}") from None


def _parse(data: bytes) -> Any:
    try:
        return json.loads(data.decode("utf-8"), object_pairs_hook=_each_once)
    except PlanFileError:
        raise
    except (ValueError, RecursionError) as error:
        raise PlanFileError(
            f"the file is not JSON ({error}); expected a plan.json that yieldplan wrote"
        ) from None


def _each_once(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    """Return an object of the file; of two values under one key nobody could say which counts."""
    found = dict(pairs)
    if len(found) < len(pairs):
        names = [name for name, _ in pairs]
        twice = next(name for name in names if names.count(name) > 1)
        raise PlanFileError(f"the plan file is damaged: {short(twice)} stands twice in one place")
    return found
