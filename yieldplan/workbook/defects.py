"""The Defects sheet, once it is known what is in the pile."""

from __future__ import annotations

from fractions import Fraction
from typing import TYPE_CHECKING

from yieldplan.measure import INCH, Rounding
from yieldplan.model import Defect
from yieldplan.model.words import fold
from yieldplan.workbook import cells
from yieldplan.workbook.offcuts import MOST_DEFECTS
from yieldplan.workbook.suggest import Names, did_you_mean, usual_kind

if TYPE_CHECKING:
    from yieldplan.model import Offcut
    from yieldplan.workbook.offcuts import Pile
    from yieldplan.workbook.table import Row, Table

_LONGEST_KNOT = 12 * INCH
"""Along the grain; a longer one is looked at twice (common practice, no source)."""


def read_defects(sheet: Table, pile: Pile | None) -> dict[str, tuple[Defect, ...]]:
    """Return the defects by the folded name of their offcut.

    ``pile`` is None where there is no Offcuts sheet to look the names up in.
    """
    found: dict[str, list[Defect]] = {}
    names = Names(row.cell("Offcut").text for row, _ in pile.named.values()) if pile else Names(())
    for row in sheet.rows():
        name = cells.name(row, "Offcut")
        board, offcut = None, None
        if pile and row.good("Offcut"):
            board, offcut = pile.named.get(fold(name), (None, None))
            if board is None and pile.complete:
                step = names.did_you_mean(name)
                row.fault("Offcut", "is not in the pile", "the name of an offcut", step)
        defect = _defect(row, board, offcut)
        if board is None:
            continue
        marked = found.setdefault(fold(name), [])
        if len(marked) == MOST_DEFECTS:
            row.fault("Offcut", f"has more than {MOST_DEFECTS} defects", f"at most {MOST_DEFECTS} an offcut")
        elif defect is not None:
            marked.append(defect)
    return {name: tuple(marked) for name, marked in found.items()}


def _defect(row: Row, board: Row | None, offcut: Offcut | None) -> Defect | None:
    """Return the defect of a row, or None where the row or its offcut is at fault.

    It is held against whatever is known of the offcut's row, though that be at fault elsewhere.
    """
    sizes = ("Length", "Width", "Thickness")
    length, width, thickness = (board.typed(size) if board else None for size in sizes)
    if width is not None and thickness is not None and width < thickness:  # such a row is turned
        width, thickness = thickness, width
    kind = cells.word(row, "Kind", required=True)
    x = _along(row, "From", "To", length, "length")
    y = _along(row, "Edge from", "Edge to", width, "width")
    face, depth = _face(row, thickness)
    note = cells.text(row, "Note")
    if offcut is None or row.failed:
        return None
    if likely := usual_kind(kind):
        row.warn("Kind", "is read as a kind of its own", f"did you mean {likely}?")
    size = (x[1] or 0) - x[0]
    if "knot" in fold(kind).split() and size > _LONGEST_KNOT:
        found = f"makes a knot {cells.shown(row, Fraction(size))} long"
        row.warn("To", found, "both ends are measured from end A; is one mistyped?")
    x1, x2 = _outward(row, ("From", "To"), x, offcut.length)
    y1, y2 = _outward(row, ("Edge from", "Edge to"), y, offcut.width)
    _, deep = _outward(row, ("Face", "Depth"), (Fraction(0), depth), offcut.thickness)
    return Defect(
        kind=kind,
        x1=x1,
        x2=x2,
        y1=y1,
        y2=y2,
        z1=offcut.thickness - deep if face == 2 else 0,
        z2=deep if face == 1 else offcut.thickness,
        through=deep == offcut.thickness,
        note=note,
    )


_Ends = tuple[Fraction, "Fraction | None"]
"""Where a defect starts and ends on one axis, as typed, in steps; None: at the far edge."""


def _along(row: Row, start: str, end: str, whole: Fraction | None, what: str) -> _Ends:
    """Return where a defect starts and ends on one axis; what is left out across is the edge of the piece.

    ``whole`` is the size of the piece, or None where it is not known.
    """
    optional = start == "Edge from"
    first = cells.exact_length(row, start, default=0 if optional else None)
    open_end = optional and row.cell(end).empty
    last = None if open_end else cells.exact_length(row, end)
    if last is not None and row.good(start, end) and last <= first:
        step = "swap the two" if last < first else "write from where to where the wood is bad"
        if whole is not None and 0 < 2 * last < first and first + last <= whole:
            beyond, size = (cells.shown(row, place) for place in (first + last, last))
            step = f"swap the two, or write {beyond} if {size} is how far it goes"
        expected = f"more than {start}, both measured from {'edge 1' if optional else 'end A'}"
        row.fault(end, f"is not beyond {start} ({row.cell(start).text or 0})", expected, step)
    _inside(row, end, last, whole, f"at most its {what}")
    _inside(row, start, first, whole, f"less than its {what}")
    return first, last


def _inside(row: Row, heading: str, place: Fraction | None, whole: Fraction | None, limit: str) -> None:
    """Report an end of a defect that lies beyond the piece."""
    if place is not None and whole is not None and row.good(heading) and place >= whole:
        if place == whole and limit.startswith("at most"):
            return
        step = cells.slip(row, heading, place, whole)
        row.fault(heading, "lies beyond the offcut", f"{limit}, {cells.shown(row, whole)}", step)


def _outward(row: Row, headings: tuple[str, str], ends: _Ends, whole: int) -> tuple[int, int]:
    """Return the two ends of a defect as marks, outward but within the piece, and at least a mark apart."""
    first = cells.in_marks(row, headings[0], ends[0], Rounding.DEFECT_FROM)
    last = whole if ends[1] is None else cells.in_marks(row, headings[1], ends[1], Rounding.DEFECT_TO)
    return min(first, whole - row.marks.mark), min(last, whole)


def _face(row: Row, thickness: Fraction | None) -> tuple[int, Fraction | None]:
    """Return from which face a defect goes and how deep, as typed; None where it goes through."""
    shown = "" if row.unread("Face") else fold(row.cell("Face").text).removesuffix(".0").removesuffix(",0")
    if shown in ("", "through"):
        if not row.cell("Depth").empty and not row.unread("Depth"):
            found, step = "is given for a defect that goes through", "or put 1 or 2 under Face"
            row.fault("Depth", found, "no depth", step)
        return 1, None
    if shown not in ("1", "2"):
        step = did_you_mean(shown, ("through", "1", "2")) or "face 1 is the hollow one, which was up"
        row.fault("Face", "is not a face", "through, 1 or 2", step)
        if row.cell("Depth").empty:
            return 1, None
    return 2 if shown == "2" else 1, _depth(row, thickness)


def _depth(row: Row, thickness: Fraction | None) -> Fraction | None:
    """Return how deep a defect goes from its face, as typed."""
    if row.cell("Depth").empty and not row.unread("Depth"):
        at = "Depth" if "Depth" in row.table.columns else "Face"
        found, expected = ("is empty", "a depth") if at == "Depth" else ("needs a depth", "a column Depth")
        row.fault(at, found, f"{expected}, because a face is named", "leave Face empty if it goes through")
        return None
    depth = cells.exact_length(row, "Depth", above_nothing=True)
    _inside(row, "Depth", depth, thickness, "at most its thickness")
    return depth
