"""The compiled question behind `refine`: may a box of a damaged sheet hold this worth?

One decision is a tuple `t` of arrays (`refine.Refiner` builds it) and a box; all in ticks. Everything that is asked of
a box is monotone: what a box holds, a larger one holds. So for a box without its far end (left, bottom, top, worth)
the memory keeps between which ends the answer turns, and how the smaller of them is cut.
"""

from __future__ import annotations

from typing import Any

import numpy as np

from ..kernels import compiled, lines_below, lines_up_to
from .paper_kernels import fits, lowest_x

# in the state: steps left, out of them, pass, ..., outer table there, worth of pieces chosen beforehand
STEPS, OUT, ROUND, GRAIN, SURE, OUTER, OWN = 0, 1, 2, 3, 4, 5, 6
NONE, ALONE, CUT_X, CUT_Y = 0, 1, 2, 3  # how a box is known to hold its worth
LOW, HIGH, HOW, FIRST, SECOND, WIDTH = 5, 6, 7, 8, 9, 10  # columns of the memory, behind those of the key
FAR = 2**62
KINDS = 4096  # blanks as they lie, at most


@compiled
def pair_of(lines: int, first: int, second: int) -> int:
    """The tables' first index for lines first < second, as `placed._pair`."""
    return first * lines - first * (first + 1) // 2 + second - first - 1


@compiled
def inner_worth(xs: Any, ys: Any, inner: Any, x0: int, y0: int, x1: int, y1: int) -> int:
    """What the inner table surely has in a box: between the lines just within it."""
    i1, i2 = lines_below(xs, x0), lines_up_to(xs, x1) - 1
    j1, j2 = lines_below(ys, y0), lines_up_to(ys, y1) - 1
    if i1 >= i2 or j1 >= j2:
        return 0
    return int(inner[pair_of(xs.size, i1, i2), j1, j2])


