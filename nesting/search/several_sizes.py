"""Sheets of several sizes and costs, many different pieces: ever cheaper sets of sheets by ruin and recreate."""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction

import numpy as np

from ..blanks import Blank
from ..layouts import Node
from ..sheets import Sheet
from .arguments import checked_blanks, checked_sheets
from .budget import Budget
from .columns import Pool, classes_of
from .filling import counted
from .on_kinds import NO_LIMIT, Kinds, Run, kinds_of
from .single import Found

Cut = list[tuple[int, Node]]  # kinds and trees of all sheets of a solution
BLOCK = 500  # rounds between two looks at the clock
SHORT_BLOCK = 20  # rounds between two looks at the best
LENGTH = 300
POWER = 0.7
COMPLETE_SHARE = 0.5  # of the time, for placing everything, before what stays out is chosen by worth


class Blocks:
    """How many blocks of rounds a search may still run."""

    def __init__(self, budget: Budget) -> None:
        self._budget = budget
        self._used = 0

    def over(self) -> bool:
        """Whether time or steps are used up; else one block more is counted."""
        if self._budget.over():
            return True
        self._used += 1
        if self._budget.steps is not None and self._used > self._budget.steps:
            self._budget.stopped_by = "steps"
            return True
        return False


def warm() -> None:
    """Load or compile what only this method needs, before the clock starts."""
    blanks = checked_blanks([Blank("a", 3, 2, 2), Blank("b", 3, 1, 2), Blank("c", 2, 2, 1)])
    sheets = checked_sheets([Sheet.rectangle("-", 3, 3, count=9), Sheet.rectangle("+", 4, 3, count=9)])
    pool = Pool(blanks, classes_of(sheets, blanks, None, "square", 1.0, Budget(9.0, None)))
    cheapest(pool, Fraction(0), Budget(0.01, 2), 0)


def cheapest(pool: Pool, lower: Fraction, budget: Budget, seed: int) -> dict[tuple[int, tuple[int, ...]], int]:
    """Take the layouts of ever better solutions into the pool; the best one as copies of its columns.

    `lower`: a cost that no plan of all pieces can undercut. Where the sheets do not hold all pieces, the least worth
    is left out.
    """
    kinds = kinds_of(pool)
    best: dict[tuple[int, tuple[int, ...]], int] = {}
    for cut in solutions(kinds, lower, budget, seed):
        best = {}
        spent = Fraction(0)
        for group, tree in cut:
            pool.add(group, Found(0, 0, tree, kinds.grounds[group]))
            key = group, tuple(counted(tree, pool.blanks))
            best[key] = best.get(key, 0) + 1
            spent += pool.classes[group].cost
        budget.report("stock cost", float(spent), float(lower))
    return best


def solutions(kinds: Kinds, lower: Fraction, budget: Budget, seed: int) -> Iterator[Cut]:
    """Solutions, each better than the last: all pieces at less cost, or as long as they do not fit, less worth out."""
    run = Run(kinds, kinds.counts, NO_LIMIT, kinds.areas**POWER, seed, LENGTH)
    if run.left_out:
        stock = float((kinds.room * kinds.counts).sum())
        fit = float(kinds.areas.sum()) <= stock
        blocks = Blocks(budget.part(COMPLETE_SHARE))
        while fit and run.left_out and not blocks.over():
            run.advance(BLOCK)
    if run.left_out:
        yield from _least_worth_out(kinds, budget, seed)
        return
    yield run.trees()
    blocks = Blocks(budget)
    while run.cost() > lower * kinds.scale:
        run.lower_limit(run.cost() - 1)
        run.start_late_acceptance(LENGTH)
        while run.left_out:
            if blocks.over():
                return
            run.advance(BLOCK)
        yield run.trees()


def _least_worth_out(kinds: Kinds, budget: Budget, seed: int) -> Iterator[Cut]:
    """All sheets, pieces left out at the price of their worth: solutions with ever less worth left out."""
    scale = float(kinds.areas.sum() / kinds.worth.sum())
    run = Run(kinds, kinds.counts, NO_LIMIT, kinds.worth * scale, seed, LENGTH)
    blocks = Blocks(budget)
    best = np.inf
    while True:
        out = run.worth_out()
        if out < best:
            best = out
            yield run.trees()
        if run.left_out == 0 or blocks.over():
            return
        run.advance(SHORT_BLOCK)

