"""Which sheets still give a blank of some size, and what of the formats in use each could then no longer give."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction

from ..blanks import Blank
from ..cutters import Cutter
from ..errors import InputError
from ..sheets import Sheet
from .arguments import check_room, checked_blanks, checked_cutter, checked_sheets
from .budget import Budget, Report, check_search_arguments
from .kernels import warm
from .sheet.filling import counted
from .sheet.leftovers import Leftovers
from .sheet.single import Found, Single
from .worths import exact, plain, whole

REFINE_STEPS, TRIAL_STEPS = 20_000, 2_000
TRIALS = 10  # prices tried for the blank, each half the way between two others
FINE = 64  # prices are fractions of the least worth


@dataclass(frozen=True)
class Giving:
    """A sheet that gives the blank as often as asked, and how many of it at most (`gives`: found, maybe not proven).

    `now` and `then`: how many of each format in use it could give, whole, and once the blank is taken out of it.
    `lost`: the worth between the two.
    """

    sheet: str
    gives: int
    now: tuple[tuple[str, int], ...]
    then: tuple[tuple[str, int], ...]
    lost: int | float


@dataclass(frozen=True)
class Fitting:
    """The sheets that give it, least spoiled first; the most that any one gives; how many sheets were looked at in the time."""

    giving: tuple[Giving, ...]
    most: int
    looked_at: int


def fitting(sheets: Sequence[Sheet], blank: Blank, in_use: Sequence[Blank] = (), cutter: Cutter | None = None,
            seconds: float = 10.0, frames: object = "auto", progress: Report | None = None) -> Fitting:  # fmt: skip
    """Which of the sheets give `blank.quantity` (None: 1) of a blank, least spoiled first.

    A sheet is spoiled by the worth that blanks `in_use` (none: this blank) can no longer have from it: what its best layout
    gives now, less the best met beside the blank. Ties: the smaller sheet, then the id. Sheets that the deadline leaves out
    are not told of: `looked_at`. Raises InputError.

    >>> import nesting
    >>> found = fitting([nesting.Sheet.rectangle("a", 300, 200)], nesting.Blank("b", 100, 100))
    >>> found.giving[0].gives, found.giving[0].lost
    (6, 10000)
    """
    check_search_arguments(seconds, None, 0, 1)
    wanted = blank.quantity or 1
    blanks = checked_blanks([blank, *(b for b in in_use)])
    sheets, cutter = checked_sheets(sheets), checked_cutter(cutter)
    check_room(sheets, blanks)
    if any(b.quantity is not None for b in in_use):
        raise InputError("in_use", "blanks without a quantity", "one with a quantity")
    warm(lambda text: Budget(seconds, None, progress).report("compiling", text=text))
    budget = Budget(seconds, None, progress)
    found: list[tuple[Fraction, int, str, Giving]] = []
    most = looked_at = 0
    for sheet in sheets:
        if looked_at and budget.over():
            break
        giving, gives = _giving(sheet, blanks, wanted, cutter, frames, budget)
        looked_at, most = looked_at + 1, max(most, gives)
        if giving is not None:
            found.append((exact(giving.lost), sheet.area2, sheet.id, giving))
        budget.report("sheets", looked_at, len(sheets))
    return Fitting(tuple(entry[3] for entry in sorted(found, key=lambda e: e[:3])), most, looked_at)


def _giving(sheet: Sheet, blanks: Sequence[Blank], wanted: int, cutter: Cutter | None, frames: object,
            budget: Budget) -> tuple[Giving | None, int]:  # fmt: skip
    """What one sheet gives, where it gives enough; and how many."""
    own = blanks[:1]
    single = Single(sheet, own, cutter, frames)
    if not single.possible():
        return None, 0
    alone = single.best([1], budget, REFINE_STEPS)
    if alone.value < wanted:
        return None, alone.value
    gives = alone.value
    if len(blanks) == 1:
        worth = exact(own[0].worth or 0)
        now, then = ((own[0].name, gives),), ((own[0].name, gives - wanted),)
        return Giving(sheet.id, gives, now, then, plain(worth * wanted)), gives
    before, after = _beside(Single(sheet, blanks, cutter, frames), blanks, wanted, alone, budget)
    worths = [exact(b.worth or 0) for b in blanks[1:]]
    lost = sum((w * (b - a) for w, b, a in zip(worths, before, after, strict=True)), Fraction(0))
    if lost < 0:  # beside the blank the better layout of the others was found
        before, lost = after, Fraction(0)
    names = [b.name for b in blanks[1:]]
    return Giving(sheet.id, gives, tuple(zip(names, before, strict=True)), tuple(zip(names, after, strict=True)),
                  plain(lost)), gives  # fmt: skip


def _beside(single: Single, blanks: Sequence[Blank], wanted: int, alone: Found,
            budget: Budget) -> tuple[list[int], list[int]]:  # fmt: skip
    """How many of the other blanks the sheet gives, whole and beside `wanted` of the first.

    The blank is given a price, higher where too few of it come out and lower where enough do (Lagrangian relaxation of its
    number); each layout with enough of it is cut back to what is wanted and filled up with the others.
    """
    values, _ = whole([exact(b.worth or 0) for b in blanks[1:]], 10_000)
    common = math.gcd(*values)
    values = [FINE * (v // common) for v in values]
    limited = [_with_quantity(blanks[0], wanted), *blanks[1:]]
    full = single.best([0, *values], budget, REFINE_STEPS)
    before = counted(full.tree, blanks)[1:]
    best: list[int] = []

    def take(layout: Found) -> int:
        nonlocal best
        assert layout.tree is not None and layout.ground is not None
        counts = counted(layout.tree, limited)
        if counts[0] >= wanted:
            kept = Leftovers(layout.ground, limited, [0, *values], [wanted, *counts[1:]]).filled(layout.tree)
            after = counted(kept, limited)[1:]
            if not best or _total(values, after) > _total(values, best):
                best = after
        return counts[0]

    take(alone)
    low, high = 0, max(full.bound, FINE) + 1
    for _ in range(TRIALS):
        price = (low + high) // 2
        if price == low or budget.over() or _total(values, best) >= full.bound:
            break
        if take(single.best([price, *values], budget, TRIAL_STEPS)) >= wanted:
            high = price
        else:
            low = price
    return before, best


def _total(values: Sequence[int], counts: Sequence[int]) -> int:
    return sum(v * n for v, n in zip(values, counts, strict=True))


def _with_quantity(blank: Blank, quantity: int) -> Blank:
    from ..lengths import mm

    return Blank(blank.name, mm(blank.width), mm(blank.height), quantity, blank.turns, blank.grain, blank.up, blank.worth,
                 blank.material)  # fmt: skip
