"""Billets, halves, strips and sticks: R1 to R5, and R8 between billets."""

from __future__ import annotations

from typing import TYPE_CHECKING

from yieldplan.model import SplitBillet
from yieldplan.verify.boxes import LAYOUTS, boxes_of, half_spans, sound
from yieldplan.verify.pieces import Section, check_pieces
from yieldplan.verify.rows import Span, check_row, check_sawn_row

if TYPE_CHECKING:
    from yieldplan.model import Billet, Offcut, OffcutPlan
    from yieldplan.verify.boxes import Box
    from yieldplan.verify.breach import Notebook


def check_offcut(notes: Notebook, offcut: Offcut, drawn: OffcutPlan, where: str) -> None:
    """Check everything that the plan does with one piece of the pile."""
    spans = [Span(f"billet {n}", billet.start, billet.end) for n, billet in enumerate(drawn.billets, 1)]
    check_row(notes, where, spans, (0, offcut.length), notes.shop.crosscut_kerf, rules=("R8", "R8", "R8"))
    low, high = sound(offcut, notes.shop)
    for span, billet in zip(spans, drawn.billets, strict=True):
        place = f"{where}, {span.name}"
        if span.start < low or span.end > high:
            notes.note(
                "R1",
                place,
                f"it runs from {notes.span(*span[1:])}; an offcut of {notes.size(offcut.length)} is sound from "
                f"{notes.span(low, high)}, its ends are sawn off before",
            )
        _check_length(notes, offcut, span, place)
        if isinstance(billet, SplitBillet):
            _check_split(notes, offcut, billet, place)
        for box, part in boxes_of(offcut, billet, place, notes.shop):
            check_billet(notes, part, box)


def _check_length(notes: Notebook, offcut: Offcut, span: Span, where: str) -> None:
    shortest = notes.shop.shortest_machined_length
    if span.size < shortest:
        notes.note(
            "R2",
            where,
            f"it is {notes.size(span.size)} long; the shortest machined length is {notes.size(shortest)}",
        )
    for kink in offcut.kinks:
        if span.start < kink < span.end:
            notes.note(
                "R2", where, f"it spans the kink at {notes.size(kink)}; no billet is milled across one"
            )


def _check_split(notes: Notebook, offcut: Offcut, billet: SplitBillet, where: str) -> None:
    """Check whether a billet may be split, and where it is (R2)."""
    shop = notes.shop
    if offcut.thickness > shop.bandsaw_height:
        notes.note(
            "R2",
            where,
            f"the split is {notes.size(offcut.thickness)} high; the bandsaw reaches "
            f"{notes.size(shop.bandsaw_height)}",
        )
    if 2 * (shop.split_warp - offcut.cup) > offcut.twist and offcut.width <= shop.jointer_width:
        notes.note(
            "R2",
            where,
            f"its cup is {notes.size(offcut.cup)} and its twist {notes.size(offcut.twist)}; a billet that the "
            f"jointer takes is split from {notes.size(shop.split_warp)} of cup and half the twist on",
        )
    if offcut.kinks or offcut.ring_angle_far is not None:
        notes.note("R2", where, "an offcut with a kink or a second ring reading is not split")
    for word, (low, high) in zip(("near half", "far half"), half_spans(offcut, billet, shop), strict=True):
        if high - low < max(shop.narrowest_rip, 1):
            notes.note(
                "R2",
                f"{where}, {word}",
                f"it is {notes.size(high - low)} wide; the narrowest rip is {notes.size(shop.narrowest_rip)}",
            )
    for half in billet.halves:
        if half is not None and (half.start, half.end) != (billet.start, billet.end):
            notes.note("R4", where, "a half is not as long as the billet that was split")
    if all(half is None for half in billet.halves):
        notes.note("R4", where, "nothing is cut from either half; a plan does not list waste")


def check_billet(notes: Notebook, billet: Billet, box: Box) -> None:
    """Check one billet or half: machines, losses, layout, and all that is cut from it."""
    shop = notes.shop
    if box.width > shop.jointer_width:
        notes.note(
            "R2",
            box.where,
            f"it is {notes.size(box.width)} wide; the jointer takes {notes.size(shop.jointer_width)}",
        )
    _check_losses(notes, billet, box)
    if billet.layout not in LAYOUTS:
        notes.note(
            "R4", box.where, f"its layout is {billet.layout!r}; there are only rip first and resaw first"
        )
        return
    if not billet.strips:
        notes.note("R4", box.where, "nothing is cut from it; a plan does not list waste")
    first, *seconds = box.rows(billet, shop)
    check_sawn_row(notes, first)
    for strip, row in zip(billet.strips, seconds, strict=True):
        if not strip.sticks:
            notes.note("R4", row.where, "no stick is cut from it; a plan does not list waste")
        check_sawn_row(notes, row)
        for span, stick in zip(row.spans, strip.sticks, strict=True):
            rows = ((strip.start, strip.end), (stick.start, stick.end))
            across, deep = rows if box.rip_first else rows[::-1]
            rough = Section(across=across, deep=deep)
            check_pieces(notes, stick, rough, box, f"{row.where}, {span.name}")


def _check_losses(notes: Notebook, billet: Billet, box: Box) -> None:
    for word, said, true, rough in (
        ("face", billet.face_loss, box.face, box.offcut.thickness),
        ("edge", billet.edge_loss, box.edge, box.width),
    ):
        if said != true:
            notes.note(
                "R3",
                box.where,
                f"its {word} loss is said to be {notes.size(said)}; a billet {notes.size(box.length)} long "
                f"loses {notes.size(true)}",
            )
        if true >= rough:
            notes.note(
                "R3",
                box.where,
                f"its {word} loss is {notes.size(true)} of {notes.size(rough)}; straightening leaves nothing",
            )
