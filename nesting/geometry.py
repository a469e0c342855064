"""Exact predicates and cuts on polygons whose vertices are whole ticks (integers).

A ring is a tuple of (x, y) without a repeated end; an outline runs counter-clockwise, a hole clockwise or not.
Areas are doubled, so they stay whole. The checker has its own versions and does not use this module.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

Point = tuple[int, int]
Ring = tuple[Point, ...]
Box = tuple[int, int, int, int]


@dataclass(frozen=True)
class Part:
    """A connected piece of paper: a counter-clockwise outline and clockwise holes."""

    outline: Ring
    holes: tuple[Ring, ...] = ()

    @property
    def area2(self) -> int:
        """Doubled area in square ticks, holes taken out."""
        return area2(self.outline) + sum(area2(hole) for hole in self.holes)


def on_one_line(points: Sequence[Point]) -> bool:
    """Whether all points lie on one straight line.

    >>> on_one_line([(0, 0), (2, 2), (5, 5)]), on_one_line([(0, 0), (2, 2), (2, 0), (0, 2)])
    (True, False)
    """
    (x0, y0), far = points[0], max(points, key=lambda p: (abs(p[0] - points[0][0]) + abs(p[1] - points[0][1]), p))
    return all((far[0] - x0) * (y - y0) == (far[1] - y0) * (x - x0) for x, y in points)


def area2(ring: Sequence[Point]) -> int:
    """Doubled signed area: positive where the ring runs counter-clockwise."""
    total = 0
    x0, y0 = ring[-1]
    for x1, y1 in ring:
        total += x0 * y1 - x1 * y0
        x0, y0 = x1, y1
    return total


def bounds(points: Iterable[Point]) -> Box:
    """[x0, y0, x1, y1] around the points (at least one)."""
    xs, ys = zip(*points, strict=True)
    return min(xs), min(ys), max(xs), max(ys)


def counter_clockwise(ring: Ring) -> Ring:
    """The same ring, run counter-clockwise."""
    return ring if area2(ring) > 0 else tuple(reversed(ring))


def convex(ring: Ring) -> bool:
    """Whether a simple counter-clockwise ring is convex; corners on a straight edge are allowed.

    >>> convex(((0, 0), (4, 0), (4, 4), (0, 4))), convex(((0, 0), (4, 0), (1, 1), (0, 4)))
    (True, False)
    """
    for i, (bx, by) in enumerate(ring):
        (ax, ay), (cx, cy) = ring[i - 1], ring[(i + 1) % len(ring)]
        if (bx - ax) * (cy - by) - (by - ay) * (cx - bx) < 0:
            return False
    return True


def inside(point: Point, ring: Sequence[Point]) -> int:
    """1 inside, 0 on the edge, -1 outside."""
    x, y = point
    odd = False
    ax, ay = ring[-1]
    for bx, by in ring:
        cross = (bx - ax) * (y - ay) - (by - ay) * (x - ax)
        if cross == 0 and min(ax, bx) <= x <= max(ax, bx) and min(ay, by) <= y <= max(ay, by):
            return 0
        if (ay > y) != (by > y) and (cross > 0) == (by > ay):
            odd = not odd
        ax, ay = bx, by
    return 1 if odd else -1


def split(part: Part, axis: str, at: int) -> tuple[list[Part], list[Part]]:
    """Cut a part along the line x = at (axis "x") or y = at ("y"): the parts below it and above it.

    Crossings on slanted edges are rounded once to a tick and shared by both sides, so the doubled areas of
    both sides add up to that of the part with those vertices inserted.
    """
    if axis == "y":
        low, high = split(_flip(part), "x", at)
        return [_flip(p) for p in low], [_flip(p) for p in high]
    rings = [_with_crossings(ring, at) for ring in (part.outline, *part.holes)]
    high = _below([tuple((-x, y) for x, y in reversed(ring)) for ring in rings], -at)
    mirrored = [
        Part(_unmirror(p.outline), tuple(_unmirror(h) for h in p.holes)) for p in high
    ]
    return _below(rings, at), mirrored


def _unmirror(ring: Ring) -> Ring:
    return tuple((-x, y) for x, y in reversed(ring))


def _flip(part: Part) -> Part:
    """Mirror at the diagonal; the rings are reversed to keep their sense."""
    return Part(
        tuple((y, x) for x, y in reversed(part.outline)),
        tuple(tuple((y, x) for x, y in reversed(hole)) for hole in part.holes),
    )


def _with_crossings(ring: Ring, at: int) -> Ring:
    out: list[Point] = []
    ax, ay = ring[-1]
    for bx, by in ring:
        if (ax < at < bx) or (bx < at < ax):
            # nearest tick, the same from either end: computed from the left end always
            lx, ly, hx, hy = (ax, ay, bx, by) if ax < bx else (bx, by, ax, ay)
            top, bottom = (at - lx) * (hy - ly), hx - lx
            out.append((at, ly + (2 * top + bottom) // (2 * bottom)))
        out.append((bx, by))
        ax, ay = bx, by
    return tuple(out)


def _below(rings: list[Ring], at: int) -> list[Part]:
    """The parts of the region (first ring its outline, others holes) on the side x < at.

    Every ring already has a vertex wherever it crosses the line. Chains of boundary below the line are closed
    along it: upwards, the paper lies to the left of the line between a chain that ends and one that starts.
    """
    whole: list[Ring] = []
    chains: list[list[Point]] = []
    for ring in rings:
        if all(x <= at for x, _ in ring) and not any(x == at for x, _ in ring):
            whole.append(ring)
            continue
        chains += _chains_below(ring, at)
    events: list[tuple[int, int, int]] = []  # (y, 0 ends / 1 starts, chain)
    for index, chain in enumerate(chains):
        events.append((chain[-1][1], 0, index))
        events.append((chain[0][1], 1, index))
    events.sort()
    follows: dict[int, int] = {}
    open_chain: int | None = None
    at_y = 0
    while at_y < len(events):
        stop = at_y
        while stop < len(events) and events[stop][0] == events[at_y][0]:
            stop += 1
        ends = [i for _, kind, i in events[at_y:stop] if kind == 0]
        starts = [i for _, kind, i in events[at_y:stop] if kind == 1]
        while ends or starts:
            if open_chain is None:
                open_chain = ends.pop()
            else:
                follows[open_chain] = starts.pop()
                open_chain = None
        at_y = stop
    closed: list[Ring] = []
    left = set(range(len(chains)))
    while left:
        first = min(left)
        ring_points: list[Point] = []
        index = first
        while index in left:
            left.discard(index)
            ring_points += chains[index]
            index = follows[index]
        ring = _tidy(ring_points)
        if len(ring) >= 3 and area2(ring) != 0:
            closed.append(ring)
    return _nest(closed + whole)


def _chains_below(ring: Ring, at: int) -> list[list[Point]]:
    """Maximal runs of the ring strictly below the line, each with its two end points on the line."""
    count = len(ring)
    start = next((i for i in range(count) if ring[i][0] >= at), None)
    if start is None:
        return []
    chains: list[list[Point]] = []
    run: list[Point] = []
    for step in range(count + 1):
        point = ring[(start + step) % count]
        before = ring[(start + step - 1) % count]
        if point[0] < at:
            if not run:
                run = [before]
            run.append(point)
        elif run:
            run.append(point)
            chains.append(run)
            run = []
    return chains


def _tidy(points: list[Point]) -> Ring:
    out: list[Point] = []
    for point in points:
        if not out or out[-1] != point:
            out.append(point)
    while len(out) > 1 and out[0] == out[-1]:
        out.pop()
    return tuple(out)


def _nest(rings: list[Ring]) -> list[Part]:
    """Group rings into parts: counter-clockwise ones are outlines, clockwise ones holes of the smallest around."""
    outlines = sorted((r for r in rings if area2(r) > 0), key=lambda r: (area2(r), r))
    holes: dict[int, list[Ring]] = {i: [] for i in range(len(outlines))}
    for ring in sorted((r for r in rings if area2(r) < 0), key=lambda r: (area2(r), r)):
        for i, outline in enumerate(outlines):
            if next((side for side in (inside(point, outline) for point in ring) if side), 1) > 0:  # the first off the edge
                holes[i].append(ring)
                break
    return sorted(
        (Part(outline, tuple(holes[i])) for i, outline in enumerate(outlines)),
        key=lambda p: (bounds(p.outline), p.outline),
    )
