"""What a plan says of grain and print, in sentences for the bench: guesses to test, rules broken at a price."""

from __future__ import annotations

from collections.abc import Sequence

from ..blanks import Blank
from ..layouts import Layout
from ..plans import Plan
from ..sheets import Sheet

NAMED = 6


def rule_lines(plan: Plan) -> list[str]:
    """Sheets whose grain is a guess that the plan relies on; pieces that lie against a rule with a price."""
    sheets = {sheet.id: sheet for sheet in plan.sheets}
    guessed = [x.sheet for x in plan.layouts if relies_on_guess(sheets[x.sheet], x, plan.blanks)]
    lines = guess_lines(list(dict.fromkeys(guessed)))
    named = {blank.name: blank for blank in plan.blanks}
    across = aside = 0
    for layout in plan.layouts:
        for piece in layout.pieces:
            grain, up = named[piece.blank].broken_on(sheets[layout.sheet], piece.turn, layout.frame_deg)
            price, up_price = named[piece.blank].prices
            across += layout.copies * bool(grain and price)
            aside += layout.copies * bool(up and up_price)
    told = [f"{count} {'lies' if count == 1 else 'lie'} {how}" for count, how in (
        (across, "across the grain or on unknown grain"), (aside, "with the print not upright")) if count]  # fmt: skip
    if told:
        lines.append(f"Of the pieces, {' and '.join(told)}; the prices of these rules are reckoned in.")
    return lines


def relies_on_guess(sheet: Sheet, layout: Layout, blanks: Sequence[Blank]) -> bool:
    """Whether a layout has pieces with a grain rule on a sheet whose grain is a guess."""
    ruled = {blank.name for blank in blanks if blank.grain is not None}
    return sheet.grain_guessed and any(piece.blank in ruled for piece in layout.pieces)


def guess_lines(ids: Sequence[str]) -> list[str]:
    """What to do about sheets whose grain is a guess; nothing where there are none."""
    if not ids:
        return []
    named = ", ".join(ids) if len(ids) <= NAMED else f"{', '.join(ids[:NAMED])} and {len(ids) - NAMED} more"
    return [f"The grain of {named} is a guess: bend {'it' if len(ids) == 1 else 'each'} both ways before you cut."]
