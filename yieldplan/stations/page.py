"""The tape list as printed pages: each run drawn to scale over its list, the blanks at the end."""

from __future__ import annotations

from typing import TYPE_CHECKING

from reportlab.platypus import CondPageBreak, PageBreak

from yieldplan.pages.document import Document
from yieldplan.pages.paper import BOX, FOOT, PROSE, SET, TOGETHER, grid, para
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
    from yieldplan.pages.paper import Paper
    from yieldplan.stations.tape import Tape, TapeList

TICK, STATION, FIGURES = 18.0, 46.0, 71.0
"""Points for a box to tick, for a station's number, and for a column of figures."""

KINDS = (140.0, 40.0, 130.0)
"""Points for the columns of the blanks, but for the last."""


def pdf_bytes(found: TapeList, *, paper: Paper = "letter") -> bytes:
    """Return the pages of a tape list, every run on its own; the same list gives the same bytes."""
    name = found.survey.name
    document = Document(paper, f"Stations of {name}", f"{name}: stations")
    document.story += [para("Stations", 22.0, bold=True), para(how(found), FOOT, after=8.0)]
    for tape in found.tapes:
        _put_tape(document, found, tape)
    if found.kinds:
        document.running()
        document.story += [CondPageBreak(TOGETHER), para("Blanks", SET, bold=True, before=14.0)]
        widths = [*KINDS, document.measure - sum(KINDS)]
        document.story += [grid(KIND_HEADS, list(kind_rows(found)), widths), para(wood_words(found))]
    return document.drawn()


def _put_tape(document: Document, found: TapeList, tape: Tape) -> None:
    """Put a run on the pages; those that it goes on to are headed by its name."""
    marks = found.survey.marks
    picture, below = drawn(tape, document.measure, linear=found.survey.linear)
    heads, rows = listed(tape, marks)
    widths = [TICK, STATION, *[FIGURES] * (len(heads) - 2)]
    if tape is not found.tapes[0]:
        document.running()
        document.story.append(PageBreak())
    document.story += [
        para(tape.run.name, SET, bold=True),
        para(division_words(tape.division, marks)),
        para(f"Drawn 1 : {below}, the start on the left.", FOOT, after=6.0),
        picture,
    ]
    document.running(para(f"{tape.run.name} (continued)", SET, bold=True))
    document.story += [
        grid(("", *heads), [(BOX, *cells) for cells in rows], [*widths, document.measure - sum(widths)]),
        *(para(note, PROSE) for note in notes(tape, marks)),
    ]
    obstacles = [
        obstacle_words(obstacle, marks) + (f", {both(obstacle.clear, marks)} clear" if obstacle.clear else "")
        for obstacle in sorted(tape.run.obstacles, key=lambda obstacle: obstacle.start)
    ]
    if obstacles:
        document.story.append(para(f"In the way: {'; '.join(obstacles)}.", FOOT, before=4.0))
