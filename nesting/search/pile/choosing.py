"""Which layouts to cut how often: an integer program over the columns met, solved by OR-Tools CP-SAT.

Aims in order: the aim itself, then the best areas shown, then as few sheets as can be, then ids. Every solve is
single-threaded with a fixed seed, so the same columns give the same choice.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction
from typing import Any

from ..budget import Budget
from ..sheet.shown import PER_MM2
from ..worths import LARGEST, exact, whole
from .columns import Column, Pool
from .solver import held, new_solver, solved
from .surplus import penalty_paid

MOST_COPIES = 10_000_000
COVERING_WORK = 0.5  # as the solver counts it, about a second


@dataclass(frozen=True)
class Choice:
    """The columns cut and the copies of each, pieces made of each blank, complete sets of each name."""

    columns: tuple[Column, ...]
    copies: tuple[int, ...]
    made: tuple[int, ...]
    sets: tuple[int, ...]
    penalty: Fraction = Fraction(0)  # of the pieces cut, for soft rules broken


def choose(pool: Pool, sets: Sequence[tuple[str, dict[int, int]]], sense: str, budget: Budget, seed: int,
           rate: Fraction = Fraction(0), begin: Sequence[int] | None = None) -> Choice | None:  # fmt: skip
    """The best choice of columns for `sense` "least" (least worth unmade, then least cost) or "most".

    Soft rules broken add their prices to the cost, or take them off the worth. With sets, the most complete sets come
    first, then worth. `rate`: what a mm2 of best area shown makes up for, in worth or in cost. `begin`: copies of the columns
    to begin with. None where the time was too short for any choice.
    """
    from ortools.sat.python import cp_model

    columns = list(pool.columns.values())
    if not columns:
        return None
    model: Any = cp_model.CpModel()
    wanted = sum(b.quantity or 0 for b in pool.blanks) if all(b.quantity is not None for b in pool.blanks) else MOST_COPIES
    tops = [min(wanted, pool.classes[c.group].count or wanted) for c in columns]
    copies = [model.new_int_var(0, t, f"x{i}") for i, t in enumerate(tops)]
    for number, group in enumerate(pool.classes):
        if group.count is not None:
            cut = sum(copies[i] for i, c in enumerate(columns) if c.group == number)
            model.add(cut == 1) if group.must_be_cut else model.add(cut <= group.count)
    made = []
    for index, blank in enumerate(pool.blanks):
        given = sum(copies[i] * c.counts[index] for i, c in enumerate(columns) if c.counts[index])
        top = blank.quantity
        if top is None:
            top = sum(t * c.counts[index] for t, c in zip(tops, columns, strict=True))
        var = model.new_int_var(pool.chosen()[index], top, f"made{index}")
        model.add(var <= given)
        made.append(var)
    complete = []
    for name, _needs in sets:
        var = model.new_int_var(0, sum(tops) * max(max(c.counts) for c in columns), f"set {name}")
        complete.append(var)
    for index in range(len(pool.blanks)):
        needed = [n[index] * complete[k] for k, (_, n) in enumerate(sets) if n.get(index)]
        if needed:
            model.add(sum(needed) <= made[index])
    most = sum(t * sum(c.counts) for t, c in zip(tops, columns, strict=True))
    fines, uncut = _fines(model, pool, columns, copies, tops, made)
    worths, _ = whole([*(exact(b.worth or 0) for b in pool.blanks), *(each for each, _ in fines)], most)
    costs, _ = whole([*(g.cost for g in pool.classes), *(each for each, _ in fines)], most if fines else sum(tops))
    worth = sum(w * m for w, m in zip(worths, made, strict=False))
    cost = sum(costs[c.group] * x for c, x in zip(columns, copies, strict=True))
    varieties: list[tuple[Fraction, Any]] = []
    off = (costs if sense == "least" else worths)[-len(fines) :] if fines else []
    if pool.variety:
        from .variety import model_terms

        kinds = model_terms(model, pool, columns, copies, tops, made)
        count = max(most, sum(tops) * (1 + max(max(c.counts) for c in columns)))
        of_blanks = [exact(b.worth or 0) for b in pool.blanks] if sense == "most" else []
        numbers, _ = whole([*(g.cost for g in pool.classes), *pool.variety, *of_blanks, *(each for each, _ in fines)], count)
        n = len(pool.classes)
        varieties = [(pool.variety[group], expression) for group, expression in kinds]
        off = numbers[len(numbers) - len(fines) :]
        varied = sum(numbers[n + group] * expression for group, expression in kinds)
        cost = sum(numbers[c.group] * x for c, x in zip(columns, copies, strict=True)) - varied
        if sense == "most":
            worth = sum(w * m for w, m in zip(numbers[2 * n :], made, strict=False)) + varied
    broken = sum(price * n for price, (_, n) in zip(off, fines, strict=True))
    if sense == "least":
        cost += broken
    else:
        worth -= broken
    aims: list[tuple[Any, bool]] = []  # expression, whether to maximise
    if complete:
        aims.append((sum(complete), True))
    shown, most_shown = _shown(model, pool, columns, copies, tops, made)
    if most_shown and rate and sense == "most":
        own = [(exact(b.worth or 0), var) for b, var in zip(pool.blanks, made, strict=True)]
        aims.append(_mixed([*own, *varieties, *((-each, n) for each, n in fines)], most, rate, shown, most_shown))
    aims.append((worth, True))
    if most_shown and rate and sense == "least":
        own = [(-pool.classes[c.group].cost, var) for c, var in zip(columns, copies, strict=True)]
        aims.append(_mixed([*own, *varieties, *((-each, n) for each, n in fines)], most, rate, shown, most_shown))
    if sense == "least":
        aims.append((cost, False))
    if most_shown:
        aims.append((shown, True))
    aims.append((sum(copies), False))
    solver = new_solver(seed)
    best = _begun(pool, sets, columns, begin) if begin is not None else None
    variables = [*copies, *made, *complete, *uncut]
    for number, (expression, most) in enumerate(aims):
        left = budget.time_left()
        if best is not None and left <= 0:
            break
        share = 0.5 if number + 1 < len(aims) else 0.8
        held(solver, budget, max(0.05 if best else 0.3, left * share), max(0.5, (budget.steps or 0) / 20_000))
        if most:
            model.maximize(expression)
        else:
            model.minimize(expression)
        if best is not None:
            model.clear_hints()
            for var, value in zip(variables, best, strict=False):  # what is left uncut may not be known yet
                model.add_hint(var, value)
        try:
            status = solved(solver, model)
        except KeyboardInterrupt:
            if best is None:
                raise
            budget.stop("interrupt")
            break
        if status == cp_model.MODEL_INVALID:
            raise AssertionError(model.validate())
        if status not in (cp_model.OPTIMAL, cp_model.FEASIBLE):
            break
        best = [int(solver.value(v)) for v in variables]
        reached = int(solver.value(expression))
        model.add(expression >= reached) if most else model.add(expression <= reached)
    if best is None:
        return None
    return _as_choice(columns, best[: len(variables) - len(uncut)], len(made))


def begun(pool: Pool, sets: Sequence[tuple[str, dict[int, int]]], begin: Sequence[int]) -> Choice:
    """Copies of the pool's columns as a choice that makes no more than is wanted."""
    columns = list(pool.columns.values())
    return _as_choice(columns, _begun(pool, sets, columns, begin), len(pool.blanks))


