"""Where a blank may lie in any frame of a span of angles: more than in each frame alone, never less.

A layout of a frame turned by some angle of the span is turned about the sheet's centre into the frame at the middle of
the span. Its cuts then run along the middle frame's axes and its pieces keep their sizes; only the paper is seen turned,
by at most half the span. A position is ruled out where one boundary, on its own, is in the way at every such turn.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from ... import geometry
from ...cutters import Cutter
from ...geometry import Ring
from ...sheets import Sheet
from .ground import HALF_TICK, TURNED_SLACK, slabs
from .simpler import Shape, Simpler

SLACK = TURNED_SLACK + 1  # ticks: a turned outline is rounded, and so is the centre it is turned about
SMALL = 60 * 8000  # a convex bad area up to this wide is one obstacle, a larger one is its edges


@dataclass(frozen=True, eq=False)
class Turning:
    """A sheet seen from the middle of the smallest circle around it, `radius` ticks wide.

    `shape` is that of its paper. `obstacles`: (n, k, 2) corners of convex boundaries, the last repeated; `lost`: two columns
    of what the bounds in `positions` lose with the angle and with its square. `corners`: of the outline. `true_normals`:
    directions (radians) that the true edges face, and how exactly they are known.
    """

    sheet: Sheet
    shape: Shape
    middle: tuple[float, float]
    radius: float
    obstacles: Any
    lost: Any
    corners: Any
    trim: int
    true_normals: tuple[tuple[float, float], ...]


def turning(sheet: Sheet, cutter: Cutter | None, simple: Simpler | None = None) -> Turning:
    """The sheet prepared for `positions`; of a `simple` one the outer shape, which rules out no more than the true one."""
    import shapely

    shape = simple.outer if simple is not None else Shape(sheet.outline, (*sheet.holes, *sheet.bad))
    circle = shapely.minimum_bounding_circle(shapely.Polygon(shape.outline))
    cx, cy = circle.centroid.x, circle.centroid.y
    radius = max(math.hypot(x - cx, y - cy) for x, y in shape.outline)
    found: list[Any] = []
    lost: list[tuple[float, float]] = []

    def add(points: Any, width: float) -> None:
        far = float(np.hypot(points[:, 0], points[:, 1]).max())
        found.append(points)
        # two positions in the way of a convex thing D wide, at turns 2e apart: their middle misses it by less than
        # e D / 2 + R e^2. For an edge that has its nearest point to the centre at an end: by less than 3 R e^2.
        lost.append((width / 2, far) if width else (0.0, 3 * far))

    for ring in (shape.outline, *shape.gone):
        points = np.array(ring, float) - (cx, cy)
        size = float(np.hypot(*(points.max(0) - points.min(0))))
        if ring is not shape.outline and size <= SMALL and geometry.convex(ring):
            add(points, size)
            continue
        for a, b in zip(np.roll(points, 1, 0), points, strict=True):
            along = b - a
            foot = -float(a @ along) / float(along @ along)
            parts = [a, a + foot * along, b] if 0 < foot < 1 else [a, b]
            for i in range(len(parts) - 1):
                add(np.array(parts[i : i + 2]), 0.0)
    most = max(len(points) for points in found)
    obstacles = np.array([[*points, *[points[-1]] * (most - len(points))] for points in found])
    normals = []
    for index in sheet.true_edges:
        (ax, ay), (bx, by) = sheet.outline[index], sheet.outline[(index + 1) % len(sheet.outline)]
        normals.append((math.atan2(ax - bx, by - ay), 3 / math.hypot(bx - ax, by - ay)))
    return Turning(sheet, shape, (cx, cy), radius, obstacles, np.array(lost), np.array(sheet.outline, float) - (cx, cy),
                   cutter.square_up if cutter is not None else 0, tuple(normals))  # fmt: skip


def positions(turning: Turning, mid_deg: float, half_deg: float, sizes: Sequence[tuple[int, int]]) -> list[Any]:
    """For each size (width, height) trapezoids (rows as `paper_kernels.trapezoids`) of the positions of its low-left
    corner in any frame of the span mid - half to mid + half, seen from the sheet's centre in the frame at mid.

    `half_deg` is at most `widest(turning, width, height)`: then the paper within the boundaries may be seen unturned.
    """
    import shapely
    from shapely import Polygon, affinity

    mid, half = math.radians(mid_deg), math.radians(half_deg)
    turns = (-half, 0.0, half) if half > 0 else (0.0,)
    step = half / 2
    less = SLACK + turning.lost @ (step, step * step)
    seen = np.array([turning.obstacles @ _seen(mid - turn) for turn in turns])
    inset = float(turning.sheet.inset)
    circle = (inset - HALF_TICK) * np.array([(math.cos(a), math.sin(a)) for a in np.linspace(0, 2 * math.pi, 33)[:-1]])
    x0, y0, x1, y1 = _window(turning, mid_deg, half_deg)
    matrix = _seen(mid)

    def ring_of(ring: Ring) -> Any:
        return (np.array(ring, float) - turning.middle) @ matrix

    paper, gone = Polygon(ring_of(turning.shape.outline)), [Polygon(ring_of(ring)) for ring in turning.shape.gone]
    out = []
    for width, height in sizes:
        a, b = width / 2 - SLACK, height / 2 - SLACK
        if x1 - x0 < 2 * a or y1 - y0 < 2 * b:
            out.append(np.zeros((0, 6)))
            continue
        there = less < min(width, height) / 2
        wide, high = width / 2 - less[there], height / 2 - less[there]
        shape = np.stack([np.stack((sx * wide, sy * high), 1) for sx, sy in ((-1, -1), (1, -1), (1, 1), (-1, 1))], 1)
        if inset > 0:
            shape = (shape[:, :, None, :] + circle).reshape(len(wide), -1, 2)
        grown = (seen[:, there, :, None, :] + shape[:, None, :, :]).reshape(len(turns), len(wide), -1, 2)
        swept = shapely.convex_hull(shapely.linestrings(grown))
        blocked = swept[0]
        for more in swept[1:]:
            blocked = shapely.intersection(blocked, more)
        free = paper.intersection(shapely.box(x0 + a, y0 + b, x1 - a, y1 - b)).difference(shapely.union_all([*blocked, *gone]))
        out.append(slabs(affinity.translate(free, -width / 2, -height / 2)))
    return out


def widest(turning: Turning, width: int, height: int) -> float:
    """The largest half span (degrees) that `positions` may be asked for."""
    return math.degrees(max(0.0, min(width, height) / 2 - SLACK) / turning.radius)


def _seen(angle: float) -> Any:
    """The matrix that rows of points are multiplied by to be seen in a frame."""
    c, s = math.cos(angle), math.sin(angle)
    return np.array([(c, -s), (s, c)])


def _window(turning: Turning, mid_deg: float, half_deg: float) -> tuple[float, float, float, float]:
    """The usable box of every frame in the span: the outline's farthest at any turn, less the squaring cuts."""
    mid, half = math.radians(mid_deg), math.radians(half_deg)
    size = np.hypot(turning.corners[:, 0], turning.corners[:, 1])
    angle = np.arctan2(turning.corners[:, 1], turning.corners[:, 0])
    out = []
    for side in (math.pi, 1.5 * math.pi, 0.0, 0.5 * math.pi):  # left, bottom, right, top: which way it faces in the frame
        away = np.abs(_wrapped(angle - mid - side))
        far = float((size * np.cos(np.maximum(away - half, 0.0))).max())
        true = any(abs(_wrapped(normal - mid - side)) <= half + near for normal, near in turning.true_normals)
        out.append(far - (0 if true else turning.trim) + SLACK)
    return -out[0], -out[1], out[2], out[3]


def _wrapped(angle: Any) -> Any:
    """An angle or many in [-pi, pi)."""
    return (angle + math.pi) % (2 * math.pi) - math.pi
