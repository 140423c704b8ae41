"""yieldplan: which offcut gives which blank, cut where and in what order.

>>> from yieldplan import plan, read  # doctest: +SKIP
>>> plan(read("pile.xlsx")).tables().boards  # doctest: +SKIP
"""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from yieldplan.planning import Planned, plan
    from yieldplan.solve import Options
    from yieldplan.verify import verify
    from yieldplan.workbook import read

__all__ = ["Options", "Planned", "plan", "read", "verify"]
__version__ = "0.1.0"


def __getattr__(name: str) -> object:
    """Import the rooms only when they are asked for: ortools and pandas are slow to load."""
    from importlib import import_module  # noqa: PLC0415 - late on purpose

    rooms = {
        "workbook": ("read",),
        "planning": ("plan", "Planned"),
        "solve": ("Options",),
        "verify": ("verify",),
    }
    for room, names in rooms.items():
        if name in names:
            return getattr(import_module(f"yieldplan.{room}"), name)
    raise AttributeError(f"module 'yieldplan' has no attribute {name!r}")
