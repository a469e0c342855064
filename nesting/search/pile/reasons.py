"""Why a blank cannot be cut, or not often enough, in sentences a maker can check with a rule."""

from __future__ import annotations

from collections.abc import Sequence

from ...blanks import Blank
from ...cutters import Cutter
from ...geometry import Box
from ...lengths import Unit, show_short
from ...sheets import Sheet
from ..handway import largest_clear_rectangle
from ..sheet.ground import ground

NAMED = 6
LOOKED_AT = 12  # sheets that are large enough, for what is clear on them
# wet curl: its axis lies along the grain (trade.md section 5, published tests of grain)
FIND_GRAIN = "bend a strip both ways or wet it (it rolls up along the grain), then set the grain"
WAYS_OUT = f"{FIND_GRAIN}; or give the rule a price; or turn it off"


def why_not(blank: Blank, sheets: Sequence[Sheet], cutter: Cutter | None = None, unit: Unit = "mm",
            weighed: bool = False) -> str:  # fmt: skip
    """Why no sheet gives this blank: the reason that holds for all of them, and what would fit on the nearest.

    `weighed`: the prices of its rules are weighed against its worth.
    """
    size = f"{show_short(blank.width, unit)} x {show_short(blank.height, unit)}"
    ours = [s for s in sheets if blank.material is None or s.material == blank.material]
    if not ours:
        return f"there is no sheet of {blank.material} to cut it from"
    allowed = [(s, blank.turns_on(s)) for s in ours]
    if not any(turns for _, turns in allowed):
        if isinstance(blank.grain, str) and all(s.grain is None for s in ours):
            return f"its grain rule is hard and the grain of every sheet is unknown: {WAYS_OUT}"
        return "grain and print rules allow no turn on any sheet: allow more turns, give a rule a price, or turn one off"
    over: list[tuple[int, int, str]] = []
    by_id = {}
    trim = 2 * cutter.square_up if cutter is not None else 0
    for sheet, turns in allowed:
        x0, y0, x1, y1 = sheet.box
        by_id[sheet.id] = sheet
        for turn in turns:
            w, h = blank.size(turn)
            wide, high = w - (x1 - x0), h - (y1 - y0)
            over.append((max(0, wide) + max(0, high), max(wide, high), sheet.id))
    total, worst, sheet_id = min(over)
    if total > 0:
        fits = _fits(by_id[sheet_id], cutter, unit)
        squared = f" (squaring takes up to {show_short(trim, unit)} more)" if trim else ""
        longer = f"{show_short(worst, unit)} too long for the nearest, {sheet_id}{squared}"
        return f"{size} is larger than every sheet: {longer}; {fits}"
    worth = blank.area_mm2 if blank.worth is None else blank.worth
    if weighed and min(blank.penalty_on(s, turn) for s, turns in allowed for turn in turns) >= worth:
        return f"on every sheet the prices of the rules it breaks are its whole worth, {worth:g}: lower them, or {FIND_GRAIN}"
    large = list(dict.fromkeys(name for excess, _, name in sorted(over) if excess == 0))[:LOOKED_AT]
    clear = {name: largest_clear_rectangle(by_id[name], cutter) for name in large}
    nearest = min(large, key=lambda name: (_lacking(blank, by_id[name], clear[name]), name))
    if clear[nearest] is None:
        return f"{size} has no place on any sheet; on the nearest, {nearest}, nothing is clear: {_in_the_way(by_id[nearest])}"
    if _lacking(blank, by_id[nearest], clear[nearest]) == 0:
        return f"{size} has a place on {nearest}, but the time was too short to take it: give it more seconds"
    fits = _fits(by_id[nearest], cutter, unit)
    return f"{size} has no place on any sheet; the nearest is {nearest}: {_in_the_way(by_id[nearest])}, {fits}"


def _lacking(blank: Blank, sheet: Sheet, clear: Box | None) -> int:
    """How much a clear rectangle is too small for a blank, both sides together."""
    wide, high = (clear[2] - clear[0], clear[3] - clear[1]) if clear else (0, 0)
    sizes = map(blank.size, blank.turns_on(sheet))
    return min(max(0, w - wide) + max(0, h - high) for w, h in sizes)


def _in_the_way(sheet: Sheet) -> str:
    """What keeps a blank from a sheet that is large enough."""
    holes = [] if not sheet.holes else ["its hole"] if len(sheet.holes) == 1 else ["its holes"]
    things = [*holes, *(["its damage"] if sheet.bad else [])]
    if not things:
        return "its outline is in the way"
    return f"{' and '.join(things)} {'is' if things in (['its hole'], ['its damage']) else 'are'} in the way"


def _fits(sheet: Sheet, cutter: Cutter | None, unit: Unit) -> str:
    """What is clear on a sheet: all that may be used of it, else the largest rectangle on a raster of 5 mm."""
    whole = ground(sheet, 0.0, cutter)
    clear = whole.usable if whole.clear() else largest_clear_rectangle(sheet, cutter)
    if clear is None:
        return "nothing there is clear"
    about = "" if whole.clear() else "about "
    width, height = clear[2] - clear[0], clear[3] - clear[1]
    return f"a blank of {about}{show_short(width, unit)} x {show_short(height, unit)} would fit there"


def shortfall(blank: Blank, sheets: Sequence[Sheet], made: int, cutter: Cutter | None = None,
              unit: Unit = "mm") -> tuple[str, ...]:  # fmt: skip
    """What keeps a blank short: the reason if none is made, and the sheets that its rules shut out."""
    if made == 0 and not any(blank.turns_on(s) for s in sheets):
        return (why_not(blank, sheets, cutter, unit),)
    ours = [s for s in sheets if blank.material is None or s.material == blank.material]
    unknown = [s.id for s in ours if isinstance(blank.grain, str) and s.grain is None]
    wrong = [s.id for s in ours if s.id not in unknown and not blank.turns_on(s)]
    out = []
    if unknown:
        out.append(f"not cut from {_listed(unknown)}: grain unknown: {WAYS_OUT}")
    if wrong:
        out.append(f"not cut from {_listed(wrong)}: the grain or print lies wrong for it")
    if made == 0 and not out:
        out.append(why_not(blank, sheets, cutter, unit))
    return tuple(out)


def _listed(ids: Sequence[str]) -> str:
    if len(ids) <= NAMED:
        return ", ".join(ids)
    return f"{', '.join(ids[:NAMED])} and {len(ids) - NAMED} more"
