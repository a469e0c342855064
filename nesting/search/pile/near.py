"""Whether a plan of just so many alike sheets exists: every layout good enough to be in one, then a choice among them.

In a plan of k sheets the pieces are worth `total` at any prices, and no sheet holds more than `most`; so each holds at
least total - (k - 1) most. At the linear program's prices, and k its limit rounded up, few layouts hold that much.
Merging lists them all; either so many of them make everything, or no plan has k sheets. (Columns of small reduced cost,
as in Baldacci, Christofides & Mingozzi, Mathematical Programming 115, 2008, from memory.)
"""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction
from typing import Any

import numpy as np

from ..budget import Budget
from ..sheet.filling import limited, merging_problem
from ..sheet.limited_bounds import Limits, lower_prices, priced
from ..sheet.merging import Merging
from ..sheet.single import MIN_WORK, WORK_A_SECOND, Found
from .covering import covered
from .part import Part
from .relaxing import relaxed
from .solver import held, new_solver, solved

SCALE = 10**8  # of prices as whole numbers, a sheet about 1
BY_AREA = Fraction(1, 10_000)  # of a price: so that every blank has one
PRICING, ROUNDS = 0.3, 60  # of the time; of prices on copies
TABLES = 20  # there must be time for so many tables over the sizes
MOST_BLOCKS, MOST_LAYOUTS = 400_000, 10_000
WORK = 1_000_000_000  # of the search among them, before an integer program


def run(part: Part, budget: Budget) -> None:
    """Ask for plans of as few sheets as the limit allows; where there is none the limit rises, and the next is asked for."""
    values = _values(part)
    if values is None or part.choice is None or part.short():
        return
    group = part.pool.classes[0]
    found, _, stopped = limited(group.single, part.blanks, values, budget.part(PRICING), budget.steps or 1_000, part.seed, None)
    if stopped == "interrupt":
        budget.stop(stopped)
        return
    total = sum(v * (b.quantity or 0) for v, b in zip(values, part.blanks, strict=True))
    part.cost.take(Fraction(total, max(1, found.bound)) * group.cost)
    part.cost.take(part.sheets_at_least() * group.cost)  # whole sheets
    work = MIN_WORK if budget.steps is not None else int(WORK_A_SECOND * budget.time_left() / TABLES)
    problem = merging_problem(group.single, values, [b.quantity for b in part.blanks], work)
    while problem is not None and not part.closed() and not budget.over():
        sheets = part.sheets_at_least()
        target = total - (sheets - 1) * found.bound
        if target <= 0 or not _decided(part, problem, found.bound, target, sheets, budget):
            return


def _values(part: Part) -> list[int] | None:
    """Prices of the blanks as whole numbers, each above 0; None where the linear program has none."""
    solution = relaxed(part.pool, part.sense, ())
    place, cost = part.pool.classes[0].single.clear_ground(), part.pool.classes[0].cost
    if solution is None or place is None or not cost:
        return None
    x0, y0, x1, y1 = place.usable
    shares = [Fraction(b.width * b.height, (x1 - x0) * (y1 - y0)) for b in part.blanks]
    return [max(1, round(SCALE * ((1 - BY_AREA) * p / cost + BY_AREA * s))) for p, s in zip(solution[0], shares, strict=True)]


def _decided(part: Part, problem: Limits, most: int, target: int, sheets: int, budget: Budget) -> bool:
    """Find a plan of that many sheets or show that there is none; whether one of the two was done."""
    prices, _ = lower_prices(problem, target - 1, budget.part(PRICING).over, rounds=ROUNDS)
    merging = Merging(problem, [priced(problem, prices), priced(problem, [0.0] * len(prices))], target, 1, rising=False)
    if not merging.run(MOST_BLOCKS, budget.over, lambda worth: None):
        return False
    blocks, counts = merging.reaching()
    if len(blocks) > MOST_LAYOUTS:
        return False
    kept = _largest(counts, budget)
    if kept is None:
        return False
    need = [b.quantity or 0 for b in part.blanks]
    chosen = covered(counts[kept], np.array(problem.worth, np.int64), np.array(need, np.int64), most, sheets, WORK, budget.over)
    if chosen is None:
        chosen = _chosen(counts[kept], need, sheets, budget, part.seed)
    if chosen is None:
        return False
    if not chosen:
        part.cost.take((sheets + 1) * part.pool.classes[0].cost)
        return True
    place = part.pool.classes[0].single.clear_ground()
    assert place is not None
    trees = {i: merging.tree(place.usable, int(blocks[kept[i]])) for i in chosen}
    part.take_cut([(0, Found(0, 0, trees[i], place)) for i in chosen])
    return True


def _largest(counts: Any, budget: Budget) -> Any:
    """The rows that no other row has at least as much of everything as, one of equal ones; None where time ended first."""
    kept: list[int] = []
    chosen = np.empty_like(counts)
    for row in np.argsort(-counts.sum(axis=1), kind="stable"):
        if budget.over():
            return None
        if not (chosen[: len(kept)] >= counts[row]).all(axis=1).any():
            chosen[len(kept)] = counts[row]
            kept.append(int(row))
    return np.array(kept, np.int64)


def _chosen(counts: Any, need: Sequence[int], sheets: int, budget: Budget, seed: int) -> list[int] | None:
    """The same as `covered` by an integer program."""
    from ortools.sat.python import cp_model

    model: Any = cp_model.CpModel()
    copies = [model.new_int_var(0, sheets, "") for _ in range(len(counts))]
    for index, wanted in enumerate(need):
        giving = np.flatnonzero(counts[:, index])
        model.add(sum(int(counts[i, index]) * copies[i] for i in giving) >= wanted)
    model.add(sum(copies) <= sheets)
    solver = new_solver(seed)
    solver.parameters.linearization_level = 2
    held(solver, budget, max(0.05, budget.time_left()), max(0.5, (budget.steps or 0) / 20_000))
    status = solved(solver, model)
    if status == cp_model.INFEASIBLE:
        return []
    if status not in (cp_model.OPTIMAL, cp_model.FEASIBLE):
        return None
    return [i for i, x in enumerate(copies) for _ in range(int(solver.value(x)))]
