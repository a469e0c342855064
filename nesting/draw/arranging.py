"""How drawing and table share a page: upright or across, the table beside or below, the largest scale that fits."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from ..geometry import Box
from . import furniture
from .furniture import FOOT, LEFT, RIGHT, ROW, TOP
from .ink import Rect, papers
from .keys import Key, key_height
from .picture import fitting

HEAD = 33.0  # mm for the sheet's number, facts and small picture
BAR = 10.0  # mm above the foot for the bar to check the print with
AROUND = (8.0, 9.0, 13.5, 14.0)  # mm left, below, right and above the sheet, for sizes and marks
BESIDE = 100.0
LEAST_BLOCK = 84.0
GAP = 5.0
MOST_NOTES = 9  # lines of notes on the page of the drawing; more go on the next
WIDE = 150.0  # a table from this width on has all columns


@dataclass(frozen=True)
class Arrangement:
    """Where things stand on a layout's page: drawing area, scale, table blocks (x, width) from `table_top` down to `low`.

    `rows`: how many rows each block holds; rows beyond all blocks go on the next page.
    """

    landscape: bool
    scale: float
    drawing: Rect
    blocks: tuple[tuple[float, float], ...]
    table_top: float
    low: float
    rows: int

    @property
    def room(self) -> float:
        """The width of all blocks, for the notes."""
        return self.blocks[-1][0] + self.blocks[-1][1] - self.blocks[0][0]

    @property
    def capacity(self) -> int:
        """How many rows fit this page."""
        return self.rows * len(self.blocks)


def body(paper: str, landscape: bool, keys: Sequence[Key]) -> Rect:
    """The part of a page between head and key."""
    short, long = papers(paper)
    w, h = (long, short) if landscape else (short, long)
    return LEFT, FOOT + 5 + BAR + key_height(keys, w - RIGHT - LEFT) + 1, w - RIGHT, h - TOP - HEAD


def blocks(left: float, right: float, count: int) -> tuple[tuple[float, float], ...]:
    """So many table blocks side by side."""
    width = (right - left - GAP * (count - 1)) / count
    return tuple((left + i * (width + GAP), width) for i in range(count))


def arrange(paper: str, box: Box, rows: int, notes: Sequence[str], keys: Sequence[Key]) -> Arrangement:
    """The best arrangement: all rows on the page if that costs little scale, then the largest scale, then upright.

    A short table is rather written with all its columns than the drawing one step larger.
    """
    found = [a for landscape in (False, True) for a in _ways(paper, landscape, box, rows, notes, keys)]
    best = max(a.scale for a in found)
    whole = [a for a in found if a.capacity >= rows and a.scale >= best * 0.6]

    def preference(a: Arrangement) -> tuple[bool, float, bool, bool, bool, int]:
        wide = a.blocks[0][1] >= WIDE
        return rows <= 12 and wide and a.scale >= best * 0.79, a.scale, wide, not a.landscape, a.capacity >= rows, -len(a.blocks)

    return max(whole or found, key=preference)


def kept(notes: Sequence[str], room: float) -> float:
    """The height kept for notes, in mm."""
    return min(furniture.note_height(notes, room), furniture.NOTE_ROW * MOST_NOTES) + 2


def _ways(paper: str, landscape: bool, box: Box, rows: int, notes: Sequence[str],
          keys: Sequence[Key]) -> list[Arrangement]:  # fmt: skip
    left, low, right, high = body(paper, landscape, keys)
    width, height = box[2] - box[0], box[3] - box[1]
    out = []

    def add(drawing: Rect, where: tuple[tuple[float, float], ...], top: float, each: int) -> None:
        room_w = drawing[2] - drawing[0] - AROUND[0] - AROUND[2]
        room_h = drawing[3] - drawing[1] - AROUND[1] - AROUND[3]
        if room_w > 0 and room_h > 0 and each > 0:
            out.append(Arrangement(landscape, fitting(width, height, room_w, room_h), drawing, where, top, low, each))

    if rows and right - left - BESIDE - GAP > 40:
        tall = kept(notes, BESIDE)
        each = int((high - 3 - low - tall) / ROW) - 1
        add((left, low, right - BESIDE - GAP, high), blocks(right - BESIDE, right, 1), high - 3, each)
    for count in range(1, int((right - left + GAP) / (LEAST_BLOCK + GAP)) + 1):
        tall = kept(notes, right - left)
        most = int(((high - low) * 0.45 - tall) / ROW) - 1
        each = min(max(1, math.ceil(rows / count)), most)
        top = low + tall + (each + 1) * ROW
        add((left, top + 2, right, high), blocks(left, right, count), top, each)
    return out
