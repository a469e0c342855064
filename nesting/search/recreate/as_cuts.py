"""A sheet of ruin and recreate (`loops`: needs and directions in a flat array) as cuts with coordinates."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from typing import Any

from ...geometry import Box
from ...layouts import Axis, Cut, Node, Shavings, leaves
from ..sheet.clear import Oriented, trimmed
from ..tidy import chain
from .loops import ALONG_Y, LEFT, NEED_H, NEED_W, RIGHT


def as_cuts(tree: Any, pieces: Sequence[Sequence[Oriented]], node: int, box: Box) -> Node:
    """A node as cuts of its box: parts of one direction in a row, what is left over behind them.

    `pieces`: for each piece the ways it may lie; nodes from `len(pieces)` on are inner ones.
    """
    if node < len(pieces):
        w, h = int(tree[NEED_W, node]), int(tree[NEED_H, node])
        piece = next(o for o in pieces[node] if (o.width, o.height) == (w, h))
        return trimmed(box, piece, box[0], box[1])
    upward = int(tree[ALONG_Y, node]) == 1
    side, need = (1, NEED_H) if upward else (0, NEED_W)
    parts: list[Node] = []
    at = box[side]
    for child in _row(tree, len(pieces), node, upward):
        size = int(tree[need, child])
        part = list(box)
        part[side], part[side + 2] = at, at + size
        parts.append(as_cuts(tree, pieces, child, (part[0], part[1], part[2], part[3])))
        at += size
    if at < box[side + 2]:
        rest = list(box)
        rest[side] = at
        parts.append(Shavings((rest[0], rest[1], rest[2], rest[3])))
    return chain(parts, "y" if upward else "x", box)


def sheet_as_cuts(tree: Any, pieces: Sequence[Sequence[Oriented]], root: int, box: Box) -> Node:
    """A whole sheet: first the larger of the two strips that the pieces leave free is cut off."""
    end_x, end_y = box[0] + int(tree[NEED_W, root]), box[1] + int(tree[NEED_H, root])
    beside, above = (box[2] - end_x) * (box[3] - box[1]), (box[2] - box[0]) * (box[3] - end_y)
    if beside == above == 0:
        return as_cuts(tree, pieces, root, box)
    axis: Axis
    if beside >= above:
        low, high, axis, at = (box[0], box[1], end_x, box[3]), (end_x, box[1], box[2], box[3]), "x", end_x
    else:
        low, high, axis, at = (box[0], box[1], box[2], end_y), (box[0], end_y, box[2], box[3]), "y", end_y
    return Cut(box, axis, at, as_cuts(tree, pieces, root, low), Shavings(high))


def largest_leftover(trees: Iterable[Node]) -> int:
    """Area of the largest rectangle that some sheet has left over."""
    return max((area(leaf.box) for tree in trees for leaf in leaves(tree) if isinstance(leaf, Shavings)), default=0)


def area(box: Box) -> int:
    """In square ticks."""
    return (box[2] - box[0]) * (box[3] - box[1])


def _row(tree: Any, pieces: int, node: int, upward: bool) -> Iterator[int]:
    """The parts that lie in one row below a node, in order."""
    stack = [node]
    while stack:
        here = stack.pop()
        if here >= pieces and (int(tree[ALONG_Y, here]) == 1) == upward:
            stack += [int(tree[RIGHT, here]), int(tree[LEFT, here])]
        else:
            yield here
