"""Variety: a price on how many different sheets a batch is cut from, beside the aim.

A positive price is what one more different sheet may cost, a negative one what it may save. Copies of one counted sheet
look the same and count once; sheets with names of their own count each. Limits speak of the plain measure, without it.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from fractions import Fraction
from typing import Any

from ...errors import InputError, finite
from ..worths import exact
from .choosing import Choice
from .columns import Column, Pool, SheetClass

Variety = int | float | tuple[tuple[str, int | float], ...]


def checked_variety(given: Any) -> Variety:
    """One price for all sheets, or a price by material as sorted pairs. Raises InputError."""
    prices = list(given.items()) if isinstance(given, Mapping) else [("", given)]
    for name, price in prices:
        where = f"variety, {name}" if name else "variety"
        if not isinstance(name, str) or not finite(price) or abs(price) > 1e12:
            raise InputError(where, "a price: a number, 0 for none", price)
    return tuple(sorted(prices)) or 0 if isinstance(given, Mapping) else given


def prices_of(variety: Variety, classes: Sequence[SheetClass]) -> tuple[Fraction, ...]:
    """What one more different sheet of each class may cost; nothing at all where no class has a price."""
    by_material = dict(variety) if isinstance(variety, tuple) else None
    prices = [variety if by_material is None else by_material.get(c.single.sheet.material or "", 0) for c in classes]
    return tuple(exact(p) for p in prices) if any(prices) else ()  # type: ignore[arg-type]


def members(group: SheetClass, price: Fraction) -> list[tuple[str, int | None]]:
    """The sheets of a class in the order in which they are cut: as many different ones as can be, or as few."""
    if price > 0:
        rest = [(name, None if count is None else count - 1) for name, count in group.members]
        return [*((name, 1) for name, _ in group.members), *rest]
    if price < 0:
        return sorted(group.members, key=lambda m: (m[1] is not None, -(m[1] or 0)))
    return list(group.members)


def different(group: SheetClass, copies: int, price: Fraction) -> int:
    """How many different sheets so many copies of a class are cut from."""
    seen = set()
    for name, count in members(group, price):
        if copies > 0 and count != 0:
            seen.add(name)
            copies -= copies if count is None else min(count, copies)
    return len(seen)


def gain(pool: Pool, choice: Choice) -> Fraction:
    """What the variety of a choice is worth."""
    if not pool.variety:
        return Fraction(0)
    cut: Counter[int] = Counter()
    for column, copies in zip(choice.columns, choice.copies, strict=True):
        cut[column.group] += copies
    return sum((pool.variety[g] * different(pool.classes[g], n, pool.variety[g]) for g, n in cut.items()), Fraction(0))


def model_terms(model: Any, pool: Pool, columns: Sequence[Column], copies: Sequence[Any], tops: Sequence[int],
                made: Sequence[Any]) -> list[tuple[int, Any]]:  # fmt: skip
    """For each class with a price, the number of different sheets in CP-SAT's model; every sheet cut gives a wanted piece."""
    out: list[tuple[int, Any]] = []
    for number, group in enumerate(pool.classes):
        own = [i for i, c in enumerate(columns) if c.group == number]
        price = pool.variety[number]
        if not own or not price:
            continue
        taken, most = sum(copies[i] for i in own), sum(tops[i] for i in own)
        if price > 0:
            kinds = model.new_int_var(0, len(group.members), f"kinds{number}")
            model.add(kinds <= taken)
            out.append((number, kinds))
        else:
            used = [model.new_bool_var(f"used{number},{k}") for k in range(len(group.members))]
            counts = [most if count is None else min(most, count) for _, count in members(group, price)]
            model.add(taken <= sum(c * u for c, u in zip(counts, used, strict=True)))
            out.append((number, sum(used)))
    if any(p > 0 for p in pool.variety):
        kept: list[list[Any]] = [[] for _ in made]
        for i, column in enumerate(columns):
            of_column = []
            for blank, count in enumerate(column.counts):
                if count:
                    var = model.new_int_var(0, tops[i] * count, f"kept{i},{blank}")
                    model.add(var <= count * copies[i])
                    kept[blank].append(var)
                    of_column.append(var)
            model.add(sum(of_column) >= copies[i])
        for blank, var in enumerate(made):
            model.add(sum(kept[blank]) == var)
    return out
