"""The cutting order as text: every line at a pinned width, safe to show whatever was typed."""

from __future__ import annotations

import pytest
from random_plans import nothing_made, random_plan
from rich.cells import cell_len
from tiny import tiny_job, tiny_plan

from yieldplan.order import cutting_order, order_text
from yieldplan.order.cautions import CAUTIONS, DEFER

TINY = """\
--- Mark from end A ---
     Piece  Measured from    From  To  Gives    Long  Note
---  -----  -------------  ------  --  -----  ------  ----
[ ]  P1     end A             1/2  27  P1     26 1/2
[ ]  P1     end A          27 1/8  40  P1-K1  12 7/8  keep

--- Light passes; stop when flat ---
     Piece  Joint   At least thick  To spare
---  -----  ------  --------------  --------
[ ]  P1     face 1           1 3/8      5/16

--- Light passes; stop when flat ---
     Piece  Joint                        At least wide  To spare
---  -----  ---------------------------  -------------  --------
[ ]  P1     edge 1, face 1 on the fence          4 7/8    1 1/16

--- Fence at 2 3/8" ---
     Piece  On the fence                 Fence  Passes  Gives       Left over
---  -----  ---------------------------  -----  ------  ----------  ---------
[ ]  P1     edge 1, then the fresh edge  2 3/8       2  P1-1, P1-2  waste

--- Fence at 1 3/8" ---
     Piece  On the fence  Fence  Passes  Gives  Left over
---  -----  ------------  -----  ------  -----  ---------
[ ]  P1-1   face 1        1 3/8       1  P1-1   waste
[ ]  P1-2   face 1        1 3/8       1  P1-2   waste

--- Planer at 2 1/4" ---
     Stick  On the table                               From  To width
---  -----  ----------------------------------------  -----  --------
[ ]  P1-1   jointed edge down                         2 3/8     2 1/4
[ ]  P1-2   either sawn edge down, then turn it over  2 3/8     2 1/4

--- Planer at 1 5/16" ---
     Stick  On the table        From  To thickness
---  -----  -----------------  -----  ------------
[ ]  P1-1   jointed face down  1 3/8        1 5/16
[ ]  P1-2   jointed face down  1 3/8        1 5/16

--- Square, no stop ---
     Stick  Measured from  Cut at
---  -----  -------------  ------
[ ]  P1-1   end A             1/2
[ ]  P1-2   end A             1/2

--- Stop at 12" ---
     Stick  On the stop  Stop  How many  Blank  Left over  Note
---  -----  -----------  ----  --------  -----  ---------  -----------
[ ]  P1-1   squared end    12         1  Rib    P1-1       sound end A
[ ]  P1-1   squared end    12         1  Rib    waste      sound end B
[ ]  P1-2   squared end    12         1  Rib    P1-K2      sound end A
"""

ENDING = """\
KEEPERS: BACK ON THE RACK
=========================
     New name  Size                        Species    From (end A)
---  --------  --------------------------  ---------  ----------------------
[ ]  P1-K1     12 7/8 × 6 × 1 3/4 in       White oak  P1, 27 1/8 to 40
[ ]  P1-K2     13 7/8 × 2 1/4 × 1 5/16 in  White oak  P1-2, 12 5/8 to 26 1/2

LEFT ALONE
==========
P2 (2 of 2)
"""


def tiny_text(*, width: int = 90, offcut: str = "P1", blank: str = "Rib") -> str:
    """Return the tiny plan's text."""
    job = tiny_job(offcut=offcut, blank=blank)
    return order_text(cutting_order(job, tiny_plan(job)), width=width)


def test_the_tiny_plans_lists_in_full() -> None:
    """Every list of the tiny plan's order, line for line."""
    blocks = tiny_text().split("\n\n")
    lists = [block for block in blocks if block.startswith("--- ")]
    assert "\n\n".join(lists) + "\n" == TINY


def test_the_tiny_plans_ending_in_full() -> None:
    """Keepers and what is left alone stand at the end."""
    text = tiny_text()
    assert text[text.index("KEEPERS") :] == ENDING


@pytest.mark.parametrize("width", [72, 80, 96, 130])
@pytest.mark.parametrize("seed", [0, 1, 2])
def test_no_line_is_longer_than_the_width(seed: int, width: int) -> None:
    """The text keeps to its width, whatever names there are."""
    text = order_text(cutting_order(*random_plan(seed, names=("Ж" * 60, "船" * 20))), width=width)
    assert max(cell_len(line) for line in text.splitlines()) <= width


def test_a_width_that_is_too_small_is_refused() -> None:
    """Below 72 characters the lists cannot be read, and the error says so."""
    with pytest.raises(ValueError, match="at least 72, not 71"):
        tiny_text(width=71)


def test_names_cannot_steer_the_terminal() -> None:
    """Control characters in names are written out, and no row is broken by a line end."""
    text = tiny_text(offcut="P\x1b[31m1\n2", blank="Rib\u202e\x07")
    assert not set(text) & {"\x1b", "\x07", "\u202e"}
    assert "P\\x1b[31m1\\n2" in text
    assert all(line.isprintable() for line in text.splitlines())


def test_cautions_of_the_machines_in_use_stand_with_their_work() -> None:
    """Each machine that has work has its cautions, and the manual and local rules come first."""
    text = " ".join(tiny_text(width=200).split())
    job = tiny_job()
    order = cutting_order(job, tiny_plan(job))
    for machine in {sheet.machine for sheet in order.sheets}:
        for caution in CAUTIONS[machine]:
            assert caution in text
    assert DEFER in text


def test_nothing_to_cut_is_said() -> None:
    """A plan that draws nothing gives a text that says so, and lists what is left alone."""
    text = order_text(cutting_order(*nothing_made(0)))
    assert "Nothing is cut." in text
    assert "P1" in text[text.index("LEFT ALONE") :]
