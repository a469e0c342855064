"""The words of a description: its parts, its lengths, and the nearest right word for a misspelt one."""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from difflib import get_close_matches
from fractions import Fraction

from nesting.errors import InputError
from nesting.lengths import Unit, exact

SIDES = {"l": "L", "left": "L", "r": "R", "right": "R", "t": "T", "top": "T", "b": "B", "bottom": "B"}
CORNERS = {"tl": "TL", "lt": "TL", "tr": "TR", "rt": "TR", "bl": "BL", "lb": "BL", "br": "BR", "rb": "BR"}
_QUOTED = re.compile(r"(?:note|source)\s*([\"“])", re.IGNORECASE)
_UNIT_AT_END = re.compile(r"\s*(?:([a-zA-Z]+\.?)|(\"|″|''))$")
_LENGTH = r"(?:(?:\d+(?:\s+|\s*-\s*))?\d+\s*/\s*\d+|\d*\s?[½¼¾⅛⅜⅝⅞⅓⅔]|\d+(?:[.,]\d+)?|[.,]\d+)"
_LISTED = re.compile(rf"({_LENGTH}(?:\s*(?:mm|cm|inches|inch|in\b\.?|\"|″|''))?)(?=[\s,]|$),?\s*", re.ASCII)


def nearest(word: str, options: Iterable[str]) -> str | None:
    """The option most like a misspelt word, or None where none is near."""
    near = get_close_matches(word.lower(), sorted(options), n=1, cutoff=0.5 if len(word) <= 3 else 0.7)
    return near[0] if near else None


def meant(word: str, options: Iterable[str]) -> str:
    """A hint that names the nearest right word, or nothing."""
    near = nearest(word, options)
    return f'Did you mean "{near}"?' if near else ""


def one_of(word: str, options: Sequence[str], field: str) -> str:
    """The word in small letters if it is one of the options. Raises InputError with the nearest one."""
    if word.lower() in options:
        return word.lower()
    listed = ", ".join(options[:-1]) + f" or {options[-1]}" if len(options) > 1 else options[0]
    raise InputError(field, listed, word, meant(word, options))


def side(word: str, field: str) -> str:
    """L, R, T or B of an edge's name. Raises InputError."""
    found = SIDES.get(word.lower())
    if found is None:
        raise InputError(field, "an edge: L, R, T or B", word, meant(word, SIDES))
    return found


def corner(word: str, field: str) -> str:
    """TL, TR, BL or BR of a corner's name. Raises InputError."""
    found = CORNERS.get(word.lower())
    if found is None:
        raise InputError(field, "a corner: TL, TR, BL or BR", word, meant(word, CORNERS))
    return found


def cut_parts(text: str) -> list[str]:
    """The parts of a line, parted by `;` outside of brackets and of a quoted note. Raises InputError."""
    parts: list[str] = []
    at = 0
    while at < len(text):
        if text[at] in "; \t":
            at += 1
            continue
        quoted = _QUOTED.match(text, at)
        end = _after_quote(text, quoted) if quoted else _part_end(text, at)
        parts.append(text[at:end].strip())
        at = end
    return parts


def _part_end(text: str, at: int) -> int:
    depth = 0
    for index in range(at, len(text)):
        if text[index] == "(":
            depth += 1
        elif text[index] == ")":
            depth -= 1
        elif text[index] == ";" and depth <= 0:
            return index
    if depth > 0:
        raise InputError("corners", "a closing bracket for each opening one", text[at:], "Write corners (0; 0) (420; 0) ...")
    return len(text)


def _after_quote(text: str, opening: re.Match[str]) -> int:
    closing = '"' if opening.group(1) == '"' else "”"
    at = opening.end()
    while True:
        at = text.find(closing, at)
        if at < 0:
            raise InputError("note", "a closing quote", text[opening.start():], 'Write note "as you like it".')
        if text[at + 1 : at + 2] != closing:
            break
        at += 2  # a doubled quote stands for one quote
    end = _part_end(text, at + 1)
    if text[at + 1 : end].strip():
        raise InputError("note", "a ; after the closing quote", text[at + 1 : end].strip())
    return end


def unquoted(text: str) -> str:
    """A note's text without its quotes."""
    text = text.strip()
    if len(text) >= 2 and text[0] == '"' and text[-1] == '"':
        return text[1:-1].replace('""', '"').strip()
    if len(text) >= 2 and text[0] == "“" and text[-1] == "”":
        return text[1:-1].replace("””", "”").strip()
    return text


class Measure:
    """Reads the lengths of one part, in ticks unrounded, and sees to it that a bare one cannot be mistaken.

    A bare length is in the file's unit. In a pair or range, a unit at its end holds for both. A part that
    names another unit for one length must name it for all, or 2 to 6 deep 1/2 in could mean two things.
    """

    def __init__(self, unit: Unit | None) -> None:
        self.unit = unit
        self._bare = ""
        self._foreign = False

    def one(self, text: str, field: str, *, above_zero: bool = False) -> Fraction:
        """Ticks of one length. Raises InputError."""
        text = text.strip()
        named = _UNIT_AT_END.search(text)
        if named is None and self.unit is None and re.search(r"[\d½¼¾⅛⅜⅝⅞⅓⅔]$", text) and text != "0":
            raise InputError(field, "a length with its unit", text,
                             'Set the unit first, with a line "unit mm" or "unit in", or write it like 215.9 mm.')  # fmt: skip
        found = exact(text, self.unit or "mm", field)
        if above_zero and found <= 0:
            raise InputError(field, "a length above 0", text)
        if named is None:
            self._bare = text if found else self._bare
        elif ("in" if (named.group(1) or "in").lower().startswith("in") else named.group(1).lower()) != self.unit:
            self._foreign = True
        return found

    def pair(self, first: str, second: str, field: str, *, above_zero: bool = False) -> tuple[Fraction, Fraction]:
        """Two lengths that belong together; the unit of the second holds for a bare first. Raises InputError."""
        ending = _UNIT_AT_END.search(second.strip())
        if ending and not _UNIT_AT_END.search(first.strip()):
            first = f"{first.strip()} {ending.group().strip()}"
        return (self.one(first, field, above_zero=above_zero), self.one(second, field, above_zero=above_zero))

    def listed(self, text: str, field: str) -> list[Fraction]:
        """Lengths in a row, parted by blanks (a fraction belongs to the whole number before it). Raises InputError."""
        found: list[Fraction] = []
        at = 0
        text = text.strip()
        while at < len(text):
            match = _LISTED.match(text, at)
            if not match:
                raise InputError(field, "lengths parted by blanks", text[at:])
            found.append(self.one(match.group(1), field))
            at = match.end()
        return found

    def settle(self, part: str) -> None:
        """Raises InputError where bare lengths stand beside others in another unit."""
        if self._bare and self._foreign and self.unit is not None:
            raise InputError(part.split()[0], "one unit in a part, or a unit with each length", part,
                             f"{self._bare} alone would be {self._bare} {self.unit}.")  # fmt: skip
