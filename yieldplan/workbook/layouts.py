"""The sheets of a workbook: their names and headings, and how many rows each may have."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True, kw_only=True)
class Layout:
    """The headings of one sheet.

    Attributes
    ----------
    keeps
        Whether other columns are kept and shown back.
    gone
        A heading that was read once, and what to use now.
    """

    name: str
    required: tuple[str, ...]
    optional: tuple[str, ...]
    most_rows: int
    keeps: bool = False
    gone: tuple[str, str] = ("", "")

    @property
    def headings(self) -> tuple[str, ...]:
        """All headings that are read."""
        return self.required + self.optional


OFFCUTS = Layout(
    name="Offcuts",
    required=("Offcut", "Length", "Width", "Thickness"),
    optional=(
        *("Qty", "Species", "Bow", "Crook", "Cup", "Twist"),
        *("Ring angle", "Ring angle far", "Moisture", "Grain slope", "Kink at", "Rack", "From", "Note"),
    ),
    most_rows=2000,
    keeps=True,
)
DEFECTS = Layout(
    name="Defects",
    required=("Offcut", "Kind", "From", "To"),
    optional=("Edge from", "Edge to", "Face", "Depth", "Note"),
    most_rows=20_000,
)
_SPARE = (
    "head the column Spare: an extra was made only where it cost no wood, a spare is made after all needs and may "
    "draw wood of its own"
)
BLANKS = Layout(
    name="Blanks",
    required=("Blank", "Need", "Length", "Width", "Thickness"),
    optional=(
        *("Spare", "Pairs", "Species", "Ring from", "Ring to", "Max slope"),
        *("Allows", "Clear end", "Priority", "Note"),
    ),
    most_rows=200,
    keeps=True,
    gone=(
        "Extra",
        _SPARE,
    ),
)
SHOP = Layout(name="Shop", required=("Setting", "Value"), optional=("If empty", "Note"), most_rows=200)
SPECIES = Layout(
    name="Species",
    required=("Species",),
    optional=(
        *("Radial coefficient", "Tangential coefficient"),
        *("Radial shrinkage", "Tangential shrinkage", "Note"),
    ),
    most_rows=200,
)
YARD = Layout(
    name="Yard",
    required=("Stock", "Length", "Width", "Thickness", "Price"),
    optional=(
        *("Species", "At most", "Faults", "Bow", "Crook", "Cup", "Twist"),
        *("Ring angle", "Ring angle far", "Moisture", "Grain slope", "Note"),
    ),
    most_rows=200,
)
LAYOUTS = (OFFCUTS, DEFECTS, BLANKS, SHOP, SPECIES, YARD)
"""What a job is read from."""

RUN = Layout(
    name="Run",
    required=("Run", "Length"),
    optional=(
        *("From start", "From end", "Spacing", "Spaces", "Siding", "Sides", "Allowance"),
        *("Blank", "Note"),
    ),
    most_rows=40,
)
POINTS = Layout(name="Points", required=("Run", "At", "Measure"), optional=("Note",), most_rows=2000)
OBSTACLES = Layout(
    name="Obstacles",
    required=("Run", "At", "Clear"),
    optional=("To", "Obstacle", "Shift", "Note"),
    most_rows=500,
)
STATION_LAYOUTS = (RUN, POINTS, OBSTACLES)
"""What stations are set out from."""

EVERY_LAYOUT = (*LAYOUTS, *STATION_LAYOUTS)
"""All sheets that a workbook may have, in the order in which their rows are told of."""

CUT = "Cut"
"""The sheet that settled boards are struck to: for people; only the names of its boards are read, under Offcut."""
