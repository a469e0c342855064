"""The compiled table over sizes: best worth of every box of clear paper, any number of copies of each blank.

Gilmore & Gomory, Operations Research 14(6), 1966, in tiles of columns of boxes that cannot be parts of each other (their
widths differ by less than the narrowest part), so that both kinds of cut are sums of whole lines of numbers.
"""

from __future__ import annotations

from typing import Any

import numpy as np

from ..kernels import compiled, lines_up_to

BLOCK = 128  # heights that are kept or left out together
TILE = 64  # widths at a time


@compiled
def lifted(goal: Any, to: int, table: Any, one: int, other: int, start: int, stop: int) -> None:
    """Raise line `to` of `goal` to the sum of two lines of a table; numpy's add and maximum keep 32 bits at 32 bits."""
    for j in range(start, stop):
        goal[to, j] = np.maximum(goal[to, j], np.add(table[one, j], table[other, j]))


@compiled
def size_rows(table: Any, xs: Any, ys: Any, at_x: Any, at_y: Any, values: Any, rate: float, spare: float, keep: Any,
              parts: Any, first: int, count: int, work: int) -> tuple[int, int, int]:  # fmt: skip
    """Fill the table's rows from `first` on until `work` steps are used; the next row, how many parts, the steps.

    `table[i, j]`: best worth of a box xs[i] by ys[j]. `xs`, `ys`: sorted, from 0, closed: for sizes a, b in it the
    largest reachable size up to a - b is in it too. Blank b fits from row at_x[b] and column at_y[b] on (the number
    of rows or columns: nowhere). A row of parts may start with its narrowest, so the first of two parts reaches
    to the middle at most; and a box no better than a row of narrower ones is no part. Only boxes that waste at most
    `spare` (area x `rate` less worth) are parts, or rests beside them: other boxes have no place in a layout of that
    waste, and their worth may come out too low. `keep[i, j // BLOCK]`: 0 none, 1 a rest, 2 a part;
    `parts[:count]`: rows with any part.
    """
    nx, ny = table.shape
    row_of = np.zeros((TILE, ny), table.dtype)  # the tile by rows: what cuts across x give
    line_of = np.zeros((ny, TILE), table.dtype)  # the tile by heights, for cuts across y
    alone = np.empty(TILE, table.dtype)
    per_height = np.empty(TILE, np.float64)
    low_parts = np.empty(ny, np.int64)
    rests = np.zeros(ny, np.bool_)
    rests[0] = True
    steps = 0
    if first == 0:
        for block in range(keep.shape[1]):
            keep[0, block] = 1
        first = 1
    while first < nx and steps < work:
        size = min(TILE, lines_up_to(xs, xs[first] + xs[1] - 1) - first)
        steps += 4 * size * ny
        for b in range(size):
            per_height[b] = rate * xs[first + b]
            for j in range(ny):
                row_of[b, j] = table[first - 1, j]
        for block in range(keep.shape[1]):
            start, stop = block * BLOCK, min(ny, (block + 1) * BLOCK)
            for part in range(count):
                k = parts[part]
                if keep[k, block] < 2:
                    continue
                b = 0
                while b < size and xs[first + b] < 2 * xs[k]:
                    b += 1
                if b == size:
                    break
                rest = lines_up_to(xs, xs[first + b] - xs[k]) - 1
                for here in range(b, size):
                    while xs[rest + 1] <= xs[first + here] - xs[k]:
                        rest += 1
                    if keep[rest, block] > 0:
                        lifted(row_of, here, table, k, rest, start, stop)
                        steps += stop - start
        for b in range(1, size):
            for j in range(ny):
                row_of[b, j] = max(row_of[b, j], row_of[b - 1, j])
        for j in range(ny):
            for b in range(size):
                line_of[j, b] = row_of[b, j]
        for blank in range(values.size):
            j = at_y[blank]
            if j < ny:
                for b in range(max(0, at_x[blank] - first), size):
                    line_of[j, b] = max(line_of[j, b], values[blank])
        low_count = 0
        for j in range(1, ny):
            for b in range(size):
                alone[b] = line_of[j, b]
                line_of[j, b] = line_of[j - 1, b]
            rest = j
            for part in range(low_count):
                k = low_parts[part]
                if 2 * ys[k] > ys[j]:
                    break
                while ys[rest] > ys[j] - ys[k]:
                    rest -= 1
                if rests[rest]:
                    lifted(line_of, j, line_of, k, rest, 0, size)
                    steps += size
            kept, gains = 0, 0
            for b in range(size):  # counted, not decided one by one: the compiler takes several at a time
                lean = per_height[b] * ys[j] - max(alone[b], line_of[j, b]) <= spare
                kept += lean
                gains += lean & (alone[b] > line_of[j, b])
                line_of[j, b] = max(alone[b], line_of[j, b])
            rests[j] = kept > 0
            if gains > 0:
                low_parts[low_count] = j
                low_count += 1
        for j in range(ny):
            for b in range(size):
                table[first + b, j] = line_of[j, b]
        for b in range(size):
            i = first + b
            some = 0
            for block in range(keep.shape[1]):
                kept, gains = 0, 0
                for j in range(block * BLOCK, min(ny, (block + 1) * BLOCK)):
                    lean = per_height[b] * ys[j] - table[i, j] <= spare
                    kept += lean
                    gains += lean & (table[i, j] > max(row_of[b, j], table[i - 1, j]))
                keep[i, block] = int(kept > 0) + int(gains > 0)
                some += gains
            if some > 0:
                parts[count] = i
                count += 1
        first += size
    return first, count, steps
