"""When a search must stop: a deadline on a monotonic clock, a number of steps, or the user."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from time import monotonic  # the one clock of this package, read only against a deadline
from typing import Any

from ..errors import InputError


@dataclass(frozen=True)
class Progress:
    """What a search tells while it runs: the kind of step, the best value and bound so far, seconds spent."""

    stage: str
    value: int | float | None
    bound: int | float | None
    seconds: float
    text: str = ""


LONGEST_SECONDS = 86_400
LAYOUT_SECONDS = 0.00015  # a piece takes, when the layouts of what was found are made
Report = Callable[[Progress], None]


class Budget:
    """Seconds and steps that a search may still use; `report` passes progress on with the time filled in."""

    def __init__(self, seconds: float, steps: int | None, progress: Report | None = None) -> None:
        self._start = monotonic()
        self._deadline = self._start + seconds
        self.steps = steps
        self._progress = progress
        self._parent: Budget | None = None
        self.stopped_by = "search"

    def stop(self, reason: str) -> None:
        """Remember why the search stops. An interrupt is never forgotten; it and used steps stop the whole, not only a part."""
        if self.stopped_by != "interrupt":
            self.stopped_by = reason
        if self._parent is not None and reason != "time":
            self._parent.stop(reason)

    def part(self, share: float, by_clock: bool = False) -> Budget:
        """A budget that ends after this share of the time left; it reports and counts steps as this one.

        With steps it has all the time left, unless `by_clock`: where steps limit a search, the clock is to decide nothing.
        """
        whole = self.steps is not None and not by_clock
        out = Budget(max(0.0, (1.0 if whole else share) * self.time_left()), self.steps, self._progress)
        out._start, out._parent = self._start, self
        return out

    def time_left(self) -> float:
        """Seconds until the deadline; below 0 when past it."""
        return self._deadline - monotonic()

    def over(self) -> bool:
        """Whether the time is up, which it remembers as the reason to stop, or the user has interrupted."""
        if self.stopped_by == "interrupt":
            return True
        if monotonic() < self._deadline:
            return False
        self.stop("time")
        return True

    def report(self, stage: str, value: int | float | None = None, bound: int | float | None = None,
               text: str = "") -> None:  # fmt: skip
        """Tell the caller, if it wants to know."""
        if self._progress is not None:
            self._progress(Progress(stage, value, bound, monotonic() - self._start, text))


def search_seconds(seconds: float, pieces: int) -> float:
    """What is left for the search when time is kept for the layouts of so many pieces; two thirds at least."""
    return seconds - min(seconds / 3, LAYOUT_SECONDS * pieces)


class Blocks:
    """How many blocks of rounds a search may still run."""

    def __init__(self, budget: Budget) -> None:
        self._budget = budget
        self._used = 0

    def over(self) -> bool:
        """Whether time or steps are used up; else one block more is counted."""
        if self._budget.over():
            return True
        self._used += 1
        if self._budget.steps is not None and self._used > self._budget.steps:
            self._budget.stop("steps")
            return True
        return False


def check_search_arguments(seconds: Any, steps: Any, seed: Any, workers: Any) -> None:
    """Raises InputError for a time, number of steps, seed or number of workers that no search can use."""
    if isinstance(seconds, bool) or not isinstance(seconds, int | float) or not 0 < seconds <= LONGEST_SECONDS:
        raise InputError("seconds", f"a time above 0 and at most {LONGEST_SECONDS:,} s, a day", seconds)
    for name, value, least in (("steps", steps, 1), ("seed", seed, 0), ("workers", workers, 1)):
        if name == "steps" and value is None:
            continue
        if isinstance(value, bool) or not isinstance(value, int) or not least <= value < 2**63:
            raise InputError(name, f"a whole number of at least {least}", value)
