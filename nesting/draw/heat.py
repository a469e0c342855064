"""A survey on paper: finished width across, height up, a figure in each cell; the darker the more. The list beside it.

The figures carry the meaning; the shade is a help. Sizes worth a look have a thick frame; a letter says what runs out first.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from ..lengths import Unit, number
from ..notebook.surveys import Survey, SurveyRow
from . import furniture, ink
from .furniture import FOOT, LEFT, RIGHT, TOP, Column
from .ink import Page, Rect

if TYPE_CHECKING:
    from matplotlib.figure import Figure

_LETTERS = {"cover": "c", "card": "k", "folio": "p"}
_NAMES = {"cover": "covers", "card": "card", "folio": "pages"}
_HEAD = 20.0
_LIGHT, _DARK = (1.0, 1.0, 1.0), (0.12, 0.36, 0.55)  # white to a dark blue; letters change over at half way


@dataclass(frozen=True)
class _Map:
    title: str
    value: Callable[[SurveyRow], float]
    text: Callable[[SurveyRow], str]
    more: bool  # more is better: darker


def survey_pages(found: Survey, listed: Sequence[SurveyRow], *, unit: Unit = "mm", paper: str = "A4",
                 title: str = "Survey") -> list[Figure]:  # fmt: skip
    """Books, waste and evenness of every size that was looked at, and the sizes `listed`, each on its page.

    Raises InputError for an unknown paper.
    """
    maps = [
        _Map("books", lambda r: r.books, lambda r: f"{r.books:,}", True),
        _Map("waste of cover paper, %", lambda r: r.waste, lambda r: f"{100 * r.waste:.0f}", False),
        _Map("evenness, %", lambda r: r.evenness, lambda r: f"{100 * r.evenness:.0f}", True),
    ]
    pages = [_map_page(found, listed, one, unit, paper, title) for one in maps]
    pages.insert(1, _list_page(found, listed, unit, paper, title))
    for k, page in enumerate(pages):
        some = f"{len(found.rows)} of {found.of} sizes" if found.stopped else f"{found.of} sizes"
        furniture.footer(page, some, k + 1, len(pages))
    return [page.figure for page in pages]


def _top(page: Page, found: Survey, title: str, under: str) -> None:
    furniture.bound_edge(page)
    top, right = page.height - TOP, page.width - RIGHT
    page.line([(LEFT, top), (right, top)], ink.WIDE)
    page.text(LEFT, top - 8.6, ink.shortened(title, right - LEFT, 16, True), 16, True)
    f = found.format
    base = f"allowances as {f.name}, {f.folios} folios a book"
    page.text(LEFT, top - 14.2, ink.shortened(f"{under}; {base}", right - LEFT, 9), 9)


def _map_page(found: Survey, listed: Sequence[SurveyRow], one: _Map, unit: Unit, paper: str, title: str) -> Page:
    widths, heights = sorted({r.width for r in found.rows}), sorted({r.height for r in found.rows})
    page = Page(paper, landscape=len(widths) > len(heights) + 8)
    _top(page, found, title, f"Finished width across, height up: {one.title}")
    room: Rect = (LEFT + 17, FOOT + 26, page.width - RIGHT, page.height - TOP - _HEAD)
    wide = min((room[2] - room[0]) / len(widths), 22.0)
    tall = min((room[3] - room[1]) / len(heights), 15.0)
    values = [one.value(r) for r in found.rows]
    low, high = min(values), max(values)
    framed = {(r.width, r.height) for r in listed}
    for r in found.rows:
        x = room[0] + widths.index(r.width) * wide
        y = room[1] + heights.index(r.height) * tall
        share = (one.value(r) - low) / (high - low) if high > low else 0.5
        books = one.title == "books"
        _cell(page, (x, y, x + wide, y + tall), share if one.more else 1 - share,
              one.text(r) + ("+" if books and not r.proven else ""), _first_out(r, found) if books else "",
              (r.width, r.height) in framed)  # fmt: skip
    _axes(page, room, wide, tall, widths, heights, unit)
    _legend(page, found, one, low, high)
    return page


def _cell(page: Page, cell: Rect, share: float, text: str, letter: str, framed: bool) -> None:
    x0, y0, x1, y1 = cell
    shade = [a + (b - a) * share for a, b in zip(_LIGHT, _DARK, strict=True)]
    fill = "#" + "".join(f"{round(255 * v):02X}" for v in shade)
    page.area([ink.corners(cell)], fill=fill, edge="#555555", thick=ink.NARROW * 0.4, zorder=1)
    if framed:
        page.area([ink.corners((x0 + 0.5, y0 + 0.5, x1 - 0.5, y1 - 0.5))], edge=ink.BLACK, thick=ink.WIDE * 1.4, zorder=4)
    colour = ink.WHITE if share > 0.55 else ink.BLACK
    size = next((s for s in (10, 9, 8) if ink.width(text, s) <= x1 - x0 - 1.4 and ink.height(s) <= y1 - y0 - 0.6), None)
    if size is None:
        return
    two = bool(letter) and y1 - y0 >= 2 * ink.height(8) + 1.0
    page.text((x0 + x1) / 2, (y0 + y1) / 2 + (1.5 if two else 0), text, size, framed, ha="center", va="center", colour=colour)
    if two:
        page.text((x0 + x1) / 2, (y0 + y1) / 2 - 2.3, letter, ink.SMALL, ha="center", va="center", colour=colour)


def _first_out(row: SurveyRow, found: Survey) -> str:
    """Letters of the materials that run out first, where more than one sets a limit."""
    return "".join(_LETTERS[m] for m in row.limited_by) if len(found.reckoned) > 1 and row.books else ""


def _axes(page: Page, room: Rect, wide: float, tall: float, widths: Sequence[int], heights: Sequence[int], unit: Unit) -> None:
    texts = [number(w, unit) for w in widths]
    step = 1 + int(max(ink.width(t, ink.SMALL) for t in texts) // max(wide - 0.8, 1))
    for k, text in enumerate(texts):
        if k % step == 0:
            page.text(room[0] + (k + 0.5) * wide, room[1] - 4.2, text, ink.SMALL, ha="center")
    rows = 1 + int(ink.height(ink.SMALL) // tall)
    for k, h in enumerate(heights):
        if k % rows == 0:
            page.text(room[0] - 1.5, room[1] + (k + 0.5) * tall, number(h, unit), ink.SMALL, ha="right", va="center")
    page.text(room[0] + len(widths) * wide / 2, room[1] - 8.4, f"finished width, {unit}", 9, ha="center")
    middle = room[1] + len(heights) * tall / 2
    page.text(LEFT + 2.5, middle, f"finished height, {unit}", 9, ha="center", va="center", upright=True)


def _legend(page: Page, found: Survey, one: _Map, low: float, high: float) -> None:
    y = FOOT + 11.5
    texts = ["Thick frame: worth a look."]
    if one.title == "books" and not all(r.proven for r in found.rows):
        texts.append("+: a cover or two more may be possible.")
    if one.title == "books" and len(found.reckoned) > 1:
        texts.append("Runs out first: " + ", ".join(f"{_LETTERS[m]} {_NAMES[m]}" for m in found.reckoned) + ".")
    if one.title.startswith("evenness"):
        texts.append("100: covers, card and pages run out together.")
    if one.title.startswith("waste"):
        texts.append("Of the cover paper, with no cover on it; trims count as cover.")
    page.text(LEFT, y, "  ".join(texts), ink.SMALL)
    x = LEFT
    for k in range(24):
        shade = [a + (b - a) * k / 23 for a, b in zip(_LIGHT, _DARK, strict=True)]
        page.area([ink.corners((x + k * 2, y - 5.4, x + k * 2 + 2, y - 2.2))],
                  fill="#" + "".join(f"{round(255 * v):02X}" for v in shade))  # fmt: skip
    page.area([ink.corners((x, y - 5.4, x + 48, y - 2.2))], edge=ink.BLACK)
    ends = (low, high) if one.more else (high, low)
    plain = [f"{v:,.0f}" if one.title == "books" else f"{100 * v:.0f} %" for v in ends]
    page.text(x + 50, y - 4.9, f"{plain[0]} to {plain[1]}", ink.SMALL)


def _list_page(found: Survey, listed: Sequence[SurveyRow], unit: Unit, paper: str, title: str) -> Page:
    page = Page(paper)
    _top(page, found, title, "Sizes worth a look, smallest page first")
    made = [Column(f"size, {unit}", 38, bold=True), Column("books", 18, "right")]
    made += [Column(_NAMES[m], 18, "right") for m in found.reckoned]
    made += [Column("waste", 18, "right"), Column("evenness", 20, "right"), Column("  runs out first", 32)]
    rows = []
    for r in listed:
        limits = {"cover": r.covers, "card": r.card, "folio": r.pages}
        rows.append((f"{number(r.width, unit)} × {number(r.height, unit)}", f"{r.books:,}{'' if r.proven else '+'}",
                     *("no limit" if limits[m] is None else f"{limits[m]:,}" for m in found.reckoned), f"{100 * r.waste:.0f} %",
                     f"{100 * r.evenness:.0f} %", "  " + ", ".join(_NAMES[m] for m in r.limited_by)))  # fmt: skip
    cells = [tuple((cell,) for cell in row) for row in rows]
    y = furniture.table(page, LEFT, page.height - TOP - _HEAD, made, cells)
    furniture.notes(page, LEFT, y - 3, page.width - LEFT - RIGHT, [
        "No size here is beaten by another: none has a larger or equal page, as many books, as little waste and as even an end "
        "of all papers, and one of them better.",
        "Books: complete ones. Covers, card, pages: books that this paper alone would allow. Rules of grain and print that "
        "have a price are left out of a survey; the plan of a job heeds them."])  # fmt: skip
    return page
