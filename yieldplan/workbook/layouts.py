"""The sheets of a workbook: their headings, what belongs under each, and how many rows they may have."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from collections.abc import Mapping


@dataclass(frozen=True, slots=True, kw_only=True)
class Layout:
    """The headings of one sheet.

    Attributes
    ----------
    keeps
        Whether other columns are kept and shown back.
    gone
        A heading that was read once, and what to use now.
    notes
        What belongs under each heading: tally's workbook and the guide show it.
    """

    name: str
    required: tuple[str, ...]
    optional: tuple[str, ...]
    most_rows: int
    keeps: bool = False
    gone: tuple[str, str] = ("", "")
    notes: Mapping[str, str] = field(default_factory=dict, hash=False)

    @property
    def headings(self) -> tuple[str, ...]:
        """All headings that are read."""
        return self.required + self.optional


def _layout(name: str, needed: Mapping[str, str], optional: Mapping[str, str], **others: Any) -> Layout:
    notes = {**needed, **optional}
    return Layout(name=name, required=tuple(needed), optional=tuple(optional), notes=notes, **others)


_SPARE = (
    "head the column Spare: an extra was made only where it cost no wood, a spare is made after all needs and may "
    "draw wood of its own"
)
OFFCUTS = _layout(
    name="Offcuts",
    needed={
        "Offcut": "A name of its own for each row, as chalked on the piece: A1, rack 3 no. 7, ...",
        "Length": "Along the grain, end A to end B, all of it. 41 3/8, 3' 5 3/8\" or 1050 mm.",
        "Width": "Across the wider face, at the narrowest place along the length (rough).",
        "Thickness": "Between the two wide faces, at the thinnest place along the length (rough).",
    },
    optional={
        "Qty": "How many like pieces this row stands for; 1 if left empty.",
        "Species": "One word or phrase, the same each time: white oak. Needed only if a blank asks for it.",
        "Bow": "Straightedge end to end along the middle of face 1, the hollow one: the largest gap. Empty: none.",
        "Crook": "Straightedge end to end along edge 1, the hollow one: the largest gap. Empty: none.",
        "Cup": "Straightedge square across face 1, the hollow one: the largest gap. Empty: none.",
        "Twist": "On a flat bench, three corners held down: how far the fourth stands up. Empty: none.",
        "Ring angle": "At the end grain, growth rings to wide face, in whole degrees: 0 is flat sawn, "
        "90 is quarter sawn; or flat sawn, rift, quarter sawn. Where it changes across the piece, read edge 1 here "
        "and the far edge under Ring angle far, or the middle here. Empty: not read.",
        "Ring angle far": "The ring angle at the far edge of the same end grain, where it differs; the one under "
        "Ring angle is then that at edge 1. Between them it is taken to run evenly. Empty: the same all over.",
        "Moisture": "Per cent, as the meter says, inside the wood. With a target moisture on Shop blanks are cut "
        "larger from wood that is wetter. Empty: not read, no change.",
        "Grain slope": "How fast the grain runs out of the face or edge, the worse of the two: 1:12, 1 in 12 or 8 %. "
        "Empty: not read; the piece then serves only blanks without a limit.",
        "Kink at": "Where it bends at one place, measured from end A; several parted by semicolons. Measure bow, "
        "crook and twist on each side of it by itself and write the largest. Empty: none.",
        "Rack": "Where the piece lies.",
        "From": "The board that it was cut from, where settle has written it. Anything else may stand here.",
        "Note": "Anything. It is shown back.",
    },
    most_rows=2_000,
    keeps=True,
)
DEFECTS = _layout(
    name="Defects",
    needed={
        "Offcut": "The name on the Offcuts sheet. One row for each defect; an offcut may have many.",
        "Kind": "What it is, in a word: knot, check, split, wane, ... Blanks can allow kinds by this word.",
        "From": "Where the bad wood starts, measured along the grain from end A.",
        "To": "Where it ends, measured from end A as well.",
    },
    optional={
        "Edge from": "Where it starts across the wider face, measured from edge 1. Empty: at edge 1.",
        "Edge to": "Where it ends across the wider face, measured from edge 1. Empty: at the far edge.",
        "Face": "through, or the face that it shows on: 1, the hollow one that lies up, or 2. Empty means through.",
        "Depth": "How deep it goes from that face. Only with face 1 or 2. If in doubt, call it through.",
        "Note": "Anything.",
    },
    most_rows=20_000,
)
BLANKS = _layout(
    name="Blanks",
    needed={
        "Blank": "A name of its own for each row: rib, thwart knee, ...",
        "Need": "How many must be made. 0 if none is needed just now.",
        "Length": "Finished length, along the grain. Cut to it, or longer by the length allowance.",
        "Width": "Finished width. What is planed off is added by the planner.",
        "Thickness": "Finished thickness, the smaller size of the section.",
    },
    optional={
        "Spare": "How many more to make once every need is met, in case one is spoilt: a number, or a share such as "
        "10 %. Spares may draw wood of their own. 0 if left empty.",
        "Pairs": "yes where they are made in twos of one species, as frames for port and starboard; of one board too, "
        "if that costs no more than pair from one board on Shop says. Empty: no.",
        "Species": "The species that will do, parted by commas. Empty: any.",
        "Ring from": "The least ring angle to the blank's wide face, whole degrees 0 to 90, or flat sawn, rift or "
        "quarter sawn: with the other one empty, all of its range. Empty: any.",
        "Ring to": "The greatest ring angle to the blank's wide face, or such a word. Empty: any.",
        "Max slope": "The steepest slope of grain that will do: 1:12, 1 in 12 or 8 %. Empty: any, or not read.",
        "Allows": "Kinds of defect that may stay in the blank, parted by commas. Empty: none.",
        "Clear end": "So much of the length at one end (either one) must hold no defect of any kind.",
        "Priority": "1 comes first when the wood runs short, then 2, ... 1 if left empty.",
        "Note": "Anything. It is shown back.",
    },
    most_rows=200,
    keeps=True,
    gone=("Extra", _SPARE),
)
SHOP = _layout(
    name="Shop",
    needed={
        "Setting": "The names are fixed; the order is free, and a row left out keeps its default.",
        "Value": "A length with its unit, or a bare number that means the unit set under units; minutes as a number.",
    },
    optional={
        "If empty": "What the setting is where no value is given, in an inch or a mm workbook. It is not read.",
        "Note": "What it means. This column is not read.",
    },
    most_rows=200,
)
SPECIES = _layout(
    name="Species",
    needed={
        "Species": "As on Offcuts. A row here wins over the built-in table; leave the sheet empty to use that."
    },
    optional={
        "Radial coefficient": "Change for each 1 % of moisture across the rings, as a share: 0.0018. Both "
        "coefficients, or both shrinkages; the other pair is worked out.",
        "Tangential coefficient": "The same along the rings: 0.00365.",
        "Radial shrinkage": "Per cent from green to ovendry, across the rings: 5.6.",
        "Tangential shrinkage": "The same along the rings: 10.5.",
        "Note": "Where the figures are from. This column is not read.",
    },
    most_rows=200,
)
YARD = _layout(
    name="Yard",
    needed={
        "Stock": "A name of its own for each kind of board that the yard sells: 2 m larch 150 × 32, ...",
        "Length": "As it is sold, along the grain. If blanks are missing, the plan says which boards to buy.",
        "Width": "As it is sold (rough).",
        "Thickness": "As it is sold (rough).",
        "Price": "24.50 or 24.50 each; 6.80 a board foot; 3.20 a foot; 1450 a cubic metre; 9.60 a metre.",
    },
    optional={
        "Species": "One word or phrase, the same as on Blanks.",
        "At most": "How many can be had. Empty: as many as it takes.",
        "Faults": "Per cent of the length that will not be usable: checks, knots, sapwood. 15 if left empty.",
        "Bow": "What you expect or have seen over the whole board. Empty: straight.",
        "Crook": "As for bow, along the edge. Empty: straight.",
        "Cup": "Hollow across the wide face. Empty: flat.",
        "Twist": "How far the fourth corner stands up. Empty: flat.",
        "Ring angle": "As you will pick it: whole degrees, or flat sawn, rift, quarter sawn. Empty: it then serves "
        "only blanks without a range.",
        "Ring angle far": "The ring angle at the far edge, where it differs.",
        "Moisture": "Per cent, as it is sold. Empty: no change of size.",
        "Grain slope": "The steepest that you will take home: 1 in 12. Empty: it then serves only blanks without a "
        "limit.",
        "Note": "Anything.",
    },
    most_rows=200,
)

LAYOUTS = (OFFCUTS, DEFECTS, BLANKS, SHOP, SPECIES, YARD)
"""What a job is read from."""

RUN = _layout(
    name="Run",
    needed={
        "Run": "Only for stations. A name of its own for each row: chine, keel aft, ...",
        "Length": "How long the run is, along keel or chine.",
    },
    optional={
        "From start": "How far from the start the first frame stands. Empty: no frame at that end. 0: right at it.",
        "From end": "How far from the end the last frame stands. Empty: no frame at that end. 0: right at it.",
        "Spacing": "The largest distance from frame to frame that you want. This, or Spaces.",
        "Spaces": "How many equal spaces. This, or Spacing.",
        "Siding": "How much of the run a frame takes. Its mark is the face nearer the start. Empty: nothing.",
        "Sides": "2, for port and starboard, if left empty; 1 for a piece right across.",
        "Allowance": "Added to each length, for fitting. Empty: nothing.",
        "Blank": "The row on Blanks that the lengths go to. Empty: marks alone are wanted.",
        "Note": "Anything. This column is not read.",
    },
    most_rows=40,
)
POINTS = _layout(
    name="Points",
    needed={
        "Run": "A name on the sheet Run.",
        "At": "Where it was measured, from the start of the run. In order, two at least, better five.",
        "Measure": "The height, girth or breadth there.",
    },
    optional={"Note": "Anything. This column is not read."},
    most_rows=2_000,
)
OBSTACLES = _layout(
    name="Obstacles",
    needed={
        "Run": "A name on the sheet Run. Empty: in the way of every run.",
        "At": "Where it begins, from the start of the run.",
        "Clear": "How much room a frame needs from it.",
    },
    optional={
        "To": "Where it ends. Empty: where it begins.",
        "Obstacle": "What it is: mould, thwart, centreboard case.",
        "Shift": "yes lets a station that falls on it give way. Empty: none moves, and you are told.",
        "Note": "Anything. This column is not read.",
    },
    most_rows=500,
)
STATION_LAYOUTS = (RUN, POINTS, OBSTACLES)
"""What stations are set out from."""

EVERY_LAYOUT = (*LAYOUTS, *STATION_LAYOUTS)
"""All sheets that a workbook may have, in the order in which their rows are told of."""

CUT = "Cut"
"""The sheet that settled boards are struck to: for people; only the names of its boards are read, under Offcut."""
