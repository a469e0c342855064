"""How many alike sheets many pieces need at least: dual feasible functions on both sides.

A dual feasible function maps sizes to [0, 1] such that sizes that fit side by side still do. For two of them, f along
x and g along y, the sum of f(w) g(h) over all pieces bounds the number of sheets from below, for any packing and so for
any cuts. Functions: Fekete & Schepers, Math. Methods Oper. Res. 60(2), 2004 (f0 and u); Carlier, Clautiaux & Moukrim,
Comput. Oper. Res. 34(8), 2007 (f2), all from memory and tested against exhaustive search.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Any

import numpy as np

MOST_STEPS = 60
SAFE = 1e-6


def functions(sizes: Any, limit: int) -> Any:
    """Values in [0, 1] of many dual feasible functions (rows) at the sizes (columns), for sheets of size `limit`."""
    x = np.asarray(sizes, np.int64)
    rows = [x / limit]
    for k in range(1, 12):  # u: whole multiples of 1 / (k + 1) keep their size, others are rounded to k-ths
        scaled = (k + 1) * x
        rows.append(np.where(scaled % limit == 0, x / limit, (scaled // limit) / k))
    half = [int(v) for v in np.unique(np.minimum(x, limit - x)) if 0 < 2 * v <= limit]
    for step in _spread(half):  # f0: small ones vanish, large ones fill the sheet
        rows.append(np.where(x > limit - step, 1.0, np.where(x < step, 0.0, x / limit)))
    parts = {v for v in half if v > 0} | {v + 1 for v in half if 2 * (v + 1) <= limit}
    for k in range(2, 14):
        parts |= {limit // k, limit // k + 1}
    for step in _spread(sorted(p for p in parts if p >= 1 and 2 * p <= limit)):  # f2: rounded to multiples of a step
        whole = limit // step
        values = np.where(2 * x > limit, 2 * (whole - (limit - x) // step), np.where(2 * x == limit, whole, 2 * (x // step)))
        rows.append(values / (2 * whole))
    return np.clip(np.array(rows), 0.0, 1.0)


def _spread(values: Sequence[int]) -> list[int]:
    """All of them, or evenly picked ones where they are many."""
    if len(values) <= MOST_STEPS:
        return list(values)
    return [values[i * (len(values) - 1) // (MOST_STEPS - 1)] for i in range(MOST_STEPS)]


def least_sheets(pieces: Sequence[tuple[int, int, int]], width: int, height: int, turning: bool) -> int:
    """No fewer sheets hold all pieces (w, h, how many); each must fit alone, turned where `turning`."""
    wide = np.array([p[0] for p in pieces], np.int64)
    high = np.array([p[1] for p in pieces], np.int64)
    count = np.array([p[2] for p in pieces], np.float64)
    if not turning:
        best = float(np.max(functions(wide, width) * count @ functions(high, height).T))
    elif width == height:
        # turned or not, a piece adds f(w) g(h) + f(h) g(w) to the sums of (f, g) and (g, f)
        f = functions(np.concatenate((wide, high)), width)
        fw, fh = f[:, : wide.size], f[:, wide.size :]
        best = float(np.max((fw * count) @ fh.T + (fh * count) @ fw.T)) / 2
    else:
        best = _least_turned(wide, high, count, width, height)
    area = float((wide * high * count).sum()) / (width * height)
    return math.ceil(max(best, area) - SAFE)


def _least_turned(wide: Any, high: Any, count: Any, width: int, height: int) -> float:
    """Either way a piece adds at least the smaller of f(w) g(h) and f(h) g(w), where it fits both ways."""
    both = (high <= width) & (wide <= height)
    upright = (wide <= width) & (high <= height)
    f = functions(np.concatenate((np.minimum(wide, width), np.minimum(high, width))), width)
    g = functions(np.concatenate((np.minimum(high, height), np.minimum(wide, height))), height)
    n = wide.size
    best = 0.0
    for row in f:
        as_is, turned = row[:n] * g[:, :n], row[n:] * g[:, n:]
        least = np.where(both & upright, np.minimum(as_is, turned), np.where(upright, as_is, turned))
        best = max(best, float(np.max(least @ count)))
    return best
