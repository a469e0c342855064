"""The ground of a search: a sheet's good paper in one frame, and where each turned blank may lie on it.

`Ground` is exact on whole ticks. The regions of positions (`region`) are floating-point and grown by half a tick,
so they never miss a position: what they rule out is ruled out, what they offer is tested exactly.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

import numpy as np

from ... import geometry
from ...blanks import GRAIN_TOLERANCE_DEG
from ...cutters import Cutter
from ...geometry import Box, Part, Point, Ring
from ...layouts import to_frame
from ...sheets import Sheet
from .paper_kernels import fits, trapezoids
from .simpler import Shape, Simpler

HALF_TICK = 0.5
QUARTER_TICK = 0.25
TURNED_SLACK = 2  # ticks: rounding a turned outline moves its corners by less
LEAST_APART_DEG = 0.05


@dataclass(frozen=True, eq=False)
class Ground:
    """A sheet seen in a frame: `box` around its outline, `usable` less the squaring cuts at untrue sides.

    `paper` is the outline with its holes in frame ticks, `bad` the rings of bad areas. `segments` and `rings` are
    the boundaries for `paper_kernels.fits`, `reach` the shape that `region` looks at: those of the inner and of the outer
    shape where the outline was made simpler. `true_sides`: which of left, bottom, right, top are true.
    """

    sheet: Sheet
    frame_deg: float
    origin: Point
    paper: Part
    bad: tuple[Ring, ...]
    box: Box
    usable: Box
    true_sides: tuple[bool, bool, bool, bool]
    segments: Any
    rings: Any
    reach: Shape
    shaved: int = 0

    def clear(self) -> bool:
        """Whether the usable box is all good paper, so that positions do not matter."""
        return self.sheet.inset == 0 and self.fits(self.usable)

    def rectilinear(self) -> bool:
        """Whether every boundary runs along the frame's axes, as it truly is, and nothing keeps a distance from it."""
        s = self.segments
        return self.sheet.inset == 0 and self.shaved == 0 and bool(np.all((s[:, 0] == s[:, 2]) | (s[:, 1] == s[:, 3])))

    def fits(self, box: Box) -> bool:
        """Whether a piece may lie exactly there."""
        x0, y0, x1, y1 = box
        u0, v0, u1, v1 = self.usable
        if x0 < u0 or y0 < v0 or x1 > u1 or y1 > v1:
            return False
        return bool(fits(x0, y0, x1, y1, self.segments, self.rings, float(self.sheet.inset)))


def ground(sheet: Sheet, frame_deg: float, cutter: Cutter | None, simple: Simpler | None = None) -> Ground:
    """The sheet in a frame turned by `frame_deg`; squaring cuts of the cutter shrink what is usable.

    `simple`: the shapes that positions are looked for in, where the outline has very many points.
    """
    origin = (0, 0)

    def seen(ring: Ring) -> Ring:
        if frame_deg == 0:
            return ring
        points = (to_frame(frame_deg, origin, x, y) for x, y in ring)
        return tuple((round(x), round(y)) for x, y in points)

    outline = seen(sheet.outline)
    holes = tuple(seen(hole) for hole in sheet.holes)
    bad = tuple(seen(ring) for ring in sheet.bad)
    box = geometry.bounds(outline)
    true_sides = _true_sides(sheet, outline, box)
    x0, y0, x1, y1 = box
    trim = cutter.square_up if cutter is not None else 0
    left, bottom, right, top = (0 if true else trim for true in true_sides)
    usable = (x0 + left, y0 + bottom, x1 - right, y1 - top)
    inner = reach = Shape(outline, (*holes, *bad))
    if simple is not None:
        inner, reach = (Shape(seen(s.outline), tuple(seen(ring) for ring in s.gone)) for s in (simple.inner, simple.outer))
    rows, kinds = [], []
    for number, (ring, kind) in enumerate([(inner.outline, 1), *((r, 0) for r in inner.gone)]):
        kinds.append(kind)
        rows += [(*ring[i - 1], *ring[i], number) for i in range(len(ring))]
    return Ground(sheet, frame_deg, origin, Part(outline, tuple(tuple(reversed(h)) for h in holes)), bad, box, usable,
                  true_sides, np.array(rows, np.int64), np.array(kinds, np.int64), reach,
                  simple.tolerance if simple else 0)  # fmt: skip


