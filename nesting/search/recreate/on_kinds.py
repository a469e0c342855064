"""The state of a ruin and recreate search on sheets of several kinds, and what it starts from."""

from __future__ import annotations

from copy import copy
from dataclasses import dataclass, replace
from fractions import Fraction
from typing import Any

import numpy as np

from ...geometry import Box
from ...layouts import Node
from ..pile.columns import Pool
from ..sheet.clear import Oriented
from ..worths import whole
from . import loops as r
from .as_cuts import sheet_as_cuts
from .loops_on_kinds import close_empty, refill, rounds_on_kinds
from .pace import first_state, rounds_at_once

NO_LIMIT = 2**60
GROWTH, STAGE = 3, 400  # of the length of the late acceptance, rounds a stage in lengths
SPREAD, WHOLE, NOISE, BLINK = 0.02, 0.3, 0.2, 0.02


@dataclass(frozen=True, eq=False)
class Kinds:
    """Pieces and kinds of sheet as arrays: kind k is class k of the pool; sizes in ticks, shares of a middling sheet.

    `costs` are whole numbers, cost x `scale`; `counts` has no kind without end: one sheet a piece is enough. `ways[k][b]`:
    how blank b may lie on kind k; `turns`: see `loops_on_kinds`. Pieces that fit no kind are left out from the start.
    """

    boxes: tuple[Box, ...]
    ways: tuple[tuple[tuple[Oriented, ...], ...], ...]
    blank_of: tuple[int, ...]
    sizes: Any
    turns: Any
    sides: Any
    costs: Any
    scale: Fraction
    counts: Any
    areas: Any
    room: Any
    middling: float
    worth: Any


def kinds_of(pool: Pool) -> Kinds:
    """The arrays of a pool whose classes are all clear rectangles. Raises ValueError where one is not."""
    grounds = []
    for group in pool.classes:
        place = group.single.clear_ground()
        if place is None:
            raise ValueError("a sheet that is not clear")
        grounds.append(place)
    fitting = {o.blank for c in pool.classes for o in c.single.oriented()}
    blank_of = [i for i, b in enumerate(pool.blanks) if i in fitting for _ in range(b.quantity or 0)]
    sides = [(g.usable[2] - g.usable[0], g.usable[3] - g.usable[1]) for g in grounds]
    turns = np.zeros((len(grounds), len(blank_of)), np.uint8)
    all_ways: list[tuple[tuple[Oriented, ...], ...]] = []
    for kind, group in enumerate(pool.classes):
        of_blank: list[dict[tuple[int, int], Oriented]] = [{} for _ in pool.blanks]
        for o in group.single.oriented():
            of_blank[o.blank].setdefault((o.width, o.height), o)
        masks = [sum(1 if size == (b.width, b.height) else 2 for size in found)
                 for found, b in zip(of_blank, pool.blanks, strict=True)]  # fmt: skip
        turns[kind] = np.array(masks, np.uint8)[blank_of]
        all_ways.append(tuple(tuple(found.values()) for found in of_blank))
    costs, scale = whole([c.cost for c in pool.classes], len(blank_of) + 1)
    n = len(blank_of)
    counts = [n if c.count is None else min(n, c.count) for c in pool.classes]
    sizes = np.array([(pool.blanks[i].width, pool.blanks[i].height) for i in blank_of], np.int32).reshape(-1, 2)
    room = np.array([float(w) * float(h) for w, h in sides])
    middling = float(np.mean(room))
    areas = sizes[:, 0].astype(np.float64) * sizes[:, 1] / middling
    worth = np.array([float(pool.blanks[i].worth or 0) for i in blank_of])
    return Kinds(tuple(g.usable for g in grounds), tuple(all_ways), tuple(blank_of), sizes, turns,
                 np.array(sides, np.int32).reshape(-1, 2), np.array(costs, np.int64), scale, np.array(counts, np.int64), areas,
                 room / middling, middling, worth)  # fmt: skip


