"""A traced outline of thousands of points, made simpler for the search: a shape inside it and one around it.

Pieces are laid on the inner shape, so a layout is good on the true paper; limits are taken on the outer one, so they
hold for the true paper too. Both lie within a stated tolerance of the true edge. The way: the ring is moved in (or out)
by half the tolerance and then straightened by less than the other half (Douglas & Peucker 1973), so it cannot come back
over the true edge; that it does not is checked on the whole ticks.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass
from fractions import Fraction
from typing import Any

from ... import geometry
from ...geometry import Point, Ring
from ...lengths import TICKS_PER_MM
from ...sheets import Sheet

MOST_POINTS = 400  # of all rings of a sheet; fewer are taken as they are
FEW_POINTS = 24  # a ring of no more is taken as it is
TOLERANCE = TICKS_PER_MM // 5
GROWTH, LARGEST = Fraction(3, 2), 16  # each time the tolerance does not do; times the first at most
WORTH_IT = 0.8  # a larger tolerance must leave fewer points than this part of those so far
STRAIGHTENED = 0.4  # of the tolerance; with the half that the ring was moved by, some is left for rounding
LONG, MOST_LONG = 50, 24  # an edge so many times the tolerance stays where it is; so many of them


@dataclass(frozen=True)
class Shape:
    """The rings that a search sees of a sheet: paper within `outline`, less `gone` (holes and bad areas)."""

    outline: Ring
    gone: tuple[Ring, ...]

    @property
    def points(self) -> int:
        """How many corners all rings have."""
        return len(self.outline) + sum(map(len, self.gone))


@dataclass(frozen=True)
class Simpler:
    """The inner and the outer shape of a sheet, how far at most they are from the true edge, and what is lost.

    `lost2`: doubled area in square ticks that lies outside the inner shape's outline, at most.
    """

    inner: Shape
    outer: Shape
    tolerance: int
    lost2: int


def simpler(sheet: Sheet, tolerance: int = TOLERANCE, most: int = MOST_POINTS) -> Simpler | None:
    """The sheet with at most `most` points where that can be had; None where it has no more than that anyway.

    The tolerance (ticks) grows only where the points demand it. A ring that falls apart within the tolerance stays
    as it is. Points on a straight line between their neighbours go first, and cost nothing.
    """
    true = Shape(sheet.outline, (*sheet.holes, *sheet.bad))
    if true.points <= most:
        return None
    straight = Shape(_unbroken(true.outline), tuple(_unbroken(ring) for ring in true.gone))
    best = Simpler(straight, straight, 0, 0)
    if straight.points <= most:
        return best
    factor = Fraction(1)
    while factor <= LARGEST:
        within = int(tolerance * factor)
        inner, outer = _shape(straight, within, -1), _shape(straight, within, 1)
        if max(inner.points, outer.points) < WORTH_IT * max(best.inner.points, best.outer.points):
            lost = geometry.area2(straight.outline) - geometry.area2(inner.outline)
            lost += sum(geometry.area2(ring) for ring in inner.gone) - sum(geometry.area2(ring) for ring in straight.gone)
            best = Simpler(inner, outer, within, lost)
        if max(inner.points, outer.points) <= most:
            break
        factor *= GROWTH
    return best


def told(found: Iterable[Simpler | None]) -> str:
    """What to tell the maker of sheets that were made simpler; empty where nothing was lost."""
    shaved = [(s.tolerance, s.lost2) for s in found if s is not None and s.tolerance]
    if not shaved:
        return ""
    lost = max(lost2 for _, lost2 in shaved) / (2 * TICKS_PER_MM**2 * 100)
    return (f"Traced outlines of very many points are planned up to {max(t for t, _ in shaved) / TICKS_PER_MM:g} mm inside "
            f"their edge: {lost:.2g} cm² of a sheet at most.")  # fmt: skip


def _unbroken(ring: Ring) -> Ring:
    """The ring without points on the line between their neighbours."""
    kept: list[Point] = []
    for index, (x, y) in enumerate(ring):
        ax, ay = kept[-1] if kept else ring[index - 1]
        bx, by = ring[(index + 1) % len(ring)]
        if (x - ax) * (by - y) != (y - ay) * (bx - x):
            kept.append((x, y))
    return tuple(kept)


def _shape(shape: Shape, tolerance: int, sense: int) -> Shape:
    """The shape with less (-1) or more (1) paper."""
    outline = _ring(shape.outline, tolerance, sense) or shape.outline
    gone = []
    for ring in shape.gone:
        if len(ring) <= FEW_POINTS:
            gone.append(ring)
            continue
        moved = _ring(ring, tolerance, -sense)
        gone.append(moved or ring)
    return Shape(outline, tuple(gone))


def _ring(ring: Ring, tolerance: int, sense: int) -> Ring | None:
    """The ring moved in (-1) or out (1) and straightened; None where no such ring is simple and has fewer points."""
    from shapely import Polygon, get_parts, prepare, union_all

    true = Polygon(ring)
    moved = true.buffer(sense * tolerance / 2, quad_segs=4)
    if sense < 0:  # bits thinner than the tolerance may go; two that are not must stay together
        parts = [p for p in get_parts(moved) if not p.buffer(-tolerance / 2).is_empty]
        if len(parts) != 1:
            return None
        moved = parts[0]
    smooth = Polygon(moved.exterior).simplify(STRAIGHTENED * tolerance, preserve_topology=True)
    prepare(true)
    long = [] if sense > 0 else _long_edges(ring, tolerance, true)
    for polygon in ([union_all([smooth, *long]), smooth] if long else [smooth]):
        if polygon.geom_type != "Polygon":
            continue
        out = _unbroken(tuple((round(x), round(y)) for x, y in polygon.exterior.coords[:-1]))
        if 3 <= len(out) < len(ring):
            found = Polygon(out)
            if found.is_valid and (true.covers(found) if sense < 0 else found.covers(true)):
                return geometry.counter_clockwise(out)
    return None


def _long_edges(ring: Ring, tolerance: int, true: Any) -> list[Any]:
    """Strips of paper along the long edges of a ring: there nothing is lost."""
    from shapely import Polygon

    edges = sorted(((math.dist(ring[i - 1], b), i) for i, b in enumerate(ring)), reverse=True)[:MOST_LONG]
    out = []
    for length, i in edges:
        if length < LONG * tolerance:
            break
        (ax, ay), (bx, by) = ring[i - 1], ring[i]
        ux, uy = (bx - ax) / length, (by - ay) / length
        off = 0 if ax == bx or ay == by else 2  # ticks, so that rounding stays inside
        end = length - tolerance
        corners = ((tolerance, off), (end, off), (end, tolerance), (tolerance, tolerance))
        strip = Polygon([(round(ax + s * ux - t * uy), round(ay + s * uy + t * ux)) for s, t in corners])
        if true.covers(strip):
            out.append(strip)
    return out