def _true_sides(sheet: Sheet, outline: Ring, box: Box) -> tuple[bool, bool, bool, bool]:
    """A side is true where a true edge of the outline lies on it, to a tick."""
    found = [False] * 4
    for index in sheet.true_edges:
        (ax, ay), (bx, by) = outline[index], outline[(index + 1) % len(outline)]
        for side, (one, other, line) in enumerate(((ax, bx, box[0]), (ay, by, box[1]), (ax, bx, box[2]), (ay, by, box[3]))):
            if abs(one - line) <= 1 and abs(other - line) <= 1:
                found[side] = True
    return found[0], found[1], found[2], found[3]


def region(ground: Ground, width: int, height: int) -> Any:
    """Trapezoids of all positions (low-left corners) of a width x height rectangle: rows as `paper_kernels.trapezoids`.

    The positions that a boundary forbids form the boundary grown by the rectangle (design.md section 5); the
    region is the usable box less all of them, for a rectangle a quarter tick smaller on every side (two ticks in a
    turned frame, whose corners are rounded): it never misses a position.
    """
    import shapely
    from shapely import Polygon, affinity

    q = QUARTER_TICK if ground.frame_deg == 0 else TURNED_SLACK
    w, h = width - q, height - q  # the smaller rectangle lies in the middle of the true one
    x0, y0, x1, y1 = ground.usable
    if x1 - w < x0 - q or y1 - h < y0 - q:
        return np.zeros((0, 6))
    inset = float(ground.sheet.inset)
    corners = np.array([(-q, -q), (-w, -q), (-w, -h), (-q, -h)])

    def grown(points: Any) -> Any:
        """Rows of points (n x k x 2) grown by the rectangle, and by the inset: n convex areas."""
        if inset > 0:
            # chords of the circle lie inside it: the forbidden strip is never too large
            angles = np.linspace(0, 2 * math.pi, 33)[:-1]
            circle = (inset - HALF_TICK) * np.column_stack([np.cos(angles), np.sin(angles)])
            points = (points[:, :, None, :] + circle[None, None, :, :]).reshape(len(points), -1, 2)
        all_points = (points[:, :, None, :] + corners[None, None, :, :]).reshape(len(points), -1, 2)
        return shapely.convex_hull(shapely.linestrings(all_points))

    def edges_of(ring: Ring) -> Any:
        return np.array([(ring[i - 1], ring[i]) for i in range(len(ring))], float)

    blocked = list(grown(edges_of(ground.reach.outline)))
    for ring in ground.reach.gone:
        if geometry.convex(ring):  # grown in one piece; of another every edge, and what it holds
            blocked += list(grown(np.array(ring, float)[None]))
        else:
            blocked += [*grown(edges_of(ring)), affinity.translate(Polygon(ring), -q, -q)]
    paper = Polygon(ground.reach.outline)
    window = shapely.box(x0 - q, y0 - q, x1 - w, y1 - h)
    return slabs(affinity.translate(paper, -q, -q).intersection(window).difference(shapely.union_all(blocked)))


def slabs(free: Any) -> Any:
    """A shapely area as vertical trapezoids: rows as `paper_kernels.trapezoids`."""
    import shapely

    lines = [shapely.get_coordinates(ring) for part in shapely.get_parts(free) if part.geom_type == "Polygon"
             for ring in (part.exterior, *part.interiors)]  # fmt: skip
    if not lines:
        return np.zeros((0, 6))
    edges = np.concatenate([np.hstack([line[:-1], line[1:]]) for line in lines])
    edges = edges[edges[:, 0] != edges[:, 2]]
    back = edges[:, 0] > edges[:, 2]
    edges[back] = edges[back][:, [2, 3, 0, 1]]
    return trapezoids(edges, np.unique(np.concatenate([line[:, 0] for line in lines])))


