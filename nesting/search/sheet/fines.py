"""What soft rules of grain and print take off the values of blanks, in the whole numbers of one question.

A piece that breaks a rule with a price is worth so much less where it lies; one that would be worth less than nothing is
left out. Prices are rounded down where they are not whole, so that bounds on values less prices hold.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from fractions import Fraction

from ...blanks import Blank
from ...layouts import Layout, Node, Piece, leaves
from ...sheets import Sheet
from ..worths import whole
from .clear import Oriented
from .ground import Ground

Fines = tuple[tuple[int, int], ...]  # by blank: off for a broken rule of grain, of print; empty where nothing is taken off
NONE: Fines = ()


def priced_rules(blanks: Sequence[Blank]) -> bool:
    """Whether breaking some rule of grain or print costs anything."""
    return any(b.priced for b in blanks)


def whole_values(prices: Sequence[Fraction], blanks: Sequence[Blank], times: int) -> tuple[list[int], Fines, Fraction]:
    """Prices of the blanks and the fines of their rules in one scale, as `worths.whole` makes it; and that scale."""
    dearest = max(prices, default=Fraction(0))
    rules = [min(price, dearest) for b in blanks for price in b.prices]  # one as dear as all is worth shuts out as well
    values, scale = whole([*prices, *rules], times)
    if not any(rules):
        return values[: len(prices)], NONE, scale
    down = [math.floor(price * scale) for price in rules]
    return values[: len(prices)], tuple(zip(down[::2], down[1::2], strict=True)), scale


def fine_of(o: Oriented, fines: Fines) -> int:
    """What is taken off a blank as it lies."""
    return sum(fine for fine, broken in zip(fines[o.blank], o.broken, strict=True) if broken) if fines else 0


def value_of(o: Oriented, values: Sequence[int], fines: Fines) -> int:
    """What a blank is worth as it lies, 0 where it is better left out."""
    return max(0, values[o.blank] - fine_of(o, fines))


def fined(ground: Ground, blank: Blank, turn: int, fine: tuple[int, int]) -> int:
    """What is taken off one piece."""
    return sum(f for f, broken in zip(fine, blank.broken_on(ground.sheet, turn, ground.frame_deg), strict=True) if broken)


def fines_in(tree: Node | None, ground: Ground | None, blanks: Sequence[Blank], fines: Fines) -> int:
    """What is taken off all pieces of a tree on its ground."""
    if not fines or tree is None or ground is None:
        return 0
    index = {b.name: i for i, b in enumerate(blanks)}
    pieces = ((index[leaf.blank], leaf.turn) for leaf in leaves(tree) if isinstance(leaf, Piece))
    return sum(fined(ground, blanks[i], turn, fines[i]) for i, turn in pieces)


def paid(layouts: Sequence[Layout], sheets: Sequence[Sheet], blanks: Sequence[Blank]) -> Fraction:
    """The prices of all soft rules that the pieces of layouts break, all copies counted."""
    if not priced_rules(blanks):
        return Fraction(0)
    named, lying = {b.name: b for b in blanks}, {s.id: s for s in sheets}
    return sum((x.copies * named[p.blank].penalty_on(lying[x.sheet], p.turn, x.frame_deg) for x in layouts for p in x.pieces),
               Fraction(0))  # fmt: skip
