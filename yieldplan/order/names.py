"""Names of pieces as lists and cards say them: several at once, and short where the board is named above."""

from __future__ import annotations

from collections import Counter
from typing import TYPE_CHECKING

from yieldplan.pages.wording import listed

if TYPE_CHECKING:
    from collections.abc import Sequence

    from yieldplan.order.data import Mark

NUMBERS = ("no", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten")


def several(names: Sequence[str]) -> str:
    """Return the names of sticks as they are said: ``P006-1``, ``P006-1 and 2``, ``P006-1 to 4``, ``P006-1, 3``.

    What comes after the last sign of names with one stem is a number; all others are given in full.
    """
    if len(names) < 2:
        return "".join(names)
    parts = [name.rsplit("-", 1) for name in names]
    if len({part[0] for part in parts}) > 1 or not all(part[-1].isdecimal() for part in parts):
        return ", ".join(names)
    numbers = [int(part[-1]) for part in parts]
    if len(names) > 2 and numbers == list(range(numbers[0], numbers[-1] + 1)):
        return f"{names[0]} to {numbers[-1]}"
    if len(names) == 2:
        return f"{names[0]} and {numbers[1]}"
    return ", ".join([names[0], *map(str, numbers[1:])])


def short(name: str, board: str) -> str:
    """Return a name without its board's, for where that stands above; the board's own name stays.

    ``P006-1 to 3`` becomes ``1 to 3``, ``sticks 1 to 3 of P006`` becomes ``sticks 1 to 3``.
    """
    name = name.removesuffix(f" of {board}")
    rest = name.removeprefix(board)
    return rest.lstrip("-") if rest.startswith("-") else name


def called(names: Sequence[str], board: str) -> str:
    """Return pieces by their short names, with what they are: ``sticks 1 to 3``, ``billet A``, ``K1``."""
    whole = several(names)
    said = short(whole, board)
    if said == whole:
        return said
    if said in ("near", "far"):
        return f"{said} half"
    if not said[:1].isdecimal():
        return said if said.startswith("sticks") else f"billet {said}"
    return f"{'stick' if len(names) == 1 else 'sticks'} {said}"


def times(count: int) -> str:
    """Return how often: ``once``, ``twice``, ``three times``."""
    if count < 3:
        return ("not at all", "once", "twice")[count]
    return f"{NUMBERS[count] if count < len(NUMBERS) else count} times"


def mark_words(marks: Sequence[Mark], board: str) -> str:
    """Return which pairs the blanks that one step cuts belong to: ``both of pairs 1, 2; one of pair 5, with P020``."""
    counts = Counter(mark for mark in marks if mark[0])
    both = [str(number) for (number, _), count in counts.items() if count > 1]
    row = len(both) > 2 and int(both[-1]) - int(both[0]) == len(both) - 1
    said = f"{both[0]} to {both[-1]}" if row else listed(both, 99)
    words = [f"both of {'pair' if len(both) == 1 else 'pairs'} {said}"] if both else []
    words += [
        f"one of pair {number}" + ("" if other == board else f", with {other}")
        for (number, other), count in counts.items()
        if count == 1
    ]
    if len(marks) > counts.total():
        words.append("one alone")
    return "; ".join(words)
