"""Trees of cuts built and rebuilt without recursion: a long strip makes a deep tree."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from ..geometry import Box
from ..layouts import Axis, Cut, Node


def halves(box: Box, axis: str, at: int) -> tuple[Box, Box]:
    """The two sides of a cut through a box, the low one first."""
    x0, y0, x1, y1 = box
    if axis == "x":
        return (x0, y0, at, y1), (at, y0, x1, y1)
    return (x0, y0, x1, at), (x0, at, x1, y1)


def rebuilt(tree: Node, leaf: Callable[[Any], Node], cut: Callable[[Cut, Node, Node], Node]) -> Node:
    """A tree made anew from its leaves up; the last leaves are met first."""
    order: list[Node] = []
    stack = [tree]
    while stack:
        node = stack.pop()
        order.append(node)
        if isinstance(node, Cut):
            stack += (node.high, node.low)
    done: list[Node] = []
    for node in reversed(order):
        if isinstance(node, Cut):
            low, high = done.pop(), done.pop()
            done.append(cut(node, low, high))
        else:
            done.append(leaf(node))
    return done[0]


def grown(start: Any, step: Callable[[Any], Node | tuple[Box, Axis, int, Any, Any]]) -> Node:
    """A tree grown from the top: `step` turns a state into a leaf, or a cut with the states of its two sides."""
    done: list[Node] = []
    todo: list[tuple[bool, Any]] = [(False, start)]
    while todo:
        joins, item = todo.pop()
        if joins:
            high, low = done.pop(), done.pop()
            box, axis, at = item
            done.append(Cut(box, axis, at, low, high))
            continue
        found = step(item)
        if isinstance(found, tuple):
            box, axis, at, low_state, high_state = found
            todo += [(True, (box, axis, at)), (False, high_state), (False, low_state)]
        else:
            done.append(found)
    return done[0]
