"""How useful what is left of a sheet is."""

from __future__ import annotations

from functools import cached_property
from typing import Any

from ..geometry import Box
from ..lengths import TICKS_PER_MM
from .sheet.ground import Ground


class Rests:
    """The usefulness of leftovers on a ground; `least`: the sides of the smallest useful one in ticks."""

    def __init__(self, ground: Ground, least: tuple[int, int]) -> None:
        self._ground, self._small, self._large = ground, min(least), max(least)
        self._clear = ground.clear()

    @cached_property
    def _good(self) -> Any:
        """The good paper as a shapely polygon."""
        import shapely
        from shapely import Polygon

        paper = Polygon(self._ground.paper.outline, self._ground.paper.holes)
        return paper.difference(shapely.union_all([Polygon(ring) for ring in self._ground.bad]))

    def usefulness(self, box: Box) -> float:
        """The square of the good paper's area in mm2, so that one large leftover passes two halves; 0 for shavings."""
        ends = zip(box, self._ground.box, strict=True)
        x0, y0, x1, y1 = (max(a, b) if i < 2 else min(a, b) for i, (a, b) in enumerate(ends))
        if min(x1 - x0, y1 - y0) < self._small or max(x1 - x0, y1 - y0) < self._large:
            return 0.0
        area = float((x1 - x0) * (y1 - y0))
        if not self._clear:
            from shapely import clip_by_rect

            area = float(clip_by_rect(self._good, x0, y0, x1, y1).area)
        return (area / TICKS_PER_MM**2) ** 2
