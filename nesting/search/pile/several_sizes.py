"""Sheets of several sizes and costs, many different pieces: ever cheaper sets of sheets by ruin and recreate."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import suppress
from fractions import Fraction

import numpy as np

from ...blanks import Blank
from ...layouts import Node
from ...sheets import Sheet
from ..arguments import checked_blanks, checked_sheets
from ..budget import Blocks, Budget
from ..recreate.loops_on_kinds import rounds_on_kinds
from ..recreate.on_kinds import NO_LIMIT, Kinds, Run, kinds_of
from ..sheet.single import Found
from .choosing import covering_cost
from .columns import Pool, TimeUp, classes_of, first_layouts
from .dealt_bound import dealt_out_cost
from .part import Part
from .useful_offcuts import larger_offcuts

Cut = list[tuple[int, Node]]  # kinds and trees of all sheets of a solution
BLOCK = 500  # rounds between two looks at the clock
SHORT_BLOCK = 20  # rounds between two looks at the best
LENGTH = 300
POWER = 1.0  # of the area of a piece left out, as its price
SEARCH_SHARE = 0.95  # of the time
OFFCUT_SHARE = 0.06  # of the time left when the cost is settled
COMPLETE_SHARE = 0.5  # of the time, for placing everything, before what stays out is chosen by worth


def warm() -> None:
    """Load or compile what only this method needs, before the clock starts."""
    if rounds_on_kinds.signatures:  # type: ignore[attr-defined]
        return
    blanks = checked_blanks([Blank("a", 3, 2, 2), Blank("b", 3, 1, 2), Blank("c", 2, 2, 1)])
    sheets = checked_sheets([Sheet.rectangle("-", 3, 3, count=9), Sheet.rectangle("+", 4, 3, count=9)])
    pool = Pool(blanks, classes_of(sheets, blanks, None, "square", 1.0, Budget(9.0, None)))
    run(Part("least", sheets, (), pool, 0, None), Budget(60.0, 2))


def run(part: Part, budget: Budget) -> None:
    """Ever better solutions; limits by area and by pieces dealt out.

    Where the sheets do not hold all pieces, the least worth is left out.
    """
    pool, cost, seed = part.pool, part.cost, part.seed
    kinds = kinds_of(pool)
    grounds = [c.single.clear_ground() for c in pool.classes]

    def lower() -> Fraction:
        cost.take(least_cover(pool, budget, seed))
        cost.take(dealt_out_cost(pool, budget, seed))
        return cost.limit

    for cut in solutions(kinds, lower, budget.part(SEARCH_SHARE), seed):
        part.take_cut([(group, Found(0, 0, tree, grounds[group])) for group, tree in cut])
        spent = sum((pool.classes[group].cost for group, _ in cut), Fraction(0))
        budget.report("stock cost", float(spent), float(cost.limit))
    if part.choice is not None and part.short():  # the cheapest sheets for as much worth
        with suppress(TimeUp):
            first_layouts(pool, budget)
        part.choose(budget)


def solutions(kinds: Kinds, lower: Callable[[], Fraction], budget: Budget, seed: int) -> Iterator[Cut]:
    """Solutions, each better than the last: all pieces at less cost, or as long as they do not fit, less worth out.

    `lower`: asked once, after the first solution of all pieces, for a cost that no other can undercut. At equal cost a
    solution with a larger rectangle left over is better.
    """
    run = Run(kinds, kinds.counts, NO_LIMIT, kinds.areas**POWER, seed, LENGTH)
    if run.left_out:
        stock = float((kinds.room * kinds.counts).sum())
        fit = float(kinds.areas.sum()) <= stock
        blocks = Blocks(budget.part(COMPLETE_SHARE))
        yield run.trees()
        while fit and run.left_out and not blocks.over():
            run.advance(BLOCK)
    if run.left_out:
        yield from _least_worth_out(kinds, budget, seed)
        return
    yield run.trees()
    done = run.copy()
    blocks = Blocks(budget.part(1 - OFFCUT_SHARE))
    least = lower() * kinds.scale
    while done.cost() > least and not blocks.over():
        if run.left_out == 0:
            run.lower_limit(run.cost() - 1)
            run.start_late_acceptance(LENGTH)
        elif run.stage_over():
            run.lengthen()
        run.advance(BLOCK)
        if run.left_out == 0:
            yield run.trees()
            done = run.copy()
    yield from larger_offcuts(done, budget.part(OFFCUT_SHARE if run.left_out == 0 else 1.0))


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


def least_cover(pool: Pool, budget: Budget, seed: int) -> Fraction | None:
    """The least cost of whole sheets that have the area of all pieces; None where the stock has not, or it is not known."""
    gives = []
    for group in pool.classes:
        place = group.single.clear_ground()
        assert place is not None
        x0, y0, x1, y1 = place.usable
        gives.append(Fraction((x1 - x0) * (y1 - y0)))
    need = Fraction(sum(b.width * b.height * (b.quantity or 0) for b in pool.blanks))
    return covering_cost([c.cost for c in pool.classes], [c.count for c in pool.classes], gives, need, budget, seed)
