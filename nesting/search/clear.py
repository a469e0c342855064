"""One clear rectangle, any number of copies: exact dynamic programming over reachable sizes.

Gilmore & Gomory, Operations Research 14(6), 1966; reachable sizes after Herz 1972 and Christofides & Whitlock
1977 (from memory); Beasley, J. Oper. Res. Soc. 36(4), 1985.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from ..geometry import Box
from ..layouts import Axis, Cut, Node, Piece, Shavings
from .ground import TURNED_SLACK, Ground
from .kernels import clear_table
from .trees import grown, halves

MOST_SIZES = 4_000
NO_BOUND = 2**62


@dataclass(frozen=True)
class Oriented:
    """A blank as it lies: its index in the job, its turn, width and height in ticks."""

    blank: int
    name: str
    turn: int
    width: int
    height: int


def reachable(sizes: Sequence[int], starts: Sequence[int], limit: int, most: int = MOST_SIZES) -> Any:
    """Sorted sums of a start and any multiples of the sizes, up to `limit`; None where they are more than `most`."""
    found = {s for s in starts if s <= limit}
    fresh = found
    steps = sorted(set(sizes))
    while fresh:
        fresh = {value + step for value in fresh for step in steps if value + step <= limit} - found
        found |= fresh
        if len(found) > most:
            return None
    return np.array(sorted(found), np.int64)


class ClearTable:
    """The best worth of every reachable box of clear paper, for one set of worths."""

    def __init__(self, oriented: Sequence[Oriented], values: Sequence[int], xs: Any, ys: Any) -> None:
        self._oriented = [(o, v) for o, v in zip(oriented, values, strict=True) if v > 0]
        self._xs, self._ys = xs, ys
        arrays = [np.array(a, np.int64) for a in zip(*((o.width, o.height, v) for o, v in self._oriented), strict=True)]
        if not arrays:
            arrays = [np.zeros(0, np.int64)] * 3
        elif 2 * max(v * int(xs[-1]) * int(ys[-1]) // (o.width * o.height) for o, v in self._oriented) < 2**31:
            arrays[2] = arrays[2].astype(np.int32)  # no box, and no sum of two, is worth more
        self._table = clear_table(xs, ys, *arrays)

    def worth(self, width: int, height: int) -> int:
        """The best worth of a clear box of that size in ticks."""
        return int(self._table[self._at(self._xs, width), self._at(self._ys, height)])

    @staticmethod
    def _at(sizes: Any, value: int) -> int:
        return int(np.searchsorted(sizes, value, side="right")) - 1

    def tree(self, box: Box) -> Node:
        """A layout of a clear box that reaches its worth; pieces from the low-left corner, no recursion."""
        return grown(box, self._step)

    def _step(self, box: Box) -> Node | tuple[Box, Axis, int, Box, Box]:
        x0, y0, x1, y1 = box
        i, j = self._at(self._xs, x1 - x0), self._at(self._ys, y1 - y0)
        worth = self._table[i, j]
        if worth == 0:
            return Shavings(box)
        for o, value in self._oriented:
            if value == worth and o.width <= x1 - x0 and o.height <= y1 - y0:
                return trimmed(box, o, x0, y0)
        ways: tuple[tuple[Axis, Any, int, int, Any], ...] = (
            ("x", self._xs, i, x0, self._table[:, j]), ("y", self._ys, j, y0, self._table[i]))  # fmt: skip
        for axis, sizes, index, start, line in ways:
            extent = (x1 - x0) if axis == "x" else (y1 - y0)
            for k in range(1, index + 1):
                if sizes[k] >= extent:
                    break
                if line[k] + line[self._at(sizes, extent - int(sizes[k]))] == worth:
                    at = start + int(sizes[k])
                    return box, axis, at, *halves(box, axis, at)
        raise AssertionError("the table has no way to its own worth")


@dataclass(frozen=True, eq=False)
class Covering:
    """Reachable sizes of a clear box; where they would be too many on an axis, sizes are rounded to a unit of it.

    Rounded up they give a layout, rounded down a bound; `exact`: neither is needed.
    """

    xs: Any
    ys: Any
    unit_x: int
    unit_y: int
    low_xs: Any
    low_ys: Any

    @property
    def exact(self) -> bool:
        """Whether no size is rounded."""
        return self.unit_x == self.unit_y == 1


def coverings(ground: Ground, oriented: Sequence[Oriented], work: int) -> Covering:
    """The sizes to reckon with on a clear ground, so that a table takes at most about `work` steps."""
    x0, y0, x1, y1 = ground.usable
    slack = 0 if ground.frame_deg == 0 else 2 * TURNED_SLACK
    width, height = x1 - x0 + slack, y1 - y0 + slack
    ws, hs = [o.width for o in oriented], [o.height for o in oriented]
    for most in (MOST_SIZES, 2_000, 1_000, 500, 250):
        parts = []
        for sizes, extent in ((ws, width), (hs, height)):
            exact = reachable(sizes, [0], extent, most)
            if exact is not None:
                parts.append((exact, 1, exact))
                continue
            unit = -(-extent // most)
            up = reachable([-(-s // unit) for s in sizes], [0], extent // unit, most + 2)
            down = reachable([s // unit for s in sizes], [0], extent // unit, most + 2)
            parts.append((up, unit, down))
        (xs, unit_x, low_xs), (ys, unit_y, low_ys) = parts
        if len(xs) * len(ys) * (len(xs) + len(ys)) <= work:
            break
    return Covering(xs, ys, unit_x, unit_y, low_xs, low_ys)


def clear_best(ground: Ground, oriented: Sequence[Oriented], values: Sequence[int], sizes: Covering) -> tuple[int, int, Node]:
    """The best worth found on a clear ground, a bound, and the tree."""
    x0, y0, x1, y1 = ground.usable
    width, height = x1 - x0, y1 - y0
    slack = 0 if ground.frame_deg == 0 else 2 * TURNED_SLACK
    if sizes.exact:
        table = ClearTable(oriented, values, sizes.xs, sizes.ys)
        return table.worth(width, height), table.worth(width + slack, height + slack), table.tree(ground.usable)
    up = [replace(o, width=-(-o.width // sizes.unit_x), height=-(-o.height // sizes.unit_y)) for o in oriented]
    down = [replace(o, width=o.width // sizes.unit_x, height=o.height // sizes.unit_y) for o in oriented]
    coarse = ClearTable(up, values, sizes.xs, sizes.ys)
    bound = NO_BOUND  # a size rounded down to nothing could be had without end
    if all(o.width > 0 and o.height > 0 for o in down):
        low = ClearTable(down, values, sizes.low_xs, sizes.low_ys)
        bound = low.worth((width + slack) // sizes.unit_x, (height + slack) // sizes.unit_y)
    best = coarse.worth(width // sizes.unit_x, height // sizes.unit_y)
    tree: Node | None = None
    for alone in range(len(oriented)):  # one blank, one way: a plain grid is exact
        o = oriented[alone]
        worth = values[alone] * (width // o.width) * (height // o.height)
        if worth > best:
            lines = [np.arange(0, extent + 1, size) for extent, size in ((width, o.width), (height, o.height))]
            best, tree = worth, ClearTable([o], [values[alone]], *lines).tree(ground.usable)
    if tree is None:
        tree = _enlarged(coarse.tree((0, 0, width // sizes.unit_x, height // sizes.unit_y)), ground.usable, oriented, sizes)
    return best, max(best, bound), tree


def _enlarged(tree: Node, box: Box, oriented: Sequence[Oriented], sizes: Covering) -> Node:
    """A tree in units as one in ticks over the whole box: cuts at whole units, pieces at the low corners of theirs."""
    by_turn = {(o.name, o.turn): o for o in oriented}
    x0, y0 = box[0], box[1]

    def step(state: tuple[Node, Box]) -> Node | tuple[Box, Axis, int, tuple[Node, Box], tuple[Node, Box]]:
        node, here = state
        if isinstance(node, Cut):
            at = x0 + node.at * sizes.unit_x if node.axis == "x" else y0 + node.at * sizes.unit_y
            low, high = halves(here, node.axis, at)
            return here, node.axis, at, (node.low, low), (node.high, high)
        if isinstance(node, Piece):
            return trimmed(here, by_turn[node.blank, node.turn], here[0], here[1])
        return Shavings(here)

    return grown((tree, box), step)


def trimmed(box: Box, o: Oriented, at_x: int, at_y: int) -> Node:
    """One piece in a box, freed of what is around it by up to four cuts."""
    x0, y0, x1, y1 = box
    end_x, end_y = at_x + o.width, at_y + o.height
    node: Node = Piece((at_x, at_y, end_x, end_y), o.name, o.turn)
    if end_y < y1:
        node = Cut((at_x, at_y, end_x, y1), "y", end_y, node, Shavings((at_x, end_y, end_x, y1)))
    if at_y > y0:
        node = Cut((at_x, y0, end_x, y1), "y", at_y, Shavings((at_x, y0, end_x, at_y)), node)
    if end_x < x1:
        node = Cut((at_x, y0, x1, y1), "x", end_x, node, Shavings((end_x, y0, x1, y1)))
    if at_x > x0:
        node = Cut(box, "x", at_x, Shavings((x0, y0, at_x, y1)), node)
    return node
