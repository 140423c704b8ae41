"""The account of wood, added up afresh: in = blanks + keepers + kerf + shavings + trimmings, in cubic steps.

Exactly this is meant, and the plan's own account must come to the same figures. W by T is the offcut's section; a
half of a split billet has its own width w for W; E and F are the losses of R3; l is a billet's length.

- **in**: L W T of every drawn piece.
- **blanks**: (finished length + length allowance) times the planed section, of needed ones and spares alike.
- **keepers**: the volume of every keeper of R11, as the leftovers have it.
- **kerf**: for every row of pieces the gaps along it: min(gap, k) before the first and behind the last piece,
  min(gap, 2k) between neighbours, times the section that is cut:

  - billets on an offcut, and the blanks on a stick: k is the crosscut kerf; the section is W T, or the planed section
    (a stick's row runs from the start to the end of its billet);
  - strips or layers in a box: k is the kerf of the row's machine (R5), on the bandsaw with its skim; the section is l
    times the box's other size (T - F under strips, W - E under layers);
  - sticks in a strip or layer: k as before, by the height of their own cuts; the section is l times the strip's size;
  - a split: l T times the bandsaw kerf (no skim: each half is jointed anyway).

  Where no saw reaches k is 0. But *behind the last piece of a row across* (strips, layers or sticks) a gap of at most
  *plane off* is no kerf at all: no cut is made there.
- **shavings**: jointing, l (W T - (W - E)(T - F)) of each billet or half with a layout; planing, l (rough - planed
  section) of every stick; and those gaps of at most *plane off*, the whole gap times the section of its row, less what
  R11 calls a keeper there (only in a shop whose keepers are thinner than what it planes off).
- **trimmings**: all the rest: ends, edgings, defects, halves that are waste.

Gap and kerf and leftover of a row add up, so nothing counts twice: no part of a right plan is below 0.
"""
