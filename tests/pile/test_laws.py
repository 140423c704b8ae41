"""Laws of settling, on random plans with random outcomes: wood is conserved, and nothing of it changes on the way."""

from __future__ import annotations

import random
import tempfile
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

from hypothesis import assume, given, settings
from hypothesis import strategies as st
from written import Batch, Settled, random_batch, random_marks, settled_at

from yieldplan.model import Defect, Offcut, why_not
from yieldplan.model.gives import billet_needed
from yieldplan.model.leftovers import keepers

if TYPE_CHECKING:
    from collections.abc import Iterator

    from yieldplan.model import Job, Keeper

SEEDS = st.integers(0, 10**6)
WORKBOOKS = 5
"""One seed in so many is settled as a workbook, which takes longer; the others as csv folders."""

Box = tuple[tuple[int, int], tuple[int, int], tuple[int, int]]


def settled(seed: int, folder: str, **how: bool) -> tuple[Batch, Settled]:
    """Return a random batch, and what it comes to with random outcomes."""
    batch = random_batch(seed, Path(folder), workbook=seed % WORKBOOKS == 0)
    return batch, settled_at(batch, Path(folder), random_marks(batch, seed, **how))


def volume(job: Job) -> int:
    """Return the wood of a whole pile, in cubic steps."""
    return sum(offcut.volume * offcut.qty for offcut in job.offcuts)


@given(SEEDS)
@settings(max_examples=12)
def test_wood_is_conserved_to_the_last_step(seed: int) -> None:
    """Before = after + blanks + kerf + shavings + trimmings, where nothing was measured; no part is below 0."""
    with tempfile.TemporaryDirectory() as folder:
        batch, after = settled(seed, folder)
        account = after.found.account
        gone = (account.blanks, account.kerf, account.shavings, account.trimmings)
        left = volume(after.job) if any(o.qty for o in batch.job.offcuts) and not emptied(batch, after) else 0
        assert volume(batch.job) == left + sum(gone)
        assert min(gone) >= 0


def emptied(batch: Batch, after: Settled) -> bool:
    """Return whether nothing is left of a pile; such an input is refused, for nothing can be planned from it."""
    pieces = sum(offcut.qty for offcut in batch.job.offcuts)
    return len(after.found.boards) == pieces and not after.found.kept


@given(SEEDS)
@settings(max_examples=12)
def test_all_as_planned_comes_to_the_account_of_the_plan(seed: int) -> None:
    """An empty sheet settles to what the plan says: its account, its keepers, its blanks, its minutes."""
    with tempfile.TemporaryDirectory() as folder:
        batch = random_batch(seed, Path(folder))
        found = settled_at(batch, Path(folder), {}).found
        assert found.account == batch.plan.account
        assert found.hundredths == batch.plan.work.hundredths
        made = {name: count for name, count in found.good if count}
        wanted = dict(batch.plan.made)
        assert made == {n: wanted[n] + s for n, s in batch.plan.spare if wanted[n] + s}
        assert [piece.name for piece in found.kept] == [p.name for p in batch.pieces if p.kind == "keeper"]


@given(SEEDS)
@settings(max_examples=12)
def test_nothing_cut_is_the_input_again(seed: int) -> None:
    """A batch of which no board was cut leaves every file and every part of the workbook as it was."""
    with tempfile.TemporaryDirectory() as folder:
        batch = random_batch(seed, Path(folder), workbook=seed % WORKBOOKS == 0)
        boards = {piece.name: {"Outcome": "not cut"} for piece in batch.pieces if piece.kind == "board"}
        after = settled_at(batch, Path(folder), boards)
        assert nameless(after.job) == nameless(batch.job)
        half_way = settled_at(batch, Path(folder), {}, half_way=True)
        assert half_way.files == after.files


