"""One line of text on a page, already placed: cheaper to draw than matplotlib's own text, which lays out anew.

This module loads matplotlib; it is imported only where something is drawn.
"""

from __future__ import annotations

from functools import lru_cache
from typing import Any

from matplotlib.artist import Artist
from matplotlib.font_manager import FontProperties

from .ink import Rect, font_file


@lru_cache(maxsize=64)
def _font(size: float, bold: bool) -> Any:
    return FontProperties(fname=font_file(bold), size=size)


class Lettering(Artist):
    """A text whose base line starts at (x, y); `upright` runs it upward. `rect` is the room it takes, in mm."""

    def __init__(self, x: float, y: float, text: str, size: float, bold: bool, upright: bool, colour: str, rect: Rect) -> None:
        super().__init__()
        self.x, self.y, self.text, self.size, self.bold = x, y, text, size, bold
        self.upright, self.colour, self.rect = upright, colour, rect

    def draw(self, renderer: Any) -> None:
        """Draw it; called by matplotlib."""
        if not self.get_visible() or not self.text:
            return
        x, y = self.get_transform().transform((self.x, self.y))
        if renderer.flipy():
            y = renderer.get_canvas_width_height()[1] - y
        gc = renderer.new_gc()
        gc.set_foreground(self.colour)
        renderer.draw_text(gc, x, y, self.text, _font(self.size, self.bold), 90 if self.upright else 0, ismath=False)
        gc.restore()
        self.stale = False
