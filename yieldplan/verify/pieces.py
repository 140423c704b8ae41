"""What is crosscut from a stick: blanks (R1, R2, R6 to R10) and remainders (R8, R11)."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

from yieldplan.verify.rows import Span, check_row
from yieldplan.verify.wood import readings, ring_span, section_to_plane

if TYPE_CHECKING:
    from fractions import Fraction

    from yieldplan.model import Blank, CutBlank, Defect, Shop, Stick
    from yieldplan.verify.breach import Notebook
    from yieldplan.verify.cuts import Box

Interval = tuple[int, int]


class Flaw(NamedTuple):
    """A defect in the billet's box, after straightening; ``z`` is None where it lies at every z (R9)."""

    kind: str
    x: Interval
    y: Interval
    z: Interval | None

    def meets_section(self, y: Interval, z: Interval) -> bool:
        """Return whether it lies, somewhere along its length, in a stick of this rough section."""
        return _overlap(self.y, y) and (self.z is None or _overlap(self.z, z))


def _overlap(one: Interval, other: Interval) -> bool:
    return one[0] < other[1] and other[0] < one[1]


def straightened(defect: Defect, box: Box, shop: Shop) -> Flaw:
    """Return where a defect counts as lying once the billet is jointed: wherever jointing may put it."""
    return Flaw(
        kind=defect.kind,
        x=(defect.x1, defect.x2),
        y=(defect.y1 - box.edge, defect.y2 - shop.edge_skim),
        z=None if defect.through else (defect.z1 - box.face, defect.z2 - shop.face_skim),
    )


def _same_word(word: str) -> str:
    return " ".join(word.casefold().split())


def fits_rack(shop: Shop, section: tuple[int, int]) -> bool:
    """Return whether a section is at least keeper width by keeper thickness, either way round (R11)."""
    least = (shop.keeper_width, shop.keeper_thickness)
    return any(a >= least[0] and b >= least[1] for a, b in (section, section[::-1]))


def check_keeper(notes: Notebook, where: str, length: int, section: tuple[int, int]) -> None:
    """Check that a keeper is long and stout enough to go back on the rack (R11)."""
    shop = notes.shop
    if length < shop.keeper_length:
        notes.note(
            "R11",
            where,
            f"this keeper is {notes.size(length)} long; a keeper needs {notes.size(shop.keeper_length)}",
        )
    if not fits_rack(shop, section):
        notes.note(
            "R11",
            where,
            f"this keeper is {notes.size(section[0])} by {notes.size(section[1])}; a keeper needs "
            f"{notes.size(shop.keeper_width)} by {notes.size(shop.keeper_thickness)}",
        )


def first_blank(notes: Notebook, stick: Stick) -> Blank | None:
    """Return the first blank of a stick that the batch knows: the stick has its section."""
    return next((notes.blanks[cut.blank] for cut in stick.blanks if cut.blank in notes.blanks), None)


def planed(notes: Notebook, stick: Stick, box: Box) -> tuple[int, int] | None:
    """Return the width and thickness that a stick is planed to (R6); None where no blank of it is known."""
    blank = first_blank(notes, stick)
    if blank is None:
        return None
    return section_to_plane(box.offcut, blank, notes.shop, turned=bool(stick.turned))


def check_pieces(
    notes: Notebook,
    stick: Stick,
    rough: tuple[Interval, Interval],
    box: Box,
    where: str,
) -> None:
    """Check a stick's section against its blanks, and everything that is crosscut from it.

    ``rough`` is the stick's interval across y and across z, in the billet's box.
    """
    spans = [Span(f"blank {cut.blank} ({n})", cut.start, cut.end) for n, cut in enumerate(stick.blanks, 1)]
    spans += [Span(f"remainder {n}", rest.start, rest.end) for n, rest in enumerate(stick.keepers, 1)]
    check_row(notes, where, spans, (box.start, box.end), notes.shop.crosscut_kerf, rules=("R8", "R8"))
    section, first = planed(notes, stick, box), first_blank(notes, stick)
    if section is not None:
        _check_section(notes, stick, section, rough, where)
        for span in spans[len(stick.blanks) :]:
            check_keeper(notes, f"{where}, {span.name}", span.size, section)
    flaws = [straightened(defect, box, notes.shop) for defect in box.offcut.defects]
    flaws = [flaw for flaw in flaws if flaw.meets_section(*rough)]
    for span, cut in zip(spans, stick.blanks, strict=False):
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
        _check_place(notes, blank, cut, box, place)
        _check_wood(notes, blank, box, place)
        _check_rings(notes, blank, box, rough[0], place, turned=bool(stick.turned))
        _check_flaws(notes, blank, cut, flaws, place)


