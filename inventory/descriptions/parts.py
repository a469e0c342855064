"""The grammar: one part of a line (design.md section 3, "Describing a sheet by hand") to one of the `forms`."""

from __future__ import annotations

import re
from collections.abc import Callable
from fractions import Fraction

from nesting.errors import InputError
from nesting.lengths import Unit
from nesting.notebook.sizes import find

from . import ruling
from .facts import FACT_WORDS, amount, fact
from .forms import (
    Area,
    Clip,
    Corners,
    Crease,
    Drop,
    Like,
    Part,
    Readings,
    Said,
    SideLength,
    Size,
    SquareCorner,
    Squares,
    Strip,
    Torn,
)  # fmt: skip
from .words import CORNERS, SIDES, Measure, corner, meant, nearest, side

MOST_CORNERS = 1_000
MOST_SQUARES = 10_000
MOST_READINGS = 500
LONGEST_PART = 200
_LISTS = ("corners", "squares", "edge", "note", "source")
ROW = re.compile(r"[.#*]+")
ID = re.compile(r"\w[\w./+-]*")
EXAMPLES = {
    "torn": "torn R 15", "clip": "clip TR 30 by 40", "bad": "bad L 200 to 260 deep 11, or bad across 90 to 130 up 60 to 95",
    "best": "best across 3 to 9 up 6 to 14", "hole": "hole across 90 to 130 up 60 to 95",
    "crease": "crease T 5 1/4 to B 4 7/8 wide 1/8", "edge": "edge R every 50: 400 392 388",
    "corners": "corners (0; 0) (420; 0) (420; 290) (0; 297)", "squares": "squares 20, then its rows below", "like": "like 4",
    "no": "no clip, after like 4", "square": "square BL", "bottom": "bottom 420", "top": "top 412", "left": "left 297",
    "right": "right 294", **ruling.EXAMPLES,
}  # fmt: skip
DROPPED = ("torn", "clip", "bad", "best", "hole", "crease", "edge", "grain", "print", "true", "inset",
           *ruling.EXAMPLES)
WORDS = (*EXAMPLES, *FACT_WORDS)
_INNER = ("across", "up", "to", "by", "deep", "wide", "every", "weight", *ruling.INNER, *SIDES, *CORNERS)


def parse_part(text: str, unit: Unit | None) -> Part:
    """One part of a line. Raises InputError naming the part, with the nearest right word."""
    text = " ".join(text.split()) if not text.lower().startswith(("note", "source")) else text.strip()
    measure = Measure(unit)
    if text[0] in "0123456789.,½¼¾⅛⅜⅝⅞⅓⅔-−":
        part: Part = _size(text, measure)
    else:
        found = re.match(r'[^\s"“:]*', text)
        word = found.group().lower() if found else ""
        rest = text[len(word) :].lstrip(": ").strip()
        if len(text) > LONGEST_PART and word not in _LISTS:
            raise InputError(word or "description", f"a part of at most {LONGEST_PART} letters", text)
        if word in _READERS:
            part = _READERS[word](f"{text[: len(word)]} {rest}".rstrip(), rest, measure)
        elif word in FACT_WORDS:
            part = Said(text, word, fact(word, rest, measure))
        else:
            part = _named_size(text, word)
    measure.settle(text)
    return part


def _matched(pattern: str, text: str) -> re.Match[str]:
    """The match of a form, or InputError with the misspelt word or an example of the form."""
    found = re.fullmatch(pattern, text, re.IGNORECASE)
    if found:
        return found
    word, *others = text.split()
    word, hint = word.lower(), ""
    for other in others:
        if re.fullmatch(r"[A-Za-z]{2,}", other) and other.lower() not in _INNER and not hint:
            near = nearest(other, _INNER)
            hint = f'Did you mean "{near}" for "{other}"?' if near else ""
    raise InputError(word, EXAMPLES[word], text, hint)


def _size(text: str, measure: Measure) -> Part:
    found = re.fullmatch(r"(.+?)\s*[x×]\s*(.+)", text, re.IGNORECASE)
    if not found:
        raise InputError("size", "width x height, such as 420 x 297", text)
    return Size(text, *measure.pair(found.group(1), found.group(2), "size", above_zero=True))


def _named_size(text: str, word: str) -> Part:
    """A standard size by its name, upright unless it says landscape. Raises InputError, as no other part begins so."""
    found = re.fullmatch(r"(.*?)(?:[\s-]+(portrait|landscape))?", text, re.IGNORECASE)
    try:
        size = find(found.group(1) if found else text)
    except InputError as error:
        raise InputError("description", "a size (420 x 297, A4, letter landscape), or a word such as torn, clip, bad or grain",
                         text, meant(word, WORDS) or (error.hint if error.hint.startswith("Did") else "")) from None  # fmt: skip
    sides = Fraction(size.width), Fraction(size.height)
    return Size(text, *(reversed(sides) if found and (found.group(2) or "").lower() == "landscape" else sides))


def _side_length(text: str, rest: str, measure: Measure) -> Part:
    word = text.split()[0].lower()
    return SideLength(text, SIDES[word], measure.one(rest, word, above_zero=True))


def _square(text: str, rest: str, measure: Measure) -> Part:
    return SquareCorner(text, corner(rest, "square"))


def _corners(text: str, rest: str, measure: Measure) -> Part:
    inner = re.findall(r"\(([^()]*)\)", rest)
    left_over = re.sub(r"\([^()]*\)", "", rest).strip(" ,")
    if left_over or len(inner) < 3:
        raise InputError("corners", f"three or more points, {EXAMPLES['corners']}", left_over or text)
    if len(inner) > MOST_CORNERS:
        raise InputError("corners", f"at most {MOST_CORNERS:,} points", f"{len(inner):,} points")
    points = []
    for index, pair in enumerate(inner, 1):
        across, mark, up = pair.partition(";")
        if not mark or ";" in up:
            raise InputError(f"corners, point {index}", "(across; up), parted by one ;", f"({pair})")
        points.append((measure.one(across, f"corners, point {index}, across"), measure.one(up, f"corners, point {index}, up")))
    return Corners(text, tuple(points))


