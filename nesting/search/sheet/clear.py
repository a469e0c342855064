"""One clear rectangle, any number of copies: exact dynamic programming over the sizes that matter.

Gilmore & Gomory, Operations Research 14(6), 1966; Beasley, J. Oper. Res. Soc. 36(4), 1985; sizes as in `sizes`. Where the
table is large it is filled for layouts of little waste first (a part of the gap, then more, at last just enough to beat
the best met): a box that wastes more than a better layout of the whole may waste is in none.
That is a bound by area inside the recursion (the idea of Viswanathan & Bagchi, Operations Research 41, 1993, from
memory). Memory: one table of at most 512 MB for each worker.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import partial
from typing import Any

import numpy as np

from ...geometry import Box
from ...layouts import Axis, Cut, Node, Piece, Shavings, leaves
from ..budget import Budget
from ..trees import grown, halves
from .ground import Ground
from .size_table import BLOCK, size_rows
from .sizes import Covering, Coverings, covering, slack_of

CHUNK = 10_000_000  # steps between two looks at the clock
FIRST_WASTE, MORE_WASTE = 32, 6  # one part in of the gap; times as much
MANY_CELLS, EXACT_SHARE = 16_000_000, 0.6  # a table that may take all the time gets a share of it
FINER_UNITS = (1_000, 2_000, 4_000)
MOST_BYTES = 512_000_000  # of one table of exact sizes
MARGIN = 1e-12  # more than floating point loses


@dataclass(frozen=True)
class Oriented:
    """A blank as it lies: its index in the job, its turn, width and height in ticks, rules broken (grain, print).

    `place`: the low-left corner of a piece chosen beforehand, which lies there and nowhere else.
    """

    blank: int
    name: str
    turn: int
    width: int
    height: int
    place: tuple[int, int] | None = None
    broken: tuple[bool, bool] = (False, False)


class ClearTable:
    """The best worth of every box of clear paper, for one set of worths; to be filled by `run`.

    `goal`: boxes that no layout of the largest one worth so much can have are left out: the table is exact for boxes
    of such layouts, and below the truth for others. `old`: a table of the same sizes and worths that is no longer
    needed, whose memory may be had (new pages can cost more time than the numbers in them).
    """

    def __init__(self, oriented: Sequence[Oriented], values: Sequence[int], xs: Any, ys: Any, goal: int = 1,
                 old: ClearTable | None = None) -> None:  # fmt: skip
        self._oriented = [(o, v) for o, v in zip(oriented, values, strict=True) if v > 0]
        self._xs, self._ys = xs, ys
        self._row, self._parts, self.steps = 0, 0, 0
        widths, heights, worths = (
            np.array([f(o, v) for o, v in self._oriented], np.int64)
            for f in (lambda o, _: o.width, lambda o, _: o.height, lambda _, v: v))  # fmt: skip
        rate = max((v / (o.width * o.height) for o, v in self._oriented), default=0.0)
        total = rate * float(xs[-1]) * float(ys[-1])
        kind = np.int32 if 2 * total * (1 + MARGIN) < 2**31 - 2 else np.int64  # no box, and no sum of two, is worth more
        # every box is written anew
        self._table: Any = np.zeros((xs.size, ys.size), kind) if old is None else old._table
        keep = np.zeros((xs.size, -(-ys.size // BLOCK)), np.uint8)
        at_x, at_y = np.searchsorted(xs, widths), np.searchsorted(ys, heights)
        self._arguments = (self._table, xs, ys, at_x, at_y, worths.astype(kind), rate * (1 - MARGIN),
                           max(0.0, total * (1 + MARGIN) - goal), keep, np.zeros(xs.size, np.int64))  # fmt: skip

    def run(self, work: int, budget: Budget | None) -> bool:
        """Fill the table within a number of steps and a budget (None: in any case); whether it is whole."""
        while self._row < self._xs.size:
            if budget is not None and (self.steps >= work or (self.steps > 0 and budget.over())):
                return False
            self._row, self._parts, steps = size_rows(*self._arguments, self._row, self._parts, CHUNK)
            self.steps += int(steps)
        return True

    def bytes(self) -> int:
        """The memory that the table takes once it is run."""
        return int(self._table.nbytes)

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
        ways: tuple[tuple[Axis, Any, int, int, int, Any], ...] = (
            ("x", self._xs, i, x0, x1, self._table[:, j]), ("y", self._ys, j, y0, y1, self._table[i]))  # fmt: skip
        for axis, sizes, index, start, end, line in ways:
            lows = sizes[1 : index + 1]
            lows = lows[lows < end - start]
            rests = np.searchsorted(sizes, end - start - lows, side="right") - 1
            # where boxes were left out, two of them may be worth more than was seen
            enough = np.flatnonzero(line[1 : lows.size + 1] + line[rests] >= worth)
            if enough.size:
                at = start + int(lows[enough[0]])
                return box, axis, at, *halves(box, axis, at)
        raise AssertionError("the table has no way to its own worth")


class Stopped(KeyboardInterrupt):
    """Ctrl-C within a search that has met a layout: its worth, the bound and the tree."""

    def __init__(self, value: int, bound: int, tree: Node) -> None:
        super().__init__()
        self.value, self.bound, self.tree = value, bound, tree


class _Search:
    """The best layout met on one clear ground for one set of worths, and the least bound."""

    def __init__(self, ground: Ground, oriented: Sequence[Oriented], values: Sequence[int], budget: Budget, work: int) -> None:
        self._ground, self._oriented, self._values = ground, oriented, values
        self._budget, self._work = budget, work
        x0, y0, x1, y1 = ground.usable
        self._width, self._height, self._slack = x1 - x0, y1 - y0, slack_of(ground)
        self.value = 0
        self.tree: Node = Shavings(ground.usable)
        self.bound = self._by_area(self._width + self._slack, self._height + self._slack)

    def _by_area(self, width: int, height: int) -> int:
        pairs = zip(self._oriented, self._values, strict=True)
        return max(v * width * height // (o.width * o.height) for o, v in pairs)

    def open(self) -> bool:
        """Whether there is a gap, and work left."""
        return self.value < self.bound and self._work > 0 and not self._budget.over()

    def _take(self, tree: Node) -> None:
        index = {(o.name, o.turn): v for o, v in zip(self._oriented, self._values, strict=True)}
        value = sum(index[leaf.blank, leaf.turn] for leaf in leaves(tree) if isinstance(leaf, Piece))
        if value > self.value:
            self.value, self.tree = value, tree

    def exact(self, sizes: Covering, few: bool, share: float = 1.0) -> None:
        """Tables of exact sizes, for layouts of ever more waste until the best one is known, in a share of the time."""
        budget = None if few else self._budget if share == 1 else self._budget.part(share)
        most = int(self._work * share)
        total = self._by_area(int(sizes.xs[-1]), int(sizes.ys[-1]))
        self.bound = min(self.bound, total)
        waste = total if few else (total - self.value) // FIRST_WASTE
        table: ClearTable | None = None
        while self.value < self.bound:
            least = self.value + 1
            goal = max(least, total - waste)
            table = ClearTable(self._oriented, self._values, sizes.xs, sizes.ys, goal, table)
            whole = table.bytes() <= MOST_BYTES and table.run(most, budget)
            self._work -= table.steps
            most -= table.steps
            if not whole:
                return
            if table.worth(self._width, self._height) > self.value:
                self._take(table.tree(self._ground.usable))
            high = table.worth(self._width + self._slack, self._height + self._slack)
            self.bound = max(self.value, min(self.bound, max(high, goal - 1)))
            if self.value >= goal or goal == least:
                return
            waste = MORE_WASTE * max(1, waste)

    def rounded(self, sizes: Covering, always: bool) -> None:
        """Two tables of rounded sizes: up for a layout, down for a bound."""
        budget = None if always else self._budget
        unit_x, unit_y = sizes.unit_x, sizes.unit_y
        width, height = self._width // unit_x, self._height // unit_y
        up = [replace(o, width=-(-o.width // unit_x), height=-(-o.height // unit_y)) for o in self._oriented]
        table = ClearTable(up, self._values, sizes.xs, sizes.ys, self.value + 1)
        whole = table.run(self._work // 2, budget)
        self._work -= table.steps
        if whole and table.worth(width, height) > self.value:
            self._take(_enlarged(table.tree((0, 0, width, height)), self._ground.usable, self._oriented, sizes))
        down = [replace(o, width=o.width // unit_x, height=o.height // unit_y) for o in self._oriented]
        if any(o.width == 0 or o.height == 0 for o in down) or self.value >= self.bound:
            return  # a size rounded down to nothing could be had without end
        table = ClearTable(down, self._values, sizes.low_xs, sizes.low_ys, self.value + 1)
        whole = table.run(self._work, budget)
        self._work -= table.steps
        if whole:
            high = table.worth((self._width + self._slack) // unit_x, (self._height + self._slack) // unit_y)
            self.bound = max(self.value, min(self.bound, high))

    def grids(self) -> None:
        """One blank, one way, in plain rows and columns."""
        for o, value in zip(self._oriented, self._values, strict=True):
            if value * (self._width // o.width) * (self._height // o.height) > self.value:
                self._take(grown(self._ground.usable, partial(_grid_step, o)))

    def finer(self, steps: Sequence[int]) -> None:
        """Rounded sizes again, ever more of them, as long as there is work and time."""
        shapes = [(o.width, o.height) for o in self._oriented]
        for units in steps:
            if self.open():
                sizes = covering(self._ground, shapes, units)
                assert sizes is not None
                self.rounded(sizes, False)


def clear_best(ground: Ground, oriented: Sequence[Oriented], values: Sequence[int], sizes: Coverings, budget: Budget,
               work: int) -> tuple[int, int, Node]:  # fmt: skip
    """The best worth found on a clear ground, a bound on any, and the tree, in about `work` steps or the budget's time.

    Where the sizes are few the answer is exact whatever the budget. Some value must be above 0. Ctrl-C raises `Stopped`.
    """
    search = _Search(ground, oriented, values, budget, work)
    try:
        _searched(search, sizes)
    except KeyboardInterrupt:
        raise Stopped(search.value, search.bound, search.tree) from None
    return search.value, search.bound, search.tree


def _searched(search: _Search, sizes: Coverings) -> None:
    """Exact where sizes are few; else a rounded layout first, then exact tables as far as work and time go."""
    if sizes.coarse is None:
        assert sizes.exact is not None
        search.exact(sizes.exact, True)
        return
    search.grids()
    search.rounded(sizes.coarse, True)
    many = sizes.exact is None or sizes.exact.cells() > MANY_CELLS
    if many:
        search.finer(FINER_UNITS[:1])
    if sizes.exact is not None and search.open():
        search.exact(sizes.exact, False, EXACT_SHARE if many else 1.0)
    search.finer(FINER_UNITS[many:])


def _grid_step(o: Oriented, box: Box) -> Node | tuple[Box, Axis, int, Box, Box]:
    """One column after the other, then one row after the other."""
    x0, y0, x1, y1 = box
    if x1 - x0 >= 2 * o.width:
        return box, "x", x0 + o.width, *halves(box, "x", x0 + o.width)
    if y1 - y0 >= 2 * o.height:
        return box, "y", y0 + o.height, *halves(box, "y", y0 + o.height)
    return trimmed(box, o, x0, y0)


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
