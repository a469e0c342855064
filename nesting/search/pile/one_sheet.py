"""A whole job on one clear sheet: the layout of most worth within the quantities is the plan, its bound the limit."""

from __future__ import annotations

from fractions import Fraction

from ..budget import Budget
from ..sheet.filling import REFINE_STEPS, limited, whole_worths
from .columns import Pool
from .part import Part


def applies(pool: Pool, least: bool) -> bool:
    """Whether one clear sheet is all there is, and with `least`, which comes before prices of rules, none can be broken."""
    if least and pool.fined():
        return False
    return len(pool.classes) == 1 and pool.classes[0].count == 1 and pool.classes[0].single.clear_ground() is not None


def run(part: Part, budget: Budget) -> None:
    """The best layout of the sheet is the choice; no layout is worth more than its bound."""
    single = part.pool.classes[0].single
    values, fines, scale = whole_worths(single, part.blanks)
    found, made, stopped = limited(single, part.blanks, values, budget, budget.steps or REFINE_STEPS, part.seed, scale, fines)
    part.made.take(Fraction(found.bound) / scale)
    if any(made):
        part.cost.take(part.pool.classes[0].cost)
        part.take_cut([(0, found)])
    if stopped != "search":
        budget.stop(stopped)

