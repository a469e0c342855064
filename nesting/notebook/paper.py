"""How heavy and how thick paper is: counts, grammage, basis weight, caliper and bulk.

Plain numbers in the trade's own units: grammage in g/m2, caliper and sides in mm, bulk in cm3/g, basis weight in lb.

>>> round(grammage_of_basis_weight(20, *BASIS_SIZES["bond"]), 1)
75.2
>>> round(caliper(60, 1.5), 4)
0.09
"""

from __future__ import annotations

import difflib
import re
from fractions import Fraction

from nesting.errors import InputError
from nesting.lengths import TICKS_PER_INCH

from .sizes import read as read_size

QUIRE = 25  # ISO 4046-3, via an encyclopaedia
REAM = 500  # ISO 4046-3: 500 identical sheets, 20 quires
# g/m2 = lb x 453.59237 / (500 sheets x a x b x 0.0254^2), from the definition of basis weight
# (Roberts & Etherington, "basis weight"); the trade's 1406.5 is 0.026 % off.
POUND_CONSTANT = 453.59237 / (REAM * 0.0254**2)

# Basis sizes in inches: manual "Hand Lever Cutters" ch. VI; Roberts & Etherington "basis weight"; Xerox paper guide.
# Bristol is 22.5 x 28.5; tables with 686 sq in mean 22.5 x 30.5 (trade.md trap 4).
BASIS_SIZES: dict[str, tuple[float, float]] = {
    "bond": (17, 22), "ledger": (17, 22), "writing": (17, 22), "text": (25, 38), "book": (25, 38), "offset": (25, 38),
    "cover": (20, 26), "index": (25.5, 30.5), "bristol": (22.5, 28.5), "tag": (24, 36), "newsprint": (24, 36),
    "blotting": (19, 24),
}  # fmt: skip

# Percent that bond paper grows across and along its grain from dry to damp air (trade blog "Dimensional stability", the
# span of humidity not stated; weak).
DAMP_ACROSS, DAMP_ALONG = (0.20, 0.40), (0.10, 0.20)

# Where nothing was measured: read off JCP D10, O-63, A55 (text), K10 (card), E10, A175 (coated) in trade.md section 2.
DEFAULT_BULKS = {"folio": 1.25, "card": 1.15, "cover": 0.95}


def sheets_in(reams: int = 0, quires: int = 0, sheets: int = 0) -> int:
    """Sheets in so many reams, quires and single sheets (ISO 4046-3)."""
    return reams * REAM + quires * QUIRE + sheets


def read_count(text: str, field: str = "count") -> int:
    """A count of sheets: a number, or reams, quires and sheets. Raises InputError.

    495 usable sheets of a ream are a normal count.

    >>> read_count("495"), read_count("3 reams + 4 quires"), read_count("1 ream")
    (495, 1600, 500)
    """
    per = {"ream": REAM, "quire": QUIRE, "sheet": 1}
    parts = re.findall(r"(\d[\d ]*)\s*([a-z]*)", text.strip().lower(), re.ASCII)
    left = re.sub(r"(\d[\d ]*)\s*([a-z]*)", "", text.strip().lower(), flags=re.ASCII)
    words = [word.removesuffix("s") or "sheet" for _, word in parts]
    if not parts or re.sub(r"[+,;&\s]|and", "", left) or any(word not in per for word in words):
        wrong = next((word for word in words if word not in per), "")
        near = difflib.get_close_matches(wrong, per, n=1, cutoff=0.65) if wrong else []
        raise InputError(field, "a number of sheets, or reams and quires", text,
                         f"Did you mean {near[0]}?" if near else "Write it like 495 or 1 ream.")  # fmt: skip
    count = sum(int(digits.replace(" ", "")) * per[word] for (digits, _), word in zip(parts, words, strict=True))
    if not 1 <= count <= 10_000_000:
        raise InputError(field, "from 1 to 10,000,000 sheets", text)
    return count


def grammage_of_basis_weight(pounds: float, a_inch: float, b_inch: float) -> float:
    """Grammage (g/m2) of paper of which a ream of basis size a x b inches weighs so many pounds."""
    return pounds * POUND_CONSTANT / (a_inch * b_inch)


