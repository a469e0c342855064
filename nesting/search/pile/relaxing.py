"""Column generation: the linear program over layouts met, new layouts at its prices, and the limit they prove."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Callable, Sequence
from concurrent.futures import Executor
from dataclasses import dataclass
from fractions import Fraction
from typing import Any

from ..budget import Budget
from ..sheet.shown import PER_MM2
from ..worths import exact
from . import bounds
from .choosing import covering_cost
from .columns import PRICE_SCALE, Pool, TimeUp, price_all

Priced = tuple[list[Fraction], list[Fraction]]  # prices of the blanks, what each class can hold at most at them
Sets = Sequence[tuple[str, dict[int, int]]]
ROUNDS = 40
MANY_CLASSES, NEAR = 30, Fraction(1, 1000)  # a large pile: sheets nearly settled wait until all others are
STEADY = Fraction(1, 2)  # the share of the prices of the strongest limit in those that are tried next
TOLERANCE = 1e-9


@dataclass
class Relaxed:
    """The best limit met so far: a lower one on cost ("least") or an upper one on worth or sets ("most").

    `fined`: what soft rules broken cost is in the cost, or taken off the worth.
    """

    sense: str
    limit: Fraction
    fined: bool = False

    def take(self, value: Fraction | None) -> None:
        """Keep the stronger limit."""
        if value is not None and (value > self.limit) == (self.sense == "least"):
            self.limit = value


def start(pool: Pool, budget: Budget, refine_steps: int, executor: Executor | None) -> list[Priced]:
    """First layouts of every class: all blanks at their worths, then each alone; the prices tried and what they bound.

    Rules with a price are left out of it: what bounds worth without fines bounds it with them.
    """
    trials = [([exact(b.worth or 0) for b in pool.blanks], refine_steps)]
    if len(pool.blanks) > 1:  # a blank alone needs no more than the tables
        trials += [([Fraction(int(i == j)) for j in range(len(pool.blanks))], 0) for i in range(len(pool.blanks))]
    out = []
    for number, (prices, steps) in enumerate(trials):
        _, gives = price_all(pool, prices, budget, steps, executor)
        out.append((prices, gives))
        budget.report("layouts", number + 1, len(trials))
    return out


def relax(out: Relaxed, pool: Pool, sets: Sets, known: Sequence[Priced], budget: Budget,
          seed: int, most_rounds: int, refine_steps: int, executor: Executor | None, enough: Callable[[], bool],
          within: float = 0.0) -> None:  # fmt: skip
    """Generate columns until no sheet has a better layout, the rounds or the time are used, or it is `enough`.

    `out` takes the limits. `within`: see `price_all`.
    """
    for prices, gives in known:
        _limit(out, pool, sets, prices, gives, budget, seed)
    strongest, best = None, Fraction(-1)
    near = NEAR if len(pool.classes) >= MANY_CLASSES else Fraction(0)
    for _ in range(most_rounds):
        solution = relaxed(pool, out.sense, sets, fined=out.fined)
        if solution is None or not any(solution[0]):
            break
        tried = [solution[0]] if strongest is None else [_between(strongest, solution[0]), solution[0]]
        try:
            for prices in tried:
                new, gives = price_all(pool, prices, budget, refine_steps, executor, within, out.fined, near)
                value = _limit(out, pool, sets, prices, gives, budget, seed, out.fined)
                if value is not None and value > best:
                    strongest, best = prices, value
                if new:
                    break
        except TimeUp:
            break
        if enough() or budget.over() or (not new and near == 0):
            break
        if not new:  # what is left is asked of every sheet
            near, strongest = Fraction(0), None
        budget.report("prices", len(pool.columns), float(out.limit))


def _limit(out: Relaxed, pool: Pool, sets: Sets, prices: list[Fraction], gives: list[Fraction], budget: Budget,
           seed: int, fined: bool = False) -> Fraction | None:  # fmt: skip
    """Take the limits that these prices prove; the one on cost. `fined`: `gives` have what rules broken cost taken off."""
    counts = [g.count for g in pool.classes]
    limits = [b.quantity for b in pool.blanks]
    must = [g.must_be_cut for g in pool.classes]
    if out.sense == "least":
        need = [q or 0 for q in limits]
        costs = [g.cost for g in pool.classes]
        cost = bounds.least_cost(prices, need, gives, costs, counts, must)
        out.take(cost)
        total = sum((p * q for p, q in zip(prices, need, strict=True)), Fraction(0))
        if total > 0:
            # what is given beyond that is paid for in prices of rules, each at most once a piece
            rules = Counter[Fraction]()
            for price, count in ((p, b.quantity or 0) for b in pool.blanks if fined for p in b.prices if p):
                rules[price] += count
            out.take(covering_cost([*costs, *rules], [*counts, *rules.values()], [*gives, *rules], total, budget, seed,
                                   [*must, *[False] * len(rules)]))  # fmt: skip
        return cost
    if sets:
        needs = [n for _, n in sets]
        limit = bounds.most_sets(prices, needs, gives, counts)
        out.take(None if limit is None else Fraction(math.floor(limit)))
    else:
        worths = [exact(b.worth or 0) for b in pool.blanks]
        out.take(bounds.most_worth(prices, worths, limits, gives, counts))
        if len(worths) == 1 and prices[0] > 0 and (not fined or prices[0] >= worths[0]):
            # one blank: any price bounds it at its own worth too, a higher one with fines too
            factor = worths[0] / prices[0]
            out.take(bounds.most_worth(worths, worths, limits, [g * factor for g in gives], counts))
    return None


def _between(strongest: Sequence[Fraction], latest: Sequence[Fraction]) -> list[Fraction]:
    """Prices between those of the strongest limit and the latest, on the same scale: prices that swing less need fewer rounds.

    Smoothing after Wentges, International Transactions in Operational Research 4(2), 1997 (from memory).
    """
    grid = max(latest) / PRICE_SCALE
    return [round((STEADY * s + (1 - STEADY) * p) / grid) * grid for s, p in zip(strongest, latest, strict=True)]


def relaxed(pool: Pool, sense: str, sets: Sets, best_rate: float = 0.0,
            fined: bool = False) -> tuple[list[Fraction], list[float]] | None:  # fmt: skip
    """The linear program over the columns met: prices of the blanks, copies of the columns; None where it has no solution.

    `best_rate`: what a mm2 of best area shown is worth beside the aim (not with sets). `fined`: rules broken cost as well.
    """
    from ortools.linear_solver import pywraplp

    solver: Any = pywraplp.Solver.CreateSolver("GLOP")
    infinity = solver.infinity()
    columns = list(pool.columns.values())
    # with a rate a layout may pay for itself: then no more of it than pieces are wanted
    most = float(sum(b.quantity or 0 for b in pool.blanks)) if best_rate and all(b.quantity for b in pool.blanks) else infinity
    copies = [solver.NumVar(0, most, "") for _ in columns]
    bonus = [0.0 if sets else best_rate * c.total_shown() / PER_MM2 for c in columns]
    for number, group in enumerate(pool.classes):
        if group.count is not None:
            row = solver.Constraint(group.count if group.must_be_cut else -infinity, group.count)
            for var, column in zip(copies, columns, strict=True):
                if column.group == number:
                    row.SetCoefficient(var, 1)
    rows = [solver.Constraint(0, infinity) for _ in pool.blanks]
    for index, row in enumerate(rows):
        for var, column in zip(copies, columns, strict=True):
            if column.counts[index]:
                row.SetCoefficient(var, column.counts[index])
    goal = solver.Objective()
    if sense == "least":
        dearest = max((float(g.cost) for g in pool.classes), default=1.0) or 1.0
        dearest += max((float(c.penalty) for c in columns if fined), default=0.0)
        for row, blank in zip(rows, pool.blanks, strict=True):
            short = solver.NumVar(0, infinity, "")
            row.SetCoefficient(short, 1)
            row.SetLb(blank.quantity or 0)
            goal.SetCoefficient(short, 100.0 * dearest)
        for var, column, more in zip(copies, columns, bonus, strict=True):
            goal.SetCoefficient(var, float(pool.classes[column.group].cost + (column.penalty if fined else 0)) - more)
        goal.SetMinimization()
    else:
        made = [solver.NumVar(0, infinity if b.quantity is None else b.quantity, "") for b in pool.blanks]
        for row, var in zip(rows, made, strict=True):
            row.SetCoefficient(var, -1)
        if sets:
            for index, var in enumerate(made):
                complete = solver.Constraint(0, infinity)
                complete.SetCoefficient(var, 1)
                for k, (_, needs) in enumerate(sets):
                    if needs.get(index):
                        complete.SetCoefficient(_set_variable(solver, goal, k), -needs[index])
        else:
            for var, blank in zip(made, pool.blanks, strict=True):
                goal.SetCoefficient(var, float(blank.worth or 0))
            for var, column, more in zip(copies, columns, bonus, strict=True):
                goal.SetCoefficient(var, more - (float(column.penalty) if fined else 0.0))
        goal.SetMaximization()
    if solver.Solve() != pywraplp.Solver.OPTIMAL:
        return None
    duals = [abs(row.dual_value()) for row in rows]
    largest = max(duals, default=0.0)
    if largest <= 0:
        return None
    # prices on a fixed scale: the same prices again are recognised, and whole numbers stay small
    prices = [Fraction(round(d / largest * PRICE_SCALE)) * Fraction(repr(largest)) / PRICE_SCALE if d > TOLERANCE * largest
              else Fraction(0) for d in duals]  # fmt: skip
    return prices, [var.solution_value() for var in copies]


def _set_variable(solver: Any, goal: Any, number: int) -> Any:
    name = f"set{number}"
    var = solver.LookupVariable(name)
    if var is None:
        var = solver.NumVar(0, solver.infinity(), name)
        goal.SetCoefficient(var, 1)
    return var
