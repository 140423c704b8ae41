"""What ``plan --why`` shows."""

from __future__ import annotations

from yieldplan.model import Blank, Job, Offcut
from yieldplan.model.shop import INCH
from yieldplan.order.renderables import plain_text
from yieldplan.order.tried import tried_report
from yieldplan.solve import Alternative, Tried

RIB = Blank(name="[b]Rib", need=2, length=14 * INCH, width=2 * INCH, thickness=INCH)
TALL = Blank(name="Tall", need=1, length=14 * INCH, width=2 * INCH, thickness=2 * INCH)
GOOD = Offcut(name="Good", length=20 * INCH, width=6 * INCH, thickness=2 * INCH)
JOB = Job(offcuts=(GOOD,), blanks=(RIB, TALL))
CHOSEN = Alternative(blanks=(("[b]Rib", 2),), keepers=1, draws=900, least=1234)
OTHER = Alternative(blanks=(("[b]Rib", 1),), keepers=2, draws=1100, least=1400)
UNBOUNDED = Alternative(blanks=(("[b]Rib", 3),), keepers=0, draws=1500, least=None)


def report(**changes: object) -> str:
    """Return the report as lines of 100 signs."""
    told = Tried(
        **{
            "offcut": "Good",
            "alike": 1,
            "sections": 2,
            "billets": 1040,
            "cuttings": 3,
            "net_worth": 1234,
            "chosen": ((CHOSEN, 1),),
            "best": (OTHER, UNBOUNDED),
            **changes,
        }  # type: ignore[arg-type]
    )
    return plain_text(tried_report(JOB, told), 100)


def test_each_blank_is_judged_by_itself() -> None:
    """One would do, of the other it says by how much it fails."""
    lines = report().splitlines()
    assert any(line.startswith("[b]Rib") and line.endswith("would do") for line in lines)
    assert any(line.startswith("Tall") and "too thin after jointing at this length" in line for line in lines)


def test_cuttings_stand_with_what_the_batch_would_draw() -> None:
    """The planned one first; of the others how much more the batch draws at least, where that is known."""
    text = " ".join(report().split())
    assert "1,040 billets of 2 sections were tried, and 3 cuttings weighed. It is cut as marked." in text
    assert "planned 2 [b]Rib 1 900 1,234 0" in text
    assert "[b]Rib 2 1,100 1,400 166" in text
    assert "3 [b]Rib 0 1,500 not known not known" in text
    assert "the plan above draws 1,234." in text


def test_a_piece_that_gives_nothing() -> None:
    """No table of cuttings, and the reason in words."""
    text = report(sections=0, billets=0, cuttings=0, chosen=(), best=(), alike=0)
    assert "No blank can come out of it, so it was left alone." in text
    assert "Draws" not in text


def test_several_alike() -> None:
    """Copies and like offcuts are told together."""
    text = " ".join(report(alike=5, chosen=((CHOSEN, 2),)).split())
    assert "It is one of 5 alike. 2 of them are cut as marked." in text
    assert "planned 2 times" in text
