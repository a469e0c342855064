"""Turn, grain, print and material: does a piece lie as its blank allows, and what do the soft rules it breaks cost?"""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction
from typing import Any

from ..blanks import Blank
from ..layouts import Placed
from ..plans import Plan
from ..sheets import Sheet
from .exact import quarter
from .faults import Fault

GRAIN_TOLERANCE_DEG = 10
"""How far a frame may be turned before a grain or print rule no longer holds (common practice, no source)."""

_COMPASS = {"+x": (1, 0), "-x": (-1, 0), "+y": (0, 1), "-y": (0, -1)}


def rule_faults(piece: Placed, blank: Blank, sheet: Sheet, frame_deg: float, where: str) -> Iterator[Fault]:
    """Turn, material, the lines of ruled stock, and the hard rules of grain and print direction."""
    if piece.turn not in blank.turns:
        allowed = ", ".join(str(t) for t in blank.turns)
        yield Fault("turn", where, f"It is turned by {piece.turn} degrees; {blank.name} may be turned by {allowed}.")
    if blank.material is not None and blank.material != sheet.material:
        yield Fault("material", where, f"{blank.name} is to be cut from {blank.material}, sheet {sheet.id} is "
                    f"{sheet.material or 'of no stated material'}.")  # fmt: skip
    if sheet.ruling is not None and frame_deg:
        yield Fault("lines", where, f"It lies {abs(frame_deg):g} degrees off the lines of sheet {sheet.id}, and must be "
                    "cut square to them.")  # fmt: skip
    if isinstance(blank.grain, str) and (wrong := _grain_wrong(blank.name, blank.grain, piece.turn, sheet, frame_deg)):
        yield Fault("grain", where, wrong)
    if isinstance(blank.up, str) and (wrong := _print_wrong(blank.up, piece.turn, sheet, frame_deg)):
        yield Fault("up", where, wrong)


def penalty(plan: Plan) -> Fraction:
    """The prices of all soft rules that the listed pieces break, all copies counted; pieces of unknown names count nothing."""
    blanks, sheets = {blank.name: blank for blank in plan.blanks}, {sheet.id: sheet for sheet in plan.sheets}
    total = Fraction(0)
    for layout in plan.layouts:
        sheet = sheets.get(layout.sheet)
        for piece in layout.pieces:
            blank = blanks.get(piece.blank)
            if blank is None or sheet is None:
                continue
            grain, grain_price = _soft(blank.grain)
            up, up_price = _soft(blank.up)
            if grain is not None and _grain_wrong(blank.name, grain, piece.turn, sheet, layout.frame_deg):
                total += grain_price * layout.copies
            if up is not None and _print_wrong(up, piece.turn, sheet, layout.frame_deg):
                total += up_price * layout.copies
    return total


def _soft(rule: Any) -> tuple[str | None, Fraction]:
    """Direction and price of a rule with a price; no direction where it is hard or off."""
    return (rule[0], Fraction(str(rule[1]))) if isinstance(rule, tuple) else (None, Fraction(0))


def _grain_wrong(name: str, rule: str, turn: int, sheet: Sheet, frame_deg: float) -> str | None:
    """In what a piece breaks a grain rule; None where it does not."""
    along = rule if turn % 180 == 0 else ("y" if rule == "x" else "x")
    if sheet.grain is None:
        return f"{name} has a grain rule, but the grain of sheet {sheet.id} is not known."
    if along != sheet.grain:
        return f"Its {rule} side must lie along the grain, and lies across it."
    if abs(frame_deg) > GRAIN_TOLERANCE_DEG:
        return f"It lies {abs(frame_deg):g} degrees off the grain; {GRAIN_TOLERANCE_DEG} are allowed."
    return None


def _print_wrong(rule: str, turn: int, sheet: Sheet, frame_deg: float) -> str | None:
    """In what a piece breaks a print rule; None where it does not, as on a sheet without print."""
    if sheet.up is None:
        return None
    if quarter(*_COMPASS[rule], turn) != _COMPASS[sheet.up]:
        return f"The top of the print must point to its {rule}, and does not."
    if abs(frame_deg) > GRAIN_TOLERANCE_DEG:
        return f"It lies {abs(frame_deg):g} degrees off the print; {GRAIN_TOLERANCE_DEG} are allowed."
    return None
