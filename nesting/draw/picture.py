"""A sheet as it lies face up, drawn to a scale at a place on the page."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from ..geometry import Box, Ring
from ..layouts import Layout, to_sheet
from ..lengths import TICKS_PER_MM
from ..sheets import Sheet
from . import ink
from .ink import Page, Place

Rings = list[list[Place]]
_FINE = 6.0  # mm: a jagged outline whose edges are shorter on average is drawn with a thin line
# page / paper; ISO 5455 recommends 1:1, 1:2, 1:5 and tens of them, those between use the page better
_STEPS = (1, 1.25, 1.5, 2, 2.5, 3, 4, 5, 6, 8)
SCALES: tuple[float, ...] = (2.0, *(1 / (step * 10.0**k) for k in range(6) for step in _STEPS))


def fitting(width: int, height: int, room_width: float, room_height: float) -> float:
    """The largest scale of the list at which width x height (ticks) fits the room (mm); the smallest if none does."""
    for factor in SCALES:
        if width / TICKS_PER_MM * factor <= room_width + 1e-9 and height / TICKS_PER_MM * factor <= room_height + 1e-9:
            return factor
    return SCALES[-1]


@dataclass(frozen=True)
class View:
    """Where a sheet is drawn: its zero at (x, y) mm on the page, at this scale."""

    x: float
    y: float
    scale: float

    @classmethod
    def centred(cls, box: Box, factor: float, x: float, y: float) -> View:
        """The middle of the box at (x, y)."""
        per = factor / TICKS_PER_MM
        return cls(x - (box[0] + box[2]) / 2 * per, y - (box[1] + box[3]) / 2 * per, factor)

    def place(self, x: float, y: float) -> Place:
        """A point of the sheet (ticks) on the page."""
        return self.x + x * self.scale / TICKS_PER_MM, self.y + y * self.scale / TICKS_PER_MM

    def ring(self, ring: Ring | Sequence[tuple[float, float]]) -> list[Place]:
        """A ring of the sheet on the page."""
        return [self.place(x, y) for x, y in ring]

    def framed(self, layout: Layout, u: float, v: float) -> Place:
        """A point of a layout's frame on the page."""
        return self.place(*to_sheet(layout.frame_deg, layout.origin, u, v))


def clipped(view: View, sheet: Sheet, ring: Ring) -> list[Rings]:
    """The parts of an area that lie on the paper, each as an outline and its holes."""
    from shapely import Polygon

    paper = Polygon(view.ring(sheet.outline), [view.ring(hole) for hole in sheet.holes])
    return polygons(paper.intersection(Polygon(view.ring(ring))))


def damage(view: View, sheet: Sheet, least: float = 0.0) -> list[Rings]:
    """The bad areas on the paper; one narrower than `least` mm on the page is drawn about so wide, within the paper."""
    from shapely import Polygon

    paper = Polygon(view.ring(sheet.outline), [view.ring(hole) for hole in sheet.holes])
    out: list[Rings] = []
    for ring in sheet.bad:
        for part in polygons(paper.intersection(Polygon(view.ring(ring)))):
            shape = Polygon(part[0], part[1:])
            # of a long strip twice the area over the length around is its width
            missing = least - 2 * shape.area / shape.length
            if missing <= 0 or not shape.buffer(-least / 2).is_empty:
                out.append(part)
                continue
            wider = paper.intersection(shape.buffer(missing / 2, join_style="mitre"))
            if 2 * wider.area / wider.length < 0.8 * least:  # at an edge half of it fell off the paper
                wider = paper.intersection(shape.buffer(missing, join_style="mitre"))
            out += polygons(wider)
    return out


def widened(view: View, sheet: Sheet, least: float) -> bool:
    """Whether some damage is drawn wider than it is."""
    return damage(view, sheet, least) != damage(view, sheet)


def free_paper(view: View, sheet: Sheet, bad: Sequence[Rings]) -> Rings:
    """The largest part of the paper without these areas (the whole paper if there is none)."""
    from shapely import Polygon, unary_union

    paper = Polygon(view.ring(sheet.outline), [view.ring(hole) for hole in sheet.holes])
    parts = polygons(paper.difference(unary_union([Polygon(rings[0], rings[1:]) for rings in bad]))) if bad else []
    return max(parts or polygons(paper), key=lambda rings: Polygon(rings[0], rings[1:]).area)


