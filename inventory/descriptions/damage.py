"""What damage takes off an outline, and the strips it leaves on the paper."""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction

from nesting import Sheet
from nesting.errors import InputError
from nesting.geometry import Box, Point, Ring, bounds
from nesting.lengths import TICKS_PER_MM

from .exactly import Exact, box_ring, half_plane, root, to_ticks, without_straight

_SCRAP = TICKS_PER_MM * TICKS_PER_MM  # 1 mm2: less is no piece of paper
_CRUMB = 100  # a piece so many times smaller than the sheet is none to enter by itself
_NEAR = 2  # ticks: a point of a cut outline lies so near to the edge it was cut from


def at_edge(side: str, nominal: Box, depth: int, low: int, high: int) -> Box:
    """The box along one edge of the nominal rectangle, so deep, between two positions on it."""
    x0, y0, x1, y1 = nominal
    return {
        "L": (x0, low, x0 + depth, high), "R": (x1 - depth, low, x1, high),
        "B": (low, y0, high, y0 + depth), "T": (low, y1 - depth, high, y1),
    }[side]  # fmt: skip


def along_edge(ring: Ring, edge: int, depth: int) -> Ring:
    """What lies less deep than `depth` inside one edge of a convex counter-clockwise ring, within the ring's box.

    Its corners lie on the box, not on the neighbouring edges, so that on whole ticks they leave no sliver; along a
    leaning edge it is at most two ticks deeper.
    """
    (ax, ay), (bx, by) = ring[edge], ring[(edge + 1) % len(ring)]
    inx, iny = Fraction(ay - by), Fraction(bx - ax)
    deep = depth + (1 if inx and iny else 0)  # a corner moves by less than one tick
    most = inx * ax + iny * ay + deep * root(inx * inx + iny * iny, up=True)
    box = [(Fraction(x), Fraction(y)) for x, y in box_ring(bounds(ring))]
    return without_straight(to_ticks(half_plane(box, inx, iny, most), inward=False))


def off_corner(ring: Ring, corner: str, along: int, down: int) -> Ring:
    """Everything outside of the line that clips a corner of a four-sided ring (low left, low right, high right, ...)."""
    index = {"BL": 0, "BR": 1, "TR": 2, "TL": 3}[corner]
    before, at, after = ring[index - 1], ring[index], ring[(index + 1) % 4]
    # the sides of the ring alternate: from low left and high right on, the level one comes next
    ahead, behind = (along, down) if corner in ("BL", "TR") else (down, along)
    return _outside(_towards(at, before, behind), _towards(at, after, ahead), bounds(ring))


def _towards(start: Point, end: Point, distance: int) -> Exact:
    length = root(Fraction((end[0] - start[0]) ** 2 + (end[1] - start[1]) ** 2), up=False)
    share = distance / length
    return start[0] + share * (end[0] - start[0]), start[1] + share * (end[1] - start[1])


def _outside(a: Exact, b: Exact, box: Box) -> Ring:
    """A piece of the half plane to the right of the line from a to b, large enough to cover a box; a tick more."""
    far = 4 * (box[2] - box[0] + box[3] - box[1])
    length = root((b[0] - a[0]) ** 2 + (b[1] - a[1]) ** 2, up=True)
    ux, uy = (b[0] - a[0]) / length, (b[1] - a[1]) / length
    start, end = (a[0] - far * ux - uy, a[1] - far * uy + ux), (b[0] + far * ux - uy, b[1] + far * uy + ux)
    quad = [start, (start[0] + far * uy, start[1] - far * ux), (end[0] + far * uy, end[1] - far * ux), end]
    return tuple((round(x), round(y)) for x, y in quad)


def band(a: Exact, b: Exact, wide: Fraction, box: Box) -> Ring:
    """The strip along the line through a and b, half its width to each side, within a box; rounded outward."""
    nx, ny = a[1] - b[1], b[0] - a[0]
    middle = nx * a[0] + ny * a[1]
    half = root(nx * nx + ny * ny, up=True) * wide / 2
    x0, y0, x1, y1 = (Fraction(v) for v in box)
    strip = half_plane([(x0, y0), (x1, y0), (x1, y1), (x0, y1)], nx, ny, middle + half)
    strip = half_plane(strip, -nx, -ny, half - middle)
    return to_ticks(strip, inward=False) if strip else ()


def cut_away(ring: Ring, sides: Sequence[str], gone: Sequence[Ring], where: str) -> tuple[Ring, tuple[str, ...]]:
    """The ring without what is gone, and the side that each of its edges still lies on ("" for a new edge).

    A crumb that two kinds of damage leave apart goes with them. Raises InputError where nothing is left, or more than
    one piece.
    """
    if not gone:
        return ring, tuple(sides)
    from shapely import Polygon, union_all

    rest = Polygon(ring).difference(union_all([Polygon(piece) for piece in gone]))
    pieces = [p for p in getattr(rest, "geoms", [rest]) if p.geom_type == "Polygon" and p.area >= _SCRAP]
    if not pieces:
        raise InputError(f"{where}, outline", "some paper left", "none left of it")
    pieces.sort(key=lambda piece: (-piece.area, piece.bounds))
    if len(pieces) > 1 and pieces[1].area * _CRUMB > pieces[0].area:
        raise InputError(f"{where}, outline", "one piece of paper", f"{len(pieces)} pieces",
                         "Enter each piece as a sheet of its own.")  # fmt: skip
    exact = [(_snapped(x), _snapped(y)) for x, y in pieces[0].exterior.coords[:-1]]
    left = without_straight(to_ticks(exact, inward=True))
    edges = list(zip(ring, (*ring[1:], ring[0]), sides, strict=True))
    ends = zip(left, (*left[1:], left[0]), strict=True)
    return left, tuple(next((side for a, b, side in edges if _lies_on(p, a, b) and _lies_on(q, a, b)), "") for p, q in ends)


def _snapped(value: float) -> Fraction:
    """A coordinate as computed; one within a thousandth of a tick of a whole tick is that tick."""
    near = round(value)
    return Fraction(near) if abs(value - near) < 1e-3 else Fraction(value)


def _lies_on(p: Point, a: Point, b: Point) -> bool:
    length2 = (b[0] - a[0]) ** 2 + (b[1] - a[1]) ** 2
    cross = (b[0] - a[0]) * (p[1] - a[1]) - (b[1] - a[1]) * (p[0] - a[0])
    x0, y0, x1, y1 = bounds((a, b))
    near_box = x0 - _NEAR <= p[0] <= x1 + _NEAR and y0 - _NEAR <= p[1] <= y1 + _NEAR
    return near_box and cross * cross <= _NEAR * _NEAR * length2


def some_paper_left(sheet: Sheet, where: str) -> None:
    """Raises InputError where holes cut the sheet in pieces, or holes and bad areas leave under 1 mm2 of good paper."""
    if not sheet.bad and not sheet.holes:
        return
    from shapely import Polygon, union_all

    paper = Polygon(sheet.outline).difference(union_all([Polygon(hole) for hole in sheet.holes]))
    pieces = [piece for piece in getattr(paper, "geoms", [paper]) if piece.area >= _SCRAP]
    if len(pieces) > 1:
        raise InputError(f"{where}, hole", "one piece of paper", f"{len(pieces)} pieces",
                         "Enter each piece as a sheet of its own.")  # fmt: skip
    if paper.difference(union_all([Polygon(ring) for ring in sheet.bad])).area < _SCRAP:
        raise InputError(f"{where}, bad areas", "some good paper left", "none")
