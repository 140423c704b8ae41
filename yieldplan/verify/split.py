"""A billet that is split before jointing (R2, R3), worked out afresh: its halves as offcuts of their own."""

from __future__ import annotations

import math
from dataclasses import replace
from fractions import Fraction
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterator

    from yieldplan.model import Billet, Offcut, Shop, SplitBillet
    from yieldplan.verify.breach import Notebook


def halves_of(offcut: Offcut, segment: SplitBillet, shop: Shop) -> Iterator[tuple[str, Offcut, Billet]]:
    """Yield the halves of a split billet: its word, the wood it is jointed from, and what the plan does with it."""
    intervals = ((0, segment.split), (segment.split + shop.bandsaw_kerf, offcut.width))
    for word, (low, high), billet in zip(("near half", "far half"), intervals, segment.halves, strict=True):
        share = Fraction(high - low, offcut.width)
        yield (
            word,
            replace(
                offcut,
                width=high - low,
                cup=math.ceil(offcut.cup * share**2),
                twist=math.ceil(offcut.twist * share),
                defects=tuple(replace(d, y1=d.y1 - low, y2=d.y2 - low) for d in offcut.defects),
            ),
            billet,
        )


def check_split(notes: Notebook, offcut: Offcut, segment: SplitBillet, where: str) -> None:
    """Check whether a billet may be split, and where it is."""
    shop = notes.shop
    if offcut.thickness > shop.bandsaw_height:
        notes.note(
            "R5",
            where,
            f"the split is {notes.size(offcut.thickness)} high; the bandsaw reaches "
            f"{notes.size(shop.bandsaw_height)}",
        )
    warp = offcut.cup + math.ceil(Fraction(offcut.twist, 2))
    if warp < shop.split_warp and offcut.width <= shop.jointer_width:
        notes.note(
            "R2",
            where,
            f"cup and half the twist come to {notes.size(warp)}; a billet that the jointer takes is split from "
            f"{notes.size(shop.split_warp)} on",
        )
    if offcut.kinks or offcut.ring_angle_far is not None:
        notes.note("R2", where, "an offcut with a kink or a second ring reading is not split")
    if segment.split % max(shop.shown_steps, 1):
        notes.note(
            "R2",
            where,
            f"it is split at {notes.size(segment.split)}; a line is drawn at whole {notes.size(shop.shown_steps)}",
        )
    for word, half, billet in halves_of(offcut, segment, shop):
        if half.width < max(shop.narrowest_rip, 1):
            notes.note(
                "R2",
                f"{where}, {word}",
                f"it is {notes.size(half.width)} wide; the narrowest rip is {notes.size(shop.narrowest_rip)}",
            )
        if half.width > shop.jointer_width and not billet.strips:
            notes.note(
                "R2",
                f"{where}, {word}",
                f"it is {notes.size(half.width)} wide; the jointer takes {notes.size(shop.jointer_width)}",
            )
        if (billet.start, billet.end) != (segment.start, segment.end):
            notes.note("R4", f"{where}, {word}", "it is not as long as the billet that was split")
    if not any(billet.strips for billet in segment.halves):
        notes.note("R4", where, "nothing is cut from either half; a plan does not list waste")
