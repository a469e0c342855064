"""What is known of a paper: of grammage, caliper and bulk any two give the third; one alone takes a usual bulk.

>>> measure(grammage=80, caliper=0.1).bulk
1.25
>>> measure(grammage=80).assumed
True
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from fractions import Fraction

from nesting.errors import InputError, finite
from nesting.lengths import TICKS_PER_INCH, Unit, exact, rounded

from . import paper
from .paper import DEFAULT_BULKS
from .parts import Material

LEAST_BULK, MOST_BULK = 0.5, 4.0  # glassine to blotting and bulky handmade paper: from memory
# A ream may differ by 5 % in grammage, a sheet by 0.013 mm in caliper, and still be what its label says (JCP A55, O-63).
_GRAMMAGE_TOLERANCE, _CALIPER_TOLERANCE = 0.05, 0.013
_TEN = "Measure ten sheets together and divide by ten, or write it so: 10 sheets 1.02 mm."
_POINT = Fraction(TICKS_PER_INCH, 1000)  # caliper points: thousandths of an inch
_SHEETS = re.compile(r"(\d{1,4})\s+sheets?\s*[:,=]?\s+(.+)", re.IGNORECASE)
_POINTS = re.compile(r"(\d{1,3}(?:\.\d{1,3})?)\s*(?:pt|points?)\.?", re.IGNORECASE)


@dataclass(frozen=True)
class Measures:
    """Grammage (g/m2), caliper (mm) and bulk (cm3/g) of a paper; `assumed`: by a usual bulk, since it was not measured."""

    grammage: float
    caliper: float
    bulk: float
    assumed: bool = False


def measure(grammage: float | None = None, caliper: float | None = None, bulk: float | None = None, *,
            material: Material = "folio", field: str = "paper") -> Measures:  # fmt: skip
    """All three measures of a paper from two of them, or from one and the usual bulk of its material.

    Bulk = caliper in micrometres / grammage (ISO 534). Raises InputError where three do not agree (and says what any
    two of them would give), where the bulk is none that paper has, and where grammage and caliper are both missing.
    """
    for name, value, least, most in (("grammage", grammage, 5, 2000), ("caliper", caliper, 0.005, 5), ("bulk", bulk, 0.1, 20)):
        if value is not None and (not finite(value) or not least <= value <= most):
            raise InputError(f"{field}, {name}", f"a number from {least} to {most}", value)
    if grammage is None and caliper is None:
        given = "nothing" if bulk is None else f"bulk {bulk:g} alone"
        raise InputError(field, "two of grammage, caliper and bulk, or grammage or caliper alone", given, _TEN)
    assumed = sum(value is None for value in (grammage, caliper, bulk)) == 2
    if bulk is None:
        bulk = DEFAULT_BULKS[material] if assumed else _bulk(grammage, caliper, field)
    _possible(bulk, field)
    if grammage is None:
        assert caliper is not None
        return Measures(caliper * 1000 / bulk, caliper, bulk, assumed)
    thick = paper.caliper(grammage, bulk)
    if caliper is None:
        return Measures(grammage, thick, bulk, assumed)
    if abs(thick - caliper) > max(_GRAMMAGE_TOLERANCE * caliper, _CALIPER_TOLERANCE):
        raise InputError(
            field, "grammage, caliper and bulk that agree",
            f"{grammage:g} g/m2, {caliper:g} mm and bulk {bulk:g}",
            f"{grammage:g} g/m2 and {caliper:g} mm agree with bulk {_bulk(grammage, caliper, field, check=False):.2f}; "
            f"{grammage:g} g/m2 and bulk {bulk:g} with {thick:.3f} mm; "
            f"{caliper:g} mm and bulk {bulk:g} with {caliper * 1000 / bulk:.0f} g/m2. "
            "Leave out the one that you trust least.")  # fmt: skip
    return Measures(grammage, caliper, bulk, assumed)


def _bulk(grammage: float | None, thick: float | None, field: str, *, check: bool = True) -> float:
    assert grammage is not None and thick is not None
    found = paper.bulk(grammage, thick)
    if check and not LEAST_BULK <= found <= MOST_BULK:
        least, most = paper.caliper(grammage, LEAST_BULK), paper.caliper(grammage, MOST_BULK)
        raise InputError(field, f"a caliper from {least:.3f} to {most:.3f} mm for {grammage:g} g/m2", f"{thick:g} mm",
                         f"Is it in the right unit, and of one sheet? {_TEN}")  # fmt: skip
    return found


def _possible(value: float, field: str) -> None:
    if not LEAST_BULK <= value <= MOST_BULK:
        raise InputError(f"{field}, bulk", f"from {LEAST_BULK} to {MOST_BULK:g} cm3/g", value, "Text paper has about 1.25.")


def read_caliper(value: object, unit: Unit | None = None, field: str = "caliper") -> int:
    """The caliper of one sheet in ticks, to the nearest: a length, several sheets measured together, or points.

    A bare number is in `unit`. Raises InputError.

    >>> read_caliper("0.1 mm"), read_caliper("10 sheets 1.02 mm"), read_caliper("10 pt")
    (800, 816, 2032)
    """
    if isinstance(value, bool) or not isinstance(value, str | int | float):
        raise InputError(field, 'a length such as "0.1 mm", or "10 sheets 1.02 mm"', value)
    text = str(value).strip()
    several = _SHEETS.fullmatch(text)
    if several:
        sheets = int(several.group(1))
        if sheets == 0:
            raise InputError(field, "a number of sheets above 0", text)
        return rounded(_length(several.group(2), unit, field) / sheets, "near")
    return rounded(_length(text, unit, field), "near")


def _length(text: str, unit: Unit | None, field: str) -> Fraction:
    points = _POINTS.fullmatch(text)
    return Fraction(points.group(1)) * _POINT if points else exact(text, unit, field)
