"""Limits that no plan can pass: by area, by prices on the blanks, by whole sheets.

Every function is given bounds `gives[s]` on what one sheet of class s can hold at some prices of the blanks; for
any prices the limits hold (weak duality), at the linear program's prices they are the strongest.
"""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction

from ..blanks import Blank
from ..sheets import Sheet


def area_of(sheet: Sheet) -> Fraction:
    """The paper of a sheet in mm2, bad areas not taken out (they may overlap): never too little."""
    from .worths import exact

    return exact(sheet.area_mm2)


def least_cost(prices: Sequence[Fraction], need: Sequence[int], gives: Sequence[Fraction], costs: Sequence[Fraction],
               counts: Sequence[int | None]) -> Fraction:  # fmt: skip
    """No plan that makes all of `need` costs less (Lagrangian relaxation of the demands)."""
    scale = Fraction(1)
    for give, cost, count in zip(gives, costs, counts, strict=True):
        if count is None and give > 0:
            scale = min(scale, cost / give)  # sheets without limit must not pay for themselves
    total = sum((p * scale * q for p, q in zip(prices, need, strict=True)), Fraction(0))
    for give, cost, count in zip(gives, costs, counts, strict=True):
        if count is not None:
            total -= count * max(Fraction(0), give * scale - cost)
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


def most_sets(prices: Sequence[Fraction], needs: Sequence[dict[int, int]], limits: Sequence[int | None],
              gives: Sequence[Fraction], counts: Sequence[int | None]) -> Fraction | None:  # fmt: skip
    """No plan completes more sets; None where these prices show no limit.

    A set is worth 1, so prices are scaled until no set is worth more than its blanks cost.
    """
    dearest = min((sum((prices[i] * n for i, n in need.items()), Fraction(0)) for need in needs), default=Fraction(0))
    if dearest <= 0:
        return None
    total = Fraction(0)
    for give, count in zip(gives, counts, strict=True):
        if count is not None:
            total += count * give / dearest
        elif give > 0:
            return None
    return total


def by_quantity(needs: Sequence[dict[int, int]], limits: Sequence[int | None]) -> int | None:
    """No more sets than the quantities allow: each set alone, added up; None where one has no limit."""
    total = 0
    for need in needs:
        tops = [limit // n for i, n in need.items() if n and (limit := limits[i]) is not None]
        if not tops:
            return None
        total += min(tops)
    return total


def cost_by_area(blanks: Sequence[Blank], sheets: Sequence[Sheet]) -> Fraction:
    """No plan that makes all costs less than the blanks' area at the least cost of paper per area."""
    from .worths import exact

    need = sum((exact(b.area_mm2) * (b.quantity or 0) for b in blanks), Fraction(0))
    cost = Fraction(0)
    for sheet in sorted(sheets, key=lambda s: (exact(s.cost or 0) / area_of(s), s.id)):
        paper = area_of(sheet)
        take = need if sheet.count is None else min(need, paper * sheet.count)
        cost += take / paper * exact(sheet.cost or 0)
        need -= take
    return cost


def made_by_area(blanks: Sequence[Blank], sheets: Sequence[Sheet]) -> Fraction | None:
    """No plan makes more worth than all paper at the best worth per area, nor than all quantities; None: no limit."""
    from .worths import exact

    rest = Fraction(0)
    for blank in blanks:
        if blank.quantity is None:
            rest = Fraction(-1)
            break
        rest += blank.quantity * exact(blank.worth or 0)
    if any(s.count is None for s in sheets):
        return None if rest < 0 else rest
    paper = sum((area_of(s) * (s.count or 0) for s in sheets), Fraction(0))
    best = max(exact(b.worth or 0) / exact(b.area_mm2) for b in blanks)
    return paper * best if rest < 0 else min(rest, paper * best)
