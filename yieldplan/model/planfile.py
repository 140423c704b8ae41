"""plan.json, version 2: the plan as bytes, and back: nothing coerced, no key ignored. Equal plans are equal bytes.

The data has the fields of :class:`Plan` and of what it is made of, but for the names in :data:`KEYS`: a dot in one
means an object within, as in ``{"settings": {"saws": 8}}``. Halves of a split billet leave out their place along the
offcut, which is the billet's.
"""

from __future__ import annotations

import json
from dataclasses import fields, is_dataclass
from itertools import islice
from reprlib import repr as short
from typing import TYPE_CHECKING, Any, Literal, get_args, get_origin

from cattrs import AttributeValidationNote, Converter
from cattrs.cols import homogenous_tuple_structure_factory
from cattrs.errors import (
    BaseValidationError,
    ClassValidationError,
    ForbiddenExtraKeysError,
    IterableValidationError,
)
from cattrs.gen import make_dict_structure_fn, make_dict_unstructure_fn, override

from yieldplan.model.errors import PlanFileError
from yieldplan.model.plan import SPARES, Billet, Plan, Proof, SplitBillet, Work

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

FORMAT, VERSION = "yieldplan", 2
_MOST_SAID = 5

MOST = 10**30
"""No number of a plan is longer than 30 figures."""

KEYS = {
    "input_name": "input.name",
    "input_sha256": "input.sha256",
    "price": "hundredths_for_a_board_foot",
    "volume_in": "in",
    "saw_settings": "settings.saws",
    "planer_settings": "settings.planer",
    "stop_settings": "settings.stop",
    "start": "from",
    "end": "to",
}
"""Fields that have another name in the data."""

_GROUPS: dict[type, str] = {Plan: "input", Work: "settings"}
"""The object within each that its fields with a dot stand in."""

_LEFT_OUT = ("price", "odd_boards")
"""Fields that the data leave out where they say nothing."""

_Counts = tuple[tuple[str, int], ...]
_data = Converter(forbid_extra_keys=True)


def dump_plan(plan: Plan) -> bytes:
    """Return the plan file's bytes: UTF-8 JSON, keys sorted, ending in a newline."""
    data = {"format": FORMAT, "version": VERSION, **_data.unstructure(plan)}
    return (json.dumps(data, ensure_ascii=False, sort_keys=True, indent=1, allow_nan=False) + "\n").encode()


def load_plan(data: bytes) -> Plan:
    """Return the plan that the bytes of a plan file hold.

    Raises
    ------
    PlanFileError
        If the bytes are not JSON, not a plan file, of another version, or a key is missing, unknown or mistyped.
    """
    try:
        raw = json.loads(data.decode("utf-8"), object_pairs_hook=_each_once)
    except PlanFileError:
        raise
    except (ValueError, RecursionError) as error:
        said = f"the file is not JSON ({error}); expected a plan.json that yieldplan wrote."
        raise PlanFileError(said) from None
    if not isinstance(raw, dict) or raw.pop("format", None) != FORMAT:
        raise PlanFileError("the file is not a yieldplan plan; expected a plan.json that yieldplan wrote.")
    version = raw.pop("version", None)
    if version == 1 and version is not True:
        raise PlanFileError(
            "the plan file is of version 1, by an earlier edition whose rules were others; expected version 2; "
            "plan the same input again."
        )
    if version != VERSION:
        raise PlanFileError(f"the plan file is of version {short(version)}; this program reads {VERSION}.")
    try:
        return _data.structure(raw, Plan)
    except BaseValidationError as error:
        found = list(islice(_faults(error), _MOST_SAID + 1))
        said = "; ".join(found[:_MOST_SAID]) + ("; and so on" if len(found) > _MOST_SAID else "")
        raise PlanFileError(f"the plan file is damaged: {said}.") from None


