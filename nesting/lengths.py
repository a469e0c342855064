"""Lengths: whole ticks of 1/8 micrometre inside, written and printed in mm or inches.

1 mm is 8,000 ticks and 1/64 in is 3,175 ticks, so both systems are exact (design.md section 3).

>>> parse("8 1/2 in")
1727200
>>> show(1727200, "in")
'8-1/2 in'
>>> show(parse("215,9 mm"), "mm")
'215.9 mm'
"""

from __future__ import annotations

import math
import re
from fractions import Fraction
from typing import Literal

from .errors import InputError

TICKS_PER_MM = 8_000
TICKS_PER_INCH = 203_200
TICKS_PER_64TH = 3_175
LONGEST = 20_000_000 * TICKS_PER_MM  # 20 km: more is a slip of the pen; sheets have a limit of their own

Unit = Literal["mm", "in"]
Length = int | float | str
Rounding = Literal["down", "up", "near"]

_PER_UNIT = {"mm": Fraction(TICKS_PER_MM), "cm": Fraction(10 * TICKS_PER_MM), "in": Fraction(TICKS_PER_INCH)}
_UNIT_WORDS = {
    "mm": "mm", "millimetre": "mm", "millimetres": "mm", "cm": "cm", "centimetre": "cm", "centimetres": "cm",
    "in": "in", "in.": "in", "inch": "in", "inches": "in", '"': "in", "″": "in", "''": "in",
}  # fmt: skip
_VULGAR = {
    "½": "1/2", "¼": "1/4", "¾": "3/4", "⅛": "1/8", "⅜": "3/8", "⅝": "5/8", "⅞": "7/8", "⅓": "1/3", "⅔": "2/3",
}  # fmt: skip
_HINT = 'Write it like 215.9 mm, 8 1/2 in or 8-1/2".'
_SHAPE = re.compile(r"(?:(\d+)(?:\s+|\s*-\s*))?(\d+)\s*/\s*(\d+)|(\d+(?:[.,]\d*)?|[.,]\d+)", re.ASCII)


def exact(text: str, unit: Unit | None = None, field: str = "length") -> Fraction:
    """Ticks of a written length, unrounded.

    `unit` is used where the text carries none; without it a bare number is refused.
    Raises InputError for anything that is not one plain, finite, non-negative length.
    """
    raw = text.strip()
    if len(raw) > 60:
        raise InputError(field, "one plain length", raw, _HINT)
    body, per = _split_unit(raw, unit, field)
    for sign, plain in _VULGAR.items():
        body = body.replace(sign, f" {plain}")
    body = body.replace("⁄", "/").strip()
    if re.fullmatch(r"\d+,\d{3}", body):
        raise InputError(field, "one plain length", raw, "A comma before three digits could mean thousands: "
                         f"write {body.replace(',', '.')} or {body.replace(',', '')}.")  # fmt: skip
    if body.startswith(("-", "−")):
        raise InputError(field, "a length of 0 or more", raw, _HINT)
    found = _SHAPE.fullmatch(body)
    if not found:
        raise InputError(field, "one plain length", raw, _HINT)
    whole, top, bottom, decimal = found.groups()
    if decimal is not None:
        number = Fraction(decimal.replace(",", ".").rstrip(".") or "0")
    else:
        if int(bottom) == 0:
            raise InputError(field, "a fraction with a bottom above 0", raw, _HINT)
        number = Fraction(int(whole or 0)) + Fraction(int(top), int(bottom))
    return _bounded(number * per, raw, field)


def _split_unit(raw: str, unit: Unit | None, field: str) -> tuple[str, Fraction]:
    match = re.search(r"(?:[a-zA-Z]+\.?|\"|″|'')$", raw)
    if match:
        word = _UNIT_WORDS.get(match.group().lower())
        if word is None:
            raise InputError(field, "a length in mm, cm or in", raw, _HINT)
        return raw[: match.start()].strip(), _PER_UNIT[word]
    if unit is None:
        raise InputError(field, "a length with its unit", raw, f"No unit is set here. {_HINT}")
    return raw, _PER_UNIT[unit]


def _bounded(ticks: Fraction, raw: object, field: str) -> Fraction:
    if ticks > LONGEST:
        raise InputError(field, f"at most {LONGEST // TICKS_PER_MM:,} mm", raw, "Check the unit.")
    return ticks


