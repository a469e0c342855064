"""The contact sheet: every sheet as a small picture, to hold beside the heap and see what was entered wrongly."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING

from ..lengths import Unit
from ..sheets import Sheet
from . import furniture, ink, words
from .furniture import FOOT, LEFT, RIGHT, TOP
from .ink import Page, Rect
from .keys import Key, draw_key, key_height
from .picture import View, draw_sheet, fitting, true_edge_marks, up_arrow
from .spots import Room, Taken

if TYPE_CHECKING:
    from matplotlib.figure import Figure

ACROSS, DOWN = 3, 4
_HEAD, _ID, _SIDE, _UNDER = 11.0, 9.0, 7.5, 11.5  # mm: page head; in a cell: id row, room at the left, below without caption
_LEAST = 0.45  # a sheet drawn smaller than this part of what its cell allows gets a scale of its own


def contact_pages(sheets: Sequence[Sheet], *, unit: Unit = "mm", paper: str = "A4", captions: Mapping[str, str] | None = None,
                  title: str = "Contact sheet") -> list[Figure]:  # fmt: skip
    """Twelve sheets to a page, face up, ids large, width across first; one scale a page where that serves all.

    `captions`: a line under the picture, by id. Raises InputError for an unknown paper.
    """
    count = max(1, -(-len(sheets) // (ACROSS * DOWN)))
    out = []
    for number in range(count):
        part = sheets[number * ACROSS * DOWN : (number + 1) * ACROSS * DOWN]
        page = Page(paper)
        _page(page, part, unit, captions or {}, title)
        footer = f"{len(sheets)} sheet{'s' if len(sheets) != 1 else ''}"
        furniture.footer(page, footer, "", number + 1, count)
        out.append(page.figure)
    return out


def _page(page: Page, sheets: Sequence[Sheet], unit: Unit, captions: Mapping[str, str], title: str) -> None:
    furniture.bound_edge(page)
    top, right = page.height - TOP, page.width - RIGHT
    page.line([(LEFT, top), (right, top)], ink.WIDE)
    page.text(LEFT, top - 7.2, ink.shortened(title, 90, 14, True), 14, True)
    furniture.boxed(page, right - ink.width("FACE UP", 12, True) - 3, top - 8.2, "FACE UP", 12)
    page.text(right - 30, top - 6.6, "width across first", 9, ha="right")
    keys = _keys(sheets)
    room = right - LEFT
    low = FOOT + 6 + (key_height(keys, room) if keys else 0)
    if keys:
        draw_key(page, LEFT, FOOT + 5.6, room, keys)
    wide, tall = room / ACROSS, (top - _HEAD - low) / DOWN
    texts = {s.id: ink.wrapped(captions.get(s.id, ""), wide - 3, ink.SMALL) for s in sheets}
    lines = min(2, max((len(text) for text in texts.values()), default=0))
    under = _UNDER + 3.5 * lines
    inner = wide - _SIDE - 4, tall - _ID - under
    own = [fitting(s.box[2] - s.box[0], s.box[3] - s.box[1], *inner) for s in sheets]
    common = max(own, key=lambda factor: (sum(_serves(factor, other) for other in own), factor), default=1.0)
    if not sheets:
        page.text(LEFT, top - 20, "There are no sheets to show.", 11)
    for k, sheet in enumerate(sheets):
        x, y = LEFT + (k % ACROSS) * wide, top - _HEAD - (k // ACROSS + 1) * tall
        factor = common if _serves(common, own[k]) else own[k]
        text = texts[sheet.id] if len(texts[sheet.id]) <= 2 else [ink.shortened(captions[sheet.id], wide - 3, ink.SMALL)]
        _cell(page, (x, y, x + wide, y + tall), under, sheet, factor, unit, text)


def _serves(factor: float, own: float) -> bool:
    """Whether a sheet that could be drawn at `own` is well drawn at this scale."""
    return own * _LEAST <= factor <= own * (1 + 1e-9)


def _keys(sheets: Sequence[Sheet]) -> list[Key]:
    kinds = {zone.kind for sheet in sheets for zone in sheet.zones}
    shown: dict[Key, bool] = {
        "grain": any(s.grain for s in sheets), "up": any(s.up for s in sheets), "bad": "bad" in kinds,
        "hole": any(s.holes for s in sheets), "best": "best" in kinds,
        "true": any(s.true_edges for s in sheets)}  # fmt: skip
    return [key for key, on in shown.items() if on]


def _cell(page: Page, cell: Rect, under: float, sheet: Sheet, factor: float, unit: Unit, caption: Sequence[str]) -> None:
    x0, y0, x1, y1 = cell
    page.area([ink.corners(cell)], edge="#555555", thick=ink.NARROW * 0.6, zorder=0.4)
    room = x1 - x0 - 3
    count = "" if sheet.count == 1 else "no limit" if sheet.count is None else f"{sheet.count:,} of it"
    beside = ink.width(count, 9) + 2 if count else 0
    size = next((s for s in (20, 17, 14, 12) if ink.width(ink.known(sheet.id), s, True) <= room - beside), 12)
    page.text(x0 + 1.5, y1 - 7.2, ink.shortened(sheet.id, room - beside, size, True), size, True)
    if count:
        page.text(x1 - 1.5, y1 - 7.2, count, 9, ha="right")
    area = (x0 + _SIDE, y0 + under, x1 - 4, y1 - _ID)
    view = View.centred(sheet.box, factor, (area[0] + area[2]) / 2, (area[1] + area[3]) / 2)
    draw_sheet(page, view, sheet, edge=ink.WIDE, pitch=1.1)
    true_edge_marks(page, view, sheet, 0.9)
    (a, b), (c, d) = view.place(*sheet.box[:2]), view.place(*sheet.box[2:])
    width, height = (words.size(v, v, unit).split(" × ")[0] for v in (sheet.box[2] - sheet.box[0], sheet.box[3] - sheet.box[1]))
    page.text((a + c) / 2, b - 4.3, f"{width} {unit}", 9, ha="center")
    page.text(a - 3.4, (b + d) / 2, height, 9, ha="center", va="center", upright=True)
    _inside(page, view, sheet)
    for k, line in enumerate(reversed(caption)):
        page.text(x0 + 1.5, y0 + 5.0 + 3.5 * k, line, ink.SMALL)
    grain = "grain ?" if sheet.grain is None else "grain ↔" if sheet.grain == "x" else "grain ↕"
    grain += " guessed" if sheet.grain_guessed else ""
    page.text(x0 + 1.5, y0 + 1.4, grain + (f"   print up {words.ARROWS[sheet.up]}" if sheet.up else ""), ink.SMALL)
    page.text(x1 - 1.5, y0 + 1.4, words.scale(factor), ink.SMALL, ha="right")


def _inside(page: Page, view: View, sheet: Sheet) -> None:
    """Grain and print direction as arrows in the middle of the sheet, where they fit."""
    rings = [view.ring(sheet.outline), *[view.ring(hole) for hole in sheet.holes]]
    room, taken = Room(rings), Taken()
    for zone in sheet.bad:
        xs, ys = zip(*view.ring(zone), strict=True)
        taken.add((min(xs), min(ys), max(xs), max(ys)))
    if sheet.grain is not None:
        rect = room.spot(*((12.0, 2.4) if sheet.grain == "x" else (2.4, 12.0)), taken)
        if rect is not None:
            mx, my = (rect[0] + rect[2]) / 2, (rect[1] + rect[3]) / 2
            ends = ((rect[0], my), (rect[2], my)) if sheet.grain == "x" else ((mx, rect[1]), (mx, rect[3]))
            page.arrow(*ends, ink.NARROW * 1.4, 2.2, both=True)
            taken.add(rect)
    if sheet.up is not None:
        upright = sheet.up in ("+y", "-y")
        rect = room.spot(*((4.6, 8.0) if upright else (8.0, 4.6)), taken)
        if rect is not None:
            up_arrow(page, ((rect[0] + rect[2]) / 2, (rect[1] + rect[3]) / 2), sheet.up)
