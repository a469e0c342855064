"""The hand way, to compare with: the largest clear rectangle of a sheet, then the better of two plain grids."""

from __future__ import annotations

from ..blanks import Blank
from ..cutters import Cutter
from ..geometry import Box
from ..lengths import TICKS_PER_MM
from ..sheets import Sheet
from .sheet.ground import ground

RASTER = 5 * TICKS_PER_MM


def largest_clear_rectangle(sheet: Sheet, cutter: Cutter | None = None, raster: int = RASTER) -> Box | None:
    """The largest axis-parallel rectangle of good paper on a raster (5 mm) from the sheet's low-left corner."""
    place = ground(sheet, 0.0, cutter)
    x0, y0, x1, y1 = place.usable
    columns, rows = (x1 - x0) // raster, (y1 - y0) // raster
    heights = [0] * columns
    best: tuple[int, Box] | None = None
    for row in range(rows):
        y = y0 + row * raster
        for column in range(columns):
            x = x0 + column * raster
            good = place.fits((x, y, x + raster, y + raster))
            heights[column] = heights[column] + 1 if good else 0
        stack: list[tuple[int, int]] = []  # (first column, height), heights rising: the classic histogram sweep
        for column, height in enumerate([*heights, 0]):
            first = column
            while stack and stack[-1][1] >= height:
                first, tall = stack.pop()
                area = tall * (column - first)
                if area and (best is None or area > best[0]):
                    low = y + raster - tall * raster
                    best = area, (x0 + first * raster, low, x0 + column * raster, y + raster)
            stack.append((first, height))
    return None if best is None else best[1]


def hand_way(sheet: Sheet, blank: Blank, cutter: Cutter | None = None) -> int:
    """How many of a blank the hand way gives from one sheet."""
    clear = largest_clear_rectangle(sheet, cutter)
    if clear is None:
        return 0
    width, height = clear[2] - clear[0], clear[3] - clear[1]
    return max(((width // w) * (height // h) for w, h in map(blank.size, blank.turns_on(sheet))), default=0)
