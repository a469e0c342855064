"""The compiled loops of `merging`: blocks of pieces joined two by two, and the bounds they are held to.

A block is a guillotine layout without slack around it: its width and height (as indices into the reachable sizes xs,
ys), how many of each blank it has, its worth and its weights. Counts are fields of 62-bit words, each with a guard
bit above it: a sum is within the limits where (sum + bias) & guard is 0 in every word. All arrays are 64-bit.
"""

from __future__ import annotations

from typing import Any

import numpy as np

from ..kernels import compiled

# rows of the array `heads`: the state of a run that a call leaves to the next
BLOCKS, BOXES, LISTED, BOX, PARTNER, BEST, TARGET, NARROWED, SIZE = 0, 1, 2, 3, 4, 5, 6, 7, 8
# how a call ended
FINISHED, OUT_OF_WORK, FULL, AT_PAUSE = 0, 1, 2, 3
# bits of a block: may be a part of a row, of a column; no longer wanted; built as a column
ROW_PART, COLUMN_PART, DEAD, UPWARD = 1, 2, 4, 8


@compiled
def hashed(words: Any) -> int:
    """A number from 0 to 2**31 - 1 for a vector of counts; no step passes 63 bits."""
    out = 20011
    for number in range(words.size):
        for part in (words[number] & 0x7FFFFFFF, words[number] >> 31):
            out = ((out ^ part) & 0x7FFFFFFF) * 1103515245 + 12345
            out = (out ^ (out >> 29)) & 0x7FFFFFFF
    return out


@compiled
def rehash(words: Any, count: int, table: Any, chain: Any) -> None:
    """All blocks into an empty table of hash chains, oldest first."""
    for block in range(count):
        slot = hashed(words[block]) & (table.size - 1)
        chain[block] = table[slot]
        table[slot] = block


@compiled
def put(words: Any, i: int, j: int, kind: int, counts: Any, state: Any, box_i: Any, box_j: Any, bits: Any, chain: Any,
        table: Any) -> int:  # fmt: skip
    """The number of a new block; -1 where the same counts are known in a box no larger, -2 where there is no room.

    Blocks with the same counts in a larger box are no longer wanted.
    """
    slot = hashed(counts) & (table.size - 1)
    at = table[slot]
    while at >= 0:
        same = True
        for number in range(counts.size):
            if words[at, number] != counts[number]:
                same = False
                break
        if same:
            if box_i[at] <= i and box_j[at] <= j:
                if box_i[at] == i and box_j[at] == j:
                    bits[at] |= kind & (ROW_PART | COLUMN_PART)
                return -1
            if box_i[at] >= i and box_j[at] >= j:
                bits[at] |= DEAD
        at = chain[at]
    block = state[BLOCKS]
    if block == box_i.size:
        return -2
    state[BLOCKS] += 1
    for number in range(counts.size):
        words[block, number] = counts[number]
    box_i[block], box_j[block], bits[block] = i, j, kind
    chain[block] = table[slot]
    table[slot] = block
    return int(block)


@compiled
def ordered(ids: Any, first: int, last: int, weights: Any) -> None:
    """Sort ids[first:last] by the first weight, greatest first, then by number (gaps after Ciura 2001, from memory)."""
    for gap in (1750, 701, 301, 132, 57, 23, 10, 4, 1):
        for start in range(first + gap, last):
            here = ids[start]
            place = start
            while place - gap >= first:
                other = ids[place - gap]
                if weights[other, 0] > weights[here, 0] or (weights[other, 0] == weights[here, 0] and other < here):
                    break
                ids[place] = other
                place -= gap
            ids[place] = here


@compiled
def opened(box: int, ny: int, state: Any, first_in: Any, next_in: Any, bits: Any, weights: Any, outer: Any, need: Any,
           ids: Any, boxes: Any, top: Any, keep: int) -> bool:  # fmt: skip
    """List the blocks of a box that may still be part of a layout worth enough; False where there are none."""
    i, j = box // ny, box % ny
    first = state[LISTED]
    last = first
    at = first_in[box]
    while at >= 0:
        good = bits[at] & DEAD == 0
        for k in range(need.size):
            good = good and weights[at, k] + outer[k, i, j] >= need[k]
        if good:
            ids[last] = at
            last += 1
        at = next_in[at]
    if last == first:
        return False
    ordered(ids, first, last, weights)
    if last - first > keep:
        last = first + keep
        state[NARROWED] = 1
    number = state[BOXES]
    boxes[number, 0], boxes[number, 1], boxes[number, 2], boxes[number, 3] = i, j, first, last
    for k in range(need.size):
        top[number, k] = weights[ids[first], k]
        for place in range(first, last):
            top[number, k] = max(top[number, k], weights[ids[place], k])
    state[LISTED] = last
    state[BOXES] += 1
    return True


