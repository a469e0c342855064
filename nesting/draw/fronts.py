"""Front panels on a drawing, and in a line how much of the best areas they show."""

from __future__ import annotations

from collections.abc import Sequence

from ..blanks import Blank
from ..layouts import Layout
from ..lengths import TICKS_PER_MM
from ..plans import Plan
from ..sheets import Sheet
from .ink import Place
from .picture import View


def front_rings(view: View, layout: Layout, sheet: Sheet, blanks: Sequence[Blank]) -> list[list[Place]]:
    """The front panels of a layout on the page; only of sheets with best areas, where it matters which half is the front."""
    if not any(zone.kind == "best" for zone in sheet.zones):
        return []
    by_name = {blank.name: blank for blank in blanks if blank.front is not None}
    out = []
    for piece in layout.pieces:
        blank = by_name.get(piece.blank)
        if blank is not None and blank.front is not None:
            x0, y0, x1, y1 = blank.front
            (ox, oy), (rx, ry), _, (ux, uy) = (view.place(x, y) for x, y in piece.corners)
            out.append([(ox + (rx - ox) * x / blank.width + (ux - ox) * y / blank.height,
                         oy + (ry - oy) * x / blank.width + (uy - oy) * y / blank.height)
                        for x, y in ((x0, y0), (x1, y0), (x1, y1), (x0, y1))])  # fmt: skip
    return out


def best_lines(plan: Plan) -> list[str]:
    """What share of the best areas of the sheets cut is on front covers, in a line; none where there are no such areas."""
    from shapely import Polygon

    sheets = {sheet.id: sheet for sheet in plan.sheets}
    shown = there = 0.0
    for layout in plan.layouts:
        sheet = sheets[layout.sheet]
        best = [zone for zone in sheet.zones if zone.kind == "best"]
        if best and layout.best_mm2 is None:
            return []  # a plan of before, that does not say
        paper = Polygon(sheet.outline, sheet.holes)
        there += layout.copies * sum(z.weight * paper.intersection(Polygon(z.outline)).area for z in best) / TICKS_PER_MM**2
        shown += layout.copies * (layout.best_mm2 or 0)
    if there <= 0:
        return []
    weighted = any(z.weight != 1 for layout in plan.layouts for z in sheets[layout.sheet].zones if z.kind == "best")
    share = min(100, round(100 * shown / there))
    return [f"Of the best areas on the sheets cut, {share} % {'(by weight) ' if weighted else ''}is on front covers."]
