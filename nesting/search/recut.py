"""Pieces that lie where they lie, cut in the best order: the fewest cuts with the blade, then the most useful rest.

The same pieces allow many trees of cuts. All are tried, over the boxes that edges of pieces make (dynamic programming):
first the fewest cuts longer than the knife, then the largest useful leftovers, whole rather than in parts, then the
fewest cuts. Where there are too many boxes the tree stays as it is.
"""

from __future__ import annotations

from collections.abc import Callable
from itertools import pairwise

from ..geometry import Box
from ..layouts import Axis, Cut, Node, Piece, Shavings, leaves
from .trees import grown, halves

MOST_PIECES, MOST_BOXES = 40, 4_000
ONE, ODD = 1, 3  # 1, 1 gave a sixth more settings, 1, 2 a few; cuts hardly differ
Cost = tuple[int, float, int]  # cuts with the blade, usefulness of what is left (below 0), cuts
Here = tuple[int, ...]  # the pieces of a box, by number
State = tuple[Box, Here]


class TooMany(Exception):
    """More boxes than are worth trying."""


def recut(tree: Node, longest_cut: int | None, useful: Callable[[Box], float]) -> Node:
    """The pieces of a tree in the best tree of cuts; `useful`: of a leftover in a box, 0 for shavings."""
    pieces = [leaf for leaf in leaves(tree) if isinstance(leaf, Piece)]
    if not pieces or len(pieces) > MOST_PIECES:
        return tree
    search = _Search([p.box for p in pieces], longest_cut, useful)
    here = tuple(range(len(pieces)))
    try:
        cost, _ = search.best(tree.box, here)
    except TooMany:
        return tree
    if cost >= search.cost_of(tree):
        return tree

    def step(state: State) -> Node | tuple[Box, Axis, int, State, State]:
        box, inside = state
        cut = search.best(box, inside)[1]
        if cut is None:
            return pieces[inside[0]] if inside else Shavings(box)
        low, high = search.sides(box, inside, *cut)
        return box, cut[0], cut[1], low, high

    return grown((tree.box, here), step)


class _Search:
    """The best way to cut boxes of these pieces, each box once."""

    def __init__(self, boxes: list[Box], longest_cut: int | None, useful: Callable[[Box], float]) -> None:
        self._boxes, self._longest, self._useful = boxes, longest_cut, useful
        self._sizes = {b[2] - b[0] for b in boxes}, {b[3] - b[1] for b in boxes}
        self._known: dict[State, tuple[Cost, tuple[Axis, int] | None]] = {}

    def best(self, box: Box, here: Here) -> tuple[Cost, tuple[Axis, int] | None]:
        """The least cost of a box, and its first cut; None where there is none to make."""
        known = self._known.get((box, here))
        if known is not None:
            return known
        if len(self._known) >= MOST_BOXES:
            raise TooMany
        if not here:
            known = (0, -self._useful(box), 0), None
        elif len(here) == 1 and self._boxes[here[0]] == box:
            known = (0, 0.0, 0), None
        else:
            found: list[tuple[Cost, tuple[Axis, int]]] = []
            for axis in ("x", "y"):
                blade = self._blade(box, axis)
                for at in self._places(box, here, axis):
                    low, high = self.sides(box, here, axis, at)
                    (a, b, c), (d, e, f) = self.best(*low)[0], self.best(*high)[0]
                    found.append(((a + d + blade, b + e, c + f + self._work(box, axis, at)), (axis, at)))
            known = min(found)
        self._known[box, here] = known
        return known

    def sides(self, box: Box, here: Here, axis: Axis, at: int) -> tuple[State, State]:
        """The two sides of a cut with the pieces in each."""
        low, high = halves(box, axis, at)
        side = 2 if axis == "x" else 3
        first = tuple(i for i in here if self._boxes[i][side] <= at)
        return (low, first), (high, tuple(i for i in here if i not in first))

    def cost_of(self, tree: Node) -> Cost:
        """What a given tree costs."""
        blade = cuts = 0
        left = 0.0
        stack = [tree]
        while stack:
            node = stack.pop()
            if isinstance(node, Cut):
                blade += self._blade(node.box, node.axis)
                cuts += self._work(node.box, node.axis, node.at)
                stack += [node.low, node.high]
            elif not isinstance(node, Piece):
                left -= self._useful(node.box)
        return blade, left, cuts

    def _blade(self, box: Box, axis: Axis) -> int:
        length = box[3] - box[1] if axis == "x" else box[2] - box[0]
        return int(self._longest is not None and length > self._longest)

    def _work(self, box: Box, axis: Axis, at: int) -> int:
        """A cut, and again as much where it does not part off the size of a piece: that takes a setting of its own."""
        side = 0 if axis == "x" else 1
        sizes = self._sizes[side]
        return ONE if at - box[side] in sizes or box[side + 2] - at in sizes else ODD

    def _places(self, box: Box, here: Here, axis: Axis) -> list[int]:
        """Edges of pieces, inside the box, that no piece lies across."""
        side = 0 if axis == "x" else 1
        spans = sorted((self._boxes[i][side], self._boxes[i][side + 2]) for i in here)
        out, reach = {spans[0][0]}, spans[0][1]
        for (_, _), (start, end) in pairwise(spans):
            if start >= reach:
                out |= {reach, start}
            reach = max(reach, end)
        out.add(reach)
        return sorted(at for at in out if box[side] < at < box[side + 2])
