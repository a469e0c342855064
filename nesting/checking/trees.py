"""The cuts: does every one run edge to edge of what is in hand, from the whole sheet down to the leaves?"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from ..layouts import Cut, Node, Offcut, Piece, Shavings
from ..lengths import show
from .exact import Box
from .faults import Fault
from .paper import Paper


@dataclass(frozen=True)
class Leaf:
    """An end of the cuts, and how many cuts lie above it."""

    node: Piece | Offcut | Shavings
    depth: int


def leaves(tree: Node) -> list[Leaf]:
    """The leaves, each cut before what it divides and its low side first; any depth."""
    out: list[Leaf] = []
    stack: list[tuple[Node, int]] = [(tree, 0)]
    while stack:
        node, depth = stack.pop()
        if isinstance(node, Cut):
            stack += ((node.high, depth + 1), (node.low, depth + 1))
        else:
            out.append(Leaf(node, depth))
    return out


def tree_faults(tree: Node, where: str) -> Iterator[Fault]:
    """Boxes with a size, and cuts that lie inside their box and divide it into the boxes of their two sides."""
    stack = [tree]
    number = 0
    while stack:
        node = stack.pop()
        x0, y0, x1, y1 = node.box
        if x0 >= x1 or y0 >= y1:
            yield Fault("tree", where, f"A part of the cuts has no size: its box is {_said(node.box)}.")
        if not isinstance(node, Cut):
            continue
        number += 1
        stack += (node.high, node.low)
        here = f"{where}, cut {number}"
        low, high = ((x0, x1) if node.axis == "x" else (y0, y1))
        if not low < node.at < high:
            yield Fault("tree", here, f"The cut at {show(node.at)} does not lie between the edges of what it divides, "
                        f"{show(low)} and {show(high)}.")  # fmt: skip
        expected = halves(node.box, node.axis, node.at)
        for side, found, box in (("low", node.low.box, expected[0]), ("high", node.high.box, expected[1])):
            if found != box:
                yield Fault("tree", here, f"The {side} side of the cut must be {_said(box)}, the plan has {_said(found)}: "
                            "a cut runs edge to edge and loses nothing.")  # fmt: skip


def halves(box: Box, axis: str, at: int) -> tuple[Box, Box]:
    """What a cut edge to edge makes of a box."""
    x0, y0, x1, y1 = box
    return ((x0, y0, at, y1), (at, y0, x1, y1)) if axis == "x" else ((x0, y0, x1, at), (x0, at, x1, y1))


def root_faults(tree: Node, paper: Paper, where: str) -> Iterator[Fault]:
    """The cuts must start from the box around the outline: exactly, in a turned frame within a tick."""
    scale = paper.frame.scale
    loose = scale + scale // 16 if paper.frame.turned else 0
    if any(abs(a - b) > loose for a, b in zip(paper.frame.box(tree.box), paper.box, strict=True)):
        x0, y0, x1, y1 = (round(v / scale) for v in paper.box)
        yield Fault("tree", where, f"The cuts start from {_said(tree.box)}, but the box around the sheet is "
                    f"{_said((x0, y0, x1, y1))}.")  # fmt: skip


def _said(box: Box) -> str:
    x0, y0, x1, y1 = box
    return f"{show(x0)} to {show(x1)} across, {show(y0)} to {show(y1)} up"
