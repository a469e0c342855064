"""Text and table rows that flow down the first page of a plan and over to the next where they must."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from . import furniture, ink
from .furniture import Column
from .ink import Page

LINE = 4.3
GAP = 5.0


@dataclass(frozen=True)
class Item:
    """Something `height` mm high that is not parted: a line of text, or a row of a table.

    `cells` are the columns, each as its lines; `columns` are set for a table's row.
    """

    cells: tuple[tuple[str, ...], ...]
    columns: tuple[Column, ...]
    table: bool

    @property
    def height(self) -> float:
        """In mm."""
        return LINE * max(len(cell) for cell in self.cells) + (1.2 if self.table else 0.0)


def paragraph(heading: str, texts: Sequence[str], room: float, lead: float = 28.0) -> list[Item]:
    """A heading at the left and its texts beside it, line by line."""
    columns = (Column("", lead, bold=True), Column("", room - lead))
    out: list[Item] = []
    for text in texts:
        for line in ink.wrapped(text, room - lead - 1.6, 9):
            out.append(Item(((heading if not out else "",), (line,)), columns, False))
    return out


def table_row(columns: Sequence[Column], cells: Sequence[str]) -> Item:
    """A row of a table, its texts wrapped."""
    pairs = zip(columns, cells, strict=True)
    texts = tuple(tuple(ink.broken(cell, column.width - 1.6, 9, column.bold)) or ("",) for column, cell in pairs)
    return Item(texts, tuple(columns), True)


def paged(items: Sequence[Item], first: float, later: float) -> list[list[Item]]:
    """The items parted over pages that have so many mm of room; a table's heading needs room on each."""
    pages: list[list[Item]] = [[]]
    left = first
    for item in items:
        heading = furniture.ROW + GAP if item.table and not (pages[-1] and pages[-1][-1].table) else 0.0
        if item.height + heading > left and pages[-1]:
            pages.append([])
            left, heading = later, furniture.ROW if item.table else 0.0
        pages[-1].append(item)
        left -= item.height + heading
    return pages


def draw(page: Page, x: float, top: float, items: Sequence[Item]) -> float:
    """Write the items of one page from `top` down; returns the y below them."""
    y = top
    before: Item | None = None
    for item in items:
        right = x + sum(column.width for column in item.columns)
        if item.table and not (before and before.table):
            y -= GAP if before else 0.0
            y = furniture.table(page, x, y, item.columns, [])
        if not item.table and item.cells[0][0]:
            page.line([(x, y), (right, y)], ink.NARROW * 0.6, colour="#555555")
        at = x
        for column, cell in zip(item.columns, item.cells, strict=True):
            for k, line in enumerate(cell):
                place = {"left": at + 0.8, "center": at + column.width / 2, "right": at + column.width - 0.8}[column.align]
                if line:
                    page.text(place, y - LINE * (k + 1) + (0.6 if item.table else 1.0), line, 9, column.bold, ha=column.align)
            at += column.width
        y -= item.height
        if item.table:
            page.line([(x, y), (right, y)], ink.NARROW * 0.6, colour="#555555")
        before = item
    return y
