"""What can be said of a sheet beside its shape: grain, print, true edges, count, note and the like.

The same facts are set for the sheets that follow by a header line, for one sheet by a part of its line, and by
the columns of a table; they are all read here.
"""

from __future__ import annotations

import math
import re
from collections.abc import Callable
from fractions import Fraction
from typing import Any, TypedDict, cast

from nesting import Sheet
from nesting.errors import InputError
from nesting.sheets import Up

from ..stock import KINDS, MATERIALS, Kind
from .words import SIDES, Measure, nearest, one_of, side, unquoted

UPS: dict[str, Up | None] = {"up": "+y", "down": "-y", "left": "-x", "right": "+x", "none": None}
GRAINS: dict[str, str | None] = {
    "up": "y", "across": "x", "y": "y", "x": "x", "along y": "y", "along x": "x", "along up": "y", "along across": "x",
    "long": "long", "short": "short", "unknown": None,
}  # fmt: skip
GUESSED = " guessed"
MOST = 10_000_000


class Facts(TypedDict, total=False):
    """What is said of a sheet; a key that is absent was not said. Lengths in ticks, unrounded.

    `true`: letters of true edges, or "all". `grain`: x, y, long, short (side), one of them and " guessed", or None for
    unknown.
    """

    kind: Kind
    material: str | None
    source: str
    note: str
    true: str
    grain: str | None
    up: Up | None
    inset: Fraction
    caliper: Fraction | None
    grammage: float | None
    price: float | None
    count: int | None
    glue: bool | None
    cracks: bool | None


def grain_said(sheet: Sheet) -> str | None:
    """The grain of a sheet as a fact."""
    return f"{sheet.grain}{GUESSED}" if sheet.grain_guessed else sheet.grain


def _grain(rest: str, measure: Measure) -> str | None:
    words = " ".join(rest.lower().split())
    known = words.removesuffix(GUESSED)
    if known in GRAINS and (known == words or GRAINS[known]):
        return GRAINS[known] if known == words else f"{GRAINS[known]}{GUESSED}"
    near = nearest(known, GRAINS) or nearest(words.split()[0] if words else "", GRAINS)
    raise InputError("grain", "up, across, along x, along y, long, short, one of these and guessed, or unknown", rest,
                     f'Did you mean "{near}"?' if near else "Up runs along the height, across along the width.")  # fmt: skip


def _true(rest: str, measure: Measure) -> str:
    words = [word for word in re.split(r"[\s,]+", rest) if word]
    if not words:
        raise InputError("true", "edges such as L B, or all, or none", "nothing")
    if len(words) == 1 and words[0].lower() in ("all", "none"):
        return "all" if words[0].lower() == "all" else ""
    if len(words) == 1 and words[0].lower() not in SIDES and re.fullmatch("[LRTBlrtb]{1,4}", words[0]):
        words = list(words[0])
    if len(words) == 1 and nearest(words[0], ("all", "none")) and words[0].lower() not in SIDES:
        one_of(words[0], ("all", "none"), "true")
    return "".join(letter for letter in "LRTB" if letter in {side(word, "true") for word in words})


def _none_or(reader: Callable[[str, Measure], Any]) -> Callable[[str, Measure], Any]:
    return lambda rest, measure: None if rest.lower() in ("none", "unknown") else reader(rest, measure)


def amount(text: str, field: str) -> float:
    """A plain number of 0 or more, with a decimal dot or comma. Raises InputError."""
    plain = text.strip()
    if re.fullmatch(r"\d+,\d{3}", plain, re.ASCII):
        raise InputError(field, "one plain number", text, "A comma before three digits could mean thousands: "
                         f"write {plain.replace(',', '.')} or {plain.replace(',', '')}.")  # fmt: skip
    if len(plain) > 30 or not re.fullmatch(r"(\d+([.,]\d*)?|[.,]\d+)(e[+-]?\d{1,3})?", plain, re.ASCII):
        raise InputError(field, "a plain number of 0 or more", text)
    value = float(plain.replace(",", "."))
    if not math.isfinite(value):
        raise InputError(field, "a finite number", text)
    return value


def _grammage(rest: str, measure: Measure) -> float:
    found = re.fullmatch(r"(\S+?)\s*(?:g|gsm|g/m2|g/m²)?", rest)
    if re.search(r"(lb|lbs|#|pound|pounds)$", rest.lower()):
        raise InputError("grammage", "g/m2", rest, "Pounds mean other weights for other papers: give g/m2.")
    value = amount(found.group(1) if found else rest, "grammage")
    if not 1 <= value <= 5_000:
        raise InputError("grammage", "1 to 5,000 g/m2", rest)
    return value


def _caliper(rest: str, measure: Measure) -> Fraction:
    value = measure.one(rest, "caliper", above_zero=True)
    if value > 25 * 8_000:
        raise InputError("caliper", "the thickness of one sheet, at most 25 mm", rest, "Give its unit, such as 0.12 mm.")
    return value


def _count(rest: str, measure: Measure) -> int | None:
    words = " ".join(rest.lower().split())
    if words in ("no limit", "unlimited"):
        return None
    if not re.fullmatch(r"\d{1,12}(\.0)?", words, re.ASCII) or not 1 <= int(words.split(".")[0]) <= MOST:
        raise InputError("count", f"a whole number from 1 to {MOST:,}, or no limit", rest)
    return int(words.split(".")[0])


def _yes_no(word: str, alone: bool | None) -> Callable[[str, Measure], bool | None]:
    def read(rest: str, measure: Measure) -> bool | None:
        if not rest and alone is not None:
            return alone
        chosen = one_of(rest or "nothing", ("yes", "no", "unknown"), word)
        return None if chosen == "unknown" else chosen == "yes"

    return read


_READERS: dict[str, tuple[str, Callable[[str, Measure], Any]]] = {
    "kind": ("kind", lambda rest, measure: one_of(rest, KINDS, "kind")),
    "material": ("material", _none_or(lambda rest, measure: one_of(rest, MATERIALS, "material"))),
    "source": ("source", lambda rest, measure: unquoted(rest)),
    "note": ("note", lambda rest, measure: unquoted(rest)),
    "true": ("true", _true),
    "grain": ("grain", _grain),
    "print": ("up", lambda rest, measure: UPS[one_of(rest, tuple(UPS), "print")]),
    "inset": ("inset", lambda rest, measure: measure.one(rest, "inset")),
    "caliper": ("caliper", _none_or(_caliper)),
    "grammage": ("grammage", _none_or(_grammage)),
    "price": ("price", _none_or(lambda rest, measure: amount(rest, "price"))),
    "count": ("count", _count),
    "glue": ("glue", _yes_no("glue", None)),
    "cracks": ("cracks", _yes_no("cracks", True)),
}
FACT_WORDS = tuple(_READERS)
HEADER_WORDS = tuple(word for word in FACT_WORDS if word != "note")
SHAPING = ("grain", "up", "true", "inset")  # facts that belong to how the sheet is cut, kept with its description
_MAY_BE_EMPTY = ("source", "note", "cracks")


def fact(word: str, rest: str, measure: Measure) -> Facts:
    """One fact as a mapping of one key: `word` is one of FACT_WORDS, `rest` what was said. Raises InputError."""
    name, reader = _READERS[word]
    if not rest.strip() and word not in _MAY_BE_EMPTY:
        raise InputError(word, "a value after the word", "nothing")
    if len(rest) > 2_000:
        raise InputError(word, "at most 2,000 letters", rest)
    return cast(Facts, {name: reader(rest.strip(), measure)})
