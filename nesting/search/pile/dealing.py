"""From a choice of columns to layouts of real sheets: copies dealt out, offcuts named, surplus pieces left uncut."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from fractions import Fraction

from ...cutters import Cutter
from ...layouts import Layout
from ..building import again, build
from ..sheet.showing import shows_most_of
from .choosing import Choice
from .columns import Column, Pool
from .variety import members


def dealt_layouts(parts: list[tuple[Pool, Choice]], cutter: Cutter | None, least: tuple[int, int],
                  over: Callable[[], bool]) -> tuple[Layout, ...]:  # fmt: skip
    """Columns dealt out to the sheets of their class; pieces beyond what is wanted are left uncut.

    `over`: whether the time is up for placing what is left of a sheet's pieces where it shows most.
    """
    out: list[Layout] = []
    named: dict[str, int] = {}
    for pool, choice in parts:
        cut = _dealt(pool, choice)
        given = [sum(copies * column.counts[i] for column, _, copies in cut) for i in range(len(pool.blanks))]
        surplus = [g - m for g, m in zip(given, choice.made, strict=True)]
        final, left = _without_surplus(pool, cut, surplus, keep_one=any(price > 0 for price in pool.variety))
        if any(left):
            final, _ = _without_surplus(pool, cut, surplus, keep_one=False)
        built: dict[tuple[int, tuple[tuple[str, int], ...]], Layout] = {}
        for column, sheet_id, copies, skip in reversed(final):
            key = id(column), tuple(sorted(skip.items()))
            if key in built:  # alike sheets cut alike: nothing is worked out twice
                layout = again(built[key], copies, sheet_id, named.get(sheet_id, 0))
            else:
                fixed = pool.classes[column.group].single.fixed
                shown, tree = pool.shown_of(column), column.tree
                if shown is not None and skip:
                    keep = {b.name: n - skip.get(b.name, 0) for b, n in zip(pool.blanks, column.counts, strict=True)}
                    tree, skip = shows_most_of(shown, tree, keep, over), {}
                layout = build(column.ground, tree, cutter, least, copies, skip, sheet_id,
                               named.get(sheet_id, 0), frozenset(p.box for p in fixed), pool.blanks)  # fmt: skip
                built[key] = layout
            named[sheet_id] = named.get(sheet_id, 0) + len(layout.offcuts)
            out.append(layout)
    return tuple(out)


def _without_surplus(pool: Pool, cut: Sequence[tuple[Column, str, int]], surplus: Sequence[int],
                     keep_one: bool) -> tuple[list[tuple[Column, str, int, dict[str, int]]], list[int]]:  # fmt: skip
    """The sheets cut, last first, with what to leave uncut on each, and the surplus that is left.

    Sheets of which nothing is wanted are left whole, unless each is to keep a piece (`keep_one`).
    """
    found: list[tuple[int, tuple[Column, str, int, dict[str, int]]]] = []
    left = list(surplus)
    # what shows least is left uncut first; else what was dealt out last
    for number, (column, sheet_id, copies) in sorted(enumerate(cut), key=lambda item: (_shown_a_piece(item[1][0]), -item[0])):
        fixed = pool.classes[column.group].single.fixed
        free = [c - sum(p.blank == b.name for p in fixed) for b, c in zip(pool.blanks, column.counts, strict=True)]
        while copies > 0:
            drop = [min(s, c) for s, c in zip(left, free, strict=True)]
            if keep_one and tuple(drop) == column.counts:
                drop[min((s, i) for i, s in enumerate(left) if drop[i])[1]] -= 1
            if not any(drop):
                break
            left = [s - d for s, d in zip(left, drop, strict=True)]
            copies -= 1
            if tuple(drop) != column.counts:
                less = {b.name: d for b, d in zip(pool.blanks, drop, strict=True) if d}
                found.append((number, (column, sheet_id, 1, less)))
        if copies > 0:
            found.append((number, (column, sheet_id, copies, {})))
    found.sort(key=lambda item: -item[0])
    return [entry for _, entry in found], left


def _shown_a_piece(column: Column) -> float:
    return column.total_shown() / sum(column.counts)


def _dealt(pool: Pool, choice: Choice) -> list[tuple[Column, str, int]]:
    prices = pool.variety or [Fraction(0)] * len(pool.classes)
    left = {number: [[name, count] for name, count in members(group, price)]
            for number, (group, price) in enumerate(zip(pool.classes, prices, strict=True))}  # fmt: skip
    out: dict[tuple[int, str], tuple[Column, str, int]] = {}
    order = sorted(zip(choice.columns, choice.copies, strict=True),
                   key=lambda item: (item[0].group, tuple(-c for c in item[0].counts)))  # fmt: skip
    for number, (column, copies) in enumerate(order):
        for member in left[column.group]:
            name, count = member
            take = copies if count is None else min(copies, int(count))
            if take > 0:
                _, _, before = out.get((number, str(name)), (column, "", 0))
                out[number, str(name)] = column, str(name), before + int(take)
                copies -= int(take)
                if count is not None:
                    member[1] = int(count) - int(take)
    return list(out.values())
