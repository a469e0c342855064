"""Pieces that a choice gives beyond what is wanted: which stay uncut, and what rules broken cost once they do.

The dearest by the rules they break stay uncut first; among equals the last sheets' pieces, so that whole sheets may be
spared.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from fractions import Fraction

from .columns import Column

Kind = tuple[int, int]  # blank and turn
ANY_TURN = -1  # of those that break no rule with a price


@dataclass(frozen=True)
class Dealt:
    """A column cut from a sheet so many times, with so many pieces of each kind left uncut in every copy."""

    column: Column
    sheet: str
    copies: int
    uncut: dict[Kind, int] = field(default_factory=dict)


def penalty_paid(columns: Sequence[Column], copies: Sequence[int], made: Sequence[int]) -> Fraction:
    """What rules broken cost when of all pieces of the columns only `made` are cut, the cheapest by these rules."""
    total = sum((c.forced * n for c, n in zip(columns, copies, strict=True)), Fraction(0))
    for blank, wanted in enumerate(made):
        given = sum(c.counts[blank] * n for c, n in zip(columns, copies, strict=True))
        surplus = given - wanted
        dear = [(each, count * n) for c, n in zip(columns, copies, strict=True) for b, _, each, count in c.broken if b == blank]
        for each, count in sorted(dear, reverse=True):
            total += each * (count - min(count, surplus))
            surplus -= min(count, surplus)
    return total


def without_surplus(cut: Sequence[Dealt], made: Sequence[int], keep_one: bool = False) -> list[Dealt]:
    """The same with every surplus piece left uncut.

    Sheets of which nothing is wanted are left whole, unless each is to keep a piece (`keep_one`) and can.
    """
    for keep in (True, False) if keep_one else (False,):
        surplus = [sum(d.copies * d.column.counts[i] for d in cut) - m for i, m in enumerate(made)]
        out = list(cut)
        for level in sorted({Fraction(0), *(each for d in cut for _, _, each, _ in d.column.broken)}, reverse=True):
            out = _pass(out, surplus, level, keep)
        if not any(surplus):
            break
    return out


def _pass(cut: Sequence[Dealt], surplus: list[int], level: Fraction, keep_one: bool) -> list[Dealt]:
    """Leave surplus pieces uncut whose penalty is `level`, where least is shown, then from the last sheets on.

    `surplus` falls.
    """
    found: list[tuple[int, Dealt]] = []
    for number, dealt in sorted(enumerate(cut), key=lambda item: (_shown_a_piece(item[1].column), -item[0])):
        left = {k: n - dealt.uncut.get(k, 0) for k, n in _kinds(dealt.column, level).items()}
        copies = dealt.copies
        while copies > 0 and any(n > 0 and surplus[blank] > 0 for (blank, _), n in left.items()):
            before, uncut, fresh = list(surplus), dict(dealt.uncut), []
            for kind, n in left.items():
                off = min(n, surplus[kind[0]])
                surplus[kind[0]] -= off
                if off:
                    uncut[kind] = uncut.get(kind, 0) + off
                    fresh.append(kind)
            if keep_one and sum(uncut.values()) == sum(dealt.column.counts):
                back = min(fresh, key=lambda kind: (before[kind[0]], kind))
                uncut[back] -= 1
                surplus[back[0]] += 1
                if sum(uncut.values()) == sum(dealt.uncut.values()):
                    break  # it was the only one
            copies -= 1
            if sum(uncut.values()) < sum(dealt.column.counts):
                found.append((number, replace(dealt, copies=1, uncut=uncut)))
        if copies > 0:
            found.append((number, replace(dealt, copies=copies)))
    found.sort(key=lambda item: -item[0])
    return [dealt for _, dealt in reversed(found)]


def _shown_a_piece(column: Column) -> float:
    return column.total_shown() / sum(column.counts)


def _kinds(column: Column, level: Fraction) -> dict[Kind, int]:
    """The pieces of a column whose penalty is `level`, by blank and turn (any turn where it breaks none)."""
    if level:
        return {(blank, turn): count for blank, turn, each, count in column.broken if each == level}
    left = list(column.free)
    for blank, _, _, count in column.broken:
        left[blank] -= count
    return {(blank, ANY_TURN): count for blank, count in enumerate(left) if count}