def _check_section(
    notes: Notebook, stick: Stick, section: tuple[int, int], rough: tuple[Interval, Interval], where: str
) -> None:
    shop = notes.shop
    needed = section[0] + shop.width_allowance, section[1] + shop.thickness_allowance
    found = tuple(end - start for start, end in (rough[::-1] if stick.turned else rough))
    for word, has, needs, axis in (
        ("width", found[0], needed[0], "z" if stick.turned else "y"),
        ("thickness", found[1], needed[1], "y" if stick.turned else "z"),
    ):
        if has != needs:
            lies = "turned" if stick.turned else "flat"
            notes.note(
                "R6",
                where,
                f"its rough size across {axis} is {notes.size(has)}; its blanks lie {lies}, their {word} "
                f"needs {notes.size(needs)} there",
            )
    for word, size in (("width", section[0]), ("thickness", section[1])):
        if not shop.thinnest_planed <= size <= shop.planer_width:
            notes.note(
                "R2",
                where,
                f"it is planed to a {word} of {notes.size(size)}; the planer takes "
                f"{notes.span(shop.thinnest_planed, shop.planer_width)}",
            )


def _check_place(notes: Notebook, blank: Blank, cut: CutBlank, box: Box, where: str) -> None:
    shop, whole = notes.shop, box.offcut.length
    length, needs = cut.end - cut.start, blank.length + shop.length_allowance
    if length != needs:
        notes.note(
            "R8",
            where,
            f"it is {notes.size(length)} long; with its length allowance it takes {notes.size(needs)}",
        )
    if cut.start < box.start + shop.snipe or cut.end > box.end - shop.snipe:
        notes.note(
            "R8",
            where,
            f"it lies at {notes.span(cut.start, cut.end)}; less snipe the stick holds blanks only at "
            f"{notes.span(box.start + shop.snipe, box.end - shop.snipe)}",
        )
    if any(
        _overlap((cut.start, cut.end), trim) for trim in ((0, shop.end_trim), (whole - shop.end_trim, whole))
    ):
        notes.note(
            "R1",
            where,
            f"it lies at {notes.span(cut.start, cut.end)}; an offcut of {notes.size(whole)} holds no blank "
            f"in its end trim, {notes.size(shop.end_trim)} at each end",
        )


def _check_wood(notes: Notebook, blank: Blank, box: Box, where: str) -> None:
    offcut = box.offcut
    if blank.species and _same_word(offcut.species) not in map(_same_word, blank.species):
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
    reach = (across[0], across[1] + box.edge)
    low, high = ring_span(both, box.offcut.width, reach, turned=turned)
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
    allowed = set(map(_same_word, blank.allows))
    for flaw in flaws:
        if not _overlap(flaw.x, (cut.start, cut.end)):
            continue
        at = f"{flaw.kind} at {notes.span(*flaw.x)}"
        if _same_word(flaw.kind) not in allowed:
            notes.note("R9", where, f"it meets the {at}; it allows {', '.join(blank.allows) or 'no defect'}")
        elif blank.clear_end and _overlap(flaw.x, zone):
            notes.note(
                "R9",
                where,
                f"the {at} meets its clear end {cut.clear_end}, {notes.size(blank.clear_end)} long; a clear "
                "end meets no defect at all",
            )