def frames_for(sheet: Sheet, frames: Any, limited_turn: bool) -> tuple[float, ...]:
    """The angles of the frames to search, 0 first: `"square"`, `"auto"` (the sheet's own directions too) or given ones.

    With a grain or print rule only frames within its tolerance are taken; ruled stock is cut square to its lines.
    """
    from ...errors import InputError

    if isinstance(frames, str):
        if frames not in ("auto", "square"):
            raise InputError("frames", '"auto", "square" or angles in degrees', frames)
        angles = [0.0] if frames == "square" else _own_angles(sheet)
    else:
        try:
            angles = [float(a) for a in frames]
        except (TypeError, ValueError):
            raise InputError("frames", '"auto", "square" or angles in degrees', frames) from None
        if not angles or not all(math.isfinite(a) for a in angles):
            raise InputError("frames", "at least one finite angle", frames)
        angles = [_folded(a) for a in angles]
    if limited_turn:
        angles = [a for a in angles if abs(a) <= GRAIN_TOLERANCE_DEG] or [0.0]
    if sheet.ruling is not None:
        angles = [0.0]
    return tuple(dict.fromkeys(angles))


def _folded(angle: float) -> float:
    """The same directions of cut as an angle in (-45, 45]."""
    turned = math.fmod(angle, 90.0)
    if turned > 45.0:
        turned -= 90.0
    elif turned <= -45.0:
        turned += 90.0
    return round(turned, 6) + 0.0


def _own_angles(sheet: Sheet, most: int = 3) -> list[float]:
    """0; the angles of up to `most` long straight edges, the longest first; with fewer, that of the least box around it.

    Measured on salvaged, skewed and turned sheets: the axis of inertia or turns by 1, 2 and 4 degrees beside these gave a
    blank more on one sheet of sixteen at most, and each frame costs a search of every sheet of a pile.
    """
    x0, y0, x1, y1 = sheet.box
    least = 0.3 * min(x1 - x0, y1 - y0)
    found: list[tuple[float, float]] = []
    for i, (bx, by) in enumerate(sheet.outline):
        ax, ay = sheet.outline[i - 1]
        size = math.hypot(bx - ax, by - ay)
        if size >= least:
            found.append((-size, _folded(math.degrees(math.atan2(by - ay, bx - ax)))))
    angles = [0.0]
    for angle in [*(angle for _, angle in sorted(found)), _of_least_box(sheet)]:
        if len(angles) <= most and all(_apart(angle, other) >= LEAST_APART_DEG for other in angles):
            angles.append(angle)
    return angles


def _apart(angle: float, other: float) -> float:
    """How far two frames are turned from each other: at 45 degrees they are those at -45."""
    apart = abs(angle - other)
    return min(apart, 90.0 - apart)


def _of_least_box(sheet: Sheet) -> float:
    """The angle of the smallest rectangle around the outline: one of its sides lies along a side of the convex hull."""
    import shapely

    hull = shapely.get_coordinates(shapely.Polygon(sheet.outline).convex_hull)
    choices = []
    for along in np.diff(hull, axis=0):
        angle = _folded(math.degrees(math.atan2(along[1], along[0])))
        c, s = math.cos(math.radians(angle)), math.sin(math.radians(angle))
        seen = hull @ np.array([(c, -s), (s, c)])
        choices.append((float(np.prod(np.ptp(seen, axis=0))), abs(angle), angle))
    size = min(choices)[0] * (1 + 1e-9)
    return min(choice[1:] for choice in choices if choice[0] <= size)[1]
