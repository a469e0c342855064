"""How much best area lies on front panels, worked out anew with fractions: every ring held to every panel, side by side.

A ring held to a box: one side of the box after the other, what lies beyond it drawn onto it. Parts that a ring loses and
finds again are joined along that side, which adds no area.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from fractions import Fraction

from ..blanks import Blank
from ..layouts import Layout, Placed
from ..lengths import TICKS_PER_MM
from ..sheets import Sheet
from .exact import Box, around
from .faults import Fault
from .paper import Paper
from .placing import LOOSE

Point = tuple[Fraction, Fraction]
_ROUNDED = 0.0051
"""mm2: the document gives two decimals."""


def best_faults(layout: Layout, sheet: Sheet, blanks: Mapping[str, Blank], paper: Paper, where: str) -> Iterator[Fault]:
    """Whether the layout shows as much of the best areas as it says; nothing is said of one that does not say."""
    if layout.best_mm2 is None or any(piece.blank not in blanks for piece in layout.pieces):
        return
    reach = LOOSE * paper.frame.scale if paper.frame.turned else 0  # what only just meets may have been rounded so
    per_mm2 = (TICKS_PER_MM * paper.frame.scale) ** 2
    due, loose = Fraction(0), Fraction(0)
    for zone in sheet.zones:
        if zone.kind != "best":
            continue
        ring = paper.frame.ring(zone.outline)
        box = around(ring)
        weight = Fraction(zone.weight)
        for piece in layout.pieces:
            panel = _panel(piece, blanks[piece.blank], paper)
            apart = max(box[0] - panel[2], panel[0] - box[2], box[1] - panel[3], panel[1] - box[3])
            if apart < reach or apart < 0:
                due += weight * _area_within(ring, panel)
                loose += weight * 2 * (panel[2] - panel[0] + panel[3] - panel[1]) * reach
    due, loose = due / per_mm2, loose / per_mm2
    if abs(Fraction(layout.best_mm2) - due) > loose + Fraction(_ROUNDED) + due / 10**9:
        yield Fault("best", where, f"{float(due):.2f} mm2 of its best areas lie on front panels, "
                    f"the plan says {layout.best_mm2:.2f}.")  # fmt: skip


def _panel(piece: Placed, blank: Blank, paper: Paper) -> Box:
    """The front panel in the frame: as far along and up the piece's own sides as it lies in the blank."""
    x0, y0, x1, y1 = blank.front or (0, 0, blank.width, blank.height)
    (ox, oy), (rx, ry), _, (ux, uy) = paper.frame.ring(piece.corners)
    spots = []
    for x, y in ((x0, y0), (x1, y1)):
        along, up = Fraction(x, blank.width), Fraction(y, blank.height)
        spots.append((round(ox + along * (rx - ox) + up * (ux - ox)), round(oy + along * (ry - oy) + up * (uy - oy))))
    return around(spots)


def _area_within(ring: Sequence[tuple[int, int]], box: Box) -> Fraction:
    """The area of a ring inside a box."""
    points: list[Point] = [(Fraction(x), Fraction(y)) for x, y in ring]
    for axis in (0, 1):
        points = _held(points, axis, box[axis], 1)
        points = _held(points, axis, box[axis + 2], -1)
    twice = sum((points[k - 1][0] * y - x * points[k - 1][1] for k, (x, y) in enumerate(points)), Fraction(0))
    return abs(twice) / 2


def _held(points: list[Point], axis: int, line: int, sense: int) -> list[Point]:
    """The ring on one side of a line across an axis: above it (`sense` 1) or below (-1)."""
    out: list[Point] = []
    for k, point in enumerate(points):
        before = points[k - 1]
        here, there = (point[axis] - line) * sense, (before[axis] - line) * sense
        if (here > 0 > there) or (here < 0 < there):
            share = there / (there - here)
            cross = [b + share * (p - b) for b, p in zip(before, point, strict=True)]
            cross[axis] = Fraction(line)
            out.append((cross[0], cross[1]))
        if here >= 0:
            out.append(point)
    return out
