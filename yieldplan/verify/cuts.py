"""What is cut from one piece of the pile: billets and halves, strips and sticks (R1 to R6), blanks (R7 to R10)."""

from __future__ import annotations

from typing import TYPE_CHECKING

from yieldplan.model import SplitBillet
from yieldplan.verify.boxes import boxes_of, half_spans, reach, same_word, sound
from yieldplan.verify.rows import Span, check_mark, check_row, check_sawn_row, spans_of
from yieldplan.verify.wood import readings, ring_span, stocked

if TYPE_CHECKING:
    from yieldplan.model import Blank, CutBlank, Defect, Offcut, OffcutPlan, Shop, Stick
    from yieldplan.model.section import Section
    from yieldplan.verify.boxes import Box
    from yieldplan.verify.breach import Notebook

Interval = tuple[int, int]
Rough = tuple[Interval, Interval]
"""A stick's rough section: its intervals across y and across z in the billet's box."""

Flaw = tuple[str, Interval]
"""A defect that a stick meets: its kind, and from where to where along x it counts (R9)."""


def check_offcut(notes: Notebook, offcut: Offcut, drawn: OffcutPlan) -> None:
    """Check everything that the plan does with one piece of the pile."""
    shop, spans = notes.shop, spans_of(drawn.billets, "billet")
    check_row(notes, spans, (0, offcut.length), shop.crosscut_kerf)
    low, high = sound(offcut, shop)
    for span, billet in zip(spans, drawn.billets, strict=True):
        here = notes.at(span.name)
        if span.start < low or span.end > high:
            here.note(
                "R1",
                f"it runs from {notes.span(span.start, span.end)}; an offcut of {notes.size(offcut.length)} is "
                f"sound from {notes.span(low, high)}, its ends are sawn off before",
            )
        here.least("R2", "length", span.size, shop.shortest_machined_length, "shortest machined length")
        for kink in offcut.kinks:
            if span.start < kink < span.end:
                here.note("R2", f"it spans the kink at {notes.size(kink)}; no billet is milled across one")
        if isinstance(billet, SplitBillet):
            _check_split(here, offcut, billet)
        for box in boxes_of(offcut, billet, shop):
            _check_box(here.at(box.name), box)


def _check_split(notes: Notebook, offcut: Offcut, billet: SplitBillet) -> None:
    """Check whether a billet may be split, and where it is (R2)."""
    shop, size = notes.shop, notes.size
    check_mark(notes, "split", billet.split)
    notes.most("R2", "height at the split", offcut.thickness, shop.bandsaw_height, "bandsaw height")
    if 2 * (shop.split_warp - offcut.cup) > offcut.twist and offcut.width <= shop.jointer_width:
        notes.note(
            "R2",
            f"its cup is {size(offcut.cup)} and its twist {size(offcut.twist)}; a billet that the jointer takes "
            f"is split from {size(shop.split_warp)} of cup and half the twist on",
        )
    if offcut.kinks or offcut.ring_angle_far is not None:
        notes.note("R2", "an offcut with a kink or a second ring reading is not split")
    for name, (low, high) in half_spans(offcut, billet, shop).items():
        notes.at(name).least("R2", "width", high - low, max(shop.narrowest_rip, shop.mark), "narrowest rip")
    if any(half and (half.start, half.end) != (billet.start, billet.end) for half in billet.halves):
        notes.note("R4", "a half is not as long as the billet that was split")
    if not any(billet.halves):
        notes.note("R4", "nothing is cut from either half; a plan does not list waste")


def _check_box(notes: Notebook, box: Box) -> None:
    """Check one billet or half: machines, losses, layout, and all that is cut from it."""
    size, billet = notes.size, box.billet
    notes.most("R2", "width", box.width, notes.shop.jointer_width, "jointer width")
    for word, said, true, rough in (
        ("face", billet.face_loss, box.face, box.offcut.thickness),
        ("edge", billet.edge_loss, box.edge, box.width),
    ):
        notes.sized("R3", f"{word} loss", said, true)
        if true >= rough:
            notes.note("R3", f"its {word} loss is {size(true)} of {size(rough)}; jointing leaves nothing")
    if billet.layout not in ("rip first", "resaw first"):
        notes.note("R4", f"its layout is {billet.layout!r}; there are only rip first and resaw first")
        return
    if not billet.strips:
        notes.note("R4", "nothing is cut from it; a plan does not list waste")
    first, *seconds = box.rows(notes.shop)
    check_sawn_row(notes, first)
    for strip, row in zip(billet.strips, seconds, strict=True):
        here = notes.at(row.name)
        if not strip.sticks:
            here.note("R4", "no stick is cut from it; a plan does not list waste")
        check_sawn_row(here, row)
        for span, stick in zip(row.spans, strip.sticks, strict=True):
            rows = ((strip.start, strip.end), (stick.start, stick.end))
            _check_pieces(here.at(span.name), stick, rows if billet.rip_first else rows[::-1], box)


def _overlap(one: Interval, other: Interval) -> bool:
    return one[0] < other[1] and other[0] < one[1]


def _flaws(box: Box, rough: Rough, shop: Shop) -> list[Flaw]:
    """Return the defects that lie in a stick somewhere along x, wherever jointing may put them (R9)."""

    def meets(defect: Defect) -> bool:
        y = (defect.y1 - box.low - box.edge, defect.y2 - box.low - shop.edge_skim)
        z = (defect.z1 - box.face, defect.z2 - shop.face_skim)
        return _overlap(y, rough[0]) and (defect.through or _overlap(z, rough[1]))

    return [(defect.kind, reach(defect, shop)) for defect in box.offcut.defects if meets(defect)]


