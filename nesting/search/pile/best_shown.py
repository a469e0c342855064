"""Best areas as a method: among equally good plans the one whose front panels show most of them; or, at a rate, a trade.

It begins where the aim has been reached: the layouts that one sheet after the other can show most with join the pool,
then the choice is made again with the best areas shown as an aim. A limit says nothing of best areas and stays as it is.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace
from fractions import Fraction

from ..budget import Budget
from ..sheet.filling import counted
from ..sheet.showing import Showing, rate_of
from ..sheet.showing_most import shows_most, shows_most_of
from ..sheet.shown import has_best
from ..sheet.single import Found
from ..sheet.sliding import slid
from ..worths import exact, whole
from .columns import Column, Pool, TimeUp, price_all
from .part import Part
from .relaxing import relaxed

SEARCHING = 0.9  # of the time, for the aim itself
ROUNDS, TRADING_ROUNDS = 4, 12
Better = Callable[[int, Found], Found | None]


def applies(pool: Pool) -> bool:
    """Whether any sheet has best areas."""
    return any(has_best(c.single.sheet) for c in pool.classes)


def run(part: Part, budget: Budget) -> None:
    """Layouts that show more into the pool, and the choice among them; nothing that the aim has reached is given up."""
    _improve_choice(part, budget)  # first what a short time is enough for
    try:
        for prices in _price_vectors(part):
            _ask_all(part, prices, budget, _at_worths(part, prices))
        if part.rate:
            _trade(part, budget)
    except TimeUp:
        pass
    part.choose(budget)
    for _ in range(ROUNDS):
        if not _improve_choice(part, budget):
            break
        part.choose(budget)


def _price_vectors(part: Part) -> list[list[Fraction]]:
    """The blanks' own worths, and the prices at which every layout of a best choice is among the best of its sheet."""
    out = [[exact(b.worth or 0) for b in part.blanks]]
    solution = relaxed(part.pool, part.sense, part.sets, fined=part.fined)
    return out if solution is None or not any(solution[0]) else [*out, solution[0]]


def _at_worths(part: Part, prices: Sequence[Fraction]) -> Better:
    values, _ = whole(list(prices), 10_000)  # sums of whole numbers do not depend on their order
    worths = {b.name: v for b, v in zip(part.blanks, values, strict=True)}

    def better(group: int, found: Found) -> Found | None:
        shown = part.pool.shown_on(group, found)
        return None if shown is None or found.tree is None else replace(found, tree=shows_most(shown, found.tree, worths))

    return better


def _ask_all(part: Part, prices: Sequence[Fraction], budget: Budget, better: Better) -> bool:
    """Take what is `better` than the best layout at these prices, of every sheet with best areas, into the pool.

    Whether any layout is new or shows more. The sheets are independent work. Raises TimeUp.
    """
    values, _ = whole(list(prices), 10_000)
    groups = [g for g, c in enumerate(part.pool.classes) if has_best(c.single.sheet)]

    def one(group: int) -> Found | None:
        return None if budget.over() else better(group, part.pool.classes[group].single.best(values, budget, 0))

    mapped = map(one, groups) if part.executor is None else part.executor.map(one, groups)
    changed = [_took(part.pool, g, found) for g, found in zip(groups, mapped, strict=True) if found is not None]
    budget.report("best areas", len(changed), len(groups))
    if budget.over():
        raise TimeUp
    return any(changed)


def _took(pool: Pool, group: int, found: Found) -> bool:
    """Take a layout into the pool; whether it is there now, instead of another or as the first of its kind."""
    if found.tree is None:
        return False
    key = group, tuple(counted(found.tree, pool.blanks))
    before = pool.columns.get(key)
    pool.add(group, found)
    return pool.columns.get(key) is not before


def _improve_choice(part: Part, budget: Budget) -> bool:
    """Layouts that show more with the numbers of pieces that the choice has; whether there is any."""
    assert part.choice is not None
    names = [b.name for b in part.blanks]

    def one(column: Column) -> Found | None:
        shown = part.pool.shown_of(column)
        if shown is None or budget.over():
            return None
        keep = dict(zip(names, column.counts, strict=True))
        return Found(0, 0, shows_most_of(shown, column.tree, keep, budget.over), column.ground)

    columns = [c for c in part.choice.columns if part.pool.columns.get((c.group, c.counts)) is c]
    mapped = map(one, columns) if part.executor is None else part.executor.map(one, columns)
    changed = [_took(part.pool, c.group, found) for c, found in zip(columns, mapped, strict=True) if found is not None]
    part.refresh()
    return any(changed)


def _trade(part: Part, budget: Budget) -> None:
    """Layouts of most worth + rate x shown at ever new prices, until no sheet has a better one. Raises TimeUp."""
    rate = rate_of(float(part.rate))
    worths = [exact(b.worth or 0) for b in part.blanks]
    prices: list[Fraction] | None = worths
    for _ in range(TRADING_ROUNDS):
        if prices is None or not any(prices):
            break
        at = {b.name: float(p) for b, p in zip(part.blanks, prices, strict=True)}

        def better(group: int, found: Found, at: dict[str, float] = at) -> Found | None:
            shown = part.pool.shown_on(group, found)
            if shown is None:
                return None
            tree = Showing(shown, at, found.tree).best(at, rate)
            return None if tree is None else replace(found, tree=slid(shown, tree))

        new, _ = price_all(part.pool, prices, budget, 0, part.executor)
        if not _ask_all(part, prices, budget, better) and not new and prices is not worths:
            break
        solution = relaxed(part.pool, part.sense, part.sets, float(part.rate), part.fined)
        prices = None if solution is None else solution[0]