def narrowed(kinds: Kinds, kind: int, width: int, height: int) -> Kinds:
    """One kind more, the last: a sheet of a known kind of which only width x height may be used; one of it."""
    w, h = kinds.sizes[:, 0], kinds.sizes[:, 1]
    upright, turned = (w <= width) & (h <= height), (h <= width) & (w <= height)
    turns = kinds.turns[kind] & (upright.astype(np.uint8) + 2 * turned.astype(np.uint8))
    room = kinds.room[kind] * (width * height) / (float(kinds.sides[kind, 0]) * float(kinds.sides[kind, 1]))
    return replace(kinds, boxes=(*kinds.boxes, kinds.boxes[kind]), ways=(*kinds.ways, kinds.ways[kind]),
                   turns=np.vstack((kinds.turns, turns)), sides=np.vstack((kinds.sides, np.array([(width, height)], np.int32))),
                   costs=np.append(kinds.costs, kinds.costs[kind]), counts=np.append(kinds.counts, 1),
                   room=np.append(kinds.room, room))  # fmt: skip


class Run:
    """One search: a stock of sheets, a limit on what they may cost together, prices of pieces left out."""

    def __init__(self, kinds: Kinds, counts: Any, limit: int, prices: Any, seed: int, length: int) -> None:
        """`counts` of each kind to be had; `limit` on scaled cost, itself allowed; `length` of the late acceptance."""
        n = len(kinds.blank_of)
        self.kinds = kinds
        self.prices = prices
        self.chance = kinds.room.copy()  # large sheets waste less
        self._tree = np.full((r.FIELDS, 2 * n), r.ABSENT, np.int32)
        self._roots = np.full(n + 1, r.ABSENT, np.int32)
        self._kinds = np.zeros(n + 1, np.int32)
        self._left = np.array(counts, np.int64)
        self._money = np.array([limit], np.int64)
        self._free = np.arange(2 * n - 1, n - 1, -1).astype(np.int32)
        self._free_size = n
        self._out = np.zeros(n + 4, np.int32)
        self._out[:n] = np.argsort(-kinds.areas, kind="stable")
        self.left_out, self.opened = n, 0
        self._state = first_state(seed)
        self.start_late_acceptance(length)
        self._refill()

    def start_late_acceptance(self, length: int) -> None:
        """Forget the prices met so far."""
        self._history = np.full(length, np.inf)
        self._at, self.price = 0, np.inf

    def stage_over(self) -> bool:
        """Whether this length of the late acceptance has had its rounds."""
        return bool(self._at >= STAGE * self._history.size)

    def lengthen(self) -> None:
        """Go on with a longer late acceptance from here."""
        self._history = np.full(GROWTH * self._history.size, self.price)
        self._at = 0

    def _refill(self) -> None:
        k = self.kinds
        stack = np.empty(2 * len(k.blank_of) + 4, np.int32)
        self.left_out, self._free_size, self.opened = refill(
            self._tree, self._roots, self._kinds, self.opened, self._left, self._money, self._out, self.left_out, k.sizes,
            k.turns, k.sides, k.costs, self.chance, self._free, self._free_size, np.empty(self._roots.size, np.int64), stack,
            False, 0.0, self._state)  # fmt: skip

    def advance(self, rounds: int) -> bool:
        """So many rounds more, or fewer where they are slow; whether all pieces are placed."""
        k = self.kinds
        at_once = rounds_at_once(rounds, len(k.blank_of), self.opened)
        self.left_out, self._free_size, self.opened, self._at, self.price = rounds_on_kinds(
            self._tree, self._roots, self._kinds, self.opened, self._left, self._money, self._out, self.left_out, k.sizes,
            k.turns, k.sides, k.costs, self.chance, self.prices, k.middling, self._free,
            self._free_size, self._history, self._at, self.price, at_once, SPREAD, WHOLE, NOISE, BLINK,
            self._state)  # fmt: skip
        return bool(self.left_out == 0)

    def cost(self) -> int:
        """Scaled cost of the open sheets."""
        return int(self.kinds.costs[self._kinds[: self.opened]].sum())

    def worth_out(self) -> float:
        """The worth of the pieces left out."""
        return float(self.kinds.worth[self._out[: self.left_out]].sum())

    def lower_limit(self, limit: int) -> None:
        """Allow less cost: the sheets worst used for their cost are emptied until the limit holds."""
        k = self.kinds
        homes = self._homes()
        cost = self.cost()
        share = self._filled(homes) / np.maximum(1, k.costs[self._kinds[: self.opened]])
        for slot in sorted(range(self.opened), key=lambda s: (share[s], s)):
            if cost <= limit:
                break
            cost -= int(k.costs[self._kinds[slot]])
            self._empty(slot, homes)
        self.opened = close_empty(self._tree, self._roots, self._kinds, self.opened, self._left, self._money, k.costs)
        self._money[0] = limit - self.cost()

    def _filled(self, homes: list[int]) -> Any:
        """Area of the pieces on every open sheet."""
        filled = np.zeros(self.opened)
        for piece, home in enumerate(homes):
            if home >= 0:
                filled[home] += self.kinds.areas[piece]
        return filled

    def _empty(self, slot: int, homes: list[int]) -> None:
        for piece in (p for p, home in enumerate(homes) if home == slot):
            self._out[self.left_out] = piece
            self.left_out += 1
            self._free_size = r.take_out(self._tree, self._roots, piece, self._free, self._free_size)

    def open_kinds(self) -> list[int]:
        """The kinds of the open sheets, the one with the most free area first."""
        free = self.kinds.room[self._kinds[: self.opened]] - self._filled(self._homes())
        return [int(self._kinds[slot]) for slot in sorted(range(self.opened), key=lambda s: (-free[s], s))]

    def copy(self) -> Run:
        """Another search from the same state."""
        out = copy(self)
        for name, value in vars(self).items():
            if isinstance(value, np.ndarray):
                setattr(out, name, value.copy())
        return out

    def exchange(self, kind: int, kinds: Kinds) -> None:
        """Go on with the open sheets alone, the emptiest of a kind replaced by one of the last of `kinds`, no limit on cost."""
        homes = self._homes()
        free = self.kinds.room[self._kinds[: self.opened]] - self._filled(homes)
        slot = max((s for s in range(self.opened) if self._kinds[s] == kind), key=lambda s: (free[s], -s))
        self._empty(slot, homes)
        self.opened = close_empty(self._tree, self._roots, self._kinds, self.opened, self._left, self._money, self.kinds.costs)
        self.kinds = kinds
        self._left = np.zeros(len(kinds.boxes), np.int64)
        self._left[-1] = 1
        self.chance = np.append(self.chance, 1.0)
        self._money[0] = NO_LIMIT
        self.start_late_acceptance(self._history.size)

    def exchange_back(self, kind: int, kinds: Kinds) -> None:
        """The sheet of the last kind is one of `kind` again, all of it, its pieces where they are."""
        stack = np.empty(2 * len(kinds.blank_of) + 4, np.int32)
        for slot in range(self.opened):
            if self._kinds[slot] == len(kinds.boxes):
                self._kinds[slot] = kind
                r.room_down(self._tree, int(self._roots[slot]), int(kinds.sides[kind, 0]), int(kinds.sides[kind, 1]),
                            len(kinds.blank_of), stack)  # fmt: skip
        self.kinds = kinds
        self._left, self.chance = self._left[:-1].copy(), self.chance[:-1].copy()

    def _homes(self) -> list[int]:
        """The open sheet of every piece; -1 where it is left out."""
        return [r.root_of(self._tree, p) if self._tree[r.ROOM_W, p] != r.ABSENT else -1 for p in range(len(self.kinds.blank_of))]

    def trees(self) -> list[tuple[int, Node]]:
        """Every open sheet: its kind and its cuts."""
        k = self.kinds
        return [(int(kind), sheet_as_cuts(self._tree, [k.ways[kind][b] for b in k.blank_of], int(root), k.boxes[kind]))
                for root, kind in zip(self._roots[: self.opened], self._kinds[: self.opened], strict=True)]  # fmt: skip
