"""Best plans of tiny jobs by plain enumeration, written from the rules for the tests alone.

Nothing here comes from the solver; of the model it shares the data types, of the recheck what that knows of wood (R6's
sizes, R7's angles). Every cutting of every offcut is tried, at every mark across and along the sticks; billets lie at
the places of the normal form (R12), or at every mark. Offcuts are then put together. All in whole marks, exact.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import partial
from itertools import groupby
from typing import TYPE_CHECKING, Any, Literal

from brute_bench import Bench, word
from brute_sawing import Milled
from brute_wood import Cutter

from yieldplan.model import SPARES, Billet, CutBlank, OffcutPlan, SplitBillet, Stick, Strip

if TYPE_CHECKING:
    from collections.abc import Iterator

    from brute_rows import Labels

    from yieldplan.model import Job, Offcut

    States = dict[tuple[int, int], Labels]
    """Labels by the kinds in pairs of which one stands alone in a species that is done, and in this one: a bit each."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Answer:
    """The best that can be done: blanks missing by class, spares last; least cost; cuttings that do it."""

    missing: tuple[tuple[str, int], ...]
    cost: int
    drawn: tuple[OffcutPlan, ...]


def best(job: Job, places: Literal["normal", "every"] = "normal") -> Answer:
    """Return the best that can be done with a job.

    Parameters
    ----------
    job
        A tiny one.
    places
        Where billets are tried: at the places of the normal form, or at every mark.
    """
    bench = Bench(job)
    known: States = {(0, 0): {0: [(0, 0, None)]}}
    cutters: list[tuple[Cutter, int]] = []
    for _, offcuts in groupby(sorted(job.offcuts, key=_species), key=_species):
        for offcut in offcuts:
            cutter = Cutter(bench, offcut)
            cuttings = bench.by_odd(cutter.cuttings(at_every_mark=places == "every"))
            for copy in range(1, offcut.qty + 1):
                known = _with_one_more(bench, known, cuttings, len(cutters))
                cutters.append((cutter, copy))
        known = _in_pairs(bench, known)
    found = min(
        (answer for labels in known.values() for answer in _answers(bench, labels)),
        key=lambda answer: answer[:2],
    )
    drawn = []
    parts = found[2]
    while parts is not None:
        parts, number, cutting = parts
        cutter, copy = cutters[number]
        drawn.append(_drawn(cutter, copy, cutting))
    return Answer(missing=found[0], cost=found[1], drawn=tuple(drawn[::-1]))


def _species(offcut: Offcut) -> str:
    return word(offcut.species)


def _with_one_more(bench: Bench, known: States, cuttings: dict[int, Labels], number: int) -> States:
    """Return the states with one more offcut, left alone or cut up."""
    grown: States = {}
    for (alone, odd), labels in known.items():
        bench.tally.merge(grown.setdefault((alone, odd), {}), labels)
        for more, some in cuttings.items():
            bench.tally.join(
                grown.setdefault((alone, odd ^ more), {}), labels, some, partial(_drawing, number)
            )
    return grown


def _in_pairs(bench: Bench, known: States) -> States:
    """Return the states that may stay when a species is done: of each kind in pairs one at most stands alone."""
    kept: States = {}
    for (alone, odd), labels in known.items():
        if not odd & (alone | ~bench.may_stand_alone):
            bench.tally.merge(kept.setdefault((alone | odd, 0), {}), labels)
    return kept


def _drawing(number: int, rest: Any, cutting: Any) -> tuple[Any, int, Any]:
    return rest, number, cutting


def _answers(bench: Bench, known: Labels) -> Iterator[tuple[tuple[tuple[str, int], ...], int, Any]]:
    for blanks, labels in known.items():
        counts = bench.tally.counts(blanks)
        missing = _missing(bench.job, counts)
        stops = {size for size, count in zip(bench.sizes, counts, strict=True) if count}
        for mask, cost, parts in labels:
            yield missing, cost + mask.bit_count() * bench.setting + len(stops) * bench.stop, parts


def _missing(job: Job, counts: tuple[int, ...]) -> tuple[tuple[str, int], ...]:
    classes = dict.fromkeys(sorted({blank.priority for blank in job.blanks}), 0)
    spares = 0
    for blank, count in zip(job.blanks, counts, strict=True):
        classes[blank.priority] += max(blank.need - count, 0)
        spares += blank.spare - max(count - blank.need, 0)
    return (*((str(priority), number) for priority, number in classes.items()), (SPARES, spares))


# A cutting as the plan's types have it


def _row(parts: Any) -> Iterator[tuple[int, Any, Any]]:
    """Yield place, tag and parts of the pieces of a row."""
    while parts is not None:
        place, tag, piece, parts = parts
        yield place, tag, piece


def _drawn(cutter: Cutter, copy: int, cutting: Any) -> OffcutPlan:
    billets = tuple(_billet(cutter, span, parts) for _, span, parts in _row(cutting))
    return OffcutPlan(offcut=cutter.stock.offcut.name, copy=copy, billets=billets)


def _billet(cutter: Cutter, span: tuple[int, int], parts: Any) -> Billet | SplitBillet:
    if parts[0] != "split":
        return _jointed(cutter, Milled(0, cutter.stock.width), span, parts)
    _, at, *both = parts
    (woods,) = (woods for place, *woods in cutter.stock.splits if place == at)
    near, far = (
        None if half is None else _jointed(cutter, wood, span, half)
        for wood, half in zip(woods, both, strict=True)
    )
    mark = cutter.bench.mark
    return SplitBillet(start=span[0] * mark, end=span[1] * mark, split=at * mark, halves=(near, far))


def _jointed(cutter: Cutter, wood: Milled, span: tuple[int, int], parts: Any) -> Billet:
    layout, strips = parts
    mark = cutter.bench.mark
    edge, face = cutter.stock.losses(wood, *span)
    made = []
    for start, size, sticks in _row(strips):
        first = start, start + size
        made.append(
            Strip(
                start=first[0] * mark,
                end=first[1] * mark,
                sticks=tuple(
                    _stick(
                        cutter,
                        span,
                        group,
                        cutter.stock.met(wood, span, layout, first, (at, at + deep)),
                        at,
                        deep,
                        key,
                    )
                    for at, (group, deep), key in _row(sticks)
                ),
            )
        )
    return Billet(
        start=span[0] * mark,
        end=span[1] * mark,
        layout=layout,
        face_loss=face * mark,
        edge_loss=edge * mark,
        strips=tuple(made),
    )


def _stick(
    cutter: Cutter,
    span: tuple[int, int],
    group: int,
    met: frozenset[int],
    start: int,
    size: int,
    key: tuple[int, int, int],
) -> Stick:
    mark = cutter.bench.mark
    blanks, mask, cost = key
    (parts,) = (label[2] for label in cutter.stick(*span, group, met)[blanks] if label[:2] == (mask, cost))
    on = cutter.moved(span, met)
    cuts = []
    for place, (kind, clear), _ in _row(parts):
        cuts.append(
            CutBlank(
                blank=cutter.bench.job.blanks[kind].name,
                start=(place + on) * mark,
                end=(place + on + cutter.bench.sizes[kind]) * mark,
                clear_end=clear,
            )
        )
    return Stick(
        start=start * mark,
        end=(start + size) * mark,
        turned=cutter.stock.groups[group].turned,
        blanks=tuple(cuts),
    )
