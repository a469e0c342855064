"""Where a label fits: room inside an area, and what is taken already. All in mm of the page."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Sequence
from typing import Any

from .ink import Place, Rect


class Taken:
    """Rectangles that something is written in."""

    def __init__(self, gap: float = 0.5) -> None:
        self.gap = gap
        self.rects: list[Rect] = []
        self.thin: list[Rect] = []

    def add(self, rect: Rect, thin: bool = False) -> None:
        """Take a rectangle; a thin one is a line that other lines may cross."""
        (self.thin if thin else self.rects).append(rect)

    def free(self, rect: Rect, line: bool = False) -> bool:
        """Whether nothing taken comes nearer than the gap (to a `line`: nothing but thin lines)."""
        x0, y0, x1, y1 = rect
        gap = self.gap
        every = self.rects if line else self.rects + self.thin
        return not any(x0 < b + gap and a - gap < x1 and y0 < d + gap and c - gap < y1 for a, c, b, d in every)

    def also(self, rects: Iterable[Rect]) -> Taken:
        """The same with more rectangles taken, for one try."""
        out = Taken(self.gap)
        out.rects, out.thin = [*self.rects, *rects], self.thin
        return out


class Room:
    """An area with holes to put rectangles into."""

    def __init__(self, rings: Sequence[Sequence[Place]], edge: float = 0.8) -> None:
        self.edge = edge  # mm that everything stays off the outline
        outline = rings[0]
        xs, ys = [x for x, _ in outline], [y for _, y in outline]
        self.box: Rect = (min(xs), min(ys), max(xs), max(ys))
        self.plain = len(rings) == 1 and len(outline) == 4 and all(
            min(abs(x - self.box[0]), abs(x - self.box[2])) < 1e-6 and min(abs(y - self.box[1]), abs(y - self.box[3])) < 1e-6
            for x, y in outline)  # fmt: skip
        self._shape: Any = None
        self.middle: Place = ((self.box[0] + self.box[2]) / 2, (self.box[1] + self.box[3]) / 2)
        if not self.plain:
            from shapely import Polygon, prepare

            self._shape = Polygon(outline, [list(ring) for ring in rings[1:]])
            prepare(self._shape)
            inner = self._shape.representative_point() if not self._shape.contains(self._shape.centroid) else self._shape.centroid
            self.middle = (float(inner.x), float(inner.y))

    def holds(self, rect: Rect) -> bool:
        """Whether the rectangle lies inside."""
        x0, y0, x1, y1 = rect
        a, b, c, d = self.box
        if x0 < a - 1e-9 or y0 < b - 1e-9 or x1 > c + 1e-9 or y1 > d + 1e-9:
            return False
        if self.plain:
            return True
        from shapely import box

        return bool(self._shape.contains(box(x0, y0, x1, y1)))

    def spot(self, width: float, height: float, taken: Taken) -> Rect | None:
        """A free rectangle of this size, off the outline, as near to the middle as may be, or None."""
        a, b, c, d = self.box
        edge = self.edge
        if width + 2 * edge > c - a or height + 2 * edge > d - b:
            return None
        for x, y in self._places(width, height, edge):
            rect = (x - width / 2, y - height / 2, x + width / 2, y + height / 2)
            wide = (rect[0] - edge, rect[1] - edge, rect[2] + edge, rect[3] + edge)
            if taken.free(rect) and self.holds(wide):
                return rect
        return None

    def _places(self, width: float, height: float, edge: float) -> Iterator[Place]:
        yield self.middle
        a, b, c, d = self.box
        a, c = a + width / 2 + edge, c - width / 2 - edge
        b, d = b + height / 2 + edge, d - height / 2 - edge
        nx, ny = (max(1, min(24, math.ceil(extent / 1.5))) for extent in (c - a, d - b))
        grid = [(a + (c - a) * i / nx, b + (d - b) * j / ny) for i in range(nx + 1) for j in range(ny + 1)]
        mx, my = self.middle
        yield from sorted(grid, key=lambda p: (round((p[0] - mx) ** 2 + (p[1] - my) ** 2, 3), p))


def apart(point: Place, start: Place, end: Place) -> float:
    """The distance of a point from a segment."""
    dx, dy = end[0] - start[0], end[1] - start[1]
    square = dx * dx + dy * dy
    t = 0.0 if square == 0 else max(0.0, min(1.0, ((point[0] - start[0]) * dx + (point[1] - start[1]) * dy) / square))
    return math.hypot(point[0] - start[0] - t * dx, point[1] - start[1] - t * dy)


def crossing(a: Place, b: Place, c: Place, d: Place) -> bool:
    """Whether two segments cross each other."""

    def side(p: Place, q: Place, r: Place) -> float:
        return (q[0] - p[0]) * (r[1] - p[1]) - (q[1] - p[1]) * (r[0] - p[0])

    return side(a, b, c) * side(a, b, d) < 0 and side(c, d, a) * side(c, d, b) < 0


def meets(rect: Rect, start: Place, end: Place) -> bool:
    """Whether a segment runs into a rectangle."""
    x0, y0, x1, y1 = rect
    if any(x0 <= x <= x1 and y0 <= y <= y1 for x, y in (start, end)):
        return True
    corners = ((x0, y0), (x1, y0), (x1, y1), (x0, y1))
    return any(crossing(start, end, corners[k], corners[(k + 1) % 4]) for k in range(4))
