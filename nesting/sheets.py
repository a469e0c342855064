"""A sheet: one piece of stock as it lies on the bench, face up, with what must be known to plan on it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from typing import Any, Literal

from . import geometry
from .errors import InputError, finite
from .geometry import Box, Point, Ring
from .lengths import TICKS_PER_MM, Length, mm, mm2, rounded, ticks, ticks_exact
from .ruling import Ruling

MOST_VERTICES = 5_000
FARTHEST = 90_000 * TICKS_PER_MM  # beyond it products of coordinates leave 64 bits
Grain = Literal["x", "y"]
Up = Literal["+x", "+y", "-x", "-y"]


@dataclass(frozen=True)
class Zone:
    """An area of a sheet: `bad` (no piece may touch) or `best` (should show on a front cover), with a weight."""

    kind: Literal["bad", "best"]
    outline: Ring
    weight: float = 1.0


@dataclass(frozen=True)
class Sheet:
    """A sheet in ticks, face up, x to the right, y up.

    `grain`: the axis along the grain, or None where unknown; `grain_guessed`: it is a guess, and planned with as if known.
    `up`: where the top of its print points, or None.
    `true_edges`: indices of outline edges (edge i runs from vertex i to the next) that are factory or cut.
    `inset`: how far a piece must stay from outline, holes and bad areas. `count`: how many, None for no limit.
    `cost`: of one sheet, None for its area in mm2. `material`: a blank that names one is cut only from it.
    `ruling`: its printed lines, or None; they give `up`, the way they are read.
    """

    id: str
    outline: Ring
    holes: tuple[Ring, ...] = ()
    zones: tuple[Zone, ...] = ()
    grain: Grain | None = None
    up: Up | None = None
    true_edges: tuple[int, ...] = ()
    inset: int = 0
    count: int | None = 1
    cost: int | float | None = None
    material: str | None = None
    grain_guessed: bool = False
    ruling: Ruling | None = None

    @classmethod
    def rectangle(cls, id: str, width: Length, height: Length, *, count: int | None = 1,
                  grain: str | None = None, up: str | None = None, true_edges: Any = (), inset: Length = 0,
                  cost: int | float | None = None, material: str | None = None,
                  grain_guessed: bool = False) -> Sheet:  # fmt: skip
        """A plain rectangle; lengths in mm, or text with a unit, rounded down. Raises InputError.

        >>> Sheet.rectangle("p1", 297, 420, count=500, grain="x").area_mm2
        124740
        """
        w, h = (_positive(v, f"sheet {id}, {n}") for v, n in ((width, "width"), (height, "height")))
        return cls.from_ticks(id, ((0, 0), (w, 0), (w, h), (0, h)), grain=grain, up=up, true_edges=true_edges,
                              inset=inset, count=count, cost=cost, material=material,
                              grain_guessed=grain_guessed)  # fmt: skip

    @classmethod
    def from_mm(cls, id: str, outline: Sequence[Sequence[Length]], holes: Sequence[Any] = (),
                bad: Sequence[Any] = (), best: Sequence[Any] = (), grain: str | None = None,
                up: str | None = None, true_edges: Any = (), inset: Length = 0, count: int | None = 1,
                cost: int | float | None = None, material: str | None = None, grain_guessed: bool = False) -> Sheet:  # fmt: skip
        """A sheet from corner points in mm (or text with units).

        `holes` and `bad` are lists of rings; `best` a list of (ring, weight) or of rings. Lengths that are not
        whole ticks are rounded: the outline inward, holes and bad areas outward. Raises InputError.
        """
        zones = [Zone("bad", _ring(ring, id, f"bad[{i}]", outward=True)) for i, ring in enumerate(bad)]
        for i, entry in enumerate(best):
            ring, weight = _best(entry, id, i)
            zones.append(Zone("best", _ring(ring, id, f"best[{i}]", outward=False), weight))
        return cls.from_ticks(
            id, _ring(outline, id, "outline", outward=False),
            holes=tuple(_ring(ring, id, f"holes[{i}]", outward=True) for i, ring in enumerate(holes)),
            zones=tuple(zones), grain=grain, up=up, true_edges=true_edges, inset=inset, count=count, cost=cost,
            material=material, grain_guessed=grain_guessed)  # fmt: skip

    @classmethod
    def from_ticks(cls, id: str, outline: Ring, *, holes: tuple[Ring, ...] = (), zones: tuple[Zone, ...] = (),
                   grain: str | None = None, up: str | None = None, true_edges: Any = (), inset: Length = 0,
                   count: int | None = 1, cost: int | float | None = None,
                   material: str | None = None, grain_guessed: bool = False, ruling: Ruling | None = None) -> Sheet:  # fmt: skip
        """A sheet from corner points in ticks, checked whole (see `from_mm` for the fields). Raises InputError."""
        where = f"sheet {id}"
        if not isinstance(id, str) or not id.strip() or len(id) > 80 or not id.isprintable():
            raise InputError("sheet id", "a short printable name", id)
        if grain not in (None, "x", "y"):
            raise InputError(f"{where}, grain", "x, y or None (unknown)", grain)
        if not isinstance(grain_guessed, bool) or (grain_guessed and grain is None):
            raise InputError(f"{where}, grain_guessed", "True or False, True only beside a grain", grain_guessed)
        if up not in (None, "+x", "+y", "-x", "-y"):
            raise InputError(f"{where}, up", "+x, +y, -x, -y or None", up)
        if ruling is not None:
            if up is not None and up != (ruling.up or up):
                raise InputError(f"{where}, up", f"{ruling.up}, the way its lines are read, or nothing", up)
            up = up or ruling.up
        if count is not None and (isinstance(count, bool) or not isinstance(count, int) or not 1 <= count <= 10_000_000):
            raise InputError(f"{where}, count", "a whole number from 1 to 10,000,000, or None for no limit", count)
        _check_amount(cost, f"{where}, cost")
        if material is not None and not (isinstance(material, str) and material.strip()):
            raise InputError(f"{where}, material", "a name or None", material)
        outline, true = _oriented(outline, true_edges, where)
        holes = tuple(geometry.counter_clockwise(_check_ring(hole, where, f"holes[{i}]")) for i, hole in enumerate(holes))
        zones = tuple(replace(z, outline=geometry.counter_clockwise(_check_ring(z.outline, where, f"{z.kind} area {i + 1}")))
                      for i, z in enumerate(zones))  # fmt: skip
        sheet = cls(id, outline, holes, zones, grain, up, true, ticks(inset, "up", f"{where}, inset"),  # type: ignore[arg-type]
                    count, cost, material, grain_guessed, ruling)  # fmt: skip
        _check_inside(sheet, where)
        return sheet

    @property
    def bad(self) -> tuple[Ring, ...]:
        """The rings that no piece may touch, holes not included."""
        return tuple(zone.outline for zone in self.zones if zone.kind == "bad")

    @property
    def area2(self) -> int:
        """Doubled area in square ticks, holes taken out."""
        return geometry.area2(self.outline) - sum(geometry.area2(hole) for hole in self.holes)

    @property
    def area_mm2(self) -> int | float:
        """Area in mm2, holes taken out."""
        return mm2(self.area2)

    @property
    def box(self) -> Box:
        """The bounding box in ticks."""
        return geometry.bounds(self.outline)

    @property
    def is_clear_rectangle(self) -> bool:
        """Whether the sheet is one axis-parallel rectangle without holes, damage or inset."""
        return self.is_rectangle and not self.holes and not self.bad and self.inset == 0

    @property
    def is_rectangle(self) -> bool:
        """Whether the outline is one axis-parallel rectangle, whatever is damaged within."""
        x0, y0, x1, y1 = self.box
        return geometry.area2(self.outline) == 2 * (x1 - x0) * (y1 - y0)


def _positive(value: Length, field: str) -> int:
    size = ticks(value, "down", field)
    if size <= 0:
        raise InputError(field, "a length above 0", value)
    return size


def _check_amount(value: object, field: str) -> None:
    if value is None:
        return
    if not finite(value) or not isinstance(value, int | float) or value < 0:
        raise InputError(field, "a number of 0 or more, or None", value)


def _best(entry: Any, id: str, index: int) -> tuple[Any, float]:
    field = f"sheet {id}, best[{index}]"
    try:
        if len(entry) == 2 and isinstance(entry[1], int | float) and not isinstance(entry[1], bool):
            if not finite(entry[1]) or entry[1] <= 0:
                raise InputError(field, "a weight above 0", entry[1])
            return entry[0], float(entry[1])
    except TypeError:
        raise InputError(field, "(corner points, weight)", entry) from None
    return entry, 1.0


def _ring(points: Any, id: str, name: str, *, outward: bool) -> Ring:
    """Corner points to ticks; what is not whole ticks moves inward (or outward), towards or from the middle."""
    field = f"sheet {id}, {name}"
    if isinstance(points, str | bytes) or not hasattr(points, "__len__"):
        raise InputError(field, "a list of (x, y) points", points)
    if len(points) > MOST_VERTICES:
        raise InputError(field, f"at most {MOST_VERTICES:,} points", f"{len(points):,} points",
                         "Simplify the outline first.")  # fmt: skip
    exact: list[tuple[Fraction, Fraction]] = []
    for i, point in enumerate(points):
        if isinstance(point, str | bytes) or not hasattr(point, "__len__") or len(point) != 2:
            raise InputError(f"{field}, point {i + 1}", "a pair (x, y)", point)
        exact.append((ticks_exact(point[0], f"{field}, point {i + 1}, x", signed=True),
                      ticks_exact(point[1], f"{field}, point {i + 1}, y", signed=True)))  # fmt: skip
    if not exact:
        raise InputError(field, "at least 3 points", "no points")
    mid_x = sum((x for x, _ in exact), Fraction(0)) / len(exact)
    mid_y = sum((y for _, y in exact), Fraction(0)) / len(exact)

    def door(value: Fraction, middle: Fraction) -> int:
        return rounded(value, "up" if (value > middle) == outward else "down")

    return tuple((door(x, mid_x), door(y, mid_y)) for x, y in exact)


def _check_ring(ring: Ring, where: str, name: str) -> Ring:
    from shapely import LinearRing

    field = f"{where}, {name}"
    if len(ring) > MOST_VERTICES:
        raise InputError(field, f"at most {MOST_VERTICES:,} points", f"{len(ring):,} points",
                         "Simplify the outline first.")  # fmt: skip
    clean: list[Point] = []
    for point in ring:
        if not clean or clean[-1] != point:
            clean.append(point)
    if len(clean) > 1 and clean[0] == clean[-1]:
        clean.pop()
    if len(clean) < 3:
        raise InputError(field, "at least 3 different points", f"{len(clean)}")
    if geometry.area2(clean) == 0 and geometry.on_one_line(clean):
        raise InputError(field, "an area above 0", "zero area", "Check the points: they lie on one line.")
    if not LinearRing(clean).is_simple:
        raise InputError(field, "an outline that does not cross or touch itself", "one that does",
                         "Give the points in order around the edge.")  # fmt: skip
    return tuple(clean)


def _oriented(ring: Ring, true_edges: Any, where: str) -> tuple[Ring, tuple[int, ...]]:
    """The outline counter-clockwise, and the true edges as indices into it."""
    clean = _check_ring(ring, where, "outline")
    if isinstance(true_edges, str):
        if true_edges != "all":
            raise InputError(f"{where}, true_edges", 'edge numbers or "all"', true_edges)
        return geometry.counter_clockwise(clean), tuple(range(len(clean)))
    marked: set[tuple[Point, Point]] = set()
    for index in true_edges:
        if isinstance(index, bool) or not isinstance(index, int) or not 0 <= index < len(ring):
            raise InputError(f"{where}, true_edges", f"edge numbers from 0 to {len(ring) - 1}", index)
        marked.add((ring[index], ring[(index + 1) % len(ring)]))
    outline = geometry.counter_clockwise(clean)
    true = []
    for i, start in enumerate(outline):
        end = outline[(i + 1) % len(outline)]
        if (start, end) in marked or (end, start) in marked:
            true.append(i)
    return outline, tuple(true)


def _check_inside(sheet: Sheet, where: str) -> None:
    from shapely import Polygon, union_all

    x0, y0, x1, y1 = sheet.box
    if max(abs(v) for v in (x0, y0, x1, y1)) > FARTHEST:
        raise InputError(f"{where}, outline", f"at most {FARTHEST // TICKS_PER_MM // 1000} m", f"{mm(max(x1 - x0, y1 - y0))} mm",
                         "Check the unit.")  # fmt: skip
    if not sheet.holes and not sheet.zones:
        return
    paper = Polygon(sheet.outline)
    edge = paper.exterior
    holes = [Polygon(hole) for hole in sheet.holes]
    left = paper.difference(union_all(holes)) if holes else paper
    if left.geom_type == "MultiPolygon":
        raise InputError(f"{where}, holes", "paper in one piece", f"{len(left.geoms)} pieces", "Enter each piece as a sheet.")
    for i, hole in enumerate(holes):
        if not paper.covers(hole):
            raise InputError(f"{where}, holes[{i}]", "a hole inside the outline", "one that reaches outside",
                             "Cut the outline there instead, or mark it as a bad area.")  # fmt: skip
        if hole.intersection(edge).length > 0:  # a single point is no harm
            raise InputError(f"{where}, holes[{i}]", "a hole clear of the edge", "one that runs along it",
                             "Cut the outline there instead, or mark it as a bad area.")  # fmt: skip
        for j in range(i):
            shared = hole.intersection(holes[j])
            if shared.area > 0 or shared.length > 0:
                raise InputError(f"{where}, holes[{i}]", "holes apart from each other", f"one that touches holes[{j}]",
                                 "Join them into one.")  # fmt: skip
    if sheet.area2 <= 0:
        raise InputError(f"{where}, holes", "some paper left", "holes as large as the sheet")
    for i, zone in enumerate(sheet.zones):
        if paper.intersection(Polygon(zone.outline)).area == 0:
            raise InputError(f"{where}, {zone.kind} area {i + 1}", "an area on the sheet", "one off the sheet",
                             "Positions run up from the bottom and from the left.")  # fmt: skip
