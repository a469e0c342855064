"""Column generation as a method: layouts at the linear program's prices, limits, and a choice among the layouts."""

from __future__ import annotations

from ..budget import Budget
from .columns import TimeUp, first_layouts
from .part import Part
from .relaxing import ROUNDS, relax, start

REFINE_STEPS = 60_000
ROUNDS_WITHIN = 400
WITHIN_STEPS = 1_000
ONE_LOOK = 0.2  # of the time left, for one layout within the quantities
LOOKING = 0.75  # of the time; the rest is for choosing among what was found


def run(part: Part, budget: Budget, most_rounds: int = ROUNDS) -> None:
    """Better layouts and limits until they meet, nothing new is found, or the rounds or the time are up."""
    looking = budget.part(LOOKING)
    rounds = min(most_rounds, budget.steps or most_rounds)
    try:
        first_layouts(part.pool, looking)
        for refine_steps in (0, budget.steps or REFINE_STEPS):  # plain tables first; what they leave open is refined
            known = start(part.pool, looking, refine_steps, part.executor)
            main = part.made if part.sense == "most" else part.cost
            relax(main, part.pool, part.sets, known, looking, part.seed, rounds, refine_steps, part.executor, part.closed)
            part.choose(budget)
            if part.sense == "least" and part.choice is not None and part.short():
                relax(part.made, part.pool, (), known, looking, part.seed, rounds, refine_steps, part.executor, part.closed)
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
