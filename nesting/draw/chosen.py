"""Pieces that the maker had chosen before planning, and their mark on a drawing: a black diamond."""

from __future__ import annotations

from collections.abc import Sequence

from ..fixed import Fixed
from ..layouts import Layout, Placed, to_frame
from ..plans import Plan
from . import ink
from .ink import Page, Place, Rect
from .picture import View
from .spots import Room, Taken

HALF = 2.0  # mm from the middle of the mark to its points
_IN = 1.2  # mm from a piece's edge to the mark
_NEAR = 8  # ticks: rounding in a turned frame


def chosen_pieces(plan: Plan) -> dict[int, tuple[Placed, ...]]:
    """The pieces of `plan.fixed` by the number of the layout (from 1) that cuts them, each once."""
    found: dict[int, list[Placed]] = {}
    for fixed in plan.fixed:
        places = [(layout.copies != 1, number, k) for number, layout in enumerate(plan.layouts, 1)
                  if layout.sheet == fixed.sheet
                  for k, piece in enumerate(layout.pieces) if _is_it(layout, piece, fixed)]  # fmt: skip
        if places:
            _, number, k = min(places)
            found.setdefault(number, []).append(plan.layouts[number - 1].pieces[k])
    return {number: tuple(pieces) for number, pieces in found.items()}


def _is_it(layout: Layout, piece: Placed, fixed: Fixed) -> bool:
    if (piece.blank, piece.turn) != (fixed.blank, fixed.turn) or abs(layout.frame_deg - fixed.angle) > 1e-6:
        return False
    corners = [to_frame(layout.frame_deg, layout.origin, x, y) for x, y in piece.corners]
    low = min(u for u, _ in corners), min(v for _, v in corners)
    due = to_frame(layout.frame_deg, layout.origin, *fixed.at)
    return all(abs(a - b) <= _NEAR for a, b in zip(low, due, strict=True))


def draw_chosen(page: Page, view: View, pieces: Sequence[Placed], taken: Taken) -> list[str]:
    """Mark the pieces, each in a free corner if there is one; returns the names of those without room for the mark."""
    left_out = []
    for piece in pieces:
        rect = _spot(view.ring(piece.corners), taken)
        if rect is None:
            left_out.append(piece.blank)
            continue
        draw_diamond(page, (rect[0] + rect[2]) / 2, (rect[1] + rect[3]) / 2)
        taken.add(rect)
    return left_out


def draw_diamond(page: Page, x: float, y: float, half: float = HALF) -> None:
    """The mark with its middle at (x, y)."""
    for size, fill in ((half, ink.BLACK), (half * 0.42, ink.WHITE)):
        page.area([[(x + size, y), (x, y + size), (x - size, y), (x, y - size)]], fill=fill, zorder=4)


def _spot(corners: Sequence[Place], taken: Taken) -> Rect | None:
    room = Room([corners], _IN)
    mx, my = room.middle
    for x, y in sorted(corners, key=lambda p: (-round(p[1], 3), round(p[0], 3))):  # the upper left first
        wide, tall = abs(mx - x), abs(my - y)
        off = HALF + _IN + 0.4
        if wide < off or tall < off:
            continue
        at = x + off * (1 if mx > x else -1), y + off * (1 if my > y else -1)
        rect = (at[0] - HALF, at[1] - HALF, at[0] + HALF, at[1] + HALF)
        if taken.free(rect) and room.holds(rect):
            return rect
    return room.spot(2 * HALF, 2 * HALF, taken)