def inside(ring: Sequence[Place], off: float) -> list[Rings]:
    """The area within a ring at least `off` mm from its edge, each part as an outline and its holes."""
    from shapely import Polygon

    return polygons(Polygon(ring).buffer(-off, join_style="mitre"))


def polygons(shape: Any) -> list[Rings]:
    """The polygons of a shapely shape as rings of points."""
    if shape.geom_type == "Polygon":
        parts = [shape] if not shape.is_empty else []
    else:
        parts = [part for part in getattr(shape, "geoms", ()) if part.geom_type == "Polygon"]
    return [[[(float(x), float(y)) for x, y in list(ring.coords)[:-1]] for ring in (part.exterior, *part.interiors)]
            for part in parts]  # fmt: skip


def draw_sheet(page: Page, view: View, sheet: Sheet, *, edge: float = ink.EDGE, pitch: float = 1.5, least: float = 0.0) -> None:
    """Outline, holes (crossed out), damage (hatched, at least `least` mm wide) and best areas (dash and two dots)."""
    outline = view.ring(sheet.outline)
    holes = [view.ring(tuple(reversed(hole))) for hole in sheet.holes]
    for rings in damage(view, sheet, least):
        page.hatch(rings, pitch, colour=ink.BLACK)
        page.area(rings, edge=ink.BLACK, thick=ink.NARROW, zorder=2.1)
    for zone in sheet.zones:
        if zone.kind == "best":
            for rings in clipped(view, sheet, zone.outline):
                page.area(rings, edge=ink.BLACK, thick=ink.NARROW, kind=ink.DASH_TWO_DOTS, zorder=2.2)
    for hole in holes:
        page.area([hole], fill="#FFFFFF", edge=ink.BLACK, thick=edge * 0.7, zorder=2.3)
        page.lines(_cross(hole), ink.NARROW * 0.8, zorder=2.4)
    # many small teeth would run into one black band
    fine = _jagged(outline)
    page.area([outline], edge=ink.BLACK, thick=edge * 0.4 if fine else edge, zorder=3.5, join="round" if fine else "miter")


def _jagged(outline: Sequence[Place]) -> bool:
    """Whether an outline has many small teeth: short edges, and much longer than a band around it."""
    from shapely import Polygon

    shape = Polygon(outline)
    return bool(shape.length < _FINE * len(outline) and shape.length > 1.3 * shape.convex_hull.length)


def _cross(hole: list[Place]) -> list[tuple[Place, Place]]:
    """Two lines across a hole, kept inside it: nothing is there."""
    from shapely import LineString, Polygon

    xs, ys = [x for x, _ in hole], [y for _, y in hole]
    a, b, c, d = min(xs), min(ys), max(xs), max(ys)
    shape = Polygon(hole)
    out: list[tuple[Place, Place]] = []
    for line in (LineString([(a, b), (c, d)]), LineString([(a, d), (c, b)])):
        inner = shape.intersection(line)
        for part in getattr(inner, "geoms", [inner]):
            if part.geom_type == "LineString" and not part.is_empty:
                (x0, y0), (x1, y1) = part.coords[0], part.coords[-1]
                out.append(((float(x0), float(y0)), (float(x1), float(y1))))
    return out


def true_edge_marks(page: Page, view: View, sheet: Sheet, off: float = 1.2) -> None:
    """A narrow line beside every true edge: safe to measure from."""
    count = len(sheet.outline)
    for index in sheet.true_edges:
        (ax, ay), (bx, by) = view.place(*sheet.outline[index]), view.place(*sheet.outline[(index + 1) % count])
        size = math.hypot(bx - ax, by - ay)
        # the outline runs counter-clockwise, so outside lies to the right of its edges
        nx, ny = (by - ay) / size * off, -(bx - ax) / size * off
        page.line([(ax + nx, ay + ny), (bx + nx, by + ny)], ink.NARROW)


def up_arrow(page: Page, middle: Place, up: str, size: float = 7.0) -> None:
    """A hollow arrow to where the top of the print points, `size` mm long."""
    ux, uy = {"+x": (1, 0), "-x": (-1, 0), "+y": (0, 1), "-y": (0, -1)}[up]
    shape = ((0.5, 0.0), (0.06, 0.3), (0.06, 0.13), (-0.5, 0.13), (-0.5, -0.13), (0.06, -0.13), (0.06, -0.3))
    points = [(middle[0] + size * (ux * a - uy * b), middle[1] + size * (uy * a + ux * b)) for a, b in shape]
    page.area([points], fill="#FFFFFF", edge=ink.BLACK, thick=ink.NARROW, zorder=4)
