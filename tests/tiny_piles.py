"""Tiny piles for the enumeration (:mod:`brute`), from a seed: every flavour of wood, shop and batch.

One to four offcuts, one to three kinds of blanks; sizes and marks are coarse, so that few places arise.
"""

from __future__ import annotations

import random
from dataclasses import dataclass, replace
from fractions import Fraction
from typing import TYPE_CHECKING, Any

from yieldplan.model import Blank, Defect, Job, Offcut, Shop
from yieldplan.model.species import Species

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

INCH = 8128
Pick = Any
"""Picks one of several things: ``random.Random(seed).choice``."""

OAK = Species(
    name="oak",
    radial=Fraction("0.0018"),
    tangential=Fraction("0.00365"),
    radial_shrinkage=Fraction("5.6"),
    tangential_shrinkage=Fraction("10.5"),
)
"""White oak's figures, under a name that the built-in table does not have."""


@dataclass(frozen=True, slots=True)
class Bounds:
    """How large things are, in marks; ``marks`` to an inch."""

    marks: int
    lengths: range
    widths: range
    depths: range


def tiny(seed: int) -> Job:
    """Return the tiny job of a seed; its name is that of its flavour."""
    name = list(FLAVOURS)[seed % len(FLAVOURS)]
    pick = random.Random(f"tiny {seed}").choice
    job = FLAVOURS[name](pick)
    return replace(job, name=name, sha256="0" * 64)


