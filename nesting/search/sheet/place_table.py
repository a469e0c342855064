"""The compiled table between grid lines: best worth of every box, where positions are restricted."""

from __future__ import annotations

from typing import Any

import numpy as np

from ..kernels import compiled


@compiled
def placed_table(nx: int, ny: int, allowed: Any, ends_x: Any, ends_y: Any, values: Any) -> Any:
    """Best worth between every pair of grid lines, any number of copies, positions restricted.

    `allowed[b, i, j]`: oriented blank b may lie with its low-left corner at line (or in cell) i, j; there it is worth
    `values[b, i, j]` and reaches to lines ends_x[b, i] and ends_y[b, j] (>= nx or ny: it does not fit). The table's first
    index is that of the pair i1 < i2, as `placed.pair_of` counts them; then j1, j2. With floor indices for cells the same
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
    for blank in range(values.shape[0]):
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
            for blank in range(values.shape[0]):
                if ends_x[blank, i1] > i2:
                    continue
                for j1 in range(ny):
                    if allowed[blank, i1, j1]:
                        value = values[blank, i1, j1]
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
