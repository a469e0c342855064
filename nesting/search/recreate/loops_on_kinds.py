"""Ruin and recreate on sheets of several kinds: which sheets are open is part of what is searched.

After Gardeyn & Wauters (see `loops`): a limit on the total cost of the open sheets, sheets that lose all their pieces
are closed, and a piece that fits nowhere may open a sheet of a kind drawn at random. A fixed set of sheets is the same
search with that set as the whole stock and no limit on cost.

Arrays beside those of `loops`: `roots` and `kinds` of the open sheets (the first `opened`), `left` sheets to be had of
each kind, `money` (one number) still to be spent, `sides` (width, height), `costs` and `chance` (weight when drawn) of
each kind, `turns[kind, piece]`: 1 where the piece fits as it is, 2 where it fits turned, 3 for both.
"""

from __future__ import annotations

from typing import Any

import numpy as np

from ..kernels import compiled
from .loops import (
    ABSENT,
    LEFT,
    NEED_H,
    NEED_W,
    ORDER_RULES,
    PARENT,
    RIGHT,
    ROOM_H,
    ROOM_W,
    areas_on,
    ordered,
    put_beside,
    random_number,
    room_down,
    ruin,
)


@compiled
def close_empty(tree: Any, roots: Any, kinds: Any, opened: int, left: Any, money: Any, costs: Any) -> int:
    """Give sheets without pieces back and close ranks; how many stay open."""
    slot = 0
    while slot < opened:
        if roots[slot] != ABSENT:
            slot += 1
            continue
        left[kinds[slot]] += 1
        money[0] += costs[kinds[slot]]
        opened -= 1
        roots[slot], kinds[slot] = roots[opened], kinds[opened]
        roots[opened] = ABSENT
        if roots[slot] != ABSENT:
            tree[PARENT, roots[slot]] = -1 - slot
    return opened


@compiled
def drawn_kind(piece: int, turns: Any, left: Any, money: int, costs: Any, chance: Any, state: Any) -> int:
    """A kind of sheet that may still be opened and takes the piece, drawn by `chance`; ABSENT where there is none."""
    total = 0.0
    for kind in range(left.size):
        if left[kind] > 0 and costs[kind] <= money and turns[kind, piece] > 0:
            total += chance[kind]
    at = random_number(state) * total
    found = ABSENT
    for kind in range(left.size):
        if left[kind] > 0 and costs[kind] <= money and turns[kind, piece] > 0:
            found = kind
            at -= chance[kind]
            if at < 0:
                break
    return found


@compiled
def refill(tree: Any, roots: Any, kinds: Any, opened: int, left: Any, money: Any, out: Any, out_size: int, sizes: Any,
           turns: Any, sides: Any, costs: Any, chance: Any, free: Any, free_size: int, used: Any, stack: Any,
           by_area: bool, blink: float, state: Any) -> Any:  # fmt: skip
    """Put the pieces of `out`, in that order, each where it fits best or on a new sheet; the rest stay in `out`.

    `used` takes the areas of the pieces on every open sheet. Returns how many stay out, the size of the list of free
    inner nodes and the number of open sheets.
    """
    pieces = sizes.shape[0]
    areas_on(tree, roots, opened, sizes, used, stack)
    still = 0
    for turn in range(out_size):
        piece = out[turn]
        area = np.int64(sizes[piece, 0]) * np.int64(sizes[piece, 1])
        best, best_node, best_w, best_h, best_y = np.inf, ABSENT, 0, 0, 0
        for slot in range(opened):
            kind = kinds[slot]
            mask = turns[kind, piece]  # a turn that one kind of sheet allows may be forbidden on another (grain)
            if mask == 0 or np.int64(sides[kind, 0]) * np.int64(sides[kind, 1]) - used[slot] < area:
                continue
            stack[0] = roots[slot]
            size = 1
            while size > 0:
                size -= 1
                node = stack[size]
                room_w, room_h = tree[ROOM_W, node], tree[ROOM_H, node]
                strip_w = room_w - tree[NEED_W, node]
                strip_h = room_h - tree[NEED_H, node]
                fits = False
                for way in range(2):
                    w, h = sizes[piece, way], sizes[piece, 1 - way]
                    if mask & (1 << way) == 0 or room_w < w or room_h < h:
                        continue
                    fits = True
                    if strip_w >= w:
                        score = float(strip_w) * room_h if by_area else float(min(strip_w - w, room_h - h))
                        if score < best and random_number(state) >= blink:
                            best, best_node, best_w, best_h, best_y = score, node, w, h, 0
                    if strip_h >= h:
                        score = float(room_w) * strip_h if by_area else float(min(room_w - w, strip_h - h))
                        if score < best and random_number(state) >= blink:
                            best, best_node, best_w, best_h, best_y = score, node, w, h, 1
                if fits and node >= pieces:
                    stack[size], stack[size + 1] = tree[LEFT, node], tree[RIGHT, node]
                    size += 2
        if best_node == ABSENT:
            kind = drawn_kind(piece, turns, left, money[0], costs, chance, state)
            if kind == ABSENT:
                out[still] = piece
                still += 1
                continue
            way = 0 if turns[kind, piece] == 1 or (turns[kind, piece] == 3 and random_number(state) < 0.5) else 1
            left[kind] -= 1
            money[0] -= costs[kind]
            roots[opened], kinds[opened] = piece, kind
            tree[PARENT, piece] = -1 - opened
            tree[NEED_W, piece], tree[NEED_H, piece] = sizes[piece, way], sizes[piece, 1 - way]
            room_down(tree, piece, sides[kind, 0], sides[kind, 1], pieces, stack)
            used[opened] = area
            opened += 1
            continue
        free_size -= 1
        slot = put_beside(tree, roots, best_node, piece, best_w, best_h, best_y, free[free_size])
        used[slot] += area
        room_down(tree, roots[slot], sides[kinds[slot], 0], sides[kinds[slot], 1], pieces, stack)
    return still, free_size, opened


