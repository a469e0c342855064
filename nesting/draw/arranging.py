"""How drawing and table share a page: upright or across, the table beside, below or on a page of its own."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from ..geometry import Box
from . import furniture
from .furniture import FOOT, LEFT, RIGHT, TOP
from .ink import Rect, papers
from .keys import Key, key_height
from .picture import fitting

HEAD = 33.0  # mm for the sheet's number, facts and small picture
BAR = 10.0  # mm above the foot for the bar to check the print with
AROUND = (8.0, 9.0, 13.5, 14.0)  # mm left, below, right and above the sheet, for sizes and marks
BESIDE = 140.0  # mm: all columns of the table have room
GAP = 5.0
MOST_NOTES = 9  # lines of notes on the page of the drawing; more go on the next
COSTS = 0.6  # the table goes on the page where the drawing keeps this part of its scale


@dataclass(frozen=True)
class Arrangement:
    """Where things stand on a layout's page: drawing area, scale, what stands below `top` at (x, width) down to `low`.

    `table`: whether the table stands there, before the notes; else it is on a page of its own.
    """

    landscape: bool
    scale: float
    drawing: Rect
    x: float
    room: float
    top: float
    low: float
    table: bool


def body(paper: str, landscape: bool, keys: Sequence[Key]) -> Rect:
    """The part of a page between head and key."""
    short, long = papers(paper)
    w, h = (long, short) if landscape else (short, long)
    return LEFT, FOOT + 5 + BAR + key_height(keys, w - RIGHT - LEFT) + 1, w - RIGHT, h - TOP - HEAD


def arrange(paper: str, box: Box, table: Callable[[float], float], notes: Sequence[str], keys: Sequence[Key],
            apart: bool = False) -> Arrangement:  # fmt: skip
    """The best arrangement: the table on the page if that costs little scale, then the largest scale, then upright.

    `table`: its height in mm, given a width; 0 where there is none. `apart`: the table is on a page of its own.
    """
    found = [a for landscape in (False, True) for a in _ways(paper, landscape, box, table, notes, keys)]
    best = max(a.scale for a in found)
    whole = [a for a in found if a.table and a.scale >= best * COSTS and not apart]
    return max(whole or [a for a in found if not a.table], key=lambda a: (a.scale, not a.landscape, a.room))


def kept(notes: Sequence[str], room: float) -> float:
    """The height kept for notes, in mm."""
    return min(furniture.note_height(notes, room), furniture.NOTE_ROW * MOST_NOTES) + 2


def _ways(paper: str, landscape: bool, box: Box, table: Callable[[float], float], notes: Sequence[str],
          keys: Sequence[Key]) -> list[Arrangement]:  # fmt: skip
    left, low, right, high = body(paper, landscape, keys)
    width, height = box[2] - box[0], box[3] - box[1]
    out = []

    def add(drawing: Rect, x: float, room: float, top: float, with_table: bool) -> None:
        room_w = drawing[2] - drawing[0] - AROUND[0] - AROUND[2]
        room_h = drawing[3] - drawing[1] - AROUND[1] - AROUND[3]
        if room_w > 0 and room_h > 0:
            out.append(Arrangement(landscape, fitting(width, height, room_w, room_h), drawing, x, room, top, low, with_table))

    if right - left - BESIDE - GAP > 40 and table(BESIDE) + kept(notes, BESIDE) <= high - 3 - low:
        add((left, low, right - BESIDE - GAP, high), right - BESIDE, BESIDE, high - 3, True)
    for tall, with_table in ((table(right - left), True), (0.0, False)):
        top = low + kept(notes, right - left) + tall
        add((left, top + 2, right, high), left, right - left, top, with_table)
    return out
