"""What comes nearest of the whole pile, against every pair by itself."""

from __future__ import annotations

from hypothesis import given, settings
from hypothesis import strategies as st

from yieldplan.measure import INCH
from yieldplan.model import Blank, Offcut, Shop, why_not
from yieldplan.workbook.nearest import Near, nearest_misses

_QUARTERS = st.integers(2, 40).map(lambda count: count * INCH // 4)
_OFFCUTS = st.builds(
    Offcut,
    name=st.just("A"),
    length=st.integers(10, 60).map(lambda inches: inches * INCH),
    width=_QUARTERS,
    thickness=_QUARTERS,
    species=st.sampled_from(["", "ash", "white oak"]),
    bow=st.sampled_from([0, INCH // 4]),
    ring_angle=st.sampled_from([None, 10, 80]),
)
_BLANKS = st.builds(
    Blank,
    name=st.sampled_from(["rib", "cleat"]),
    need=st.just(1),
    length=st.integers(8, 50).map(lambda inches: inches * INCH),
    width=st.sampled_from([INCH, 2 * INCH]),
    thickness=st.sampled_from([INCH, INCH // 2]),
    species=st.sampled_from([(), ("ash",), ("White Oak", "ash")]),
    ring_from=st.sampled_from([None, 45]),
)


def _rank(near: Near | None) -> tuple[int, int] | None:
    return near.miss.nearness if near else None


@settings(deadline=None)
@given(st.lists(_OFFCUTS, min_size=1, max_size=5), st.lists(_BLANKS, min_size=1, max_size=6))
def test_the_pile_is_the_sum_of_its_pairs(pile: list[Offcut], batch: list[Blank]) -> None:
    """Pairs that are passed over change nothing: each row has a partner, or the nearest miss of all its pairs."""
    shop = Shop()
    of_offcuts, of_blanks = nearest_misses(pile, batch, shop)
    pairs = {(i, j): why_not(one, other, shop) for i, one in enumerate(pile) for j, other in enumerate(batch)}

    def nearest(misses: list[object]) -> tuple[int, int] | None:
        ranks = [_rank(near) for near in misses if isinstance(near, Near)]
        return None if len(ranks) < len(misses) else max(rank for rank in ranks if rank)

    near = {
        pair: miss and Near(offcut=pile[pair[0]], blank=batch[pair[1]], miss=miss)
        for pair, miss in pairs.items()
    }
    rows = [nearest([near[i, j] for j in range(len(batch))]) for i in range(len(pile))]
    columns = [nearest([near[i, j] for i in range(len(pile))]) for j in range(len(batch))]
    assert [_rank(one) for one in of_offcuts] == rows
    assert [one is None for one in of_blanks] == [rank is None for rank in columns]
    for one, rank in zip(of_blanks, columns, strict=True):
        assert one is None or rank is None or one.miss.nearness <= rank
