"""Ruin and recreate on cut trees: many different pieces, few copies, in as few alike sheets as can be.

After Gardeyn & Wauters, "A goal-driven ruin and recreate heuristic for the 2D variable-sized bin packing problem with
guillotine constraints", European J. Oper. Res. 301(2), 2022; the tree without free leaves is design.md section 5's. One
sheet is a binary tree whose leaves are pieces and whose inner nodes lay two parts side by side (along x) or one above
the other. A node needs what its parts need; it may grow to its need and the slack handed down to it, so a piece may be
put beside any node that it still fits with, and cuts that are not fixed yet stay open.
"""

from __future__ import annotations

from typing import Any

import numpy as np

from ..kernels import compiled

PARENT, LEFT, RIGHT, ALONG_Y, NEED_W, NEED_H, ROOM_W, ROOM_H = range(8)
FIELDS = 8
ABSENT = -1
ORDER_RULES = 6


@compiled
def random_number(state: Any) -> float:
    """Uniform in [0, 1) from an xorshift state of one 64-bit word (Marsaglia, J. Stat. Softw. 8(14), 2003; from memory)."""
    x = state[0]
    x ^= x << np.uint64(13)
    x ^= x >> np.uint64(7)
    x ^= x << np.uint64(17)
    state[0] = x
    return float(x >> np.uint64(11)) / 9007199254740992.0


@compiled
def needs_up(tree: Any, node: int) -> None:
    """Needs of a node and all above it from their parts."""
    while node >= 0:
        a, b = tree[LEFT, node], tree[RIGHT, node]
        if tree[ALONG_Y, node] == 1:
            tree[NEED_W, node] = max(tree[NEED_W, a], tree[NEED_W, b])
            tree[NEED_H, node] = tree[NEED_H, a] + tree[NEED_H, b]
        else:
            tree[NEED_W, node] = tree[NEED_W, a] + tree[NEED_W, b]
            tree[NEED_H, node] = max(tree[NEED_H, a], tree[NEED_H, b])
        node = tree[PARENT, node]


@compiled
def room_down(tree: Any, root: int, width: int, height: int, pieces: int, stack: Any) -> None:
    """Room of every node of a sheet: its need and the slack handed down."""
    tree[ROOM_W, root], tree[ROOM_H, root] = width, height
    stack[0] = root
    size = 1
    while size > 0:
        size -= 1
        node = stack[size]
        if node < pieces:
            continue
        spare_w = tree[ROOM_W, node] - tree[NEED_W, node]
        spare_h = tree[ROOM_H, node] - tree[NEED_H, node]
        for side in range(LEFT, RIGHT + 1):
            child = tree[side, node]
            if tree[ALONG_Y, node] == 1:
                tree[ROOM_W, child] = tree[ROOM_W, node]
                tree[ROOM_H, child] = tree[NEED_H, child] + spare_h
            else:
                tree[ROOM_W, child] = tree[NEED_W, child] + spare_w
                tree[ROOM_H, child] = tree[ROOM_H, node]
            stack[size] = child
            size += 1


@compiled
def root_of(tree: Any, node: int) -> int:
    """The sheet a node lies on: roots have parent -1 - sheet."""
    while tree[PARENT, node] >= 0:
        node = tree[PARENT, node]
    return int(-1 - tree[PARENT, node])


@compiled
def hang(tree: Any, roots: Any, parent: int, old: int, new: int) -> None:
    """Let `new` take the place of `old` below a parent (or as the root of a sheet)."""
    tree[PARENT, new] = parent
    if parent < 0:
        roots[-1 - parent] = new
    elif tree[LEFT, parent] == old:
        tree[LEFT, parent] = new
    else:
        tree[RIGHT, parent] = new


@compiled
def put_beside(tree: Any, roots: Any, place: int, piece: int, w: int, h: int, along_y: int, inner: int) -> int:
    """Put a piece beside a node under a new inner node; the sheet it went to."""
    hang(tree, roots, tree[PARENT, place], place, inner)
    tree[LEFT, inner], tree[RIGHT, inner], tree[ALONG_Y, inner] = place, piece, along_y
    tree[PARENT, place] = tree[PARENT, piece] = inner
    tree[NEED_W, piece], tree[NEED_H, piece] = w, h
    needs_up(tree, inner)
    return root_of(tree, inner)


@compiled
def take_out(tree: Any, roots: Any, piece: int, free: Any, free_size: int) -> int:
    """Take a piece out: its sibling takes its parent's place. The new size of the list of free inner nodes."""
    parent = tree[PARENT, piece]
    tree[ROOM_W, piece] = ABSENT
    if parent < 0:
        roots[-1 - parent] = ABSENT
        return free_size
    sibling = tree[RIGHT, parent] if tree[LEFT, parent] == piece else tree[LEFT, parent]
    above = tree[PARENT, parent]
    hang(tree, roots, above, parent, sibling)
    needs_up(tree, above)
    tree[ROOM_W, parent] = ABSENT
    free[free_size] = parent
    return free_size + 1


