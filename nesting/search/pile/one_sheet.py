"""A whole job on one clear sheet: the layout of most worth within the quantities is the plan, its bound the limit."""

from __future__ import annotations

from fractions import Fraction

from ..budget import Budget
from ..sheet.filling import REFINE_STEPS, counted, limited, most_pieces
from ..sheet.single import Found
from ..worths import exact, whole
from .choosing import as_chosen
from .columns import Pool
from .part import Part


def applies(pool: Pool) -> bool:
    """Whether one clear sheet is all there is."""
    return len(pool.classes) == 1 and pool.classes[0].count == 1 and pool.classes[0].single.clear_ground() is not None


def run(part: Part, budget: Budget) -> None:
    """The best layout of the sheet is the choice; no layout is worth more than its bound."""
    single = part.pool.classes[0].single
    placed = single.placed()
    worths = [exact(b.worth or 0) if i in placed else Fraction(0) for i, b in enumerate(part.blanks)]
    values, scale = whole(worths, most_pieces(single, part.blanks))
    found, made, stopped = limited(single, part.blanks, values, budget, budget.steps or REFINE_STEPS, part.seed, scale)
    part.made.take(Fraction(found.bound) / scale)
    part.pool.add(0, Found(0, 0, found.tree, found.ground))
    if any(made):
        part.cost.take(part.pool.classes[0].cost)
        part.take(as_chosen(part.pool, {(0, tuple(counted(found.tree, part.blanks))): 1}))
    if stopped != "search":
        budget.stop(stopped)

