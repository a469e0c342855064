"""A sheet drawn in the terminal with block characters, both axes marked with their lengths."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from nesting import Sheet
from nesting.lengths import TICKS_PER_64TH, TICKS_PER_INCH, TICKS_PER_MM, Unit, number, show

from .stock import StockSheet

if TYPE_CHECKING:
    from nesting.geometry import Ring

TALLEST = 24  # lines: two sheets fit a usual terminal
NARROWEST = 24
_SHAPE = 2.0  # a terminal's cell is about twice as high as wide
_UP = {"+y": "up", "-y": "down", "-x": "left", "+x": "right", None: "none"}


@dataclass(frozen=True)
class _Signs:
    """What each kind of cell is drawn with, and the frame."""

    paper: str
    bad: str
    best: str
    hole: str
    frame: str  # upright, level, corner
    grain: dict[str, str]
    arrow: dict[str, str]


_BLOCKS = _Signs("░", "▚", "█", "○", "│─└", {"x": "↔", "y": "↕"}, {"+y": "↑", "-y": "↓", "-x": "←", "+x": "→"})
_PLAIN = _Signs(".", "#", "*", "o", "|-+", {"x": "<->", "y": "|"}, {"+y": "^", "-y": "v", "-x": "<-", "+x": "->"})


def picture(sheet: Sheet | StockSheet, unit: Unit = "mm", width: int = 48, *, ascii: bool = False) -> str:
    """A sheet as lines of characters, at most `width` wide (at least 24), positions and lengths in `unit`.

    Up is up and a cell about twice as high as wide, so a swapped width and height shows; where a sheet is so long
    that this cannot be kept, the last line says so. A cell is bad, hole or best where any of it is, and paper where
    half of it is. `ascii`: plain characters only.
    """
    sheet = sheet.sheet if isinstance(sheet, StockSheet) else sheet
    signs = _PLAIN if ascii else _BLOCKS
    x0, y0, x1, y1 = sheet.box
    marks = [_mark(y, unit) for y in (y1, (y0 + y1) // 2, y0)]
    margin = max(len(mark) for mark in marks) + 2
    columns, rows, true_to_scale = _fit(x1 - x0, y1 - y0, max(1, max(width, NARROWEST) - margin - 1))
    cells = _cells(sheet, columns, rows, signs)
    size = f"{_mark(x1 - x0, unit)} across x {_mark(y1 - y0, unit)} up, {unit}"
    lines = [f"{sheet.id}: {size}" if len(sheet.id) + len(size) + 2 <= max(width, NARROWEST) else size]
    for row, line in enumerate(cells):
        mark = marks[0] if row == 0 else marks[1] if row == rows // 2 and rows >= 5 else ""
        lines.append(f"{mark:>{margin - 1}} {signs.frame[0]}{line}".rstrip())
    lines.append(f"{marks[2]:>{margin - 1}} {signs.frame[2]}{signs.frame[1] * columns}")
    lines.append(" " * margin + _across(x0, x1, columns, unit))
    lines += _legend(sheet, cells, signs, unit, max(width, NARROWEST))
    if not true_to_scale:
        lines.append("not to scale")
    return "\n".join(lines)


def _mark(length: int, unit: Unit) -> str:
    """A length or position: to 1/16 in or whole mm; where it is short, to 1/64 in or tenths."""
    if unit == "in":
        step = 4 * TICKS_PER_64TH if abs(length) >= TICKS_PER_INCH else TICKS_PER_64TH
    else:
        step = TICKS_PER_MM if abs(length) >= 10 * TICKS_PER_MM else TICKS_PER_MM // 10
    near = (length + step // 2) // step * step
    return number(near or length, unit)


def _fit(width: int, height: int, most: int) -> tuple[int, int, bool]:
    """Columns and rows for a sheet, and whether they keep its shape (within a half row or column)."""
    share = height / width / _SHAPE
    columns = most
    rows = columns * share
    if rows > TALLEST:
        columns, rows = max(1, round(TALLEST / share)), TALLEST
    kept = rows >= 0.5 and columns * share <= TALLEST * 1.5
    return columns, max(1, round(rows)), kept


def _cells(sheet: Sheet, columns: int, rows: int, signs: _Signs) -> list[str]:
    """The lines of cells, from the top."""
    import numpy
    import shapely

    x0, y0, x1, y1 = sheet.box
    across = numpy.linspace(x0, x1, columns + 1)
    upward = numpy.linspace(y0, y1, rows + 1)
    low_x, low_y = numpy.meshgrid(across[:-1], upward[:-1])
    high_x, high_y = numpy.meshgrid(across[1:], upward[1:])
    boxes = shapely.box(low_x, low_y, high_x, high_y)
    whole = shapely.area(boxes)
    outline = shapely.Polygon(sheet.outline)

    def covered(rings: Sequence[Ring]) -> numpy.ndarray[tuple[int, ...], numpy.dtype[numpy.float64]]:
        area = shapely.intersection(outline, shapely.union_all([shapely.Polygon(ring) for ring in rings]))
        return numpy.asarray(shapely.area(shapely.intersection(boxes, area)) / whole)

    drawn = numpy.where(covered([sheet.outline]) >= 0.5, signs.paper, " ")
    for rings, sign in (([z.outline for z in sheet.zones if z.kind == "best"], signs.best),
                        (sheet.bad, signs.bad), (sheet.holes, signs.hole)):  # fmt: skip
        if rings:
            # a sliver of a cell that only rounding gives it is none; but an area smaller than that shows somewhere
            share = covered(rings)
            drawn[share > min(1e-3, float(share.max()) / 2)] = sign
    return ["".join(line) for line in drawn[::-1]]


def _across(low: int, high: int, columns: int, unit: Unit) -> str:
    """The marks below the level axis: where it begins, the middle where there is room, and where it ends."""
    first, middle, end = _mark(low, unit), _mark((low + high) // 2, unit), f"{_mark(high, unit)} {unit}"
    start = max(len(first) + 1, columns + 1 - len(end))
    at = columns // 2 + 1 - len(middle) // 2
    if at >= len(first) + 2 and at + len(middle) + 2 <= start:
        first = f"{first:<{at}}{middle}"
    return f"{first:<{start}}{end}"


def _legend(sheet: Sheet, cells: list[str], signs: _Signs, unit: Unit, width: int) -> list[str]:
    """What the characters mean, and how grain and print lie, in lines of at most `width`."""
    shown = "".join(cells)
    words = [f"{sign} {name}" for sign, name in (
        (signs.paper, "paper"), (signs.bad, "bad"), (signs.best, "best"), (signs.hole, "hole")) if sign in shown]  # fmt: skip
    grain = f"grain {signs.grain[sheet.grain]} {'across' if sheet.grain == 'x' else 'up'}" if sheet.grain else "grain unknown"
    words.append(f"{grain} guessed" if sheet.grain_guessed else grain)
    words.append(f"print {signs.arrow[sheet.up]} {_UP[sheet.up]}" if sheet.up else "print any way")
    if sheet.inset:
        words.append(f"inset {show(sheet.inset, unit)}")
    words.append(f"true edges {_true(sheet)}")
    lines, line = [], ""
    for word in words:
        if line and len(line) + len(word) + 3 > width:
            lines.append(line)
            line = word
        else:
            line = f"{line}   {word}" if line else word
    return [*lines, line]


def _true(sheet: Sheet) -> str:
    """The true edges of the sheet by side, those on no side of it counted."""
    x0, y0, x1, y1 = sheet.box
    found: set[str] = set()
    others = 0
    for i in sheet.true_edges:
        (ax, ay), (bx, by) = sheet.outline[i], sheet.outline[(i + 1) % len(sheet.outline)]
        side = ("L" if ax == x0 else "R" if ax == x1 else "") if ax == bx else ""
        side = side or (("B" if ay == y0 else "T" if ay == y1 else "") if ay == by else "")
        found.add(side)
        others += not side
    letters = " ".join(letter for letter in "LRTB" if letter in found)
    more = f"{others} more" if others else ""
    return " and ".join(part for part in (letters, more) if part) or "none"
