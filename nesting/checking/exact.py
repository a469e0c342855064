"""Predicates on points with whole coordinates, exact at any size.

A ring is a sequence of (x, y) without a repeated end; a box is (x0, y0, x1, y1). Sums of products of whole numbers
only: areas and moments by the shoelace sums that follow from Green's theorem; contact of a segment and a box by
separating lines (two convex sets are apart exactly when they are along the normal of a side of one of them).
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from fractions import Fraction

Point = tuple[int, int]
Ring = Sequence[Point]
Box = tuple[int, int, int, int]
Segment = tuple[int, int, int, int]


def around(points: Iterable[Point]) -> Box:
    """The smallest box around one or more points."""
    xs, ys = zip(*points, strict=True)
    return min(xs), min(ys), max(xs), max(ys)


def segments(ring: Ring) -> list[Segment]:
    """The sides of a ring, the first from its first point."""
    return [(*ring[i], *ring[(i + 1) % len(ring)]) for i in range(len(ring))]


def double_area(ring: Ring) -> int:
    """Twice the area, positive where the ring runs counter-clockwise."""
    return sum(ax * by - bx * ay for ax, ay, bx, by in segments(ring))


def moments(ring: Ring, x0: int, y0: int) -> tuple[int, int, int]:
    """Twice the area, and six times its first moments in x and y about (x0, y0)."""
    area = over_x = over_y = 0
    for ax, ay, bx, by in segments(ring):
        ax, ay, bx, by = ax - x0, ay - y0, bx - x0, by - y0
        cross = ax * by - bx * ay
        area += cross
        over_x += cross * (ax + bx)
        over_y += cross * (ay + by)
    return area, over_x, over_y


def encloses(ring: Ring, x: int | Fraction, y: int | Fraction) -> bool:
    """Whether the ring runs round a point that does not lie on it (by its winding number)."""
    turns = 0
    for ax, ay, bx, by in segments(ring):
        if ay <= y < by and (bx - ax) * (y - ay) > (by - ay) * (x - ax):
            turns += 1
        elif by <= y < ay and (bx - ax) * (y - ay) < (by - ay) * (x - ax):
            turns -= 1
    return turns != 0


def point_within(ring: Ring) -> tuple[Fraction, Fraction]:
    """A point inside a ring of some area: on a level between its two lowest corners, between the first two sides met."""
    levels = sorted({y for _, y in ring})
    y = Fraction(levels[0] + levels[1], 2)
    met = sorted(ax + (y - ay) * (bx - ax) / (by - ay) for ax, ay, bx, by in segments(ring) if (ay < y) != (by < y))
    return (met[0] + met[1]) / 2, y


def enters(segment: Segment, box: Box) -> bool:
    """Whether a segment has a point strictly inside the box."""
    ax, ay, bx, by = segment
    x0, y0, x1, y1 = box
    if (ax <= x0 and bx <= x0) or (ax >= x1 and bx >= x1) or (ay <= y0 and by <= y0) or (ay >= y1 and by >= y1):
        return False
    dx, dy = bx - ax, by - ay
    if dx == 0 or dy == 0:
        return True
    # the two corners furthest apart across the segment's line
    if (dx > 0) == (dy > 0):
        first, second = dx * (y0 - ay) - dy * (x1 - ax), dx * (y1 - ay) - dy * (x0 - ax)
    else:
        first, second = dx * (y0 - ay) - dy * (x0 - ax), dx * (y1 - ay) - dy * (x1 - ax)
    return (first < 0 < second) or (second < 0 < first)


def closer(segment: Segment, box: Box, gap: int) -> bool:
    """Whether the distance of a segment to a box that it does not enter is less than `gap`."""
    ax, ay, bx, by = segment
    x0, y0, x1, y1 = box
    if max(ax, bx) <= x0 - gap or min(ax, bx) >= x1 + gap or max(ay, by) <= y0 - gap or min(ay, by) >= y1 + gap:
        return False
    for px, py in ((ax, ay), (bx, by)):
        across, along = max(x0 - px, 0, px - x1), max(y0 - py, 0, py - y1)
        if across * across + along * along < gap * gap:
            return True
    return any(not further(x, y, segment, gap) for x, y in ((x0, y0), (x1, y0), (x1, y1), (x0, y1)))


def further(x: int, y: int, segment: Segment, gap: int) -> bool:
    """Whether the distance of a point to a segment is `gap` or more."""
    ax, ay, bx, by = segment
    dx, dy, px, py = bx - ax, by - ay, x - ax, y - ay
    along, length = px * dx + py * dy, dx * dx + dy * dy
    if along <= 0:
        return px * px + py * py >= gap * gap
    if along >= length:
        return (x - bx) ** 2 + (y - by) ** 2 >= gap * gap
    cross = dx * py - dy * px
    return cross * cross >= gap * gap * length


def crosses_itself(ring: Ring) -> bool:
    """Whether two sides of a ring meet other than next to each other at their common corner."""
    sides = [s for s in segments(ring) if s[:2] != s[2:]]
    count = len(sides)
    if count < 3:
        return True
    order = sorted(range(count), key=lambda i: min(sides[i][0], sides[i][2]))
    for place, i in enumerate(order):
        a = sides[i]
        reach, low, high = max(a[0], a[2]), min(a[1], a[3]), max(a[1], a[3])
        for j in order[place + 1 :]:
            b = sides[j]
            if min(b[0], b[2]) > reach:
                break
            if max(b[1], b[3]) < low or min(b[1], b[3]) > high:
                continue
            if (j - i) % count == 1 or (i - j) % count == 1:
                first, second = (a, b) if (j - i) % count == 1 else (b, a)
                if _doubles_back(first, second):
                    return True
            elif _meet(a, b):
                return True
    return False


def _side(segment: Segment, x: int, y: int) -> int:
    ax, ay, bx, by = segment
    return (bx - ax) * (y - ay) - (by - ay) * (x - ax)


def _doubles_back(first: Segment, second: Segment) -> bool:
    ax, ay, bx, by = first
    _, _, cx, cy = second
    return _side(first, cx, cy) == 0 and (bx - ax) * (cx - bx) + (by - ay) * (cy - by) < 0


def _meet(a: Segment, b: Segment) -> bool:
    """Whether two segments whose boxes meet have a common point."""
    first, second = _side(a, b[0], b[1]), _side(a, b[2], b[3])
    third, fourth = _side(b, a[0], a[1]), _side(b, a[2], a[3])
    if first == second == 0:
        return True
    return not (first > 0 < second or first < 0 > second) and not (third > 0 < fourth or third < 0 > fourth)


def quarter(x: int, y: int, turn: int) -> Point:
    """A direction after a turn of 0, 90, 180 or 270 degrees counter-clockwise: (x, y) becomes (-y, x) each quarter."""
    for _ in range(turn // 90):
        x, y = -y, x
    return x, y
