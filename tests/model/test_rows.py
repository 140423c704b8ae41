"""Rows across (R5): which saw parts them, the kerf between pieces, and the passes that they take."""

from __future__ import annotations

import pytest

from yieldplan.model import Billet, Offcut, Shop, Stick, Strip, sawn_rows, whole
from yieldplan.model.rows import Pass, is_sawn_off, passes

INCH = 8128
MARK = INCH // 32
SHOP = Shop()
KERF = SHOP.rip_kerf


@pytest.mark.parametrize(
    ("height", "resaw", "machine", "kerf"),
    [
        (2 * INCH, False, "table saw", 4),
        (2 * INCH + MARK, False, "bandsaw", 3),
        (6 * INCH, False, "bandsaw", 3),
        (6 * INCH + MARK, False, None, 0),
        (2 * INCH, True, "table saw", 4),
        (4 * INCH, True, "bandsaw", 3),
        (4 * INCH + MARK, True, None, 0),
    ],
)
def test_the_height_of_a_cut_picks_its_saw(height: int, resaw: bool, machine: str | None, kerf: int) -> None:
    """Table saw up to the saw depth, bandsaw with its skim up to its height, resaws only up to the resaw height."""
    found = SHOP.machine_for(height, resaw=resaw)
    assert found == machine
    assert SHOP.kerf_of(found) == kerf * MARK


def test_a_bandsaw_lower_than_the_table_saw_is_never_needed() -> None:
    """What the table saw reaches it cuts."""
    assert Shop(saw_depth=3 * INCH, bandsaw_height=2 * INCH).machine_for(3 * INCH, resaw=False) == "table saw"


def test_what_is_less_than_plane_off_is_not_sawn_off() -> None:
    """At most 3/16 in beyond a piece is left to the planer; a mark more is sawn."""
    assert not is_sawn_off(5 * INCH, 5 * INCH + 6 * MARK, SHOP)
    assert is_sawn_off(5 * INCH, 5 * INCH + 7 * MARK, SHOP)


def spans(*sizes: tuple[int, int]) -> tuple[tuple[int, int], ...]:
    """Return pieces from and to in marks."""
    return tuple((start * MARK, end * MARK) for start, end in sizes)


@pytest.mark.parametrize(
    ("row", "end", "expected"),
    [
        # (piece, its size or what an odd cut clears, odd), in marks; the kerf is 4, plane off 6
        (((0, 20),), 20, ()),
        (((0, 20),), 26, ()),
        (((0, 20),), 27, ((0, 20, False),)),
        (((4, 24),), 24, ()),
        (((5, 25),), 25, ((0, 1, True),)),
        (((0, 20), (24, 44)), 44, ((0, 20, False),)),
        (((0, 20), (24, 44)), 60, ((0, 20, False), (1, 20, False))),
        (((0, 20), (28, 44)), 44, ((0, 20, False), (1, 0, True))),
        (((0, 20), (30, 44)), 44, ((0, 20, False), (1, 2, True))),
    ],
)
def test_passes_of_a_row(
    row: tuple[tuple[int, int], ...], end: int, expected: tuple[tuple[int, int, bool], ...]
) -> None:
    """One for each piece that is sawn off, and an odd cut before each that begins more than a kerf on."""
    found = passes(spans(*row), end * MARK, KERF, SHOP)
    assert found == tuple(Pass(piece, at * MARK, odd) for piece, at, odd in expected)


def billet(layout: str, strips: tuple[tuple[int, int], ...], sticks: tuple[tuple[int, int], ...]) -> Billet:
    """Return a billet with the same sticks in every strip; places in marks, losses a mark each."""
    row = tuple(Stick(start=start, end=end, blanks=()) for start, end in spans(*sticks))
    return Billet(
        start=0,
        end=20 * INCH,
        layout=layout,  # type: ignore[arg-type]
        face_loss=MARK,
        edge_loss=MARK,
        strips=tuple(Strip(start=start, end=end, sticks=row) for start, end in spans(*strips)),
    )


BOARD = whole(Offcut(name="P", length=20 * INCH, width=5 * INCH, thickness=2 * INCH))


def test_rows_of_a_rip_first_billet() -> None:
    """Rips are as high as the offcut is thick; resaws as their strip is wide, and across what is left of the depth."""
    first, second, third = sawn_rows(BOARD, billet("rip first", ((0, 64), (68, 136)), ((0, 30),)), SHOP)
    assert (first.axis, first.number, first.end, first.height) == ("y", 1, 159 * MARK, 64 * MARK)
    assert (first.machine, first.kerf) == ("table saw", 4 * MARK)
    assert first.other == (0, 63 * MARK)
    assert [(row.axis, row.number, row.strip, row.end) for row in (second, third)] == [
        ("z", 2, 0, 63 * MARK),
        ("z", 2, 1, 63 * MARK),
    ]
    assert [(row.height, row.machine) for row in (second, third)] == [
        (64 * MARK, "table saw"),
        (68 * MARK, "bandsaw"),
    ]
    assert (second.other, third.other) == ((0, 64 * MARK), (68 * MARK, 136 * MARK))


def test_rows_of_a_resaw_first_billet() -> None:
    """Resaws are as high as the offcut is wide, 5 in, more than any saw of this shop resaws; rips as the layer."""
    first, second = sawn_rows(BOARD, billet("resaw first", ((0, 30),), ((0, 64),)), SHOP)
    assert (first.axis, first.end, first.height, first.machine) == ("z", 63 * MARK, 160 * MARK, None)
    assert (second.axis, second.end, second.height, second.machine) == (
        "y",
        159 * MARK,
        30 * MARK,
        "table saw",
    )


@pytest.mark.parametrize(("start", "end", "height"), [(0, 152, 152), (0, 153, 160), (20, 153, 140)])
def test_a_piece_that_is_not_sawn_off_keeps_its_rough_face(start: int, end: int, height: int) -> None:
    """At the next saw it stands as high as the offcut is wide, less its start."""
    *_, row = sawn_rows(BOARD, billet("rip first", ((start, end),), ((0, 30),)), SHOP)
    assert row.height == height * MARK


def test_a_row_without_a_pass_is_not_cut() -> None:
    """A piece that fills its row but for what is planed off takes no saw."""
    full, _ = sawn_rows(BOARD, billet("rip first", ((0, 153),), ((0, 30),)), SHOP)
    cut, _ = sawn_rows(BOARD, billet("rip first", ((0, 152),), ((0, 30),)), SHOP)
    assert (full.is_cut, cut.is_cut) == (False, True)
