"""What to mind at each machine, and how each stage of the work is done; the sources stand in DEVELOPERS.md.

These are reminders for people who know their machines. They certify nothing: the machine's manual and the
local rules come first, and every sheet says so.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from yieldplan.order.data import Machine, Stage

if TYPE_CHECKING:
    from collections.abc import Mapping

DEFER = "The machine's manual and your local rules come before anything that stands here."

ALWAYS = (
    "Dust of all wood harms the lungs, that of some kinds more: extraction on, mask on.",
    "Protect eyes and ears. No gloves near turning blades and cutters.",
)

CAUTIONS: Mapping[Machine, tuple[str, ...]] = {
    Machine.CROSSCUT: (
        "A rough, warped board can close on the blade: support it on both sides of the cut.",
        "For a badly warped board use a hand saw or a jigsaw.",
        "Clamp a piece shorter than 150 mm (6 in). Keep hands 150 mm (6 in) from the blade.",
    ),
    Machine.JOINTER: (
        "Push blocks always. Under 300 mm (12 in) long, or under 10 mm (3/8 in) thick: another way.",
        "No loose knots, metal or split ends over the cutters. Wood above 20 % moisture cuts badly.",
        "Guard over the cutters; light cuts.",
    ),
    Machine.TABLE_SAW: (
        "Only a straight edge goes on the fence. Riving knife within 8 mm (5/16 in) of the teeth, guard on.",
        "Push stick for a cut under 300 mm (12 in), and for the last 300 mm of a longer one.",
        "Push stick also where less than 150 mm (6 in) runs between blade and fence.",
        "Stand out of line with the blade. If the wood closes on the knife, stop.",
    ),
    Machine.BANDSAW: (
        "Joint the fresh side before the next cut, so that each piece has one true side.",
        "Guide just above the wood. Tall fence for a resaw. Steady feed.",
        "Push block for the last 300 mm (12 in); no finger in line with the cut.",
    ),
    Machine.PLANER: (
        "Nothing shorter than 300 mm (12 in): the rollers must hold it all the way.",
        "At most 3 mm (1/8 in) a pass. Under 10 mm (3/8 in) thick: on a backing board.",
        "Tall sticks on edge go through side by side, held together, so that none tips.",
    ),
}
"""Sentences of at most one printed line each."""

_TURN = (
    "Sawn in turn from the jointed side; the figure is what stays between fence and blade.",
    "The side that is named lies on the fence.",
    "What is left over stays one piece until its next cut. Name every part as it comes off.",
)

HOW: Mapping[Stage, tuple[str, ...]] = {
    Stage.ENDS: (
        "Ends off before anything goes over a cutter. Hook the tape on end A and mark every line before the first cut.",
        "What lies between the two figures is kept: saw outside both lines. Name each piece.",
    ),
    Stage.SPLIT: (
        "Never on the table saw: the piece has no true face or edge yet, and would rock, turn and jam.",
        "Draw the line so far from edge 1 all along, and saw beside it, on the far side.",
        "Hollow side down, a wedge under what rocks, both ends supported. Let the halves move as they will.",
        "Name both halves: the near one keeps edge 1, on the far one the saw cut is edge 1.",
    ),
    Stage.FACE: (
        "Face 1, the hollow side down. Stop as soon as it is flat, and measure at the thinnest place.",
        "Below the figure in the list a blank is lost: stop and plan again.",
    ),
    Stage.EDGE: (
        "Face 1 on the fence, edge 1 down. Stop as soon as it is straight; measure at the narrowest place.",
        "Below the figure in the list a blank is lost: stop and plan again.",
    ),
    Stage.FIRST: _TURN,
    Stage.SECOND: _TURN,
    Stage.PLANE_EDGE: (
        "Wood above 15 % moisture, and what was resawn to less than half: let it rest, then sight it.",
        "If it moved, joint it again.",
        "To width, all sticks in the list in this order, a little at a time.",
    ),
    Stage.PLANE_FLAT: ("To thickness, all sticks in the list in this order, a little at a time.",),
    Stage.SQUARE: (
        "The figure is where the first blank begins, from end A of the stick. No stop for this cut.",
    ),
    Stage.STOP: (
        "The squared end on the stop: each cut frees one blank, and leaves the next end square. Short blanks first.",
    ),
}
