"""The contact sheet: every sheet as a small picture, to hold beside the heap and see what was entered wrongly."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from ..lengths import TICKS_PER_MM, Unit
from ..sheets import Sheet
from . import furniture, ink, words
from .bearings import draw_bearings
from .furniture import FOOT, LEFT, RIGHT, TOP
from .ink import Page, Rect
from .keys import Key, draw_key, key_height
from .picture import SCALES, View, draw_sheet, fitting, true_edge_marks, widened
from .ruling import draw_ruling

if TYPE_CHECKING:
    from matplotlib.figure import Figure

ACROSS, DOWN = 3, 4
_HEAD = 11.0  # mm: page head
_ID, _SIDE, _BESIDE, _UNDER = 10.5, 6.2, 2.3, 10.0  # mm in a cell: id row, left and right of the sheet, below without caption
_LEAST = 0.7  # a sheet drawn smaller than this part of what its cell allows gets a scale of its own
_LOOSE = 8.0  # mm that a row may be higher than what is in it
_LEAST_DAMAGE = 1.8  # mm: narrower damage is drawn so wide, or its hatch could not be seen
_WIDER = "Narrow damage is drawn wider than it is."


@dataclass(frozen=True)
class _Row:
    """Sheets side by side, the scale of each, and the height of the highest on the page."""

    sheets: tuple[Sheet, ...]
    scales: tuple[float, ...]
    common: float

    @property
    def tall(self) -> float:
        """In mm."""
        return max((s.box[3] - s.box[1]) / TICKS_PER_MM * factor for s, factor in zip(self.sheets, self.scales, strict=True))


def contact_pages(sheets: Sequence[Sheet], *, unit: Unit = "mm", paper: str = "A4", captions: Mapping[str, str] | None = None,
                  title: str = "Contact sheet") -> list[Figure]:  # fmt: skip
    """Twelve sheets to a page, face up, ids large, width across first; one scale a row where that serves all in it.

    `captions`: a line under the picture, by id. Raises InputError for an unknown paper.
    """
    count = max(1, -(-len(sheets) // (ACROSS * DOWN)))
    out = []
    for number in range(count):
        part = sheets[number * ACROSS * DOWN : (number + 1) * ACROSS * DOWN]
        page = Page(paper)
        wider = _page(page, part, unit, captions or {}, title)
        said = f"{len(sheets)} sheet{'s' if len(sheets) != 1 else ''}"
        furniture.footer(page, "", number + 1, count, said + (f". {wider}" if wider else ""))
        out.append(page.figure)
    return out


def _page(page: Page, sheets: Sequence[Sheet], unit: Unit, captions: Mapping[str, str], title: str) -> str:
    """Draw a page; returns what the footer must say of damage drawn wider than it is."""
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
    if not sheets:
        page.text(LEFT, top - 20, "There are no sheets to show.", 11)
        return ""
    wide = room / ACROSS
    texts = {s.id: ink.wrapped(captions.get(s.id, ""), wide - 3, ink.SMALL) for s in sheets}
    texts = {id: text if len(text) <= 2 else [ink.shortened(captions[id], wide - 3, ink.SMALL)] for id, text in texts.items()}
    under = _UNDER + 3.5 * max(len(text) for text in texts.values())
    rows = _rows(sheets, wide - _SIDE - _BESIDE, top - _HEAD - low, _ID + under)
    loose = (top - _HEAD - low - sum(row.tall + _ID + under for row in rows)) / len(rows)
    y, wider = top - _HEAD, False
    for row in rows:
        tall = row.tall + _ID + under + min(loose, _LOOSE)
        y -= tall
        for k, (sheet, factor) in enumerate(zip(row.sheets, row.scales, strict=True)):
            x = LEFT + k * wide
            wider |= _cell(page, (x, y, x + wide, y + tall), under, sheet, factor, unit, texts[sheet.id])
    return _WIDER if wider else ""


def _rows(sheets: Sequence[Sheet], wide: float, tall: float, more: float) -> list[_Row]:
    """The rows of a page at the largest scales: pictures `wide` mm at most, `tall` mm for all rows, `more` in each beside
    its picture. What some rows leave of an equal share goes to those with the smallest scale, a step at a time.
    """  # fmt: skip
    parts = [sheets[k : k + ACROSS] for k in range(0, len(sheets), ACROSS)]
    rows = [_row(part, wide, tall / len(parts) - more) for part in parts]
    left = tall - sum(row.tall + more for row in rows)
    while True:
        for k in sorted(range(len(rows)), key=lambda k: (rows[k].common, k)):
            larger = _larger(rows[k], wide)
            if larger is not None and larger.tall - rows[k].tall <= left + 1e-9:
                left -= larger.tall - rows[k].tall
                rows[k] = larger
                break
        else:
            return rows


def _larger(row: _Row, wide: float) -> _Row | None:
    """The same sheets at the next larger scale of the row, or None where they are as wide as they may be."""
    high = max(sheet.box[3] - sheet.box[1] for sheet in row.sheets) / TICKS_PER_MM
    for factor in reversed(SCALES):
        if factor > row.common:
            found = _row(row.sheets, wide, high * factor)
            if found.common > row.common and found.tall > row.tall:
                return found
    return None


def _row(sheets: Sequence[Sheet], wide: float, tall: float) -> _Row:
    own = [fitting(s.box[2] - s.box[0], s.box[3] - s.box[1], wide, tall) for s in sheets]
    common = max(own, key=lambda factor: (sum(_serves(factor, other) for other in own), factor))
    return _Row(tuple(sheets), tuple(common if _serves(common, other) else other for other in own), common)


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


def _cell(page: Page, cell: Rect, under: float, sheet: Sheet, factor: float, unit: Unit,
          caption: Sequence[str]) -> bool:  # fmt: skip
    """One sheet; returns whether some damage is drawn wider than it is."""
    x0, y0, x1, y1 = cell
    page.area([ink.corners(cell)], edge="#555555", thick=ink.NARROW * 0.6, zorder=0.4)
    room = x1 - x0 - 3
    count = "" if sheet.count == 1 else "no limit" if sheet.count is None else f"{sheet.count:,} of it"
    beside = ink.width(count, 9) + 2 if count else 0
    size = next((s for s in (20, 17, 14, 12) if ink.width(ink.known(sheet.id), s, True) <= room - beside), 12)
    page.text(x0 + 1.5, y1 - 7.2, ink.shortened(sheet.id, room - beside, size, True), size, True)
    if count:
        page.text(x1 - 1.5, y1 - 7.2, count, 9, ha="right")
    area = (x0 + _SIDE, y0 + under, x1 - _BESIDE, y1 - _ID)
    view = View.centred(sheet.box, factor, (area[0] + area[2]) / 2, (area[1] + area[3]) / 2)
    draw_sheet(page, view, sheet, edge=ink.WIDE, pitch=1.1, least=_LEAST_DAMAGE)
    draw_ruling(page, view, sheet)
    true_edge_marks(page, view, sheet, 0.9)
    (a, b), (c, d) = view.place(*sheet.box[:2]), view.place(*sheet.box[2:])
    page.text((a + c) / 2, b - 4.3, words.with_unit(sheet.box[2] - sheet.box[0], unit), 9, ha="center")
    page.text(a - 3.4, (b + d) / 2, words.side(sheet.box[3] - sheet.box[1], unit), 9, ha="center", va="center", upright=True)
    draw_bearings(page, view, sheet, _LEAST_DAMAGE)
    for k, line in enumerate(reversed(caption)):
        page.text(x0 + 1.5, y0 + 5.0 + 3.5 * k, line, ink.SMALL)
    grain = "grain ?" if sheet.grain is None else "grain ↔" if sheet.grain == "x" else "grain ↕"
    grain += " guessed" if sheet.grain_guessed else ""
    page.text(x0 + 1.5, y0 + 1.4, grain + (f"   print up {words.ARROWS[sheet.up]}" if sheet.up else ""), ink.SMALL)
    page.text(x1 - 1.5, y0 + 1.4, words.scale(factor), ink.SMALL, ha="right")
    return widened(view, sheet, _LEAST_DAMAGE)
