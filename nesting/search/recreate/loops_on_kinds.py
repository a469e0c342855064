"""Ruin and recreate on sheets of several kinds: which sheets are open is part of what is searched.

After Gardeyn & Wauters (see `loops`): a limit on the total cost of the open sheets, sheets that lose all their pieces
are closed, and a piece that fits nowhere may open a sheet of a kind drawn at random. A fixed set of sheets is the same
search with that set as the whole stock and no limit on cost.

Arrays beside those of `loops`: `roots` and `kinds` of the open sheets (the first `opened`), `left` sheets to be had of
each kind, `money` (one number) still to be spent, `sides` (width, height), `costs` and `chance` (weight when drawn) of
each kind.
"""

from __future__ import annotations

from typing import Any

import numpy as np

from ..kernels import compiled
from .loops import (
    ABSENT,
    ORDER_RULES,
    PARENT,
    begin_sheet,
    best_place,
    copied,
    cost_of,
    free_areas,
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
           turns: Any, sides: Any, costs: Any, chance: Any, free: Any, free_size: int, spare: Any, stack: Any,
           by_area: bool, blink: float, state: Any) -> Any:  # fmt: skip
    """Put the pieces of `out`, in that order, each where it fits best or on a new sheet; the rest stay in `out`.

    `spare` takes the free areas of the open sheets. Returns how many stay out, the size of the list of free
    inner nodes and the number of open sheets.
    """
    pieces = sizes.shape[0]
    free_areas(tree, roots, opened, kinds, sides, pieces, spare, stack)
    still = 0
    for turn in range(out_size):
        piece = out[turn]
        node, w, h, above = best_place(tree, roots, opened, kinds, spare, piece, sizes, turns, stack, by_area, blink, state)
        if node != ABSENT:
            free_size -= 1
            slot = put_beside(tree, roots, node, piece, w, h, above, free[free_size])
        else:
            kind = drawn_kind(piece, turns, left, money[0], costs, chance, state)
            if kind == ABSENT:
                out[still] = piece
                still += 1
                continue
            left[kind] -= 1
            money[0] -= costs[kind]
            slot = opened
            opened += 1
            kinds[slot] = kind
            spare[slot] = np.int64(sides[kind, 0]) * np.int64(sides[kind, 1])
            way = 0 if turns[kind, piece] == 1 or (turns[kind, piece] == 3 and random_number(state) < 0.5) else 1
            begin_sheet(tree, roots, slot, piece, sizes[piece, way], sizes[piece, 1 - way])
        spare[slot] -= np.int64(sizes[piece, 0]) * np.int64(sizes[piece, 1])
        room_down(tree, roots[slot], sides[kinds[slot], 0], sides[kinds[slot], 1], pieces, stack)
    return still, free_size, opened


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
    spare = np.empty(max(1, roots.size), np.int64)
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
                                             costs, chance, free, free_size, spare, stack, by_area, blink, state)  # fmt: skip
        price = cost_of(opened, spare, middling, out, out_size, prices, spread)
        place = at % history.size
        if price <= current or price <= history[place]:
            current = price
            copied(tree, roots, out, free, old_tree, old_roots, old_out, old_free)
            old_kinds[:] = kinds
            old_left[:] = left
            old_money[:] = money
            old_out_size, old_free_size, old_opened = out_size, free_size, opened
        else:
            copied(old_tree, old_roots, old_out, old_free, tree, roots, out, free)
            kinds[:] = old_kinds
            left[:] = old_left
            money[:] = old_money
            out_size, free_size, opened = old_out_size, old_free_size, old_opened
        history[place] = current
        at += 1
    return out_size, free_size, opened, at, current
