"""The shop model: offcuts, blanks, shop settings, the plan, and the sums they rest on.

Every length is a whole number of marks, held in steps of 1/320 mm; angles are whole degrees.
"""

from yieldplan.model.errors import InputError, Problem
from yieldplan.model.gives import Hindrance, length_needed, why_not
from yieldplan.model.leftovers import Keeper, keepers
from yieldplan.model.pile import Blank, Defect, Job, Offcut, YardBoard, ring_window
from yieldplan.model.plan import (
    SPARES,
    Account,
    Billet,
    CutBlank,
    OffcutPlan,
    Plan,
    Proof,
    SplitBillet,
    Stick,
    Strip,
)
from yieldplan.model.rows import Row, sawn_rows
from yieldplan.model.section import past_machines, section
from yieldplan.model.shop import BOARD_FOOT, Shop, metric_shop, worth
from yieldplan.model.wood import Wood, milled, whole
from yieldplan.model.work import prices, work_of

__all__ = [
    "BOARD_FOOT", "SPARES", "Account", "Billet", "Blank", "CutBlank", "Defect", "Hindrance", "InputError",
    "Job", "Keeper", "Offcut", "OffcutPlan", "Plan", "Problem", "Proof", "Row", "Shop", "SplitBillet",
    "Stick", "Strip", "Wood", "YardBoard", "keepers", "length_needed", "metric_shop",
    "milled", "past_machines", "prices", "ring_window", "sawn_rows", "section", "whole", "why_not", "work_of", "worth",
]  # fmt: skip