@compiled
def lies_in(traps: Any, width: int, height: int, segments: Any, rings: Any, inset: float, sure: int,
            x0: int, y0: int, x1: int, y1: int) -> Any:  # fmt: skip
    """The lowest x (and a y) where a rectangle lies in the box; x is FAR where it does not.

    `traps`: the grown region of its positions. `sure`: the position is tested exactly; else it is only not ruled out.
    """
    last_x, last_y = x1 - width, y1 - height
    if last_x < x0 or last_y < y0:
        return FAR, 0
    x, low, high = lowest_x(traps, float(x0), float(last_x), float(y0), float(last_y))
    if not np.isfinite(x):
        return FAR, 0
    first = max(x0, int(np.ceil(x - 1e-3)))
    if sure == 0:
        return first, max(y0, int(np.ceil(low - 1e-3)))
    for step in (0, 1, 2, 4, 8, 32):  # the grown region may begin a fraction of a tick early
        at = first + step
        if at > last_x:
            break
        if step > 0:
            near, low, high = lowest_x(traps, float(at), float(last_x), float(y0), float(last_y))
            if not np.isfinite(near) or np.ceil(near - 1e-3) > at:
                continue
        bottom, top = max(y0, int(np.ceil(low - 1e-3))), min(last_y, int(np.floor(high + 1e-3)))
        for y in (bottom, bottom + 1, bottom + 2, bottom + 8, (bottom + top) // 2, top):
            if bottom <= y <= top and fits(at, y, at + width, y + height, segments, rings, inset):
                return at, y
    for at, y in ((x0, y0), (x0, last_y), (last_x, y0), (last_x, last_y)):  # a slanted edge may touch a corner
        if fits(at, y, at + width, y + height, segments, rings, inset):
            return at, y
    return FAR, 0


@compiled
def place_of(memory: Any, a: int, b: int, c: int, worth: int, tag: int) -> int:
    """The row of the memory for a box without its far end: its own, or the one it may take."""
    mixed = (a * 0x9E3779B1 + b * 0x85EBCA77 + c * 0xC2B2AE3D + worth * 0x27D4EB2F + tag * 0x165667B1) & 0x7FFFFFFFFFFFFFFF
    mixed ^= mixed >> 29
    mixed = (mixed * 0x2545F491) & 0x7FFFFFFFFFFFFFFF
    mixed ^= mixed >> 17
    last = memory.shape[0] - 1
    first = mixed & last
    for look in range(4):
        row = (first + look) & last
        m = memory[row]
        if m[0] == a and m[1] == b and m[2] == c and m[3] == worth and m[4] == tag:
            return int(row)
    for look in range(4):
        row = (first + look) & last
        if memory[row, 4] // 4 != tag // 4:  # of an earlier round, or free
            return int(row)
    return int((first + (mixed >> 40) % 4) & last)


@compiled
def known(memory: Any, row: int, a: int, b: int, c: int, worth: int, tag: int, end: int) -> int:
    """1: the box up to `end` holds it; 0: it does not; -1: not known."""
    m = memory[row]
    if not (m[0] == a and m[1] == b and m[2] == c and m[3] == worth and m[4] == tag):
        return -1
    if end >= m[HIGH]:
        return 1
    return 0 if end <= m[LOW] else -1


@compiled
def remember(memory: Any, row: int, a: int, b: int, c: int, worth: int, tag: int, end: int, how: int, first: int,
             second: int) -> None:  # fmt: skip
    """Keep that the box up to `end` holds the worth, cut in this way; or with NONE that it does not."""
    m = memory[row]
    if not (m[0] == a and m[1] == b and m[2] == c and m[3] == worth and m[4] == tag):
        m[0], m[1], m[2], m[3], m[4] = a, b, c, worth, tag
        m[LOW], m[HIGH], m[HOW] = -FAR, FAR, NONE
    if how == NONE:
        m[LOW] = max(m[LOW], end)
    elif end < m[HIGH]:
        m[HIGH], m[HOW], m[FIRST], m[SECOND] = end, how, first, second


@compiled
def decide(t: Any, x0: int, y0: int, x1: int, y1: int, wanted: int) -> bool:
    """Whether a layout worth `wanted` is possible in the box.

    With SURE in the state: there is one, its cuts on multiples of GRAIN. Without: it is not ruled out, where every cut
    may serve both sides up to GRAIN apart. Out of steps the answer means nothing, and OUT is set.
    """
    xs, ys, inner, outer_xs, outer_ys, outer, sizes, starts, traps, segments, rings, sums, memory, state, reals = t
    if wanted <= 0:
        return True
    place = lines_below(sums, wanted)
    if place == sums.size or x0 >= x1 or y0 >= y1 or state[OUT] != 0:
        return False
    worth = int(sums[place])
    there, own, inset, dense = state[OUTER], int(state[OWN]), reals[0], reals[1]
    density = dense * (1.0 + 1e-12)
    if int(density * (x1 - x0) * (y1 - y0) + 1e-6) + own < worth:
        return False
    lines = outer_xs.size
    i1, i2 = lines_up_to(outer_xs, x0) - 1, lines_up_to(outer_xs, x1) - 1
    j1, j2 = lines_up_to(outer_ys, y0) - 1, lines_up_to(outer_ys, y1) - 1
    if there != 0 and (i1 >= i2 or j1 >= j2 or outer[pair_of(lines, i1, i2), j1, j2] < worth):
        return False
    if inner_worth(xs, ys, inner, x0, y0, x1, y1) >= worth:
        return True
    sure, grain, tag = int(state[SURE]), int(state[GRAIN]), 4 * int(state[ROUND])
    along = place_of(memory, x0, y0, y1, worth, tag)
    answer = known(memory, along, x0, y0, y1, worth, tag, x1)
    if answer < 0:
        up = place_of(memory, y0, x0, x1, worth, tag + 1)
        answer = known(memory, up, y0, x0, x1, worth, tag + 1, y1)
    if answer >= 0:
        return answer == 1
    state[STEPS] -= 1
    if state[STEPS] < 0:
        state[OUT] = 1
        return False
    how, first, second, end_x, end_y = NONE, 0, 0, x1, y1
    for kind in range(sizes.shape[0]):
        if sizes[kind, 2] >= worth:
            width, height = int(sizes[kind, 0]), int(sizes[kind, 1])
            x, y = lies_in(traps[starts[kind] : starts[kind + 1]], width, height, segments, rings, inset, sure, x0, y0, x1, y1)
            if x < FAR and (how == NONE or x + width < end_x):
                how, first, second = ALONE, x, y * KINDS + kind
                end_x = x + width
    least = int(sums[0])
    back = 1 if sure == 0 else grain  # what the low side holds up to there has had a place in an earlier cell
    axis = 0
    while how == NONE and axis < 2 and worth > least:
        start, end = (x0, x1) if axis == 0 else (y0, y1)
        across = density * ((y1 - y0) if axis == 0 else (x1 - x0))
        marks = outer_xs if axis == 0 else outer_ys
        cell = i1 if axis == 0 else j1
        while how == NONE and cell < marks.size and marks[cell] < end:
            here = cell
            cell += 1
            bottom = max(start, int(marks[here]))
            top = min(end, int(marks[cell]) if cell < marks.size else end)  # the cut lies in [bottom, top)
            if top <= bottom:
                continue
            # what the sides hold at most, the cut at the bottom for the high one, at the top for the low one
            high_most, low_most = int(across * (end - bottom) + 1e-6) + own, int(across * (top - 1 - start) + 1e-6) + own
            if low_most + high_most < worth:
                continue
            if there != 0:
                if axis == 0:
                    low_most = min(low_most, int(outer[pair_of(lines, i1, here), j1, j2])) if here > i1 else 0
                    high_most = min(high_most, int(outer[pair_of(lines, here, i2), j1, j2])) if here < i2 else 0
                else:
                    low_most = min(low_most, int(outer[pair_of(lines, i1, i2), j1, here])) if here > j1 else 0
                    high_most = min(high_most, int(outer[pair_of(lines, i1, i2), here, j2])) if here < j2 else 0
                if low_most + high_most < worth:
                    continue
            back_x, back_y = (bottom - back, y1) if axis == 0 else (x1, bottom - back)
            had = inner_worth(xs, ys, inner, x0, y0, back_x, back_y)
            at = lines_below(sums, max(worth - high_most, had + 1))
            # places for the cut: the bottom of the cell (inside the box), then multiples of the grain
            base = bottom // grain * grain
            places = (top - 1 - base) // grain
            while how == NONE and at < sums.size and sums[at] <= low_most and sums[at] < worth:
                low_worth = int(sums[at])
                at += 1
                a, b = 0 if bottom > start or sure == 0 else 1, places + 1
                while a < b:  # the first place whose low side holds low_worth
                    middle = (a + b) // 2
                    cut = bottom if middle == 0 else base + middle * grain
                    if sure == 0:
                        cut = top - 1 if middle == places else base + (middle + 1) * grain - 1
                    low_x, low_y = (cut, y1) if axis == 0 else (x1, cut)
                    if decide(t, x0, y0, low_x, low_y, low_worth):
                        b = middle
                    else:
                        a = middle + 1
                    if state[OUT] != 0:
                        return False
                if a > places:
                    break  # a higher worth needs no less room
                cut = bottom if a == 0 else base + a * grain
                high_x, high_y = (cut, y0) if axis == 0 else (x0, cut)
                holds = decide(t, high_x, high_y, x1, y1, worth - low_worth)
                if state[OUT] != 0:
                    return False
                if holds:
                    how, first, second = CUT_X + axis, cut, low_worth
        axis += 1
    along = place_of(memory, x0, y0, y1, worth, tag)
    remember(memory, along, x0, y0, y1, worth, tag, end_x, how, first, second)
    up = place_of(memory, y0, x0, x1, worth, tag + 1)
    remember(memory, up, y0, x0, x1, worth, tag + 1, end_y, how, first, second)
    return bool(how != NONE)
