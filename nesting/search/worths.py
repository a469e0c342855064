"""Worths and costs as whole numbers for the solvers, and back."""

from __future__ import annotations

import math
from collections.abc import Sequence
from fractions import Fraction

LARGEST = 2**52


def exact(value: int | float) -> Fraction:
    """The number as it was written: 0.1 is one tenth."""
    return Fraction(value) if isinstance(value, int) else Fraction(repr(float(value)))


def plain(value: Fraction | int) -> int | float:
    """A number for a document: whole where it is whole."""
    exactly = Fraction(value)
    return int(exactly) if exactly.denominator == 1 else float(exactly)


def whole(values: Sequence[Fraction], times: int = 1, up: bool = True) -> tuple[list[int], Fraction]:
    """Whole numbers value x scale and the scale; exact where `times` of the largest stay within 2**52.

    Else the scale is smaller and the numbers are rounded up (down where not `up`): bounds made of them still hold.
    """
    scale = Fraction(math.lcm(*(v.denominator for v in values))) if values else Fraction(1)
    largest = max((abs(v) for v in values), default=Fraction(0)) * max(1, times)
    if largest * scale > LARGEST:
        scale = Fraction(LARGEST) / largest
    rounding = math.ceil if up else math.floor
    return [rounding(v * scale) for v in values], scale
