"""Points and lines in whole ticks or exact fractions: roots, rounding to a safe side, edges seen from a side.

Whatever is no whole tick is rounded once, here: paper inward, damage outward (design.md section 3, "Lengths").
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from fractions import Fraction
from itertools import pairwise, product
from math import ceil, floor, isqrt
from typing import Any, cast

from nesting.geometry import Box, Point, Ring, area2, bounds, inside

Exact = tuple[Fraction, Fraction]
_FINE = 1 << 40


def root(square: Fraction, *, up: bool) -> Fraction:
    """The square root of a number of 0 or more: exact where it is a fraction, else within 1e-12 below (or above) it."""
    top, bottom = isqrt(square.numerator), isqrt(square.denominator)
    if top * top == square.numerator and bottom * bottom == square.denominator:
        return Fraction(top, bottom)
    scaled = square * _FINE * _FINE
    whole = isqrt(floor(scaled))
    if up and Fraction(whole * whole) != scaled:
        whole += 1
    return Fraction(whole, _FINE)


def to_ticks(ring: Sequence[Exact], *, inward: bool) -> Ring:
    """The ring on whole ticks: each point that is none moves to the nearest tick inside (or outside) the ring."""
    return tuple(_tick(point, ring, 1 if inward else -1) for point in ring)


def _tick(point: Exact, ring: Sequence[Exact], sign: int) -> Point:
    x, y = point
    if x.denominator == 1 == y.denominator:
        return int(x), int(y)
    for reach in (0, 1, 2):
        columns = [floor(x)] if x.denominator == 1 and reach == 0 else range(floor(x) - reach, ceil(x) + reach + 1)
        rows = [floor(y)] if y.denominator == 1 and reach == 0 else range(floor(y) - reach, ceil(y) + reach + 1)
        near = [(px, py) for px, py in product(columns, rows) if sign * inside((px, py), cast(Any, ring)) >= 0]
        if near:
            return min(near, key=lambda p: ((p[0] - x) ** 2 + (p[1] - y) ** 2, p))
    return floor(x + Fraction(1, 2)), floor(y + Fraction(1, 2))  # a needle's tip: no tick of that side is near


def half_plane(ring: Sequence[Exact], a: Fraction, b: Fraction, most: Fraction) -> list[Exact]:
    """The part of a convex ring where a x + b y <= most, exactly (Sutherland and Hodgman 1974, one line)."""
    kept: list[Exact] = []
    for (px, py), (qx, qy) in zip(ring, [*ring[1:], ring[0]], strict=True):
        p, q = a * px + b * py - most, a * qx + b * qy - most
        if p <= 0:
            kept.append((px, py))
        if p * q < 0:
            share = p / (p - q)
            kept.append((px + share * (qx - px), py + share * (qy - py)))
    return kept


def without_straight(ring: Sequence[Point]) -> Ring:
    """The ring without points on a straight run, starting at its lowest and then leftmost point, counter-clockwise."""
    points = [point for i, point in enumerate(ring) if point != ring[i - 1]]
    changed = True
    while changed and len(points) > 3:
        changed = False
        for i, (bx, by) in enumerate(points):
            ax, ay = points[i - 1]
            cx, cy = points[(i + 1) % len(points)]
            if (bx - ax) * (cy - by) == (by - ay) * (cx - bx):
                del points[i]
                changed = True
                break
    if area2(points) < 0:
        points.reverse()
    start = min(range(len(points)), key=lambda i: (points[i][1], points[i][0]))
    return (*points[start:], *points[:start])


def _turned(ring: Sequence[Point], side: str) -> list[Point]:
    """The ring turned so that the named edge lies to the right: (depth towards it, position along it)."""
    sign = 1 if side in "RT" else -1
    return [(sign * x, y) if side in "LR" else (sign * y, x) for x, y in ring]


def _runs(ring: Sequence[Point], side: str, low: Fraction, high: Fraction) -> Iterator[tuple[Fraction, Fraction]]:
    """Depths of the edge facing that side, at both ends of each run between `low` and `high` along it."""
    turned = _turned(ring, side)
    edges = [(a, b) if a[1] < b[1] else (b, a) for a, b in zip(turned, [*turned[1:], turned[0]], strict=True) if a[1] != b[1]]
    stops = sorted({low, high, *(Fraction(v) for _, v in turned if low < v < high)})
    for start, end in pairwise(stops):
        middle = (start + end) / 2
        crossing = [(a, b) for a, b in edges if a[1] < middle < b[1]]
        if crossing:
            a, b = max(crossing, key=lambda edge: _at(edge[0], edge[1], middle))
            yield _at(a, b, start), _at(a, b, end)


def _at(a: Point, b: Point, along: Fraction) -> Fraction:
    return a[0] + (b[0] - a[0]) * (along - a[1]) / (b[1] - a[1])


def farthest_in(ring: Sequence[Point], side: str, low: Fraction, high: Fraction) -> Fraction | None:
    """How far in (x or y) the edge facing that side gets between two positions along it; None where there is none."""
    depths = [depth for run in _runs(ring, side, low, high) for depth in run]
    return None if not depths else (min(depths) if side in "RT" else -min(depths))


def edge_at(ring: Sequence[Point], side: str, along: Fraction) -> Exact | None:
    """The point of the edge facing that side at one position along it; None where there is none."""
    outer: list[Fraction] = []
    turned = _turned(ring, side)
    for a, b in zip(turned, [*turned[1:], turned[0]], strict=True):
        if min(a[1], b[1]) <= along <= max(a[1], b[1]):
            outer += [Fraction(a[0]), Fraction(b[0])] if a[1] == b[1] else [_at(a, b, along)]
    if not outer:
        return None
    depth = max(outer) if side in "RT" else -max(outer)
    return (depth, along) if side in "LR" else (along, depth)


def within(points: Sequence[Point], ring: Ring) -> bool:
    """Whether every point lies in a ring or on it."""
    return all(inside(point, ring) >= 0 for point in points)


def box_ring(box: Box) -> Ring:
    """The four corners of a box, counter-clockwise from the low left."""
    x0, y0, x1, y1 = box
    return (x0, y0), (x1, y0), (x1, y1), (x0, y1)


def shifted_to_zero(ring: Ring) -> Ring:
    """The ring moved so that its bounding box begins at (0, 0)."""
    x0, y0, _, _ = bounds(ring)
    return tuple((x - x0, y - y0) for x, y in ring)