def _as_choice(columns: Sequence[Column], values: Sequence[int], blanks: int) -> Choice:
    """Copies, pieces made and sets complete, one after the other, as a choice."""
    n = len(columns)
    cut = [(c, x) for c, x in zip(columns, values[:n], strict=True) if x > 0]
    return _choice([c for c, _ in cut], [x for _, x in cut], values[n : n + blanks], values[n + blanks :])


def _choice(columns: Sequence[Column], copies: Sequence[int], made: Sequence[int], sets: Sequence[int]) -> Choice:
    return Choice(tuple(columns), tuple(copies), tuple(made), tuple(sets), penalty_paid(columns, copies, made))


def _fines(model: Any, pool: Pool, columns: Sequence[Column], copies: Sequence[Any], tops: Sequence[int],
           made: Sequence[Any]) -> tuple[list[tuple[Fraction, Any]], list[Any]]:  # fmt: skip
    """For each kind of piece that breaks a rule: its price and how many are cut; and the variables of those left uncut.

    Of a blank no more pieces stay uncut than are given beyond what is made of it.
    """
    out: list[tuple[Fraction, Any]] = []
    uncut: list[Any] = []
    of_blank: dict[int, list[Any]] = {}
    for column, x, top in zip(columns, copies, tops, strict=True):
        if column.forced:
            out.append((column.forced, x))
        for blank, _, each, count in column.broken:
            var = model.new_int_var(0, top * count, f"uncut{len(uncut)}")
            model.add(var <= count * x)
            uncut.append(var)
            of_blank.setdefault(blank, []).append(var)
            out.append((each, count * x - var))
    for blank, variables in of_blank.items():
        given = sum(x * c.counts[blank] for x, c in zip(copies, columns, strict=True))
        model.add(sum(variables) <= given - made[blank])
    return out, uncut


