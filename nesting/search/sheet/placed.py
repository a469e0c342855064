"""One sheet with damage or an odd outline, one frame: dynamic programming between grid lines, inside and outside.

Two tables by the same recursion (design.md section 5): the inner one takes only positions that are surely good and
gives a layout; the outer one takes every cell that a position may lie in, lets cuts lie anywhere in their cells, and
gives a bound. Where all boundaries run along the axes and the lines hold every reachable place, the inner table alone
is exact: pieces pushed left and down stop at a cut, a piece or an edge of damage.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from ...geometry import Box
from ...layouts import Axis, Node, Shavings
from ..trees import grown
from .clear import Oriented, trimmed
from .ground import Ground, region
from .in_place import edges_of, hold_in_place, region_of
from .paper_kernels import allowed_points, touched_cells
from .place_table import placed_table
from .sizes import reachable

# even lines: across the smallest side, along the sheet at most; where the first leave much open the next are taken
FINENESS = ((5, 40), (7, 60), (12, 110))
LEAST_EVEN = 10  # along the sheet
MOST_LINES = 110
MOST_SUMS = 12
MOST_STOPS = 4
MOST_ENTRIES = 30_000_000
SLACK = 1.0
Lines = tuple[int, int, int, int]  # of a box: left, right, bottom, top


@dataclass(frozen=True, eq=False)
class Grid:
    """Lines, regions and positions of one ground for one set of turned blanks; worths come later.

    The outer table has fewer lines than the inner one: what a layout needs (sums of sizes from each stop) does not
    help a bound. `exact`: the inner table is exact, there is no outer one.
    """

    ground: Ground
    oriented: tuple[Oriented, ...]
    regions: tuple[Any, ...]
    xs: Any
    ys: Any
    outer_xs: Any
    outer_ys: Any
    exact: bool
    inner: tuple[Any, Any, Any]
    outer: tuple[Any, Any, Any] | None


def grid(ground: Ground, oriented: Sequence[Oriented]) -> Grid | None:
    """The grid for these blanks; None where none of them has a position on the ground."""
    regions, kept = [], []
    for o in oriented:
        traps = region(ground, o.width, o.height) if o.place is None else region_of(o.place)
        if len(traps):
            kept.append(o)
            regions.append(traps)
    if not kept:
        return None
    return _lined(ground, tuple(kept), tuple(regions), 0)


def finer(coarse: Grid, level: int) -> Grid:
    """A grid of the same blanks with more lines."""
    return _lined(coarse.ground, coarse.oriented, coarse.regions, level)


def _lined(ground: Ground, kept: tuple[Oriented, ...], regions: tuple[Any, ...], level: int) -> Grid:
    x0, y0, x1, y1 = ground.usable
    widths, heights = sorted({o.width for o in kept}), sorted({o.height for o in kept})
    exact = False
    own_x, own_y = edges_of(kept)
    if ground.rectilinear():
        s = ground.segments
        xs = reachable(widths, [x0, *own_x, *(int(v) for v in np.unique(s[:, 0]) if x0 < v < x1)], x1, MOST_LINES)
        ys = reachable(heights, [y0, *own_y, *(int(v) for v in np.unique(s[:, 1]) if y0 < v < y1)], y1, MOST_LINES)
        exact = xs is not None and ys is not None and _entries(xs, ys) <= MOST_ENTRIES
    if exact:
        outer_xs, outer_ys = xs, ys = _with(xs, x1), _with(ys, y1)
    else:
        outer_xs, xs = _lines(x0, x1, widths, _stops(ground, 0), own_x, *FINENESS[level])
        outer_ys, ys = _lines(y0, y1, heights, _stops(ground, 1), own_y, *FINENESS[level])
    inner = _positions(ground, kept, regions, xs, ys)
    outer = None
    if not exact and np.diff(outer_xs).max() <= widths[0] and np.diff(outer_ys).max() <= heights[0]:
        outer = cells(kept, regions, outer_xs, outer_ys)
    return Grid(ground, kept, regions, xs, ys, outer_xs, outer_ys, exact, inner, outer)


def _entries(xs: Any, ys: Any) -> int:
    return len(xs) * (len(xs) - 1) // 2 * len(ys) * len(ys)


def _with(lines: Any, last: int) -> Any:
    return lines if lines[-1] == last else np.append(lines, last)


def _stops(ground: Ground, axis: int) -> list[int]:
    """Coordinates of boundaries that run across this axis: places where a push stops for good."""
    s = ground.segments
    low, high = ground.usable[axis], ground.usable[axis + 2]
    return sorted({int(v) for v in s[s[:, axis] == s[:, axis + 2], axis] if low < v < high})


def _lines(low: int, high: int, sizes: Sequence[int], stops: Sequence[int], own: Sequence[int], across: float,
           most_even: int) -> tuple[Any, Any]:  # fmt: skip
    """Even lines, some across the smallest size, with the first stops; and these with all stops and sums of sizes.

    `own`: lines that both must have. `across`, `most_even`: as FINENESS.
    """
    extent = high - low
    aim = min(max(min(sizes) / across, extent / most_even), extent / LEAST_EVEN)
    even = {*even_lines(low, high, sizes, aim), *own}
    sums = reachable(sizes, [low, *own, *stops], high, MOST_SUMS)
    more = stops[:MOST_SUMS] if sums is None else [int(v) for v in sums]
    return np.array(sorted(even | set(stops[:MOST_STOPS])), np.int64), np.array(sorted(even | set(more)), np.int64)


def even_lines(low: int, high: int, sizes: Sequence[int], aim: float) -> Any:
    """Even lines at the distance, near `aim`, that loses least of the sizes."""
    extent = high - low
    most = max(1, min(sizes))
    best: tuple[float, int] | None = None
    for size in sizes:
        for parts in range(max(1, int(size / (1.6 * aim))), max(2, int(size / (0.8 * aim)) + 2)):
            step = -(-size // parts)
            if step > most or extent / step > MOST_LINES:
                continue
            loss = sum((-(-s // step) * step - s) / s + (s - s // step * step) / s for s in sizes)
            score = loss + 0.02 * abs(step - aim) / aim
            if best is None or (score, step) < best:
                best = (score, step)
    step = best[1] if best else max(1, min(most, int(aim)), -(-extent // MOST_LINES))
    return np.array([*range(low, high, step), high], np.int64)


def _positions(ground: Ground, oriented: Sequence[Oriented], regions: Sequence[Any], xs: Any, ys: Any) -> tuple[Any, Any, Any]:
    inset = float(ground.sheet.inset)
    allowed = np.array([
        allowed_points(traps, xs, ys, o.width, o.height, ground.segments, ground.rings, inset, SLACK)
        for o, traps in zip(oriented, regions, strict=True)])  # fmt: skip
    ends_x = np.array([np.searchsorted(xs, xs + o.width) for o in oriented])
    ends_y = np.array([np.searchsorted(ys, ys + o.height) for o in oriented])
    hold_in_place(oriented, xs, ys, allowed, ends_x, ends_y)
    return allowed, ends_x, ends_y


def cells(oriented: Sequence[Oriented], regions: Sequence[Any], xs: Any, ys: Any) -> tuple[Any, Any, Any]:
    """For an outer table: the cells that a position may lie in, and the line that a blank surely reaches from each."""
    touched = np.array([touched_cells(traps, xs, ys, SLACK) for traps in regions])

    def ends(lines: Any, size: int) -> Any:
        reached = np.searchsorted(lines, lines + size, side="right") - 1
        return np.where(lines + size > lines[-1], len(lines), reached)

    ends_x, ends_y = np.array([ends(xs, o.width) for o in oriented]), np.array([ends(ys, o.height) for o in oriented])
    hold_in_place(oriented, xs, ys, touched, ends_x, ends_y)
    return touched, ends_x, ends_y


class PlacedTables:
    """Inner and outer table of a grid for one set of worths (one value an oriented blank, 0: not wanted)."""

    def __init__(self, grid: Grid, values: Sequence[int], most: int) -> None:
        """`most`: no layout is worth more (the area bound); it decides how wide the numbers must be."""
        self.grid = grid
        self.values = list(values)
        wanted = [k for k, v in enumerate(values) if v > 0]
        worths = np.array([values[k] for k in wanted], np.int64)
        if 16 * most < 2**31:  # sizes rounded down to lines may hold a few times the area
            worths = worths.astype(np.int32)
        nx, ny = len(grid.xs), len(grid.ys)
        allowed, ends_x, ends_y = (a[wanted] for a in grid.inner)
        self.inner = placed_table(nx, ny, allowed, ends_x, ends_y, anywhere(worths, allowed))
        if grid.exact:
            self.outer = self.inner
        elif grid.outer is None:
            self.outer = None
        else:
            allowed, ends_x, ends_y = (a[wanted] for a in grid.outer)
            everywhere = anywhere(worths, allowed)
            self.outer = placed_table(len(grid.outer_xs), len(grid.outer_ys), allowed, ends_x, ends_y, everywhere)
        self._nx, self._outer_nx = nx, len(grid.outer_xs)

    def outer_worth(self, i1: int, i2: int, j1: int, j2: int) -> int | None:
        """What the outer table allows between outer lines; None where there is no such table."""
        if self.outer is None:
            return None
        return int(self.outer[pair_of(self._outer_nx, i1, i2), j1, j2]) if i1 < i2 and j1 < j2 else 0

    def inner_worth(self, i1: int, i2: int, j1: int, j2: int) -> int:
        """What the inner table gives between lines; 0 for an empty box."""
        return int(self.inner[pair_of(self._nx, i1, i2), j1, j2]) if i1 < i2 and j1 < j2 else 0

    def tree(self, i1: int, i2: int, j1: int, j2: int) -> Node:
        """A layout between the lines that reaches the inner worth."""
        return grown((i1, i2, j1, j2), self._step)

    def _box(self, i1: int, i2: int, j1: int, j2: int) -> Box:
        g = self.grid
        return int(g.xs[i1]), int(g.ys[j1]), int(g.xs[i2]), int(g.ys[j2])

    def _step(self, lines: Lines) -> Node | tuple[Box, Axis, int, Lines, Lines]:
        i1, i2, j1, j2 = lines
        worth = self.inner_worth(i1, i2, j1, j2)
        box = self._box(i1, i2, j1, j2)
        if worth == 0:
            return Shavings(box)
        for b, o in enumerate(self.grid.oriented):
            if self.values[b] == worth:
                allowed, ends_x, ends_y = (array[b] for array in self.grid.inner)
                if allowed[i1, j1] and ends_x[i1] <= i2 and ends_y[j1] <= j2:
                    return trimmed(box, o, box[0], box[1])
        for k in range(i1 + 1, i2):
            if self.inner_worth(i1, k, j1, j2) + self.inner_worth(k, i2, j1, j2) == worth:
                return box, "x", int(self.grid.xs[k]), (i1, k, j1, j2), (k, i2, j1, j2)
        for k in range(j1 + 1, j2):
            if self.inner_worth(i1, i2, j1, k) + self.inner_worth(i1, i2, k, j2) == worth:
                return box, "y", int(self.grid.ys[k]), (i1, i2, j1, k), (i1, i2, k, j2)
        raise AssertionError("the table has no way to its own worth")


def anywhere(worths: Any, allowed: Any) -> Any:
    """One worth a blank as worths of its positions: the same everywhere."""
    out = np.empty(allowed.shape, worths.dtype)
    out[:] = worths[:, None, None]
    return out


def pair_of(lines: int, first: int, second: int) -> int:
    """The tables' first index for lines first < second."""
    return first * lines - first * (first + 1) // 2 + second - first - 1