def _squares(text: str, rest: str, measure: Measure) -> Part:
    words = rest.split()
    rows: list[str] = []
    while words and ROW.fullmatch(words[-1]):
        rows.insert(0, words.pop())
    return Squares(text, measure.one(" ".join(words), "squares", above_zero=True), checked_rows(tuple(rows)))


def checked_rows(rows: tuple[str, ...]) -> tuple[str, ...]:
    """Rows of squares, seen to be of one length and not too many. Raises InputError naming the row."""
    for index, row in enumerate(rows, 1):
        if len(row) != len(rows[0]):
            raise InputError(f"squares, row {index}", f"{len(rows[0])} squares as in the first row", f"{len(row)} in {row}")
    if rows and len(rows) * len(rows[0]) > MOST_SQUARES:
        raise InputError("squares", f"at most {MOST_SQUARES:,} squares", f"{len(rows) * len(rows[0]):,}", "Take larger squares.")
    return rows


def _torn(text: str, rest: str, measure: Measure) -> Part:
    found = _matched(r"torn\s+(\S+)\s+(.+)", text)
    return Torn(text, side(found.group(1), "torn"), measure.one(found.group(2), "torn", above_zero=True))


def _clip(text: str, rest: str, measure: Measure) -> Part:
    found = _matched(r"clip\s+(\S+)\s+(.+?)\s+by\s+(.+)", text)
    where = corner(found.group(1), "clip")
    return Clip(text, where, *measure.pair(found.group(2), found.group(3), "clip", above_zero=True))


def _range(measure: Measure, start: str, end: str, field: str) -> tuple[Fraction, Fraction]:
    low, high = measure.pair(start, end, field)
    if low >= high:
        raise InputError(field, "the smaller position first, then a larger", f"{start} to {end}")
    return low, high


def _area(text: str, rest: str, measure: Measure) -> Part:
    kind = text.split()[0].lower()
    if kind == "bad" and rest.split()[:1] and rest.split()[0].lower() in SIDES:
        found = _matched(r"bad\s+(\S+)\s+(.+?)\s+to\s+(.+?)\s+deep\s+(.+)", text)
        start, end = _range(measure, found.group(2), found.group(3), "bad")
        return Strip(text, side(found.group(1), "bad"), start, end, measure.one(found.group(4), "bad, deep", above_zero=True))
    ending = r"(?:\s+weight\s+(\S+))?" if kind == "best" else "()"
    found = _matched(rf"{kind}\s+across\s+(.+?)\s+to\s+(.+?)\s+up\s+(.+?)\s+to\s+(.+?){ending}", text)
    left, right = _range(measure, found.group(1), found.group(2), f"{kind}, across")
    low, high = _range(measure, found.group(3), found.group(4), f"{kind}, up")
    weight = amount(found.group(5), "best, weight") if found.group(5) else 1.0
    if weight <= 0:
        raise InputError("best, weight", "a number above 0", found.group(5))
    return Area(text, kind, left, right, low, high, weight)


def _crease(text: str, rest: str, measure: Measure) -> Part:
    found = _matched(r"crease\s+(\S+)\s+(.+?)\s+to\s+(\S+)\s+(.+?)\s+wide\s+(.+)", text)
    first, second = side(found.group(1), "crease"), side(found.group(3), "crease")
    if first == second:
        raise InputError("crease", "points on two different edges", text)
    at, other_at = measure.pair(found.group(2), found.group(4), "crease")
    return Crease(text, first, at, second, other_at, measure.one(found.group(5), "crease, wide", above_zero=True))


def _edge(text: str, rest: str, measure: Measure) -> Part:
    found = _matched(r"edge\s+(\S+)\s+every\s+(.+?)\s*:\s*(.+)", text)
    where = side(found.group(1), "edge")
    every = measure.one(found.group(2), "edge, every", above_zero=True)
    readings = measure.listed(found.group(3), "edge, readings")
    if len(readings) > MOST_READINGS:
        raise InputError("edge", f"at most {MOST_READINGS} readings", f"{len(readings)}")
    return Readings(text, where, every, tuple(readings))


def _like(text: str, rest: str, measure: Measure) -> Part:
    if not ID.fullmatch(rest):
        raise InputError("like", "the number of one sheet above, such as like 4", text)
    return Like(text, rest)


def _no(text: str, rest: str, measure: Measure) -> Part:
    word, _, where = rest.partition(" ")
    word = word.lower()
    if word in ("glue", "cracks"):
        raise InputError("no", f'"{word} no", or "{word} unknown"', text)
    if word not in DROPPED:
        raise InputError("no", "a word to drop, such as no clip", text, meant(word, DROPPED))
    if not where:
        return Drop(text, word, None)
    if word not in ("torn", "clip", "bad", "edge", "margin", "holes", "pad"):
        raise InputError("no", f"no {word} alone", text)
    return Drop(text, word, corner(where, "no clip") if word == "clip" else side(where, f"no {word}"))


_READERS: dict[str, Callable[[str, str, Measure], Part]] = {
    "torn": _torn, "clip": _clip, "bad": _area, "best": _area, "hole": _area, "crease": _crease, "edge": _edge,
    "corners": _corners, "squares": _squares, "like": _like, "no": _no, "square": _square,
    "bottom": _side_length, "top": _side_length, "left": _side_length, "right": _side_length, **ruling.READERS,
}  # fmt: skip
