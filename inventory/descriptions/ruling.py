"""Ruled stock in a description: its lines, and what of it no folio may carry (margin line, holes, header, glued edge)."""

from __future__ import annotations

import re
from collections.abc import Callable, Sequence
from fractions import Fraction
from math import ceil, floor
from typing import cast

from nesting.errors import InputError
from nesting.geometry import Ring
from nesting.lengths import TICKS_PER_MM, show
from nesting.ruling import Ruling, RulingKind

from .bases import Base, of
from .damage import at_edge
from .exactly import box_ring
from .forms import Header, Margin, Pad, Part, Punched, Ruled
from .words import Measure, meant, side

EXAMPLES = {
    "ruled": "ruled across 8 first 25, or ruled up 8 first 25", "dotted": "dotted 5 first 10 left 8",
    "squared": "squared 5 first 10 left 8", "margin": "margin L 32, or margin L 32 wide 2",
    "holes": "holes L 3 at 40 148 257 deep 15 wide 6", "header": "header 30", "pad": "pad T, or pad T deep 2",
}  # fmt: skip
INNER = ("first", "left", "lines", "at")
MOST_HOLES = 60
_KNOWN = (*INNER, "across", "deep", "wide")
# A printed line and its play from sheet to sheet, and the glue at a pad's edge: common practice, no source.
_MARGIN_WIDE = Fraction(TICKS_PER_MM)
_GLUE_DEEP = Fraction(TICKS_PER_MM)


def _matched(pattern: str, text: str, word: str) -> re.Match[str]:
    found = re.fullmatch(pattern, text, re.IGNORECASE)
    if not found:
        strange = [w for w in re.findall(r"[A-Za-z]{3,}", text)[1:] if w.lower() not in _KNOWN]
        raise InputError(word, EXAMPLES[word], text, meant(strange[0], _KNOWN) if strange else "")
    return found


def _ruled(text: str, rest: str, measure: Measure) -> Part:
    word = text.split()[0].lower()
    way = r"(across|up)\s+" if word == "ruled" else r"()"
    found = _matched(rf"{word}\s+{way}(.+?)\s+first\s+(.+?)(?:\s+left\s+(.+?))?(?:\s+lines\s+(\d{{1,5}}))?", text, word)
    left = None if found.group(4) is None else measure.one(found.group(4), f"{word}, left")
    if word == "ruled" and left is not None:
        raise InputError("ruled, left", "no left for lines that run one way", text, "Write squared or dotted for both ways.")
    pitch = measure.one(found.group(2), f"{word}, pitch", above_zero=True)
    first, lines = measure.one(found.group(3), f"{word}, first"), found.group(5)
    up = (found.group(1) or "").lower() == "up"
    return Ruled(text, cast(RulingKind, word), up, pitch, first, left, None if lines is None else int(lines))


def _margin(text: str, rest: str, measure: Measure) -> Part:
    found = _matched(r"margin\s+(\S+)\s+(.+?)(?:\s+wide\s+(.+))?", text, "margin")
    at = measure.one(found.group(2), "margin", above_zero=True)
    wide = _MARGIN_WIDE if found.group(3) is None else measure.one(found.group(3), "margin, wide", above_zero=True)
    return Margin(text, side(found.group(1), "margin"), at, wide)


def _punched(text: str, rest: str, measure: Measure) -> Part:
    found = _matched(r"holes\s+(\S+)\s+(\d{1,3})\s+at\s+(.+?)\s+deep\s+(.+?)\s+wide\s+(.+)", text, "holes")
    places = measure.listed(found.group(3), "holes, at")
    count = int(found.group(2))
    if not 1 <= count <= MOST_HOLES:
        raise InputError("holes", f"from 1 to {MOST_HOLES} holes", found.group(2))
    if len(places) != count:
        raise InputError("holes, at", f"{count} places, one for the middle of each hole", f"{len(places)}: {found.group(3)}")
    depth, wide = (measure.one(found.group(i), f"holes, {name}", above_zero=True) for i, name in ((4, "deep"), (5, "wide")))
    if wide > depth:
        raise InputError("holes, wide", "no more than deep, which is from the edge to the far rim", text)
    return Punched(text, side(found.group(1), "holes"), tuple(places), depth, wide)