@compiled
def free_areas(tree: Any, roots: Any, sheets: int, kinds: Any, sides: Any, pieces: int, spare: Any, stack: Any) -> None:
    """The area of every sheet that no piece lies on, into `spare`. `kinds` of the sheets, `sides` of each kind."""
    for sheet in range(sheets):
        kind = kinds[sheet]
        spare[sheet] = np.int64(sides[kind, 0]) * np.int64(sides[kind, 1])
        if roots[sheet] == ABSENT:
            continue
        stack[0] = roots[sheet]
        size = 1
        while size > 0:
            size -= 1
            node = stack[size]
            if node < pieces:
                spare[sheet] -= np.int64(tree[NEED_W, node]) * np.int64(tree[NEED_H, node])
            else:
                stack[size], stack[size + 1] = tree[LEFT, node], tree[RIGHT, node]
                size += 2


@compiled
def best_place(tree: Any, roots: Any, sheets: int, kinds: Any, spare: Any, piece: int, sizes: Any, turns: Any, stack: Any,
               by_area: bool, blink: float, state: Any) -> Any:  # fmt: skip
    """The best place for a piece beside a node of any sheet.

    `turns[kind, piece]`: 1 where the piece fits as it is, 2 where it fits turned, 3 for both (a turn that one kind of sheet
    allows may be forbidden on another: grain). The best is the least free area left (`by_area`) or the least short side; a
    place is passed over with probability `blink`. Sheets with too little free area, and nodes below one with too little
    room, are not looked at. Returns the node (ABSENT: none), width and height of the piece as it lies, and 1 where it goes above.
    """
    pieces = sizes.shape[0]
    area = np.int64(sizes[piece, 0]) * np.int64(sizes[piece, 1])
    best, best_node, best_w, best_h, best_y = np.inf, ABSENT, 0, 0, 0
    for sheet in range(sheets):
        mask = turns[kinds[sheet], piece]
        if roots[sheet] == ABSENT or mask == 0 or spare[sheet] < area:
            continue
        first, last = (1 if mask == 2 else 0), (1 if mask == 1 else 2)
        stack[0] = roots[sheet]
        size = 1
        while size > 0:
            size -= 1
            node = stack[size]
            room_w, room_h = tree[ROOM_W, node], tree[ROOM_H, node]
            strip_w = room_w - tree[NEED_W, node]
            strip_h = room_h - tree[NEED_H, node]
            fits = False
            for way in range(first, last):
                w, h = sizes[piece, way], sizes[piece, 1 - way]
                if room_w < w or room_h < h:
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
    return best_node, best_w, best_h, best_y


@compiled
def begin_sheet(tree: Any, roots: Any, sheet: int, piece: int, w: int, h: int) -> None:
    """A piece alone on a sheet; its room is not set yet."""
    roots[sheet] = piece
    tree[PARENT, piece] = -1 - sheet
    tree[NEED_W, piece], tree[NEED_H, piece] = w, h


@compiled
def recreate(tree: Any, roots: Any, sheets: int, kinds: Any, out: Any, out_size: int, sizes: Any, turns: Any, sides: Any,
             free: Any, free_size: int, spare: Any, stack: Any, by_area: bool, blink: float, state: Any) -> Any:  # fmt: skip
    """Put the pieces of `out`, in that order, each where it fits best, else on an empty sheet; the rest stay in `out`.

    All `sheets` may be used. `sizes`: width and height of each piece as it lies first; `turns`, `by_area`, `blink`: see
    `best_place`. `spare` takes the free areas of the sheets.

    Returns how many stay out and the size of the list of free inner nodes.
    """
    pieces = sizes.shape[0]
    free_areas(tree, roots, sheets, kinds, sides, pieces, spare, stack)
    left = 0
    for turn in range(out_size):
        piece = out[turn]
        node, w, h, above = best_place(tree, roots, sheets, kinds, spare, piece, sizes, turns, stack, by_area, blink, state)
        if node != ABSENT:
            free_size -= 1
            sheet = put_beside(tree, roots, node, piece, w, h, above, free[free_size])
        else:
            sheet = 0
            while sheet < sheets and roots[sheet] != ABSENT:
                sheet += 1
            if sheet == sheets:
                out[left] = piece
                left += 1
                continue
            mask = turns[kinds[sheet], piece]
            way = 1 if mask == 2 or (mask == 3 and random_number(state) < 0.5) else 0
            begin_sheet(tree, roots, sheet, piece, sizes[piece, way], sizes[piece, 1 - way])
        spare[sheet] -= np.int64(sizes[piece, 0]) * np.int64(sizes[piece, 1])
        room_down(tree, roots[sheet], sides[kinds[sheet], 0], sides[kinds[sheet], 1], pieces, stack)
    return left, free_size


