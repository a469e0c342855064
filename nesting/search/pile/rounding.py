"""Whole copies near the linear program's: a choice at once, for the exact choice to begin with or to fall back on."""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction
from typing import Any

import numpy as np

from .columns import Column, Pool

NEARLY = 1e-6  # what a copy may lack to be whole


def rounded_copies(pool: Pool, sense: str, prices: Sequence[Fraction], copies: Sequence[float]) -> list[int]:
    """Copies of the pool's columns, within the sheets there are.

    Whole copies first, then the fullest fractions; "least": as long as anything is wanted, then what is worth most for
    its cost of what is still wanted, and at last none that is not needed; "most": every sheet left takes its best.
    """
    columns = list(pool.columns.values())
    counts = np.array([c.counts for c in columns], float)
    worth = np.array([float(p) for p in prices])
    cost = np.array([max(float(pool.classes[c.group].cost), 1e-9) for c in columns])
    groups = np.array([c.group for c in columns])
    left = np.array([np.inf if g.count is None else g.count for g in pool.classes])
    need = np.array([np.inf if b.quantity is None else b.quantity for b in pool.blanks], float)
    out = np.zeros(len(columns), np.int64)

    def take(number: int, times: int) -> None:
        out[number] += times
        left[groups[number]] -= times
        np.maximum(need - times * counts[number], 0, out=need)

    for number, group in enumerate(pool.classes):
        if group.must_be_cut:
            best = max((i for i, c in enumerate(columns) if c.group == number), key=lambda i: (copies[i], -i))
            take(best, 1)
    for number in sorted(range(len(columns)), key=lambda i: (-copies[i], i)):
        whole = int(min(copies[number] + NEARLY, left[groups[number]])) - out[number]
        if whole > 0:
            take(number, int(whole))
    for number in sorted(range(len(columns)), key=lambda i: (-(copies[i] % 1), i)):
        if copies[number] % 1 > 0.5 and left[groups[number]] > 0 and (np.minimum(need, counts[number]) @ worth) > 0:
            take(number, 1)
    while need.any():
        gain = np.where(left[groups] > 0, np.minimum(need, counts) @ worth, 0.0) / (cost if sense == "least" else 1.0)
        best = int(np.argmax(gain))
        if gain[best] <= 0:
            break
        take(best, 1)
    if sense == "least":
        _pruned(pool, columns, counts, cost, out)
    return [int(n) for n in out]


def _pruned(pool: Pool, columns: Sequence[Column], counts: Any, cost: Any, out: Any) -> None:
    """Leave out what is not needed, the dearest first."""
    wanted = np.array([b.quantity or 0 for b in pool.blanks])
    over = out @ counts - wanted
    for number in sorted((int(i) for i in np.flatnonzero(out)), key=lambda i: (-cost[i], i)):
        if not pool.classes[columns[number].group].must_be_cut:
            used = counts[number] > 0
            spare = int(min([out[number], *(over[used] // counts[number][used])])) if used.any() else int(out[number])
            if spare > 0:
                out[number] -= spare
                over -= spare * counts[number]