def rounded(ticks: Fraction, rounding: Rounding) -> int:
    """The one rule at the door: stock is rounded down, blanks and bad areas up (outward)."""
    if rounding == "down":
        return math.floor(ticks)
    if rounding == "up":
        return math.ceil(ticks)
    return math.floor(ticks + Fraction(1, 2))


def parse(text: str, unit: Unit | None = None, rounding: Rounding = "near", field: str = "length") -> int:
    """Whole ticks of a written length; see `exact` for the forms and the errors."""
    return rounded(exact(text, unit, field), rounding)


def ticks_exact(value: Length, field: str = "length", *, signed: bool = False) -> Fraction:
    """Unrounded ticks of a length given to the public calls: a number is mm, a text carries its unit."""
    if isinstance(value, str):
        return exact(value, None, field)
    if isinstance(value, bool) or not hasattr(value, "__float__"):
        raise InputError(field, "a length: mm as a number, or a text with its unit", value, _HINT)
    try:
        number = float(value)
    except (OverflowError, TypeError, ValueError):
        raise InputError(field, "a finite length", value, _HINT) from None
    if not math.isfinite(number):
        raise InputError(field, "a finite length", value, _HINT)
    if number < 0 and not signed:
        raise InputError(field, "a length of 0 or more", value, _HINT)
    exactly = Fraction(value) if isinstance(value, int) else Fraction(repr(number))
    _bounded(abs(exactly) * TICKS_PER_MM, value, field)
    return exactly * TICKS_PER_MM


def ticks(value: Length, rounding: Rounding = "near", field: str = "length", *, signed: bool = False) -> int:
    """Whole ticks of a length given to the public calls (mm as a number, or text with its unit)."""
    return rounded(ticks_exact(value, field, signed=signed), rounding)


def mm(length: int) -> int | float:
    """The number of mm of a length in ticks, exact to a tick when read back."""
    whole, rest = divmod(length, TICKS_PER_MM)
    return whole if rest == 0 else length / TICKS_PER_MM


def mm2(doubled: int) -> int | float:
    """The mm2 of a doubled area in square ticks, exact when read back with `doubled_area`."""
    per = 2 * TICKS_PER_MM * TICKS_PER_MM
    whole, rest = divmod(doubled, per)
    return whole if rest == 0 else doubled / per


def doubled_area(area_mm2: int | float) -> int:
    """The doubled area in square ticks of an area in mm2 written by `mm2`."""
    return rounded(Fraction(area_mm2) * 2 * TICKS_PER_MM * TICKS_PER_MM, "near")


def number(length: int, unit: Unit = "mm") -> str:
    """A length as printed, without its unit: inches only where exact in 64ths, else mm (see `show`)."""
    return show(length, unit).rsplit(" ", 1)[0]


def show(length: int, unit: Unit = "mm") -> str:
    """A length as printed for a maker, in `unit`: inches only where exact in 64ths, else mm.

    Reading the text back gives the same ticks.
    """
    sign = "-" if length < 0 else ""
    size = abs(length)
    if unit == "in" and size % TICKS_PER_64TH == 0:
        whole, rest = divmod(size // TICKS_PER_64TH, 64)
        if rest == 0:
            return f"{sign}{whole} in"
        part = Fraction(rest, 64)
        lead = f"{whole}-" if whole else ""
        return f"{sign}{lead}{part.numerator}/{part.denominator} in"
    whole, rest = divmod(size, TICKS_PER_MM)
    if rest == 0:
        return f"{sign}{whole} mm"
    digits = f"{rest * 125:06d}".rstrip("0")
    return f"{sign}{whole}.{digits} mm"


def show_short(length: int, unit: Unit = "mm") -> str:
    """A measured length for drawings: to 0.1 mm, or the nearest 1/64 in marked with ~ when inexact."""
    if unit == "in":
        near = (length + TICKS_PER_64TH // 2) // TICKS_PER_64TH * TICKS_PER_64TH
        return show(near, "in") if near == length else f"~{show(near, 'in')}"
    tenth = TICKS_PER_MM // 10
    near = (length + tenth // 2) // tenth * tenth
    return show(near, "mm") if near == length else f"~{show(near, 'mm')}"
