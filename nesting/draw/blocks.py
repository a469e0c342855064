"""Blocks of lettering that stand in an area: the best of several wordings that fits is written."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, field

from . import ink
from .ink import Page, Place, Rect
from .spots import Room, Taken, meets

_LINE = 1.12  # line height, in heights of the letters
_ARROW_ROW, _ARROW_COLUMN, _ARROW = 3.0, 3.4, 8.0  # mm
_TURNS = {90: "turned a quarter to the left", 180: "turned half round", 270: "turned a quarter to the right"}
WITH_SIZE = 12  # of the wordings: three sizes of letters, upright or not, on one line or two
Line = tuple[str, float, bool]  # text, points, bold


@dataclass
class Letters:
    """Letters that stand for names which do not fit: A, B, ... and a, b, ... (then A2, B2, ...).

    `sizes`: by name, for which there is no room in the drawing; `turns`: of pieces with a letter; `missing`: how many
    pieces of a letter stay without lettering.
    """

    given: dict[str, str] = field(default_factory=dict)
    sizes: dict[str, str] = field(default_factory=dict)
    turns: set[int] = field(default_factory=set)
    missing: dict[str, int] = field(default_factory=dict)

    def next(self, name: str, capital: bool) -> str:
        """The letter of a name, or the one it would get."""
        if name in self.given:
            return self.given[name]
        same = sum(1 for letter in self.given.values() if letter[0].isupper() == capital)
        return chr((65 if capital else 97) + same % 26) + (str(same // 26 + 1) if same >= 26 else "")

    def notes(self) -> list[str]:
        """What the letters stand for and the sizes that are not in the drawing, in one line, or nothing."""
        if not self.given and not self.sizes:
            return []
        named = [f"{letter} = {name}" + (f", {self.sizes[name]}" if name in self.sizes else "")
                 for name, letter in self.given.items()]  # fmt: skip
        sized = [f"size of {name}: {size}" for name, size in self.sizes.items() if name not in self.given]
        turned = [f"{turn}° = {_TURNS[turn]}" for turn in sorted(self.turns)]
        lacking = [f"too small to be lettered: {count} {letter}" for letter, count in self.missing.items()]
        return ["; ".join([*named, *sized, *turned, *lacking])]


@dataclass(frozen=True)
class Block:
    """Lines to be written together, upright or not, with or without the arrow of the grain ("x", "y").

    `letter`: the block stands for a name that the notes must explain. `sized`: the size is in it.
    """

    lines: tuple[Line, ...]
    upright: bool = False
    grain: str | None = None
    letter: bool = False
    sized: bool = False

    def _text(self) -> tuple[float, float]:
        """Width and height in mm of the lines as they stand on the page."""
        w = max(ink.width(text, size, bold) for text, size, bold in self.lines)
        h = sum(ink.height(size) * _LINE for _, size, _ in self.lines)
        return (h, w) if self.upright else (w, h)

    def room(self) -> tuple[float, float]:
        """Width and height in mm of all."""
        w, h = self._text()
        if self.grain == "x":
            return max(w, _ARROW), h + _ARROW_ROW
        return (w + _ARROW_COLUMN, max(h, _ARROW)) if self.grain == "y" else (w, h)

    def draw(self, page: Page, rect: Rect) -> None:
        """Write it in the rectangle, over a white patch: folds and hatches stop there."""
        x0, y0, x1, y1 = rect
        page.area([ink.corners((x0 - 0.6, y0, x1 + 0.6, y1))], fill=ink.WHITE, zorder=2.9)
        w, h = self._text()
        if self.grain == "x":
            half, mid = min(max(w, _ARROW), 13.0) / 2, (x0 + x1) / 2
            page.arrow((mid - half, y0 + 1.3), (mid + half, y0 + 1.3), ink.NARROW * 1.4, 1.9, both=True)
            y0 += _ARROW_ROW
        elif self.grain == "y":
            half, mid = min(max(h, _ARROW), 13.0) / 2, (y0 + y1) / 2
            page.arrow((x0 + 1.3, mid - half), (x0 + 1.3, mid + half), ink.NARROW * 1.4, 1.9, both=True)
            x0 += _ARROW_COLUMN
        mx, my = (x0 + x1) / 2, (y0 + y1) / 2
        at = -(w if self.upright else h) / 2
        for text, size, bold in self.lines:
            step = ink.height(size) * _LINE
            at += step / 2
            if self.upright:
                page.text(mx + at, my, text, size, bold, ha="center", va="center", upright=True)
            else:
                page.text(mx, my - at, text, size, bold, ha="center", va="center")
            at += step / 2


def wordings(name: str, more: str, turn: int, room: Room, grain: str | None, letter: str) -> list[Block]:
    """What to write, the best first: all lines, the size on two lines, upright, without the size, shortened, a letter.

    `more`, the size, may be left out, the turn stays. The first `WITH_SIZE` have all.
    """
    out: list[Block] = []
    turned = [f"turned {turn}°"] if turn else []
    before, times, after = more.partition(" × ")
    sized = [(more, *turned), (before + times.rstrip(), after, *turned)]
    for upright, texts in [*((u, texts) for u in (False, True) for texts in sized), (False, turned), (True, turned)]:
        lines = [(text, ink.SMALL, False) for text in texts]
        for size in (11.0, 9.5, ink.SMALL):
            out.append(Block(((name, size, True), *lines), upright, grain, False, texts is not turned))
    for upright in (False, True):
        x0, y0, x1, y1 = room.box
        long = (y1 - y0 if upright else x1 - x0) - 2 * room.edge - 0.8
        if grain is not None and (grain == "y") != upright:
            long -= _ARROW_COLUMN
        short = ink.shortened(name, long, ink.SMALL, bold=True)
        if len(short) >= 6:
            out.append(Block(((short, ink.SMALL, True), *((text, ink.SMALL, False) for text in turned)), upright, grain))
    joined = lettered(letter, turn)
    out += [Block(((joined, ink.SMALL, True),), upright, arrow, True) for arrow in (grain, None) for upright in (False, True)]
    return out


def lettered(letter: str, turn: int) -> str:
    """A letter that stands for a name, with the turn of the piece: A 90°."""
    return f"{letter} {turn}°" if turn else letter


def write(page: Page, room: Room, blocks: Sequence[Block], taken: Taken, avoid: Sequence[Rect] = ()) -> Block | None:
    """Write the first block that finds a free place in the room, and take the place; None if none does."""
    for block in blocks:
        rect = room.spot(*block.room(), taken.also(avoid))
        if rect is not None:
            block.draw(page, rect)
            taken.add(rect)
            return block
    return None


def lead(page: Page, foot: Place, text: str, taken: Taken, area: Rect, sheet: Rect) -> None:
    """Write a short text at the nearest free place in the area, beside the sheet if not too far, and lead to the foot."""
    w, h = ink.width(text, ink.SMALL, True), ink.height(ink.SMALL)
    around = [(foot[0] + far * math.cos(k * math.pi / 8 + 0.4), foot[1] + far * math.sin(k * math.pi / 8 + 0.4))
              for far in (5, 8, 11, 15, 20, 26, 33, 41, 50, 60) for k in range(16)]  # fmt: skip
    for beside, over in ((True, False), (False, False), (True, True), (False, True)):
        for x, y in around:
            rect = (x - w / 2, y - h / 2, x + w / 2, y + h / 2)
            within = area[0] <= rect[0] and area[1] <= rect[1] and rect[2] <= area[2] and rect[3] <= area[3]
            off = rect[2] < sheet[0] or rect[0] > sheet[2] or rect[3] < sheet[1] or rect[1] > sheet[3]
            if not within or (beside and not off) or not taken.free(rect):
                continue
            if over or not any(meets(other, foot, (x, y)) for other in taken.rects):
                page.line([foot, (x, y)], ink.NARROW, zorder=3.6)
                page.disc(*foot, 0.45, fill=ink.BLACK, edge=None, zorder=3.7)
                page.area([ink.corners((rect[0] - 0.4, rect[1], rect[2] + 0.4, rect[3]))], fill="#FFFFFF", zorder=3.8)
                page.text(x, y, text, ink.SMALL, True, ha="center", va="center")
                taken.add(rect)
                return
