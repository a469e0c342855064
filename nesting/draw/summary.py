"""The first page of a plan: what is cut from what, what stays short, what to lay ready, the cautions."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from ..lengths import Unit
from ..plans import Plan
from ..programme.steps import Step
from . import flow, furniture, ink, words
from .arranging import BAR
from .flow import Item
from .fronts import best_lines
from .furniture import FOOT, LEFT, RIGHT, TOP, Column
from .ink import Page
from .keys import ALL, draw_key, key_height
from .limits import limit_lines
from .rules import rule_lines

# design.md section 9; the rules behind them are named in trade.md section 7 (OSHA 1910.212, EN 1010-3 and
# EN ISO 12643-3, HSE guide to paper-cutting guillotines; SDS of spray adhesives: H222, H229)
CAUTIONS = (
    "Guard in place and clamp down before the knife moves. Hands never go under the knife: brush or push paper out.",
    "One person at the lever, nobody else within reach. Blade locked and lever secured when idle.",
    "Staples, loose blades and hand knives cut too: cut away from yourself along a steel edge, put blades away.",
    "Spray adhesive is extremely flammable: air the room, no flame or spark near, read its safety data sheet first.",
    "Reams and presses are heavy: lift small lots, keep feet clear.",
    "Local rules and the machine's own manual come first.",
)


@dataclass(frozen=True)
class Use:
    """One layout for the summary: the page it is drawn on, and its steps."""

    page: int
    steps: tuple[Step, ...]


def summary_count(plan: Plan, uses: Sequence[Use], *, unit: Unit, paper: str, notes: Sequence[str]) -> int:
    """How many pages the summary takes (whatever the page numbers in it are)."""
    return len(_paged(plan, uses, unit, paper, notes))


def summary_pages(plan: Plan, uses: Sequence[Use], *, unit: Unit, paper: str, title: str, notes: Sequence[str]) -> list[Page]:
    """The summary; footers are not on it yet."""
    out: list[Page] = []
    for items in _paged(plan, uses, unit, paper, notes):
        page = Page(paper)
        furniture.bound_edge(page)
        _title(page, title if not out else f"{title}, continued")
        flow.draw(page, LEFT, page.height - TOP - _TITLE, items)
        if not out:
            room = page.width - RIGHT - LEFT
            draw_key(page, LEFT, FOOT + 5 + BAR + 1.4, room, ALL)
            furniture.check_bar(page, FOOT + 5.6)
            _cautions(page, FOOT + 5 + BAR + key_height(ALL, room) + 2.5)
        out.append(page)
    return out


_TITLE = 19.0
_LINE = 3.9


def _title(page: Page, title: str) -> None:
    top, right = page.height - TOP, page.width - RIGHT
    page.line([(LEFT, top), (right, top)], ink.WIDE)
    page.text(LEFT, top - 4.2, "Cut diagrams: what is cut from what", 9, True)
    size = next((s for s in (24, 20, 17) if ink.width(ink.known(title), s, True) <= right - LEFT), 14)
    page.text(LEFT, top - 14.5, ink.shortened(title, right - LEFT, size, True), size, True)


def _caution_lines(room: float) -> list[list[str]]:
    return [ink.wrapped(text, room - 4, 9) for text in CAUTIONS]


def _caution_height(room: float) -> float:
    half = (room - 9) / 2
    texts = _caution_lines(half)
    return _LINE * max(sum(len(lines) for lines in texts[:3]), sum(len(lines) for lines in texts[3:])) + 11.5


def _cautions(page: Page, y: float) -> None:
    """A framed box with its lower edge at y."""
    room = page.width - RIGHT - LEFT
    high = _caution_height(room)
    page.area([ink.corners((LEFT, y, LEFT + room, y + high))], edge=ink.BLACK, thick=ink.WIDE)
    furniture.boxed(page, LEFT, y + high - 5.6, "BEFORE YOU CUT", 9)
    half = (room - 9) / 2
    texts = _caution_lines(half)
    for column, part in enumerate((texts[:3], texts[3:])):
        x, at = LEFT + 3 + column * (half + 3), y + high - 6.5
        for lines in part:
            for k, line in enumerate(lines):
                at -= _LINE
                if k == 0:
                    page.text(x, at, "–", 9, True)
                page.text(x + 3, at, line, 9)


def _paged(plan: Plan, uses: Sequence[Use], unit: Unit, paper: str, notes: Sequence[str]) -> list[list[Item]]:
    wide, tall = ink.papers(paper)
    room = wide - RIGHT - LEFT
    later = tall - TOP - _TITLE - FOOT - 8
    first = tall - TOP - _TITLE - (FOOT + 5 + BAR + key_height(ALL, room) + 2.5 + _caution_height(room) + 3)
    return flow.paged(_items(plan, uses, unit, room, notes), first, later)


def _items(plan: Plan, uses: Sequence[Use], unit: Unit, room: float, notes: Sequence[str]) -> list[Item]:
    made = {name: count for name, count in plan.made().items() if count}
    short = tuple((name, count) for name, count in plan.short if count)
    sheets = sum(layout.copies for layout in plan.layouts)
    got = f"{words.counted(made) or 'nothing'}, from {sheets} sheet{'s' if sheets != 1 else ''}."
    parts = [("Made", [got, *best_lines(plan)]),
             ("Short", [f"{words.counted(short)}: not to be had from these sheets in this plan." if short else "Nothing."]),
             ("At most", limit_lines(plan, unit)), ("Lay ready", _ready(plan, uses)),
             ("Note", [*rule_lines(plan), *notes])]  # fmt: skip
    out = [item for heading, texts in parts for item in flow.paragraph(heading, texts, room)]
    columns = (Column("page", 11, "right"), Column("sheet", 38, bold=True), Column("copies", 16, "right"),
               Column("pieces from each", 52), Column("offcuts back to stock", room - 117))  # fmt: skip
    for layout, use in zip(plan.layouts, uses, strict=True):
        offcuts = "; ".join(f"{o.id} {words.ring_size(o.outline, unit)}" for o in layout.offcuts)
        cells = (str(use.page), layout.sheet, f"{layout.copies} ×", words.counted(layout.counts()), offcuts)
        out.append(flow.table_row(columns, cells))
    return out


def _ready(plan: Plan, uses: Sequence[Use]) -> list[str]:
    """Sheets and tools for the job."""
    used = plan.sheets_used()
    listed = ", ".join(f"{name} ({count} of it)" if count > 1 else name for name, count in used.items())
    if not used:
        return ["Nothing: no sheet is cut."]
    out = [f"Sheets, face up: {listed}." if len(used) <= 24 else f"The {len(used)} kinds of sheet in the list, face up."]
    every = [step for use in uses for step in use.steps]
    if any(step.squaring for step in every):
        out.append("Pencil, rule and a square: some lines are drawn and cut by eye.")
    if any(step.blade for step in every):
        out.append("Steel straight-edge, blade and mat: some cuts are not for the guillotine.")
    if any(layout.offcuts for layout in plan.layouts):
        out.append("Labels: write its new number on each offcut before you lay it back.")
    return out
