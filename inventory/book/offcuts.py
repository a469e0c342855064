"""What an offcut of a layout is as a sheet in stock.

It lies with its bounding box at (0, 0), turned so that the edges made by the knife are square. Paper is rounded
inward and bad areas outward (design.md section 3), so what comes back never promises more than is there.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Any

from inventory.stock import StockSheet
from nesting import InputError, Sheet
from nesting.geometry import Box, Point, Ring, area2, bounds, counter_clockwise, inside
from nesting.layouts import Layout, Offcut, OffcutPiece, leaves, to_frame
from nesting.sheets import Grain, Zone

GRAIN_TOLERANCE_DEG = 10.0  # a turn beyond this leaves the grain unknown (rule of the working design)
_NEAR = 2.0  # ticks: how far a corner of a turned frame may lie off the line it was cut on
_OUTWARD = 2.0  # ticks: bad areas grow by this before their corners go to whole ticks (each moves less than 1)


@dataclass(frozen=True)
class _Frame:
    """The axes an offcut is squared to; where the frame is not turned these are the sheet's own."""

    layout: Layout
    low: Point = (0, 0)

    @property
    def turned(self) -> bool:
        return self.layout.frame_deg != 0

    def exact(self, point: Point) -> tuple[float, float]:
        if not self.turned:
            return point[0] - self.layout.origin[0], point[1] - self.layout.origin[1]
        return to_frame(self.layout.frame_deg, self.layout.origin, *point)

    def ring(self, ring: Ring) -> list[tuple[float, float]]:
        return [self.exact(point) for point in ring]


def offcuts_of(parent: StockSheet, layout: Layout, ids: dict[str, str]) -> list[StockSheet]:
    """The offcuts of a layout as sheets in stock, in its order, under the ids that `ids` gives them."""
    boxes = {leaf.id: leaf.box for leaf in leaves(layout.tree) if isinstance(leaf, Offcut)}
    return [_offcut(parent, layout, piece, boxes[piece.id], ids[piece.id]) for piece in layout.offcuts]


def _offcut(parent: StockSheet, layout: Layout, piece: OffcutPiece, box: Box, id: str) -> StockSheet:
    frame = _Frame(layout)
    made = _knife_sides(box, layout.tree.box)
    outline, holes = _paper(frame, parent.sheet, piece.outline, box, made, id)
    true = _true_edges(outline, made, [frame.ring(edge) for edge in _true_segments(parent.sheet)], frame.turned)
    zones = [z for zone in parent.sheet.zones for z in _clipped(frame, zone, outline)]
    x, y, *_ = bounds(outline)

    def moved(ring: Ring) -> Ring:
        return tuple((px - x, py - y) for px, py in ring)

    share = (area2(outline) - sum(area2(h) for h in holes)) / parent.sheet.area2
    turned = abs(layout.frame_deg) > GRAIN_TOLERANCE_DEG
    grain: Grain | None = None if turned else parent.sheet.grain
    sheet = Sheet.from_ticks(
        id, moved(outline), holes=tuple(moved(h) for h in holes),
        zones=tuple(replace(z, outline=moved(z.outline)) for z in zones), grain=grain, up=parent.sheet.up,
        grain_guessed=parent.sheet.grain_guessed and not turned,
        true_edges=true, count=piece.count, material=parent.sheet.material,
        ruling=None if parent.sheet.ruling is None or layout.frame_deg else parent.sheet.ruling.moved(
            layout.origin[0] + x, layout.origin[1] + y),
        cost=None if parent.sheet.cost is None else parent.sheet.cost * share)  # fmt: skip
    note = f"its print lies {layout.frame_deg:g} degrees off" if turned and parent.sheet.up else ""
    return StockSheet(
        replace(sheet, inset=parent.sheet.inset), "offcut", parent.unit, parent.caliper, parent.grammage,
        None if parent.price is None else parent.price * share, parent.source, note, parent.takes_glue,
        parent.cracks_at_fold, "", parent.id)  # fmt: skip


def _knife_sides(box: Box, root: Box) -> tuple[tuple[int, int], ...]:
    """The sides of a leaf's box that are cuts, as (axis 0 or 1, coordinate): those that are not the root's."""
    return tuple((i % 2, box[i]) for i in range(4) if box[i] != root[i])


def _paper(frame: _Frame, sheet: Sheet, ring: Ring, box: Box, made: Sequence[tuple[int, int]],
           id: str) -> tuple[Ring, tuple[Ring, ...]]:  # fmt: skip
    """The offcut's outline in the frame and the parent's holes that lie within it."""
    within = [hole for hole in sheet.holes if _is_hole_of(hole, ring)]
    if not frame.turned:
        outline = _whole(frame.ring(ring))
        holes = [_whole(frame.ring(hole)) for hole in within]
    else:
        outline = _inward(frame.ring(ring), box, made)
        holes = [out for hole in within for out in _outward(_polygon(frame.ring(hole)))]
    if _sound(outline, holes):
        return counter_clockwise(outline), tuple(counter_clockwise(h) for h in holes)
    return _repaired(outline, holes, id)


def _is_hole_of(hole: Ring, outline: Ring) -> bool:
    """Whether a hole of the parent lies within the outline of a part of it, and is not part of its edge."""
    if any(inside(point, outline) < 0 for point in hole):
        return False
    around = _polygon(hole)
    return bool(_polygon(outline).buffer(0).intersection(around).area * 2 > around.area)


