"""Many copies on alike clear sheets: most layouts from the linear program, the rest of the pieces by ruin and recreate.

Whole copies of the layouts in the program's solution are cut as they are; what they leave to make is a job of few
sheets, which ruin and recreate is good at. Where that is not enough, fewer copies are kept and more is left to it.
"""

from __future__ import annotations

from collections.abc import Sequence

from ..budget import Budget
from ..recreate.recreating import Recreation
from ..sheet.ground import Ground
from ..sheet.single import Found
from .part import Part
from .relaxing import relaxed
from .rounding import NEARLY

TRIES = 4
SHARE = 0.5  # of the time left, for one search of the rest


def run(part: Part, budget: Budget) -> None:
    """The copies rounded down and the rest searched; then with one copy less of every layout, and so on."""
    place = part.pool.classes[0].single.clear_ground()
    solution = relaxed(part.pool, part.sense, ())
    if place is None or solution is None:
        return
    columns = list(part.pool.columns.values())
    whole = [int(n + NEARLY) for n in solution[1]]
    for less in range(min(TRIES, 1 + max(whole, default=0))):
        kept = [(c, max(0, n - less)) for c, n in zip(columns, whole, strict=True) if n > less]
        fixed = [(0, Found(0, 0, c.tree, c.ground)) for c, n in kept for _ in range(n)]
        rest = [max(0, (b.quantity or 0) - sum(c.counts[i] * n for c, n in kept)) for i, b in enumerate(part.blanks)]
        _search(part, place, fixed, rest, budget.part(SHARE))
        if part.closed() or budget.over():
            return


def _search(part: Part, place: Ground, fixed: list[tuple[int, Found]], rest: Sequence[int], budget: Budget) -> None:
    """Ever fewer sheets for the rest, beside the fixed ones."""
    if not any(rest):
        part.take_cut(fixed)
        return
    search = Recreation(place.sheet, place.usable, part.blanks, rest, part.seed)
    for trees in search.solutions(max(1, part.sheets_at_least() - len(fixed)), budget):
        part.take_cut(fixed + [(0, Found(0, 0, tree, place)) for tree in trees])
        budget.report("sheets needed", len(fixed) + len(trees), part.sheets_at_least())
