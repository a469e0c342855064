"""From a choice of columns to layouts of real sheets: copies dealt out, offcuts named, surplus pieces left uncut."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from fractions import Fraction
from typing import Any

from ...blanks import Blank
from ...cutters import Cutter
from ...geometry import Box
from ...layouts import Cut, Layout, Node, Piece, Shavings
from ..building import again, build
from ..sheet.showing_most import shows_most_of
from ..trees import rebuilt
from .choosing import Choice
from .columns import Pool
from .surplus import ANY_TURN, Dealt, Kind, without_surplus
from .variety import members


def dealt_layouts(parts: list[tuple[Pool, Choice]], cutter: Cutter | None, least: tuple[int, int],
                  over: Callable[[], bool]) -> tuple[Layout, ...]:  # fmt: skip
    """Columns dealt out to the sheets of their class; pieces beyond what is wanted are left uncut.

    `over`: whether the time is up for placing what is left of a sheet's pieces where it shows most.
    """
    out: list[Layout] = []
    named: dict[str, int] = {}
    for pool, choice in parts:
        built: dict[tuple[int, tuple[tuple[Kind, int], ...]], Layout] = {}
        for dealt in without_surplus(_dealt(pool, choice), choice.made, keep_one=any(price > 0 for price in pool.variety)):
            column, sheet = dealt.column, dealt.sheet
            key = id(column), tuple(sorted(dealt.uncut.items()))
            if key in built:  # alike sheets cut alike: nothing is worked out twice
                layout = again(built[key], dealt.copies, sheet, named.get(sheet, 0))
            else:
                kept = frozenset(p.box for p in pool.classes[column.group].single.fixed)
                shown = pool.shown_of(column)
                tree, skip = _pruned(column.tree, pool.blanks, dealt.uncut, kept)
                if shown is not None and skip and not any(b.priced for b in pool.blanks):
                    keep = {b.name: n - skip.get(b.name, 0) for b, n in zip(pool.blanks, column.counts, strict=True)}
                    tree, skip = shows_most_of(shown, tree, keep, over), {}
                layout = build(column.ground, tree, cutter, least, dealt.copies, skip, sheet, named.get(sheet, 0), kept,
                               pool.blanks)  # fmt: skip
                built[key] = layout
            named[sheet] = named.get(sheet, 0) + len(layout.offcuts)
            out.append(layout)
    return tuple(out)


def _pruned(tree: Node, blanks: Sequence[Blank], uncut: Mapping[Kind, int],
            kept: frozenset[Box]) -> tuple[Node, dict[str, int]]:  # fmt: skip
    """The tree without the pieces of a turn that stay uncut, the last ones but those `kept`; and by name those of any turn."""
    left = {(blanks[blank].name, turn): n for (blank, turn), n in uncut.items()}
    skip = {name: n for (name, turn), n in left.items() if turn == ANY_TURN}
    if len(skip) == len(left):
        return tree, skip

    def leaf(node: Any) -> Node:
        if isinstance(node, Piece) and node.box not in kept and left.get((node.blank, node.turn), 0) > 0:
            left[node.blank, node.turn] -= 1
            return Shavings(node.box)
        return node  # type: ignore[no-any-return]

    return rebuilt(tree, leaf, lambda cut, low, high: Cut(cut.box, cut.axis, cut.at, low, high)), skip


def _dealt(pool: Pool, choice: Choice) -> list[Dealt]:
    prices = pool.variety or [Fraction(0)] * len(pool.classes)
    left = {number: [[name, count] for name, count in members(group, price)]
            for number, (group, price) in enumerate(zip(pool.classes, prices, strict=True))}  # fmt: skip
    out: dict[tuple[int, str], Dealt] = {}
    order = sorted(zip(choice.columns, choice.copies, strict=True),
                   key=lambda item: (item[0].group, tuple(-c for c in item[0].counts)))  # fmt: skip
    for number, (column, copies) in enumerate(order):
        for member in left[column.group]:
            name, count = member
            take = copies if count is None else min(copies, int(count))
            if take > 0:
                before = out[number, str(name)].copies if (number, str(name)) in out else 0
                out[number, str(name)] = Dealt(column, str(name), before + int(take))
                copies -= int(take)
                if count is not None:
                    member[1] = int(count) - int(take)
    return list(out.values())
