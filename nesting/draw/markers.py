"""The cuts on a drawing: their lines, and a numbered mark on each that points to the edge at the fence.

A round mark is a cut under the knife, a square one a cut with straight-edge and blade; the line of a squaring
cut, made by eye, is dash-dotted.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import islice, pairwise

from ..layouts import Layout
from ..programme.steps import Step
from . import ink
from .ink import Page, Place, Rect
from .picture import View
from .spots import Taken, apart, crossing

RADIUS = 2.6
_POINTER = 1.7
_EFFORT = 20_000  # places tried on a page, so that a sheet of a thousand cuts is not a matter of minutes
Segment = tuple[Place, Place]


@dataclass(frozen=True)
class _Line:
    """A cut on the page: its ends, its directions, and how far beyond each end the drawing's box lies (None: inside)."""

    step: Step
    start: Place
    end: Place
    along: Place
    across: Place
    before: float | None
    beyond: float | None

    def at(self, t: float, off: float = 0.0) -> Place:
        """The point t mm from the start along the line, `off` mm to its high side."""
        (x, y), (ax, ay), (bx, by) = self.start, self.along, self.across
        return x + ax * t + bx * off, y + ay * t + by * off

    @property
    def size(self) -> float:
        """The length on the page."""
        return math.dist(self.start, self.end)


