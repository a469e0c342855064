"""Ink on a page: a page measured in mm, its fonts, line kinds and colours.

A page is a matplotlib Figure of the paper's true size, so what is drawn 100 mm long is 100 mm long in print.
x runs to the right and y up, from the lower left corner. Line kinds follow ISO 128-2 (continuous wide for
edges and cuts, dashed for folds, narrow for hints); meaning never hangs on colour alone.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from functools import lru_cache
from typing import TYPE_CHECKING, Any, Literal

from ..errors import InputError

if TYPE_CHECKING:
    from matplotlib.figure import Figure

PAPERS: dict[str, tuple[float, float]] = {"A4": (210.0, 297.0), "Letter": (215.9, 279.4)}
Place = tuple[float, float]
Rect = tuple[float, float, float, float]
MM_PER_POINT = 25.4 / 72
SMALL = 8.0  # pt; nothing but the footer's marks of plan and stock book is smaller
FOOTER = 6.5
DESCENT, CAPITAL, ASCENT = 0.21, 0.73, 0.78  # of DejaVu Sans, in em: g, H, l and (

# lines are black; areas have a tenth of a colour that all can tell apart (sky blue, bluish green: Okabe and Ito 2008),
# light enough for a printer that makes dots of it
BLACK, WHITE = "#000000", "#FFFFFF"
PIECE_TINT, OFFCUT_TINT = "#EFF8FD", "#EBF7F3"

# widths in points: ISO 128-2 line group 0.5 (wide 0.5 mm, narrow 0.25 mm)
EDGE, WIDE, NARROW = 0.7 / MM_PER_POINT, 0.5 / MM_PER_POINT, 0.25 / MM_PER_POINT
SOLID: Any = "solid"
DASHED: Any = (0, (9, 4))  # fold
DASH_DOT: Any = (0, (9, 2.2, 1.4, 2.2))  # squaring cut, by eye
DASH_TWO_DOTS: Any = (0, (10, 3, 1.5, 3, 1.5, 3))  # best area
DOTTED: Any = (0, (1, 3))


def font_file(bold: bool = False) -> str:
    """The font that matplotlib carries with it: the same on every machine."""
    import matplotlib

    return f"{matplotlib.get_data_path()}/fonts/ttf/DejaVuSans{'-Bold' if bold else ''}.ttf"


@lru_cache(maxsize=2)
def _font(bold: bool) -> Any:
    from matplotlib.ft2font import FT2Font

    font = FT2Font(font_file(bold))
    font.set_size(100, 72)
    return font


@lru_cache(maxsize=20_000)
def _advance(letter: str, bold: bool) -> float:
    """The width of a letter in em (of ? where the font lacks it)."""
    if not _font(bold).get_char_index(ord(letter)):
        letter = "?"
    return float(_font(bold).load_char(ord(letter)).linearHoriAdvance) / 65536 / 100


def width(text: str, size: float, bold: bool = False) -> float:
    """The width in mm of a text in points."""
    return sum(_advance(letter, bold) for letter in text) * size * MM_PER_POINT


def height(size: float) -> float:
    """The height in mm from the foot of a g to the head of an l."""
    return size * MM_PER_POINT * (DESCENT + ASCENT)


def known(text: str) -> str:
    """The text with ? for every letter the font lacks."""
    return "".join(letter if _font(False).get_char_index(ord(letter)) and _font(True).get_char_index(ord(letter)) else "?"
                   for letter in text)  # fmt: skip


def shortened(text: str, room: float, size: float, bold: bool = False) -> str:
    """The text, its middle left out where it is wider than `room` mm: ids differ at both ends."""
    if width(text, size, bold) <= room:
        return text
    for keep in range(len(text) - 1, 0, -1):
        tail = keep // 2
        short = f"{text[: keep - tail].rstrip()}…{text[len(text) - tail :].lstrip() if tail else ''}"
        if width(short, size, bold) <= room:
            return short
    return "…" if width("…", size, bold) <= room else ""


def wrapped(text: str, room: float, size: float, bold: bool = False) -> list[str]:
    """The text in lines of at most `room` mm, broken at spaces; a longer word is shortened."""
    return _in_lines(text, room, size, bold, lambda word: [shortened(word, room, size, bold)])


def broken(text: str, room: float, size: float, bold: bool = False) -> list[str]:
    """The text in lines of at most `room` mm with nothing left out: broken at spaces, a longer word within."""

    def pieces(word: str) -> list[str]:
        out = []
        while width(word, size, bold) > room and len(word) > 1:
            keep = next(n for n in range(len(word) - 1, 0, -1) if n == 1 or width(word[:n], size, bold) <= room)
            out.append(word[:keep])
            word = word[keep:]
        return [*out, word]

    return _in_lines(text, room, size, bold, pieces)


def _in_lines(text: str, room: float, size: float, bold: bool, alone: Callable[[str], list[str]]) -> list[str]:
    """Words side by side as long as they fit; one that begins a line as `alone` has it."""
    lines: list[str] = []
    for word in text.split():
        joined = f"{lines[-1]} {word}" if lines else word
        if lines and width(joined, size, bold) <= room:
            lines[-1] = joined
        else:
            lines += alone(word)
    return lines


def papers(name: str) -> tuple[float, float]:
    """Width and height in mm of a printing paper, upright. Raises InputError."""
    for known_name, size in PAPERS.items():
        if name.lower() == known_name.lower():
            return size
    raise InputError("paper", " or ".join(PAPERS), name)


def corners(rect: Rect) -> list[Place]:
    """The corners of a rectangle as a ring."""
    x0, y0, x1, y1 = rect
    return [(x0, y0), (x1, y0), (x1, y1), (x0, y1)]


class Page:
    """One page to draw on; `figure` is the value that is handed out."""

    def __init__(self, paper: str, landscape: bool = False) -> None:
        from matplotlib.figure import Figure
        from matplotlib.transforms import Affine2D

        short, long = papers(paper)
        self.width, self.height = (long, short) if landscape else (short, long)
        self.figure: Figure = Figure(figsize=(self.width / 25.4, self.height / 25.4))
        self.lacking = False  # whether a letter had to be replaced by ?
        self._mm = Affine2D().scale(1 / 25.4) + self.figure.dpi_scale_trans

    def text(self, x: float, y: float, text: str, size: float = 9, bold: bool = False, *,
             ha: Literal["left", "center", "right"] = "left", va: Literal["baseline", "center"] = "baseline",
             upright: bool = False, colour: str = BLACK) -> Rect:  # fmt: skip
        """Write one line; `upright` turns it a quarter to the left. Returns the room it takes.

        (x, y) is the start, middle or end of its base line, or of the line half way up its capitals (`va` "center").
        """
        from .lettering import Lettering

        plain = known(text)
        self.lacking |= plain != text
        long = width(plain, size, bold)
        em = size * MM_PER_POINT
        back = {"left": 0.0, "center": long / 2, "right": long}[ha]
        drop = CAPITAL * em / 2 if va == "center" else 0.0
        under, over = DESCENT * em, ASCENT * em
        if upright:
            x, y = x + drop, y - back
            rect = (x - over, y, x + under, y + long)
        else:
            x, y = x - back, y - drop
            rect = (x, y - under, x + long, y + over)
        lettering = Lettering(x, y, plain, size, bold, upright, colour, rect)
        lettering.set_transform(self._mm)
        lettering.set_zorder(5)
        self.figure.add_artist(lettering)
        return rect

    def line(self, points: Sequence[Place], thick: float = NARROW, kind: Any = SOLID, colour: str = BLACK,
             zorder: float = 3) -> None:  # fmt: skip
        """A line with butt ends, so that its length is what it measures."""
        from matplotlib.lines import Line2D

        xs, ys = zip(*points, strict=True)
        self.figure.add_artist(Line2D(xs, ys, linewidth=thick, linestyle=kind, color=colour, solid_capstyle="butt",
                                      dash_capstyle="butt", transform=self._mm, zorder=zorder))  # fmt: skip

    def lines(self, segments: Sequence[tuple[Place, Place]], thick: float = NARROW, colour: str = BLACK,
              zorder: float = 2, kind: Any = SOLID) -> None:  # fmt: skip
        """Many short lines of one kind."""
        from matplotlib.collections import LineCollection

        if segments:
            self.figure.add_artist(LineCollection(segments, linewidths=thick, colors=colour, linestyles=[kind], capstyle="butt",
                                                  transform=self._mm, zorder=zorder))  # fmt: skip

    def area(self, rings: Sequence[Sequence[Place]], fill: str | None = None, edge: str | None = None,
             thick: float = NARROW, kind: Any = SOLID, zorder: float = 1,
             join: Literal["miter", "round"] = "miter") -> None:  # fmt: skip
        """An area: its outline, then its holes (run the other way round)."""
        from matplotlib.patches import PathPatch
        from matplotlib.path import Path

        points: list[Place] = []
        codes: list[Any] = []
        for ring in rings:
            points += [*ring, ring[0]]
            codes += [Path.MOVETO, *[Path.LINETO] * (len(ring) - 1), Path.CLOSEPOLY]
        self.figure.add_artist(PathPatch(
            Path(points, codes), facecolor=fill or "none", edgecolor=edge or "none", linewidth=thick if edge else 0,
            linestyle=kind, joinstyle=join, transform=self._mm, zorder=zorder))  # fmt: skip

    def disc(self, x: float, y: float, radius: float, fill: str | None = "#FFFFFF", edge: str | None = BLACK,
             thick: float = NARROW, zorder: float = 4) -> None:  # fmt: skip
        """A circle."""
        from matplotlib.patches import Circle

        self.figure.add_artist(Circle((x, y), radius, facecolor=fill or "none", edgecolor=edge or "none", linewidth=thick,
                                      transform=self._mm, zorder=zorder))  # fmt: skip

    def hatch(self, rings: Sequence[Sequence[Place]], pitch: float = 1.5, thick: float = NARROW,
              colour: str = BLACK, zorder: float = 2) -> None:  # fmt: skip
        """Slanting lines through an area, `pitch` mm apart, drawn one by one: the same in every format."""
        self.lines(slanting(rings, pitch), thick, colour, zorder)

    def dots(self, rings: Sequence[Sequence[Place]], pitch: float = 2.1, zorder: float = 2) -> None:
        """Small dots over an area, in rows `pitch` mm apart."""
        from matplotlib.lines import Line2D

        points = dotted(rings, pitch)
        if points:
            xs, ys = zip(*points, strict=True)
            self.figure.add_artist(Line2D(xs, ys, linestyle="none", marker="o", markersize=0.34 / MM_PER_POINT,
                                          markerfacecolor="#222222", markeredgewidth=0, transform=self._mm,
                                          zorder=zorder))  # fmt: skip

    def arrow(self, start: Place, end: Place, thick: float = WIDE, head: float = 2.0, both: bool = False,
              colour: str = BLACK, zorder: float = 4) -> None:  # fmt: skip
        """A straight arrow with a filled head `head` mm long, at both ends where asked."""
        import math

        length = math.hypot(end[0] - start[0], end[1] - start[1])
        ux, uy = (end[0] - start[0]) / length, (end[1] - start[1]) / length

        def tip(at: Place, sense: float) -> None:
            bx, by = at[0] - sense * ux * head, at[1] - sense * uy * head
            side = head * 0.36
            self.area([[at, (bx - uy * side, by + ux * side), (bx + uy * side, by - ux * side)]], fill=colour, zorder=zorder)

        tail = (start[0] + ux * head * 0.8, start[1] + uy * head * 0.8) if both else start
        self.line([tail, (end[0] - ux * head * 0.8, end[1] - uy * head * 0.8)], thick, colour=colour, zorder=zorder)
        tip(end, 1)
        if both:
            tip(start, -1)


def slanting(rings: Sequence[Sequence[Place]], pitch: float) -> list[tuple[Place, Place]]:
    """Segments at 45 degrees inside an area with holes (even-odd), on lines `pitch` mm apart through the page's zero."""
    root = 2**0.5
    turned = [[((x + y) / root, (y - x) / root) for x, y in ring] for ring in rings]
    return [(((a - v) / root, (a + v) / root), ((b - v) / root, (b + v) / root)) for v, a, b in _rows(turned, pitch)]