def basis_weight(grammage: float, a_inch: float, b_inch: float) -> float:
    """Basis weight (lb) of a ream of basis size a x b inches, of paper of this grammage (g/m2)."""
    return grammage * a_inch * b_inch / POUND_CONSTANT


def caliper(grammage: float, bulk: float) -> float:
    """Caliper (mm) = grammage x bulk / 1000 (ISO 534: bulk = caliper in micrometres / grammage)."""
    return grammage * bulk / 1000


def bulk(grammage: float, caliper_mm: float) -> float:
    """Bulk (cm3/g) of paper of this grammage and caliper (ISO 534)."""
    return caliper_mm * 1000 / grammage


def mass(width_mm: float, height_mm: float, grammage: float, sheets: int = 1) -> float:
    """Mass (g) of so many sheets of width x height mm (ISO 536: grammage is mass over area)."""
    return width_mm * height_mm * 1e-6 * grammage * sheets


def damp_growth(side_mm: float, percent: float) -> float:
    """By how much (mm) a side grows in damp air; see DAMP_ACROSS for the percent across the grain of uncoated paper.

    >>> round(damp_growth(297, 0.4), 3)
    1.188
    """
    return side_mm * percent / 100


def pile_height(leaves: int, grammage: float, bulk: float) -> float:
    """Height (mm) of a pile of leaves; 1000 of bulk 1.0 stand as high as their grammage (kawidruck)."""
    return leaves * caliper(grammage, bulk)


def read_grammage(value: object, field: str = "grammage") -> float:
    """Grammage from a number (g/m2) or a text: `80 g`, `80 g/m2`, `20 lb bond`, `67 lb 22-1/2 x 30-1/2 in`.

    A basis weight needs its kind of paper or its basis size (inches); a size comes before the kind. Raises InputError.

    >>> read_grammage("80 g/m2"), round(read_grammage("20 lb bond"), 1), round(read_grammage("20 lb 17 x 22"), 1)
    (80.0, 75.2, 75.2)
    """
    if isinstance(value, int | float) and not isinstance(value, bool):
        grams = float(value)
    elif isinstance(value, str):
        found = _GRAMMAGE.fullmatch(value.strip().lower())
        if not found:
            raise InputError(field, _EXPECTED, value, "A basis weight needs its kind of paper." if "lb" in value.lower() else "")
        grams = float(Fraction(found["number"].replace(",", ".")))
        if found["pounds"]:
            grams = grammage_of_basis_weight(grams, *_basis_size(found["kind"], found["size"], value, field))
    else:
        raise InputError(field, _EXPECTED, value)
    if not 5 <= grams <= 2000:
        raise InputError(field, "from 5 to 2000 g/m2", value)
    return grams


_EXPECTED = "grammage such as 80 g/m2, or basis weight such as 20 lb bond"
_GRAMMAGE = re.compile(
    r"(?P<number>\d+(?:[.,]\d{1,2})?)\s*"
    r"(?:g|gsm|g/m2|g/m²|(?P<pounds>lb|lbs|#)\s*(?P<kind>[a-z]+)?\s*(?P<size>\d.*)?)?", re.ASCII)  # fmt: skip


def _basis_size(kind: str | None, size: str | None, value: str, field: str) -> tuple[float, float]:
    """The basis size in inches. Raises InputError."""
    if size is not None:
        _, a, b = read_size(size, "in", f"{field}, basis size")
        return a / TICKS_PER_INCH, b / TICKS_PER_INCH
    if kind is None:
        raise InputError(field, _EXPECTED, value, "A basis weight needs its kind of paper, or its basis size: 20 lb 17 x 22.")
    if kind not in BASIS_SIZES:
        near = difflib.get_close_matches(kind, BASIS_SIZES, n=1, cutoff=0.65)
        hint = f"Did you mean {near[0]}?" if near else f"Known kinds: {', '.join(BASIS_SIZES)}."
        raise InputError(field, _EXPECTED, value, hint)
    return BASIS_SIZES[kind]
