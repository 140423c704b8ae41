"""What is crosscut from a stick: its section (R2, R6) and its blanks (R7 to R10)."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

from yieldplan.verify.boxes import reach, same_word
from yieldplan.verify.rows import Span, check_row
from yieldplan.verify.wood import readings, ring_span, stocked

if TYPE_CHECKING:
    from fractions import Fraction

    from yieldplan.model import Blank, CutBlank, Defect, Shop, Stick
    from yieldplan.verify.boxes import Box
    from yieldplan.verify.breach import Notebook
    from yieldplan.verify.wood import Stocked

Interval = tuple[int, int]


class Section(NamedTuple):
    """A stick's rough section: its intervals across y and across z in the billet's box."""

    across: Interval
    deep: Interval


class Flaw(NamedTuple):
    """A defect in the billet's box, after straightening; ``z`` is None where it lies at every z (R9)."""

    kind: str
    x: Interval
    y: Interval
    z: Interval | None

    def meets(self, rough: Section) -> bool:
        """Return whether it lies, somewhere along its length, in a stick of this rough section."""
        return _overlap(self.y, rough.across) and (self.z is None or _overlap(self.z, rough.deep))


def _overlap(one: Interval, other: Interval) -> bool:
    return one[0] < other[1] and other[0] < one[1]


def straightened(defect: Defect, box: Box, shop: Shop) -> Flaw:
    """Return where a defect counts as lying once the billet is jointed: wherever jointing may put it."""
    return Flaw(
        kind=defect.kind,
        x=reach(defect, shop),
        y=(defect.y1 - box.low - box.edge, defect.y2 - box.low - shop.edge_skim),
        z=None if defect.through else (defect.z1 - box.face, defect.z2 - shop.face_skim),
    )


def _first_blank(notes: Notebook, stick: Stick) -> Blank | None:
    """Return the first blank of a stick that the batch knows: the stick has its section."""
    return next((notes.blanks[cut.blank] for cut in stick.blanks if cut.blank in notes.blanks), None)


def _stocked(notes: Notebook, stick: Stick, box: Box) -> Stocked | None:
    blank = _first_blank(notes, stick)
    return None if blank is None else stocked(box.offcut, blank, notes.shop, turned=bool(stick.turned))


def planed_sizes(notes: Notebook, stick: Stick, box: Box) -> tuple[int, int] | None:
    """Return the width and thickness that a stick is planed to (R6); None where no blank of it is known."""
    found = _stocked(notes, stick, box)
    return None if found is None else (found.width, found.thickness)


def check_pieces(notes: Notebook, stick: Stick, rough: Section, box: Box, where: str) -> None:
    """Check a stick's section against its blanks, and everything that is crosscut from it."""
    shop = notes.shop
    if not stick.blanks:
        notes.note("R4", where, "it carries no blank; a plan does not list waste")
    spans = [Span(f"blank {cut.blank} ({n})", cut.start, cut.end) for n, cut in enumerate(stick.blanks, 1)]
    room = box.start + shop.stick_trim, box.end - shop.stick_trim
    check_row(notes, where, spans, room, shop.crosscut_kerf, rules=("R8", "R8", "R8"))
    sizes, first = _stocked(notes, stick, box), _first_blank(notes, stick)
    if sizes is not None:
        _check_section(notes, sizes, rough, where, turned=bool(stick.turned))
    flaws = [straightened(defect, box, shop) for defect in box.offcut.defects]
    flaws = [flaw for flaw in flaws if flaw.meets(rough)]
    for span, cut in zip(spans, stick.blanks, strict=True):
        place = f"{where}, {span.name}"
        blank = notes.blanks.get(cut.blank)
        if blank is None:
            notes.note("input", place, "the input asks for no blank of this name")
            continue
        if first is None or (blank.width, blank.thickness) != (first.width, first.thickness):
            notes.note(
                "R6",
                place,
                "its finished section differs from the first blank's; a stick has one section only",
            )
        _check_length(notes, blank, cut, place)
        _check_wood(notes, blank, box, place)
        _check_rings(notes, blank, box, rough.across, place, turned=bool(stick.turned))
        _check_flaws(notes, blank, cut, flaws, place)


