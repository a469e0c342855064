"""A sheet in the axes it is cut in, and what of it lies in a box.

Coordinates are whole parts of a tick: `scale` parts a tick. In an unturned frame every corner is exact; in a turned
one it is right to a part. What lies in a box is found by upright strips: between two neighbouring corners, and
crossings with the box, the paper is a stack of trapezoids; those that share more than a point belong together.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from fractions import Fraction
from functools import cached_property
from itertools import pairwise

from ..sheets import Sheet
from .exact import Box, Point, Ring, Segment, around, closer, double_area, encloses, enters, moments, point_within, segments

Trapezoid = tuple[int, int, int, int, int, int]
"""x from and to, then bottom and top at the first, bottom and top at the second."""

FINE = 1024


@dataclass(frozen=True)
class Part:
    """A connected part of the paper in a box: its trapezoids from left to right, and twice its area."""

    strips: tuple[Trapezoid, ...]
    area: int

    @cached_property
    def box(self) -> Box:
        """The box around the part."""
        return around([p for xa, xb, la, ua, lb, ub in self.strips for p in ((xa, la), (xa, ua), (xb, lb), (xb, ub))])

    def moments(self, x0: int, y0: int) -> tuple[int, int, int]:
        """As `exact.moments`, of the whole part."""
        area = over_x = over_y = 0
        for xa, xb, la, ua, lb, ub in self.strips:
            a, mx, my = moments(((xa, la), (xb, lb), (xb, ub), (xa, ua)), x0, y0)
            area, over_x, over_y = area + a, over_x + mx, over_y + my
        return area, over_x, over_y


@dataclass(frozen=True)
class Frame:
    """How points of the sheet are read in the axes of a layout; `turned` where those are not the sheet's own."""

    frame_deg: float
    origin: Point
    scale: int

    @property
    def turned(self) -> bool:
        """Whether the axes are not the sheet's own, so that points are right to a tick only."""
        return self.frame_deg != 0

    @cached_property
    def _turn(self) -> tuple[float, float]:
        angle = math.radians(self.frame_deg)
        return math.cos(angle), math.sin(angle)

    def point(self, x: int, y: int) -> Point:
        """A point of the sheet in the frame, in parts of a tick: turned back about the frame's zero."""
        x, y = x - self.origin[0], y - self.origin[1]
        if not self.turned:
            return x * self.scale, y * self.scale
        c, s = self._turn
        return round((c * x + s * y) * self.scale), round((c * y - s * x) * self.scale)

    def ring(self, ring: Iterable[Point]) -> tuple[Point, ...]:
        """A ring of the sheet in the frame."""
        return tuple(self.point(x, y) for x, y in ring)

    def box(self, box: Box) -> Box:
        """A box of the frame, from ticks to parts."""
        x0, y0, x1, y1 = box
        return x0 * self.scale, y0 * self.scale, x1 * self.scale, y1 * self.scale


