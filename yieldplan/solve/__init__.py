"""The solver: what each offcut can yield, pricing, master and bound, aims.

>>> from yieldplan.solve import plan  # doctest: +SKIP
"""

from yieldplan.solve.aims import RECHECK, Options, Progress, plan, searched
from yieldplan.solve.why import Alternative, Tried, tried

__all__ = ["RECHECK", "Alternative", "Options", "Progress", "Tried", "plan", "searched", "tried"]
