"""Segments, billets, strips and sticks: R2 to R6, R8 between segments, R11."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise
from typing import TYPE_CHECKING

from yieldplan.model import SplitBillet, WholeKeeper, edge_loss, face_loss
from yieldplan.verify.pieces import check_keeper, check_pieces
from yieldplan.verify.rows import Span, check_row, check_sawn_row
from yieldplan.verify.split import check_split, halves_of

if TYPE_CHECKING:
    from yieldplan.model import Billet, Offcut, OffcutPlan, Stick, Strip
    from yieldplan.verify.breach import Notebook

LAYOUTS = ("rip first", "resaw first")


@dataclass(frozen=True, slots=True, kw_only=True)
class Box:
    """A billet after jointing: its place, its losses (R3, worked out afresh) and its depths.

    ``across`` is the depth of the box along which the strips or layers lie, ``through`` the other depth.
    """

    where: str
    offcut: Offcut
    start: int
    end: int
    rip_first: bool
    face: int
    edge: int

    @property
    def length(self) -> int:
        """How long the billet is."""
        return self.end - self.start

    @property
    def across(self) -> int:
        """Depth of the box along the row of strips."""
        return self.offcut.width - self.edge if self.rip_first else self.offcut.thickness - self.face

    @property
    def through(self) -> int:
        """Depth of the box along the row of sticks."""
        return self.offcut.thickness - self.face if self.rip_first else self.offcut.width - self.edge

    @property
    def first_height(self) -> int:
        """How high the cuts that part the strips are: the rough thickness, or the rough width (R5)."""
        return self.offcut.thickness if self.rip_first else self.offcut.width


def box_of(offcut: Offcut, billet: Billet, where: str, notes: Notebook) -> Box:
    """Return the billet's box, with the losses of R3 whatever the plan says they are."""
    length = billet.end - billet.start
    return Box(
        where=where,
        offcut=offcut,
        start=billet.start,
        end=billet.end,
        rip_first=billet.layout != LAYOUTS[1],
        face=face_loss(offcut, length, notes.shop, billet.start),
        edge=edge_loss(offcut, length, notes.shop, billet.start),
    )


def check_offcut(notes: Notebook, offcut: Offcut, drawn: OffcutPlan, where: str) -> None:
    """Check everything that the plan does with one piece of the pile."""
    named = [
        (f"{'keeper' if isinstance(segment, WholeKeeper) else 'billet'} {number}", segment)
        for number, segment in enumerate(drawn.segments, 1)
    ]
    spans = [Span(name, segment.start, segment.end) for name, segment in named]
    check_row(notes, where, spans, (0, offcut.length), notes.shop.crosscut_kerf, rules=("R8", "R8"))
    if not spans:
        notes.note(
            "R4", where, "nothing is cut from it; an offcut that stays whole does not belong in a plan"
        )
    if any(before.start > after.start for before, after in pairwise(spans)):
        notes.note("R8", where, "its segments are not listed in their order from end A to end B")
    for name, segment in named:
        place = f"{where}, {name}"
        if isinstance(segment, WholeKeeper):
            length = segment.end - segment.start
            check_keeper(notes, place, length, (offcut.width, offcut.thickness))
        elif isinstance(segment, SplitBillet):
            check_split(notes, offcut, segment, place)
            for word, half, billet in halves_of(offcut, segment, notes.shop):
                if half.width > 0:
                    check_half(notes, billet, box_of(half, billet, f"{place}, {word}", notes))
        else:
            check_billet(notes, segment, box_of(offcut, segment, place, notes))


