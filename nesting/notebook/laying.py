"""Which cover paper goes on which card, which way up, and where it is laid.

The cover lies face up, its spine upright: the front panel is on the right (`allowances.front_of`). The three-side trim cuts
cover paper, card and pages together, so the trims are all the overhang there is; a cover is larger than its card only by
the placement slack, 1 to 2 mm a side (common practice, no source).
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from nesting.geometry import Box
from nesting.layouts import Layout
from nesting.lengths import TICKS_PER_MM, Unit, show
from nesting.plans import Plan
from nesting.sheets import Sheet

from .allowances import front_of, reckon
from .formats import Format

LEAST_SLACK, MOST_SLACK = TICKS_PER_MM, 2 * TICKS_PER_MM
_UPS = ("+x", "+y", "-x", "-y")
_WAYS = {"+y": "print upright", "-y": "print upside down", "+x": "top of the print to the right",
         "-x": "top of the print to the left"}  # fmt: skip


@dataclass(frozen=True)
class Marks:
    """Where a cover is laid on its card, in ticks: both sizes after the true-up, and how far the cover stands over.

    `side`, `end`: over the card at left and right, at head and tail. `centre`: of the card, from its left edge, where the
    spine comes. `front`: the front panel on the cover.
    """

    cover: tuple[int, int]
    card: tuple[int, int]
    side: int
    end: int
    centre: int
    front: Box


@dataclass(frozen=True)
class Lay:
    """So many alike covers of a layout that go on cards of one paper. `first`: the number of the first of them, from 1."""

    first: int
    count: int
    cover_sheet: str
    layout: int
    card_sheet: str
    way: str
    takes_glue: bool | None
    cracks: bool | None


def marks_of(format: Format) -> Marks | None:
    """The lay marks of a format, None where nothing is glued."""
    made = {m.material: m for m in reckon(format)}
    if "cover" not in made or "card" not in made:
        return None
    cover, card = made["cover"], made["card"]
    return Marks((cover.width, cover.trued_height), (card.width, card.trued_height), (cover.width - card.width) // 2,
                 (cover.trued_height - card.trued_height) // 2, card.width // 2, front_of(format))  # fmt: skip


def lays_of(plan: Plan, format: Format, glue: Mapping[str, tuple[bool | None, bool | None]]) -> tuple[Lay, ...]:
    """The covers of a format in the order of the plan, on its cards in theirs, as far as there are both.

    `glue`: by id of a sheet whether it takes glue and whether it cracks at a fold, None where not known.
    """
    sheets = {sheet.id: sheet for sheet in plan.sheets}
    covers = [(layout.sheet, k, way, layout.copies) for k, layout in enumerate(plan.layouts, 1)
              for way in sorted(_way(layout, sheets[layout.sheet], placed.turn) for placed in layout.pieces
                                 if placed.blank == f"{format.name} cover")]  # fmt: skip
    cards = [layout.sheet for layout in plan.layouts
             for _ in range(layout.copies * layout.counts().get(f"{format.name} card", 0))]  # fmt: skip
    cards.reverse()
    out: list[Lay] = []
    number = 1
    for sheet, layout, way, count in covers:
        for _ in range(min(count, len(cards))):
            card = cards.pop()
            takes, cracks = glue.get(sheet, (None, None))
            last = out[-1] if out else None
            if last and (last.cover_sheet, last.layout, last.way, last.card_sheet) == (sheet, layout, way, card):
                out[-1] = Lay(last.first, last.count + 1, sheet, layout, card, way, takes, cracks)
            else:
                out.append(Lay(number, 1, sheet, layout, card, way, takes, cracks))
            number += 1
    return tuple(out)


def _way(layout: Layout, sheet: Sheet, turn: int) -> str:
    """Where the top of the print points on the cover as it lies with its spine upright, front panel right."""
    if sheet.up is None:
        return "either way up"
    way = _WAYS[_UPS[(_UPS.index(sheet.up) - turn // 90) % 4]]
    return way if not layout.frame_deg else f"{way}, {abs(layout.frame_deg):.1f} degrees off"


def lay_notes(format: Format, marks: Marks, unit: Unit) -> tuple[str, ...]:
    """How to lay a format's covers, in sentences."""
    out = ["Write H on the back of each cover at its head as you cut it. Face up, the front panel is the right half.",
           f"Mark the middle at head and tail: of the card {show(marks.centre, unit)} from its edge, of the cover's back "
           f"{show(marks.cover[0] // 2, unit)}. Adhesive on the card; lay mark on mark."]  # fmt: skip
    if marks.side == marks.end == 0:
        out.append("Cover and card are alike in size: lay them edge on edge. What is off by less than the trims is cut away. "
                   "Room to place the cover, 1 to 2 mm a side: slack in the format (common practice, no source).")  # fmt: skip
    else:
        over = (f"{show(marks.side, unit)} on every side" if marks.side == marks.end
                else f"{show(marks.side, unit)} at left and right, {show(marks.end, unit)} at head and tail")  # fmt: skip
        out.append(f"The cover stands over its card by {over}.")
    if format.slack and not LEAST_SLACK <= format.slack <= MOST_SLACK:
        out.append(f"LOOK: the slack is {show(format.slack, unit)} a side; 1 to 2 mm is usual (common practice, no source).")
    out.append("No overhang is added: the trims cut cover, card and pages together.")
    return tuple(out)


def glue_notes(lays: Sequence[Lay]) -> tuple[str, ...]:
    """What papers ask for: those that do not take glue, those that crack, those not tried yet."""
    def named(ids: list[str]) -> str:
        ids = list(dict.fromkeys(ids))
        return ", ".join(ids[:8]) + (f" and {len(ids) - 8} more" if len(ids) > 8 else "")

    out = []
    if refuse := [lay.cover_sheet for lay in lays if lay.takes_glue is False]:
        out.append(f"LOOK: said not to take glue: {named(refuse)}. Try a scrap on a dry film, or leave it out: exclude.")
    if crack := [lay.cover_sheet for lay in lays if lay.cracks]:
        out.append(f"LOOK: said to crack at the fold: {named(crack)}. Staple flat, then score, and fold once, slowly.")
    if unknown := [lay.cover_sheet for lay in lays if lay.takes_glue is None]:
        out.append(f"Not yet known to take glue: {named(unknown)}. Try a scrap of each, and tell the book.")
    return tuple(out)