@compiled
def merge(xs: Any, ys: Any, at_x: Any, at_y: Any, outer: Any, need: Any, per_worth: int, step: int, order: Any, state: Any,
          words: Any, weights: Any, worth: Any, box_i: Any, box_j: Any, low: Any, high: Any, bits: Any, chain: Any, table: Any,
          first_in: Any, next_in: Any, ids: Any, boxes: Any, top: Any, bias: Any, guard: Any, keep: int, work: int,
          pause: int) -> int:  # fmt: skip
    """Join blocks two by two, boxes in order of area, until all are done, or `work` pairs were looked at.

    A block stays where weights[k] + outer[k] >= need[k] for every k. Whenever a block is worth state[TARGET] or more,
    it is the best, and target and needs rise to `step` above its worth. `pause`: blocks listed before a call ends
    between two boxes.
    """
    ny = ys.size
    most_w, most_h = at_x.size - 1, at_y.size - 1
    kinds = need.size
    counts = np.empty(bias.size, np.int64)
    needed = np.empty(kinds, np.int64)
    while state[BOX] < order.size:
        if state[PARTNER] < 0:
            if state[LISTED] >= pause:
                return AT_PAUSE
            if work <= 0:
                return OUT_OF_WORK
            if not opened(order[state[BOX]], ny, state, first_in, next_in, bits, weights, outer, need, ids, boxes, top, keep):
                state[BOX] += 1
                continue
            state[PARTNER] = 0
        own = state[BOXES] - 1
        i1, j1 = boxes[own, 0], boxes[own, 1]
        w1, h1 = xs[i1], ys[j1]
        while state[PARTNER] <= own:
            if work <= 0:
                return OUT_OF_WORK
            other = state[PARTNER]
            i2, j2 = boxes[other, 0], boxes[other, 1]
            work -= 1
            for upward in range(2):
                if upward == 0:
                    if w1 + xs[i2] > most_w:
                        continue
                    i, j, part = at_x[w1 + xs[i2]], max(j1, j2), ROW_PART
                else:
                    if h1 + ys[j2] > most_h:
                        continue
                    i, j, part = max(i1, i2), at_y[h1 + ys[j2]], COLUMN_PART
                if i < 0 or j < 0:
                    continue
                possible = True
                for k in range(kinds):
                    needed[k] = need[k] - outer[k, i, j]
                    if top[own, k] + top[other, k] < needed[k]:
                        possible = False
                        break
                if not possible:
                    continue
                kind = COLUMN_PART if upward == 0 else ROW_PART | UPWARD
                for one in range(boxes[own, 2], boxes[own, 3]):
                    a = ids[one]
                    if weights[a, 0] + top[other, 0] < needed[0]:
                        break
                    for two in range(one if own == other else boxes[other, 2], boxes[other, 3]):
                        b = ids[two]
                        if weights[a, 0] + weights[b, 0] < needed[0]:
                            break
                        work -= 1
                        if (bits[a] | bits[b]) & part == 0:
                            continue
                        good = True
                        for k in range(1, kinds):
                            if weights[a, k] + weights[b, k] < needed[k]:
                                good = False
                                break
                        if not good:
                            continue
                        for number in range(counts.size):
                            counts[number] = words[a, number] + words[b, number]
                            if (counts[number] + bias[number]) & guard[number] != 0:
                                good = False
                                break
                        if not good:
                            continue
                        block = put(words, i, j, kind, counts, state, box_i, box_j, bits, chain, table)
                        if block == -2:
                            return FULL
                        if block < 0:
                            continue
                        for k in range(kinds):
                            weights[block, k] = weights[a, k] + weights[b, k]
                        worth[block] = worth[a] + worth[b]
                        low[block], high[block] = a, b
                        next_in[block] = first_in[i * ny + j]
                        first_in[i * ny + j] = block
                        if worth[block] >= state[TARGET]:
                            state[BEST] = block
                            rise = worth[block] + step - state[TARGET]
                            state[TARGET] += rise
                            for k in range(kinds):
                                need[k] += rise * per_worth
                                needed[k] += rise * per_worth
            state[PARTNER] += 1
        state[PARTNER] = -1
        state[BOX] += 1
    return FINISHED


