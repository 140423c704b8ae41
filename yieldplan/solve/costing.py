"""A drawing as a column: what it makes, which settings it uses, and what it costs, by the model's own counts."""

from __future__ import annotations

from collections import Counter
from dataclasses import replace
from typing import TYPE_CHECKING

from yieldplan.model import OffcutPlan, work_of
from yieldplan.model.account import net_worth
from yieldplan.model.rows import sawn_rows
from yieldplan.model.section import section_of
from yieldplan.model.wood import jointed
from yieldplan.model.work import saw_settings
from yieldplan.solve.columns import Column

if TYPE_CHECKING:
    from collections.abc import Iterator

    from yieldplan.model import Billet, SplitBillet
    from yieldplan.solve.classes import Batch

Cutting = tuple["Billet | SplitBillet", ...]


def column_of(batch: Batch, offcut_class: int, name: str, cutting: Cutting) -> Column:
    """Return the column of a cutting of an offcut: its cost is worth less keepers, and work but for settings."""
    job, price = batch.job, batch.price
    drawn = OffcutPlan(offcut=name, copy=1, billets=cutting)
    work = work_of(job, (drawn,))
    own = price.of(replace(work, saw_settings=work.odd_cuts, planer_settings=0, stop_settings=0))
    numbers = {blank.name: n for n, blank in enumerate(batch.blanks)}
    counts = Counter(numbers[cut.blank] for cut in drawn.blanks)
    return Column(
        offcut_class=offcut_class,
        counts=tuple(sorted(counts.items())),
        settings=frozenset(_settings(batch, drawn)),
        cost=net_worth(job, (drawn,)) + own,
        cutting=cutting,
    )


def _settings(batch: Batch, drawn: OffcutPlan) -> Iterator[int]:
    """Yield the numbers of the settings of saws and planer that a drawing uses."""
    job, mark = batch.job, batch.job.shop.mark
    offcut = job.offcut(drawn.offcut)
    for wood, part in jointed(job, drawn):
        for number, machine, size in saw_settings(list(sawn_rows(wood, part, job.shop))):
            yield 4 * batch.saw_sizes[size // mark] + 2 * (machine == "bandsaw") + number - 1
        for stick in part.sticks:
            made = section_of(job, offcut, stick)
            yield batch.saw_settings + batch.planer_sizes["width", made.planed_width // mark]
            yield batch.saw_settings + batch.planer_sizes["thickness", made.planed_thickness // mark]
