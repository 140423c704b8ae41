"""yieldplan: which offcut gives which blank, cut where and in what order.

>>> from yieldplan import read, plan, verify  # doctest: +SKIP
"""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from yieldplan.planning import plan
    from yieldplan.solve import Options
    from yieldplan.verify import verify
    from yieldplan.workbook import read

__all__ = ["Options", "plan", "read", "verify"]
__version__ = "0.1.0"


def __getattr__(name: str) -> object:
    """Import the rooms only when they are asked for: ortools and pandas are slow to load."""
    from importlib import import_module  # noqa: PLC0415 - late on purpose

    rooms = {"read": "workbook", "plan": "planning", "Options": "solve", "verify": "verify"}
    if name in rooms:
        return getattr(import_module(f"yieldplan.{rooms[name]}"), name)
    raise AttributeError(f"module 'yieldplan' has no attribute {name!r}")
