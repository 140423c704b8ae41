"""The solver: what each offcut can yield, pricing, master and bound, aims.

>>> from yieldplan.solve import plan  # doctest: +SKIP
"""

from yieldplan.solve.aims import Options, Progress, plan

__all__ = ["Options", "Progress", "plan"]
