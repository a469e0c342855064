"""One clear rectangle with limited copies as numbers, and bounds on its worth by prices on copies.

Lagrangian relaxation: a price on every copy is taken off the worths; the best layout at these worths without any
limit, plus the price of all copies there are, bounds every layout within the limits (Christofides & Hadjiconstantinou,
European J. Oper. Res. 83(1), 1995, and Fisher, Management Science 27(1), 1981, from memory). Prices move by
subgradients.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from .clear import Oriented
from .merging_kernels import inner_table
from .sizes import reachable

MOST_SIZES = 4_000  # on one axis
MOST_WORK = 4_000_000_000  # looks at parts for one table
MOST_LENGTH = 2**24  # of a side in units
MOST_WAYS = 300  # of blanks to lie
FINE = 2**50  # weights are worths times a power of two, so that all together stay below this
ROUNDS, STALE = 300, 12


@dataclass(frozen=True, eq=False)
class Limits:
    """A clear box in units: reachable sizes, oriented blanks that fit, worths and most copies by blank.

    `quantity[i]` copies at most, 0 for a blank that does not fit. Blanks have positive whole worths.
    """

    width: int
    height: int
    unit: tuple[int, int]
    oriented: tuple[Oriented, ...]
    worth: tuple[int, ...]
    quantity: tuple[int, ...]
    xs: Any
    ys: Any
    under: tuple[Any, Any]

    def total(self) -> int:
        """The worth of all copies together."""
        return sum(v * q for v, q in zip(self.worth, self.quantity, strict=True))


def limits(width: int, height: int, oriented: Sequence[Oriented], worth: Sequence[int],
           quantity: Sequence[int | None], work: int = MOST_WORK) -> Limits | None:  # fmt: skip
    """The problem in its own units; None where a table over its reachable sizes would take more than `work`."""
    oriented = [o for o in oriented if worth[o.blank] > 0]
    if not oriented:
        return None
    units = math.gcd(*(o.width for o in oriented)), math.gcd(*(o.height for o in oriented))
    small = tuple(Oriented(o.blank, o.name, o.turn, o.width // units[0], o.height // units[1]) for o in oriented)
    sides = width // units[0], height // units[1]
    if max(sides) > MOST_LENGTH or len(small) > MOST_WAYS:
        return None
    fits = {o.blank for o in small}
    most = [min(int(1e6) if q is None else q, width * height // min(o.width * o.height for o in oriented if o.blank == i))
            if i in fits else 0 for i, q in enumerate(quantity)]  # fmt: skip
    lines = []
    for side, extent in enumerate(sides):
        sizes = [[(o.width, o.height)[side] for o in small if o.blank == i] for i in range(len(worth))]
        found = sums(sizes, most, extent)
        if found is None:
            return None
        lines.append(found)
    if len(lines[0]) * len(lines[1]) * (len(lines[0]) + len(lines[1])) > min(work, MOST_WORK):
        return None
    return Limits(*sides, units, small, tuple(worth), tuple(most), lines[0], lines[1], (under(lines[0]), under(lines[1])))


def sums(sizes: Sequence[Sequence[int]], most: Sequence[int], extent: int) -> Any:
    """Sorted sums, up to `extent`, of at most most[i] of the sizes[i] for every i; None where they are too many."""
    every = reachable([s for some in sizes for s in some], [0], extent, MOST_SIZES)
    if every is None:
        return None
    found = {0}
    for some, copies in zip(sizes, most, strict=True):
        fresh = found
        for _ in range(copies):
            fresh = {a + s for a in fresh for s in some if a + s <= extent} - found
            if not fresh:
                break
            found = found | fresh
    return np.array(sorted(found), np.int64)


def under(sizes: Any) -> Any:
    """under[i, k]: the last size that fits into sizes[i] beside sizes[k] (k no more than i, else 0)."""
    rest = sizes[:, None] - sizes[None, :]
    return np.maximum(np.searchsorted(sizes, rest, side="right") - 1, 0).astype(np.int32)


@dataclass(frozen=True, eq=False)
class Priced:
    """Weights of the blanks, and what a layout worth `target` or more weighs at least: need + per_worth * target."""

    weights: tuple[int, ...]
    need: int
    per_worth: int

    def bound(self, most: int) -> int:
        """No layout is worth more, where none weighs more than `most`."""
        return (most - self.need) // self.per_worth


def priced(problem: Limits, prices: Sequence[float], free: bool = False) -> Priced:
    """Worths less prices as whole weights. A price below 0 needs `free`: only where every copy must be placed."""
    scale = fineness(problem)
    weights = [max(0, v * scale - round(p * scale)) for v, p in zip(problem.worth, prices, strict=True)]
    if not free:
        weights = [min(w, v * scale) for w, v in zip(weights, problem.worth, strict=True)]
    paid = sum((v * scale - w) * q for v, w, q in zip(problem.worth, weights, problem.quantity, strict=True))
    return Priced(tuple(weights), -paid, scale)


def fineness(problem: Limits) -> int:
    """Weights are worths times this, at least 1."""
    return 1 << max(0, min(10, (FINE // max(1, problem.total())).bit_length() - 2))


class Unlimited:
    """The best weight of every reachable box without limits, and how many of each blank the best layout has."""

    def __init__(self, problem: Limits, weights: Sequence[int]) -> None:
        self._problem = problem
        self._ways = [(o, weights[o.blank]) for o in problem.oriented if weights[o.blank] > 0]
        own = np.zeros((problem.xs.size, problem.ys.size), np.int64)
        for o, weight in self._ways:
            at = int(np.searchsorted(problem.xs, o.width)), int(np.searchsorted(problem.ys, o.height))
            own[at] = max(own[at], weight)
        # sums of limited copies are not closed under addition, so every part must be tried: not `size_rows`
        self.table = inner_table(problem.xs, problem.ys, *problem.under, own, 0)

    def counts(self) -> list[int]:
        """How many of each blank a best layout of the whole box has."""
        out = [0] * len(self._problem.worth)
        xs, ys = self._problem.xs, self._problem.ys
        todo = [(len(xs) - 1, len(ys) - 1)]
        while todo:
            i, j = todo.pop()
            here = self.table[i, j]
            if here == 0:
                continue
            i = int(np.searchsorted(self.table[: i + 1, j], here))  # slack off: the table never falls
            j = int(np.searchsorted(self.table[i, : j + 1], here))
            leaf = next((o for o, v in self._ways if v == here and o.width <= xs[i] and o.height <= ys[j]), None)
            if leaf is not None:
                out[leaf.blank] += 1
                continue
            rest = np.searchsorted(xs, xs[i] - xs[1:i], side="right") - 1
            ways = np.flatnonzero(self.table[1:i, j] + self.table[rest, j] == here)
            if ways.size:
                todo += [(int(ways[0]) + 1, j), (int(rest[ways[0]]), j)]
                continue
            rest = np.searchsorted(ys, ys[j] - ys[1:j], side="right") - 1
            ways = np.flatnonzero(self.table[i, 1:j] + self.table[i, rest] == here)
            todo += [(i, int(ways[0]) + 1), (i, int(rest[ways[0]]))]
        return out


def lower_prices(problem: Limits, known: int, stop: Callable[[], bool], free: bool = False,
                 rounds: int = ROUNDS) -> tuple[list[float], int]:  # fmt: skip
    """Prices with a low bound, and the bound. `known`: a worth that a layout has. `free`: see `priced`."""
    prices = [0.0] * len(problem.worth)
    best, bound = prices, problem.total()
    share, stale, lowest = 1.0, 0, math.inf
    for number in range(rounds):
        if number and stop():
            break
        weighed = priced(problem, prices, free)
        relaxed = Unlimited(problem, weighed.weights)
        exact = (int(relaxed.table[-1, -1]) - weighed.need) / weighed.per_worth
        here = weighed.bound(int(relaxed.table[-1, -1]))
        if exact < lowest - 1e-9:
            stale, lowest, best = 0, exact, prices
        else:
            stale += 1
        bound = min(bound, here)
        over = [c - q for c, q in zip(relaxed.counts(), problem.quantity, strict=True)]
        over = [t if free or t > 0 or p > 0 else 0 for t, p in zip(over, prices, strict=True)]
        size = sum(t * t for t in over)
        if size == 0 or bound <= known:
            break
        if stale >= STALE:
            share, stale, prices = share / 2, 0, best
            if share < 1e-3:
                break
            continue
        move = share * max(exact - known, 1e-3) / size
        prices = [p + move * t if free else min(float(v), max(0.0, p + move * t))
                  for p, t, v in zip(prices, over, problem.worth, strict=True)]  # fmt: skip
    return best, bound