@compiled
def sifted(state: Any, ids: Any, boxes: Any, top: Any, weights: Any, outer: Any, need: Any) -> None:
    """Drop listed blocks that no longer reach what is needed, and boxes left without any."""
    kept_boxes, kept_ids = 0, 0
    for number in range(state[BOXES]):
        i, j = boxes[number, 0], boxes[number, 1]
        first = kept_ids
        start, end = boxes[number, 2], boxes[number, 3]
        for k in range(need.size):
            top[kept_boxes, k] = -1
        for place in range(start, end):
            block = ids[place]
            good = True
            for k in range(need.size):
                good = good and weights[block, k] + outer[k, i, j] >= need[k]
            if good:
                ids[kept_ids] = block
                kept_ids += 1
                for k in range(need.size):
                    top[kept_boxes, k] = max(top[kept_boxes, k], weights[block, k])
        if kept_ids > first:
            boxes[kept_boxes, 0], boxes[kept_boxes, 1], boxes[kept_boxes, 2], boxes[kept_boxes, 3] = i, j, first, kept_ids
            kept_boxes += 1
    state[BOXES], state[LISTED] = kept_boxes, kept_ids


@compiled
def own_best(state: Any, boxes: Any, top: Any, order: Any, first_in: Any, next_in: Any, bits: Any, weights: Any,
             out: Any) -> None:  # fmt: skip
    """out[k, i, j]: the greatest weight of the blocks in a box, listed ones or, from state[BOX] on, all that wait."""
    ny = out.shape[2]
    for number in range(state[BOXES]):
        for k in range(out.shape[0]):
            out[k, boxes[number, 0], boxes[number, 1]] = top[number, k]
    for place in range(state[BOX], order.size):
        box = order[place]
        at = first_in[box]
        while at >= 0:
            if bits[at] & DEAD == 0:
                for k in range(out.shape[0]):
                    out[k, box // ny, box % ny] = max(out[k, box // ny, box % ny], weights[at, k])
            at = next_in[at]


@compiled
def inner_table(xs: Any, ys: Any, under_x: Any, under_y: Any, own: Any, done: int) -> Any:
    """The greatest weight in every box: of a block known there, or, where the area is above `done`, of a join.

    `own`: the greatest weight of the known blocks of a box; up to the area `done` there are no others. `under_x[i, k]`
    is the last size that fits into xs[i] beside xs[k].
    """
    nx, ny = xs.size, ys.size
    table = np.zeros((nx, ny), np.int64)
    gains = np.zeros(nx, np.bool_)
    for i in range(nx):
        row = table[i]
        start = 0
        while start < ny and xs[i] * ys[start] <= done:
            start += 1
        if i > 0:
            for j in range(ny):
                row[j] = table[i - 1, j]
        for j in range(ny):
            row[j] = max(row[j], own[i, j])
        if start < ny:
            for k in range(1, i + 1):
                if 2 * xs[k] > xs[i]:
                    break
                if not gains[k]:
                    continue
                left, right = table[k], table[under_x[i, k]]
                for j in range(start, ny):
                    total = left[j] + right[j]
                    if total > row[j]:
                        row[j] = total
        for j in range(1, ny):
            best = max(row[j], row[j - 1])
            if j >= start:
                for k in range(1, j + 1):
                    if 2 * ys[k] > ys[j]:
                        break
                    if row[k] > row[k - 1]:
                        best = max(best, row[k] + row[under_y[j, k]])
            row[j] = best
        if i > 0:
            for j in range(ny):
                if row[j] > table[i - 1, j]:
                    gains[i] = True
                    break
    return table


@compiled
def outer_table(inner: Any, over_x: Any, over_y: Any) -> Any:
    """The greatest weight that fits around a block in the corner of the sheet, for every box of the block.

    A block, with slack around it or none, is a side of a join, the join one of a larger one, and so on up to the sheet
    (Hifi, Computers & Operations Research 24(8), 1997, from memory). `over_x[i, k]` is the first size of at least
    xs[i] + xs[k], -1 beyond the sheet.
    """
    nx, ny = inner.shape
    table = np.zeros((nx, ny), np.int64)
    best = np.zeros(ny, np.int64)
    gains = np.zeros(nx, np.bool_)
    for k in range(1, nx):
        for j in range(ny):
            if inner[k, j] > inner[k - 1, j]:
                gains[k] = True
                break
    for i in range(nx - 1, -1, -1):
        for j in range(ny):
            best[j] = 0
        for k in range(1, nx):
            at = over_x[i, k]
            if at < 0:
                break
            if not gains[k]:
                continue
            for j in range(ny):
                total = inner[k, j] + table[at, j]
                if total > best[j]:
                    best[j] = total
        for j in range(ny - 1, -1, -1):
            most = best[j]
            if i + 1 < nx:
                most = max(most, table[i + 1, j])
            if j + 1 < ny:
                most = max(most, table[i, j + 1])
            for k in range(1, ny):
                at = over_y[j, k]
                if at < 0:
                    break
                if inner[i, k] > inner[i, k - 1]:
                    most = max(most, inner[i, k] + table[i, at])
            table[i, j] = most
    return table
