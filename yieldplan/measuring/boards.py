"""A board in one line: as it is read back, and as it is called over against the wood."""

from __future__ import annotations

from typing import TYPE_CHECKING

from yieldplan.measure import write
from yieldplan.model.words import slope_words
from yieldplan.pages.wording import per_cent, plural, unit_word

if TYPE_CHECKING:
    from collections.abc import Iterator

    from yieldplan.model import Defect, Job, Offcut, Shop


def read_back(offcut: Offcut, shop: Shop) -> str:
    """Return what was read of a board, but for its name: sizes, wood, warp, defects from end A on."""
    sizes = " × ".join(_figure(size, shop) for size in (offcut.length, offcut.width, offcut.thickness))
    wood = ", ".join(filter(None, (offcut.species, *(words for _, words in _readings(offcut)))))
    parts = (sizes, _alike(offcut), wood, ", ".join(_warps(offcut, shop)), *_defects(offcut, shop))
    return "; ".join(filter(None, parts))


def called(offcut: Offcut, shop: Shop) -> str:
    """Return a board in the order in which it is called: name, sizes, defects from end A on, warp, wood.

    Figures stand without a unit, as they are read off the tape; one in another unit has it.
    """
    sizes = ((offcut.length, "long"), (offcut.width, "wide"), (offcut.thickness, "thick"))
    sentences = [
        f"{offcut.name}: {', '.join(f'{_figure(size, shop)} {way}' for size, way in sizes)}",
        _alike(offcut),
        *(_defects(offcut, shop) or ["no defects"]),
        *(_warps(offcut, shop) or ["straight and flat"]),
        offcut.species,
        *(f"{word} {words}" for word, words in _readings(offcut)),
    ]
    return " ".join(f"{sentence[:1].upper()}{sentence[1:]}." for sentence in sentences if sentence)


def calling_order(job: Job) -> tuple[str, tuple[str, ...]]:
    """Return what the two who call over must know, and a line for each board."""
    count = len(job.offcuts)
    head = (
        f"{job.name}, {count} {plural(count, 'board')}, in {unit_word(job.shop)}. Hook the tape on end A, edge 1 "
        "towards you, face 1 up. A defect with no width given goes right across; one with no face given goes right "
        "through."
    )
    return head, tuple(called(offcut, job.shop) for offcut in job.offcuts)


def defect_words(defect: Defect, offcut: Offcut, shop: Shop) -> str:
    """Return a defect by where it lies; what goes right across, or right through, is not said."""
    words = f"{defect.kind} {_figure(defect.x1, shop)} to {_figure(defect.x2, shop)}"
    if defect.y1 > 0 or defect.y2 < offcut.width:
        words += f", {_figure(defect.y1, shop)} to {_figure(defect.y2, shop)} from edge 1"
    if not defect.through:
        face, depth = (1, defect.z2) if defect.z1 == 0 else (2, offcut.thickness - defect.z1)
        words += f", face {face}, {_figure(depth, shop)} deep"
    return words


def _figure(steps: int, shop: Shop) -> str:
    return write(steps, shop.units).removesuffix('"' if shop.units == "inch" else " mm")


def _alike(offcut: Offcut) -> str:
    return f"{offcut.qty} alike" if offcut.qty > 1 else ""


def _warps(offcut: Offcut, shop: Shop) -> list[str]:
    warps = (("bow", offcut.bow), ("crook", offcut.crook), ("cup", offcut.cup), ("twist", offcut.twist))
    return [f"{warp} {_figure(steps, shop)}" for warp, steps in warps if steps]


def _defects(offcut: Offcut, shop: Shop) -> list[str]:
    """Return defects and kinks from end A on."""
    places = [(defect.x1, defect_words(defect, offcut, shop)) for defect in offcut.defects]
    places += [(kink, f"kink at {_figure(kink, shop)}") for kink in offcut.kinks]
    return [words for _, words in sorted(places)]


def _readings(offcut: Offcut) -> Iterator[tuple[str, str]]:
    """Yield what was read of the wood, each with its word: by their signs they are known without it."""
    if offcut.rings is not None:
        near, far = (f"{low}" if low == high else f"{low} to {high}" for low, high in offcut.rings)
        yield "rings", f"{near}°" if near == far else f"{near}° at edge 1, {far}° at the far edge"
    if offcut.moisture is not None:
        yield "moisture", per_cent(offcut.moisture)
    if offcut.grain_slope is not None:
        yield "grain", slope_words(offcut.grain_slope)
