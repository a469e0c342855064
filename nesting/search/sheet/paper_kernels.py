"""The compiled questions about good paper: does a rectangle fit, and where may it lie. All in ticks."""

from __future__ import annotations

from typing import Any

import numpy as np

from ..kernels import compiled, lines_below, lines_up_to


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
