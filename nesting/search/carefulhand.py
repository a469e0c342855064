"""A careful maker's way, to compare with: a card window of the blank slid over the sheet, piece after piece.

The model (design.md section 6, S7c; common practice, no source). From each corner of the sheet, along either of its two
sides, and with the window either way round first: the window is slid along that side, a raster step at a time, then one
step farther in, to the first clear place. A place against a piece already marked counts too: a hand pushes up to it. When
no place is left for the window that way round it is turned. A piece is marked only where all of them can still be cut
apart edge to edge. The most covers of the 16 starts (8 for a blank that may not turn) are what the hand gets.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from ..blanks import Blank
from ..cutters import Cutter
from ..geometry import Box
from ..lengths import TICKS_PER_MM
from ..sheets import Sheet
from .sheet.ground import Ground, ground, region
from .sheet.paper_kernels import allowed_points

RASTER = TICKS_PER_MM
SLACK = 1.0  # tick: how far from the region of positions a point is still tested


def careful_hand(sheet: Sheet, blank: Blank, cutter: Cutter | None = None, frames_deg: Sequence[float] = (0.0,),
                 raster: int = RASTER) -> int:  # fmt: skip
    """How many of a blank a careful hand gets from one sheet that it squares to any of these frames."""
    return max((len(careful_pieces(ground(sheet, a, cutter), blank, raster)) for a in frames_deg), default=0)


def careful_pieces(place: Ground, blank: Blank, raster: int = RASTER) -> tuple[Box, ...]:
    """Where they lie, in the order they were marked: boxes in the frame, in ticks. Of equal starts the first."""
    x0, y0, x1, y1 = place.usable
    sizes = dict.fromkeys(blank.size(turn) for turn in blank.turns_on(place.sheet))
    windows = [_Window(place, *size) for size in sizes if size[0] <= x1 - x0 and size[1] <= y1 - y0]
    best: tuple[Box, ...] = ()
    for right, high in ((False, False), (True, False), (False, True), (True, True)):
        slid = [window.slid(right, high, raster) for window in windows]
        for inward in (0, 1):
            for order in (slid, slid[::-1])[: len(slid)]:
                marked = _marked([points.copy() for points in order], inward)
                if len(marked) > len(best):
                    best = marked
    return best


def can_be_cut(boxes: Sequence[Box]) -> bool:
    """Whether cuts edge to edge, and no others, part these boxes; exact, touching is no overlap.

    Any cut that runs through none will do first: what a set allows, its parts allow too.

    >>> can_be_cut([(0, 0, 2, 1), (2, 0, 3, 2)]), can_be_cut([(0, 0, 2, 1), (2, 0, 3, 2), (1, 2, 3, 3), (0, 1, 1, 3)])
    (True, False)
    """
    todo = [list(boxes)]
    while todo:
        group = todo.pop()
        if len(group) < 2:
            continue
        parts = _parted(group, 0) or _parted(group, 1)
        if parts is None:
            return False
        todo += parts
    return True


def _parted(boxes: list[Box], axis: int) -> list[list[Box]] | None:
    """All that cuts across an axis part; None where they part nothing."""
    out: list[list[Box]] = []
    end = None
    for box in sorted(boxes, key=lambda b: b[axis]):
        if end is None or box[axis] >= end:
            out.append([])
            end = box[axis + 2]
        out[-1].append(box)
        end = max(end, box[axis + 2])
    return out if len(out) > 1 else None


@dataclass(eq=False)
class _Points:
    """Where a window may be put: low-left corners xs x ys, in the order that it meets them, and which are clear."""

    window: _Window
    right: bool
    high: bool
    xs: Any
    ys: Any
    clear: Any

    def copy(self) -> _Points:
        return _Points(self.window, self.right, self.high, self.xs, self.ys, self.clear.copy())

    def box(self, column: int, row: int) -> Box:
        x, y = int(self.xs[column]), int(self.ys[row])
        return x, y, x + self.window.width, y + self.window.height

    def first(self, inward: int) -> tuple[int, int] | None:
        """The first clear place, column and row: nearest to the side, then along it. `inward`: the axis that leads in."""
        table = self.clear if inward == 0 else self.clear.T
        at = int(table.argmax())
        one, two = divmod(at, table.shape[1])
        if not table[one, two]:
            return None
        return (one, two) if inward == 0 else (two, one)

    def mark(self, box: Box, marked: Sequence[Box]) -> None:
        """A piece lies there now: nothing may overlap it, and the window may lie against it."""
        self._join(0, (box[2], box[0] - self.window.width))
        self._join(1, (box[3], box[1] - self.window.height))
        for x0, y0, x1, y1 in marked:
            columns = (self.xs > x0 - self.window.width) & (self.xs < x1)
            rows = (self.ys > y0 - self.window.height) & (self.ys < y1)
            self.clear[np.ix_(columns, rows)] = False

    def _join(self, axis: int, lines: Sequence[int]) -> None:
        """More lines of places, where they stay within the sheet."""
        place = self.window.place
        low, high = place.usable[axis], place.usable[axis + 2] - (self.window.width, self.window.height)[axis]
        for line in lines:
            known, sign = (self.ys, -1 if self.high else 1) if axis else (self.xs, -1 if self.right else 1)
            at = int(np.searchsorted(sign * known, sign * line))
            if not low <= line <= high or (at < len(known) and known[at] == line):
                continue
            one = np.array([line], np.int64)
            if axis == 0:
                self.clear = np.insert(self.clear, at, self.window.clear(one, self.ys)[0], axis=0)
                self.xs = np.insert(known, at, line)
            else:
                self.clear = np.insert(self.clear, at, self.window.clear(self.xs, one)[:, 0], axis=1)
                self.ys = np.insert(known, at, line)

    def rule_out(self, column: int, row: int, marked: Sequence[Box]) -> None:
        """No place that lies to all pieces as this one does will do: the same cuts would part them, or none."""
        same = []
        for axis, known, at, size in ((0, self.xs, column, self.window.width), (1, self.ys, row, self.window.height)):
            edges = np.array(sorted({b[axis] for b in marked} | {b[axis + 2] for b in marked}), np.int64)
            sides = [np.searchsorted(edges, known + far, end) for far in (0, size) for end in ("left", "right")]
            same.append(np.logical_and.reduce([side == side[at] for side in sides]))
        self.clear[np.ix_(*same)] = False


class _Window:
    """A card with a hole of width x height, over one sheet."""

    def __init__(self, place: Ground, width: int, height: int) -> None:
        self.place, self.width, self.height = place, width, height
        self._traps = region(place, width, height)

    def slid(self, right: bool, high: bool, raster: int) -> _Points:
        """All raster places from a corner, in the order of the sides that meet there."""
        x0, y0, x1, y1 = self.place.usable
        xs = np.array(_steps(x0, x1 - self.width, raster, right), np.int64)
        ys = np.array(_steps(y0, y1 - self.height, raster, high), np.int64)
        return _Points(self, right, high, xs, ys, self.clear(xs, ys))

    def clear(self, xs: Any, ys: Any) -> Any:
        """Which of the places show good paper only, exactly."""
        if not len(self._traps):
            return np.zeros((len(xs), len(ys)), np.bool_)
        columns, rows = np.argsort(xs), np.argsort(ys)
        inset = float(self.place.sheet.inset)
        found = allowed_points(self._traps, xs[columns], ys[rows], self.width, self.height, self.place.segments,
                               self.place.rings, inset, SLACK)  # fmt: skip
        out = np.empty_like(found)
        out[np.ix_(columns, rows)] = found
        return out


def _steps(low: int, high: int, raster: int, from_high: bool) -> range:
    return range(high, low - 1, -raster) if from_high else range(low, high + 1, raster)


def _marked(order: Sequence[_Points], inward: int) -> tuple[Box, ...]:
    """Pieces marked one after the other from one start."""
    marked: list[Box] = []
    while True:
        box = next((b for points in order if (b := _next(points, inward, marked)) is not None), None)
        if box is None:
            return tuple(marked)
        marked.append(box)
        for points in order:
            points.mark(box, marked)


def _next(points: _Points, inward: int, marked: Sequence[Box]) -> Box | None:
    """The first clear place that leaves all pieces to be cut apart."""
    while (at := points.first(inward)) is not None:
        box = points.box(*at)
        if can_be_cut([*marked, box]):
            return box
        points.rule_out(*at, marked)
    return None
