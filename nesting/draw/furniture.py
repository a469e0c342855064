"""What stands on every page: the bound edge, the footer, the bar to check the print with, tables."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Literal

from . import ink
from .ink import Page, Place, Rect

LEFT, RIGHT, TOP, FOOT = 16.0, 9.0, 9.0, 7.0  # margins in mm
ROW, LINE = 5.3, 3.7  # a table's row of one line, and each further line
NOTE_ROW = 3.7


def bound_edge(page: Page) -> None:
    """The left edge like a stapled fold: a thin line with two staples at a quarter and three quarters."""
    x = LEFT - 7
    page.line([(x, 9), (x, page.height - 9)], ink.NARROW, ink.DOTTED)
    for at in (0.25, 0.75):
        y = page.height * at
        page.line([(x, y - 5), (x, y + 5)], ink.WIDE * 1.5, zorder=4)


def footer(page: Page, left: str, number: int, count: int, middle: str = "") -> None:
    """Small print at the foot: which plan and stock, smallest of all, and which page."""
    y, right = FOOT, page.width - RIGHT
    page.line([(LEFT, y + 4.2), (right, y + 4.2)], ink.NARROW)
    if page.lacking:
        middle = f"{middle}  (? = a letter this print lacks)".strip()
    page.text(LEFT, y, ink.shortened(left, 62, ink.FOOTER), ink.FOOTER, colour="#555555")
    start = LEFT + (64 if left else 0)
    page.text((start + right - 30) / 2, y, ink.shortened(middle, right - 32 - start, ink.SMALL), ink.SMALL, ha="center")
    page.text(right, y, f"page {number} of {count}", ink.SMALL, ha="right")


def check_bar(page: Page, y: float) -> None:
    """A bar of 100 mm over one of 4 in, true to the paper, from the left margin; it takes 9 mm above y."""
    x, mid = LEFT, y + 4.5
    page.line([(x, mid), (x + 101.6, mid)], ink.NARROW)
    page.line([(x, mid + 1.1), (x + 100, mid + 1.1)], ink.WIDE * 1.6)
    page.line([(x, mid - 1.1), (x + 101.6, mid - 1.1)], ink.WIDE * 1.6)
    marks: list[tuple[Place, Place]] = []
    for k in range(11):
        marks.append(((x + 10 * k, mid), (x + 10 * k, mid + (3.8 if k in (0, 5, 10) else 2.6))))
    for k in range(17):
        marks.append(((x + 6.35 * k, mid), (x + 6.35 * k, mid - (3.8 if k % 4 == 0 else 2.4))))
    page.lines(marks, ink.NARROW)
    page.text(x + 98.8, mid + 2.2, "100 mm", ink.SMALL, ha="right")
    page.text(x + 100.4, mid - 4.9, "4 in", ink.SMALL, ha="right")
    lines = ink.wrapped("Measure the bar before you trust the page: 100 mm above, 4 in below. If it differs, print again "
                        "at 100 % (actual size).", page.width - RIGHT - x - 106, ink.SMALL)  # fmt: skip
    for k, line in enumerate(lines[:3]):
        page.text(x + 106, mid + 2.6 - k * 3.5, line, ink.SMALL)


@dataclass(frozen=True)
class Column:
    """A column of a table: its heading, its width in mm, where its text stands and whether it is bold."""

    heading: str
    width: float
    align: Literal["left", "center", "right"] = "left"
    bold: bool = False


Row = tuple[tuple[str, ...], ...]  # the lines of each cell


def row_height(row: Row) -> float:
    """The height of a table's row in mm."""
    return ROW + LINE * (max(1, *(len(cell) for cell in row)) - 1)


def table(page: Page, x: float, top: float, columns: Sequence[Column], rows: Sequence[Row], size: float = 9.0,
          first: Callable[[float, float, int], None] | None = None) -> float:  # fmt: skip
    """Write a table with its upper left corner at (x, top); returns the y below it.

    `first` draws the first cell of a row instead, given the cell's middle and the row's index.
    """
    right = x + sum(column.width for column in columns)
    y = top - ROW
    page.line([(x, top), (right, top)], ink.WIDE)
    _row(page, x, y, columns, tuple((c.heading,) for c in columns), ink.SMALL, heading=True)
    page.line([(x, y), (right, y)], ink.NARROW)
    for index, row in enumerate(rows):
        tall = row_height(row)
        y -= tall
        _row(page, x, y + tall - ROW, columns, ((), *row[1:]) if first else row, size)
        if first:
            first(x + columns[0].width / 2, y + tall - ROW / 2, index)
        page.line([(x, y), (right, y)], ink.NARROW * 0.6, colour="#555555")
    page.line([(x, y), (right, y)], ink.WIDE)
    return y


def _row(page: Page, x: float, y: float, columns: Sequence[Column], cells: Row, size: float, heading: bool = False) -> None:
    for column, cell in zip(columns, cells, strict=True):
        bold = column.bold and not heading
        at = {"left": x + 0.8, "center": x + column.width / 2, "right": x + column.width - 0.8}[column.align]
        for k, line in enumerate(cell):
            if line:
                page.text(at, y + 1.55 - k * LINE, line, size, bold, ha=column.align)
        x += column.width


def notes(page: Page, x: float, top: float, room: float, texts: Sequence[str]) -> float:
    """Small notes, each on lines of its own; returns the y below them."""
    y = top
    for text in texts:
        for line in ink.wrapped(text, room, ink.SMALL):
            y -= NOTE_ROW
            page.text(x, y + 0.8, line, ink.SMALL)
    return y


def note_height(texts: Sequence[str], room: float) -> float:
    """The height that `notes` takes."""
    return NOTE_ROW * sum(len(ink.wrapped(text, room, ink.SMALL)) for text in texts)


def boxed(page: Page, x: float, y: float, text: str, size: float) -> Rect:
    """White letters in a black box with its lower left corner at (x, y)."""
    w, h = ink.width(text, size, True) + 3, ink.height(size) + 1.6
    page.area([ink.corners((x, y, x + w, y + h))], fill=ink.BLACK, zorder=4)
    page.text(x + w / 2, y + h / 2, text, size, True, ha="center", va="center", colour="#FFFFFF")
    return x, y, x + w, y + h
