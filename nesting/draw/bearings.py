"""Grain and print direction as arrows inside a small picture of a sheet, clear of its damage and frames."""

from __future__ import annotations

import math
from itertools import pairwise

from ..sheets import Sheet
from . import ink
from .ink import Page, Rect
from .picture import Rings, View, clipped, damage, free_paper, up_arrow
from .spots import Room, Taken

_STEP = 2.0  # mm: pieces of a frame's line that are kept clear


def draw_bearings(page: Page, view: View, sheet: Sheet, least: float, *, grain: bool = True) -> None:
    """The arrows near the middle, smaller where they must, left out where they have no room.

    `least`: how wide damage is drawn at least, in mm.
    """
    room = Room(free_paper(view, sheet, damage(view, sheet, least)))
    frames = [rect for zone in sheet.zones if zone.kind == "best"
              for rings in clipped(view, sheet, zone.outline) for rect in _frame_rects(rings)]  # fmt: skip
    taken = Taken(0.8)
    if grain and sheet.grain is not None:
        sizes = [(long, 2.4) if sheet.grain == "x" else (2.4, long) for long in (12.0, 8.0)]
        rect = _spot(room, sizes, taken, frames)
        if rect is not None:
            mx, my = (rect[0] + rect[2]) / 2, (rect[1] + rect[3]) / 2
            ends = ((rect[0], my), (rect[2], my)) if sheet.grain == "x" else ((mx, rect[1]), (mx, rect[3]))
            page.arrow(*ends, ink.NARROW * 1.4, 2.2, both=True)
            taken.add(rect)
    if sheet.up is not None:
        upright = sheet.up in ("+y", "-y")
        sizes = [(0.6 * long + 0.4, long + 1) if upright else (long + 1, 0.6 * long + 0.4) for long in (7.0, 5.0)]
        rect = _spot(room, sizes, taken, frames)
        if rect is not None:
            long = max(rect[2] - rect[0], rect[3] - rect[1]) - 1
            up_arrow(page, ((rect[0] + rect[2]) / 2, (rect[1] + rect[3]) / 2), sheet.up, long)


def _spot(room: Room, sizes: list[tuple[float, float]], taken: Taken, frames: list[Rect]) -> Rect | None:
    """A place for the first size that has one clear of the frames, else of the first that has one."""
    for kept in (frames, []):
        for width, height in sizes:
            rect = room.spot(width, height, taken.also(kept))
            if rect is not None:
                return rect
    return None


def _frame_rects(rings: Rings) -> list[Rect]:
    """Small rectangles along the lines of an area's frame."""
    out = []
    for ring in rings:
        for (ax, ay), (bx, by) in pairwise([*ring, ring[0]]):
            count = max(1, math.ceil(math.dist((ax, ay), (bx, by)) / _STEP)) if ax != bx and ay != by else 1
            for k in range(count):
                x0, y0 = ax + (bx - ax) * k / count, ay + (by - ay) * k / count
                x1, y1 = ax + (bx - ax) * (k + 1) / count, ay + (by - ay) * (k + 1) / count
                out.append((min(x0, x1), min(y0, y1), max(x0, x1), max(y0, y1)))
    return out
