"""Limits that no plan can pass: by area, by prices on the blanks, by whole sheets.

Every function is given bounds `gives[s]` on what one sheet of class s can hold at some prices of the blanks; for
any prices the limits hold (weak duality), at the linear program's prices they are the strongest.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from fractions import Fraction

from ...blanks import Blank
from ...lengths import TICKS_PER_MM
from ...sheets import Sheet

PER_MM2 = TICKS_PER_MM**2

def area_of(sheet: Sheet) -> Fraction:
    """The paper of a sheet in mm2, exactly; bad areas are not taken out (they may overlap)."""
    return Fraction(sheet.area2, 2 * PER_MM2)


def least_cost(prices: Sequence[Fraction], need: Sequence[int], gives: Sequence[Fraction], costs: Sequence[Fraction],
               counts: Sequence[int | None], must: Sequence[bool] | None = None) -> Fraction:  # fmt: skip
    """No plan that makes all of `need` costs less (Lagrangian relaxation of the demands).

    `must`: which sheets, all counted, are cut in any case, all copies.
    """
    scale = Fraction(1)
    for give, cost, count in zip(gives, costs, counts, strict=True):
        if count is None and give > 0:
            scale = min(scale, cost / give)  # sheets without limit must not pay for themselves
    total = sum((p * scale * q for p, q in zip(prices, need, strict=True)), Fraction(0))
    for give, cost, count, cut in zip(gives, costs, counts, must or [False] * len(counts), strict=True):
        if count is not None:
            total -= count * (give * scale - cost if cut else max(Fraction(0), give * scale - cost))
    return max(Fraction(0), total)


def most_worth(prices: Sequence[Fraction], worths: Sequence[Fraction], limits: Sequence[int | None],
               gives: Sequence[Fraction], counts: Sequence[int | None]) -> Fraction | None:  # fmt: skip
    """No plan makes more worth within the quantities; None where these prices show no limit."""
    total = Fraction(0)
    for price, worth, limit in zip(prices, worths, limits, strict=True):
        if limit is not None:
            total += limit * max(Fraction(0), worth - price)
        elif worth > price:
            return None
    for give, count in zip(gives, counts, strict=True):
        if count is not None:
            total += count * give
        elif give > 0:
            return None
    return total


def most_sets(prices: Sequence[Fraction], needs: Sequence[dict[int, int]], gives: Sequence[Fraction],
              counts: Sequence[int | None]) -> Fraction | None:  # fmt: skip
    """No plan completes more sets; None where these prices show no limit.

    A set is worth 1, so prices are scaled until no set is worth more than its blanks cost.
    """
    cheapest = min((sum((prices[i] * n for i, n in need.items()), Fraction(0)) for need in needs), default=Fraction(0))
    if cheapest <= 0:
        return None
    total = Fraction(0)
    for give, count in zip(gives, counts, strict=True):
        if count is not None:
            total += count * give / cheapest
        elif give > 0:
            return None
    return total


def cost_by_area(blanks: Sequence[Blank], sheets: Sequence[Sheet]) -> Fraction:
    """No plan that makes all costs less than the blanks' area at the least cost of paper per area."""
    from ..worths import exact

    need = sum((exact(b.area_mm2) * (b.quantity or 0) for b in blanks), Fraction(0))
    cost = Fraction(0)
    for sheet in sorted(sheets, key=lambda s: (exact(s.cost or 0) / area_of(s), s.id)):
        paper = area_of(sheet)
        take = need if sheet.count is None else min(need, paper * sheet.count)
        cost += take / paper * exact(sheet.cost or 0)
        need -= take
    return cost


def most_of(blank: Blank, sheets: Sequence[Sheet]) -> int:
    """No more of one blank than its quantity, nor than the paper it may be cut from; one of the two must be limited."""
    paper = Fraction(0)
    for sheet in sheets:
        if blank.material is None or sheet.material == blank.material:
            if sheet.count is None:
                assert blank.quantity is not None, "a blank and its sheets without limit"
                return blank.quantity
            paper += area_of(sheet) * sheet.count
    by_area = math.floor(paper / Fraction(blank.width * blank.height, PER_MM2))
    return by_area if blank.quantity is None else min(by_area, blank.quantity)


def sets_by_area(blanks: Sequence[Blank], sheets: Sequence[Sheet], needs: Sequence[dict[int, int]]) -> Fraction:
    """No more sets than each set's scarcest blank allows, added up."""
    return Fraction(sum(min(most_of(blanks[i], sheets) // n for i, n in need.items()) for need in needs))


def made_by_area(blanks: Sequence[Blank], sheets: Sequence[Sheet]) -> Fraction:
    """No more worth than each blank alone allows, added up, nor than all paper at the best worth per area."""
    from ..worths import exact

    alone = sum((most_of(b, sheets) * exact(b.worth or 0) for b in blanks), Fraction(0))
    if any(s.count is None for s in sheets):
        return alone
    paper = sum((area_of(s) * (s.count or 0) for s in sheets), Fraction(0))
    return min(alone, paper * max(exact(b.worth or 0) / Fraction(b.width * b.height, PER_MM2) for b in blanks))