@compiled
def ruin(tree: Any, roots: Any, sheets: int, pieces: int, out: Any, out_size: int, free: Any, free_size: int, stack: Any,
         many: int, whole_share: float, state: Any) -> Any:  # fmt: skip
    """Take pieces out of `many` random sheets: all of them, or random subtrees. Sizes of `out` and `free`."""
    for _ in range(many):
        sheet = int(random_number(state) * sheets)
        root = roots[sheet]
        if root == ABSENT:
            continue
        width, height = tree[ROOM_W, root], tree[ROOM_H, root]  # a root has the whole sheet
        if random_number(state) < whole_share:
            start = root
        else:
            start = root
            while start >= pieces and random_number(state) < 0.7:
                start = tree[LEFT, start] if random_number(state) < 0.5 else tree[RIGHT, start]
        # all pieces below `start`, found before any is taken out
        first = out_size
        stack[0] = start
        size = 1
        while size > 0:
            size -= 1
            node = stack[size]
            if node < pieces:
                out[out_size] = node
                out_size += 1
            else:
                stack[size], stack[size + 1] = tree[LEFT, node], tree[RIGHT, node]
                size += 2
        for turn in range(first, out_size):
            free_size = take_out(tree, roots, out[turn], free, free_size)
        if roots[sheet] != ABSENT:
            room_down(tree, roots[sheet], width, height, pieces, stack)
    return out_size, free_size


@compiled
def ordered(out: Any, out_size: int, sizes: Any, keys: Any, rule: int, noise: float, state: Any) -> None:
    """Sort pieces by a rule, largest first, with noise."""
    for turn in range(out_size):
        w, h = float(sizes[out[turn], 0]), float(sizes[out[turn], 1])
        if rule == 0:
            key = w * h
        elif rule == 1:
            key = max(w, h)
        elif rule == 2:
            key = w
        elif rule == 3:
            key = h
        elif rule == 4:
            key = w + h
        else:
            key = 1.0
        keys[turn] = key * (1.0 - noise * random_number(state)) if rule < 5 else random_number(state)
    for turn in range(1, out_size):
        key, piece = keys[turn], out[turn]
        at = turn
        while at > 0 and keys[at - 1] < key:
            keys[at], out[at] = keys[at - 1], out[at - 1]
            at -= 1
        keys[at], out[at] = key, piece


@compiled
def cost_of(sheets: int, spare: Any, middling: float, out: Any, out_size: int, prices: Any, spread: float) -> float:
    """What the search lowers: prices of the pieces left out, less a little for uneven free space.

    Free space in shares of a `middling` sheet's area.
    """
    total = 0.0
    for turn in range(out_size):
        total += prices[out[turn]]
    for sheet in range(sheets):
        total -= spread * (spare[sheet] / middling) ** 2
    return total


@compiled
def copied(tree: Any, roots: Any, out: Any, free: Any, to_tree: Any, to_roots: Any, to_out: Any, to_free: Any) -> None:
    """Write one state over another: to keep what was accepted, or to go back to it."""
    to_tree[:] = tree
    to_roots[:] = roots
    to_out[:] = out
    to_free[:] = free


@compiled
def rounds(tree: Any, roots: Any, sheets: int, kinds: Any, out: Any, out_size: int, sizes: Any, turns: Any, sides: Any,
           prices: Any, middling: float, free: Any, free_size: int, history: Any, at: int, current: float, count: int,
           spread: float, whole_share: float, noise: float, blink: float, state: Any) -> Any:  # fmt: skip
    """Ruin and recreate `count` times or until no piece is left out, by late acceptance (Burke & Bykov 2017).

    All arrays are changed in place. Returns pieces left out, free inner nodes, place in the history, current cost.
    """
    pieces = sizes.shape[0]
    stack = np.empty(2 * pieces + 4, np.int32)
    keys = np.empty(pieces + 1, np.float64)
    spare = np.empty(max(1, roots.size), np.int64)
    old_tree, old_roots, old_out, old_free = tree.copy(), roots.copy(), out.copy(), free.copy()
    old_out_size, old_free_size = out_size, free_size
    for _ in range(count):
        if out_size == 0:
            break
        many = 1 + int(random_number(state) * 3.0)
        out_size, free_size = ruin(tree, roots, sheets, pieces, out, out_size, free, free_size, stack, many, whole_share, state)
        ordered(out, out_size, sizes, keys, int(random_number(state) * ORDER_RULES), noise, state)
        by_area = random_number(state) < 0.5
        out_size, free_size = recreate(tree, roots, sheets, kinds, out, out_size, sizes, turns, sides, free, free_size, spare,
                                       stack, by_area, blink, state)  # fmt: skip
        cost = cost_of(sheets, spare, middling, out, out_size, prices, spread)
        place = at % history.size
        if cost <= current or cost <= history[place]:
            current = cost
            copied(tree, roots, out, free, old_tree, old_roots, old_out, old_free)
            old_out_size, old_free_size = out_size, free_size
        else:
            copied(old_tree, old_roots, old_out, old_free, tree, roots, out, free)
            out_size, free_size = old_out_size, old_free_size
        history[place] = current
        at += 1
    return out_size, free_size, at, current
