"""The paper before damage: a size, four sides, corners or squares to an outline whose edges have their sides."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import floor
from typing import TypeVar

from nesting import Sheet
from nesting.errors import InputError
from nesting.geometry import Box, Ring, bounds
from nesting.lengths import Unit, show

from . import squares
from .exactly import Exact, box_ring, to_ticks
from .forms import Corners, Part, SideLength, Size, SquareCorner, Squares
from .foursided import four_sided

P = TypeVar("P", bound=Part)


@dataclass(frozen=True)
class Base:
    """The paper before damage: a counter-clockwise ring, the side of each edge, and the nominal rectangle."""

    ring: Ring
    sides: tuple[str, ...]
    nominal: Box
    unit: Unit
    slanted: bool = False
    bad: tuple[Box, ...] = ()
    best: tuple[Box, ...] = ()


def of(parts: Sequence[Part], kind: type[P]) -> list[P]:
    """The parts of one kind, in order."""
    return [part for part in parts if isinstance(part, kind)]


def base_of(id: str, parts: Sequence[Part], unit: Unit, where: str) -> Base:
    """The paper before damage, from the size, the four sides, the corners or the squares. Raises InputError."""
    lengths, squared = of(parts, SideLength), of(parts, SquareCorner)
    shapes = [part for part in parts if isinstance(part, Size | Corners | Squares)]
    if len(shapes) > 1 or (shapes and (lengths or squared)):
        raise InputError(f"{where}, size", "one size, or corners, or squares, or four sides", "; ".join(
            part.text for part in [*shapes, *lengths, *squared]))  # fmt: skip
    if lengths or squared:
        ring = four_sided(lengths, squared, unit, where)
        return Base(ring, ("B", "R", "T", "L"), bounds(ring), unit, slanted=True)
    if not shapes:
        raise InputError(f"{where}, size", "a size, such as 420 x 297", "none")
    match shapes[0]:
        case Size(width=width, height=height):
            box = (0, 0, floor(width), floor(height))
            return Base(_checked(id, box_ring(box)), ("B", "R", "T", "L"), box, unit)
        case Squares(step=step, rows=rows):
            grid = squares.read(step, rows, where)
            x0, y0, x1, y1 = grid.paper
            whole = (0, 0, grid.width, grid.height)
            kept = (("B", y0 == 0), ("R", x1 == grid.width), ("T", y1 == grid.height), ("L", x0 == 0))
            sides = tuple(side if there else "" for side, there in kept)
            return Base(_checked(id, box_ring(grid.paper)), sides, whole, unit, bad=grid.bad, best=grid.best)
        case Corners(points=points):
            return _cornered(id, points, unit, where)
    raise AssertionError("every shape has its case")


def _checked(id: str, ring: Ring) -> Ring:
    """The ring as a sheet's outline holds it: counter-clockwise, checked whole."""
    return Sheet.from_ticks(id, ring).outline


def _cornered(id: str, points: Sequence[Exact], unit: Unit, where: str) -> Base:
    across, up = min(x for x, _ in points), min(y for _, y in points)
    if across or up:
        side, least = ("across", across) if across else ("up", up)
        raise InputError(f"{where}, corners", f"a corner at 0 {side}", f"none nearer than {show(floor(least), unit)}",
                         "Measure from the leftmost and the lowest point of the sheet.")  # fmt: skip
    _checked(id, tuple((floor(x), floor(y)) for x, y in points))  # before rounding, so that the fault is the maker's
    ring = _checked(id, to_ticks(points, inward=True))
    box = bounds(ring)
    sides = []
    for (ax, ay), (bx, by) in zip(ring, (*ring[1:], ring[0]), strict=True):
        upright, level = ax == bx, ay == by
        sides.append("L" if upright and ax == box[0] else "R" if upright and ax == box[2]
                     else "B" if level and ay == box[1] else "T" if level and ay == box[3] else "-")  # fmt: skip
    return Base(ring, tuple(sides), (0, 0, box[2], box[3]), unit)
