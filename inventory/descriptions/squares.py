"""Form 22: a sheet given square by square, its rows from the top (. good, # bad or gone, * best)."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction
from math import ceil, floor

from nesting.errors import InputError
from nesting.geometry import Box


@dataclass(frozen=True)
class Grid:
    """A sheet in squares: its whole size, the box that is left of it, its bad and best boxes, all in ticks."""

    width: int
    height: int
    paper: Box
    bad: tuple[Box, ...]
    best: tuple[Box, ...]


def read(step: Fraction, rows: tuple[str, ...], where: str) -> Grid:
    """The boxes of a grid; whole rows and columns of # along the border are off the paper.

    Bad boxes are rounded outward, paper and best ones inward. Raises InputError where no paper is left.
    """
    if not rows:
        raise InputError(f"{where}, squares", "rows of . # * below, from the top", "none")
    upward = rows[::-1]
    x0, x1, y0, y1 = 0, len(rows[0]), 0, len(rows)
    while y0 < y1 and set(upward[y0]) == {"#"}:
        y0 += 1
    while y1 > y0 and set(upward[y1 - 1]) == {"#"}:
        y1 -= 1
    if y0 == y1:
        raise InputError(f"{where}, squares", "some paper left", "all squares bad")
    while all(row[x0] == "#" for row in upward[y0:y1]):
        x0 += 1
    while all(row[x1 - 1] == "#" for row in upward[y0:y1]):
        x1 -= 1
    paper = _box(x0, y0, x1, y1, step, outward=False)
    inner = [row[x0:x1] for row in upward[y0:y1]]
    return Grid(
        floor(len(rows[0]) * step), floor(len(rows) * step), paper,
        tuple(_box(x0 + a, y0 + b, x0 + c, y0 + d, step, outward=True) for a, b, c, d in _joined(inner, "#")),
        tuple(_box(x0 + a, y0 + b, x0 + c, y0 + d, step, outward=False) for a, b, c, d in _joined(inner, "*")))  # fmt: skip


def _box(a: int, b: int, c: int, d: int, step: Fraction, *, outward: bool) -> Box:
    low, high = (floor, ceil) if outward else (ceil, floor)
    return low(a * step), low(b * step), high(c * step), high(d * step)


def _joined(rows: list[str], mark: str) -> Iterator[Box]:
    """The marked squares as few boxes: runs along a row, joined upward where the runs are equal."""
    growing: dict[tuple[int, int], int] = {}  # run -> the row it began in
    for y, row in enumerate([*rows, ""]):
        runs: list[tuple[int, int]] = []
        x = 0
        while x < len(row):
            if row[x] == mark:
                start = x
                while x < len(row) and row[x] == mark:
                    x += 1
                runs.append((start, x))
            else:
                x += 1
        for run in [run for run in growing if run not in runs]:
            yield run[0], growing.pop(run), run[1], y
        for run in runs:
            growing.setdefault(run, y)
