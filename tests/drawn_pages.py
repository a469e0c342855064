"""What is on a drawn page: its lettering, its lines, and what runs into each other."""

from __future__ import annotations

import math

from matplotlib.lines import Line2D

from nesting.draw.lettering import Lettering

SIZES = {"A4": (210, 297), "Letter": (215.9, 279.4)}


def letters(figure) -> list[Lettering]:
    return [artist for artist in figure.artists if isinstance(artist, Lettering)]


def text(figure) -> str:
    return "\n".join(lettering.text for lettering in letters(figure))


def flowing(figure) -> str:
    """The text with line breaks as spaces, in the order it was written."""
    return " ".join(lettering.text for lettering in letters(figure))


def size(figure) -> tuple[float, float]:
    return tuple(float(v) * 25.4 for v in figure.get_size_inches())


def clashes(figure) -> list[tuple[str, str]]:
    """Texts that run into each other, or off the page."""
    every = letters(figure)
    width, height = size(figure)
    out = [("off the page", a.text) for a in every
           if a.rect[0] < 5 or a.rect[1] < 5 or a.rect[2] > width - 5 or a.rect[3] > height - 5]  # fmt: skip
    for i, a in enumerate(every):
        for b in every[:i]:
            if a.rect[0] + 0.1 < b.rect[2] and b.rect[0] + 0.1 < a.rect[2] and a.rect[1] + 0.1 < b.rect[3] \
                    and b.rect[1] + 0.1 < a.rect[3]:  # fmt: skip
                out.append((a.text, b.text))
    return out


def drawn(figure, kind):
    return [artist for artist in figure.artists if isinstance(artist, kind)]


def long_on_paper(line: Line2D) -> float:
    """The length in mm of a line as printed."""
    (ax, ay), (bx, by) = line.get_transform().transform(line.get_xydata()[[0, -1]]) / line.figure.dpi * 25.4
    return math.hypot(bx - ax, by - ay)