@dataclass(frozen=True)
class Paper:
    """A sheet laid in a frame: outline, holes and bad areas, all in parts of a tick."""

    frame: Frame
    outline: tuple[Point, ...]
    holes: tuple[tuple[Point, ...], ...]
    bad: tuple[tuple[Point, ...], ...]
    inset: int
    double_area: int
    """Twice the area of the sheet in square ticks, holes taken out."""

    @cached_property
    def box(self) -> Box:
        """The box around the outline."""
        return around(self.outline)

    @cached_property
    def edge(self) -> list[Segment]:
        """The sides of the outline."""
        return segments(self.outline)

    @cached_property
    def sides(self) -> list[Segment]:
        """The sides of outline and holes."""
        return [s for ring in (self.outline, *self.holes) for s in segments(ring)]

    @cached_property
    def odd_sides(self) -> list[Segment]:
        """The sides that lie along no axis, or may not: where cuts and edges meet to a tick only."""
        if self.frame.turned:
            return self.sides
        return [s for s in self.sides if s[0] != s[2] and s[1] != s[3]]

    @cached_property
    def corners(self) -> frozenset[Point]:
        """The corners of outline and holes."""
        return frozenset(p for ring in (self.outline, *self.holes) for p in ring)

    @cached_property
    def known_sides(self) -> frozenset[Segment]:
        """The sides of outline and holes, both ways round."""
        return frozenset(self.sides) | {(bx, by, ax, ay) for ax, ay, bx, by in self.sides}

    @cached_property
    def hole_points(self) -> list[tuple[tuple[Fraction, Fraction], int]]:
        """For each hole a point inside, and twice its area."""
        return [(point_within(hole), abs(double_area(hole))) for hole in self.holes]

    def odd_length(self, box: Box) -> int:
        """At most how much of `odd_sides` lies in a box (their width and height added)."""
        x0, y0, x1, y1 = box
        return sum(min(abs(s[2] - s[0]), x1 - x0) + min(abs(s[3] - s[1]), y1 - y0) for s in self.odd_sides if enters(s, box))

    def parts(self, box: Box) -> list[Part]:
        """The connected parts of outline minus holes within a box, the largest first."""
        x0, y0, x1, y1 = box
        if not any(enters(side, box) for side in self.sides):
            middle = (x0 + x1) // 2, (y0 + y1) // 2
            if not encloses(self.outline, *middle) or any(encloses(hole, *middle) for hole in self.holes):
                return []
            return [Part(((x0, x1, y0, y1, y0, y1),), 2 * (x1 - x0) * (y1 - y0))]
        found = _joined(strips(self.sides, box), 0 if not self.odd_sides else self.frame.scale // 8)
        return sorted(found, key=lambda part: (-part.area, part.box))


def lay(sheet: Sheet, frame_deg: float, origin: Point) -> Paper:
    """A sheet in the frame of a layout."""
    rings = (sheet.outline, *sheet.holes)
    straight = frame_deg == 0 and all(ax == bx or ay == by for ring in rings for ax, ay, bx, by in segments(ring))
    frame = Frame(frame_deg, origin, 2 if straight else FINE)
    area = abs(double_area(sheet.outline)) - sum(abs(double_area(hole)) for hole in sheet.holes)
    return Paper(frame, frame.ring(sheet.outline), tuple(frame.ring(hole) for hole in sheet.holes),
                 tuple(frame.ring(zone.outline) for zone in sheet.zones if zone.kind == "bad"),
                 sheet.inset * frame.scale, area)  # fmt: skip


def strips(sides: Sequence[Segment], box: Box) -> list[list[Trapezoid]]:
    """What lies inside these closed lines (an odd number of them below it) and in the box: trapezoids, strip by strip."""
    x0, y0, x1, y1 = box
    near = sorted(
        (s if s[0] < s[2] else (s[2], s[3], s[0], s[1]))
        for s in sides if s[0] != s[2] and min(s[0], s[2]) < x1 and max(s[0], s[2]) > x0
    )  # fmt: skip
    borders = {x0, x1}
    for ax, ay, bx, by in near:
        borders.update((ax, bx))
        for level in (y0, y1):
            if ay < level < by or by < level < ay:
                borders.add(ax + round(Fraction((level - ay) * (bx - ax), by - ay)))
    order = sorted(x for x in borders if x0 <= x <= x1)
    out: list[list[Trapezoid]] = []
    active: list[Segment] = []
    coming = 0
    for xa, xb in pairwise(order):
        active = [s for s in active if s[2] > xa]
        while coming < len(near) and near[coming][0] <= xa:
            if near[coming][2] > xa:
                active.append(near[coming])
            coming += 1
        heights = sorted((a + b, a, b) for a, b in ((_height(s, xa), _height(s, xb)) for s in active))
        strip: list[Trapezoid] = []
        for (_, la, lb), (_, ua, ub) in zip(heights[::2], heights[1::2], strict=True):
            la, lb, ua, ub = (min(max(v, y0), y1) for v in (la, lb, ua, ub))
            if ua > la or ub > lb:
                strip.append((xa, xb, la, ua, lb, ub))
        out.append(strip)
    return out


def _height(side: Segment, x: int) -> int:
    ax, ay, bx, by = side
    if ay == by:
        return ay
    width = bx - ax
    return ay + (2 * (x - ax) * (by - ay) + width) // (2 * width)


def _joined(found: list[list[Trapezoid]], neck: int) -> list[Part]:
    """Parts from strips, those higher than `neck`; neighbours belong together where they share more than that."""
    every = [t for strip in found for t in strip]
    leader = list(range(len(every)))

    def first(i: int) -> int:
        while leader[i] != i:
            leader[i] = leader[leader[i]]
            i = leader[i]
        return i

    start = 0
    for left, right in pairwise(found):
        i = j = 0
        while i < len(left) and j < len(right):
            (_, _, _, _, lb, ub), (_, _, la, ua, _, _) = left[i], right[j]
            if min(ub, ua) - max(lb, la) > neck:
                leader[first(start + len(left) + j)] = first(start + i)
            if ub < ua:
                i += 1
            else:
                j += 1
        start += len(left)
    groups: dict[int, list[Trapezoid]] = {}
    for i, t in enumerate(every):
        groups.setdefault(first(i), []).append(t)
    # what is nowhere higher than a neck comes from rounding where an edge crosses the box
    thick = [g for g in groups.values() if any(max(ua - la, ub - lb) > neck for _, _, la, ua, lb, ub in g)]
    return [Part(tuple(g), sum((ua - la + ub - lb) * (xb - xa) for xa, xb, la, ua, lb, ub in g)) for g in thick]


def stack(found: Iterable[Trapezoid]) -> list[tuple[int, int, tuple[tuple[int, int], ...]]] | None:
    """A shape of axis-parallel sides in its one normal form: runs in x with their spans in y. None for any other shape."""
    columns: dict[tuple[int, int], list[tuple[int, int]]] = {}
    for xa, xb, la, ua, lb, ub in found:
        if la != lb or ua != ub:
            return None
        columns.setdefault((xa, xb), []).append((la, ua))
    out: list[tuple[int, int, tuple[tuple[int, int], ...]]] = []
    for (xa, xb), spans in sorted(columns.items()):
        merged: list[tuple[int, int]] = []
        for low, high in sorted(spans):
            if merged and merged[-1][1] >= low:
                merged[-1] = (merged[-1][0], max(high, merged[-1][1]))
            else:
                merged.append((low, high))
        if out and out[-1][1] == xa and out[-1][2] == tuple(merged):
            out[-1] = (out[-1][0], xb, tuple(merged))
        else:
            out.append((xa, xb, tuple(merged)))
    return out


def touches(paper: Paper, box: Box) -> list[str]:
    """What a piece's box does that it must not: "outside", "hole", "bad", or "inset" for too near to one of them."""
    middle = (box[0] + box[2]) // 2, (box[1] + box[3]) // 2
    out = []
    if any(enters(s, box) for s in paper.edge) or not encloses(paper.outline, *middle):
        out.append("outside")
    for word, rings in (("hole", paper.holes), ("bad", paper.bad)):
        if any(_meets(ring, box, middle) for ring in rings):
            out.append(word)
    if not out and paper.inset > 0:
        every = (paper.outline, *paper.holes, *paper.bad)
        if any(closer(s, box, paper.inset) for ring in every for s in segments(ring)):
            out.append("inset")
    return out


def _meets(ring: Ring, box: Box, middle: Point) -> bool:
    x0, y0, x1, y1 = around(ring)
    if x0 >= box[2] or x1 <= box[0] or y0 >= box[3] or y1 <= box[1]:
        return False
    return any(enters(s, box) for s in segments(ring)) or encloses(ring, *middle)
