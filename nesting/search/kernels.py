"""The compiled loops of the search, behind one seam.

Each kernel is plain Python on arrays; `compiled` hands it to numba and keeps the plain twin as `.py_func`, which
the tests run on the same random input. Values are 64-bit integers; areas and positions are in ticks.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, TypeVar

import numpy as np

F = TypeVar("F", bound=Callable[..., Any])
_uncached: list[str] = []


def compiled(function: F) -> F:
    """The function compiled by numba, its machine code cached; uncached where the cache cannot be written."""
    import numba

    try:
        return numba.njit(cache=True, nogil=True)(function)  # type: ignore[no-any-return]
    except RuntimeError:  # numba found no folder that it may write its cache to
        _uncached.append(function.__name__)
        return numba.njit(nogil=True)(function)  # type: ignore[no-any-return]


@compiled
def lines_below(lines: Any, value: float) -> int:
    """How many of the sorted lines lie below a value (bisection; numpy's own takes seconds to compile)."""
    low, high = 0, lines.size
    while low < high:
        middle = (low + high) // 2
        if lines[middle] < value:
            low = middle + 1
        else:
            high = middle
    return low


@compiled
def lines_up_to(lines: Any, value: float) -> int:
    """How many of the sorted lines lie below a value or on it."""
    low, high = 0, lines.size
    while low < high:
        middle = (low + high) // 2
        if lines[middle] <= value:
            low = middle + 1
        else:
            high = middle
    return low


@compiled
def clear_table(xs: Any, ys: Any, widths: Any, heights: Any, values: Any) -> Any:
    """Best worth of every box xs[i] by ys[j] of clear paper, any number of copies (Gilmore & Gomory 1966).

    `xs`, `ys` are the reachable sizes, sorted, from 0; `widths`, `heights`, `values` the oriented blanks. A row of
    parts may start with its narrowest, and a part that is itself no better than a row of narrower ones need not be
    tried: only widths that gain something over all such rows are kept as parts, and likewise for heights. The table
    has the type of `values`, as in `placed_table`.
    """
    nx, ny = xs.size, ys.size
    table = np.zeros((nx, ny), values.dtype)
    parts = np.empty(nx, np.int64)  # the widths that gain
    count = 0
    plain = np.zeros(ny, values.dtype)
    stacked = np.zeros(ny, values.dtype)
    for i in range(nx):
        row = table[i]
        if i > 0:
            for j in range(ny):
                row[j] = table[i - 1, j]
        for part in range(count):
            k = parts[part]
            if 2 * xs[k] > xs[i]:
                break
            rest = lines_up_to(xs, xs[i] - xs[k]) - 1
            left, right = table[k], table[rest]
            for j in range(ny):
                total = left[j] + right[j]
                if total > row[j]:
                    row[j] = total
        for j in range(ny):
            plain[j] = row[j]
        for blank in range(widths.size):
            if widths[blank] <= xs[i]:
                for j in range(lines_below(ys, heights[blank]), ny):
                    if values[blank] > plain[j]:
                        plain[j] = values[blank]
        # stacks of heights that gain over all stacks of lower ones
        gains = False
        for j in range(ny):
            stacked[j] = 0
        for k in range(1, ny):
            own = plain[k]
            if own <= stacked[k]:
                continue
            rest = 0
            for j in range(k, ny):
                while rest + 1 < ny and ys[rest + 1] <= ys[j] - ys[k]:
                    rest += 1
                total = own + stacked[rest]
                if total > stacked[j]:
                    stacked[j] = total
        for j in range(ny):
            if stacked[j] > row[j]:
                gains = True
                row[j] = stacked[j]
        if gains and i > 0:
            parts[count] = i
            count += 1
    return table


@compiled
def placed_table(nx: int, ny: int, allowed: Any, ends_x: Any, ends_y: Any, values: Any) -> Any:
    """Best worth between every pair of grid lines, any number of copies, positions restricted.

    `allowed[b, i, j]`: oriented blank b may lie with its low-left corner at line (or in cell) i, j; then it
    reaches to lines ends_x[b, i] and ends_y[b, j] (>= nx or ny: it does not fit). The table's first index is that
    of the pair i1 < i2, as `placed._pair` counts them; then j1, j2. With floor indices for cells the same
    recursion bounds every layout whose cuts lie anywhere in the cells (design.md section 5, outer table). The table
    has the type of `values`: 32 bits where no total can pass them, which is twice as fast.
    """
    pairs = nx * (nx - 1) // 2
    table = np.zeros((pairs, ny, ny), values.dtype)
    changed = np.zeros(pairs, np.bool_)
    turned = np.zeros((ny, ny), values.dtype)
    # the first line that any blank reaches from each line: nothing lies in less
    reach_x = np.full(nx, nx, np.int64)
    reach_y = np.full(ny, ny, np.int64)
    for blank in range(values.size):
        for i in range(nx):
            reach_x[i] = min(reach_x[i], ends_x[blank, i])
        for j in range(ny):
            reach_y[j] = min(reach_y[j], ends_y[blank, j])
    for length in range(1, nx):
        for i1 in range(nx - length):
            i2 = i1 + length
            if reach_x[i1] > i2:
                continue
            here = i1 * nx - i1 * (i1 + 1) // 2 + length - 1
            plane = table[here]
            if length > 1:
                before = table[here - 1]
                after = table[(i1 + 1) * nx - (i1 + 1) * (i1 + 2) // 2 + length - 2]
                for j1 in range(ny):
                    for j2 in range(reach_y[j1], ny):
                        plane[j1, j2] = max(before[j1, j2], after[j1, j2])
                for k in range(reach_x[i1], i2):
                    if reach_x[k] > i2:
                        break
                    left_at = here - length + (k - i1)
                    if not changed[left_at]:
                        continue
                    left = table[left_at]
                    right = table[k * nx - k * (k + 1) // 2 + i2 - k - 1]
                    for j1 in range(ny):
                        for j2 in range(reach_y[j1], ny):
                            total = left[j1, j2] + right[j1, j2]
                            if total > plane[j1, j2]:
                                plane[j1, j2] = total
            for blank in range(values.size):
                if ends_x[blank, i1] > i2:
                    continue
                value = values[blank]
                for j1 in range(ny):
                    if allowed[blank, i1, j1]:
                        for j2 in range(ends_y[blank, j1], ny):
                            if value > plane[j1, j2]:
                                plane[j1, j2] = value
            for j1 in range(ny - 1, -1, -1):
                for j2 in range(reach_y[j1], ny):
                    best = max(plane[j1, j2], plane[j1, j2 - 1])
                    if j1 + 1 < ny:
                        best = max(best, plane[j1 + 1, j2])
                    last = plane[j1, reach_y[j1] - 1]
                    for k in range(reach_y[j1], j2):
                        if reach_y[k] > j2:
                            break
                        low = plane[j1, k]
                        if low != last:  # a cut is worth trying only where the lower part has just gained
                            last = low
                            total = low + turned[j2, k]
                            if total > best:
                                best = total
                    plane[j1, j2] = best
                    turned[j2, j1] = best
                for j2 in range(min(reach_y[j1], ny)):
                    turned[j2, j1] = 0
            different = length == 1 or reach_x[i1] == i2
            if not different:
                before = table[here - 1]
                for j1 in range(ny):
                    for j2 in range(reach_y[j1], ny):
                        if plane[j1, j2] != before[j1, j2]:
                            different = True
                            break
                    if different:
                        break
            changed[here] = different
    return table


@compiled
def fits(x0: int, y0: int, x1: int, y1: int, segments: Any, areas: Any, inset: float) -> bool:
    """Whether the rectangle lies on good paper, exactly (touching is allowed) where `inset` is 0.

    `segments`: rows ax, ay, bx, by, ring of all boundaries, whole ticks. `areas[ring]`: 1 for the outline, 0 for
    a hole or bad area. With an inset every boundary must be that far away (in floating point, on the safe side).
    """
    odd = np.zeros(areas.size, np.bool_)
    mx, my = x0 + x1, y0 + y1  # the doubled middle
    for row in range(segments.shape[0]):
        ax, ay, bx, by = segments[row, 0], segments[row, 1], segments[row, 2], segments[row, 3]
        if inset > 0.0:
            # whole numbers are exact along the axes; a slanted boundary gets a hundredth of a tick for rounding
            least = inset if ax == bx or ay == by else inset + 0.01
            if _distance2(x0, y0, x1, y1, ax, ay, bx, by) < least * least:
                return False
        elif max(ax, bx) > x0 and min(ax, bx) < x1 and max(ay, by) > y0 and min(ay, by) < y1:
            dx, dy = bx - ax, by - ay
            c0 = dx * (y0 - ay) - dy * (x0 - ax)
            c1 = dx * (y0 - ay) - dy * (x1 - ax)
            c2 = dx * (y1 - ay) - dy * (x1 - ax)
            c3 = dx * (y1 - ay) - dy * (x0 - ax)
            if not ((c0 <= 0 and c1 <= 0 and c2 <= 0 and c3 <= 0) or (c0 >= 0 and c1 >= 0 and c2 >= 0 and c3 >= 0)):
                return False
        if (2 * ay > my) != (2 * by > my):
            cross = (bx - ax) * (my - 2 * ay) - (by - ay) * (mx - 2 * ax)
            if (cross > 0) == (by > ay):
                odd[segments[row, 4]] = not odd[segments[row, 4]]
    sound = True
    for ring in range(areas.size):
        sound = sound and odd[ring] == (areas[ring] == 1)
    return sound


@compiled
def _distance2(x0: float, y0: float, x1: float, y1: float, ax: float, ay: float, bx: float, by: float) -> float:
    """Squared distance of a segment from a rectangle; 0 where they touch or overlap."""
    low, high = 0.0, 1.0  # clip the segment to the rectangle: anything left touches it
    for start, delta, first, last in ((ax, bx - ax, x0, x1), (ay, by - ay, y0, y1)):
        if delta == 0.0:
            if start < first or start > last:
                high = -1.0
        else:
            t0, t1 = (first - start) / delta, (last - start) / delta
            low = max(low, min(t0, t1))
            high = min(high, max(t0, t1))
    if low <= high:
        return 0.0
    best = np.inf
    for px, py in ((ax, ay), (bx, by)):
        gap_x = max(x0 - px, 0.0, px - x1)
        gap_y = max(y0 - py, 0.0, py - y1)
        best = min(best, gap_x * gap_x + gap_y * gap_y)
    dx, dy = bx - ax, by - ay
    size = dx * dx + dy * dy
    for px, py in ((x0, y0), (x1, y0), (x1, y1), (x0, y1)):
        t = min(1.0, max(0.0, ((px - ax) * dx + (py - ay) * dy) / size))
        gap_x, gap_y = px - ax - t * dx, py - ay - t * dy
        best = min(best, gap_x * gap_x + gap_y * gap_y)
    return best


@compiled
def trapezoids(edges: Any, xs: Any) -> Any:
    """Vertical slabs of a region bounded by `edges` (rows ax, ay, bx, by, ax < bx): rows x0, x1, y0, y0', y1, y1'.

    `xs` are all corner abscissae, sorted. Bottom runs from y0 at x0 to y0' at x1, the top from y1 to y1'.
    """
    out = np.empty((64, 6), np.float64)
    mids = np.empty(edges.shape[0], np.float64)
    rows = np.empty(edges.shape[0], np.int64)
    count = 0
    for slab in range(xs.size - 1):
        a, b = xs[slab], xs[slab + 1]
        middle = 0.5 * (a + b)
        number = 0
        for row in range(edges.shape[0]):
            if edges[row, 0] <= a and edges[row, 2] >= b:
                slope = (edges[row, 3] - edges[row, 1]) / (edges[row, 2] - edges[row, 0])
                height = edges[row, 1] + slope * (middle - edges[row, 0])
                place = number
                while place > 0 and mids[place - 1] > height:
                    mids[place], rows[place] = mids[place - 1], rows[place - 1]
                    place -= 1
                mids[place], rows[place] = height, row
                number += 1
        for pair in range(0, number - 1, 2):
            if count == out.shape[0]:
                larger = np.empty((2 * count, 6), np.float64)
                for line in range(count):
                    for column in range(6):
                        larger[line, column] = out[line, column]
                out = larger
            out[count, 0], out[count, 1] = a, b
            for side in range(2):
                row = rows[pair + side]
                slope = (edges[row, 3] - edges[row, 1]) / (edges[row, 2] - edges[row, 0])
                out[count, 2 + 2 * side] = edges[row, 1] + slope * (a - edges[row, 0])
                out[count, 3 + 2 * side] = edges[row, 1] + slope * (b - edges[row, 0])
            count += 1
    return out[:count].copy()


@compiled
def lowest_x(traps: Any, x0: float, x1: float, y0: float, y1: float) -> Any:
    """The smallest x of the region within a window, and the range of y there; x is inf where there is none."""
    best, low, high = np.inf, 0.0, 0.0
    for row in range(traps.shape[0]):
        a, b = max(traps[row, 0], x0), min(traps[row, 1], x1)
        if a > b or a >= best:
            continue
        wide = traps[row, 1] - traps[row, 0]
        down = (traps[row, 3] - traps[row, 2]) / wide
        up = (traps[row, 5] - traps[row, 4]) / wide
        # within the slab the region needs bottom(x) <= y1 and top(x) >= y0
        first, last = a, b
        offset = traps[row, 2] + down * (a - traps[row, 0]) - y1
        if offset > 0.0:
            if down >= 0.0:
                continue
            first = max(first, a - offset / down)
        offset = traps[row, 4] + up * (a - traps[row, 0]) - y0
        if offset < 0.0:
            if up <= 0.0:
                continue
            first = max(first, a - offset / up)
        if first <= last and first < best:
            best = first
            low = max(y0, traps[row, 2] + down * (first - traps[row, 0]))
            high = min(y1, traps[row, 4] + up * (first - traps[row, 0]))
    return best, low, high


@compiled
def touched_cells(traps: Any, xs: Any, ys: Any, slack: float) -> Any:
    """Which cells [xs[i], xs[i+1]) by [ys[j], ys[j+1]) the region touches, grown by `slack`: never one too few."""
    out = np.zeros((xs.size, ys.size), np.bool_)
    for row in range(traps.shape[0]):
        x_low, x_high = traps[row, 0] - slack, traps[row, 1] + slack
        wide = traps[row, 1] - traps[row, 0]
        down = (traps[row, 3] - traps[row, 2]) / wide
        up = (traps[row, 5] - traps[row, 4]) / wide
        first = max(0, lines_up_to(xs, x_low) - 1)
        for i in range(first, xs.size):
            if xs[i] > x_high:
                break
            cell_end = xs[i + 1] if i + 1 < xs.size else xs[i]
            a = min(max(xs[i], traps[row, 0]), traps[row, 1])
            b = max(min(cell_end, traps[row, 1]), traps[row, 0])
            y_low = min(traps[row, 2] + down * (a - traps[row, 0]), traps[row, 2] + down * (b - traps[row, 0])) - slack
            y_high = max(traps[row, 4] + up * (a - traps[row, 0]), traps[row, 4] + up * (b - traps[row, 0])) + slack
            start = max(0, lines_up_to(ys, y_low) - 1)
            for j in range(start, ys.size):
                if ys[j] > y_high:
                    break
                out[i, j] = True
    return out


@compiled
def allowed_points(traps: Any, xs: Any, ys: Any, width: int, height: int, segments: Any, areas: Any, inset: float,
                   slack: float) -> Any:  # fmt: skip
    """At which grid points an oriented blank may surely lie: near the region, then tested exactly."""
    out = np.zeros((xs.size, ys.size), np.bool_)
    for row in range(traps.shape[0]):
        wide = traps[row, 1] - traps[row, 0]
        first = lines_below(xs, traps[row, 0] - slack)
        for i in range(first, xs.size):
            if xs[i] > traps[row, 1] + slack:
                break
            along = min(max((xs[i] - traps[row, 0]) / wide, 0.0), 1.0)
            low = traps[row, 2] + along * (traps[row, 3] - traps[row, 2]) - slack
            high = traps[row, 4] + along * (traps[row, 5] - traps[row, 4]) + slack
            for j in range(lines_below(ys, low), ys.size):
                if ys[j] > high:
                    break
                if not out[i, j] and fits(xs[i], ys[j], xs[i] + width, ys[j] + height, segments, areas, inset):
                    out[i, j] = True
    return out


def warm(tell: Callable[[str], None], patience: float = 1.5) -> None:
    """Load or compile all kernels now; say so where it takes longer than `patience` seconds."""
    if lowest_x.signatures:  # type: ignore[attr-defined]
        return
    from threading import Timer

    notice = Timer(patience, tell, ("Compiling the search for this machine: once, some seconds.",))
    notice.daemon = True
    notice.start()
    try:
        lines, one = np.array([0, 2], np.int64), np.array([1], np.int64)
        square = np.array([(0, 0, 2, 0, 0), (2, 0, 2, 2, 0), (2, 2, 0, 2, 0), (0, 2, 0, 0, 0)], np.int64)
        edges = np.array([(0.0, 0.0, 2.0, 0.0), (0.0, 2.0, 2.0, 2.0)])
        traps = trapezoids(edges, np.array([0.0, 2.0]))
        touched_cells(traps, lines, lines, 1.0)
        allowed = allowed_points(traps, lines, lines, 1, 1, square, one, 0.0, 1.0)
        for worths in (one, one.astype(np.int32)):
            clear_table(lines, lines, one, one, worths)
            placed_table(2, 2, np.stack((allowed,)), np.array([[1, 2]]), np.array([[1, 2]]), worths)
        fits(0, 0, 1, 1, square, one, 0.0)
        lowest_x(traps, 0.0, 2.0, 0.0, 2.0)
    finally:
        notice.cancel()
    if _uncached:
        tell("The compiled search cannot be kept on this machine: every start will take these seconds again.")
