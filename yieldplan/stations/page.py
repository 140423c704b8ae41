"""The tape list as printed pages: each run drawn to scale over its list, the blanks at the end."""

from __future__ import annotations

from typing import TYPE_CHECKING

from reportlab.platypus import CondPageBreak

from yieldplan.pages.document import Document
from yieldplan.pages.paper import BOX, FOOT, GAP, HAND, PROSE, SET, grid, height_of, para, printable, width_of
from yieldplan.stations.drawing import drawn
from yieldplan.stations.words import (
    KIND_HEADS,
    both,
    division_words,
    how,
    kind_rows,
    listed,
    notes,
    obstacle_words,
    wood_words,
)

if TYPE_CHECKING:
    from collections.abc import Sequence

    from reportlab.platypus import Flowable, Table

    from yieldplan.pages.paper import Paper
    from yieldplan.stations.tape import Tape, TapeList


def pdf_bytes(found: TapeList, *, paper: Paper = "letter") -> bytes:
    """Return the pages of a tape list; the same list gives the same bytes."""
    name = found.survey.name
    document = Document(paper, f"Stations of {name}", f"{name}: stations")
    document.story += [para("Stations", 22.0, bold=True), para(how(found), FOOT, after=8.0)]
    for number, tape in enumerate(found.tapes):
        _put_tape(document, found, tape, first=number == 0)
    if found.kinds:
        _put_kinds(document, found)
    return document.drawn()


def _put_tape(document: Document, found: TapeList, tape: Tape, *, first: bool) -> None:
    """Put a run on the pages: whole on one where it fits, else its drawing with the first rows of its list."""
    marks = found.survey.marks
    picture, below = drawn(tape, document.measure, linear=found.survey.linear)
    begin: list[Flowable] = [
        para(tape.run.name, SET, bold=True, before=0.0 if first else 14.0),
        para(division_words(tape.division, marks)),
        para(f"Drawn 1 : {below}, the start on the left.", FOOT, after=6.0),
        picture,
    ]
    heads, rows = listed(tape, marks)
    lines = _table(("", *heads), [(BOX, *cells) for cells in rows], document.measure)
    document.running()
    whole = height_of([*begin, lines], document.measure)
    start = height_of(begin, document.measure) + _start_of(lines, document.measure)
    document.story += [CondPageBreak(whole if whole < document.room else start), *begin]
    document.running(para(f"{tape.run.name} (continued)", SET, bold=True))
    document.story.append(lines)
    document.story += [para(note, PROSE) for note in notes(tape, marks)]
    if tape.run.obstacles:
        document.story.append(para(_in_the_way(found, tape), FOOT, before=4.0))


def _in_the_way(found: TapeList, tape: Tape) -> str:
    """Return what stands in the way of a run, with its place and the room that it needs."""
    marks = found.survey.marks
    parts = []
    for obstacle in sorted(tape.run.obstacles, key=lambda obstacle: obstacle.start):
        room = f", {both(obstacle.clear, marks)} clear" if obstacle.clear else ""
        parts.append(f"{obstacle_words(obstacle, marks)}{room}")
    return f"In the way: {'; '.join(parts)}."


def _put_kinds(document: Document, found: TapeList) -> None:
    lines = _table(KIND_HEADS, list(kind_rows(found)), document.measure)
    document.running()
    begin = [para("Blanks", SET, bold=True, before=14.0)]
    together = height_of(begin, document.measure) + _start_of(lines, document.measure)
    document.story += [CondPageBreak(together), *begin, lines, para(wood_words(found))]


def _table(heads: Sequence[str], rows: Sequence[Sequence[str]], width: float) -> Table:
    """Return a table as wide as its words ask, or the page allows: the widest columns give way first."""
    asked = [
        max([width_of(head, FOOT, bold=True), *(width_of(printable(row[place]), HAND) for row in rows)])
        + GAP
        + 1
        for place, head in enumerate(heads)
    ]
    while (over := sum(asked) - width) > 0:
        widest = asked.index(max(asked))
        asked[widest] -= min(over, 4.0)
    return grid(heads, rows, asked)


def _start_of(lines: Table, width: float) -> float:
    """Return the height of a table's heading and of the rows that stay with it."""
    lines.wrap(width, 1e6)
    return float(sum(lines._rowHeights[:3]))
