"""Ruled stock: do all pieces of a blank whose lines are to meet carry the same lines, square to the spine?"""

from __future__ import annotations

from collections.abc import Iterator

from ..layouts import Placed
from ..lengths import show
from ..plans import Plan
from ..ruling import Lines
from ..sheets import Sheet
from .faults import Fault

LOOSE = 1
"""Ticks: half a pitch or half a width need not be whole."""

Seen = tuple[int, ...]


def ruling_faults(plan: Plan) -> Iterator[Fault]:
    """Every piece of a blank with `lines_meet` against the first of its blank in the plan."""
    meeting = {blank.name for blank in plan.blanks if blank.lines_meet}
    sheets = {sheet.id: sheet for sheet in plan.sheets}
    first: dict[str, tuple[Seen, Seen, str]] = {}
    for number, layout in enumerate(plan.layouts, 1):
        sheet = sheets.get(layout.sheet)
        for index, piece in enumerate(layout.pieces, 1):
            if piece.blank not in meeting or sheet is None:
                continue
            where = f"layout {number} (sheet {layout.sheet}), piece {index} ({piece.blank})"
            if sheet.ruling is None:
                yield Fault("lines", where, f"Its lines must meet those of the others, and sheet {sheet.id} is not ruled.")
                continue
            if layout.frame_deg:
                continue  # a fault by itself, of every piece on ruled stock: `rules`
            down, beside = _lines(piece, sheet)
            if down is None:
                yield Fault("lines", where, "Its lines run along the spine, and must run square to it.")
                continue
            if not down:
                yield Fault("lines", where, "It carries no line.")
            width = _size(piece)[0]
            if any(abs(a + b - width) > LOOSE for a, b in zip(beside, reversed(beside), strict=True)):
                yield Fault("lines", where, "Its columns are not alike to both sides of the spine.")
            if piece.blank not in first:
                first[piece.blank] = down, beside, where
                continue
            due, due_beside, other = first[piece.blank]
            if down != due:
                yield Fault("lines", where, f"It carries {_said(down)}; {other} carries {_said(due)}.")
            elif any(abs(a - b) > LOOSE for a, b in zip(beside, due_beside, strict=False)) or len(beside) != len(due_beside):
                yield Fault("lines", where, f"Its columns lie otherwise to the spine than those of {other}.")


def _size(piece: Placed) -> tuple[int, int]:
    """Width and height as read before the turn."""
    (ax, ay), (bx, by), _, (dx, dy) = piece.corners
    return abs(bx - ax) + abs(by - ay), abs(dx - ax) + abs(dy - ay)


def _lines(piece: Placed, sheet: Sheet) -> tuple[Seen | None, Seen]:
    """The piece's lines as distances below its head (None: there are none that way), and as distances from its left edge."""
    assert sheet.ruling is not None
    (ax, ay), (bx, _), _, (dx, dy) = piece.corners
    upright = ax == dx
    down, beside = (sheet.ruling.rows, sheet.ruling.columns) if upright else (sheet.ruling.columns, sheet.ruling.rows)
    head, left = (dy, ax) if upright else (dx, ay)
    width, height = _size(piece)
    towards = (1 if dy > ay else -1) if upright else (1 if dx > ax else -1)
    rightward = (1 if bx > ax else -1) if upright else (1 if piece.corners[1][1] > ay else -1)
    return (None if down is None else _seen(down, head, -towards, height)), () if beside is None else _seen(
        beside, left, rightward, width)  # fmt: skip


def _seen(lines: Lines, edge: int, sense: int, size: int) -> Seen:
    """Distances from an edge, in the direction `sense`, of the lines between it and the opposite edge."""
    every = (sense * (lines.low + k * lines.pitch - edge) for k in range(lines.count))
    return tuple(sorted(at for at in every if 0 < at < size))


def _said(down: Seen) -> str:
    if not down:
        return "no line"
    return f"{len(down)} line{'s' if len(down) > 1 else ''}, the first {show(down[0])} below its head"
