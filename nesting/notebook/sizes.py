"""Which size is meant by a name: the published series of paper and notebook sizes, each with its source.

Series that come by halving are computed from their first size and the rule, never typed in (trade.md trap 5:
ISO halves and rounds down, it does not round the square root of two). Others are typed from their table.

>>> find("A6").text()
'105 x 148 mm'
>>> find("half letter").text()
'5-1/2 x 8-1/2 in'
"""

from __future__ import annotations

import difflib
import re
from dataclasses import dataclass
from fractions import Fraction
from functools import cache

from nesting.errors import InputError
from nesting.lengths import TICKS_PER_INCH, TICKS_PER_MM, Unit, number, parse, show

ISO_216 = "ISO 216:2007, via Kuhn and encyclopaedia tables"
ISO_269 = "ISO 269 (withdrawn), via Kuhn and encyclopaedia tables"
ISO_217 = "ISO 217:2013, via papierformate.com"
JIS_P_0138 = "JIS P 0138, via standard-size.com"
JIS_P_0202 = "JIS P 0202, via standard-size.com"
JIS_S_5504 = "JIS S 5504, via a department store's standards page"
ASME_Y14_1 = "ANSI/ASME Y14.1, via an encyclopaedia table"
ARCH = "architects' sizes, via northernarchitecture.us"
ISO_7810 = "ISO/IEC 7810, via an encyclopaedia and a PWG media name"
US_OFFICE = "US office sizes, via paper guides; halved exactly"
US_PARENT = "US parent sheets, via a list of standard paper sizes"


@dataclass(frozen=True)
class Size:
    """A named size in ticks, the short side first. `unit` is the one its table is written in."""

    name: str
    width: int
    height: int
    unit: Unit
    family: str
    source: str

    def text(self, unit: Unit | None = None) -> str:
        """Both sides as printed, in the table's own unit or in another."""
        unit = unit or self.unit
        return f"{number(self.width, unit)} x {show(self.height, unit)}"


def halved(width: int, height: int, times: int) -> tuple[int, int]:
    """A size in whole mm halved across its long side, rounding down, `times` times (ISO 216, JIS P 0138).

    >>> halved(1000, 1414, 4)
    (250, 353)
    """
    for _ in range(times):
        width, height = height // 2, width
    return width, height


def trimmed_tolerance(side_mm: float) -> float:
    """The tolerance in mm, plus or minus, of one side of a trimmed ISO size (ISO 216)."""
    return 1.5 if side_mm <= 150 else 2.0 if side_mm <= 600 else 3.0


def untrimmed_tolerance(side_mm: float) -> float:
    """The tolerance in mm, plus or minus, of one side of an untrimmed sheet (ISO 479:1975, before ISO 217)."""
    return 3.0 if side_mm <= 600 else 4.0 if side_mm <= 1000 else 5.0


def _mm(name: str, width: int, height: int, family: str, source: str) -> Size:
    return Size(name, width * TICKS_PER_MM, height * TICKS_PER_MM, "mm", family, source)


def _inch(name: str, width: str, height: str, family: str, source: str) -> Size:
    w, h = (int(Fraction(side) * TICKS_PER_INCH) for side in (width, height))
    return Size(name, w, h, "in", family, source)


_CHAINS = (  # name, first size, last number, family, source
    ("A", (841, 1189), 10, "ISO A", ISO_216), ("B", (1000, 1414), 10, "ISO B", ISO_216),
    ("C", (917, 1297), 10, "ISO C", ISO_269), ("JIS B", (1030, 1456), 10, "JIS B", JIS_P_0138),
    ("RA", (860, 1220), 4, "RA", ISO_217), ("SRA", (900, 1280), 4, "SRA", ISO_217),
)  # fmt: skip
_TABLES_MM = (
    ("JIS A-han", 625, 880, "JIS raw", JIS_P_0202), ("JIS B-han", 765, 1085, "JIS raw", JIS_P_0202),
    ("Shiroku", 788, 1091, "JIS raw", JIS_P_0202), ("Kiku", 636, 939, "JIS raw", JIS_P_0202),
    ("Hatoron", 900, 1200, "JIS raw", JIS_P_0202),
    ("JIS notebook 1", 210, 297, "JIS notebook", JIS_S_5504), ("JIS notebook 2", 182, 257, "JIS notebook", JIS_S_5504),
    ("JIS notebook 3", 148, 210, "JIS notebook", JIS_S_5504), ("JIS notebook 4", 128, 182, "JIS notebook", JIS_S_5504),
    ("JIS notebook 5", 105, 148, "JIS notebook", JIS_S_5504), ("JIS notebook 6", 179, 252, "JIS notebook", JIS_S_5504),
)  # fmt: skip
_TABLES_IN = (
    ("letter", "8.5", "11", "US", US_OFFICE), ("half letter", "5.5", "8.5", "US", US_OFFICE),
    ("quarter letter", "4.25", "5.5", "US", US_OFFICE), ("eighth letter", "2.75", "4.25", "US", US_OFFICE),
    ("legal", "8.5", "14", "US", US_OFFICE), ("half legal", "7", "8.5", "US", US_OFFICE),
    ("quarter legal", "4.25", "7", "US", US_OFFICE), ("tabloid", "11", "17", "US", US_OFFICE),
    ("ANSI A", "8.5", "11", "ANSI", ASME_Y14_1), ("ANSI B", "11", "17", "ANSI", ASME_Y14_1),
    ("ANSI C", "17", "22", "ANSI", ASME_Y14_1), ("ANSI D", "22", "34", "ANSI", ASME_Y14_1),
    ("ANSI E", "34", "44", "ANSI", ASME_Y14_1), ("ANSI F", "28", "40", "ANSI", ASME_Y14_1),
    ("Arch A", "9", "12", "Arch", ARCH), ("Arch B", "12", "18", "Arch", ARCH), ("Arch C", "18", "24", "Arch", ARCH),
    ("Arch D", "24", "36", "Arch", ARCH), ("Arch E", "36", "48", "Arch", ARCH), ("Arch E1", "30", "42", "Arch", ARCH),
    ("17 x 22 in", "17", "22", "US parent", US_PARENT), ("19 x 25 in", "19", "25", "US parent", US_PARENT),
    ("23 x 35 in", "23", "35", "US parent", US_PARENT), ("25 x 38 in", "25", "38", "US parent", US_PARENT),
)  # fmt: skip
_ALSO = {"ledger": "tabloid", "halfsheet": "halfletter"}
_SIDES = ("width", "height")
# Envelopes (C), finished notebooks and the size of a bank card are no paper that one buys to cut down.
_BOUGHT = ("ISO A", "ISO B", "JIS B", "RA", "SRA", "US", "US parent", "ANSI", "Arch", "JIS raw")


