"""Where the grid lines lie between which a layout that shows much is looked for, and how blanks may lie there."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from ...geometry import Box
from ...layouts import Cut, Node
from ...lengths import TICKS_PER_MM
from .shown import Shown, pieces
from .sizes import reachable

MOST_LINES = 52
EVEN_LINES = 24
MOST_SUMS = 40
NEAR = TICKS_PER_MM // 4  # lines nearer than this to another are left out: moving pieces makes up for it


@dataclass(frozen=True)
class Way:
    """A blank as it lies: name, size, and the turns in which it has this size."""

    name: str
    width: int
    height: int
    turns: tuple[int, ...]


def ways_of(shown: Shown, names: Iterable[str]) -> list[Way]:
    """How these blanks may lie on the ground."""
    out = []
    x0, y0, x1, y1 = shown.ground.usable
    for name in names:
        blank = shown.blanks[name]
        sizes: dict[tuple[int, int], list[int]] = {}
        for turn in blank.cheapest_on(shown.ground.sheet, shown.ground.frame_deg):
            sizes.setdefault(blank.size(turn), []).append(turn)
        out += [Way(name, w, h, tuple(turns)) for (w, h), turns in sizes.items() if w <= x1 - x0 and h <= y1 - y0]
    return out


def lines_of(tree: Node | None, side: int, usable: Box) -> list[int]:
    """The coordinates of a layout's cuts and pieces along one axis, and the ends."""
    low, high = usable[side], usable[side + 2]
    found = {low, high}
    for piece in pieces(tree):
        found |= {piece.box[side], piece.box[side + 2]}
    stack = [tree] if tree is not None else []
    while stack:
        node = stack.pop()
        if isinstance(node, Cut):
            if (node.axis == "x") == (side == 0):
                found.add(node.at)
            stack += [node.low, node.high]
    return sorted(v for v in found if low <= v <= high)


def wished(shown: Shown, ways: Sequence[Way], side: int) -> list[int]:
    """Lines that may be good for showing, the most useful first."""
    low, high = shown.ground.usable[side], shown.ground.usable[side + 2]
    sizes = sorted({(w.width, w.height)[side] for w in ways})
    out: list[int] = []
    for place in meeting(shown, ways, side):
        out += _chain(sizes, place, low, high)
    out += _chain(sizes, low, low, high) + _chain(sizes, high, low, high)
    s = shown.ground.segments
    for stop in sorted({int(v) for v in s[s[:, side] == s[:, side + 2], side] if low < v < high}):
        out += _chain(sizes, stop, low, high)
    return out + [low + (high - low) * k // EVEN_LINES for k in range(1, EVEN_LINES)]


def meeting(shown: Shown, ways: Sequence[Way], side: int) -> list[int]:
    """Low sides of pieces whose front panel lies in the middle of a best area or meets its edges, large areas first."""
    low, high = shown.ground.usable[side], shown.ground.usable[side + 2]
    boxes, weights = shown.boxes, shown.weights
    sizes = weights * (boxes[:, 2] - boxes[:, 0]) * (boxes[:, 3] - boxes[:, 1])
    out: dict[int, None] = {}
    for k in np.argsort(-sizes, kind="stable"):
        first, last = shown.boxes[k][side], shown.boxes[k][side + 2]
        for way in ways:
            for turn in way.turns:
                front = shown.blanks[way.name].front_at(turn)
                a, c = front[side], front[side + 2]
                for place in ((first + last - a - c) / 2, first - a, last - c, first - c, last - a):
                    if low <= round(place) <= high - (way.width, way.height)[side]:
                        out.setdefault(round(place))
    return list(out)


def _chain(sizes: Sequence[int], place: int, low: int, high: int) -> list[int]:
    """A line, and where pieces side by side on both sides of it begin and end."""
    after, before = reachable(sizes, [place], high, MOST_SUMS), reachable(sizes, [-place], -low, MOST_SUMS)
    return [place, *(int(v) for v in (() if after is None else after)), *(-int(v) for v in (() if before is None else before))]


def filled(needed: Sequence[int], wished: Iterable[int]) -> Any:
    """The lines needed, and of those wished as many as may be, none of these close to another."""
    out = set(needed)
    close = {cell for v in out for cell in (v // NEAR - 1, v // NEAR, v // NEAR + 1)}
    for value in wished:
        if len(out) >= MOST_LINES:
            break
        if value // NEAR not in close:
            out.add(value)
            close |= {value // NEAR - 1, value // NEAR, value // NEAR + 1}
    return np.array(sorted(out), np.int64)
