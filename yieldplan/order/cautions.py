"""What to mind, said once a machine.

These are reminders for people who know their machines. They certify nothing: the machine's manual, local rules and a
trained person's judgement come first, and every set-up sheet says so. The words are our own. What they rest on (*seen*:
we read it there; *quoted*: we read a page that quotes it; *common practice*: no source):

- dust, mask: IARC vol. 62 (1995) and 100C (2012), seen; eyes, ears, no gloves: machine manuals, seen;
- crosscut saw: hands 150 mm off: North American table-saw manuals, seen; clamping under 300 mm: common practice (those
  manuals forbid under 6 in by hand); warped boards bind: a woodworking magazine's milling tips, seen;
- jointer: loose knots, metal: manuals, seen; ends off before: common practice; push blocks: HSE's web page on planing
  machines, quoted; hollow down, with the grain, light cuts: manuals, seen;
- table saw: only a straight edge on the fence: a saw manual and a how-to page, seen; riving knife: a British saw
  maker's manual, seen; push sticks: the same, p. 14, repeating HSE Woodworking Information Sheet 16, quoted, and North
  American manuals, seen; out of line with the blade: manuals, seen;
- bandsaw: all common practice (what is ripped there is the setting *saw depth*);
- planer: one height together: common practice (the rollers hold the thick one alone); 300 mm and 3 mm: a university's
  and an insurer's sheet, seen; resting: common practice.
"""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

from yieldplan.order.data import At

if TYPE_CHECKING:
    from collections.abc import Mapping

    from yieldplan.model import Shop

DEFER = (
    "The machine's manual, local rules and a trained person's judgement come before anything printed here."
)

ALWAYS = (
    "Dust collection on, mask on: all wood dust harms the lungs, some kinds more than others.",
    "Protect eyes and ears. No gloves at cutters and blades.",
)

_CAUTIONS: Mapping[At, tuple[str, ...]] = {
    At.CROSSCUT: (
        "Clamp anything shorter than 300 mm (12 in). Hands 150 mm (6 in) from the blade.",
        "A rough, warped board can close on the blade: support it on both sides, or take a hand saw.",
    ),
    At.JOINTER: (
        "Ends off and loose knots out before jointing. No metal over the cutters.",
        "Hollow face down; feed with the grain. Push blocks; light cuts; stop when flat.",
    ),
    At.TABLE_SAW: (
        "Only a straight edge or face on the fence. Riving knife in, guard on.",
        "Push sticks: under 300 mm (12 in) long, at the end of every cut, less than 150 mm (6 in) beside the fence.",
        "Stand out of line with the blade. If the wood closes on the knife, stop.",
    ),
    At.BANDSAW: (
        "Wood over 50 mm (2 in) high is ripped here. Joint each fresh side before the next cut.",
        "Guide just above the wood, steady feed, push block at the end, no finger in line with the blade.",
    ),
    At.PLANER: (
        "Sticks of one height together, never a thin one beside a thick one. Nothing shorter than 300 mm (12 in).",
        "At most 3 mm (1/8 in) a pass, from both faces where there is much to take.",
        "Wet wood and what was resawn to less than half rests first; over 50 mm (2 in) thick overnight, stickered.",
    ),
}
"""By machine, in the order in which the work goes through the shop."""


def cautions(machine: At, shop: Shop) -> tuple[str, ...]:
    """Return what to mind at a machine, lengths in the shop's unit and in brackets in the other."""
    if shop.units == "mm":
        return _CAUTIONS[machine]
    return tuple(re.sub(r"([0-9]+ mm) \((.*?)\)", r"\2 (\1)", one) for one in _CAUTIONS[machine])
