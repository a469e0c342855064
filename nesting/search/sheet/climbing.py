"""One clear rectangle with limited copies: which runs of merging are made, and what each of them proves.

Rounds of two kinds: a narrow run, few blocks kept of each box, looks for a better layout; a full run with a target
between the best worth and the bound either finds the best layout there is, or no layout reaches the target, and the
bound falls below it. What a full run may keep grows with every round that fails.
"""

from __future__ import annotations

import math
from collections.abc import Callable

from ...geometry import Box
from ...layouts import Node
from ..budget import Budget
from .limited_bounds import ROUNDS, Limits, lower_prices, priced
from .merging import EVERY, Merging

NARROW, LISTED, GROWTH = 2, 4_000, 2  # blocks of a box, blocks of a full run, at first
WIDER = 4  # as many blocks in a narrow run
FIRST_PART = 64  # of the gap: the first target below the bound
PRICE_SHARE = 0.1
LARGER = 0.3  # how much more the dearest piece weighs where all pieces must be placed and few blocks are kept
CUT_OFF, LEFT_OUT, DONE = 0, 1, 2  # how a run ended


class Climb:
    """The best worth known, its layout, and the bound, while runs of merging bring them together."""

    def __init__(self, problem: Limits, box: Box, known: int, bound: int) -> None:
        """`box`: the sheet in ticks. `known`: what a layout reaches; `bound`: what none passes."""
        self.problem = problem
        self._box = box
        self.known = known
        self.tree: Node | None = None
        self._step = math.gcd(*(v for v, q in zip(problem.worth, problem.quantity, strict=True) if q and v)) or 1
        self.bound = self._whole(min(bound, problem.total()))
        self._prices: list[float] | None = None
        self._all_prices: list[float] | None = None
        self._narrow, self._listed = NARROW, LISTED
        self._effort = 0  # blocks made

    def _whole(self, worth: int) -> int:
        return max(self.known, worth // self._step * self._step)

    def learn(self, known: int) -> None:
        """A layout from elsewhere reaches this worth."""
        if known > self.known:
            self.known, self.tree = known, None

    def go(self, budget: Budget, report: Callable[[], None], most: int = EVERY) -> None:
        """Runs until best and bound meet, the time is up or a full run would keep more than `most` blocks."""
        if self._prices is None:
            rounds = ROUNDS if budget.steps is None else min(ROUNDS, budget.steps)
            pricing = budget.part(PRICE_SHARE)
            self._prices, bound = lower_prices(self.problem, self.known, pricing.over, rounds=rounds)
            self._lower(bound, report)
            if self.bound == self.problem.total() > self.known:
                self._all_prices, bound = lower_prices(self.problem, self.bound - self._step, pricing.over, True, rounds)
                if bound < self.bound:
                    self._lower(self.bound - self._step, report)
        reach = dive = self._part_of_gap(FIRST_PART)
        while self.known < self.bound and self._listed <= most and not budget.over():
            target = max(self.known + self._step, self.bound + self._step - reach)
            self._effort = 0
            if self._run(target, EVERY, self._listed, budget, report) == DONE:
                reach *= 2
                continue
            effort = self._effort
            dive = max(reach, min(dive, self._part_of_gap(1)))
            self._effort = 0
            while self._effort <= effort and self.known < self.bound and not budget.over():
                before = self.known
                target = max(self.known + self._step, self.bound + self._step - dive)
                ended = self._run(target, self._narrow, WIDER * self._listed, budget, report)
                if self.known > before:
                    break
                if ended == CUT_OFF:
                    self._narrow, dive = max(1, self._narrow // GROWTH), max(self._step, dive * 2 // 3)
                    break
                self._narrow, dive = self._narrow * GROWTH, min(dive * 3 // 2, self._part_of_gap(1))
            reach = min(self._part_of_gap(1), max(self._step, reach // GROWTH))
            self._listed *= GROWTH

    def _part_of_gap(self, part: int) -> int:
        return self._step * max(1, (self.bound - self.known) // (part * self._step))

    def _lower(self, bound: int, report: Callable[[], None]) -> None:
        if self._whole(bound) < self.bound:
            self.bound = self._whole(bound)
            report()

    def _run(self, target: int, keep: int, listed: int, budget: Budget, report: Callable[[], None]) -> int:
        """One run: cut off, done with some blocks left out, or DONE: no layout reaches the target, or the best is known."""
        assert self._prices is not None
        weighings = [priced(self.problem, self._prices), priced(self.problem, [0.0] * len(self._prices))]
        if target == self.problem.total() and self._all_prices is not None:
            # a narrow run keeps the blocks of the larger pieces first: small ones find a place later
            largest = max(self.problem.worth)
            larger = [-LARGER * v * v / largest for v in self.problem.worth]
            alone = priced(self.problem, self._all_prices if keep == EVERY else larger, True)
            weighings = [weighings[1], alone] if keep == EVERY else [alone, weighings[1]]
        merging = Merging(self.problem, weighings, target, self._step, keep)

        def better(worth: int) -> None:
            self.known, self.tree = worth, merging.tree(self._box)
            self.bound = max(self.bound, worth)
            report()

        done = merging.run(listed, budget.over, better)
        self._effort += merging.made()
        if not done:
            return CUT_OFF
        if not merging.exact():
            return LEFT_OUT
        self._lower(max(self.known, target - self._step), report)
        return DONE