def _whole(points: Sequence[tuple[float, float]]) -> Ring:
    return tuple((int(x), int(y)) for x, y in points)


def _inward(points: Sequence[tuple[float, float]], box: Box, made: Sequence[tuple[int, int]]) -> Ring:
    """Corners to whole ticks: onto the knife's lines where they lie on one, else towards the middle of the box."""
    middle = ((box[0] + box[2]) / 2, (box[1] + box[3]) / 2)

    def door(value: float, axis: int) -> int:
        for side, at in made:
            if side == axis and abs(value - at) <= _NEAR:
                return at
        toward = math.floor(value) if value > middle[axis] else math.ceil(value)
        return min(max(toward, box[axis]), box[axis + 2])

    out: list[Point] = []
    for x, y in points:
        point = door(x, 0), door(y, 1)
        if not out or out[-1] != point:
            out.append(point)
    while len(out) > 1 and out[0] == out[-1]:
        out.pop()
    return tuple(out)


def _sound(outline: Ring, holes: Sequence[Ring]) -> bool:
    """Whether outline and holes may make a sheet: the outline simple, the holes inside and apart."""
    from shapely import LinearRing

    if len(outline) < 3 or area2(outline) == 0 or not LinearRing(outline).is_simple:
        return False
    around = _polygon(outline)
    shapes = [_polygon(hole) for hole in holes]
    return all(around.covers(s) for s in shapes) and not any(
        a.intersection(b).area > 0 for i, a in enumerate(shapes) for b in shapes[:i]
    )


def _repaired(outline: Ring, holes: Sequence[Ring], id: str) -> tuple[Ring, tuple[Ring, ...]]:
    """The largest connected part of paper whose outline touches itself or its holes (tie: the lower box)."""
    from shapely import make_valid, set_precision, unary_union

    paper = make_valid(_polygon(outline))
    if holes:
        paper = paper.difference(unary_union([_polygon(hole) for hole in holes]))
    parts = _polygons(set_precision(paper, 1.0))
    if not parts:
        raise InputError(f"offcut {id}", "paper wider than a tick", "none",
                         "Plan again with a larger least offcut.")  # fmt: skip
    best = min(parts, key=lambda p: (-p.area, p.bounds))
    return (counter_clockwise(_whole(best.exterior.coords[:-1])),
            tuple(counter_clockwise(_whole(r.coords[:-1])) for r in best.interiors))  # fmt: skip


def _true_segments(sheet: Sheet) -> list[Ring]:
    count = len(sheet.outline)
    return [(sheet.outline[i], sheet.outline[(i + 1) % count]) for i in sheet.true_edges]


def _true_edges(outline: Ring, made: Sequence[tuple[int, int]], inherited: Sequence[Sequence[tuple[float, float]]],
                turned: bool) -> tuple[int, ...]:  # fmt: skip
    """The edges on a line of the knife, and those on a true edge of the parent (crossings are within a tick)."""
    reach = 2.0 if turned else 1.0
    out = []
    for i, start in enumerate(outline):
        end = outline[(i + 1) % len(outline)]
        cut = any(start[axis] == at and end[axis] == at for axis, at in made)
        if cut or any(_off(start, edge) <= reach and _off(end, edge) <= reach for edge in inherited):
            out.append(i)
    return tuple(out)


def _off(point: Point, edge: Sequence[tuple[float, float]]) -> float:
    """How far a point lies from a straight edge."""
    (ax, ay), (bx, by) = edge
    dx, dy = bx - ax, by - ay
    along = ((point[0] - ax) * dx + (point[1] - ay) * dy) / (dx * dx + dy * dy)
    along = min(1.0, max(0.0, along))
    return math.hypot(point[0] - ax - along * dx, point[1] - ay - along * dy)


def _clipped(frame: _Frame, zone: Zone, outline: Ring) -> list[Zone]:
    """What of an area of the parent lies on the offcut; a bad one never shrinks by rounding, a best one never grows."""
    around = _polygon(outline)
    ring = frame.ring(zone.outline)
    area = _polygon(ring)
    if not frame.turned and around.covers(area):
        return [replace(zone, outline=_whole(ring))]
    rings: list[Ring] = []
    for part in _polygons(around.intersection(area)):
        corners = part.exterior.coords[:-1]
        if all(x == int(x) and y == int(y) for x, y in corners):
            rings.append(counter_clockwise(_whole(corners)))
        elif zone.kind == "bad":
            rings += _outward(part)
        else:
            rings += _rings(part.buffer(-_OUTWARD, join_style="mitre"))
    return [replace(zone, outline=ring) for ring in rings]


def _outward(part: Any) -> list[Ring]:
    return _rings(part.buffer(_OUTWARD, join_style="mitre"))


def _rings(shape: Any) -> list[Ring]:
    """The outer rings of a shape with its corners on whole ticks."""
    from shapely import set_precision

    return [counter_clockwise(_whole(p.exterior.coords[:-1])) for p in _polygons(set_precision(shape, 1.0))]


def _polygons(shape: Any) -> list[Any]:
    """The polygons with an area among the parts of a shape."""
    parts = getattr(shape, "geoms", None)
    if parts is not None:
        return [p for part in parts for p in _polygons(part)]
    return [shape] if shape.geom_type == "Polygon" and shape.area > 0 else []


def _polygon(points: Sequence[tuple[float, float]]) -> Any:
    from shapely import Polygon

    return Polygon(points)
