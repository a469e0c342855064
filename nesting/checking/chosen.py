"""The pieces chosen beforehand: each is in the plan, on its sheet beside the others of it, at its corners and turn."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

from ..blanks import Blank
from ..fixed import Fixed
from ..layouts import Layout, Placed
from ..lengths import show
from ..plans import Plan
from .exact import around
from .faults import Fault
from .paper import FINE, Frame
from .placing import lying

NEAR = 4
"""Ticks (half a micrometre) allowed in a turned frame: on the way into the frame and out again corners are rounded, and a
piece may be moved by two ticks to lie within a rounded edge."""


def chosen_faults(plan: Plan) -> Iterator[Fault]:
    """A chosen piece that the plan does not cut, or not there; each piece of a layout stands for one chosen piece.

    All those of one sheet belong on one copy of it, so in one layout.
    """
    sheets = {sheet.id for sheet in plan.sheets}
    blanks = {blank.name: blank for blank in plan.blanks}
    known = [f.sheet in sheets and f.blank in blanks for f in plan.fixed]
    found: set[int] = set()
    for sheet in dict.fromkeys(f.sheet for f, is_known in zip(plan.fixed, known, strict=True) if is_known):
        own = [(n, f) for n, f in enumerate(plan.fixed) if f.sheet == sheet and known[n]]
        found |= max((_cut_by(layout, own, blanks) for layout in plan.layouts if layout.sheet == sheet), key=len, default=set())
    for number, fixed in enumerate(plan.fixed):
        where = f"fixed {number + 1} ({fixed.blank} on sheet {fixed.sheet})"
        if not known[number]:
            yield Fault("unknown", where, "The plan has no such sheet or no such blank.")
        elif number not in found:
            x, y = fixed.at
            yield Fault("fixed", where, f"It was chosen beforehand to lie {show(x)} across and {show(y)} up, turned by "
                        f"{fixed.turn}, and no layout cuts it there (beside the others chosen on that sheet).")  # fmt: skip


def _cut_by(layout: Layout, own: Sequence[tuple[int, Fixed]], blanks: Mapping[str, Blank]) -> set[int]:
    """Which of the numbered chosen pieces a layout cuts."""
    found: set[int] = set()
    taken: set[int] = set()
    for number, fixed in own:
        place = next((k for k, piece in enumerate(layout.pieces) if k not in taken
                      and _is_it(layout, piece, fixed, blanks[fixed.blank])), None)  # fmt: skip
        if place is not None:
            taken.add(place)
            found.add(number)
    return found


def _is_it(layout: Layout, piece: Placed, fixed: Fixed, blank: Blank) -> bool:
    """Whether a piece is the chosen one: blank, turn and angle, and corners to a tick (a few in a turned frame)."""
    if (piece.blank, piece.turn) != (fixed.blank, fixed.turn) or abs(layout.frame_deg - fixed.angle) > 1e-6:
        return False
    frame = Frame(layout.frame_deg, layout.origin, FINE)
    x, y = frame.point(*fixed.at)
    width, height = (blank.height, blank.width) if fixed.turn % 180 else (blank.width, blank.height)
    due = lying(around([(x, y), (x + width * FINE, y + height * FINE)]), fixed.turn)
    loose = NEAR * FINE if frame.turned else 0
    got = frame.ring(piece.corners)
    return all(abs(a - b) <= loose for p, q in zip(due, got, strict=True) for a, b in zip(p, q, strict=True))
