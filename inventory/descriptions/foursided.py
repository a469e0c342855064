"""Form 8: four sides measured with a rule, and one corner known to be square; the fourth corner is computed."""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction

from nesting.errors import InputError
from nesting.geometry import Ring
from nesting.lengths import Unit, show

from .exactly import Exact, root, shifted_to_zero, to_ticks
from .forms import SideLength, SquareCorner

_NAMES = {"B": "bottom", "T": "top", "L": "left", "R": "right"}
_EXAMPLE = "bottom 420; top 412; left 297; right 294; square BL"


def four_sided(lengths: Sequence[SideLength], squared: Sequence[SquareCorner], unit: Unit, where: str) -> Ring:
    """Corners low left, low right, high right, high left in ticks. Raises InputError where the sides cannot meet.

    With the square corner at O and the ends of its sides at A = (p, 0) and B = (0, q), the far corner X has the
    distances s from A and r from B: X = A + t AB + m n with AB = (-p, q), n = (q, p), d2 = p2 + q2,
    t = (s2 - r2 + d2) / 2 d2 and m = sqrt(s2 / d2 - t2) (two circles, plane geometry). It is rounded inward.
    """
    given = {part.side: part.length for part in lengths}
    missing = [_NAMES[side] for side in "BTLR" if side not in given]
    if missing or len(given) != len(lengths):
        found = f"no {', no '.join(missing)}" if missing else "a side twice"
        raise InputError(f"{where}, sides", f"each side once: {_EXAMPLE}", found)
    if len(squared) != 1:
        raise InputError(f"{where}, sides", f"one square corner: {_EXAMPLE}", f"{len(squared)}",
                         "Without a right angle four sides fix no shape; or give its corners.")  # fmt: skip
    low, left = squared[0].corner[0] == "B", squared[0].corner[1] == "L"
    near_level, far_level = ("B", "T") if low else ("T", "B")
    near_upright, far_upright = ("L", "R") if left else ("R", "L")
    p, q, r, s = given[near_level], given[near_upright], given[far_level], given[far_upright]
    x, y = _far_corner(p, q, r, s, f"{_NAMES[far_level]} and {_NAMES[far_upright]}", unit, where)
    ring: list[Exact] = [(Fraction(0), Fraction(0)), (p, Fraction(0)), (x, y), (Fraction(0), q)]
    placed = [(px if left else p - px, py if low else q - py) for px, py in ring]
    start = {"BL": 0, "BR": 1, "TR": 2, "TL": 3}[squared[0].corner]
    if left != low:
        placed = [placed[0], placed[3], placed[2], placed[1]]  # mirrored once: run the other way, counter-clockwise
    corners = [placed[(i - start) % 4] for i in range(4)]
    return shifted_to_zero(to_ticks(corners, inward=True))


def _far_corner(p: Fraction, q: Fraction, r: Fraction, s: Fraction, far: str, unit: Unit, where: str) -> Exact:
    d2 = p * p + q * q
    t = (s * s - r * r + d2) / (2 * d2)
    under = s * s / d2 - t * t
    if under <= 0:
        gap = root(d2, up=False) - r - s
        found = f"{far} together {show(int(gap), unit)} too short" if gap > 0 else f"{far} too unlike each other"
        raise InputError(f"{where}, sides", "four sides that can meet", found, "Measure again, or give its corners.")
    m = root(under, up=False)
    x, y = p - t * p + m * q, t * q + m * p
    if x <= 0 or y <= 0:
        raise InputError(f"{where}, sides", "four sides without a dent", f"{far} that fold inward",
                         "Measure again, or give its corners.")  # fmt: skip
    return x, y
