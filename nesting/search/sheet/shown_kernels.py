"""Compiled sums of how much best area lies in a box, each area times its weight."""

from __future__ import annotations

from typing import Any

import numpy as np

from ..kernels import compiled


@compiled
def covered(edges: Any, starts: Any, weights: Any, boxes: Any, x0: float, y0: float, x1: float, y1: float) -> float:
    """The weighted area of the rings within a box, in square ticks.

    `edges`: rows ax, ay, bx, by; ring r has those from `starts[r]` to `starts[r + 1]`, counter-clockwise, `boxes[r]` around
    it. By Green's theorem the area is the sum over edges of the area between the edge, held to the box, and the box's
    bottom, where it runs to the left.
    """
    total = 0.0
    for ring in range(weights.size):
        if boxes[ring, 0] >= x1 or boxes[ring, 1] >= y1 or boxes[ring, 2] <= x0 or boxes[ring, 3] <= y0:
            continue
        area = 0.0
        for e in range(starts[ring], starts[ring + 1]):
            ax, ay, bx, by = edges[e, 0], edges[e, 1], edges[e, 2], edges[e, 3]
            sign = 1.0 if ax > bx else -1.0
            if ax > bx:
                ax, ay, bx, by = bx, by, ax, ay
            left, right = max(ax, x0), min(bx, x1)
            if left >= right:
                continue
            slope = (by - ay) / (bx - ax)
            low, high = ay + slope * (left - ax), ay + slope * (right - ax)
            if low > high:
                low, high = high, low
            if low >= y1:
                part = (y1 - y0) * (right - left)
            elif high <= y0:
                part = 0.0
            elif low >= y0 and high <= y1:
                part = ((low + high) / 2 - y0) * (right - left)
            else:  # low < high: within the box over a part of the way only
                run = (right - left) / (high - low)
                bottom, top = max(low, y0), min(high, y1)
                part = (top - bottom) * run * ((bottom + top) / 2 - y0) + max(high - y1, 0.0) * run * (y1 - y0)
            area += sign * part
        total += weights[ring] * area
    return total


@compiled
def covered_at(edges: Any, starts: Any, weights: Any, boxes: Any, allowed: Any, xs: Any, ys: Any, front: Any) -> Any:
    """`covered` for a front panel (from the low-left corner of its blank) at every allowed position, else 0."""
    out = np.zeros((xs.size, ys.size))
    for i in range(xs.size):
        for j in range(ys.size):
            if allowed[i, j]:
                out[i, j] = covered(edges, starts, weights, boxes, float(xs[i] + front[0]), float(ys[j] + front[1]),
                                    float(xs[i] + front[2]), float(ys[j] + front[3]))  # fmt: skip
    return out


def warm() -> None:
    """Load or compile them."""
    edges = np.array([(0.0, 0.0, 2.0, 0.0), (2.0, 0.0, 0.0, 2.0), (0.0, 2.0, 0.0, 0.0)])
    lines = np.array([0, 1], np.int64)
    boxes = np.array([(0.0, 0.0, 2.0, 2.0)])
    covered_at(edges, np.array([0, 3], np.int64), np.ones(1), boxes, np.ones((2, 2), np.bool_), lines, lines,
               np.array([0, 0, 1, 1], np.int64))  # fmt: skip
