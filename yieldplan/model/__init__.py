"""The shop model: offcuts, blanks, shop settings, the plan, and the sums they rest on.

Every length is a whole number of marks, held in steps of 1/320 mm; angles are whole degrees.
"""

from yieldplan.model.account import account, net_worth
from yieldplan.model.errors import InputError, PlanFileError, YieldplanError
from yieldplan.model.gives import Hindrance, Miss, billet_needed, length_needed, why_not
from yieldplan.model.leftovers import Keeper, gaps, is_keeper, keepers
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
    Work,
)
from yieldplan.model.planfile import dump_plan, load_plan
from yieldplan.model.problem import Problem
from yieldplan.model.recut import untouched
from yieldplan.model.rows import Pass, Row, is_sawn_off, sawn_rows
from yieldplan.model.section import Section, fits_machines, section
from yieldplan.model.shop import Shop, metric_shop
from yieldplan.model.species import Species
from yieldplan.model.wood import (
    Wood,
    halves,
    jointed,
    lengthened,
    milled,
    sound_ends,
    split_range,
    whole,
)
from yieldplan.model.work import Prices, price_of, prices, work_of
from yieldplan.model.worth import BOARD_FOOT, cost_drawn, worth

__all__ = [
    "BOARD_FOOT",
    "SPARES",
    "Account",
    "Billet",
    "Blank",
    "CutBlank",
    "Defect",
    "Hindrance",
    "InputError",
    "Job",
    "Keeper",
    "Miss",
    "Offcut",
    "OffcutPlan",
    "Pass",
    "Plan",
    "PlanFileError",
    "Prices",
    "Problem",
    "Proof",
    "Row",
    "Section",
    "Shop",
    "Species",
    "SplitBillet",
    "Stick",
    "Strip",
    "Wood",
    "Work",
    "YardBoard",
    "YieldplanError",
    "account",
    "billet_needed",
    "cost_drawn",
    "dump_plan",
    "fits_machines",
    "gaps",
    "halves",
    "is_keeper",
    "is_sawn_off",
    "jointed",
    "keepers",
    "length_needed",
    "lengthened",
    "load_plan",
    "metric_shop",
    "milled",
    "net_worth",
    "price_of",
    "prices",
    "ring_window",
    "sawn_rows",
    "section",
    "sound_ends",
    "split_range",
    "untouched",
    "whole",
    "why_not",
    "work_of",
    "worth",
]
