"""Closing the gap between the inner and the outer table: may a box hold this worth, decided to the tick?

Top-down and memoised (design.md section 5), between what the outer table rules out and what the inner table has; coarse
first: with cuts millimetres apart most questions are answered, the rest down to the tick. For each such
grain two passes: one can only rule out, the other only find.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence

import numpy as np

from ...geometry import Box
from ...layouts import Cut, Node, Shavings
from ...lengths import TICKS_PER_MM
from ..trees import halves
from .clear import Oriented, trimmed
from .placed import PlacedTables
from .refine_kernels import (
    ALONE,
    CUT_X,
    GRAIN,
    HIGH,
    HOW,
    KINDS,
    OUT,
    ROUND,
    STEPS,
    SURE,
    WIDTH,
    decide,
    inner_worth,
    place_of,
)

GRAINS = (4 * TICKS_PER_MM, TICKS_PER_MM, TICKS_PER_MM // 4, TICKS_PER_MM // 16, TICKS_PER_MM // 64, 1)
SPELL = 10_000  # decisions between two looks at the clock
ROWS = 2**17  # of the memory
RETRIES = 64  # decisions made again for a layout, where the memory has lost them


class OutOfSteps(Exception):
    """The refinement's steps or time are used up."""


class Memory:
    """What was decided, for one `Refiner` after the other: clearing it would take longer than a short search."""

    def __init__(self) -> None:
        self.rows = np.zeros((ROWS, WIDTH), np.int64)
        self.round = 0


