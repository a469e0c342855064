"""Layouts and plans put together by hand for the tests, with shapely for what the cuts leave; nothing of the search."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import Any

from shapely import Polygon, affinity
from shapely import box as box_of

from nesting.blanks import Blank
from nesting.cutters import Cutter
from nesting.fixed import Fixed
from nesting.layouts import Areas, Cut, Layout, Node, Offcut, OffcutPiece, Piece, Placed, Shavings, to_sheet
from nesting.lengths import TICKS_PER_MM, mm, ticks
from nesting.plans import Bound, MadeWith, Plan
from nesting.sheets import Sheet

Box = tuple[int, int, int, int]
Leaf = tuple[str, int] | str
"""("name", turn) for a piece, "offcut" or "shavings"."""
Cuts = Any
"""A leaf, or (axis, at in ticks, low, high)."""


def across(at: Any, low: Cuts, high: Cuts) -> Cuts:
    """A cut along x = at (mm), the left part first."""
    return "x", ticks(at, signed=True), low, high


def up(at: Any, low: Cuts, high: Cuts) -> Cuts:
    """A cut along y = at (mm), the lower part first."""
    return "y", ticks(at, signed=True), low, high


def area2(ring: Sequence[Any]) -> int:
    """Twice the area of a ring of whole ticks."""
    return sum(ring[i - 1][0] * p[1] - p[0] * ring[i - 1][1] for i, p in enumerate(ring))


def in_frame(sheet: Sheet, frame_deg: float, origin: tuple[int, int]) -> Polygon:
    """The paper of a sheet as shapely sees it in a frame."""
    paper = Polygon(sheet.outline, sheet.holes)
    if frame_deg == 0:
        return paper
    moved = affinity.translate(paper, -origin[0], -origin[1])
    return affinity.rotate(moved, -frame_deg, origin=(0, 0))


def root_box(sheet: Sheet, frame_deg: float, origin: tuple[int, int]) -> Box:
    """The box around a sheet in a frame, rounded outward to ticks."""
    x0, y0, x1, y1 = in_frame(sheet, frame_deg, origin).bounds
    return math.floor(x0), math.floor(y0), math.ceil(x1), math.ceil(y1)


def leftovers(paper: Polygon, box: Box) -> list[tuple[tuple[tuple[int, int], ...], int]]:
    """The parts of the paper in a box: outer ring and twice the area without holes, rounded to ticks, largest first."""
    found = paper.intersection(box_of(*box))
    out = []
    for part in getattr(found, "geoms", [found]):
        if part.geom_type != "Polygon" or part.area == 0:
            continue
        rings = [_tidy(ring.coords) for ring in (part.exterior, *part.interiors)]
        if len(rings[0]) < 3 or not Polygon(rings[0]).is_valid:
            continue
        outer = rings[0] if area2(rings[0]) > 0 else tuple(reversed(rings[0]))
        area = abs(area2(outer)) - sum(abs(area2(hole)) for hole in rings[1:])
        if area > 0:
            out.append((outer, area))
    return sorted(out, key=lambda part: (-part[1], Polygon(part[0]).bounds))


def _tidy(coords: Any) -> tuple[tuple[int, int], ...]:
    out: list[tuple[int, int]] = []
    for x, y in coords:
        point = round(x), round(y)
        if not out or out[-1] != point:
            out.append(point)
    while len(out) > 1 and out[0] == out[-1]:
        out.pop()
    return tuple(out)


def placed(blank: str, turn: int, box: Box, frame_deg: float, origin: tuple[int, int]) -> Placed:
    """A piece in sheet coordinates; its first corner is the one that was low-left before the turn."""
    x0, y0, x1, y1 = box
    ring = [(x0, y0), (x1, y0), (x1, y1), (x0, y1)]
    first = turn // 90
    corners = [tuple(round(v) for v in to_sheet(frame_deg, origin, x, y)) for x, y in ring[first:] + ring[:first]]
    return Placed(blank, turn, tuple(corners))  # type: ignore[arg-type]


def layout(sheet: Sheet, cuts: Cuts, copies: int = 1, frame_deg: float = 0.0, origin: tuple[int, int] = (0, 0)) -> Layout:
    """A layout from its cuts alone: boxes, pieces, offcuts and areas are worked out here."""
    paper = in_frame(sheet, frame_deg, origin)
    pieces: list[Placed] = []
    offcuts: list[OffcutPiece] = []
    sums = {"pieces": 0, "offcuts": 0}

    def node(item: Cuts, box: Box) -> Node:
        x0, y0, x1, y1 = box
        if len(item) == 4:
            axis, at, low, high = item
            if axis == "x":
                return Cut(box, "x", at, node(low, (x0, y0, at, y1)), node(high, (at, y0, x1, y1)))
            return Cut(box, "y", at, node(low, (x0, y0, x1, at)), node(high, (x0, at, x1, y1)))
        if item == "shavings":
            return Shavings(box)
        if item == "offcut":
            ring, area = leftovers(paper, box)[0]
            id = f"{sheet.id}-{chr(ord('a') + len(offcuts) // 26)}{chr(ord('a') + len(offcuts) % 26)}"
            corners = tuple(tuple(round(v) for v in to_sheet(frame_deg, origin, x, y)) for x, y in ring)
            offcuts.append(OffcutPiece(id, copies, corners))  # type: ignore[arg-type]
            sums["offcuts"] += area
            return Offcut(box, id)
        name, turn = item
        pieces.append(placed(name, turn, box, frame_deg, origin))
        sums["pieces"] += 2 * (x1 - x0) * (y1 - y0)
        return Piece(box, name, turn)

    tree = node(cuts, root_box(sheet, frame_deg, origin))
    whole = area2(sheet.outline) - sum(area2(hole) for hole in sheet.holes)
    areas = Areas(whole, sums["pieces"], sums["offcuts"], whole - sums["pieces"] - sums["offcuts"])
    return Layout(sheet.id, copies, frame_deg, origin, tree, tuple(pieces), tuple(offcuts), areas)


def as_chosen(layout: Layout, piece: Placed) -> Fixed:
    """A piece of a layout as one chosen beforehand: at the corner that lies low-left after its turn."""
    return Fixed(layout.sheet, piece.blank, piece.corners[-(piece.turn // 90) % 4], piece.turn, layout.frame_deg)


def front_panels(found: Layout, blanks: Sequence[Blank]) -> list[Polygon]:
    """The front panels in sheet coordinates, from the corners that the layout gives."""
    by_name, out = {blank.name: blank for blank in blanks}, []
    for piece in found.pieces:
        blank = by_name[piece.blank]
        x0, y0, x1, y1 = blank.front or (0, 0, blank.width, blank.height)
        (ox, oy), (rx, ry), _, (ux, uy) = piece.corners
        out.append(Polygon([(ox + (rx - ox) * x / blank.width + (ux - ox) * y / blank.height,
                             oy + (ry - oy) * x / blank.width + (uy - oy) * y / blank.height)
                            for x, y in ((x0, y0), (x1, y0), (x1, y1), (x0, y1))]))  # fmt: skip
    return out


def shown_mm2(sheet: Sheet, found: Layout, blanks: Sequence[Blank]) -> float:
    """How much best area lies on front panels, by shapely, each area times its weight."""
    rings = [(Polygon(zone.outline), zone.weight) for zone in sheet.zones if zone.kind == "best"]
    area = sum(w * ring.intersection(front).area for ring, w in rings for front in front_panels(found, blanks))
    return area / TICKS_PER_MM**2


def plan(sheets: Sequence[Sheet], blanks: Sequence[Blank], layouts: Sequence[Layout], *, aim: str = "most-worth",
         sets: Mapping[str, Mapping[str, int]] | None = None, cutter: Cutter | None = None,
         exclude: Sequence[str] = (), least_offcut: tuple[Any, Any] | None = None, slack: float = 0.0,
         fixed: Sequence[Fixed] = ()) -> Plan:  # fmt: skip
    """A plan around layouts: shortfall and what is achieved are counted here; the limit lies `slack` beyond."""
    out = Plan(
        tuple(sheets), tuple(blanks), tuple(layouts), (), Bound("most", "worth", 0, 0, True, "frames", (0.0,), "proof"),
        MadeWith("0.1.0", aim, 0, 10.0, None), cutter,  # type: ignore[arg-type]
        None if sets is None else tuple((name, tuple(needs.items())) for name, needs in sets.items()), tuple(fixed),
        tuple(exclude), None if least_offcut is None else (ticks(least_offcut[0]), ticks(least_offcut[1])))  # fmt: skip
    made = out.made()
    short = {b.name: b.quantity - made[b.name] for b in blanks if b.quantity is not None}
    worth = {b.name: b.area_mm2 if b.worth is None else b.worth for b in blanks}
    costs = {s.id: s.area_mm2 if s.cost is None else s.cost for s in sheets}
    named, lying = {b.name: b for b in blanks}, {s.id: s for s in sheets}
    penalty = float(sum(named[p.blank].penalty_on(lying[x.sheet], p.turn, x.frame_deg) * x.copies
                        for x in layouts for p in x.pieces))  # fmt: skip
    achieved: float
    if aim == "least-stock":
        sense = "least"
        if any(short.values()):
            measure, achieved = "unmade worth", sum(count * worth[name] for name, count in short.items())
        else:
            measure, achieved = "stock cost", sum(costs[x.sheet] * x.copies for x in layouts) + penalty
    else:
        sense = "most"
        if sets:
            # for sets that share no blank
            measure, achieved = "sets", sum(min(made[b] // n for b, n in needs.items()) for needs in sets.values())
        else:
            measure, achieved = "worth", sum(count * worth[name] for name, count in made.items()) - penalty
    limit = max(0.0, achieved - slack if sense == "least" else achieved + slack)
    proven = math.isclose(achieved, limit, rel_tol=1e-9)
    frames = tuple(dict.fromkeys([0.0, *(x.frame_deg for x in layouts)]))
    ended = "proof" if proven else "time"
    bound = Bound(sense, measure, achieved, limit, proven, "frames", frames, ended, penalty)  # type: ignore[arg-type]
    return replace(out, short=tuple(short.items()), bound=bound)


def with_quantity(blank: Blank, quantity: int | None) -> Blank:
    """The same blank, wanted so often (a blank is made from mm, so `dataclasses.replace` would not do)."""
    return Blank(blank.name, mm(blank.width), mm(blank.height), quantity, blank.turns, blank.grain, blank.up, blank.worth,
                 blank.material, None if blank.front is None else [mm(v) for v in blank.front])  # fmt: skip
