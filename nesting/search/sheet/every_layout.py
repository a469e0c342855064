"""Every layout of a clear rectangle that none beats: how many of each blank it gives, and its cuts.

Sets of counts for boxes of rising size, two boxes joined by a cut; of each box only counts are kept that no other has all of.
Sizes as in `sizes`: what holds for one worth holds for all of them, as a layout is moved and never changed. For few pieces
only: the work is limited, and given up where it would be more.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from ...geometry import Box
from ...layouts import Axis, Node, Shavings
from ..trees import grown, halves
from .clear import Oriented, trimmed
from .sizes import reduced

Counts = tuple[int, ...]
MOST_WORK = 15_000  # pairs of counts joined: some hundredths of a second


def every_layout(box: Box, oriented: Sequence[Oriented], blanks: int, most: int = MOST_WORK) -> dict[Counts, Node] | None:
    """The counts of all unbeaten layouts of a clear box, each with a tree; None where that is more work than `most`."""
    width, height = box[2] - box[0], box[3] - box[1]
    fitting = [o for o in oriented if o.width <= width and o.height <= height]
    none: Counts = (0,) * blanks
    if not fitting:
        return {none: Shavings(box)}
    sizes = (reduced([o.width for o in fitting], [width]), reduced([o.height for o in fitting], [height]))
    if sizes[0] is None or sizes[1] is None:
        return None
    xs, ys = ([int(v) for v in line] for line in sizes)
    work = len(xs) * len(ys)
    if work > most:
        return None
    ways: dict[tuple[int, int], dict[Counts, Any]] = {}
    for i, x in enumerate(xs):
        for j, y in enumerate(ys):
            found: dict[Counts, Any] = {none: None}
            for o in fitting:
                if o.width <= x and o.height <= y:
                    found.setdefault(tuple(int(k == o.blank) for k in range(blanks)), o)
            for low, rest, axis, at in [*_cuts(xs, i, "x"), *_cuts(ys, j, "y")]:
                one, other = ((low, j), (rest, j)) if axis == "x" else ((i, low), (i, rest))
                work += len(ways[one]) * len(ways[other])
                if work > most:
                    return None
                for a in ways[one]:
                    for b in ways[other]:
                        found.setdefault(tuple(m + n for m, n in zip(a, b, strict=True)), (axis, at, one, a, other, b))
            ways[i, j] = _unbeaten(found)
    last = len(xs) - 1, len(ys) - 1

    def step(state: tuple[Box, tuple[int, int], Counts]) -> Node | tuple[Box, Axis, int, Any, Any]:
        here, cell, counts = state
        how = ways[cell][counts]
        if how is None:
            return Shavings(here)
        if isinstance(how, Oriented):
            return trimmed(here, how, here[0], here[1])
        axis, at, one, a, other, b = how
        place = at + (here[0] if axis == "x" else here[1])
        low, high = halves(here, axis, place)
        return here, axis, place, (low, one, a), (high, other, b)

    return {counts: grown((box, last, counts), step) for counts in ways[last]}


def _cuts(lines: Sequence[int], index: int, axis: Axis) -> list[tuple[int, int, Axis, int]]:
    """Cuts of a box so long: index of the low part, of the rest, the axis, the place of the cut from the low side."""
    out: list[tuple[int, int, Axis, int]] = []
    rest = index
    for low in range(1, index):
        while lines[rest] > lines[index] - lines[low]:
            rest -= 1
        if rest > 0:
            out.append((low, rest, axis, lines[low]))
    return out


def _unbeaten(found: dict[Counts, Any]) -> dict[Counts, Any]:
    """Those counts that no other has all of."""
    kept: list[Counts] = []
    for counts in sorted(found, key=lambda c: (-sum(c), c)):
        if not any(all(k >= n for k, n in zip(other, counts, strict=True)) for other in kept):
            kept.append(counts)
    return {counts: found[counts] for counts in kept}