@compiled
def price_of(kinds: Any, opened: int, sides: Any, used: Any, middling: float, out: Any, out_size: int, prices: Any,
             spread: float) -> float:  # fmt: skip
    """What the search lowers: prices of the pieces left out, less a little for uneven free space.

    Free space in shares of a `middling` sheet's area.
    """
    total = 0.0
    for turn in range(out_size):
        total += prices[out[turn]]
    for slot in range(opened):
        free = float(sides[kinds[slot], 0]) * float(sides[kinds[slot], 1]) - used[slot]
        total -= spread * (free / middling) ** 2
    return total


@compiled
def rounds_on_kinds(tree: Any, roots: Any, kinds: Any, opened: int, left: Any, money: Any, out: Any, out_size: int, sizes: Any,
                    turns: Any, sides: Any, costs: Any, chance: Any, prices: Any, middling: float,
                    free: Any, free_size: int, history: Any, at: int, current: float, count: int, spread: float,
                    whole_share: float, noise: float, blink: float, state: Any) -> Any:  # fmt: skip
    """Ruin and recreate `count` times or until no piece is left out, by late acceptance (Burke & Bykov 2017).

    All arrays are changed in place. Returns pieces left out, free inner nodes, open sheets, place in the history and
    the current price.
    """
    pieces = sizes.shape[0]
    stack = np.empty(2 * pieces + 4, np.int32)
    keys = np.empty(pieces + 1, np.float64)
    used = np.empty(max(1, roots.size), np.int64)
    old_tree, old_roots, old_out, old_free = tree.copy(), roots.copy(), out.copy(), free.copy()
    old_kinds, old_left, old_money = kinds.copy(), left.copy(), money.copy()
    old_out_size, old_free_size, old_opened = out_size, free_size, opened
    for _ in range(count):
        if out_size == 0:
            break
        many = 1 + int(random_number(state) * 3.0)
        out_size, free_size = ruin(tree, roots, opened, pieces, out, out_size, free, free_size, stack, many, whole_share, state)
        opened = close_empty(tree, roots, kinds, opened, left, money, costs)
        ordered(out, out_size, sizes, keys, int(random_number(state) * ORDER_RULES), noise, state)
        by_area = random_number(state) < 0.5
        out_size, free_size, opened = refill(tree, roots, kinds, opened, left, money, out, out_size, sizes, turns, sides,
                                             costs, chance, free, free_size, used, stack, by_area, blink, state)  # fmt: skip
        price = price_of(kinds, opened, sides, used, middling, out, out_size, prices, spread)
        place = at % history.size
        if price <= current or price <= history[place]:
            current = price
            old_tree[:] = tree
            old_roots[:] = roots
            old_kinds[:] = kinds
            old_left[:] = left
            old_money[:] = money
            old_out[:] = out
            old_free[:] = free
            old_out_size, old_free_size, old_opened = out_size, free_size, opened
        else:
            tree[:] = old_tree
            roots[:] = old_roots
            kinds[:] = old_kinds
            left[:] = old_left
            money[:] = old_money
            out[:] = old_out
            free[:] = old_free
            out_size, free_size, opened = old_out_size, old_free_size, old_opened
        history[place] = current
        at += 1
    return out_size, free_size, opened, at, current
