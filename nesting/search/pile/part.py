"""One independent part of a job (blanks that share no paper with others) while it is being solved: the best so far."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from concurrent.futures import Executor
from dataclasses import dataclass, field, replace
from fractions import Fraction

from ...blanks import Blank
from ...sheets import Sheet
from ..budget import Budget
from ..recreate.as_cuts import largest_leftover
from ..sheet.filling import counted
from ..sheet.shown import PER_MM2
from ..sheet.single import Found
from ..worths import exact
from . import bounds
from .choosing import Choice, as_chosen, begun, choose, shown_by
from .columns import Pool
from .relaxing import Relaxed, relaxed
from .rounding import rounded_copies
from .surplus import penalty_paid
from .variety import gain

Sets = Sequence[tuple[str, dict[int, int]]]
LAST_MOMENT = 0.1  # seconds


@dataclass
class Part:
    """What is wanted, the layouts met, the best choice among them, and the limits on cost and on worth (or sets) made.

    Methods read all of it; they change it through `take` and the limits' own `take` only.
    """

    sense: str  # "least" cost of stock, or "most" worth
    sheets: Sequence[Sheet]
    sets: Sets
    pool: Pool
    seed: int
    executor: Executor | None
    rate: Fraction = Fraction(0)  # what a mm2 of best area shown may cost
    cost: Relaxed = field(init=False)
    made: Relaxed = field(init=False)
    choice: Choice | None = None

    def __post_init__(self) -> None:
        needs = [n for _, n in self.sets]
        self.cost = Relaxed("least", bounds.cost_by_area(self.blanks, self.sheets), True)
        most = bounds.sets_by_area(self.blanks, self.sheets, needs) if needs else bounds.made_by_area(self.blanks, self.sheets)
        # sets, and worth unmade, come before what soft rules broken cost
        self.made = Relaxed("most", most, self.sense == "most" and not needs)

    @property
    def blanks(self) -> Sequence[Blank]:
        """The blanks of this part, in the job's order."""
        return self.pool.blanks

    @property
    def fined(self) -> bool:
        """Whether what soft rules broken cost counts in what is aimed at."""
        return self.cost.fined if self.sense == "least" else self.made.fined

    def take(self, choice: Choice | None) -> None:
        """Keep the better choice; the later one where neither is."""
        if choice is not None and (self.choice is None or self._rank(choice) <= self._rank(self.choice)):
            self.choice = choice

    def met(self, cut: Iterable[tuple[int, Found, int]]) -> dict[tuple[int, tuple[int, ...]], int]:
        """Take sheets, each its class, the layout found and its copies, as layouts met; the copies by class and counts."""
        copies: dict[tuple[int, tuple[int, ...]], int] = {}
        for group, found, number in cut:
            self.pool.add(group, found)
            key = group, tuple(counted(found.tree, self.blanks))
            copies[key] = copies.get(key, 0) + number
        return copies

    def take_cut(self, cut: Sequence[tuple[int, Found]]) -> None:
        """Take whole sheets, each its class and the layout found, as layouts met and as a choice."""
        self.take(as_chosen(self.pool, self.met((group, found, 1) for group, found in cut)))

    def choose(self, budget: Budget) -> None:
        """Choose among all layouts met. Where there is a choice, not in the last moment."""
        if self.choice is not None and budget.time_left() < LAST_MOMENT and not (self.sense == "least" and self.short()):
            return
        solution = relaxed(self.pool, self.sense, self.sets, fined=self.fined) if self.pool.columns else None
        begin = None if solution is None else rounded_copies(self.pool, self.sense, *solution)
        if begin is not None:
            self.take(begun(self.pool, self.sets, begin))
        self.take(choose(self.pool, self.sets, self.sense, budget, self.seed, self.rate, begin))

    def refresh(self) -> None:
        """The choice with the layouts that the pool has now for the same numbers of pieces."""
        if self.choice is not None:
            columns = tuple(self.pool.columns.get((c.group, c.counts), c) for c in self.choice.columns)
            penalty = penalty_paid(columns, self.choice.copies, self.choice.made)
            self.choice = replace(self.choice, columns=columns, penalty=penalty)

    def short(self) -> bool:
        """Whether the best choice leaves anything unmade."""
        assert self.choice is not None
        return any(m < (b.quantity or 0) for m, b in zip(self.choice.made, self.blanks, strict=True))

    def closed(self) -> bool:
        """Whether the best choice has reached its limit."""
        if self.choice is None:
            return False
        if self.sense == "least" and not self.short():
            return self.spent(self.choice) <= self.cost.limit
        if self.sets:
            return sum(self.choice.sets) >= self.made.limit
        return self.worth(self.choice) >= self.made.limit

    def sheets_at_least(self) -> int:
        """No fewer sheets of the first class, where it is the only stock, at its cost."""
        cost = self.pool.classes[0].cost
        return max(1, math.ceil(self.cost.limit / cost)) if cost else 1

    def worth(self, choice: Choice) -> Fraction:
        """The worth of what a choice makes, less the prices of rules broken where that is the aim."""
        off = choice.penalty if self.sense == "most" else Fraction(0)
        return sum((exact(b.worth or 0) * m for b, m in zip(self.blanks, choice.made, strict=True)), -off)

    def spent(self, choice: Choice) -> Fraction:
        """The cost of the sheets a choice cuts, and the prices of rules broken."""
        cut = zip(choice.columns, choice.copies, strict=True)
        return sum((self.pool.classes[column.group].cost * copies for column, copies in cut), choice.penalty)

    def _rank(self, choice: Choice) -> tuple[Fraction, ...]:
        """What the aim lowers, first things first."""
        worth, shown = -self.worth(choice), Fraction(-shown_by(choice), PER_MM2)
        if self.sense == "most":
            return Fraction(-sum(choice.sets)), worth - gain(self.pool, choice) + self.rate * shown, shown
        leftover = Fraction(-largest_leftover(c.tree for c in choice.columns))
        return worth, self.spent(choice) - gain(self.pool, choice) + self.rate * shown, shown, leftover
