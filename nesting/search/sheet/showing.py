"""The layout of a sheet that shows most of its best areas: a second dynamic program, after the worth is known.

Between grid lines as `placed`, but what a blank gives depends on where it lies: so much for its worth that no best area
makes up for it, and what its front panel shows there. The lines hold those of the layout that is known, so none of its
worth is lost; those where a panel's edges meet a best area's; and what follows from these for pieces side by side.
What lies between the lines is closed by `sliding`; `showing_lines` says where they lie.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from typing import Any

import numpy as np

from ...geometry import Box
from ...layouts import Axis, Node, Shavings
from ..trees import grown
from .clear import Oriented, trimmed
from .paper_kernels import allowed_points
from .place_table import placed_table
from .placed import SLACK, pair_of
from .showing_lines import MOST_LINES, filled, lines_of, ways_of, wished
from .shown import PER_MM2, Shown

MOST_WAYS = 40
FINE = 2**22  # parts of all best areas that are told apart
ROOM = 2.0**60


class Showing:
    """The lines, positions and scores for one layout's neighbourhood; worths come later, as in pricing."""

    def __init__(self, shown: Shown, names: Iterable[str], tree: Node | None) -> None:
        """`names`: the blanks that may be used; `tree`: the layout known, None for none. One of very many lines is left out."""
        self._shown = shown
        self.ways = ways_of(shown, names)
        if len(self.ways) > MOST_WAYS or shown.fixed:  # so many would take too long; nor does the table know what is fixed
            self.ways = []
        lines = []
        for side in (0, 1):
            needed = lines_of(tree, side, shown.ground.usable)
            if len(needed) > MOST_LINES:
                needed = lines_of(None, side, shown.ground.usable)
            lines.append(filled(needed, wished(shown, self.ways, side)))
        self.xs, self.ys = lines
        ground = shown.ground
        kept, allowed, scores, turns = [], [], [], []
        for way in self.ways:
            traps = shown.region(way.width, way.height)
            if not len(traps):
                continue
            free = allowed_points(traps, self.xs, self.ys, way.width, way.height, ground.segments, ground.rings,
                                  float(ground.sheet.inset), SLACK)  # fmt: skip
            each = np.array([shown.at(way.name, turn, self.xs, self.ys, free) for turn in way.turns])
            kept.append(way)
            allowed.append(free)
            scores.append(each.max(axis=0))
            turns.append(each.argmax(axis=0))
        self.ways = kept
        self._allowed, self._scores, self._turns = np.array(allowed), np.array(scores), turns
        self._ends_x = np.array([np.searchsorted(self.xs, self.xs + way.width) for way in kept])
        self._ends_y = np.array([np.searchsorted(self.ys, self.ys + way.height) for way in kept])

    def most_of_one(self) -> int:
        """What one piece can show at most here."""
        return int(self._scores.max()) if self.ways else 0

    def best(self, worths: Mapping[str, float], rate: float | None = None) -> Node | None:
        """The layout of most worth + rate x shown; without a rate of most worth, and among these the one that shows most.

        `rate`: the worth of what is counted as 1 by `Shown`. None where no blank of some worth has a place.
        """
        wanted = [k for k, way in enumerate(self.ways) if worths.get(way.name, 0) != 0 or rate is not None]
        if not wanted:
            return None
        x0, y0, x1, y1 = self._shown.ground.usable
        area = (x1 - x0) * (y1 - y0)
        most_shown = self._shown.most()
        most_worth = max(abs(worths.get(w.name, 0)) * area / (w.width * w.height) for w in self.ways) or 1.0
        if rate is None:
            unit = min(1.0, FINE / most_shown)
            # where it is held to ROOM, worths are not told apart to the last: callers look at the tree
            factor = min(most_shown * unit + 1, ROOM / most_worth)
        else:
            factor = ROOM / (most_worth + rate * most_shown)
            unit = factor * rate
        base = np.array([round(worths.get(self.ways[k].name, 0) * factor) for k in wanted], np.int64)
        values = base[:, None, None] + np.floor(self._scores[wanted] * unit).astype(np.int64)
        allowed = self._allowed[wanted] & (values > 0)
        table = placed_table(len(self.xs), len(self.ys), allowed, self._ends_x[wanted], self._ends_y[wanted], values)
        return _Traced(self, wanted, allowed, values, table).tree()


class _Traced:
    """From a table back to the layout it was made of."""

    def __init__(self, showing: Showing, wanted: Sequence[int], allowed: Any, values: Any, table: Any) -> None:
        self._s, self._wanted, self._allowed, self._values, self._table = showing, wanted, allowed, values, table

    def tree(self) -> Node:
        """The layout of the whole."""
        return grown((0, len(self._s.xs) - 1, 0, len(self._s.ys) - 1), self._step)

    def _worth(self, i1: int, i2: int, j1: int, j2: int) -> int:
        return int(self._table[pair_of(len(self._s.xs), i1, i2), j1, j2])

    def _step(self, lines: tuple[int, int, int, int]) -> Node | tuple[Box, Axis, int, Any, Any]:
        i1, i2, j1, j2 = lines
        s, worth = self._s, self._worth(*lines)
        box = int(s.xs[i1]), int(s.ys[j1]), int(s.xs[i2]), int(s.ys[j2])
        if worth == 0:
            return Shavings(box)
        for row, k in enumerate(self._wanted):
            here = self._allowed[row, i1, j1] and self._values[row, i1, j1] == worth
            if here and s._ends_x[k][i1] <= i2 and s._ends_y[k][j1] <= j2:
                way = s.ways[k]
                turn = way.turns[int(s._turns[k][i1, j1])]
                return trimmed(box, Oriented(k, way.name, turn, way.width, way.height), box[0], box[1])
        for k in range(i1 + 1, i2):
            if self._worth(i1, k, j1, j2) + self._worth(k, i2, j1, j2) == worth:
                return box, "x", int(s.xs[k]), (i1, k, j1, j2), (k, i2, j1, j2)
        for k in range(j1 + 1, j2):
            if self._worth(i1, i2, j1, k) + self._worth(i1, i2, k, j2) == worth:
                return box, "y", int(s.ys[k]), (i1, i2, j1, k), (i1, i2, k, j2)
        raise AssertionError("the table has no way to its own worth")


def rate_of(best_rate: float) -> float:
    """The worth of what `Shown` counts as 1, from the worth of a mm2."""
    return best_rate / PER_MM2
