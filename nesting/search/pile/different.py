"""Many different pieces, few copies, from clear sheets: when ruin and recreate runs, and what its result proves."""

from __future__ import annotations

from fractions import Fraction

from ..recreate.recreating import MOST_PIECES
from .columns import Pool, SheetClass
from .dual_feasible import least_sheets

LEAST_KINDS = 2
FEW = 10


def applies(pool: Pool) -> bool:
    """The rule: at least 2 different blanks, all with quantities, at most 4,000 pieces, all sheets clear and cut square.

    Not where frames askew are allowed: the limits by dual feasible functions hold for pieces square to the sheet. Nor where
    a blank can lie so that a rule with a price is broken: ruin and recreate knows no such prices.
    """
    if len(pool.blanks) < LEAST_KINDS or any(b.quantity is None for b in pool.blanks):
        return False
    pieces = sum(b.quantity or 0 for b in pool.blanks)
    return pieces <= MOST_PIECES and all(_square(c) for c in pool.classes) and not pool.fined()


def _square(group: SheetClass) -> bool:
    return group.single.frames_deg == (0.0,) and group.single.clear_ground() is not None


def few(pool: Pool) -> bool:
    """Whether there are at most 10 copies of a blank on average; more are the ground of the linear program."""
    return sum(b.quantity or 0 for b in pool.blanks) <= FEW * len(pool.blanks)


def alike(pool: Pool) -> bool:
    """Whether the sheets are all alike and more than can be needed, so that only their number counts."""
    count = pool.classes[0].count
    return len(pool.classes) == 1 and (count is None or count >= sum(b.quantity or 0 for b in pool.blanks))


def least_cost(pool: Pool, whole: bool) -> Fraction | None:
    """The cost of the fewest sheets that could hold all pieces (dual feasible functions).

    None where some blank has no turn there, or where the class is not the `whole` stock.
    """
    place = pool.classes[0].single.clear_ground()
    if place is None or not whole:
        return None
    x0, y0, x1, y1 = place.usable
    width, height = x1 - x0, y1 - y0
    pieces = []
    for blank in pool.blanks:
        turns = blank.turns_on(place.sheet)
        if not turns:
            return None
        pieces.append((*blank.size(turns[0]), blank.quantity or 0))
    turning = any(len({b.size(t) for t in b.turns_on(place.sheet)}) > 1 for b in pool.blanks)
    if not turning and not all(w <= width and h <= height for w, h, _ in pieces):
        return None
    # a bound that lets every piece turn holds for those that may not
    return least_sheets(pieces, width, height, turning) * pool.classes[0].cost
