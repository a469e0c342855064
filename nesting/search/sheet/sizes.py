"""Which sizes of boxes matter on a clear rectangle: sums of the blanks' sizes, and of these the few that a sheet needs.

Reachable sizes after Herz 1972 and Christofides & Whitlock 1977 (from memory); of these only the largest up to what
is left beside each other one: the reduced raster points of Scheithauer & Terno, Operations Research Letters 20, 1996
(from memory). That they are enough for sizes too, not only for places: let <t> be the largest reachable size up to t.
A box of a layout of length L has others of reachable length in all s beside it along x, so it may be widened to
<L - s>; and for x = <L - s> and any reachable a, <x - a> = <L - s - a> is of the same kind.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from .ground import TURNED_SLACK, Ground

MOST_SUMS = 10_000  # found one by one, where no unit makes them few bits
MOST_BITS = 2**22
MOST_SIZES = 20_000  # along one axis
MOST_CELLS = 128_000_000  # of one table
COARSE_UNITS = 500
FEW_STEPS = 20_000_000  # some hundredths of a second


def reachable(sizes: Sequence[int], starts: Sequence[int], limit: int, most: int = MOST_SUMS) -> Any:
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


def sums(sizes: Sequence[int], limit: int) -> Any:
    """Sorted sums of any multiples of the sizes, from 0 to `limit`; None where they are too many to be found."""
    steps = sorted({s for s in sizes if s > 0})
    unit = math.gcd(*steps) or 1
    top = limit // unit
    if top > MOST_BITS:
        return reachable(steps, [0], limit)
    bits, mask = 1, (1 << (top + 1)) - 1
    for step in steps:
        shift = step // unit
        while shift <= top:  # once, twice, four times as many copies
            bits |= (bits << shift) & mask
            shift *= 2
    raw = np.frombuffer(bits.to_bytes(top // 8 + 1, "little"), np.uint8)
    return np.flatnonzero(np.unpackbits(raw, bitorder="little")).astype(np.int64) * unit


def reduced(sizes: Sequence[int], limits: Sequence[int]) -> Any:
    """The reachable sizes that are enough for boxes of these lengths and all their parts; None where they are too many."""
    found = sums(sizes, max(limits))
    if found is None:
        return None
    out = np.unique(np.concatenate([
        found[np.searchsorted(found, limit - found[: np.searchsorted(found, limit, side="right")], side="right") - 1]
        for limit in limits]))  # fmt: skip
    return out if out.size <= MOST_SIZES else None


@dataclass(frozen=True, eq=False)
class Covering:
    """Sizes to reckon with on a clear box; where they would be too many on an axis, rounded to a unit of it.

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

    def cells(self) -> int:
        """How many boxes a table has."""
        return int(max(self.xs.size * self.ys.size, self.low_xs.size * self.low_ys.size))

    def few(self) -> bool:
        """Whether a table takes so little time that nothing need be left out of it."""
        return self.cells() * int(self.xs.size + self.ys.size) // 4 <= FEW_STEPS


def slack_of(ground: Ground) -> int:
    """By how many ticks a turned ground may be too small, for rounding."""
    return 0 if ground.frame_deg == 0 else 2 * TURNED_SLACK


def covering(ground: Ground, shapes: Sequence[tuple[int, int]], units: int | None) -> Covering | None:
    """The sizes on a clear ground for blanks of these shapes: exact (None: too many), or in `units` units where more."""
    x0, y0, x1, y1 = ground.usable
    slack = slack_of(ground)
    out = []
    for sizes, extent in (([w for w, _ in shapes], x1 - x0), ([h for _, h in shapes], y1 - y0)):
        exact = reduced(sizes, sorted({extent, extent + slack}))
        if units is None or (exact is not None and exact.size <= units):
            if exact is None:
                return None
            out.append((exact, 1, exact))
            continue
        unit = -(-extent // units)
        limits = sorted({extent // unit, (extent + slack) // unit})
        out.append((reduced([-(-s // unit) for s in sizes], limits), unit, reduced([s // unit for s in sizes], limits)))
    (xs, unit_x, low_xs), (ys, unit_y, low_ys) = out
    found = Covering(xs, ys, unit_x, unit_y, low_xs, low_ys)
    return found if units is not None or found.cells() <= MOST_CELLS else None


@dataclass(frozen=True, eq=False)
class Coverings:
    """What a clear ground is asked with: exact sizes where a table can hold them, and coarse ones unless these are few."""

    exact: Covering | None
    coarse: Covering | None


def coverings(ground: Ground, shapes: Sequence[tuple[int, int]]) -> Coverings:
    """The sizes to reckon with on a clear ground for blanks of these shapes (width, height in ticks)."""
    exact = covering(ground, shapes, None)
    return Coverings(exact, None if exact is not None and exact.few() else covering(ground, shapes, COARSE_UNITS))
