"""The least cost of sheets of several kinds, when pieces are dealt out to kinds and only dual feasible functions speak.

For a kind of sheet and two dual feasible functions (see `dual_feasible`), f along x and g along y, the pieces cut from
sheets of that kind have a sum of f(w) g(h) no greater than their number. An integer program deals the pieces of every
blank out to the kinds that take them, so that all such sums hold, at the least cost of whole sheets: no packing, and so
no plan, of all pieces costs less. With f and g the identities it is the bound by area.
"""

from __future__ import annotations

import math
from fractions import Fraction
from typing import Any

import numpy as np

from ..budget import Budget
from ..worths import whole
from .columns import Pool
from .dual_feasible import functions
from .solver import held, new_solver, solved

PAIRS = 6  # of functions, for each kind of sheet
SHARES = 10**6  # of a sheet, in which sums are reckoned
SAFE = 1e-3  # taken off each value in these shares: more than the error of its arithmetic
MOST_UNKNOWNS = 4_000
SECONDS, SHARE_OF_TIME, WORK = 1.0, 0.05, 0.5


def dealt_out_cost(pool: Pool, budget: Budget, seed: int) -> Fraction | None:
    """The bound; None where some blank fits no kind, where it would be too large to ask, or nothing was shown in time."""
    from ortools.sat.python import cp_model

    blanks = [b for b in pool.blanks if b.quantity]
    if len(blanks) * len(pool.classes) > MOST_UNKNOWNS:
        return None
    pieces = sum(b.quantity or 0 for b in blanks)
    costs, scale = whole([c.cost for c in pool.classes], pieces, up=False)
    model: Any = cp_model.CpModel()
    dealt: dict[int, list[Any]] = {}
    sheets = []
    for number, group in enumerate(pool.classes):
        top = pieces if group.count is None else min(pieces, group.count)
        sheets.append(model.new_int_var(0, top, f"sheets{number}"))
        ways: dict[int, list[tuple[int, int]]] = {}
        for o in group.single.oriented():
            if pool.blanks[o.blank].quantity:
                ways.setdefault(o.blank, []).append((o.width, o.height))
        place = group.single.clear_ground()
        if place is None:
            return None
        x0, y0, x1, y1 = place.usable
        here = {b: model.new_int_var(0, pool.blanks[b].quantity or 0, f"{number} {b}") for b in ways}
        for b, var in here.items():
            dealt.setdefault(b, []).append(var)
        for row in _sums(ways, [pool.blanks[b].quantity or 0 for b in ways], x1 - x0, y1 - y0):
            model.add(sum(v * here[b] for b, v in zip(ways, row, strict=True) if v) <= SHARES * sheets[-1])
    for index, blank in enumerate(pool.blanks):
        if blank.quantity:
            if index not in dealt:
                return None
            model.add(sum(dealt[index]) == blank.quantity)
    model.minimize(sum(c * x for c, x in zip(costs, sheets, strict=True)))
    solver = new_solver(seed)
    held(solver, budget, max(0.05, min(SECONDS, SHARE_OF_TIME * budget.time_left())), WORK)
    solver.parameters.max_deterministic_time = WORK
    status = solved(solver, model)
    if status not in (cp_model.OPTIMAL, cp_model.FEASIBLE, cp_model.UNKNOWN):
        return None
    return max(Fraction(0), Fraction(math.ceil(solver.best_objective_bound - 1e-6)) / scale)


def _sums(ways: dict[int, list[tuple[int, int]]], counts: list[int], width: int, height: int) -> list[list[int]]:
    """Values of the blanks in shares of a sheet, for the pairs of functions that ask most; first the pair that is area."""
    first = [sizes[0] for sizes in ways.values()]
    other = [sizes[-1] for sizes in ways.values()]
    n = len(first)
    f = functions([w for w, _ in first + other], width)
    g = functions([h for _, h in first + other], height)
    asked = (f[:, :n] * np.array(counts, np.float64)) @ g[:, :n].T
    order = np.argsort(-asked, axis=None, kind="stable")[:PAIRS]
    rows = []
    for at in dict.fromkeys([0, *(int(i) for i in order)]):
        along, up = divmod(at, g.shape[0])
        # a piece that may lie two ways counts at least the smaller of its two values
        least = np.minimum(f[along, :n] * g[up, :n], f[along, n:] * g[up, n:])
        rows.append([max(0, math.floor(float(v) * SHARES - SAFE)) for v in least])
    return rows
