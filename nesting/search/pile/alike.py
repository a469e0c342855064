"""Many pieces from alike clear sheets, as few sheets as can be: ruin and recreate as a method."""

from __future__ import annotations

from ..budget import Budget
from ..recreate.recreating import Recreation
from ..sheet.single import Found
from . import different
from .part import Part


class Alike:
    """One search that can be gone on with: each solution it finds is taken into the part."""

    def __init__(self, part: Part) -> None:
        place = part.pool.classes[0].single.clear_ground()
        assert place is not None
        self._part, self._place = part, place
        wanted = [b.quantity or 0 for b in part.blanks]
        self._search = Recreation(place.sheet, place.usable, part.blanks, wanted, part.seed)
        part.cost.take(different.least_cost(part.pool, len(part.pool.classes[0].members) == len(part.sheets)))

    def run(self, budget: Budget) -> None:
        """Ever fewer sheets until the limit is met or the time is up."""
        if self._part.choice is not None and not self._part.short():
            used = sum(self._part.choice.copies)
            if 0 < used <= self._search.sheets:  # another method was better: fewer than that
                self._search.aim(used - 1)
        for trees in self._search.solutions(self._part.sheets_at_least(), budget):
            self._part.take_cut([(0, Found(0, 0, tree, self._place)) for tree in trees])
            budget.report("sheets needed", len(trees), self._part.sheets_at_least())
