"""Where the time is too short: sheet after sheet is looked at once until all that is wanted is made.

A plan must be whole first, then good: a maker can cut from a poor plan, but not from half a one.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from fractions import Fraction

from ..budget import Budget
from ..sheet.filling import counted
from ..sheet.single import Found
from ..worths import exact, whole
from .choosing import as_chosen
from .columns import Pool, SheetClass
from .part import Part

OVERTIME = 10.0  # seconds beyond the time given, at most


def needed(part: Part) -> bool:
    """Whether a part has nothing to cut, or leaves unmade what there may be paper for."""
    return part.choice is None or (part.sense == "least" and part.short() and not part.closed())


def run(part: Part, classes: Iterable[SheetClass], late: Budget) -> None:
    """One layout of each class in turn, of what is still wanted then, until nothing is; taken as a choice.

    `classes`: those of the part's pool, or made one by one where the time was too short for them; the chosen ones first.
    """
    seen: list[SheetClass] = []
    cut: list[tuple[int, Found, int]] = []
    left = [b.quantity for b in part.blanks]
    try:
        for group, sheet_class in enumerate(classes):
            seen.append(sheet_class)
            if not sheet_class.must_be_cut and (late.over() or not any(n is None or n > 0 for n in left)):
                break
            cut += _from_class(part, group, sheet_class, left, late)
    finally:
        if len(seen) > len(part.pool.classes):
            part.pool = Pool(part.blanks, seen, part.pool.columns)
        copies = part.met(cut)
        if copies and part.sense == "least":
            part.take(as_chosen(part.pool, copies))


def _from_class(part: Part, group: int, sheet_class: SheetClass, left: list[int | None],
                late: Budget) -> list[tuple[int, Found, int]]:  # fmt: skip
    """What is cut from so many copies of a class; takes it off what is left to make."""
    out: list[tuple[int, Found, int]] = []
    copies = sheet_class.count
    while copies is None or copies > 0:
        values = _values(part, left)
        if not any(values) and not sheet_class.must_be_cut:
            break
        found = sheet_class.single.first(values, late) if any(values) else sheet_class.single.bare()
        counts = counted(found.tree, part.blanks)
        if not any(counts):
            break
        number = min([n // c for n, c in zip(left, counts, strict=True) if c and n is not None] or [copies or 1])
        number = max(1, number if copies is None else min(number, copies))
        out.append((group, found, number))
        for index, count in enumerate(counts):
            before = left[index]
            left[index] = None if before is None else max(0, before - number * count)
        if copies is None and all(n is None for n in left):
            break
        copies = None if copies is None else copies - number
        if late.over():
            break
    return out


def _values(part: Part, left: Sequence[int | None]) -> list[int]:
    """The blanks' worths, 0 for those of which no more is wanted."""
    worths = [exact(b.worth or 0) if n is None or n > 0 else Fraction(0) for b, n in zip(part.blanks, left, strict=True)]
    return whole(worths, 10_000)[0]
