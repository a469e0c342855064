"""The forms of a description as values: every length in ticks, unrounded; `shapes` makes a sheet of them."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

from nesting.ruling import RulingKind

from .facts import SHAPING, Facts


@dataclass(frozen=True)
class Part:
    """One part as it was typed."""

    text: str


@dataclass(frozen=True)
class Size(Part):
    """`420 x 297`: width across, height up."""

    width: Fraction
    height: Fraction


@dataclass(frozen=True)
class SideLength(Part):
    """`bottom 420`: the length of one of four sides."""

    side: str
    length: Fraction


@dataclass(frozen=True)
class SquareCorner(Part):
    """`square BL`: the corner of a four-sided sheet that is a right angle."""

    corner: str


@dataclass(frozen=True)
class Corners(Part):
    """`corners (0; 0) (420; 0) ...`: the outline, corner by corner."""

    points: tuple[tuple[Fraction, Fraction], ...]


@dataclass(frozen=True)
class Squares(Part):
    """`squares 20` and its rows from the top: . good, # bad or gone, * best."""

    step: Fraction
    rows: tuple[str, ...]


@dataclass(frozen=True)
class Torn(Part):
    """`torn R 15`: the whole edge is torn, at worst so deep; that strip is bad, the paper reaches as far as its size says."""

    side: str
    depth: Fraction


@dataclass(frozen=True)
class Clip(Part):
    """`clip TR 30 by 40`: a corner is gone, so much along the top or bottom and so much along the side."""

    corner: str
    along: Fraction
    down: Fraction


@dataclass(frozen=True)
class Strip(Part):
    """`bad L 200 to 260 deep 11`: damage at an edge, between two positions on it."""

    side: str
    start: Fraction
    end: Fraction
    depth: Fraction


@dataclass(frozen=True)
class Area(Part):
    """`bad|best|hole across 90 to 130 up 60 to 95`."""

    kind: str
    left: Fraction
    right: Fraction
    low: Fraction
    high: Fraction
    weight: float


@dataclass(frozen=True)
class Crease(Part):
    """`crease T 5 1/4 to B 4 7/8 wide 1/8`: a bad strip between points on two edges."""

    side: str
    at: Fraction
    other: str
    other_at: Fraction
    wide: Fraction


@dataclass(frozen=True)
class Readings(Part):
    """`edge R every 50: 400 392 ...`: how far across to that edge, from the opposite one."""

    side: str
    every: Fraction
    readings: tuple[Fraction, ...]


@dataclass(frozen=True)
class Ruled(Part):
    """`ruled across 8 first 25`, `squared 5 first 10 left 8`, `ruled up 8 first 25 lines 20`."""

    kind: RulingKind
    up: bool
    pitch: Fraction
    first: Fraction
    left: Fraction | None
    lines: int | None


@dataclass(frozen=True)
class Margin(Part):
    """`margin L 32`: a margin line along an edge, so far from it; `wide 2` says how broad a strip it makes bad."""

    side: str
    at: Fraction
    wide: Fraction


@dataclass(frozen=True)
class Punched(Part):
    """`holes L 3 at 40 148 257 deep 15 wide 6`: punched holes, their middles along an edge, how far in they reach, how wide."""

    side: str
    places: tuple[Fraction, ...]
    depth: Fraction
    wide: Fraction


@dataclass(frozen=True)
class Header(Part):
    """`header 30`: a printed band along the head edge of the ruling (the top, where lines run across)."""

    depth: Fraction


@dataclass(frozen=True)
class Pad(Part):
    """`pad T`: the edge at which sheets are glued to a pad; a strip of it (`deep 1`) is bad, and none measures from it."""

    side: str
    depth: Fraction


@dataclass(frozen=True)
class Said(Part):
    """A fact: grain, print, count, note and the like."""

    word: str
    facts: Facts


@dataclass(frozen=True)
class Like(Part):
    """`like 4`: all of another sheet but its count and note."""

    id: str


@dataclass(frozen=True)
class Drop(Part):
    """`no clip`: drops what `like` would have copied; `no clip TR` only at that place."""

    word: str
    where: str | None


Shape = Size | Corners | Squares


def word_of(part: Part) -> tuple[str, str | None]:
    """The word that drops a part, and the edge or corner it is at."""
    match part:
        case Torn():
            return "torn", part.side
        case Clip():
            return "clip", part.corner
        case Strip():
            return "bad", part.side
        case Area():
            return part.kind, None
        case Crease():
            return "crease", None
        case Ruled():
            return part.kind, None
        case Margin():
            return "margin", part.side
        case Punched():
            return "holes", part.side
        case Header():
            return "header", None
        case Pad():
            return "pad", part.side
        case Readings():
            return "edge", part.side
        case Said():
            return part.word, None
    return "", None


def is_shaping(part: Part) -> bool:
    """Whether a part belongs to the sheet's description proper (not count, note, price and the like)."""
    return not isinstance(part, Said) or any(name in SHAPING for name in part.facts)
