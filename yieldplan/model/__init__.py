"""The shop model: offcuts, blanks, shop settings, the plan, and the sums they rest on.

Every length is a whole number of steps of 1/320 mm; angles are whole degrees.
"""

from yieldplan.model.crosscuts import count_crosscuts, crosscuts, plan_crosscuts
from yieldplan.model.errors import InputError, PlanFileError, YieldplanError
from yieldplan.model.grain import ring_window
from yieldplan.model.losses import edge_loss, face_loss
from yieldplan.model.moisture import planed_section
from yieldplan.model.pile import Blank, Defect, Job, Offcut
from yieldplan.model.plan import (
    Account,
    Billet,
    CutBlank,
    Keeper,
    Lesser,
    OffcutPlan,
    Plan,
    Proof,
    Segment,
    SplitBillet,
    Stick,
    Strip,
    WholeKeeper,
    billets_of,
)
from yieldplan.model.planfile import dump_plan, load_plan
from yieldplan.model.problem import Problem
from yieldplan.model.shop import Shop
from yieldplan.model.species import Species
from yieldplan.model.split import half, halves, jointable, may_split, milled, split_range
from yieldplan.model.worth import BOARD_FOOT, worth

__all__ = [
    "BOARD_FOOT",
    "Account",
    "Billet",
    "Blank",
    "CutBlank",
    "Defect",
    "InputError",
    "Job",
    "Keeper",
    "Lesser",
    "Offcut",
    "OffcutPlan",
    "Plan",
    "PlanFileError",
    "Problem",
    "Proof",
    "Segment",
    "Shop",
    "Species",
    "SplitBillet",
    "Stick",
    "Strip",
    "WholeKeeper",
    "YieldplanError",
    "billets_of",
    "count_crosscuts",
    "crosscuts",
    "dump_plan",
    "edge_loss",
    "face_loss",
    "half",
    "halves",
    "jointable",
    "load_plan",
    "may_split",
    "milled",
    "plan_crosscuts",
    "planed_section",
    "ring_window",
    "split_range",
    "worth",
]
