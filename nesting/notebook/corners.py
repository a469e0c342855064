"""What rounding takes off a corner (geometry). Usual radii 1/8, 1/4, 3/8, 1/2 in (Formax Printing); 3.5, 6, 10 mm: no source."""

from __future__ import annotations

import math


def area(radius: float) -> float:
    """The area of paper that falls off one corner: (1 - pi/4) r^2, in the square of the radius's unit."""
    return (1 - math.pi / 4) * radius**2


def shorter(radius: float) -> float:
    """By how much one rounded corner shortens the way round the page: (2 - pi/2) r."""
    return (2 - math.pi / 2) * radius


def tip(radius: float) -> float:
    """How far the tip of the corner draws back along the diagonal: (sqrt 2 - 1) r.

    >>> round(tip(6.35), 3)
    2.63
    """
    return (math.sqrt(2) - 1) * radius
