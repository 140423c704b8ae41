"""Billets, halves, strips and sticks: R1 to R5, and R8 between billets."""

from __future__ import annotations

from typing import TYPE_CHECKING

from yieldplan.model import SplitBillet
from yieldplan.verify.boxes import boxes_of, half_spans, sound
from yieldplan.verify.pieces import check_pieces
from yieldplan.verify.rows import check_mark, check_row, check_sawn_row, spans_of

if TYPE_CHECKING:
    from yieldplan.model import Offcut, OffcutPlan
    from yieldplan.verify.boxes import Box
    from yieldplan.verify.breach import Notebook


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
        if span.size < shop.shortest_machined_length:
            least = f"the shortest machined length is {notes.size(shop.shortest_machined_length)}"
            here.note("R2", f"it is {notes.size(span.size)} long; {least}")
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
    if offcut.thickness > shop.bandsaw_height:
        reaches = f"the bandsaw reaches {size(shop.bandsaw_height)}"
        notes.note("R2", f"the split is {size(offcut.thickness)} high; {reaches}")
    if 2 * (shop.split_warp - offcut.cup) > offcut.twist and offcut.width <= shop.jointer_width:
        notes.note(
            "R2",
            f"its cup is {size(offcut.cup)} and its twist {size(offcut.twist)}; a billet that the jointer takes "
            f"is split from {size(shop.split_warp)} of cup and half the twist on",
        )
    if offcut.kinks or offcut.ring_angle_far is not None:
        notes.note("R2", "an offcut with a kink or a second ring reading is not split")
    for name, (low, high) in half_spans(offcut, billet, shop).items():
        if high - low < max(shop.narrowest_rip, 1):
            least = size(shop.narrowest_rip)
            notes.at(name).note("R2", f"it is {size(high - low)} wide; the narrowest rip is {least}")
    if any(half and (half.start, half.end) != (billet.start, billet.end) for half in billet.halves):
        notes.note("R4", "a half is not as long as the billet that was split")
    if not any(billet.halves):
        notes.note("R4", "nothing is cut from either half; a plan does not list waste")


def _check_box(notes: Notebook, box: Box) -> None:
    """Check one billet or half: machines, losses, layout, and all that is cut from it."""
    size, widest, billet = notes.size, notes.shop.jointer_width, box.billet
    if box.width > widest:
        notes.note("R2", f"it is {size(box.width)} wide; the jointer takes {size(widest)}")
    for word, said, true, rough in (
        ("face", billet.face_loss, box.face, box.offcut.thickness),
        ("edge", billet.edge_loss, box.edge, box.width),
    ):
        if said != true:
            loses = f"a billet {size(box.length)} long loses {size(true)}"
            notes.note("R3", f"its {word} loss is said to be {size(said)}; {loses}")
        if true >= rough:
            nothing = "straightening leaves nothing"
            notes.note("R3", f"its {word} loss is {size(true)} of {size(rough)}; {nothing}")
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
            check_pieces(here.at(span.name), stick, rows if billet.rip_first else rows[::-1], box)