class Refiner:
    """Decides boxes of one frame for one set of worths; `steps` counts decisions still allowed."""

    def __init__(self, tables: PlacedTables, sums: Sequence[int], steps: int, over: Callable[[], bool],
                 memory: Memory | None = None) -> None:  # fmt: skip
        """`sums`: every worth that a layout can have up to the bound, rising."""
        g = tables.grid
        self._tables, self._grid, self.steps = tables, g, steps
        self._over = over
        self._kept = [(o, v, g.regions[k]) for k, (o, v) in enumerate(zip(g.oriented, tables.values, strict=True)) if v > 0]
        assert len(self._kept) < KINDS
        sizes = np.array([(o.width, o.height, v) for o, v, _ in self._kept], np.int64)
        starts = np.cumsum([0, *(len(traps) for _, _, traps in self._kept)]).astype(np.int64)
        traps = np.concatenate([traps for _, _, traps in self._kept])
        dense = max((v / (o.width * o.height) for o, v, _ in self._kept if o.place is None), default=0.0)
        own = sum(v for o, v, _ in self._kept if o.place is not None)
        # one type of table: a second one would take as long again to compile
        inner = self._inner = tables.inner.astype(np.int64, copy=False)
        outer = inner if tables.outer is None else tables.outer.astype(np.int64, copy=False)
        self._state = np.array([0, 0, 0, 1, 0, tables.outer is not None, own], np.int64)
        self._passes = Memory() if memory is None else memory
        self._memory = self._passes.rows
        self._all = (g.xs, g.ys, inner, g.outer_xs, g.outer_ys, outer, sizes, starts, traps, g.ground.segments,
                     g.ground.rings, np.array(sums, np.int64), self._memory, self._state,
                     np.array([float(g.ground.sheet.inset), dense]))  # fmt: skip

    def begin(self, sure: bool, grain: int) -> None:
        """A new pass: what is asked from here on is ruled out (`sure` False) or found, with cuts this many ticks apart."""
        self._passes.round += 1
        self._state[ROUND] = self._passes.round
        self._state[SURE], self._state[GRAIN] = sure, grain

    def over(self) -> bool:
        """Whether the steps or the time are used up."""
        return self.steps <= 0 or self._over()

    def decide(self, box: Box, worth: int, patience: int | None = None) -> bool:
        """Whether a layout of this worth is possible in the box (sure: there is one; else: not ruled out).

        Raises OutOfSteps where the steps, the time or the `patience` (decisions for this answer) are used up.
        """
        left = self.steps if patience is None else patience
        while True:
            if left <= 0 or self.over():
                raise OutOfSteps
            spell = min(SPELL, left, self.steps)
            self._state[STEPS], self._state[OUT] = spell, 0
            found = bool(decide(self._all, *box, worth))
            used = spell - max(0, int(self._state[STEPS]))
            self.steps -= used
            left -= used
            if not self._state[OUT]:
                return found

    def tree(self, box: Box, worth: int) -> Node | None:
        """A layout of a box for which `decide` has found one in this pass; None where the memory has lost how."""
        self._retries = RETRIES
        try:
            return self._built(box, worth)
        except OutOfSteps:
            return None

    def _built(self, box: Box, worth: int) -> Node | None:
        if worth <= 0:
            return Shavings(box)
        sums = self._all[11]
        worth = int(sums[np.searchsorted(sums, worth)])
        if inner_worth(self._grid.xs, self._grid.ys, self._inner, *box) >= worth:
            return self._inner_tree(box)
        known = self._recalled(box, worth)
        while known is None:
            self._retries -= 1
            if self._retries < 0 or not self.decide(box, worth, SPELL):
                return None
            known = self._recalled(box, worth)
        small, how, first, second = known
        if how == ALONE:
            o = self._kept[second % KINDS][0]
            return trimmed(box, o, first, second // KINDS)
        axis = "x" if how == CUT_X else "y"
        low_box, high_box = halves(small, axis, first)
        low, high = self._built(low_box, second), self._built(high_box, worth - second)
        if low is None or high is None:
            return None
        cut = Cut(small, "x" if axis == "x" else "y", first, low, high)
        return _graft(trimmed(box, _as_piece(small), small[0], small[1]), small, cut)

    def _recalled(self, box: Box, worth: int) -> tuple[Box, int, int, int] | None:
        """The box itself or a smaller one that is known to hold the worth, and how."""
        x0, y0, x1, y1 = box
        tag = 4 * int(self._state[ROUND])
        for a, b, c, end, more in ((x0, y0, y1, x1, 0), (y0, x0, x1, y1, 1)):
            row = self._memory[place_of(self._memory, a, b, c, worth, tag + more)]
            if tuple(int(v) for v in row[:5]) == (a, b, c, worth, tag + more) and row[HOW] and row[HIGH] <= end:
                small = (x0, y0, int(row[HIGH]), y1) if more == 0 else (x0, y0, x1, int(row[HIGH]))
                return small, int(row[HOW]), int(row[HOW + 1]), int(row[HOW + 2])
        return None

    def _inner_tree(self, box: Box) -> Node:
        """The inner table's layout, freed of the strips between the box and the grid lines in it."""
        xs, ys = self._grid.xs, self._grid.ys
        i1, i2 = int(np.searchsorted(xs, box[0])), int(np.searchsorted(xs, box[2], side="right")) - 1
        j1, j2 = int(np.searchsorted(ys, box[1])), int(np.searchsorted(ys, box[3], side="right")) - 1
        small = (int(xs[i1]), int(ys[j1]), int(xs[i2]), int(ys[j2]))
        return _graft(trimmed(box, _as_piece(small), small[0], small[1]), small, self._tables.tree(i1, i2, j1, j2))


def _as_piece(box: Box) -> Oriented:
    """A box as something to be cut free."""
    return Oriented(0, "", 0, box[2] - box[0], box[3] - box[1])


def _graft(node: Node, box: Box, tree: Node) -> Node:
    """The node with its leaf at `box` replaced by a tree."""
    if node.box == box and not isinstance(node, Cut):
        return tree
    if isinstance(node, Cut):
        return Cut(node.box, node.axis, node.at, _graft(node.low, box, tree), _graft(node.high, box, tree))
    return node
