"""Column generation as a method: layouts at the linear program's prices, limits, and a choice among the layouts."""

from __future__ import annotations

from collections.abc import Sequence

from ..budget import Budget
from ..sheet.fines import priced_rules
from ..worths import exact
from .columns import TimeUp, price_all
from .part import Part
from .relaxing import ROUNDS, Priced, relax, start

QUICK_STEPS, REFINE_STEPS = 3_000, 60_000  # for one layout: while new ones are easily met; for the last ones and the limit
ROUNDS_WITHIN = 400
WITHIN_STEPS = 1_000
ONE_LOOK = 0.2  # of the time left, for one layout within the quantities
EARLY = 0.1  # of the time, for a choice to fall back on
LOOKING = 0.75  # of the time; the rest is for choosing among what was found


def run(part: Part, budget: Budget, most_rounds: int = ROUNDS) -> None:
    """Better layouts and limits until they meet, nothing new is found, or the rounds or the time are up."""
    looking = budget.part(LOOKING)
    rounds = min(most_rounds, budget.steps or most_rounds)
    most = budget.steps or REFINE_STEPS
    try:
        known: Sequence[Priced] = start(part.pool, looking, min(QUICK_STEPS, most), part.executor)
        main = part.made if part.sense == "most" else part.cost
        of_made = known  # either limit takes once what these prices bound
        for number, refine_steps in enumerate(dict.fromkeys((min(QUICK_STEPS, most), most))):
            if part.sets and priced_rules(part.blanks):  # sets know no prices: layouts for the tie among them
                price_all(part.pool, [exact(b.worth or 0) for b in part.blanks], looking, 0, part.executor, fined=True)
            relax(main, part.pool, part.sets, known, looking, part.seed, rounds, refine_steps, part.executor, part.closed)
            known = ()
            part.choose(budget.part(EARLY) if number == 0 else budget)
            if part.sense == "least" and part.choice is not None and part.short():
                relax(part.made, part.pool, (), of_made, looking, part.seed, rounds, refine_steps, part.executor, part.closed)
                of_made = ()
                part.choose(budget)
            if part.choice is not None and (budget.stopped_by == "interrupt" or looking.over() or part.closed()):
                break
    except TimeUp:
        part.choose(budget)
    if looking.stopped_by != "search":
        budget.stop(looking.stopped_by)


def run_within(part: Part, budget: Budget) -> None:
    """The same with layouts that keep within the quantities: slower, and a stronger limit where copies are few."""
    looking = budget.part(LOOKING)
    rounds = min(ROUNDS_WITHIN, budget.steps or ROUNDS_WITHIN)
    relax(part.cost, part.pool, part.sets, (), looking, part.seed, rounds, WITHIN_STEPS, part.executor, part.closed, ONE_LOOK)
    if not part.closed():
        part.choose(budget)
    if looking.stopped_by != "search":
        budget.stop(looking.stopped_by)
