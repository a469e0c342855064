"""A tree made easy to cut: leftovers joined, parts pushed to the low side, strips cut to what they need.

The pieces stay the same; a part moves only where all its pieces still lie on good paper, and show no less of the best areas.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from ..geometry import Box
from ..layouts import Axis, Cut, Node, Piece, Shavings, leaves
from .sheet.ground import Ground
from .sheet.shown import Shown
from .trees import rebuilt

MOST_STOPS = 40
MOST_IN_A_ROW = 64  # a deeper tree would be too deep for JSON readers


def tidied(ground: Ground, tree: Node, box: Box, fixed: frozenset[Box] = frozenset(),
           shown: Shown | None = None) -> Node:  # fmt: skip
    """The tree over `box` (which holds all its pieces) with the fewest needless cuts and gaps.

    `fixed`: the places of pieces that may not be moved. `shown`: the best areas; None where there are none.
    """
    if not isinstance(tree, Cut):
        return tree if isinstance(tree, Piece) and tree.box == box else boxed(tree, box)
    axis = tree.axis
    side = 0 if axis == "x" else 1
    start, end = box[side], box[side + 2]
    parts: list[Node] = []
    cursor = start
    for part in _parts(tree, axis):
        boxes = [leaf.box for leaf in leaves(part) if isinstance(leaf, Piece)]
        if not boxes:
            continue
        low, high = min(b[side] for b in boxes), max(b[side + 2] for b in boxes)
        for target in _stops(ground, side, cursor, low) if fixed.isdisjoint(boxes) else ():
            shift = low - target
            if all(ground.fits(_moved(b, side, -shift)) for b in boxes):
                moved = _shifted(part, side, -shift)
                if shown is not None and shown.total(moved) < shown.total(part):
                    continue
                part = moved
                low, high = low - shift, high - shift
                break
        if low > cursor:
            parts.append(Shavings(_span(box, side, cursor, low)))
        parts.append(tidied(ground, part, _span(box, side, low, high), fixed, shown))
        cursor = high
    if cursor < end:
        parts.append(Shavings(_span(box, side, cursor, end)))
    return chain(parts, axis, box)


def _stops(ground: Ground, side: int, cursor: int, low: int) -> list[int]:
    """Where a part may be pushed to, nearest the low side first: the last part, the usable edge, ends of damage."""
    segments = ground.segments
    across = segments[segments[:, side] == segments[:, side + 2], side]
    inset = ground.sheet.inset
    places = {cursor, ground.usable[side], *(int(v) + d for v in across for d in {0, inset})}
    return sorted(p for p in places if cursor <= p < low)[:MOST_STOPS]


def chain(parts: list[Node], axis: Axis, box: Box) -> Node:
    """Parts side by side as cuts one after the other from the low side; very many are halved first."""
    side = 0 if axis == "x" else 1
    if len(parts) > MOST_IN_A_ROW:
        middle = len(parts) // 2
        at = parts[middle].box[side]
        low = chain(parts[:middle], axis, _span(box, side, box[side], at))
        return Cut(box, axis, at, low, chain(parts[middle:], axis, _span(box, side, at, box[side + 2])))
    node = parts[-1]
    for part in reversed(parts[:-1]):
        node = Cut(_span(box, side, part.box[side], box[side + 2]), axis, part.box[side + 2], part, node)
    return node


def _parts(tree: Node, axis: Axis) -> Iterator[Node]:
    """The parts that cuts of one direction make, from the low side."""
    stack = [tree]
    while stack:
        node = stack.pop()
        if isinstance(node, Cut) and node.axis == axis:
            stack += [node.high, node.low]
        else:
            yield node


def boxed(node: Node, box: Box) -> Node:
    """A single piece in a larger box, or a leftover."""
    if not isinstance(node, Piece):
        return Shavings(box)
    x0, y0, x1, y1 = box
    px0, py0, px1, py1 = node.box
    out: Node = node
    if (py0, py1) != (y0, y1):
        column = (px0, y0, px1, y1)
        below = [Shavings((px0, y0, px1, py0))] if py0 > y0 else []
        above = [Shavings((px0, py1, px1, y1))] if py1 < y1 else []
        out = chain([*below, out, *above], "y", column)
    if (px0, px1) != (x0, x1):
        left = [Shavings((x0, y0, px0, y1))] if px0 > x0 else []
        right = [Shavings((px1, y0, x1, y1))] if px1 < x1 else []
        out = chain([*left, out, *right], "x", box)
    return out


def _span(box: Box, side: int, low: int, high: int) -> Box:
    out = list(box)
    out[side], out[side + 2] = low, high
    return out[0], out[1], out[2], out[3]


def _moved(box: Box, side: int, by: int) -> Box:
    return _span(box, side, box[side] + by, box[side + 2] + by)


def _shifted(tree: Node, side: int, by: int) -> Node:
    """The whole tree moved along one axis."""

    def leaf(node: Any) -> Node:
        box = _moved(node.box, side, by)
        return Piece(box, node.blank, node.turn) if isinstance(node, Piece) else Shavings(box)

    def cut(node: Cut, low: Node, high: Node) -> Node:
        at = node.at + by if (node.axis == "x") == (side == 0) else node.at
        return Cut(_moved(node.box, side, by), node.axis, at, low, high)

    return rebuilt(tree, leaf, cut)