def _first_blank(notes: Notebook, stick: Stick) -> Blank | None:
    """Return the first blank of a stick that the batch knows: the stick has its section."""
    return next((notes.blanks[cut.blank] for cut in stick.blanks if cut.blank in notes.blanks), None)


def stock_of(notes: Notebook, stick: Stick, offcut: Offcut) -> Section | None:
    """Return what a stick is sawn and planed to (R6); None where no blank of it is known."""
    blank = _first_blank(notes, stick)
    return None if blank is None else stocked(offcut, blank, notes.shop, turned=bool(stick.turned))


def _check_pieces(notes: Notebook, stick: Stick, rough: Rough, box: Box) -> None:
    """Check a stick's section against its blanks, and everything that is crosscut from it."""
    shop = notes.shop
    if not stick.blanks:
        notes.note("R4", "it carries no blank; a plan does not list waste")
    spans = [Span(f"blank {cut.blank} ({n})", cut.start, cut.end) for n, cut in enumerate(stick.blanks, 1)]
    room = box.billet.start + shop.stick_trim, box.billet.end - shop.stick_trim
    check_row(notes, spans, room, shop.crosscut_kerf)
    sizes, first = stock_of(notes, stick, box.offcut), _first_blank(notes, stick)
    if sizes is not None:
        _check_section(notes, sizes, rough, turned=bool(stick.turned))
    flaws = _flaws(box, rough, shop)
    for span, cut in zip(spans, stick.blanks, strict=True):
        here, blank = notes.at(span.name), notes.blanks.get(cut.blank)
        if blank is None:
            here.note("input", "the input asks for no blank of this name")
            continue
        if first is None or (blank.width, blank.thickness) != (first.width, first.thickness):
            here.note("R6", "its section is not the first blank's; a stick has one finished section only")
        here.sized("R8", "length", span.size, blank.length + shop.length_allowance)
        _check_wood(here, blank, box.offcut)
        _check_rings(here, blank, box, rough[0], turned=bool(stick.turned))
        _check_flaws(here, blank, cut, flaws)


def _check_section(notes: Notebook, sizes: Section, rough: Rough, *, turned: bool) -> None:
    shop, lies = notes.shop, "turned" if turned else "flat"
    for word, axis, needs, planed in (
        ("width", int(turned), sizes.rough_width, sizes.planed_width),
        ("thickness", int(not turned), sizes.rough_thickness, sizes.planed_thickness),
    ):
        has = rough[axis][1] - rough[axis][0]
        what = f"rough size across {'yz'[axis]}, the {word} of blanks that lie {lies},"
        notes.sized("R6", what, has, needs)
        notes.least("R2", what, has, shop.narrowest_rip, "narrowest rip")
        notes.least("R2", f"planed {word}", planed, shop.thinnest_planed, "thinnest planed")
        notes.most("R2", f"planed {word}", planed, shop.planer_width, "planer width")


def _check_wood(notes: Notebook, blank: Blank, offcut: Offcut) -> None:
    """Check species (R10) and slope of grain (R7)."""
    if blank.species and same_word(offcut.species) not in map(same_word, blank.species):
        takes = ", ".join(blank.species)
        notes.note("R10", f"the offcut is of {offcut.species!r}; the blank takes only {takes}")
    slope, most = offcut.grain_slope, blank.max_slope
    if most is not None and (slope is None or slope > most):
        found = "was not read" if slope is None else f"is {float(100 * slope):.4g} %"
        takes = f"the blank takes at most {float(100 * most):.4g} %"
        notes.note("R7", f"the offcut's slope of grain {found}; {takes}")


def _check_rings(notes: Notebook, blank: Blank, box: Box, across: Interval, *, turned: bool) -> None:
    """Check the rings at both edges of a stick, wherever jointing may leave edge 1 (R7)."""
    if blank.ring_from is None and blank.ring_to is None:
        return
    least, most = blank.ring_from or 0, 90 if blank.ring_to is None else blank.ring_to
    both, needs = readings(box.offcut), f"the blank needs {least}° to {most}°"
    if both is None:
        notes.note("R7", f"the offcut's ring angle was not read; {needs}")
        return
    from_to = (box.low + across[0], box.low + across[1] + box.edge)
    low, high = ring_span(both, box.offcut.width, from_to, turned=turned)
    if low < least or high > most:
        seen = f"{float(low):.6g}°" if low == high else f"{float(low):.6g}° to {float(high):.6g}°"
        notes.note("R7", f"it lies {'turned' if turned else 'flat'}, so its ring angle is {seen}; {needs}")


def _check_flaws(notes: Notebook, blank: Blank, cut: CutBlank, flaws: list[Flaw]) -> None:
    """Check a blank and its clear end against what its stick meets (R9)."""
    clear, allowed = blank.clear_end, set(map(same_word, blank.allows))
    if cut.clear_end not in ("A", "B") or (cut.clear_end == "B" and not clear):
        said = f"its clear end is said to be {cut.clear_end!r}"
        notes.note("R9", f"{said}; expected A or B, and A where it needs none")
    zone = (max(cut.start, cut.end - clear), cut.end)
    if cut.clear_end != "B":
        zone = (cut.start, min(cut.end, cut.start + clear))
    for kind, x in flaws:
        at = f"{kind} at {notes.span(*x)}"
        if not _overlap(x, (cut.start, cut.end)):
            continue
        if same_word(kind) not in allowed:
            notes.note("R9", f"it meets the {at}; it allows {', '.join(blank.allows) or 'no defect'}")
        elif clear and _overlap(x, zone):
            end = f"its clear end {cut.clear_end}, {notes.size(clear)} long"
            notes.note("R9", f"the {at} meets {end}; a clear end meets no defect at all")
