"""Whether some few of many layouts together give the need: all ways tried, depth first, compiled.

The blank that the fewest layouts still help with is next, and each of those layouts in turn; one that has had its turn
is not used again beside it. At any prices at which no layout is worth more than `most`, each of k sheets must take
rest - (k - 1) most of what is still needed: that leaves few layouts to try.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import numpy as np

from ..kernels import compiled

CHUNK = 30_000_000  # looks at counts between two looks at the clock
NONE, FOUND, OPEN = 0, 1, 2
DEPTH, ENTERING = 0, 1


@compiled
def cover(counts: Any, values: Any, most: int, sheets: int, work: int, state: Any, rest: Any, tried: Any, number: Any,
          place: Any, barred: Any) -> int:  # fmt: skip
    """Go on for `work` looks from `state`; FOUND (layouts tried[d, place[d]] for d below the depth), NONE, or OPEN.

    `counts`: layouts in rows, blanks in columns. By depth: what is still needed, the layouts to try, their number, the one
    being tried. `barred`: the depth at which a layout has had its turn, -1 for none.
    """
    blanks = counts.shape[1]
    helped = np.empty(blanks, np.int64)
    good = np.empty(counts.shape[0], np.bool_)
    depth, entering = state[DEPTH], state[ENTERING]
    while work > 0:
        if entering:
            worth = 0
            for b in range(blanks):
                helped[b] = 0
                worth += values[b] * rest[depth, b]
            if worth == 0:
                state[DEPTH], state[ENTERING] = depth, entering
                return FOUND
            number[depth], place[depth] = 0, -1
            entering = False
            if depth < sheets and worth <= (sheets - depth) * most:
                least = worth - (sheets - depth - 1) * most
                for one in range(counts.shape[0]):
                    gain = 0
                    if barred[one] < 0:
                        for b in range(blanks):
                            gain += values[b] * min(counts[one, b], rest[depth, b])
                    good[one] = gain > 0 and gain >= least
                    if good[one]:
                        for b in range(blanks):
                            if counts[one, b] > 0:
                                helped[b] += 1
                work -= counts.size
                next_blank = -1
                for b in range(blanks):
                    if rest[depth, b] > 0 and (next_blank < 0 or helped[b] < helped[next_blank]):
                        next_blank = b
                for one in range(counts.shape[0]):
                    if good[one] and counts[one, next_blank] > 0:
                        tried[depth, number[depth]] = one
                        number[depth] += 1
        work -= 1
        if place[depth] >= 0:
            barred[tried[depth, place[depth]]] = depth
        place[depth] += 1
        if place[depth] < number[depth]:
            one = tried[depth, place[depth]]
            for b in range(blanks):
                rest[depth + 1, b] = max(0, rest[depth, b] - counts[one, b])
            depth += 1
            entering = True
        else:
            for at in range(number[depth]):
                barred[tried[depth, at]] = -1
            if depth == 0:
                return NONE
            depth -= 1
    state[DEPTH], state[ENTERING] = depth, entering
    return OPEN


def covered(counts: Any, values: Any, need: Any, most: int, sheets: int, work: int,
            over: Callable[[], bool]) -> list[int] | None:  # fmt: skip
    """At most `sheets` of the layouts (rows of counts, one perhaps more than once) that give the need; empty for none.

    None where `work` or the time ended first. All values above 0; no layout is worth more than `most`.
    """
    order = np.argsort(-(counts @ values), kind="stable")
    counts = np.ascontiguousarray(counts[order])
    rest = np.zeros((sheets + 1, counts.shape[1]), np.int64)
    rest[0] = need
    tried = np.zeros((sheets + 1, max(1, len(counts))), np.int32)
    number, place = np.zeros(sheets + 1, np.int64), np.zeros(sheets + 1, np.int64)
    barred = np.full(len(counts), -1, np.int64)
    state = np.array([0, 1], np.int64)
    while work > 0 and not over():
        ended = cover(counts, values, most, sheets, min(work, CHUNK), state, rest, tried, number, place, barred)
        work -= CHUNK
        if ended == NONE:
            return []
        if ended == FOUND:
            return [int(order[tried[d, place[d]]]) for d in range(int(state[DEPTH]))]
    return None


def warm() -> None:
    """Compile the search before the clock starts."""
    if not cover.signatures:  # type: ignore[attr-defined]
        covered(np.array([[1]]), np.array([1]), np.array([1]), 1, 1, 1, lambda: False)
