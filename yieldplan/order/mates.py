"""Which two blanks of a kind in pairs belong together: both of one board first, then what is left of two boards."""

from __future__ import annotations

from collections import Counter
from typing import TYPE_CHECKING

from yieldplan.model.words import fold
from yieldplan.pages.wording import listed

if TYPE_CHECKING:
    from collections.abc import Sequence

    from yieldplan.model import Job, Plan
    from yieldplan.model.pieces import PieceNames
    from yieldplan.order.data import Mark

ALONE = 0
"""The number of one that has no like."""


def marks_of(job: Job, plan: Plan, names: PieceNames) -> dict[tuple[str, str], list[Mark]]:
    """Return the marks on a board's blanks of a kind in pairs, by board and blank; each kind is numbered from 1."""
    found: dict[tuple[str, str], list[Mark]] = {}
    for name in (blank.name for blank in job.blanks if blank.pairs):
        number, single = 0, dict[str, list[str]]()
        for drawn in plan.offcuts:
            board, many = names.board(drawn), sum(cut.blank == name for cut in drawn.blanks)
            first, number = number + 1, number + many // 2
            found[board, name] = [(n, board) for n in range(first, number + 1) for _ in range(2)]
            if many % 2:
                single.setdefault(fold(job.offcut(drawn.offcut).species), []).append(board)
        for boards in single.values():
            for one, other in zip(boards[::2], boards[1::2], strict=False):
                number += 1
                found[one, name].append((number, other))
                found[other, name].append((number, one))
            if len(boards) % 2:
                found[boards[-1], name].append((ALONE, ""))
    return found


def mark_words(marks: Sequence[Mark], board: str) -> str:
    """Return which pairs the blanks that one step cuts belong to: ``both of pairs 1, 2; one of pair 5, with P020``."""
    counts = Counter(mark for mark in marks if mark[0] != ALONE)
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
