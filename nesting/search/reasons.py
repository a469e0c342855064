"""Why a blank cannot be cut from any sheet, in a sentence a maker can check with a rule."""

from __future__ import annotations

from collections.abc import Sequence

from ..blanks import Blank
from ..lengths import show_short
from ..sheets import Sheet


def why_not(blank: Blank, sheets: Sequence[Sheet]) -> str:
    """The reason that holds for every sheet; sizes in mm."""
    size = f"{show_short(blank.width)} x {show_short(blank.height)}"
    ours = [s for s in sheets if blank.material is None or s.material == blank.material]
    if not ours:
        return f"there is no sheet of {blank.material} to cut it from"
    allowed = [(s, blank.turns_on(s)) for s in ours]
    if not any(turns for _, turns in allowed):
        if blank.grain is not None and all(s.grain is None for s in ours):
            return "its grain rule is hard and the grain of every sheet is unknown: find the grain, or set the rule off"
        return "grain and print rules allow no turn on any sheet: allow more turns, or set a rule off"
    over: list[tuple[int, int, str, str]] = []
    for sheet, turns in allowed:
        x0, y0, x1, y1 = sheet.box
        for turn in turns:
            w, h = blank.size(turn)
            wide, high = w - (x1 - x0), h - (y1 - y0)
            room = f"{show_short(x1 - x0)} x {show_short(y1 - y0)}"
            over.append((max(0, wide) + max(0, high), max(wide, high), sheet.id, room))
    total, worst, sheet_id, largest = min(over)
    if total > 0:
        return (f"{size} is larger than every sheet: {show_short(worst)} too long for the nearest, {sheet_id}; "
                f"a blank of at most {largest} would fit there")  # fmt: skip
    return f"{size} has no place clear of edges and damage on any sheet that is large enough ({sheet_id} is the nearest)"