def _each_once(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    """Return an object of the file; of two values under one key nobody could say which counts."""
    found = dict(pairs)
    if len(found) < len(pairs):
        names = [name for name, _ in pairs]
        twice = next(name for name in names if names.count(name) > 1)
        raise PlanFileError(f"the plan file is damaged: {short(twice)} is there twice in one place.")
    return found


def _faults(error: Exception, place: str = "") -> Iterator[str]:
    """Yield all that is wrong, each fault with its place in the data."""
    if isinstance(error, (ClassValidationError, IterableValidationError)):
        inside, here = error.group_exceptions()
        for fault, note in inside:
            if isinstance(note, AttributeValidationNote):
                step = f".{KEYS.get(note.name, note.name)}"
            else:
                step = f"[{short(note.index)}]"
            yield from _faults(fault, (place + step).removeprefix("."))
        for fault in here:
            yield from _faults(fault, place)
    elif isinstance(error, KeyError):
        yield f"{place} is missing"
    elif isinstance(error, ForbiddenExtraKeysError):
        unknown = ", ".join(map(short, sorted(error.extra_fields)))
        yield f"{place or 'the plan'} has {unknown}, which is not a key there"
    else:
        yield f"{place or 'the plan'} is {error}"


def _a(kind: Any, value: Any, expected: str) -> Any:
    """Return the value if it is of that kind; True is no number, nor is what is endless or beyond :data:`MOST`."""
    if not isinstance(value, kind) or (isinstance(value, bool) and kind is not bool):
        raise ValueError(f"{short(value)}, expected {expected}")
    if isinstance(value, int | float) and not abs(value) < MOST:
        raise ValueError(f"{short(value)}, expected {expected} of at most 30 figures")
    return value


def _strict(kind: Any, expected: str) -> Callable[[object, object], Any]:
    return lambda raw, _: _a(kind, raw, expected)


def _one_of(raw: object, cls: Any) -> object:
    words = get_args(cls)
    if raw not in words:
        raise ValueError(f"{short(raw)}, expected {' or '.join(words)}")
    return raw


def _counts(raw: object, _: object) -> _Counts:
    return tuple(_data.structure(_a(dict, raw, "an object"), dict[str, int]).items())


def _classes(raw: object, _: object) -> _Counts:
    """Return counts by priority, spares last."""

    def place(entry: tuple[str, int]) -> tuple[bool, int]:
        name = entry[0]
        if name != SPARES and not (name.isascii() and name.isdecimal() and len(name) < 10):
            raise ValueError(f"{short(name)}, expected the number of a class, or {SPARES}")
        return name == SPARES, 0 if name == SPARES else int(name)

    return tuple(sorted(_counts(raw, _), key=place))


def _billet(raw: object, _: object) -> object:
    return _data.structure(raw, SplitBillet if isinstance(raw, dict) and "split" in raw else Billet)


def _halves(raw: object, _: object) -> object:
    if not isinstance(raw, list) or len(raw) != 2:
        raise ValueError(f"{short(raw)}, expected a list of two")
    return _data.structure(raw, tuple[Billet | None, ...])


def _flat(raw: dict[str, Any], cls: type) -> dict[str, Any]:
    """Return an object of the data as its class has it: without an object within, and halves in their place."""
    if cls is SplitBillet and isinstance(raw.get("halves"), list):
        place = {key: raw[key] for key in ("from", "to") if key in raw}
        return raw | {"halves": [half | place if isinstance(half, dict) else half for half in raw["halves"]]}
    if group := _GROUPS.get(cls):
        try:
            within = _a(dict, raw[group], "an object")
        except (KeyError, ValueError) as error:
            error.add_note(AttributeValidationNote("", group, dict))
            raise ClassValidationError("", [error], cls) from None
        others = {key: value for key, value in raw.items() if key != group}
        return others | {f"{group}.{key}": value for key, value in within.items()}
    return raw


def _nested(flat: dict[str, Any], cls: type) -> dict[str, Any]:
    """Return what :func:`_flat` makes this of."""
    if cls is SplitBillet:
        for half in filter(None, flat["halves"]):
            del half["from"], half["to"]
    if group := _GROUPS.get(cls):
        flat[group] = {key.partition(".")[2]: flat.pop(key) for key in tuple(flat) if "." in key}
    return flat


def _overrides(cls: Any) -> dict[str, Any]:
    hooks: dict[str, Any] = {"price": _strict(int, "a whole number"), "halves": _halves}
    if cls is Proof:
        hooks |= {"missing": _classes, "missing_at_least": _classes}
    return {
        name: override(rename=KEYS.get(name), struct_hook=hooks.get(name), omit_if_default=name in _LEFT_OUT)
        for name in (field.name for field in fields(cls))
    }


def _reader(cls: Any) -> Callable[[object, object], object]:
    read = make_dict_structure_fn(cls, _data, **_overrides(cls))
    return lambda raw, _: read(_flat(_a(dict, raw, "an object"), cls), cls)


def _writer(cls: Any) -> Callable[[object], dict[str, Any]]:
    write = make_dict_unstructure_fn(cls, _data, **_overrides(cls))
    return lambda value: _nested(write(value), cls)


def _origin(cls: Any) -> object:
    return get_origin(cls)


def _many(cls: Any) -> Callable[[object, object], object]:
    read = homogenous_tuple_structure_factory(cls, _data)
    return lambda raw, _: read(_a(list, raw, "a list"), cls)


_data.register_structure_hook(int, _strict(int, "a whole number"))
_data.register_structure_hook(bool, _strict(bool, "true or false"))
_data.register_structure_hook(str, _strict(str, "text"))
_data.register_structure_hook(float, lambda raw, _: float(_a(float | int, raw, "a number")))
_data.register_structure_hook_func(lambda cls: _origin(cls) is Literal, _one_of)
_data.register_structure_hook_factory(is_dataclass, _reader)
_data.register_unstructure_hook_factory(is_dataclass, _writer)
_data.register_structure_hook_factory(lambda cls: _origin(cls) is tuple and ... in get_args(cls), _many)
_data.register_structure_hook_func(lambda cls: cls == _Counts, _counts)
_data.register_unstructure_hook_func(lambda cls: cls == _Counts, dict)
_data.register_structure_hook(Billet | SplitBillet, _billet)
