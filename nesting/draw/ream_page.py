"""One page: the best papers for a ream, each with its layouts to scale, how many sheets take each, and what they give."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from ..layouts import Layout, Shavings, leaves, to_sheet
from ..sheets import Sheet
from . import furniture, ink, words
from .furniture import FOOT, LEFT, RIGHT, TOP
from .ink import Page, Rect
from .naming import draw_areas
from .picture import View, draw_sheet, fitting

if TYPE_CHECKING:
    from matplotlib.figure import Figure

MOST = 3  # papers, and layouts of one
_HEAD, _TEXT, _UNDER = 17.0, 66.0, 9.0  # mm: title, text beside the drawings, caption and grain under a drawing
_LINE, _KEY = 4.2, 4.4


@dataclass(frozen=True)
class Choice:
    """A paper on the page: its heading, what is to be said of it, its sheet (with the grain reckoned), layouts with copies."""

    heading: str
    lines: tuple[str, ...]
    sheet: Sheet
    layouts: tuple[Layout, ...]


def ream_page(choices: Sequence[Choice], keys: Mapping[str, str], *, title: str, subtitle: str = "",
              paper: str = "A4") -> Figure:  # fmt: skip
    """The first three choices, best first. `keys`: what each blank is, by its name. Raises InputError for an unknown paper."""
    page = Page(paper)
    furniture.bound_edge(page)
    top, right = page.height - TOP, page.width - RIGHT
    page.line([(LEFT, top), (right, top)], ink.WIDE)
    size = next((s for s in (18, 16, 14) if ink.width(ink.known(title), s, True) <= right - LEFT), 12)
    page.text(LEFT, top - 8.6, ink.shortened(title, right - LEFT, size, True), size, True)
    page.text(LEFT, top - 14.0, ink.shortened(subtitle, right - LEFT, 9), 9)
    letters = {name: chr(ord("A") + k) for k, name in enumerate(keys)}
    low = FOOT + 7 + _KEY * (len(keys) + 1)
    shown = choices[:MOST]
    each = (top - _HEAD - low) / MOST
    for k, choice in enumerate(shown):
        _choice(page, (LEFT, top - _HEAD - (k + 1) * each, right, top - _HEAD - k * each), k + 1, choice, letters)
    _keys(page, keys, letters)
    furniture.footer(page, "", 1, 1, "To look at, not to cut by: the plan of a job has the fence settings.")
    return page.figure


def _choice(page: Page, area: Rect, number: int, choice: Choice, letters: Mapping[str, str]) -> None:
    x0, y0, x1, y1 = area
    page.line([(x0, y1), (x1, y1)], ink.NARROW * 0.6, colour="#555555")
    box = furniture.boxed(page, x0, y1 - 8.4, str(number), 12)
    page.text(box[2] + 2, y1 - 7.0, ink.shortened(choice.heading, x0 + _TEXT - box[2] - 2, 12, True), 12, True)
    y = y1 - 12.5
    for text in choice.lines:
        for line in ink.wrapped(text, _TEXT - 3, 9):
            if y > y0 + 2:
                page.text(x0, y, line, 9)
            y -= _LINE
    drawn = choice.layouts[:MOST]
    more = len(choice.layouts) - len(drawn)
    wide = (x1 - x0 - _TEXT) / max(1, len(drawn))
    sheet = choice.sheet
    factor = fitting(sheet.box[2] - sheet.box[0], sheet.box[3] - sheet.box[1], wide - 5, y1 - y0 - 5 - _UNDER)
    for k, layout in enumerate(drawn):
        x = x0 + _TEXT + (k + 0.5) * wide
        view = View.centred(sheet.box, factor, x, (y0 + _UNDER + y1 - 3) / 2)
        _drawing(page, view, layout, sheet, letters)
        foot = view.place(0, sheet.box[1])[1]
        alone = len(choice.layouts) == 1
        page.text(x, foot - 4.2, "each sheet" if alone else f"{layout.copies:,} ×", 9, True, ha="center")
        if k == 0:
            grain = {"x": "grain ↔", "y": "grain ↕"}.get(sheet.grain or "", "any grain")
            page.text(x, foot - 8.0, f"{grain}, {words.scale(factor)}", ink.SMALL, ha="center")
    if more > 0:
        page.text(x1, y0 + 1.2, f"and {more} more", ink.SMALL, ha="right")


def _drawing(page: Page, view: View, layout: Layout, sheet: Sheet, letters: Mapping[str, str]) -> None:
    draw_areas(page, view, layout, ())
    for leaf in leaves(layout.tree):
        if isinstance(leaf, Shavings):
            page.hatch([view.ring([to_sheet(layout.frame_deg, layout.origin, x, y) for x, y in ink.corners(leaf.box)])], 1.6)
    draw_sheet(page, view, sheet, edge=ink.WIDE)
    for piece in layout.pieces:
        ring = view.ring(piece.corners)
        page.area([ring], edge=ink.BLACK, thick=ink.NARROW, zorder=2.5)
        a, b, c, d = ring
        page.line([((a[0] + b[0]) / 2, (a[1] + b[1]) / 2), ((c[0] + d[0]) / 2, (c[1] + d[1]) / 2)], ink.NARROW * 0.7, ink.DASHED,
                  zorder=2)  # fmt: skip
        letter = letters.get(piece.blank, "")
        span = min(abs(c[0] - a[0]), abs(c[1] - a[1]))
        if letter and len(letters) > 1 and span > ink.height(ink.SMALL) + 0.6:
            _on_white(page, ((a[0] + c[0]) / 2, (a[1] + c[1]) / 2), letter)


def _on_white(page: Page, middle: tuple[float, float], letter: str) -> None:
    half = ink.height(ink.SMALL) / 2
    x, y = middle
    page.area([ink.corners((x - half, y - half, x + half, y + half))], fill=ink.PIECE_TINT, zorder=3)
    page.text(x, y, letter, ink.SMALL, True, ha="center", va="center")


def _keys(page: Page, keys: Mapping[str, str], letters: Mapping[str, str]) -> None:
    y = FOOT + 7.5
    x = LEFT
    for sample, text in (("fold", "fold of a folio"), ("shavings", "shavings"), ("offcut", "offcut, back to stock")):
        box = (x, y - 0.6, x + 8, y + 2.6)
        if sample == "fold":
            page.line([(x, y + 1), (x + 8, y + 1)], ink.NARROW * 0.7, ink.DASHED)
        elif sample == "shavings":
            page.hatch([ink.corners(box)], 1.6)
            page.area([ink.corners(box)], edge=ink.BLACK)
        else:
            page.area([ink.corners(box)], fill=ink.OFFCUT_TINT, edge=ink.BLACK)
            page.area([ink.corners((box[0] + 0.8, box[1] + 0.8, box[2] - 0.8, box[3] - 0.8))], edge=ink.BLACK)
        page.text(x + 9.5, y, text, ink.SMALL)
        x += 9.5 + ink.width(text, ink.SMALL) + 5
    for k, (name, text) in enumerate(reversed(list(keys.items()))):
        lead = f"{letters[name]}  " if len(keys) > 1 else ""
        page.text(LEFT, y + _KEY * (k + 1), ink.shortened(lead + text, page.width - LEFT - RIGHT, ink.SMALL), ink.SMALL)

