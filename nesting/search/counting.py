"""How many blanks of one size a sheet gives, asked for many sizes: the ground is prepared once, and answers bound each other.

A smaller blank of the same rules lies wherever a larger one does, so the count never rises with either side: what is known
of larger and smaller sizes often leaves one answer, and then nothing is searched.
"""

from __future__ import annotations

from dataclasses import dataclass

from ..blanks import Blank
from ..cutters import Cutter
from ..sheets import Sheet
from .budget import Budget
from .sheet.single import Single

REFINE_STEPS = 3_000  # decisions on one size of one sheet: some milliseconds
NO_CLOCK = 1e6  # seconds: steps end a question, so that the answer does not depend on the machine


@dataclass(frozen=True)
class Count:
    """How many blanks a sheet gives: found, and no more than."""

    found: int
    most: int


class Counting:
    """One sheet, asked for blanks that differ in their size alone.

    >>> import nesting
    >>> asked = Counting(nesting.Sheet.rectangle("a", 300, 200), None)
    >>> asked.count(nesting.Blank("b", 100, 100)), asked.count(nesting.Blank("b", 100, 99)), asked.searched
    (Count(found=6, most=6), Count(found=6, most=6), 1)
    """

    def __init__(self, sheet: Sheet, cutter: Cutter | None, frames: object = "auto", steps: int = REFINE_STEPS) -> None:
        """`steps`: decisions that one question may take where damage or an odd outline leaves a gap."""
        self.sheet = sheet
        self._cutter, self._frames, self._steps = cutter, frames, steps
        self._known: list[tuple[int, int, Count]] = []
        self._last: Single | None = None
        self.searched = 0

    def count(self, blank: Blank) -> Count:
        """The answer for one size (soft rules are not asked about here: give the blank without them)."""
        width, height = blank.width, blank.height
        low = max((c.found for w, h, c in self._known if w >= width and h >= height), default=0)
        high = min((c.most for w, h, c in self._known if w <= width and h <= height), default=self.by_area(blank))
        if low < high:
            self.searched += 1
            single = Single(self.sheet, [blank], self._cutter, self._frames, like=self._last)
            self._last = single
            if not single.possible():
                low = high = 0
            else:
                found = single.best([1], Budget(NO_CLOCK, None), self._steps)
                low, high = max(low, found.value), min(high, found.bound)
        count = Count(low, max(low, high))
        self._known.append((width, height, count))
        return count

    def by_area(self, blank: Blank) -> int:
        """No layout has more."""
        return self.sheet.area2 // (2 * blank.width * blank.height)
