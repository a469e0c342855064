"""The key: a sample of every line kind and hatch on a page, each with its word."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Literal

from ..blanks import Blank
from ..layouts import Layout, Shavings, leaves
from ..programme.steps import Step
from ..sheets import Sheet
from . import ink
from .chosen import draw_diamond
from .ink import Page
from .naming import folds
from .picture import up_arrow
from .ruling import GREY, HAIR

Key = Literal["cut", "by eye", "blade", "fence", "fold", "grain", "up", "bad", "hole", "best", "front", "true",
              "lines", "chosen", "offcut", "shavings"]  # fmt: skip
_WORDS: dict[Key, str] = {
    "cut": "cut, in this order", "by eye": "squaring cut, by eye", "blade": "with the blade",
    "fence": "points to the edge at the fence",
    "fold": "fold", "grain": "grain", "up": "top of the print", "bad": "bad: keep off", "hole": "hole", "best": "best part",
    "front": "front of the cover",
    "true": "true edge", "lines": "printed lines",
    "chosen": "chosen: lies as it was chosen",
    "offcut": "offcut, back to stock", "shavings": "shavings",
}  # fmt: skip
ALL: tuple[Key, ...] = tuple(_WORDS)
_SAMPLE = 8.0
_ROW = 4.6


def keys_of(sheet: Sheet, layout: Layout, steps: Sequence[Step], blanks: Sequence[Blank],
            chosen: bool = False) -> list[Key]:  # fmt: skip
    """The kinds that a layout's page shows; `chosen`: whether some piece was chosen beforehand."""
    kinds = {zone.kind for zone in sheet.zones}
    made = layout.counts()
    shown: dict[Key, bool] = {
        "cut": any(not s.squaring for s in steps), "by eye": any(s.squaring for s in steps), "blade": any(s.blade for s in steps),
        "fence": any(s.base for s in steps), "fold": any(folds(b) and b.name in made for b in blanks),
        "grain": sheet.grain is not None and bool(layout.pieces), "bad": "bad" in kinds, "hole": bool(sheet.holes),
        "best": "best" in kinds, "true": bool(sheet.true_edges),
        "front": "best" in kinds and any(b.front is not None and b.name in made for b in blanks),
        "lines": sheet.ruling is not None, "up": sheet.up is not None, "chosen": chosen, "offcut": bool(layout.offcuts),
        "shavings": any(isinstance(leaf, Shavings) for leaf in leaves(layout.tree)),
    }  # fmt: skip
    return [key for key in ALL if shown[key]]


def key_height(keys: Sequence[Key], room: float) -> float:
    """The height of the key in mm when it is `room` wide."""
    return _ROW * len(_rows(keys, room))


def draw_key(page: Page, x: float, y: float, room: float, keys: Sequence[Key]) -> None:
    """Draw samples in rows from the base line y upward, `room` mm wide."""
    for k, row in enumerate(reversed(_rows(keys, room))):
        at = x
        for key in row:
            _sample(page, key, at, y + k * _ROW + 1.0)
            page.text(at + _SAMPLE + 1.5, y + k * _ROW, _WORDS[key], ink.SMALL)
            at += _wide(key)


def _wide(key: Key) -> float:
    return _SAMPLE + 1.5 + ink.width(_WORDS[key], ink.SMALL) + 4


def _rows(keys: Sequence[Key], room: float) -> list[list[Key]]:
    rows: list[list[Key]] = [[]]
    for key in keys:
        if rows[-1] and sum(_wide(k) for k in rows[-1]) + _wide(key) - 4 > room:
            rows.append([])
        rows[-1].append(key)
    return rows


def _sample(page: Page, key: Key, x: float, y: float) -> None:
    end, mid = x + _SAMPLE, x + _SAMPLE / 2
    box = [ink.corners((x, y - 1.6, end, y + 1.6))]
    if key == "cut":
        page.line([(x, y), (end, y)], ink.WIDE)
    elif key == "by eye":
        page.line([(x, y), (end, y)], ink.WIDE, ink.DASH_DOT)
    elif key == "blade":
        page.area([ink.corners((mid - 1.5, y - 1.5, mid + 1.5, y + 1.5))], edge=ink.BLACK, thick=ink.WIDE)
    elif key == "fence":
        page.disc(mid + 1, y, 1.6)
        page.area([[(mid - 0.4, y + 1.0), (mid - 0.4, y - 1.0), (mid - 2.4, y)]], fill=ink.BLACK)
    elif key == "fold":
        page.line([(x, y), (end, y)], ink.NARROW, ink.DASHED)
    elif key == "grain":
        page.arrow((x, y), (end, y), ink.NARROW * 1.4, 1.9, both=True)
    elif key == "up":
        up_arrow(page, (mid, y), "+x", _SAMPLE)
    elif key == "bad":
        page.hatch(box, 1.2)
        page.area(box, edge=ink.BLACK)
    elif key == "hole":
        page.area(box, edge=ink.BLACK)
        page.lines([((x, y - 1.6), (end, y + 1.6)), ((x, y + 1.6), (end, y - 1.6))], ink.NARROW * 0.8)
    elif key == "best":
        page.area(box, edge=ink.BLACK, kind=ink.DASH_TWO_DOTS)
    elif key == "front":
        page.area(box, edge=ink.BLACK, kind=ink.DOTTED, thick=ink.NARROW * 1.4)
    elif key == "true":
        page.line([(x, y + 0.6), (end, y + 0.6)], ink.EDGE)
        page.line([(x, y - 0.8), (end, y - 0.8)], ink.NARROW)
    elif key == "chosen":
        draw_diamond(page, mid, y, 1.8)
    elif key == "lines":
        page.lines([((x, y + k), (end, y + k)) for k in (-1.3, 0.0, 1.3)], HAIR, GREY)
    elif key == "offcut":
        page.area(box, fill=ink.OFFCUT_TINT, edge=ink.BLACK, thick=ink.WIDE)
        page.area([ink.corners((x + 0.9, y - 0.7, end - 0.9, y + 0.7))], edge=ink.BLACK)
    else:
        page.dots(box, 1.4)
