"""The lay sheet: how a cover is laid on its card, drawn, and which paper goes on which card."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from ..lengths import TICKS_PER_MM, Unit, show_short
from ..notebook.laying import Lay, Marks
from . import flow, furniture, ink
from .flow import Item
from .furniture import FOOT, LEFT, RIGHT, TOP, Column
from .ink import Page, Rect
from .summary import CAUTIONS

if TYPE_CHECKING:
    from matplotlib.figure import Figure

_HEAD, _PICTURE = 19.0, 92.0  # mm
Part = tuple[str, Marks, Sequence[Lay], Sequence[str]]  # a format's name, its marks, its lays, what is to be said


def lay_pages(parts: Sequence[Part], *, unit: Unit = "mm", paper: str = "A4", title: str = "Lay sheet") -> list[Figure]:
    """Each format on pages of its own. Raises InputError for an unknown paper."""
    pages: list[Page] = []
    for part in parts:
        pages += _part(part, unit, paper, title)
    for number, page in enumerate(pages, 1):
        furniture.footer(page, "", number, len(pages), "lay sheet")
    return [page.figure for page in pages]


def _part(part: Part, unit: Unit, paper: str, title: str) -> list[Page]:
    name, marks, lays, notes = part
    wide, tall = ink.papers(paper)
    room = wide - RIGHT - LEFT
    columns = (Column("no.", 16, "right", True), Column("cover paper", 44), Column("layout", 14, "right"),
               Column("which way up", 42), Column("on card", 36), Column("look", room - 152))  # fmt: skip
    items: list[Item] = []
    for lay in lays:
        last = lay.first + lay.count - 1
        numbers = f"{lay.first}" if lay.count == 1 else f"{lay.first}-{last}"
        items.append(flow.table_row(columns, (numbers, lay.cover_sheet, str(lay.layout), lay.way, lay.card_sheet, look(lay))))
    told = [item for k, note in enumerate(notes) for item in flow.paragraph("lay" if not k else "", [note], room, 14)]
    cautions = list(CAUTIONS[2:])
    foot = FOOT + 8 + furniture.note_height(cautions, room)
    later = tall - TOP - _HEAD - foot
    out = []
    for number, page_items in enumerate(flow.paged([*told, *items], later - _PICTURE, later)):
        page = Page(paper)
        furniture.bound_edge(page)
        top, right = page.height - TOP, page.width - RIGHT
        page.line([(LEFT, top), (right, top)], ink.WIDE)
        page.text(LEFT, top - 4.2, f"Lay sheet: {name}, which cover on which card", 9, True)
        page.text(LEFT, top - 13.5, ink.shortened(title, right - LEFT, 17, True), 17, True)
        y = top - _HEAD
        if not number:
            _picture(page, (LEFT, y - _PICTURE + 4, right, y), marks, unit)
            y -= _PICTURE
        flow.draw(page, LEFT, y, page_items)
        furniture.notes(page, LEFT, foot - 2, room, cautions)
        out.append(page)
    return out


def look(lay: Lay) -> str:
    """What to look out for, in a word or two."""
    words = [word for word, on in (("no glue", lay.takes_glue is False), ("cracks", bool(lay.cracks))) if on]
    return ", ".join(words)


def _picture(page: Page, room: Rect, marks: Marks, unit: Unit) -> None:
    """Cover over card, seen from outside; the slack is drawn wider than it is where it would not be seen."""
    wide, tall = (max(a, b) / TICKS_PER_MM for a, b in zip(marks.cover, marks.card, strict=True))
    scale = min((room[2] - room[0] - 74) / wide, (room[3] - room[1] - 20) / tall)
    mx, my = (room[0] + room[2]) / 2, (room[1] + room[3]) / 2

    def centred(size: tuple[int, int]) -> Rect:
        w, h = (v / TICKS_PER_MM * scale / 2 for v in size)
        return mx - w, my - h, mx + w, my + h

    cover, card = centred(marks.cover), centred(marks.card)
    seen = max(1.6 - (card[0] - cover[0]), 0.0) if marks.side > 0 else 0.0
    card = (card[0] + seen, card[1] + seen, card[2] - seen, card[3] - seen)
    page.area([ink.corners(cover)], fill=ink.PIECE_TINT, edge=ink.BLACK, thick=ink.WIDE, zorder=1)
    if marks.side > 0 or marks.end > 0:
        page.area([ink.corners(card)], edge=ink.BLACK, thick=ink.NARROW, kind=(0, (3, 2)), zorder=2)
    page.line([(mx, cover[1]), (mx, cover[3])], ink.NARROW, ink.DASHED)
    for at, out in ((cover[3], 1), (cover[1], -1)):  # the lay marks
        page.line([(mx, at), (mx, at + out * 5)], ink.WIDE * 1.4)
        page.line([(mx, at - out * 1.5), (mx, at - out * 5)], ink.WIDE * 1.4)
    page.text(mx + 2, cover[3] + 2.2, "head: mark on mark", 9)
    page.text(mx + 2, cover[1] - 5.2, "tail: mark on mark", 9)
    quarter = (cover[2] - cover[0]) / 4
    page.text(mx + quarter, my, "FRONT", 12, True, ha="center", va="center")
    page.text(mx - quarter, my, "back", 12, ha="center", va="center")
    page.text(mx - 2.2, my, "spine", ink.SMALL, ha="center", va="center", upright=True)
    page.arrow((mx + quarter, my + 8), (mx + quarter, my + 17), ink.WIDE, 3)
    page.text(mx + quarter + 3, my + 11.5, "H", 12, True)
    x = cover[2] + 3
    lines = ["cover, face up", f"{show_short(marks.cover[0], unit)} x", show_short(marks.cover[1], unit)]
    lines += ["", "card below", f"{show_short(marks.card[0], unit)} x", show_short(marks.card[1], unit)]
    if seen:
        lines += ["", "room around it", "drawn wider"]
    for k, line in enumerate(lines):
        page.text(x, cover[3] - 4 - 4.2 * k, line, 9, bold=k in (0, 4))