def dotted(rings: Sequence[Sequence[Place]], pitch: float) -> list[Place]:
    """Points inside an area with holes, in rows `pitch` mm apart, every second row shifted by half."""
    out: list[Place] = []
    for y, a, b in _rows(rings, pitch):
        shift = (round(y / pitch) % 2) * pitch / 2
        first = int((a - shift) // pitch) + 1
        last = int((b - shift) // pitch)
        out += [(k * pitch + shift, y) for k in range(first, last + 1)]
    return out


def _rows(rings: Sequence[Sequence[Place]], pitch: float) -> list[tuple[float, float, float]]:
    """(y, from x, to x) of every stretch inside the area on rows y = k * pitch."""
    meets: dict[int, list[float]] = {}
    for ring in rings:
        ax, ay = ring[-1]
        for bx, by in ring:
            low, high = min(ay, by), max(ay, by)
            for k in range(int(low // pitch), int(high // pitch) + 2):
                y = k * pitch
                if low <= y < high:
                    meets.setdefault(k, []).append(ax + (bx - ax) * (y - ay) / (by - ay))
            ax, ay = bx, by
    out: list[tuple[float, float, float]] = []
    for k in sorted(meets):
        xs = sorted(meets[k])
        out += [(k * pitch, a, b) for a, b in zip(xs[::2], xs[1::2], strict=False) if b > a]
    return out
