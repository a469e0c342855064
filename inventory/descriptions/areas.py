"""Areas on the paper: torn edges and bad strips along an edge, bad, best and hole rectangles, creases."""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction
from math import ceil, floor

from nesting.errors import InputError
from nesting.geometry import Ring, area2, bounds
from nesting.lengths import Unit, show
from nesting.sheets import Zone

from . import damage
from .bases import Base
from .exactly import box_ring, edge_at, farthest_in, without_straight
from .forms import Area, Crease, Part, Strip, Torn
from .parts import EXAMPLES
from .ruling import unusable


def areas_of(base: Base, ragged: Ring, parts: Sequence[Part], where: str) -> tuple[list[Ring], list[Zone], list[Ring]]:
    """Bad areas, best areas and holes, each in the order typed (squares first). Raises InputError.

    `ragged` is the outline with the readings along its edges: depths are measured from it.
    """
    bad = [box_ring(box) for box in base.bad]
    best = [Zone("best", box_ring(box)) for box in base.best]
    holes: list[Ring] = []
    for part in parts:
        match part:
            case Torn():
                bad.append(torn_strip(base, part, where))
            case Strip():
                bad.append(_strip(base, ragged, part, where))
            case Area(kind="bad"):
                bad.append(_area(base, part, where, outward=True))
            case Area(kind="hole"):
                holes.append(_area(base, part, where, outward=True))
            case Area():
                best.append(Zone("best", _area(base, part, where, outward=False), part.weight))
            case Crease():
                bad.append(_crease(base, ragged, part, where))
    return bad + unusable(base, parts, where), best, holes


def torn_strip(base: Base, part: Torn, where: str) -> Ring:
    """The strip along a whole edge of the paper, as deep as the edge is torn at its worst. Raises InputError.

    Where corners or readings take paper off, or a side leans, some of the strip may lie beside the paper.
    """
    depth, paper = ceil(part.depth), bounds(base.ring)
    across = paper[2] - paper[0] if part.side in "LR" else paper[3] - paper[1]
    if depth >= across:
        raise InputError(f"{where}, torn {part.side}", f"less than the sheet's {show(across, base.unit)}",
                         show(depth, base.unit))  # fmt: skip
    if base.slanted:
        return damage.along_edge(base.ring, base.sides.index(part.side), depth)
    low, high = (paper[1], paper[3]) if part.side in "LR" else (paper[0], paper[2])
    return box_ring(damage.at_edge(part.side, paper, depth, low, high))


def _within(position: Fraction, most: int, unit: Unit, field: str, what: str) -> None:
    if floor(position) > most:
        raise InputError(field, f"no more than the sheet's {what}, {show(most, unit)}", show(floor(position), unit),
                         "Width comes first, then height; positions run from the left and up from the bottom.")  # fmt: skip


def _strip(base: Base, ragged: Ring, part: Strip, where: str) -> Ring:
    field = f"{where}, bad {part.side}"
    _, _, width, height = base.nominal
    upright = part.side in "LR"
    across, along = (width, height) if upright else (height, width)
    _within(part.end, along, base.unit, field, "height" if upright else "width")
    _within(part.depth, across, base.unit, f"{field}, deep", "width" if upright else "height")
    edge = farthest_in(ragged, part.side, part.start, min(part.end, Fraction(along)))
    if edge is None:
        raise InputError(field, "an area on the sheet", "one off the sheet")
    inward = part.depth + (across - edge if part.side in "RT" else edge)
    low, high = floor(part.start), min(ceil(part.end), along)
    return box_ring(damage.at_edge(part.side, base.nominal, min(ceil(inward), across), low, high))


def _area(base: Base, part: Area, where: str, *, outward: bool) -> Ring:
    _, _, width, height = base.nominal
    _within(part.right, width, base.unit, f"{where}, {part.kind}, across", "width")
    _within(part.high, height, base.unit, f"{where}, {part.kind}, up", "height")
    low, high = (floor, ceil) if outward else (ceil, floor)
    x0, y0, x1, y1 = low(part.left), low(part.low), min(high(part.right), width), min(high(part.high), height)
    if x0 >= x1 or y0 >= y1:
        raise InputError(f"{where}, {part.kind}", "an area that can be seen", part.text)
    return box_ring((x0, y0, x1, y1))


def _crease(base: Base, ragged: Ring, part: Crease, where: str) -> Ring:
    ends = []
    for side, at in ((part.side, part.at), (part.other, part.other_at)):
        along, what = (base.nominal[3], "height") if side in "LR" else (base.nominal[2], "width")
        _within(at, along, base.unit, f"{where}, crease {side}", what)
        point = edge_at(ragged, side, min(at, Fraction(along)))
        if point is None:
            raise InputError(f"{where}, crease {side}", "a point on that edge", part.text)
        ends.append(point)
    if ends[0] == ends[1]:
        raise InputError(f"{where}, crease", "two different points", part.text)
    ring = damage.band(ends[0], ends[1], part.wide, base.nominal)
    if len(ring) < 3 or area2(ring) == 0:
        raise InputError(f"{where}, crease", EXAMPLES["crease"], part.text)
    return without_straight(ring)
