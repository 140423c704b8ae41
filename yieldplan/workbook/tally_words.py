"""The words of the blank workbook: the note on each heading, and the sheet on how to measure."""

from __future__ import annotations

NOTES: dict[str, dict[str, str]] = {
    "Offcuts": {
        "Offcut": "A name of its own for each row, as chalked on the piece: A1, rack 3 no. 7, ...",
        "Length": "Along the grain, end A to end B, all of it. 41 3/8, 3' 5 3/8\" or 1050 mm.",
        "Width": "Across the wider face, at the narrowest place along the length (rough).",
        "Thickness": "Between the two wide faces, at the thinnest place along the length (rough).",
        "Qty": "How many like pieces this row stands for; 1 if left empty.",
        "Species": "One word or phrase, the same each time: white oak. Needed only if a blank asks for it.",
        "Bow": "Straightedge end to end along the middle of the hollow face: the largest gap. Empty: none.",
        "Crook": "Straightedge end to end along the hollow edge: the largest gap. Empty: none.",
        "Cup": "Straightedge square across the hollow wide face: the largest gap. Empty: none.",
        "Twist": "On a flat bench, three corners held down: how far the fourth stands up. Empty: none.",
        "Ring angle": "At the end grain, growth rings to wide face, in whole degrees: 0 is flat sawn, "
        "90 is quarter sawn. Where it changes across the piece, read the middle. Empty: not read.",
        "Moisture": "Per cent, as the meter says. For your own records.",
        "Rack": "Where the piece lies.",
        "Note": "Anything. It is shown back.",
    },
    "Defects": {
        "Offcut": "The name on the Offcuts sheet. One row for each defect; an offcut may have many.",
        "Kind": "What it is, in a word: knot, check, split, wane, ... Blanks can allow kinds by this word.",
        "From": "Where the bad wood starts, measured along the grain from end A.",
        "To": "Where it ends, measured from end A as well.",
        "Edge from": "Where it starts across the wider face, measured from edge 1. Empty: at edge 1.",
        "Edge to": "Where it ends across the wider face, measured from edge 1. Empty: at the far edge.",
        "Face": "through, or the face that it shows on: 1 or 2. Empty means through.",
        "Depth": "How deep it goes from that face. Only with face 1 or 2. If in doubt, call it through.",
        "Note": "Anything.",
    },
    "Blanks": {
        "Blank": "A name of its own for each row: rib, thwart knee, ...",
        "Need": "How many must be made. 0 if it is only welcome.",
        "Length": "Finished length, along the grain. The length allowance is added by the planner.",
        "Width": "Finished width. The width allowance is added by the planner.",
        "Thickness": "Finished thickness, the smaller size of the section.",
        "Extra": "How many more would be welcome if the wood is being cut up anyway; 0 if left empty.",
        "Species": "The species that will do, parted by commas. Empty: any.",
        "Ring from": "The least ring angle to the blank's wide face, whole degrees 0 to 90. Empty: any.",
        "Ring to": "The greatest ring angle to the blank's wide face. Empty: any.",
        "Allows": "Kinds of defect that may stay in the blank, parted by commas. Empty: none.",
        "Clear end": "So much of the length at one end (either one) must hold no defect of any kind.",
        "Priority": "1 comes first when the wood runs short, then 2, ... 1 if left empty.",
        "Note": "Anything. It is shown back.",
    },
    "Shop": {
        "Setting": "The names are fixed; the order is free, and a row left out keeps its default.",
        "Value": "A length with its unit, or a bare number that means the unit set under units.",
        "Note": "What it means. No one reads this column.",
    },
}
"""A note for every heading, by sheet."""

SHOP_NOTES = {
    "units": "inch or mm: what a bare number means on every sheet, and how figures are shown",
    "shown to": 'figures are rounded to this; empty means 1/32", or 0.5 mm where units is mm',
    "length premium": "how much dearer a board foot is at full length than in the shortest piece",
}
"""What the settings mean that are not lengths."""

HOW_TO: dict[str, tuple[str, ...]] = {
    "Before you start": (
        "Chalk a name on every piece, and mark one end A and the other B.",
        "Lay the piece with a wide face up: that is face 1. The edge towards you is edge 1.",
        "Pull out staples and nails now. What is left in the wood is a defect: mark it.",
    ),
    "Writing a measure": (
        "41 3/8 or 41-3/8 or 41.375 or 3' 5 3/8\" are one length where bare numbers are inches.",
        "1050 mm, 105 cm and 1.05 m are read anywhere. To type plain millimetres, set units to mm on Shop.",
        "Put a space before the fraction: 1 3/8. Run together, 13/8 could be either of two lengths.",
        "The measure columns are formatted as text, so that 3/8 stays 3/8. In other cells a spreadsheet may",
        "turn it into a date; the program notices and says so.",
    ),
    "Size": (
        "Length: along the grain, the whole piece. Width and thickness: the smallest found on the way.",
        "Round down if you must. A piece a little larger than written does no harm.",
    ),
    "Warp": (
        "Measure warp over the whole piece, however short the blanks are. The planner works out the rest.",
        "Bow: the piece curves along its flat. Largest gap under a straightedge along the wide face.",
        "Crook: the piece curves along its edge. Largest gap under a straightedge along the edge.",
        "Cup: the piece is hollow from edge to edge. Largest gap under a straightedge across the face.",
        "Twist: three corners held down on a flat bench, how far the fourth stands up.",
        "Round up if you must.",
    ),
    "Grain": (
        "Ring angle: at the end grain, the angle between the growth rings and the wide face, in degrees.",
        "Rings lying along the face: 0. Rings standing upright: 90.",
    ),
    "Defects": (
        "Give each a row of its own. From and To are measured from end A, both edge columns from edge 1.",
        "Draw the box a little large: all the wood that you would not have in a blank.",
        "If you cannot tell how deep it goes, leave Face empty: it counts as going through.",
        "Checks at the ends are covered by the end trim on Shop as far as that goes; mark longer ones.",
    ),
    "When it is filled in": ("Save, then run: yieldplan check FILE.xlsx",),
}
"""The sheet on how to measure: headings, and the lines under each."""