@given(SEEDS)
@settings(max_examples=12)
def test_the_same_batch_gives_the_same_bytes_and_is_read_without_a_problem(seed: int) -> None:
    """Settled twice it is the same to the byte; what is read back is what was meant, and Need went down."""
    with tempfile.TemporaryDirectory() as folder:
        batch, after = settled(seed, folder, measured=True)
        assume(not emptied(batch, after))
        assert settled_at(batch, Path(folder), random_marks(batch, seed, measured=True)).files == after.files
        job, good = after.job, dict(after.found.good)
        assert tuple(replace(o, other=()) for o in job.offcuts if o.origin) == after.found.kept
        needs = [(blank.name, max(0, blank.need - good[blank.name])) for blank in batch.job.blanks]
        assert [(blank.name, blank.need) for blank in job.blanks] == needs
        assert len(job.struck) == len(after.found.boards)
        assert not set(job.struck) & {offcut.name for offcut in job.offcuts}


def nameless(job: Job) -> Job:
    """Return a job without what tells one file from another."""
    return replace(job, name="", sha256="", warnings=())


def lying(batch: Batch) -> Iterator[tuple[Offcut, Keeper, str]]:
    """Yield each keeper of a plan with the board it lies in and its name."""
    names = {(p.board, p.box): p.name for p in batch.pieces if p.kind == "keeper"}
    for piece in batch.pieces:
        if piece.kind == "board":
            offcut = batch.job.offcut(piece.drawn.offcut)
            for keeper in keepers(batch.job, piece.drawn):
                yield offcut, keeper, names[piece.name, keeper]


def bad_wood(batch: Batch, offcut: Offcut, keeper: Keeper, one: Defect) -> Box | None:
    """Return where in a keeper, from its own corner in the board's frame, a defect may lie (R9); None where nowhere.

    Worked out here anew: jointing took between a skim and the whole loss off edge 1 and face 1, and of a stick's end
    the planer took what it is smaller than its stick on one side or the other.
    """
    shop, length, wide, deep = batch.job.shop, *keeper.size
    low = edge = face = edge_skim = face_skim = 0
    if keeper.wood is not None and keeper.billet is not None:
        low, edge, face = keeper.wood.low, keeper.billet.edge_loss, keeper.billet.face_loss
        edge_skim, face_skim = shop.edge_skim, shop.face_skim
    planed = [keeper.across[1] - keeper.across[0] - wide, keeper.deep[1] - keeper.deep[0] - deep]
    y0, z0 = low + keeper.across[0], keeper.deep[0]
    x = (max(0, one.x1 - keeper.x[0]), min(length, one.x2 - keeper.x[0]))
    y = (max(0, one.y1 - edge - y0 - planed[0]), min(wide, one.y2 - edge_skim - y0))
    z = (max(0, one.z1 - face - z0 - planed[1]), min(deep, one.z2 - face_skim - z0))
    z = (0, deep) if one.through else z
    return (x, y, z) if all(a < b for a, b in (x, y, z)) else None


def holds(boxes: list[Box], place: tuple[int, ...]) -> bool:
    """Return whether a cubic mark, by its lower corner, lies in one of the boxes."""
    return any(all(a <= p < b for (a, b), p in zip(box, place, strict=True)) for box in boxes)


@given(SEEDS)
@settings(max_examples=14)
def test_each_cubic_mark_of_a_keeper_is_as_sound_as_it_was_in_the_board(seed: int) -> None:
    """No defect vanishes or appears; only inside a keeper that lies turned one reaches to the nearer face."""
    rng = random.Random(seed)
    with tempfile.TemporaryDirectory() as folder:
        batch = random_batch(seed, Path(folder), workbook=seed % WORKBOOKS == 0)
        after = {offcut.name: offcut for offcut in settled_at(batch, Path(folder), {}).job.offcuts}
        kept = list(lying(batch))
        assume(kept)
        for offcut, keeper, name in kept:
            was = [box for one in offcut.defects if (box := bad_wood(batch, offcut, keeper, one))]
            row, (length, wide, deep) = after[name], keeper.size
            turned = deep > wide
            assert (row.length, row.width, row.thickness) == (length, max(wide, deep), min(wide, deep))
            now: list[Box] = [((d.x1, d.x2), (d.y1, d.y2), (d.z1, d.z2)) for d in row.defects]
            for _ in range(60):
                mark = batch.job.shop.mark
                x, y, z = (rng.randrange(0, size, mark) for size in (length, wide, deep))
                if was and rng.random() < 0.8:  # near a defect, or no place would ever be bad
                    x, y, z = (
                        min(max(rng.choice(end) + rng.choice((-mark, 0)), 0), size - mark)
                        for end, size in zip(rng.choice(was), (length, wide, deep), strict=True)
                    )
                bad = holds(was, (x, y, z))
                if not turned:
                    assert holds(now, (x, y, z)) == bad
                elif bad:
                    assert holds(now, (x, deep - mark - z, y))
            if turned and all(box[1][0] == 0 or box[1][1] == wide for box in was):
                assert sum(_size(box) for box in now) == sum(_size(box) for box in was)


