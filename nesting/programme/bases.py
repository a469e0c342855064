"""Which side of the piece in hand a cut is measured from, and how a squaring cut's line is drawn."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from ..cutters import Cutter
from ..geometry import Box, bounds
from ..geometry import Part as Paper
from ..layouts import Axis, Cut
from ..lengths import TICKS_PER_MM
from .paper import Span, distances, overlap, spans_on, total

Edge = Literal["left", "right", "bottom", "top"]
BaseKind = Literal["true edge", "cut edge", "edge as it is"]
EDGES: dict[Axis, tuple[Edge, Edge]] = {"x": ("left", "right"), "y": ("bottom", "top")}
# a shorter edge does not hold paper square at the fence; small pieces: a third of their side (common practice, no source)
LEAST_CONTACT = 10 * TICKS_PER_MM
GUIDE_INSET = 5 * TICKS_PER_MM


@dataclass(frozen=True)
class Part:
    """What lies on one side of a cut: pieces with their numbers, ids of offcuts, and whether there are shavings."""

    pieces: tuple[tuple[str, int], ...] = ()
    offcuts: tuple[str, ...] = ()
    shavings: bool = False


@dataclass(frozen=True)
class Guide:
    """How to draw the line of a squaring cut: its distances in ticks from the paper's edge on one side.

    `first` is measured near the bottom (or left) end of the line, `second` near the top (or right) end, each
    `inset` in from that end.
    """

    edge: Edge
    first: int
    second: int
    inset: int


@dataclass(frozen=True)
class Held:
    """One cut about to be made: the papers it crosses with their spans on the line, and what lies on both sides.

    `sides` and `reaching` are low, then high; `reaching`: whether some piece fills that side from edge to cut.
    """

    node: Cut
    crossed: tuple[tuple[Paper, tuple[Span, ...]], ...]
    sides: tuple[Part, Part]
    reaching: tuple[bool, bool]

    def edge(self, high: int) -> int:
        """The coordinate of that side of the box."""
        x0, y0, x1, y1 = self.node.box
        return ((x0, x1) if self.node.axis == "x" else (y0, y1))[high]

    def size(self, high: int) -> int:
        """From the cut to that side of the box."""
        return abs(self.edge(high) - self.node.at)


@dataclass(frozen=True)
class Base:
    """One side of the piece in hand as the edge to measure from; `contact`: how much of it the paper has."""

    high: int
    usable: bool
    kind: BaseKind
    contact: int


def base(held: Held, high: int, root: Box, true: dict[tuple[Axis, bool], list[Span]], tolerance: int,
         cutter: Cutter | None) -> Base:  # fmt: skip
    """What the low or high side of the piece in hand is good for.

    `true` are the true spans of the root box (`paper.true_spans`), `tolerance` the ticks a turned frame may be off.
    """
    node = held.node
    at = held.edge(high)
    made_by_cut = at != ((root[0], root[2]) if node.axis == "x" else (root[1], root[3]))[high]
    papers = [paper for paper, _ in held.crossed]
    touching = spans_on(papers, node.axis, at, tolerance)
    contact = total(touching if made_by_cut else overlap(touching, true[node.axis, bool(high)]))
    across, along = (0, 1) if node.axis == "x" else (1, 0)
    boxes = [bounds(paper.outline) for paper in papers]
    extent = max(b[along + 2] for b in boxes) - min(b[along] for b in boxes)
    sure = contact > 0 and contact >= min(LEAST_CONTACT, extent / 3)
    reached = any(abs(b[across + 2 * high] - at) <= tolerance for b in boxes)
    taken_as_square = cutter is None or cutter.square_up == 0
    kind: BaseKind = "edge as it is" if not sure else "cut edge" if made_by_cut else "true edge"
    return Base(high, sure or (taken_as_square and reached), kind, contact if sure else total(touching))


def feasible(size: int, cutter: Cutter) -> bool:
    """Whether the fence can be set there and the clamp holds what lies between fence and knife."""
    return max(cutter.fence_min, cutter.clamp) <= size and (cutter.fence_max is None or size <= cutter.fence_max)


def on_scale(size: int, cutter: Cutter) -> bool:
    """Whether the setting is a whole number of the fence scale's divisions."""
    return cutter.step is None or size % cutter.step == 0


def best_base(held: Held, usable: list[Base], cutter: Cutter) -> Base:
    """The edge to measure from, by the order of preference that `steps` states."""
    return max(usable, key=lambda b: (
        b.kind != "edge as it is", feasible(held.size(b.high), cutter), on_scale(held.size(b.high), cutter),
        held.reaching[b.high], bool(held.sides[b.high].pieces), held.size(b.high), -b.high))  # fmt: skip


def lying_side(held: Held, cutter: Cutter) -> int:
    """For a cut by eye: the side (0 low, 1 high) under the clamp: one that fits there, then the one with the pieces."""
    return max((0, 1), key=lambda high: (feasible(held.size(high), cutter), bool(held.sides[high].pieces),
                                         held.size(high), -high))  # fmt: skip


def guide(held: Held) -> Guide:
    """Distances of the line from the paper's edge near both ends, on the side where they are smaller together."""
    node = held.node
    paper, spans = max(held.crossed, key=lambda c: (c[1][-1][1] - c[1][0][0], c[1]))
    inset = min(GUIDE_INSET, *((high - low) // 3 for low, high in (spans[0], spans[-1])))
    first = distances(paper, node.axis, node.at, spans[0][0] + inset)
    second = distances(paper, node.axis, node.at, spans[-1][1] - inset)
    side = int(first[1] + second[1] < first[0] + second[0])
    return Guide(EDGES[node.axis][side], first[side], second[side], inset)