@cache
def standard_sizes() -> tuple[Size, ...]:
    """Every named size, in the order of their tables."""
    chains = [_mm(f"{name}{i}", *halved(*first, i), family, source)
              for name, first, last, family, source in _CHAINS for i in range(last + 1)]  # fmt: skip
    card = Size("ID-1", 5398 * TICKS_PER_MM // 100, 8560 * TICKS_PER_MM // 100, "mm", "card", ISO_7810)
    return (*chains, *(_mm(*row) for row in _TABLES_MM), *(_inch(*row) for row in _TABLES_IN), card)


@cache
def bought_sizes() -> tuple[Size, ...]:
    """The named sizes that paper is sold in, each measure once (the first family that names it keeps it)."""
    seen: set[tuple[int, int]] = set()
    out = []
    for family in _BOUGHT:
        for size in standard_sizes():
            if size.family == family and (size.width, size.height) not in seen:
                seen.add((size.width, size.height))
                out.append(size)
    return tuple(out)


def _key(name: str) -> str:
    key = re.sub(r"[^a-z0-9.]+", "", name.lower())
    return _ALSO.get(key, key)


@cache
def _by_key() -> dict[str, Size]:
    out = {_key(size.name): size for size in standard_sizes()}
    return out | {f"iso{_key(size.name)}": size for size in standard_sizes() if size.source in (ISO_216, ISO_269, ISO_217)}


def find(name: str, field: str = "size") -> Size:
    """The standard size of this name; case, blanks and hyphens do not matter. Raises InputError with the nearest.

    B sizes are ISO unless the name says JIS.

    >>> find("jis-b6").text(), find("B6").text()
    ('128 x 182 mm', '125 x 176 mm')
    """
    found = _by_key().get(_key(name))
    if found is None:
        near = difflib.get_close_matches(_key(name), _by_key(), n=1, cutoff=0.65)
        hint = f"Did you mean {_by_key()[near[0]].name}?" if near else "Or give both sides, like 8 1/2 x 11 in."
        raise InputError(field, "a standard size such as A6, B6, JIS B6, half letter", name, hint)
    return found


def read(text: str, unit: Unit | None = None, field: str = "size") -> tuple[str, int, int]:
    """A size by name or as two sides: its name, width and height in ticks. Raises InputError.

    A unit written after the second side holds for both.

    >>> read("17 x 22 in")
    ('17 x 22 in', 3454400, 4470400)
    """
    sides = re.split(r"\s*(?:[x×*]|\bby\b)\s*", text.strip(), flags=re.IGNORECASE)
    if len(sides) != 2 or not all(re.search(r"[0-9½¼¾⅛⅜⅝⅞⅓⅔]", side) for side in sides):
        found = find(text, field)
        return found.name, found.width, found.height
    unit_word = re.search(r"(?:[a-zA-Z]+\.?|\"|″|'')$", sides[1])
    if unit_word and not re.search(r"(?:[a-zA-Z]+\.?|\"|″|'')$", sides[0]):
        sides[0] += f" {unit_word.group()}"
    width, height = (parse(side, unit, "down", f"{field}, {label}") for side, label in zip(sides, _SIDES, strict=True))
    if width <= 0 or height <= 0:
        raise InputError(field, "two sides above 0", text)
    return " ".join(text.split()), width, height