def _size(box: Box) -> int:
    return (box[0][1] - box[0][0]) * (box[1][1] - box[1][0]) * (box[2][1] - box[2][0])


def gives_more(batch: Batch, offcut: Offcut, keeper: Keeper, blank: int) -> bool:
    """Return whether one more blank could have been cut from a keeper as a board of its own, by the board's own lines.

    Of a rough length the board itself is asked, all of it but the keeper being bad wood, with the keeper's end trims;
    the few marks to which four warps are rounded are left over. What comes off a jointed billet has its own box, with
    its defects where they were, and is jointed anew.
    """
    job, wanted = batch.job, batch.job.blanks[blank]
    shop, length = job.shop, keeper.size[0]
    if length < billet_needed(wanted, shop) + 2 * shop.end_trim:
        return False
    if keeper.form == "length":
        trim = shop.end_trim + shop.stick_trim
        gone = [(0, keeper.x[0] + trim), (keeper.x[1] - trim, offcut.length)]
        wide, deep = offcut.width, offcut.thickness
        lost = tuple(Defect(kind="gone", x1=a, x2=b, y1=0, y2=wide, z1=0, z2=deep) for a, b in gone)
        spare = 4 * shop.mark
        board = replace(
            offcut,
            width=offcut.width - spare,
            thickness=offcut.thickness - spare,
            defects=(*offcut.defects, *lost),
        )
        return why_not(board, wanted, shop) is None
    boxes = [(one, box) for one in offcut.defects if (box := bad_wood(batch, offcut, keeper, one))]
    if keeper.size[2] > keeper.size[1] and boxes:
        return False  # a defect inside it reaches to a face; the law of cubic marks holds that
    wide, deep = max(keeper.size[1:]), min(keeper.size[1:])
    rings = offcut.ring_angle
    if keeper.size[2] > keeper.size[1] and isinstance(rings, int):
        rings = 90 - rings
    own = Offcut(
        name="own",
        length=length,
        width=wide,
        thickness=deep,
        species=offcut.species,
        ring_angle=rings,
        moisture=offcut.moisture,
        grain_slope=offcut.grain_slope,
        defects=tuple(
            replace(one, x1=x[0], x2=x[1], y1=y[0], y2=y[1], z1=z[0], z2=z[1], through=z == (0, deep))
            for one, (x, y, z) in boxes
        ),
    )
    return why_not(own, wanted, shop) is None


@given(SEEDS)
@settings(max_examples=14)
def test_a_keeper_that_could_have_given_one_more_still_does(seed: int) -> None:
    """Read from the next input, as a board of its own, it gives each kind that it could have given."""
    with tempfile.TemporaryDirectory() as folder:
        batch = random_batch(seed, Path(folder), workbook=seed % WORKBOOKS == 0)
        after = {offcut.name: offcut for offcut in settled_at(batch, Path(folder), {}).job.offcuts}
        kept = list(lying(batch))
        assume(kept)
        for offcut, keeper, name in kept:
            for number, blank in enumerate(batch.job.blanks):
                if gives_more(batch, offcut, keeper, number):
                    assert why_not(after[name], blank, batch.job.shop) is None, (name, blank.name)