def _job(pick: Pick, bounds: Bounds, *, offcuts: Sequence[int] = (1, 2, 2, 3), **settings: int) -> Job:
    """Return a job of clean straight wood; most of its blanks fit most of its offcuts."""
    mark = INCH // bounds.marks
    shop = a_shop(pick, mark, **settings)
    pile = tuple(_offcut(pick, number, bounds) for number in range(pick(offcuts)))
    kinds = pick((1, 2, 2, 3))
    sections = [_section(pick, pick(pile), shop) for _ in range(pick((1, 2, 2)))]
    longest = max(offcut.length for offcut in pile) // mark
    blanks = tuple(
        Blank(
            name=f"B{number}",
            need=pick(((2, 3, 4, 5), (1, 2, 3, 3), (1, 2, 2))[kinds - 1]),
            length=pick(range(2 * bounds.marks, longest * pick((2, 3, 4)) // 6)) * mark,
            width=max(section),
            thickness=min(section),
        )
        for number, section in enumerate(pick(sections) for _ in range(kinds))
    )
    return Job(offcuts=pile, blanks=blanks, shop=shop)


def a_shop(pick: Pick, mark: int, **settings: Any) -> Shop:
    """Return a shop whose lengths are all whole numbers of coarse marks."""
    plain: dict[str, Any] = {
        "mark": mark,
        "rip_kerf": mark,
        "bandsaw_kerf": pick((0, mark, mark)),
        "bandsaw_skim": pick((0, 0, mark)),
        "crosscut_kerf": mark,
        "saw_depth": pick((2, 2, 3)) * INCH,
        "bandsaw_height": 6 * INCH,
        "resaw_height": pick((4, 6)) * INCH,
        "face_skim": pick((0, mark)),
        "edge_skim": pick((0, mark)),
        "width_allowance": pick((0, mark)),
        "thickness_allowance": pick((0, mark)),
        "least_planing": 0,
        "plane_off": pick((0, mark)),
        "length_allowance": pick((0, 0, 0, mark)),
        "shortest_machined_length": pick((3, 4, 6, 8)) * INCH,
        "jointer_width": 8 * INCH,
        "planer_width": 12 * INCH,
        "thinnest_planed": mark,
        "narrowest_rip": 2 * mark,
        "split_warp": 12 * INCH,
        "end_trim": pick((0, mark, mark, INCH)),
        "stick_trim": pick((0, mark, mark, INCH)),
        "past_a_check": INCH,
        "past_a_knot": pick((0, INCH // 2)),
        "keeper_length": pick((10, 12, 15, 40)) * INCH,
        "keeper_width": pick((1, 2)) * INCH,
        "keeper_thickness": INCH // 2,
        "length_premium": pick((Fraction(1), Fraction(1), Fraction(0), Fraction(1, 2))),
        "full_length": pick((24, 96)) * INCH,
        "minutes_for_a_board_foot": pick((1000, 1000, 1000, 6000, 6000, 200)),
        "target_moisture": None,
    }
    return Shop(**(plain | settings))


def _offcut(pick: Pick, number: int, bounds: Bounds) -> Offcut:
    mark = INCH // bounds.marks
    sizes = pick(bounds.widths) * mark, pick(bounds.depths) * mark
    return Offcut(
        name=f"P{number}",
        length=pick(bounds.lengths) * mark,
        width=max(sizes),
        thickness=min(sizes),
        qty=pick((1, 1, 1, 2)),
        species=pick(("oak", "oak", "ash")),
    )


def _section(pick: Pick, offcut: Offcut, shop: Shop) -> tuple[int, int]:
    """Return a section that an offcut has room for, a part of its width and all or a part of its thickness."""
    mark = shop.mark
    width = (offcut.width - shop.edge_skim - shop.width_allowance) // mark
    depth = (offcut.thickness - shop.face_skim - shop.thickness_allowance) // mark
    across = max(width // pick((1, 2, 2, 3, 4)) - pick((0, 0, 1, 2)), 2)
    deep = max(depth // pick((1, 1, 1, 2, 2)) - pick((0, 0, 1)), 2)
    return across * mark, deep * mark


FINE = Bounds(4, range(4 * 14, 4 * 32), range(4 * 2, 4 * 6), range(4, 4 * 2 + 2))
COARSE = Bounds(2, range(2 * 16, 2 * 60), range(2 * 2, 2 * 7), range(2, 2 * 3))


def _either(pick: Pick) -> Bounds:
    return FINE if pick((True, False)) else COARSE


def _each(job: Job, change: Callable[[Offcut], Offcut]) -> Job:
    return replace(job, offcuts=tuple(map(change, job.offcuts)))


def _each_blank(job: Job, change: Callable[[Blank], Blank]) -> Job:
    return replace(job, blanks=tuple(map(change, job.blanks)))


def clean(pick: Pick) -> Job:
    """Return straight clear wood."""
    return _job(pick, _either(pick))


KINDS = ("knot", "end check", "pin knot", "stain")


def a_defect(pick: Pick, offcut: Offcut, mark: int) -> Defect:
    """Return a defect: through or on one face, over the whole width or a part of it."""
    x1 = pick(range(0, offcut.length - mark, mark))
    x2 = min(x1 + pick((1, 2, 4)) * mark, offcut.length)
    y1, y2 = 0, offcut.width
    if pick((True, False)):
        y1 = pick(range(0, offcut.width, mark))
        y2 = min(y1 + pick((1, 2, 3)) * mark, offcut.width)
    z1, z2, through = 0, offcut.thickness, True
    if pick((True, False, False)):
        deep = pick(range(mark, offcut.thickness, mark))
        z1, z2 = pick(((0, deep), (offcut.thickness - deep, offcut.thickness)))
        through = False
    return Defect(kind=pick(KINDS), x1=x1, x2=x2, y1=y1, y2=y2, z1=z1, z2=z2, through=through)


def _marked(pick: Pick, job: Job, counts: Sequence[int] = (0, 1, 1, 2)) -> Job:
    mark = job.shop.mark
    return _each(
        job,
        lambda offcut: replace(
            offcut, defects=tuple(a_defect(pick, offcut, mark) for _ in range(pick(counts)))
        ),
    )


def defects(pick: Pick) -> Job:
    """Return wood with defects: through, on one face, in part of the width."""
    return _marked(pick, _job(pick, _either(pick)))


def clear_ends(pick: Pick) -> Job:
    """Return wood with defects that some blanks allow, outside a clear end."""
    return _allowed(pick, defects(pick))


def _allowed(pick: Pick, job: Job) -> Job:
    mark = job.shop.mark

    def allowing(blank: Blank) -> Blank:
        clear = pick((0, 1, 2, 4, 100)) * INCH
        return replace(
            blank,
            allows=pick((("knot",), KINDS, ("pin knot", "stain"))),
            clear_end=min(clear, blank.length) // mark * mark,
        )

    return _each_blank(job, allowing)


def warped(pick: Pick) -> Job:
    """Return bent and twisted wood."""
    return _marked(pick, _bent(pick, _job(pick, _either(pick))), (0, 0, 0, 1))


def _bent(pick: Pick, job: Job) -> Job:
    sixteenth = INCH // 16

    def bent(offcut: Offcut) -> Offcut:
        return replace(
            offcut,
            bow=pick((0, 2, 4, 8)) * sixteenth,
            crook=pick((0, 2, 6)) * sixteenth,
            cup=pick((0, 0, 2)) * sixteenth,
            twist=pick((0, 0, 4)) * sixteenth,
        )

    return _each(job, bent)


def rings(pick: Pick) -> Job:
    """Return wood whose ring angles were read, blanks that ask for some."""
    return _marked(pick, _ringed(pick, _job(pick, _either(pick))), (0, 0, 1))


def _ringed(pick: Pick, job: Job) -> Job:
    def read(offcut: Offcut) -> Offcut:
        near = pick((None, 10, 25, 40, 45, 60, 80, (0, 30), (30, 60)))
        far = None if near is None else pick((None, 20, 45, 50, 60, 75))
        return replace(offcut, ring_angle=near, ring_angle_far=far)

    def asking(blank: Blank) -> Blank:
        low, high = pick(((None, None), (0, 50), (30, 60), (30, 60), (40, None)))
        return replace(blank, ring_from=low, ring_to=high)

    return _each_blank(_each(job, read), asking)


def wet(pick: Pick) -> Job:
    """Return wood of several moistures, slopes of grain and species."""
    job = _job(pick, FINE)
    shop = replace(
        job.shop,
        target_moisture=Fraction(pick((8, 12))),
        species=(OAK,),
        least_planing=pick((0, job.shop.mark)),
    )

    def read(offcut: Offcut) -> Offcut:
        return replace(
            offcut,
            moisture=pick((None, *(Fraction(part, 2) for part in (14, 25, 33, 90)))),
            grain_slope=pick((None, Fraction(1, 8), Fraction(1, 20), Fraction(1, 20))),
            ring_angle=pick((None, 20, 70)),
        )

    def asking(blank: Blank) -> Blank:
        return replace(
            blank,
            species=pick(((), (), ("Oak",), ("oak", "ash"))),
            max_slope=pick((None, None, Fraction(1, 10))),
        )

    return replace(_each_blank(_each(job, read), asking), shop=shop)


def cupped(pick: Pick) -> Job:
    """Return wide cupped boards that may be split."""
    bounds = Bounds(2, range(2 * 12, 2 * 26), range(2 * 5, 2 * 9), range(3, 2 * 3))
    job = _job(pick, bounds, offcuts=(1, 1, 2), split_warp=pick((INCH // 2, INCH // 2, INCH)))
    job = replace(job, shop=replace(job.shop, jointer_width=pick((8, 8, 5, 4)) * INCH), blanks=job.blanks[:2])

    def bent(offcut: Offcut) -> Offcut:
        return replace(offcut, cup=pick((0, 2, 4, 6)) * INCH // 4, twist=pick((0, 0, 4)) * INCH // 4)

    return _marked(pick, _each(job, bent), (0, 0, 1))


def layouts(pick: Pick) -> Job:
    """Return boards that hold sticks both side by side and one over the other."""
    bounds = Bounds(4, range(4 * 10, 4 * 18), range(4 * 3, 4 * 5), range(6, 4 * 3))
    return _job(pick, bounds, offcuts=(1, 2))


def heights(pick: Pick) -> Job:
    """Return boards about as thick as the table saw cuts, in shops where not every saw reaches through everything."""
    bounds = Bounds(2, range(2 * 12, 2 * 24), range(2 * 3, 2 * 7), range(3, 2 * 3 + 1))
    return _job(
        pick,
        bounds,
        offcuts=(1, 2),
        saw_depth=pick((2, 3, 4)) * INCH // 2,
        bandsaw_height=pick((4, 5, 6, 8)) * INCH // 2,
        resaw_height=pick((4, 6, 12)) * INCH // 2,
        plane_off=pick((0, 1, 1)) * INCH // 2,
    )


def worked(pick: Pick) -> Job:
    """Return clean wood where work counts a lot, a little, or nothing."""
    job = _marked(pick, _job(pick, _either(pick)), (0, 0, 1))
    if pick((True, False)):
        shop = replace(
            job.shop,
            machine_setting=0,
            stop_setting=0,
            offcut_handled=0,
            billet_jointed=0,
            cut=0,
            bandsaw_pass=0,
            stick_planed=0,
        )
        return replace(job, shop=shop)
    return replace(job, shop=replace(job.shop, minutes_for_a_board_foot=pick((100, 200, 6000))))


def kept(pick: Pick) -> Job:
    """Return a shop that keeps small pieces."""
    return _marked(
        pick,
        _job(
            pick,
            _either(pick),
            keeper_length=pick((8, 8, 9, 10)) * INCH,
            keeper_width=pick((1, 2)) * INCH // 2 + INCH // 2,
            keeper_thickness=INCH // 2,
            minutes_for_a_board_foot=pick((1000, 6000)),
        ),
        (0, 0, 1),
    )


def kinked(pick: Pick) -> Job:
    """Return offcuts that bend at one place."""
    job = _job(pick, _either(pick))
    mark = job.shop.mark

    def bent(offcut: Offcut) -> Offcut:
        place = pick(range(5 * INCH, offcut.length - 5 * INCH, mark))
        return replace(
            offcut, kinks=pick(((), (place,), (place,))), bow=pick((0, INCH // 4)), crook=pick((0, INCH // 4))
        )

    return _marked(pick, _each(job, bent), (0, 0, 1))


def checked(pick: Pick) -> Job:
    """Return offcuts with checks over the whole width at or near their ends."""
    job = _job(pick, _either(pick), end_trim=pick((1, 2)) * INCH)
    mark = job.shop.mark

    def cracked(offcut: Offcut) -> Offcut:
        found = []
        for _ in range(pick((1, 2))):
            start = pick((0, mark, INCH, 2 * INCH, 3 * INCH))
            long = pick((1, 2, 3)) * mark
            x1, x2 = (
                (start, start + long)
                if pick((True, False))
                else (offcut.length - start - long, offcut.length - start)
            )
            found.append(
                Defect(
                    kind=pick(("end check", "split", "ring shake", "checkered stain")),
                    x1=x1,
                    x2=x2,
                    y1=0,
                    y2=offcut.width,
                    z1=0,
                    z2=offcut.thickness,
                )
            )
        return replace(offcut, defects=tuple(found))

    return _each(job, cracked)


def spare(pick: Pick) -> Job:
    """Return a batch with spares and two or three priorities, often more than the pile gives."""
    return _spared(pick, _marked(pick, _job(pick, _either(pick), offcuts=(1, 1, 2)), (0, 0, 1)))


def _spared(pick: Pick, job: Job) -> Job:
    return _each_blank(
        job,
        lambda blank: replace(
            blank, need=min(blank.need, 2), spare=pick((0, 1, 1, 2)), priority=pick((1, 1, 2, 3))
        ),
    )


def crooked(pick: Pick) -> Job:
    """Return long bent wood that gives much only in short billets, in a shop where work is cheap."""
    bounds = Bounds(2, range(2 * 24, 2 * 60), range(2 * 2, 2 * 5), range(3, 2 * 2 + 2))
    job = _job(pick, bounds, offcuts=(1, 1, 2), minutes_for_a_board_foot=pick((1000, 6000)))

    def bent(offcut: Offcut) -> Offcut:
        bow, crook = pick(((0, 4), (2, 0), (3, 3), (4, 0), (6, 8))) if pick((True, True, False)) else (0, 0)
        return replace(offcut, bow=bow * INCH // 2, crook=crook * INCH // 2)

    def short(blank: Blank) -> Blank:
        return replace(blank, length=min(blank.length, pick(range(4, 18)) * INCH))

    return _marked(pick, _each_blank(_each(job, bent), short), (0, 0, 1, 2))


def mixed(pick: Pick) -> Job:
    """Return wood with several of these troubles at once."""
    job: Job = pick((warped, kinked, cupped, heights, kept, worked, crooked))(pick)
    for change in (_ringed, _allowed, _spared, _bent):
        if pick((True, False)):
            job = change(pick, job)
    return job


FLAVOURS: dict[str, Callable[[Pick], Job]] = {
    made.__name__: made
    for made in (
        clean,
        defects,
        clear_ends,
        warped,
        rings,
        wet,
        cupped,
        layouts,
        heights,
        worked,
        kept,
        kinked,
        checked,
        spare,
        crooked,
        mixed,
    )
}
"""How tiny jobs are made, by name."""
