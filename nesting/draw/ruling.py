"""The printed lines of ruled stock on a drawing: hairlines where they truly lie, dots where rows and columns of dots cross."""

from __future__ import annotations

from typing import Any

from ..lengths import TICKS_PER_MM
from ..ruling import Ruling
from ..sheets import Sheet
from . import ink
from .ink import Page, Place
from .picture import View

HAIR = ink.NARROW * 0.45
GREY = "#7A7A7A"
LEAST_APART = 0.7  # mm on the page: nearer lines would be a grey area
_DOT = 0.12  # mm


def draw_ruling(page: Page, view: View, sheet: Sheet, zorder: float = 0.9) -> None:
    """The lines that lie on the paper; none where they would stand too close on the page."""
    ruling = sheet.ruling
    if ruling is None or not shows(ruling, view):
        return
    if ruling.kind == "dotted" and ruling.rows and ruling.columns:
        from shapely import MultiPoint

        x0, y0, x1, y1 = sheet.box
        points = [view.place(x, y) for x in ruling.columns.between(x0, x1) for y in ruling.rows.between(y0, y1)]
        for point in getattr(_paper(view, sheet).intersection(MultiPoint(points)), "geoms", ()):
            page.disc(point.x, point.y, _DOT, fill=GREY, edge=None, zorder=zorder)
        return
    page.lines(_segments(view, sheet, ruling), HAIR, GREY, zorder)


def shows(ruling: Ruling, view: View) -> bool:
    """Whether the lines stand far enough apart on the page to be drawn."""
    lines = ruling.rows or ruling.columns
    return lines is not None and lines.pitch / TICKS_PER_MM * view.scale >= LEAST_APART


def _paper(view: View, sheet: Sheet) -> Any:
    from shapely import Polygon

    return Polygon(view.ring(sheet.outline), [view.ring(hole) for hole in sheet.holes])


def _segments(view: View, sheet: Sheet, ruling: Ruling) -> list[tuple[Place, Place]]:
    from shapely import MultiLineString

    x0, y0, x1, y1 = sheet.box
    lines = [(view.place(x0, y), view.place(x1, y)) for y in (ruling.rows.between(y0, y1) if ruling.rows else ())]
    lines += [(view.place(x, y0), view.place(x, y1)) for x in (ruling.columns.between(x0, x1) if ruling.columns else ())]
    if not lines:
        return []
    inner = _paper(view, sheet).intersection(MultiLineString(lines))
    found = [part for part in getattr(inner, "geoms", [inner]) if part.geom_type == "LineString" and not part.is_empty]
    ends = [(part.coords[0], part.coords[-1]) for part in found]
    return [((float(a[0]), float(a[1])), (float(b[0]), float(b[1]))) for a, b in ends]