def _shown(model: Any, pool: Pool, columns: Sequence[Column], copies: Sequence[Any], tops: Sequence[int],
           made: Sequence[Any]) -> tuple[Any, int]:  # fmt: skip
    """What the pieces that are made show, as an expression, and its most; pieces beyond those wanted are left uncut."""
    terms: list[Any] = []
    total = 0
    for index, blank in enumerate(pool.blanks):
        kept = []
        for column, var, top in zip(columns, copies, tops, strict=True):
            for score, count in sorted(Counter(column.shown[index] if column.shown else ()).items()):
                if score <= 0:
                    continue
                total += score * count * top
                if blank.quantity is None:
                    terms.append(score * count * var)
                    continue
                kept.append(model.new_int_var(0, count * top, ""))
                model.add(kept[-1] <= count * var)
                terms.append(score * kept[-1])
        if kept:
            model.add(sum(kept) <= made[index])
    return sum(terms), total


def _mixed(terms: Sequence[tuple[Fraction, Any]], times: int, rate: Fraction, shown: Any,
           most_shown: int) -> tuple[Any, bool]:  # fmt: skip
    """Worths times their variables + rate x what is shown, in whole numbers, to be raised."""
    largest = max((abs(w) for w, _ in terms), default=Fraction(0)) * max(1, times) + rate * most_shown / PER_MM2
    scale = LARGEST / largest
    own = sum(round(w * scale) * var for w, var in terms)
    return own + round(rate * scale / PER_MM2) * shown, True


def shown_by(choice: Choice) -> int:
    """What the pieces that a choice makes show: of each blank those that show most."""
    out = 0
    for index, made in enumerate(choice.made):
        counts: Counter[int] = Counter()
        for column, copies in zip(choice.columns, choice.copies, strict=True):
            for score in column.shown[index] if column.shown else ():
                counts[score] += copies
        for score in sorted(counts, reverse=True):
            taken = min(made, counts[score])
            out, made = out + score * taken, made - taken
    return out


def _begun(pool: Pool, sets: Sequence[tuple[str, dict[int, int]]], columns: Sequence[Column], begin: Sequence[int]) -> list[int]:
    """Copies to begin with, what they make within the quantities, and the sets these complete, one name after the other."""
    given = [sum(n * c.counts[i] for c, n in zip(columns, begin, strict=True)) for i in range(len(pool.blanks))]
    made = [g if b.quantity is None else min(g, b.quantity) for g, b in zip(given, pool.blanks, strict=True)]
    left, complete = list(made), []
    for _, needs in sets:
        number = min(left[i] // n for i, n in needs.items())
        complete.append(number)
        for i, n in needs.items():
            left[i] -= n * number
    return [*begin, *made, *complete]


def as_chosen(pool: Pool, copies: Mapping[tuple[int, tuple[int, ...]], int]) -> Choice:
    """Copies of columns (by class and counts) as a choice that makes no more than is wanted."""
    cut = [(pool.columns[key], n) for key, n in sorted(copies.items())]
    given = [sum(c.counts[i] * n for c, n in cut) for i in range(len(pool.blanks))]
    made = tuple(g if b.quantity is None else min(g, b.quantity) for g, b in zip(given, pool.blanks, strict=True))
    return _choice([c for c, _ in cut], [n for _, n in cut], made, ())


def covering_cost(costs: Sequence[Fraction], counts: Sequence[int | None], gives: Sequence[Fraction], need: Fraction,
                  budget: Budget, seed: int, must: Sequence[bool] | None = None) -> Fraction | None:  # fmt: skip
    """The least cost of whole sheets that together give `need`, sheet i at most `gives[i]`: a bound on any plan.

    `must`: which of them, all counted, are cut in any case, all copies. Only a bound that the solver has closed or stands
    behind is returned; None where there is none.
    """
    from ortools.sat.python import cp_model

    # no more of a sheet than would do alone
    tops = [min(math.ceil(need / g) if g > 0 else 0, MOST_COPIES if c is None else c) for g, c in zip(gives, counts, strict=True)]
    if any(t >= MOST_COPIES for t in tops):
        return None
    lows = [c or 0 if m else 0 for c, m in zip(counts, must or [False] * len(tops), strict=True)]
    tops = [max(low, top) for low, top in zip(lows, tops, strict=True)]
    worths, scale = whole([*gives, need], 2 * sum(tops) + 1)
    worths.pop()
    prices, cost_scale = whole(list(costs), sum(tops), up=False)
    model: Any = cp_model.CpModel()
    copies = [model.new_int_var(low, top, f"x{i}") for i, (low, top) in enumerate(zip(lows, tops, strict=True))]
    model.add(sum(w * x for w, x in zip(worths, copies, strict=True)) >= int(need * scale // 1))
    model.minimize(sum(c * x for c, x in zip(prices, copies, strict=True)))
    solver = new_solver(seed)
    held(solver, budget, max(0.1, min(2.0, budget.time_left() / 20)), COVERING_WORK)
    status = solved(solver, model)
    if status not in (cp_model.OPTIMAL, cp_model.FEASIBLE):
        return None
    return Fraction(math.ceil(solver.best_objective_bound - 1e-6)) / cost_scale
