"""A layout: how one sheet is cut, as a binary tree of edge-to-edge cuts in the frame of the sheet.

Boxes are (x0, y0, x1, y1) in the frame, in ticks. The root's box is the bounding box of the outline in the
frame; a leaf's paper is what of the outline lies in its box.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Literal

from .geometry import Box, Point, Ring

Axis = Literal["x", "y"]


@dataclass(frozen=True)
class Cut:
    """A cut along x = at (axis "x") or y = at ("y"); `low` is the side of the smaller coordinate."""

    box: Box
    axis: Axis
    at: int
    low: Node
    high: Node


@dataclass(frozen=True)
class Piece:
    """A leaf that is a blank, exactly; `turn` is counter-clockwise, in the frame."""

    box: Box
    blank: str
    turn: int


@dataclass(frozen=True)
class Offcut:
    """A leaf that goes back to stock: the largest connected part of its paper, under a new id."""

    box: Box
    id: str


@dataclass(frozen=True)
class Shavings:
    """A leaf of which nothing goes back."""

    box: Box


Node = Cut | Piece | Offcut | Shavings


@dataclass(frozen=True)
class Placed:
    """A piece in sheet coordinates: corners low-left, low-right, high-right, high-left as read before its turn."""

    blank: str
    turn: int
    corners: tuple[Point, Point, Point, Point]


@dataclass(frozen=True)
class OffcutPiece:
    """An offcut in sheet coordinates, and how many of it the copies give."""

    id: str
    count: int
    outline: Ring


@dataclass(frozen=True)
class Areas:
    """Doubled areas in square ticks of one copy: sheet = pieces + offcuts + shavings."""

    sheet: int
    pieces: int
    offcuts: int
    shavings: int


@dataclass(frozen=True)
class Layout:
    """How `copies` sheets of one id are cut. `origin` is the frame's zero in sheet coordinates.

    `best_mm2`: how much of the sheet's best areas lies on front panels in one copy, each area times its weight; None
    where it was not reckoned.
    """

    sheet: str
    copies: int
    frame_deg: float
    origin: Point
    tree: Node
    pieces: tuple[Placed, ...]
    offcuts: tuple[OffcutPiece, ...]
    areas: Areas
    best_mm2: int | float | None = None

    def counts(self) -> dict[str, int]:
        """How many of each blank one copy gives."""
        out: dict[str, int] = {}
        for piece in self.pieces:
            out[piece.blank] = out.get(piece.blank, 0) + 1
        return out


def walk(tree: Node) -> Iterator[Node]:
    """Every node, each cut before what it divides, its low side first."""
    stack = [tree]
    while stack:
        node = stack.pop()
        yield node
        if isinstance(node, Cut):
            stack += (node.high, node.low)


def leaves(tree: Node) -> Iterator[Piece | Offcut | Shavings]:
    """The leaves, in the order of `walk`."""
    for node in walk(tree):
        if not isinstance(node, Cut):
            yield node


def to_sheet(frame_deg: float, origin: Point, x: float, y: float) -> tuple[float, float]:
    """A point of the frame in sheet coordinates (exact where the frame is not turned)."""
    if frame_deg == 0:
        return origin[0] + x, origin[1] + y
    c, s = math.cos(math.radians(frame_deg)), math.sin(math.radians(frame_deg))
    return origin[0] + c * x - s * y, origin[1] + s * x + c * y


def to_frame(frame_deg: float, origin: Point, x: float, y: float) -> tuple[float, float]:
    """A point of the sheet in the frame."""
    return to_sheet(-frame_deg, (0, 0), x - origin[0], y - origin[1])


def corners_of(box: Box, turn: int) -> tuple[tuple[int, int], ...]:
    """The box's corners in the order of a blank that lies there with this turn."""
    x0, y0, x1, y1 = box
    around = ((x0, y0), (x1, y0), (x1, y1), (x0, y1))
    first = {0: 0, 90: 1, 180: 2, 270: 3}[turn]
    return around[first:] + around[:first]
