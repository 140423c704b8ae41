"""Whether one offcut can give several blanks all together, for stand-bys: answered by the solver's own listing."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from yieldplan.solve.budget import preparing
from yieldplan.solve.labels import Opener, OutOfTimeError
from yieldplan.solve.pricing import Priced
from yieldplan.solve.stock import prepare

if TYPE_CHECKING:
    from collections.abc import Mapping

    from yieldplan.model import Job, Offcut

MOST_SECONDS = 3.0
"""Seconds of work (see :mod:`yieldplan.solve.budget`) at one offcut; after that it counts as no stand-by."""

MOST_IN_ALL = 6.0
"""Seconds of work for a whole order; after that nothing more is found."""


ASKING = 5e-3
"""Seconds that a question takes, however small the offcut."""


class Giver:
    """Answers for one job; what was asked before is remembered."""

    def __init__(self, job: Job) -> None:
        self.job = job
        self.spent = 0.0
        self._known: dict[object, bool] = {}

    def __call__(self, offcut: Offcut, counts: Mapping[str, int]) -> bool:
        """Return whether the offcut can give so many blanks of each name (never falsely yes)."""
        if self.spent > MOST_IN_ALL:
            return False
        like = replace(offcut, name="", qty=1, rack="", note="", other=())
        key = (like, tuple(sorted(counts.items())))
        if key not in self._known:
            self._known[key] = self._roomy(like, counts) and self._gives(like, counts)
        return self._known[key]

    def _roomy(self, offcut: Offcut, counts: Mapping[str, int]) -> bool:
        """Return whether there is wood enough, and each blank could come out of it but for the others."""
        volume = sum(
            count * blank.length * blank.width * blank.thickness
            for name, count in counts.items()
            for blank in [self.job.blank(name)]
        )
        return volume <= offcut.volume

    def _gives(self, offcut: Offcut, counts: Mapping[str, int]) -> bool:
        blanks = tuple(
            replace(blank, need=counts[blank.name], extra=0)
            for blank in self.job.blanks
            if counts.get(blank.name)
        )
        self.spent += ASKING
        stock = prepare(offcut, (("", 1),), replace(self.job, offcuts=(offcut,), blanks=blanks))
        if stock is None or len(stock.kinds) < len(blanks):
            return False
        caps = tuple(blank.need for blank in blanks)
        priced, total = Priced(stock, np.ones(len(blanks)), upper=False, keepers=False), float(sum(caps))
        found = priced.find_best(total - 0.5, MOST_SECONDS) and priced.best >= total
        self.spent += preparing(len(stock.arcs)) + priced.seconds
        if not found:
            return False
        opener = Opener(priced, caps=caps, limit=MOST_SECONDS)
        try:
            labels = opener.cuttings(total)
        except OutOfTimeError:
            return False
        finally:
            self.spent += opener.seconds
        return any(label.counts == caps for label in labels)