def draw_cuts(page: Page, view: View, layout: Layout, steps: Sequence[Step], marked: Sequence[Step], outline: Sequence[Place],
              taken: Taken, area: Rect) -> tuple[list[Segment], list[int]]:  # fmt: skip
    """All cut lines, and the marks of some; the marks' places are added to `taken`. `area`: where marks may stand.

    Returns the stems between marks and lines, and the numbers for which there was no room.
    """
    lines = [_line(view, layout, step) for step in steps]
    for line in lines:
        page.line([line.start, line.end], ink.WIDE, ink.DASH_DOT if line.step.squaring else ink.SOLID, zorder=3.2)
    edges: list[Segment] = list(zip(outline, [*outline[1:], outline[0]], strict=True))
    stems: list[Segment] = []
    numbers = {step.number for step in marked}
    left_out = []
    for line in lines:
        if line.step.number in numbers:
            others = [(o.start, o.end) for o in lines if o is not line]
            tries = max(30, _EFFORT // len(lines))
            if not _mark(page, line, [*others, *edges], len(others), stems, taken, area, tries):
                left_out.append(line.step.number)
    return stems, left_out


def _line(view: View, layout: Layout, step: Step) -> _Line:
    start, end = (view.framed(layout, *point) for point in step.line)
    turn = math.radians(layout.frame_deg)
    x_axis, y_axis = (math.cos(turn), math.sin(turn)), (-math.sin(turn), math.cos(turn))
    along, across = (y_axis, x_axis) if step.axis == "x" else (x_axis, y_axis)
    i = 1 if step.axis == "x" else 0
    root = layout.tree.box
    per = view.scale / 8000
    before = (step.line[0][i] - root[i]) * per if step.box[i] == root[i] else None
    beyond = (root[i + 2] - step.line[1][i]) * per if step.box[i + 2] == root[i + 2] else None
    return _Line(step, start, end, along, across, before, beyond)


def _mark(page: Page, line: _Line, segments: list[Segment], cuts: int, stems: list[Segment], taken: Taken, area: Rect,
          tries: int) -> bool:  # fmt: skip
    """Mark a cut at the best place; False if there is none. The first `cuts` of the segments are cuts, the rest edges."""
    for least in (RADIUS + 0.3, 0.9):  # clear of other lines, else at least not on one
        for place, stem in islice(_places(line), tries):
            rect = _rect(place, line.step)
            if not _inside(place, area) or not taken.free(rect) or _near(place, segments, least):
                continue
            pairs = list(pairwise(stem))
            if any(not taken.free(_thin(pair), line=True) or _crosses(pair, segments[:cuts]) or _crosses(pair, stems)
                   for pair in pairs):  # fmt: skip
                continue
            if stem:
                page.line(stem, ink.NARROW, zorder=3.1)
                stems += pairs
                page.disc(*stem[0], 0.45, fill=ink.BLACK, edge=None, zorder=3.6)
            taken.add(rect)
            _draw(page, place, line)
            return True
    return False


def _crosses(pair: Segment, segments: Sequence[Segment]) -> bool:
    """Whether a short line crosses one of the segments."""
    x0, y0, x1, y1 = _thin(pair)
    for (ax, ay), (bx, by) in segments:
        if (ax < x0 and bx < x0) or (ax > x1 and bx > x1) or (ay < y0 and by < y0) or (ay > y1 and by > y1):
            continue
        if crossing(*pair, (ax, ay), (bx, by)):
            return True
    return False


def _near(place: Place, segments: Sequence[Segment], least: float) -> bool:
    """Whether a segment comes nearer than `least`."""
    x, y = place
    for (ax, ay), (bx, by) in segments:
        if ((ax < x - least and bx < x - least) or (ax > x + least and bx > x + least)
                or (ay < y - least and by < y - least) or (ay > y + least and by > y + least)):  # fmt: skip
            continue
        if apart(place, (ax, ay), (bx, by)) < least:
            return True
    return False


def _places(line: _Line) -> Iterator[tuple[Place, list[Place]]]:
    """Places for a mark, the better first, each with the stem from the line to it."""
    clear = RADIUS + 1.6
    for gap, sense, end in ((line.beyond, 1, line.size), (line.before, -1, 0.0)):
        if gap is not None:
            for out in (RADIUS + 1.9, 3 * RADIUS + 2.9):
                for shift in (0.0, 3.2, -3.2, 6.4, -6.4):
                    foot, place = line.at(end), line.at(end + sense * (gap + out), shift)
                    bend = [line.at(end + sense * (gap + 0.9))] if shift else []
                    yield place, [foot, *bend, place]
    tall = line.size
    inner = [t for k in range(int(tall / 2) + 1) for t in (RADIUS + 1.4 + 2 * k, tall - RADIUS - 1.4 - 2 * k)
             if RADIUS + 0.5 <= t <= tall - RADIUS - 0.5]  # fmt: skip
    inner = inner[:60]
    for t in (*inner, tall / 2):
        yield line.at(t), []
    for off in (clear, clear + 2.5, clear + 6, clear + 10):
        for t in (*inner[:40], tall / 2):
            for side in (1, -1):
                yield line.at(t, side * off), [line.at(t), line.at(t, side * off)]


def _inside(place: Place, area: Rect) -> bool:
    return area[0] + RADIUS <= place[0] <= area[2] - RADIUS and area[1] + RADIUS <= place[1] <= area[3] - RADIUS


def _rect(place: Place, step: Step) -> Rect:
    more = RADIUS + 0.2
    left, right, low, high = more, more, more, more
    if step.base == "left":
        left += _POINTER
    elif step.base == "right":
        right += _POINTER
    elif step.base == "bottom":
        low += _POINTER
    elif step.base == "top":
        high += _POINTER
    return place[0] - left, place[1] - low, place[0] + right, place[1] + high


def _thin(segment: Segment) -> Rect:
    (ax, ay), (bx, by) = segment
    return min(ax, bx), min(ay, by), max(ax, bx), max(ay, by)


def _draw(page: Page, place: Place, line: _Line) -> None:
    step = line.step
    x, y = place
    if step.base is not None:
        sense = 1 if step.base in ("right", "top") else -1
        ux, uy = line.across[0] * sense, line.across[1] * sense
        tip = (x + ux * (RADIUS + _POINTER), y + uy * (RADIUS + _POINTER))
        foot = RADIUS * 0.92
        half = 1.25
        page.area([[tip, (x + ux * foot - uy * half, y + uy * foot + ux * half),
                    (x + ux * foot + uy * half, y + uy * foot - ux * half)]], fill=ink.BLACK, zorder=3.9)  # fmt: skip
    draw_number(page, x, y, step.number, step.blade)


def draw_number(page: Page, x: float, y: float, number: int, blade: bool, radius: float = RADIUS) -> None:
    """The number of a cut in its mark: round for the knife, square for straight-edge and blade."""
    if blade:
        r = radius * 0.95
        page.area([ink.corners((x - r, y - r, x + r, y + r))], fill="#FFFFFF", edge=ink.BLACK, thick=ink.WIDE, zorder=4)
    else:
        page.disc(x, y, radius, edge=ink.BLACK, thick=ink.NARROW * 1.3)
    page.text(x, y, str(number), ink.SMALL, bold=number < 100, ha="center", va="center")