def _header(text: str, rest: str, measure: Measure) -> Part:
    return Header(text, measure.one(rest, "header", above_zero=True))


def _pad(text: str, rest: str, measure: Measure) -> Part:
    found = _matched(r"pad\s+(\S+)(?:\s+deep\s+(.+))?", text, "pad")
    deep = _GLUE_DEEP if found.group(2) is None else measure.one(found.group(2), "pad, deep", above_zero=True)
    return Pad(text, side(found.group(1), "pad"), deep)


READERS: dict[str, Callable[[str, str, Measure], Part]] = {
    "ruled": _ruled, "dotted": _ruled, "squared": _ruled, "margin": _margin, "holes": _punched, "header": _header, "pad": _pad,
}  # fmt: skip


def ruling_of(base: Base, parts: Sequence[Part], where: str) -> Ruling | None:
    """The ruling of a sheet, measured on its nominal rectangle; None where nothing is said. Raises InputError."""
    found = of(parts, Ruled)
    if not found:
        return None
    if len(found) > 1:
        raise InputError(f"{where}, ruling", "one ruling", " and ".join(part.text for part in found),
                         "After like, drop the other first: no ruled.")  # fmt: skip
    part, (_, _, width, height) = found[0], base.nominal
    half = Fraction(1, 2)
    return Ruling.of(part.kind, width, height, floor(part.pitch + half), floor(part.first + half), up=part.up,
                     left=None if part.left is None else floor(part.left + half), lines=part.lines,
                     where=f"{where}, {part.kind}")  # fmt: skip


def unusable(base: Base, parts: Sequence[Part], where: str) -> list[Ring]:
    """What no folio may carry, as bad areas rounded outward, in the order typed. Raises InputError."""
    out = []
    head = "L" if any(part.up for part in of(parts, Ruled)) else "T"
    for part in parts:
        match part:
            case Margin():
                low, high = part.at - part.wide / 2, part.at + part.wide / 2
                out.append(_strip(base, part.side, low, high, f"{where}, margin {part.side}"))
            case Header():
                out.append(_strip(base, head, Fraction(0), part.depth, f"{where}, header"))
            case Pad():
                out.append(_strip(base, part.side, Fraction(0), part.depth, f"{where}, pad {part.side}"))
            case Punched():
                out += _holes(base, part, where)
    return out


def _strip(base: Base, side: str, low: Fraction, high: Fraction, field: str) -> Ring:
    """The strip along a whole edge between two distances from it."""
    _, _, width, height = base.nominal
    across, along = (width, height) if side in "LR" else (height, width)
    if ceil(high) >= across:
        raise InputError(field, f"less than the sheet's {'width' if side in 'LR' else 'height'}, {show(across, base.unit)}",
                         show(ceil(high), base.unit))  # fmt: skip
    return _between(base, side, max(0, floor(low)), ceil(high), 0, along)


def _between(base: Base, side: str, near: int, far: int, low: int, high: int) -> Ring:
    x0, y0, x1, y1 = at_edge(side, base.nominal, far, low, high)
    box = {"L": (x0 + near, y0, x1, y1), "R": (x0, y0, x1 - near, y1), "B": (x0, y0 + near, x1, y1), "T": (x0, y0, x1, y1 - near)}
    return box_ring(box[side])


def _holes(base: Base, part: Punched, where: str) -> list[Ring]:
    _, _, width, height = base.nominal
    across, along = (width, height) if part.side in "LR" else (height, width)
    field = f"{where}, holes {part.side}"
    if ceil(part.depth) >= across:
        raise InputError(f"{field}, deep", f"less than the sheet's {show(across, base.unit)}", show(ceil(part.depth), base.unit))
    out = []
    for at in part.places:
        low, high = floor(at - part.wide / 2), ceil(at + part.wide / 2)
        if low < 0 or high > along:
            raise InputError(f"{field}, at", f"holes on the edge, {show(along, base.unit)} long", show(floor(at), base.unit),
                             "Positions run up from the bottom, or from the left.")  # fmt: skip
        out.append(_between(base, part.side, max(0, floor(part.depth - part.wide)), ceil(part.depth), low, high))
    return out
