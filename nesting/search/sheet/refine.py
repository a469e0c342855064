"""Closing the gap between the inner and the outer table: may a box hold this worth, decided to the tick?

Top-down and memoised (design.md section 5): for every partial worth the smallest cut that gives it, found by
bisection between what the outer table rules out and what the inner table has. Two passes: `sure=False` takes the
grown regions and can only rule out; `sure=True` tests every position exactly and gives a layout.
"""

from __future__ import annotations

import bisect
import math
from collections.abc import Sequence
from typing import Any

from ...geometry import Box
from ...layouts import Cut, Node, Shavings
from ..trees import halves
from .clear import Oriented, trimmed
from .paper_kernels import lowest_x
from .placed import PlacedTables


class OutOfSteps(Exception):
    """The refinement's steps or time are used up."""


class Refiner:
    """Decides boxes of one frame for one set of worths; `steps` counts decisions still allowed."""

    def __init__(self, tables: PlacedTables, sums: Sequence[int], steps: int, over: Any) -> None:
        self._t = tables
        g = tables.grid
        self._g = g
        self._xs, self._ys = [int(v) for v in g.xs], [int(v) for v in g.ys]
        self._outer_xs, self._outer_ys = [int(v) for v in g.outer_xs], [int(v) for v in g.outer_ys]
        self._kept = [(o, v, g.regions[k]) for k, (o, v) in enumerate(zip(g.oriented, tables.values, strict=True)) if v > 0]
        self._sums = list(sums)
        self._over = over
        self.steps = steps
        self._memo: dict[tuple[bool, int, int, int, int, int], bool] = {}
        self._cuts: dict[tuple[bool, str, int, int, int, int, int], int | None] = {}

    def decide(self, box: Box, worth: int, sure: bool) -> bool:
        """Whether a layout of this worth is possible in the box (sure: there is one; else: not ruled out)."""
        if worth <= 0:
            return True
        worth = self._next(worth)
        x0, y0, x1, y1 = box
        if x0 >= x1 or y0 >= y1 or not self._outer_allows(box, worth):
            return False
        if self._inner_has(box, worth):
            return True
        key = (sure, *box, worth)
        self.steps -= 1
        if self.steps < 0 or (self.steps % 256 == 0 and self._over()):
            raise OutOfSteps
        known = self._memo.get(key)
        if known is None:
            known = self._single(box, worth, sure) is not None or self._split(box, worth, sure) is not None
            self._memo[key] = known
        return known

    def tree(self, box: Box, worth: int) -> Node:
        """A layout of a box for which `decide(..., sure=True)` holds."""
        if worth <= 0:
            return Shavings(box)
        worth = self._next(worth)
        if self._inner_has(box, worth):
            return self._inner_tree(box)
        single = self._single(box, worth, True)
        if single is not None:
            o, x, y = single
            return trimmed(box, o, x, y)
        split = self._split(box, worth, True)
        if split is not None:
            axis, at, low_worth = split
            low, high = halves(box, axis, at)
            return Cut(box, "x" if axis == "x" else "y", at, self.tree(low, low_worth), self.tree(high, worth - low_worth))
        raise AssertionError("decided, but not to be built")

    def _next(self, worth: int) -> int:
        """The smallest sum of worths that reaches it: nothing between the sums can be had."""
        at = bisect.bisect_left(self._sums, worth)
        return self._sums[at] if at < len(self._sums) else worth

    def _inner_tree(self, box: Box) -> Node:
        """The inner table's layout, freed of the strips between the box and the grid lines in it."""
        i1, i2, j1, j2 = self._inside(box)
        a, c, b, d = (int(v) for v in (self._g.xs[i1], self._g.ys[j1], self._g.xs[i2], self._g.ys[j2]))
        o = Oriented(0, "", 0, b - a, d - c)
        return _graft(trimmed(box, o, a, c), (a, c, b, d), self._t.tree(i1, i2, j1, j2))

    def _inside(self, box: Box) -> tuple[int, int, int, int]:
        """Lines just within the box: what the inner table has there is surely had."""
        return (bisect.bisect_left(self._xs, box[0]), bisect.bisect_right(self._xs, box[2]) - 1,
                bisect.bisect_left(self._ys, box[1]), bisect.bisect_right(self._ys, box[3]) - 1)  # fmt: skip

    def _inner_has(self, box: Box, worth: int) -> bool:
        return self._t.inner_worth(*self._inside(box)) >= worth

    def _outer_allows(self, box: Box, worth: int) -> bool:
        xs, ys = self._outer_xs, self._outer_ys
        i1, i2 = bisect.bisect_right(xs, box[0]) - 1, bisect.bisect_right(xs, box[2]) - 1
        j1, j2 = bisect.bisect_right(ys, box[1]) - 1, bisect.bisect_right(ys, box[3]) - 1
        allowed = self._t.outer_worth(i1, i2, j1, j2)
        return allowed is None or allowed >= worth

    def _single(self, box: Box, worth: int, sure: bool) -> tuple[Oriented, int, int] | None:
        """A blank worth it alone, and its low-left corner."""
        x0, y0, x1, y1 = box
        for o, value, traps in self._kept:
            if value < worth or o.width > x1 - x0 or o.height > y1 - y0:
                continue
            found = self._lowest(o, traps, box, sure)
            if found is not None:
                return o, *found
        return None

    def _lowest(self, o: Oriented, traps: Any, box: Box, sure: bool) -> tuple[int, int] | None:
        """The lowest x (and a y) where the blank lies in the box: tested exactly where `sure`."""
        x0, y0, x1, y1 = box
        last_x, last_y = x1 - o.width, y1 - o.height
        x, low, high = lowest_x(traps, float(x0), float(last_x), float(y0), float(last_y))
        if math.isinf(x):
            return None
        if not sure:
            return max(x0, math.ceil(x - 1e-3)), max(y0, math.ceil(low - 1e-3))
        for step in (0, 1, 2, 4, 8, 32):  # the grown region may begin a fraction of a tick early
            at = max(x0, math.ceil(x - 1e-3)) + step
            if at > last_x:
                break
            if step:
                near, low, high = lowest_x(traps, float(at), float(last_x), float(y0), float(last_y))
                if math.isinf(near) or math.ceil(near - 1e-3) > at:
                    continue
            bottom, top = max(y0, math.ceil(low - 1e-3)), min(last_y, math.floor(high + 1e-3))
            for y in dict.fromkeys((bottom, bottom + 1, bottom + 2, bottom + 8, (bottom + top) // 2, top)):
                if bottom <= y <= top and self._g.ground.fits((at, y, at + o.width, y + o.height)):
                    return at, y
        for at, y in ((x0, y0), (x0, last_y), (last_x, y0), (last_x, last_y)):  # a slanted edge may touch a corner
            if self._g.ground.fits((at, y, at + o.width, y + o.height)):
                return at, y
        return None

    def _split(self, box: Box, worth: int, sure: bool) -> tuple[str, int, int] | None:
        """A cut, and the worth at its low side, that together reach the worth."""
        for axis in ("x", "y"):
            for low_worth in self._sums:
                if low_worth >= worth:
                    break
                at = self._least_cut(axis, box, low_worth, sure)
                if at is None:
                    break  # a higher worth needs no less room
                if self.decide(halves(box, axis, at)[1], worth - low_worth, sure):
                    return axis, at, low_worth
        return None

    def _least_cut(self, axis: str, box: Box, worth: int, sure: bool) -> int | None:
        """The smallest coordinate of a cut whose low side holds the worth; None where the whole box does not."""
        x0, y0, x1, y1 = box
        key = (sure, axis, x0, y0, (y1 if axis == "x" else x1), worth, (x1 if axis == "x" else y1))
        if key in self._cuts:
            return self._cuts[key]
        start, end = (x0, x1) if axis == "x" else (y0, y1)
        lines = self._xs if axis == "x" else self._ys
        low, high = start + 1, end
        found: int | None = None
        # whole lines first: the tables answer most of them at once
        between = [*lines[bisect.bisect_right(lines, start) : bisect.bisect_left(lines, end)], end]
        a, b = 0, len(between) - 1
        if self.decide(halves(box, axis, end)[0], worth, sure):
            while a < b:
                middle = (a + b) // 2
                if self.decide(halves(box, axis, between[middle])[0], worth, sure):
                    b = middle
                else:
                    a = middle + 1
            high = between[a]
            low = between[a - 1] + 1 if a > 0 else start + 1
            while low < high:
                middle = (low + high) // 2
                if self.decide(halves(box, axis, middle)[0], worth, sure):
                    high = middle
                else:
                    low = middle + 1
            found = high
        self._cuts[key] = found
        return found


def _graft(node: Node, box: Box, tree: Node) -> Node:
    """The node with its leaf at `box` replaced by a tree."""
    if node.box == box and not isinstance(node, Cut):
        return tree
    if isinstance(node, Cut):
        return Cut(node.box, node.axis, node.at, _graft(node.low, box, tree), _graft(node.high, box, tree))
    return node
