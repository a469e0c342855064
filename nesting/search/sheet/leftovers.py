"""A layout with too many of some blanks: the surplus taken off, and what it frees filled with blanks still wanted."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np

from ...blanks import Blank
from ...geometry import Box
from ...layouts import Cut, Node, Piece, Shavings, leaves
from ..trees import halves
from .fines import NONE, Fines, fined
from .ground import Ground

DEEPEST = 100  # pieces one after the other in a leftover
NO_LIMIT = 2**40


class Leftovers:
    """What is still wanted of each blank, dearest first, as it is put into leftover boxes."""

    def __init__(self, ground: Ground, blanks: Sequence[Blank], values: Sequence[int], keep: Sequence[int],
                 fines: Fines = NONE) -> None:  # fmt: skip
        """`keep`: how many pieces of each blank of the layout stay: those with the least taken off by `fines`."""
        self._ground, self._blanks, self._fines = ground, blanks, fines
        self._index = {b.name: i for i, b in enumerate(blanks)}
        self._keep = list(keep)
        ranked: list[tuple[int, str, int, int]] = []
        for i, blank in enumerate(blanks):
            for turn in blank.ways_on(ground.sheet, ground.frame_deg):
                off = self._off(i, turn)
                if off <= values[i] or not off:
                    ranked.append((off - values[i], blank.name, turn, i))
        ways = [(i, name, turn, *blanks[i].size(turn)) for _, name, turn, i in sorted(ranked)]
        self._ways = ways
        self._wide, self._high = (np.array([way[k] for way in ways], np.int64) for k in (3, 4))
        self._blank = np.array([way[0] for way in ways], np.int64)
        limits = [NO_LIMIT if b.quantity is None else b.quantity - n for b, n in zip(blanks, keep, strict=True)]
        self._wanted: Any = np.array(limits, np.int64)
        self._least = (int(self._wide.min(initial=NO_LIMIT)), int(self._high.min(initial=NO_LIMIT)))

    def _off(self, blank: int, turn: int) -> int:
        return fined(self._ground, self._blanks[blank], turn, self._fines[blank]) if self._fines else 0

    def _kind(self, piece: Piece) -> tuple[int, int]:
        i = self._index[piece.blank]
        return i, self._off(i, piece.turn)

    def _stays(self, tree: Node) -> dict[tuple[int, int], int]:
        """How many pieces stay, by blank and what is taken off them."""
        there: dict[tuple[int, int], int] = {}
        for leaf in leaves(tree):
            if isinstance(leaf, Piece):
                kind = self._kind(leaf)
                there[kind] = there.get(kind, 0) + 1
        left = list(self._keep)
        for i, off in sorted(there):
            there[i, off] = min(there[i, off], left[i])
            left[i] -= there[i, off]
        return there

    def filled(self, tree: Node) -> Node:
        """The tree with every leftover and every surplus piece offered to the blanks still wanted."""
        stays = self._stays(tree)
        stack: list[Any] = [tree]
        done: list[Node] = []
        while stack:
            node = stack.pop()
            if isinstance(node, tuple):
                high, low = done.pop(), done.pop()
                done.append(Cut(node[0], node[1], node[2], low, high))
            elif isinstance(node, Cut):
                stack += [(node.box, node.axis, node.at), node.high, node.low]
            elif isinstance(node, Piece) and stays[kind := self._kind(node)] > 0:
                stays[kind] -= 1
                done.append(node)
            else:
                done.append(self._box(node.box, 0))
        return done[0]

    def _box(self, box: Box, depth: int) -> Node:
        """A leftover box filled with single pieces from its low-left corner, as long as any is wanted and fits."""
        x0, y0, x1, y1 = box
        wide, high = x1 - x0, y1 - y0
        if wide < self._least[0] or high < self._least[1] or depth >= DEEPEST or not self._ground.fits(box):
            return Shavings(box)
        fits = (self._wide <= wide) & (self._high <= high) & (self._wanted[self._blank] > 0)
        first = int(np.argmax(fits)) if fits.size else 0
        if not fits.size or not fits[first]:
            return Shavings(box)
        i, name, turn, w, h = self._ways[first]
        self._wanted[i] -= 1
        return self._around(box, Piece((x0, y0, x0 + w, y0 + h), name, turn), depth)

    def _around(self, box: Box, piece: Piece, depth: int) -> Node:
        """A piece in the corner of a box; the two leftovers are filled in turn, the larger one kept whole."""
        x0, y0, x1, y1 = box
        _, _, px, py = piece.box
        first, second = ("x", "y") if (x1 - px) * (y1 - y0) >= (y1 - py) * (x1 - x0) else ("y", "x")
        node: Node = piece
        here = box
        cuts = []
        for axis in (first, second):
            at, end = (px, here[2]) if axis == "x" else (py, here[3])
            if at < end:
                low, high = halves(here, axis, at)
                cuts.append((here, axis, at, high))
                here = low
        for whole_box, axis, at, high in reversed(cuts):
            node = Cut(whole_box, "x" if axis == "x" else "y", at, node, self._box(high, depth + 1))
        return node
