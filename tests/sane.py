"""What must hold whatever is typed: an input is refused in sentences that can be read, or makes a sane job."""

from __future__ import annotations

import unicodedata
from typing import TYPE_CHECKING

from yieldplan.measure import LONGEST
from yieldplan.model.shop import LENGTHS

if TYPE_CHECKING:
    from yieldplan.model import InputError, Job, Offcut, Problem


def check_refusal(error: InputError) -> None:
    """Assert that a refusal has a problem, and that each problem is one line that steers no terminal."""
    assert any(problem.severity == "error" for problem in error.problems)
    for problem in error.problems:
        _check_sentence(problem)


def _check_sentence(problem: Problem) -> None:
    assert problem.file
    assert problem.found
    sentence = problem.sentence()
    assert sentence.endswith((".", "?")), sentence
    assert len(sentence) < 2000, sentence
    steering = {char for char in sentence if unicodedata.category(char) in ("Cc", "Cs", "Zl", "Zp")}
    assert not steering, sentence


def check_job(job: Job) -> None:
    """Assert that a job holds nothing that the rest of the program could not work with."""
    assert job.offcuts
    assert job.blanks
    for problem in job.warnings:
        assert problem.severity == "warning"
        _check_sentence(problem)
    for names in ([offcut.name for offcut in job.offcuts], [blank.name for blank in job.blanks]):
        assert all(name.strip() and name.isprintable() and len(name) <= 80 for name in names)
        assert len({" ".join(name.casefold().split()) for name in names}) == len(names)
    for offcut in job.offcuts:
        _check_offcut(offcut)
    for blank in job.blanks:
        assert 0 < blank.length <= LONGEST
        assert 0 < blank.thickness <= blank.width <= LONGEST
        assert 0 <= blank.need <= 10_000
        assert 0 <= blank.spare <= 10_000
        assert 0 <= blank.clear_end <= blank.length
        assert 1 <= blank.priority <= 99
        assert 0 <= (blank.ring_from or 0) <= (90 if blank.ring_to is None else blank.ring_to) <= 90
    _check_marks(job)
    sizes = (getattr(job.shop, name) for name in job.shop.__slots__)
    assert all(0 <= size <= LONGEST for size in sizes if isinstance(size, int))
    assert 0 <= job.shop.length_premium <= 100
    assert job.shop.full_length > 0


def _check_marks(job: Job) -> None:
    """Assert that every length is a whole number of marks."""
    lengths = [
        size for blank in job.blanks for size in (blank.length, blank.width, blank.thickness, blank.clear_end)
    ]
    for offcut in job.offcuts:
        lengths += [offcut.length, offcut.width, offcut.thickness, *offcut.kinks]
        lengths += [offcut.bow, offcut.crook, offcut.cup, offcut.twist]
        for defect in offcut.defects:
            lengths += [defect.x1, defect.x2, defect.y1, defect.y2, defect.z1, defect.z2]
    lengths += [getattr(job.shop, name) for name in LENGTHS]
    assert not any(length % job.shop.mark for length in lengths)


def _check_offcut(offcut: Offcut) -> None:
    assert 0 < offcut.length <= LONGEST
    assert 0 < offcut.thickness <= offcut.width <= LONGEST
    assert 1 <= offcut.qty <= 500
    assert all(0 <= warp <= LONGEST for warp in (offcut.bow, offcut.crook, offcut.cup, offcut.twist))
    assert offcut.rings is None or all(0 <= low <= high <= 90 for low, high in offcut.rings)
    assert all(0 < kink < offcut.length for kink in offcut.kinks)
    assert offcut.grain_slope is None or offcut.grain_slope >= 0
    assert offcut.moisture is None or 0 <= offcut.moisture <= 300
    for defect in offcut.defects:
        assert defect.kind.strip()
        assert 0 <= defect.x1 < defect.x2 <= offcut.length
        assert 0 <= defect.y1 < defect.y2 <= offcut.width
        assert 0 <= defect.z1 < defect.z2 <= offcut.thickness
