"""One clear rectangle with limited copies, exactly: blocks of pieces joined two by two, from the smallest up.

Bottom-up merging after Wang, Operations Research 31(3), 1983; Viswanathan & Bagchi, Operations Research 41(4), 1993;
Hifi, Computers & Operations Research 24(8), 1997; Dolatabadi, Lodi & Monaci, Computers & Operations Research 39(1),
2012 (from memory). A block stays only where its weight, with the greatest weight that fits around it, reaches what a
layout worth the target needs. Once all blocks up to some area are known, the greatest weight in each small box is
that of the blocks left in it, which tightens every larger box, and so what must be kept.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Any

import numpy as np

from ...geometry import Box
from ...layouts import Axis, Node
from ..trees import grown, halves
from . import merging_kernels as m
from .clear import Oriented, trimmed
from .limited_bounds import Limits, Priced, limits, priced

FIRST_ROOM = 1 << 14
BYTES = 700_000_000  # for the arrays of blocks
WORK = 20_000_000  # pairs between two looks at the clock: about a tenth of a second
FIRST_PAUSE, GROWTH = 500, 1.6  # blocks listed between two tightenings
WORD = 61
EVERY = 2**40
NEVER = 2**62  # a worth
MADE = 25  # blocks made for one that stands


class Merging:
    """All blocks that a layout worth `target` or more can consist of; the best such layout, if there is one."""

    # by block: counts packed in words, weights, worth, box, the two blocks it joins, the next one in its hash chain and
    # in its box, what it is good for; and the blocks listed, box by box
    _words: Any
    _weights: Any
    _worth: Any
    _box_i: Any
    _box_j: Any
    _low: Any
    _high: Any
    _chain: Any
    _next_in: Any
    _bits: Any
    _ids: Any

    def __init__(self, problem: Limits, weighings: Sequence[Priced], target: int, step: int,
                 keep: int = EVERY, rising: bool = True) -> None:  # fmt: skip
        """`step`: worths of layouts differ by multiples of it. `keep`: blocks kept of one box, at most, those of the
        greatest first weight. Not `rising`: the target stays below what is found, for all layouts that reach it."""
        self.problem = problem
        self._weighings = weighings
        self._keep, self._step = keep, step
        self._pack()
        kinds, words = len(weighings), len(self._bias)
        self._per_block = 8 * (words + kinds + 1) + 4 * 7 + 1 + 8
        xs, ys = problem.xs, problem.ys
        self._at_x, self._at_y = (index_of(line, extent) for line, extent in ((xs, problem.width), (ys, problem.height)))
        self._over = [over(s, extent) for s, extent in ((xs, problem.width), (ys, problem.height))]
        self.need = np.array([p.need + p.per_worth * target for p in weighings], np.int64)
        self.state = np.zeros(m.SIZE, np.int64)
        self.state[m.PARTNER] = self.state[m.BEST] = -1
        self.state[m.TARGET] = target if rising else NEVER
        areas = (xs[:, None] * ys[None, :]).ravel()
        self._order = np.argsort(areas, kind="stable")
        self._areas = areas
        boxes = xs.size * ys.size
        self._first_in = np.full(boxes, -1, np.int32)
        self._boxes = np.zeros((64, 4), np.int64)
        self._top = np.zeros((64, kinds), np.int64)
        self._allocate(FIRST_ROOM)
        self._singles()
        self._pause = FIRST_PAUSE
        self._possible = True
        self.tighten()

    def _pack(self) -> None:
        """Where each count lies in the words."""
        word, bit = 0, 0
        self._field: list[tuple[int, int]] = []
        bias, guard = [0], [0]
        for quantity in self.problem.quantity:
            size = max(1, quantity.bit_length())
            if bit + size + 1 > WORD:
                word, bit = word + 1, 0
                bias.append(0)
                guard.append(0)
            self._field.append((word, bit))
            bias[word] |= (2**size - 1 - quantity) << bit
            guard[word] |= 1 << (bit + size)
            bit += size + 1
        self._bias, self._guard = np.array(bias, np.int64), np.array(guard, np.int64)

    def _allocate(self, room: int) -> None:
        """Arrays of blocks with that much room, what there was copied over."""
        used = int(self.state[m.BLOCKS])
        kinds, words = len(self._weighings), len(self._bias)
        shapes: dict[str, tuple[tuple[int, ...], Any]] = {
            "_words": ((room, words), np.int64), "_weights": ((room, kinds), np.int64), "_worth": ((room,), np.int64),
            "_box_i": ((room,), np.int32), "_box_j": ((room,), np.int32), "_low": ((room,), np.int32),
            "_high": ((room,), np.int32), "_chain": ((room,), np.int32), "_next_in": ((room,), np.int32),
            "_ids": ((room,), np.int32), "_bits": ((room,), np.int8),
        }  # fmt: skip
        for name, (shape, kind) in shapes.items():
            fresh = np.zeros(shape, kind)
            if used:
                fresh[:used] = getattr(self, name)[:used]
            setattr(self, name, fresh)
        self._table = np.full(2 * room, -1, np.int32)
        if used:
            m.rehash(self._words, used, self._table, self._chain)

    def _singles(self) -> None:
        self._blank: dict[int, int] = {}
        ny = self.problem.ys.size
        for o in self.problem.oriented:
            counts = np.zeros(len(self._bias), np.int64)
            word, bit = self._field[o.blank]
            counts[word] = 1 << bit
            i, j = int(self._at_x[o.width]), int(self._at_y[o.height])
            block = m.put(self._words, i, j, m.ROW_PART | m.COLUMN_PART, counts, self.state, self._box_i, self._box_j, self._bits,
                          self._chain, self._table)  # fmt: skip
            if block < 0:
                continue
            self._blank[block] = o.blank
            self._weights[block] = [p.weights[o.blank] for p in self._weighings]
            self._worth[block] = self.problem.worth[o.blank]
            self._low[block], self._high[block] = -1, o.turn
            self._next_in[block] = self._first_in[i * ny + j]
            self._first_in[i * ny + j] = block
            if self._worth[block] >= self.state[m.TARGET]:
                self.state[m.BEST] = block
                rise = int(self._worth[block]) + self._step - int(self.state[m.TARGET])
                self.state[m.TARGET] += rise
                self.need += np.array([rise * p.per_worth for p in self._weighings], np.int64)

    def tighten(self) -> None:
        """The tables of what fits within and around a box, from the blocks known."""
        kinds = len(self._weighings)
        xs, ys = self.problem.xs, self.problem.ys
        own = np.zeros((kinds, xs.size, ys.size), np.int64)
        m.own_best(self.state, self._boxes, self._top, self._order, self._first_in, self._next_in, self._bits, self._weights, own)
        at = int(self.state[m.BOX])
        done = int(self._areas[self._order[at]]) - 1 if at < self._order.size else int(self._areas[-1])
        self.inner = np.stack([m.inner_table(xs, ys, *self.problem.under, own[k], done) for k in range(kinds)])
        self.outer = np.stack([m.outer_table(self.inner[k], *self._over) for k in range(kinds)])
        self._possible = bool((self.inner[:, -1, -1] >= self.need).all())
        m.sifted(self.state, self._ids, self._boxes, self._top, self._weights, self.outer, self.need)

    def run(self, most: int, over: Callable[[], bool], better: Callable[[int], None]) -> bool:
        """Join until all is done; whether it is, or more than `most` blocks stood, or 25 times as many were made, first.

        Also stops where `over` is true. `better` hears of every better layout found, by its worth.
        """
        known = -1
        while self._possible:
            if self.state[m.BEST] != known:
                known = int(self.state[m.BEST])
                better(int(self._worth[known]))
            if self.state[m.LISTED] > most or self.state[m.BLOCKS] > MADE * most or over():
                return False
            if self._boxes.shape[0] < self._pause:  # there are no more boxes than listed blocks
                more = self._pause - self._boxes.shape[0]
                self._boxes = np.concatenate((self._boxes, np.zeros((more, 4), np.int64)))
                self._top = np.concatenate((self._top, np.zeros((more, len(self._weighings)), np.int64)))
            ended = m.merge(self.problem.xs, self.problem.ys, self._at_x, self._at_y, self.outer, self.need,
                            self._weighings[0].per_worth, self._step, self._order, self.state, self._words, self._weights,
                            self._worth, self._box_i, self._box_j, self._low, self._high, self._bits, self._chain, self._table,
                            self._first_in, self._next_in, self._ids, self._boxes, self._top, self._bias, self._guard, self._keep,
                            WORK, self._pause)  # fmt: skip
            if ended == m.FULL:
                if 2 * self._box_i.size * self._per_block > BYTES:
                    return self._last(better, known, False)
                self._allocate(2 * self._box_i.size)
            elif ended == m.AT_PAUSE:
                before = int(self.state[m.LISTED])
                self.tighten()
                self._pause = max(FIRST_PAUSE, int(GROWTH * self.state[m.LISTED]), int(before * 1.1))
            elif ended == m.FINISHED:
                return self._last(better, known, True)
        return self._last(better, known, True)

    def _last(self, better: Callable[[int], None], known: int, done: bool) -> bool:
        if self.state[m.BEST] != known:
            better(int(self._worth[self.state[m.BEST]]))
        return done

    def made(self) -> int:
        """How many blocks were made."""
        return int(self.state[m.BLOCKS])

    def exact(self) -> bool:
        """Whether no block was left out for being one too many of its box."""
        return not self.state[m.NARROWED]

    def reaching(self) -> tuple[Any, Any]:
        """After a whole run whose target stayed: the layouts that reach it, and how many of each blank (rows) they have."""
        used = int(self.state[m.BLOCKS])
        good = (self._bits[:used] & m.DEAD == 0) & (self._weights[:used] >= self.need).all(axis=1)
        blocks = np.flatnonzero(good)
        counts = np.empty((blocks.size, len(self._field)), np.int64)
        for blank, ((word, bit), quantity) in enumerate(zip(self._field, self.problem.quantity, strict=True)):
            counts[:, blank] = self._words[blocks, word] >> bit & (1 << max(1, quantity.bit_length())) - 1
        return blocks, counts

    def tree(self, box: Box, block: int | None = None) -> Node:
        """The best layout found, or a block, as cuts of the box (in ticks), pieces to the low-left corner of each part."""
        by_turn = {(o.blank, o.turn): o for o in self.problem.oriented}
        unit_x, unit_y = self.problem.unit

        def step(state: tuple[int, Box]) -> Node | tuple[Box, Axis, int, tuple[int, Box], tuple[int, Box]]:
            block, here = state
            low, high = int(self._low[block]), int(self._high[block])
            if low < 0:
                o = by_turn[self._blank[block], high]
                return trimmed(here, Oriented(o.blank, o.name, o.turn, o.width * unit_x, o.height * unit_y), here[0], here[1])
            axis: Axis = "y" if self._bits[block] & m.UPWARD else "x"
            if axis == "x":
                at = here[0] + int(self.problem.xs[self._box_i[low]]) * unit_x
            else:
                at = here[1] + int(self.problem.ys[self._box_j[low]]) * unit_y
            first, second = halves(here, axis, at)
            return here, axis, at, (low, first), (high, second)

        return grown((int(self.state[m.BEST]) if block is None else block, box), step)


def index_of(sizes: Any, extent: int) -> Any:
    """The index of every length up to `extent` among the sizes, -1 where it is none of them."""
    out = np.full(extent + 1, -1, np.int32)
    out[sizes] = np.arange(sizes.size, dtype=np.int32)
    return out


def over(sizes: Any, extent: int) -> Any:
    """over[i, k]: the first size of at least sizes[i] + sizes[k]; -1 where that is more than the extent, or than all."""
    total = sizes[:, None] + sizes[None, :]
    out = np.searchsorted(sizes, total).astype(np.int32)
    out[(total > extent) | (out == sizes.size)] = -1
    return out


def warm() -> None:
    """Load or compile what only this method needs, before the clock starts."""
    if m.merge.signatures:  # type: ignore[attr-defined]
        return
    problem = limits(2, 2, [Oriented(0, "-", 0, 1, 2)], [1], [2])
    assert problem is not None
    merging = Merging(problem, [priced(problem, [0.0])], 1, 1)
    merging.tighten()
    merging.run(EVERY, lambda: False, lambda worth: None)
    m.rehash(merging._words, int(merging.state[m.BLOCKS]), merging._table, merging._chain)
