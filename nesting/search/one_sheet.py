"""A whole job on one clear sheet: the layout of most worth within the quantities is the plan, its bound the limit."""

from __future__ import annotations

from fractions import Fraction

from . import merging
from .budget import Budget
from .columns import Pool
from .filling import REFINE_STEPS, counted, limited, most_pieces
from .single import Found
from .worths import exact, whole


def applies(pool: Pool) -> bool:
    """Whether one clear sheet is all there is."""
    return len(pool.classes) == 1 and pool.classes[0].count == 1 and pool.classes[0].single.clear_ground() is not None


def filled(pool: Pool, budget: Budget) -> tuple[dict[tuple[int, tuple[int, ...]], int], Fraction, str]:
    """The layout as copies of a column of the pool, what no layout is worth more than, and what stopped the search."""
    single = pool.classes[0].single
    placed = single.placed()
    worths = [exact(b.worth or 0) if i in placed else Fraction(0) for i, b in enumerate(pool.blanks)]
    values, scale = whole(worths, most_pieces(single, pool.blanks))
    found, made, stopped = limited(single, pool.blanks, values, budget, budget.steps or REFINE_STEPS)
    pool.add(0, Found(0, 0, found.tree, found.ground))
    used = {(0, tuple(counted(found.tree, pool.blanks))): 1} if any(made) else {}
    return used, Fraction(found.bound) / scale, stopped


def warm() -> None:
    """Load or compile what only this method needs, before the clock starts."""
    merging.warm()
