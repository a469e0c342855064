"""Exhaustive answers for small cases, to hold the search to: every integer cut, every integer place."""

from __future__ import annotations

import itertools
from collections.abc import Callable, Sequence
from functools import cache

Rect = tuple[int, int, int, int]


def best_with_damage(width: int, height: int, bad: Sequence[Rect], pieces: Sequence[tuple[int, int, int]]) -> int:
    """The most worth of a width x height sheet with bad rectangles, any number of (w, h, worth), all cuts tried.

    Whole-number positions are enough: all damage and all sizes are whole, so every push stops at a whole number.
    """

    def alone(box: Rect) -> int:
        x0, y0, x1, y1 = box
        fitting = (worth for w, h, worth in pieces if w == x1 - x0 and h == y1 - y0)
        return 0 if meets(box, bad) else max(fitting, default=0)

    return _over_all_cuts(width, height, alone)


def most_started(width: int, height: int, bad: Sequence[Rect], piece: tuple[int, int],
                 allowed: Callable[[int, int], bool]) -> int:  # fmt: skip
    """The most pieces of one size that cuts part, each at a whole place that is allowed to start at: all cuts, all places."""

    def alone(box: Rect) -> int:
        x0, y0, x1, y1 = box
        return int((x1 - x0, y1 - y0) == piece and allowed(x0, y0) and not meets(box, bad))

    return _over_all_cuts(width, height, alone, piece)


def meets(box: Rect, others: Sequence[Rect]) -> bool:
    """Whether a box and any of the others have paper in common."""
    x0, y0, x1, y1 = box
    return any(bx0 < x1 and bx1 > x0 and by0 < y1 and by1 > y0 for bx0, by0, bx1, by1 in others)


def _over_all_cuts(width: int, height: int, alone: Callable[[Rect], int], least: tuple[int, int] = (0, 0)) -> int:
    """The most over all whole cuts, where a box in one piece is worth `alone`; smaller ones than `least` are worth nothing."""

    @cache
    def best(x0: int, y0: int, x1: int, y1: int) -> int:
        if x1 - x0 < least[0] or y1 - y0 < least[1]:
            return 0
        top = alone((x0, y0, x1, y1))
        for at in range(x0 + 1, x1):
            top = max(top, best(x0, y0, at, y1) + best(at, y0, x1, y1))
        for at in range(y0 + 1, y1):
            top = max(top, best(x0, y0, x1, at) + best(x0, at, x1, y1))
        return top

    return best(0, 0, width, height)


def best_limited(width: int, height: int, pieces: Sequence[tuple[int, int, int, int]], turning: bool) -> int:
    """The most worth of a clear sheet with at most `count` of each (w, h, worth, count): all cuts, all multisets."""

    @cache
    def holds(w: int, h: int) -> frozenset[tuple[int, ...]]:
        """Every vector of counts that a w x h box can give (dominated ones dropped)."""
        none = (0,) * len(pieces)
        found = {none}
        for i, (pw, ph, _, count) in enumerate(pieces):
            if count and ((pw <= w and ph <= h) or (turning and ph <= w and pw <= h)):
                found.add(tuple(int(j == i) for j in range(len(pieces))))
        for a, b in [((k, h), (w - k, h)) for k in range(1, w // 2 + 1)] + [((w, k), (w, h - k)) for k in range(1, h // 2 + 1)]:
            for one in holds(*a):
                for other in holds(*b):
                    found.add(tuple(min(p[3], x + y) for p, x, y in zip(pieces, one, other, strict=True)))
        return frozenset(
            v for v in found if not any(u != v and all(x >= y for x, y in zip(u, v, strict=True)) for u in found)
        )

    return max(sum(n * p[2] for n, p in zip(v, pieces, strict=True)) for v in holds(width, height))


def best_unlimited(width: int, height: int, pieces: Sequence[tuple[int, int, int]]) -> int:
    """The most worth of a clear sheet with any number of each (w, h, worth), every whole cut of every box tried."""

    @cache
    def best(w: int, h: int) -> int:
        top = max((worth for pw, ph, worth in pieces if pw <= w and ph <= h), default=0)
        for k in range(1, w // 2 + 1):
            top = max(top, best(k, h) + best(w - k, h))
        for k in range(1, h // 2 + 1):
            top = max(top, best(w, k) + best(w, h - k))
        return top

    return best(width, height)


def least_by_brute_force(kinds, pieces, turning):
    """Least worth (area) unmade, then least cost, over all ways to deal single pieces out to sheets."""
    n = len(pieces)
    holds = [[m for m in range(1, 2**n) if best_limited(
        w, h, tuple((*p, 1, 1) for i, p in enumerate(pieces) if m >> i & 1), turning) == m.bit_count()]
        for w, h, _, _ in kinds]  # fmt: skip
    best = {}
    copies = [range(min(n, n if c is None else c) + 1) for _, _, c, _ in kinds]
    for used in itertools.product(*copies):
        reached = {0}
        for kind, number in enumerate(used):
            for _ in range(number):
                reached |= {a | b for a in reached for b in holds[kind] if not a & b}
        for mask in reached:
            cost = sum(k[3] * u for k, u in zip(kinds, used, strict=True))
            best[mask] = min(best.get(mask, cost), cost)
    return min((sum(w * h for i, (w, h) in enumerate(pieces) if not mask >> i & 1), cost) for mask, cost in best.items())


def best_around_fixed(width: int, height: int, bad: Sequence[Rect], pieces: Sequence[tuple[int, int, int]],
                      fixed: Sequence[Rect]) -> int | None:  # fmt: skip
    """The most worth beside pieces that lie in fixed boxes, all whole cuts tried; None where no cuts free them all.

    As `best_with_damage`; a fixed box counts nothing itself, and no cut goes through one.
    """

    @cache
    def best(x0: int, y0: int, x1: int, y1: int) -> int | None:
        within = [b for b in fixed if meets((x0, y0, x1, y1), [b])]
        if any(b[0] < x0 or b[1] < y0 or b[2] > x1 or b[3] > y1 for b in within):
            return None
        if (x0, y0, x1, y1) in fixed:
            return 0
        top = None if within else 0
        if not within and not meets((x0, y0, x1, y1), bad):
            top = max((worth for w, h, worth in pieces if w == x1 - x0 and h == y1 - y0), default=0)
        halves = [(best(x0, y0, at, y1), best(at, y0, x1, y1)) for at in range(x0 + 1, x1)]
        halves += [(best(x0, y0, x1, at), best(x0, at, x1, y1)) for at in range(y0 + 1, y1)]
        return max([t for t in [top] if t is not None] + [a + b for a, b in halves if a is not None and b is not None],
                   default=None)  # fmt: skip

    return best(0, 0, width, height)