def check_billet(notes: Notebook, billet: Billet, box: Box) -> None:
    """Check one billet: machines, losses, layout, and all that is cut from it."""
    shop, offcut = notes.shop, box.offcut
    if box.length < shop.shortest_machined_length:
        notes.note(
            "R2",
            box.where,
            f"it is {notes.size(box.length)} long; the shortest machined length is "
            f"{notes.size(shop.shortest_machined_length)}",
        )
    if offcut.width > shop.jointer_width:
        notes.note(
            "R2",
            box.where,
            f"the offcut is {notes.size(offcut.width)} wide; the jointer takes "
            f"{notes.size(shop.jointer_width)}",
        )
    for kink in offcut.kinks:
        if billet.start < kink < billet.end:
            notes.note(
                "R3", box.where, f"it spans the kink at {notes.size(kink)}; no billet is milled across one"
            )
    _check_losses(notes, billet, box)
    if billet.layout not in LAYOUTS:
        notes.note(
            "R4", box.where, f"its layout is {billet.layout!r}; there are only rip first and resaw first"
        )
        return
    if not billet.strips:
        notes.note("R4", box.where, "nothing is cut from it; a plan does not list waste")
    word = "strip" if box.rip_first else "layer"
    spans = [
        Span(f"{word} {number}", strip.start, strip.end) for number, strip in enumerate(billet.strips, 1)
    ]
    check_sawn_row(notes, box.where, spans, box.across, box.first_height)
    for span, strip in zip(spans, billet.strips, strict=True):
        check_strip(notes, strip, box, f"{box.where}, {span.name}")


def check_half(notes: Notebook, billet: Billet, box: Box) -> None:
    """Check a half of a split billet: one that is waste is not jointed, so that only what is said of it matters."""
    if billet.strips:
        check_billet(notes, billet, box)
    else:
        _check_said_losses(notes, billet, box)


def _check_losses(notes: Notebook, billet: Billet, box: Box) -> None:
    _check_said_losses(notes, billet, box)
    for word, true, rough in (
        ("face", box.face, box.offcut.thickness),
        ("edge", box.edge, box.offcut.width),
    ):
        if true >= rough:
            notes.note(
                "R3",
                box.where,
                f"its {word} loss is {notes.size(true)} of {notes.size(rough)}; straightening leaves nothing",
            )


def _check_said_losses(notes: Notebook, billet: Billet, box: Box) -> None:
    for word, said, true in (("face", billet.face_loss, box.face), ("edge", billet.edge_loss, box.edge)):
        if said != true:
            notes.note(
                "R3",
                box.where,
                f"its {word} loss is said to be {notes.size(said)}; a billet {notes.size(box.length)} long "
                f"loses {notes.size(true)}",
            )


def _check_narrowest(notes: Notebook, where: str, size: int) -> None:
    narrowest = notes.shop.narrowest_rip
    if size < narrowest:
        notes.note(
            "R2",
            where,
            f"a rough size of it is {notes.size(size)}; the narrowest rip is {notes.size(narrowest)}",
        )


def check_strip(notes: Notebook, strip: Strip, box: Box, where: str) -> None:
    """Check one strip (or layer) and its sticks."""
    wide = strip.end - strip.start
    _check_narrowest(notes, where, wide)
    if strip.keeper:
        if strip.sticks:
            notes.note("R11", where, "it is marked as a keeper but has sticks; a keeper carries nothing")
        check_keeper(notes, where, box.length, (wide, box.through))
    elif not strip.sticks:
        notes.note("R4", where, "it is neither a keeper nor has sticks; a plan does not list waste")
    if not strip.sticks:
        return
    spans = [Span(f"stick {number}", stick.start, stick.end) for number, stick in enumerate(strip.sticks, 1)]
    check_sawn_row(notes, where, spans, box.through, wide)
    for span, stick in zip(spans, strip.sticks, strict=True):
        check_stick(notes, strip, stick, box, f"{where}, {span.name}")


def check_stick(notes: Notebook, strip: Strip, stick: Stick, box: Box, where: str) -> None:
    """Check one stick: its rough section, and that it is a keeper or carries blanks of one section."""
    wide, deep = strip.end - strip.start, stick.end - stick.start
    _check_narrowest(notes, where, deep)
    if stick.keeper:
        if stick.blanks or stick.keepers:
            notes.note(
                "R11", where, "it is marked as a keeper but has pieces cut from it; a keeper carries nothing"
            )
        if stick.turned:
            notes.note("R6", where, "it is marked as turned; a keeper carries no blank that could be turned")
        check_keeper(notes, where, box.length, (wide, deep))
    elif not stick.blanks:
        notes.note("R4", where, "it carries no blank and is no keeper; a plan does not list waste")
        if stick.keepers:
            notes.note("R11", where, "it has remainders but no blank; such a stick can only be kept whole")
    if stick.keeper and not stick.blanks:
        return
    in_y, in_z = (strip, stick) if box.rip_first else (stick, strip)
    rough = ((in_y.start, in_y.end), (in_z.start, in_z.end))
    check_pieces(notes, stick, rough, box, where)
