"""What goes back to stock, recomputed from sheet and cuts; and the areas, which must add up."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence

from ..layouts import Layout, Offcut, OffcutPiece
from ..lengths import mm2, show
from .exact import Box, Point, around, crosses_itself, double_area, encloses, further, moments, segments
from .faults import Fault
from .paper import Paper, Part, stack, strips
from .trees import Leaf

_LETTERS = re.compile(r"[a-z]+")


def slack_ticks(paper: Paper, depth: int) -> int:
    """How far a corner on a slanted edge may lie from its true place, in ticks; 0 where all edges lie along the axes.

    A crossing is rounded to a tick where it is cut, and half a tick may be added by each later cut of the same edge:
    1 for the corner itself and its way to the sheet, and so on; never more than a hundredth of a millimetre.
    """
    if not paper.odd_sides:
        return 0
    return 3 + min(depth, 154) // 2


def offcut_faults(layout: Layout, found: Sequence[Leaf], paper: Paper, least: tuple[int, int] | None,
                  where: str) -> tuple[list[Fault], int, int]:  # fmt: skip
    """Each offcut against the leaf it comes from. Also what they must measure, twice in square ticks, and how closely."""
    faults: list[Fault] = []
    cut = [(leaf.node, leaf.depth) for leaf in found if isinstance(leaf.node, Offcut)]
    if len(cut) != len(layout.offcuts):
        faults.append(Fault("offcut", where, f"The cuts leave {len(cut)} offcuts, the plan lists {len(layout.offcuts)}."))
    scale = paper.frame.scale
    area = loose = listed = 0
    for number, (node, depth) in enumerate(cut):
        box = paper.frame.box(node.box)
        if box[0] >= box[2] or box[1] >= box[3]:
            continue  # a fault of the cuts, told there
        slack = _slack_here(paper, box, slack_ticks(paper, depth) * scale)
        parts = paper.parts(box)
        if not parts:
            faults.append(Fault("offcut", where, f"No paper is left where the cuts put offcut {node.id!r}."))
            continue
        tolerance = area_tolerance(paper, box, slack)
        area, loose = area + parts[0].area, loose + tolerance
        if number < len(layout.offcuts):
            offcut = layout.offcuts[number]
            here = f"{where}, offcut {offcut.id}"
            if offcut.id != node.id:
                faults.append(Fault("offcut", here, f"The cuts leave {node.id!r} here, the plan lists {offcut.id!r}."))
            faults += _outline_faults(offcut, paper, parts, box, slack, tolerance, here)
            listed += double_area(offcut.outline) - _within(paper, paper.frame.ring(offcut.outline)) // scale**2
    for offcut in layout.offcuts:
        faults += _entry_faults(offcut, layout, paper, least, f"{where}, offcut {offcut.id}")
    if not faults and not paper.frame.turned and listed != layout.areas.offcuts:
        faults.append(Fault("area", where, f"The outlines of the offcuts measure {mm2(listed)} mm2 together, "
                            f"the plan says {mm2(layout.areas.offcuts)}."))  # fmt: skip
    return faults, area // scale**2, loose // scale**2 + 1 if loose else 0


def _slack_here(paper: Paper, box: Box, slack: int) -> int:
    """No slack where no slanted edge comes near; in a turned frame every corner is rounded on its way to the sheet."""
    x0, y0, x1, y1 = box
    if paper.frame.turned:
        return slack
    return slack if paper.odd_length((x0 - slack, y0 - slack, x1 + slack, y1 + slack)) else 0


def area_tolerance(paper: Paper, box: Box, slack: int) -> int:
    """By how much twice an area may differ where slanted edges may be off by `slack`: a strip of that width along them."""
    if slack == 0:
        return 0
    x0, y0, x1, y1 = box
    length = paper.odd_length((x0 - slack, y0 - slack, x1 + slack, y1 + slack))
    if paper.frame.turned:
        length += 2 * (x1 - x0 + y1 - y0)
    return 2 * slack * length + 8 * slack * slack


def _within(paper: Paper, ring: tuple[Point, ...]) -> int:
    """Twice the area of the holes that lie in a ring."""
    return sum(area for point, area in paper.hole_points if encloses(ring, *point))


def _outline_faults(offcut: OffcutPiece, paper: Paper, parts: list[Part], box: Box, slack: int, tolerance: int,
                    where: str) -> Iterator[Fault]:  # fmt: skip
    if len(offcut.outline) < 3 or double_area(offcut.outline) <= 0 or crosses_itself(offcut.outline):
        yield Fault("offcut", where, "Its outline does not run once round, counter-clockwise, without touching itself.")
        return
    ring = paper.frame.ring(offcut.outline)
    close = [part for part in parts if part.area >= parts[0].area - tolerance]
    if slack == 0:
        close = close[:1]  # the largest; of equal ones the one with the smaller box
    if any(_same(paper, part, ring, box, slack, tolerance) for part in close):
        return
    if any(_same(paper, part, ring, box, slack, tolerance) for part in parts):
        yield Fault("offcut", where, "The paper falls apart here, and this is not the largest part.")
    else:
        yield Fault("offcut", where, "Its outline is not what the cuts leave of the sheet here.")


def _same(paper: Paper, part: Part, ring: tuple[Point, ...], box: Box, slack: int, tolerance: int) -> bool:
    """Whether a stated outline is that of a part: exactly, or (slack > 0) with every corner that near to its place."""
    inner = [hole for hole, (point, _) in zip(paper.holes, paper.hole_points, strict=True) if encloses(ring, *point)]
    sides = segments(ring)
    reach = around(ring)
    if slack == 0:
        if any(ax != bx and ay != by for ax, ay, bx, by in sides):
            return False
        every = sides + [s for hole in inner for s in segments(hole)]
        shape = [t for strip in strips(every, reach) for t in strip]
        return reach == part.box and stack(shape) == stack(part.strips)
    # every corner one of the sheet's or on a cut; same area and same first moments within the tolerance; every side on
    # an edge of the paper or of the box (corners alone will not do: a flat crossing may shift far along the cut)
    x0, y0, x1, y1 = box
    if not paper.frame.turned and any(p not in paper.corners and p[0] not in (x0, x1) and p[1] not in (y0, y1) for p in ring):
        return False
    got, due = moments(ring, x0, y0), part.moments(x0, y0)
    for hole in inner:
        a, mx, my = moments(hole, x0, y0)
        sign = 1 if a > 0 else -1
        got = got[0] - sign * a, got[1] - sign * mx, got[2] - sign * my
    allowed = tolerance, 3 * tolerance * (x1 - x0 + slack), 3 * tolerance * (y1 - y0 + slack)
    if any(abs(g - d) > a for g, d, a in zip(got, due, allowed, strict=True)):
        return False
    lines = [s for s in paper.sides if min(s[0], s[2]) <= x1 + slack and max(s[0], s[2]) >= x0 - slack
             and min(s[1], s[3]) <= y1 + slack and max(s[1], s[3]) >= y0 - slack]  # fmt: skip
    lines += segments(((x0, y0), (x1, y0), (x1, y1), (x0, y1)))
    for side in sides:
        if side in paper.known_sides:
            continue
        ax, ay, bx, by = side
        for k in range(4):
            x, y = ax + (bx - ax) * k // 4, ay + (by - ay) * k // 4
            if all(further(x, y, line, slack + 1) for line in lines):
                return False
    return True


def _entry_faults(offcut: OffcutPiece, layout: Layout, paper: Paper, least: tuple[int, int] | None,
                  where: str) -> Iterator[Fault]:  # fmt: skip
    if offcut.count != layout.copies:
        yield Fault("offcut", where, f"{layout.copies} copies give {layout.copies} of it, the plan says {offcut.count}.")
    head, _, tail = offcut.id.rpartition("-")
    if head != layout.sheet or not _LETTERS.fullmatch(tail):
        yield Fault("offcut", where, f"An offcut of sheet {layout.sheet} is named {layout.sheet}-a, {layout.sheet}-b and so on.")
    if least is not None and offcut.outline:
        scale = paper.frame.scale
        x0, y0, x1, y1 = around(paper.frame.ring(offcut.outline))
        loose = 2 * scale if paper.frame.turned else 0
        small, large = sorted((x1 - x0, y1 - y0))
        if small + loose < min(least) * scale or large + loose < max(least) * scale:
            width, height = round((x1 - x0) / scale), round((y1 - y0) / scale)
            yield Fault("offcut", where, f"It measures {show(width)} by {show(height)}, less than the least offcut, "
                        f"{show(least[0])} by {show(least[1])}.")  # fmt: skip


def area_faults(layout: Layout, found: Sequence[Leaf], paper: Paper, pieces: int | None, offcuts: int, loose: int,
                where: str) -> Iterator[Fault]:  # fmt: skip
    """Areas add up exactly, and each is what sheet, pieces and offcuts measure (all twice, in square ticks).

    `pieces` is None where a piece is of an unknown blank; `loose` is how closely the offcuts are known.
    """
    a = layout.areas
    if a.sheet != a.pieces + a.offcuts + a.shavings:
        yield Fault("area", where, f"Pieces, offcuts and shavings add up to {mm2(a.pieces + a.offcuts + a.shavings)} mm2, "
                    f"the plan gives the sheet {mm2(a.sheet)}.")  # fmt: skip
    slack = slack_ticks(paper, max(leaf.depth for leaf in found))
    odd = sum(abs(bx - ax) + abs(by - ay) for ax, ay, bx, by in paper.odd_sides) // paper.frame.scale
    whole = 2 * slack * odd + 8 * slack * slack
    if min(a.pieces, a.offcuts, a.shavings + whole) < 0:
        yield Fault("area", where, "An area is below 0.")
    for name, got, due, allowed in (
        ("sheet", a.sheet, paper.double_area, whole),
        ("pieces", a.pieces, pieces, 0),
        ("offcuts", a.offcuts, offcuts, loose),
    ):
        if due is not None and abs(got - due) > allowed:
            yield Fault("area", where, f"The area of the {name} is {mm2(due)} mm2, the plan says {mm2(got)}.")
