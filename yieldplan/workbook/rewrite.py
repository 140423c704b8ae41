"""A csv file with some rows changed, and all else in it as it was. For workbooks see :mod:`rewrite_xlsx`."""

from __future__ import annotations

import csv
import io
import re
from collections import defaultdict
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

Value = str | int | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Change:
    """One row: made like the row ``like`` but for some values, or emptied (``values`` None).

    ``row`` is the number of the row or line; None is a new one.
    """

    row: int | None
    like: int
    values: Mapping[int, Value] | None = field(default_factory=dict)


def csv_with(data: bytes, changes: Sequence[Change], separator: str) -> bytes:
    """Return a csv file with rows changed; new ones follow the row that they are like, emptied ones are gone."""
    encoding = _encoding(data)
    text = data.decode(encoding)
    end = "\r\n" if "\r\n" in text else "\n"
    before, after = {change.row: change for change in changes if change.row}, defaultdict(list)
    for change in changes:
        if change.row is None:
            after[change.like].append(change)
    records = _records(text, separator)
    fields = {line: list(values) for line, _, values in records}
    parts = []
    for line, raw, _ in records:
        if line not in before and line not in after:
            parts.append(raw)
            continue
        own = before.get(line)
        if own is None:
            parts.append(raw if raw.endswith(("\n", "\r")) else raw + end)
        written = [own] if own and own.values is not None else []
        parts += [_line(fields[one.like], one.values or {}, separator) + end for one in written + after[line]]
    return "".join(parts).encode(encoding)


def _encoding(data: bytes) -> str:
    """Return how a csv file that could be read is encoded."""
    if data.startswith((b"\xff\xfe", b"\xfe\xff")):
        return "utf-16"
    if b"\0" in data:
        return "utf-16-le" if data[1::2].count(0) > data[0::2].count(0) else "utf-16-be"
    try:
        data.decode("utf-8")
    except UnicodeDecodeError:
        return "cp1252"
    return "utf-8"


def _records(text: str, separator: str) -> list[tuple[int, str, list[str]]]:
    """Return the rows of a csv text: the line that each begins on, its text as it stands, and its fields."""
    lines = re.findall(r"[^\r\n]*(?:\r\n|\r|\n)|[^\r\n]+$", text)
    skipped = 1 if lines and re.match(r"\ufeff?sep=", lines[0], re.IGNORECASE) else 0
    found: list[tuple[int, str, list[str]]] = [(1, lines[0], [])] if skipped else []
    reader = csv.reader(io.StringIO("".join(lines[skipped:]), newline=""), delimiter=separator)
    start = 0
    for values in reader:
        stop = reader.line_num
        raw = "".join(lines[skipped + start : skipped + stop])
        found.append((skipped + start + 1, raw, values))
        start = stop
    return found


def _line(like: Sequence[str], values: Mapping[int, Value], separator: str) -> str:
    fields = list(like)
    for column, value in values.items():
        fields += [""] * (column - len(fields))
        fields[column - 1] = "" if value is None else str(value)
    out = io.StringIO()
    csv.writer(out, delimiter=separator, lineterminator="\r\n").writerow(fields)  # it quotes what ends a line
    return out.getvalue().removesuffix("\r\n")