def _check_section(notes: Notebook, sizes: Stocked, rough: Section, where: str, *, turned: bool) -> None:
    shop = notes.shop
    y, z = (end - start for start, end in rough)
    lies, found = ("turned", (z, y)) if turned else ("flat", (y, z))
    for word, has, needs, axis in (
        ("width", found[0], sizes.rough_width, "z" if turned else "y"),
        ("thickness", found[1], sizes.rough_thickness, "y" if turned else "z"),
    ):
        if has != needs:
            notes.note(
                "R6",
                where,
                f"its rough size across {axis} is {notes.size(has)}; its blanks lie {lies}, their {word} "
                f"needs {notes.size(needs)} there",
            )
        if has < shop.narrowest_rip:
            notes.note(
                "R2",
                where,
                f"its rough size across {axis} is {notes.size(has)}; the narrowest rip is "
                f"{notes.size(shop.narrowest_rip)}",
            )
    for word, size in (("width", sizes.width), ("thickness", sizes.thickness)):
        if not shop.thinnest_planed <= size <= shop.planer_width:
            notes.note(
                "R2",
                where,
                f"it is planed to a {word} of {notes.size(size)}; the planer takes "
                f"{notes.span(shop.thinnest_planed, shop.planer_width)}",
            )


def _check_length(notes: Notebook, blank: Blank, cut: CutBlank, where: str) -> None:
    length, needs = cut.end - cut.start, blank.length + notes.shop.length_allowance
    if length != needs:
        notes.note(
            "R8",
            where,
            f"it is {notes.size(length)} long; with its length allowance it takes {notes.size(needs)}",
        )


def _check_wood(notes: Notebook, blank: Blank, box: Box, where: str) -> None:
    offcut = box.offcut
    if blank.species and same_word(offcut.species) not in map(same_word, blank.species):
        notes.note(
            "R10",
            where,
            f"the offcut is of {offcut.species!r}; the blank takes only {', '.join(blank.species)}",
        )
    if blank.max_slope is None:
        return
    needs = f"the blank takes at most {_slope(blank.max_slope)}"
    if offcut.grain_slope is None:
        notes.note("R7", where, f"the offcut's slope of grain was not read; {needs}")
    elif offcut.grain_slope > blank.max_slope:
        notes.note("R7", where, f"the offcut's slope of grain is {_slope(offcut.grain_slope)}; {needs}")


def _slope(slope: Fraction) -> str:
    return f"{float(100 * slope):.4g} %"


def _check_rings(
    notes: Notebook, blank: Blank, box: Box, across: Interval, where: str, *, turned: bool
) -> None:
    """Check the rings at both edges of a stick, wherever jointing may leave edge 1 (R7)."""
    if blank.ring_from is None and blank.ring_to is None:
        return
    least, most = blank.ring_from or 0, 90 if blank.ring_to is None else blank.ring_to
    needs = f"the blank needs {least}° to {most}°"
    both = readings(box.offcut)
    if both is None:
        notes.note("R7", where, f"the offcut's ring angle was not read; {needs}")
        return
    from_to = (box.low + across[0], box.low + across[1] + box.edge)
    low, high = ring_span(both, box.offcut.width, from_to, turned=turned)
    if low < least or high > most:
        lies = "turned" if turned else "flat"
        seen = f"{_degrees(low)}°" if low == high else f"{_degrees(low)}° to {_degrees(high)}°"
        notes.note("R7", where, f"it lies {lies}, so its ring angle is {seen}; {needs}")


def _degrees(angle: Fraction) -> str:
    try:
        return f"{float(angle):.6g}"
    except OverflowError:
        return "beyond measure"


def _check_flaws(
    notes: Notebook,
    blank: Blank,
    cut: CutBlank,
    flaws: list[Flaw],
    where: str,
) -> None:
    if cut.clear_end not in ("A", "B") or (cut.clear_end == "B" and not blank.clear_end):
        notes.note(
            "R9",
            where,
            f"its clear end is said to be {cut.clear_end!r}; expected A or B, and A where it needs none",
        )
    zone = (
        (max(cut.start, cut.end - blank.clear_end), cut.end)
        if cut.clear_end == "B"
        else (cut.start, min(cut.end, cut.start + blank.clear_end))
    )
    allowed = set(map(same_word, blank.allows))
    for flaw in flaws:
        if not _overlap(flaw.x, (cut.start, cut.end)):
            continue
        at = f"{flaw.kind} at {notes.span(*flaw.x)}"
        if same_word(flaw.kind) not in allowed:
            notes.note("R9", where, f"it meets the {at}; it allows {', '.join(blank.allows) or 'no defect'}")
        elif blank.clear_end and _overlap(flaw.x, zone):
            notes.note(
                "R9",
                where,
                f"the {at} meets its clear end {cut.clear_end}, {notes.size(blank.clear_end)} long; a clear "
                "end meets no defect at all",
            )
