"""The table of cuts: one row a cut, whole words on as many lines as they take, the same columns on every page."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from ..lengths import Unit
from ..programme.steps import Step
from . import furniture, ink, words
from .furniture import ROW, Column, Row, row_height
from .ink import Page
from .markers import draw_number

MANY = 30  # more cuts than this are shown as pulls: one row and one mark for all strips of a stack
_SIZE = 9.0  # points
_PAD = 2.6  # mm of a column beside its widest text
_LEAST = 23.0  # mm for what lies on a side of a cut


@dataclass(frozen=True)
class CutTable:
    """A table of some width: its columns, and each step with its row."""

    columns: tuple[Column, ...]
    rows: tuple[tuple[Step, Row], ...]

    @property
    def height(self) -> float:
        """With its heading, in mm."""
        return ROW + sum(row_height(row) for _, row in self.rows) if self.rows else 0.0

    def parted(self, room: float) -> tuple[CutTable, CutTable]:
        """The rows that fit so many mm below the heading, at least one, and the rest."""
        keep, left = 0, room - ROW
        for _, row in self.rows:
            left -= row_height(row)
            if left < -1e-9 and keep:
                break
            keep += 1
        return CutTable(self.columns, self.rows[:keep]), CutTable(self.columns, self.rows[keep:])

    def draw(self, page: Page, x: float, top: float) -> float:
        """Write it with its upper left corner at (x, top); returns the y below it."""
        found = [step for step, _ in self.rows]
        return furniture.table(page, x, top, self.columns, [row for _, row in self.rows], _SIZE,
                               lambda cx, cy, i: draw_number(page, cx, cy, found[i].number, found[i].blade, 2.4))  # fmt: skip


def shown(made: Sequence[Step]) -> list[Step]:
    """The steps that have rows and marks: of very many only the first of each pull."""
    return [step for step in made if step.stacks_on is None] if len(made) > MANY else list(made)


def cut_table(made: Sequence[Step], unit: Unit, width: float) -> CutTable:
    """The table of these steps, `width` mm wide."""
    part = shown(made)
    if not part:
        return CutTable((), ())
    cells: dict[str, list[str]] = {"cut": ["" for _ in part], "take in hand": [words.hand(step) for step in part]}
    if any(step.stacks_on for step in made):
        at_once = Counter(step.stacks_on or step.number for step in made)
        if len(made) > MANY:
            cells["at once"] = [f"{at_once[step.number]} ×" if at_once[step.number] > 1 else "" for step in part]
        else:
            cells["with"] = [str(step.stacks_on or "") for step in part]
    fence = f"fence, {unit}"
    cells[fence] = ["by eye" if step.setting is None else words.setting(step, unit)[0] for step in part]
    cells["edge at it"] = [words.edge(step, unit) for step in part]
    align: dict[str, Literal["left", "center", "right"]] = {
        "cut": "center", "with": "center", "at once": "center", fence: "right"}  # fmt: skip
    columns = []
    for heading, texts in cells.items():
        most = max(ink.width(heading, ink.SMALL), 5.4, *(ink.width(text, _SIZE, heading == fence) for text in texts))
        columns.append(Column(heading, most + _PAD, align.get(heading, "left"), heading == fence))
    rows: list[list[tuple[str, ...]]] = [[(text,) for text in texts] for texts in zip(*cells.values(), strict=True)]
    sides = [("stays at the fence", [step.kept for step in part]), ("falls off", [step.falls for step in part])]
    needs = [max(ink.width(heading, ink.SMALL), *(ink.width(words.told(p, 10_000, _SIZE)[0], _SIZE) for p in parts)) + _PAD
             for heading, parts in sides]  # fmt: skip
    for (heading, parts), room in zip(sides, _shared(needs, width - sum(c.width for c in columns)), strict=True):
        columns.append(Column(heading, room))
        for row, side in zip(rows, parts, strict=True):
            row.append(words.told(side, room - 1.8, _SIZE))
    return CutTable(tuple(columns), tuple((step, tuple(row)) for step, row in zip(part, rows, strict=True)))


def _shared(needs: Sequence[float], room: float) -> tuple[float, float]:
    """How two columns share the room: each what it needs, the rest in halves; if that is too little, the shorter first."""
    first, second = (max(need, _LEAST) for need in needs)
    if first + second <= room:
        more = (room - first - second) / 2
        return first + more, second + more
    if first < second:
        first = min(first, room / 2)
        return first, room - first
    second = min(second, room / 2)
    return room - second, second
