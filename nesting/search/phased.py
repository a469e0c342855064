"""The most pieces of one size, cut edge to edge, where they may start only at given places: exact.

A piece pushed low on an axis comes to lie against the edge of the paper, damage or another piece, or on the last place it
may start at; cuts then follow the ends of pieces. So a region is named by the first and last start in it on each axis, and
the best of a region is one piece or the best of two parts (dynamic program, after Gilmore & Gomory 1966; Beasley 1985).
Two quick layouts, in columns and in rows, often meet a quick limit, and the program is not run.
"""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from ..geometry import Box

State = tuple[int, int, int, int]
STEPS = 2_000_000
MOST_STARTS = 800  # of both axes together: beyond, the program would nest too deep


@dataclass(frozen=True)
class Packing:
    """The pieces of the best layout found, as boxes, and the most that any layout has."""

    pieces: tuple[Box, ...]
    limit: int

    @property
    def proven(self) -> bool:
        """Whether no layout has more."""
        return len(self.pieces) >= self.limit


class _OutOfSteps(Exception):
    pass


def pushed_starts(low: int, high: int, edges: Iterable[int], size: int) -> list[int]:
    """Where pieces may start that are pushed low: at the low end, at an edge, at the end of another piece.

    >>> pushed_starts(0, 10, [5], 3)
    [0, 3, 5, 6]
    """
    found: set[int] = set()
    todo = [low, *(edge for edge in edges if edge > low)]
    while todo:
        start = todo.pop()
        if start + size <= high and start not in found:
            found.add(start)
            todo.append(start + size)
    return sorted(found)


def packed(bad: Sequence[Box], width: int, height: int, across: Sequence[int], along: Sequence[int], at_least: int = 0,
           steps: int = STEPS) -> Packing:  # fmt: skip
    """The most pieces of this size clear of the bad boxes, with starts of these two sorted lists.

    `at_least`: a layout with no more than so many is of no use; where the quick limit says that, none is given. `steps`: cuts
    tried at most; after that the quick layout is given with the quick limit.

    >>> len(packed([], 2, 2, [0, 2, 4], [0, 3]).pieces)
    6
    """
    if not across or not along:
        return Packing((), 0)
    search = _Search(bad, width, height, across, along)
    limit = search.quick_limit()
    if limit <= at_least:
        return Packing((), limit)
    quick = search.quick()
    if len(quick) == limit or len(across) + len(along) > MOST_STARTS:
        return Packing(search.boxes(quick), limit)
    try:
        exact = search.best(steps)
    except _OutOfSteps:
        return Packing(search.boxes(quick), limit)
    return Packing(search.boxes(exact), len(exact))


class _Search:
    """One problem; places are pairs of indices of starts."""

    def __init__(self, bad: Sequence[Box], width: int, height: int, across: Sequence[int], along: Sequence[int]) -> None:
        self.bad, self.w, self.h, self.us, self.vs = tuple(bad), width, height, list(across), list(along)
        self.next_u = [bisect_left(self.us, u + width) for u in self.us]
        self.next_v = [bisect_left(self.vs, v + height) for v in self.vs]
        self.free = [[not self._hit(u, v, u + width, v + height) for v in self.vs] for u in self.us]
        self._runs: dict[tuple[int, int, int], int] = {}

    def _hit(self, u0: int, v0: int, u1: int, v1: int) -> bool:
        return any(a < u1 and c > u0 and b < v1 and d > v0 for a, b, c, d in self.bad)

    def boxes(self, places: Iterable[tuple[int, int]]) -> tuple[Box, ...]:
        """The pieces at these places."""
        found = ((self.us[i], self.vs[k]) for i, k in places)
        return tuple(sorted((u, v, u + self.w, v + self.h) for u, v in found))

    # the quick layouts and the quick limit

    def quick(self) -> list[tuple[int, int]]:
        """The better of columns of pieces side by side and rows one above the other."""
        turned = [list(row) for row in zip(*self.free, strict=True)]
        columns = _strips(self.free, self.next_u, self.next_v)
        rows = [(i, k) for k, i in _strips(turned, self.next_v, self.next_u)]
        return max(columns, rows, key=len)

    def quick_limit(self) -> int:
        """Lines a piece's height apart cross each piece once, and each line only so many: the least sum, either way."""
        turned = [list(row) for row in zip(*self.free, strict=True)]
        return min(_crossed(self.free, self.vs, self.next_u, self.h), _crossed(turned, self.us, self.next_v, self.w))

    # the exact program

    def best(self, steps: int) -> list[tuple[int, int]]:
        """The places of the best layout. Raises _OutOfSteps."""
        self._left = steps
        self._memo: dict[State, tuple[int, tuple[State, State] | tuple[int, int] | None]] = {}
        whole = (0, len(self.us) - 1, 0, len(self.vs) - 1)
        self._value(whole)
        out: list[tuple[int, int]] = []
        todo = [whole]
        while todo:
            i, j, k, m = state = todo.pop()
            value, how = self._memo[state]
            if how is None:
                out += [] if not value else [(a, b) for a in self._run(0, i, j) for b in self._run(1, k, m)]
            elif isinstance(how[0], tuple):
                todo += [part for part in how if isinstance(part, tuple)]
            else:
                out.append((how[0], how[1]))
        return out

    def _run(self, axis: int, first: int, last: int) -> list[int]:
        """As many starts as follow each other without overlap."""
        after = (self.next_u, self.next_v)[axis]
        out = []
        while first <= last:
            out.append(first)
            first = after[first]
        return out

    def _count(self, axis: int, first: int, last: int) -> int:
        key = axis, first, last
        if key not in self._runs:
            self._runs[key] = len(self._run(axis, first, last))
        return self._runs[key]

    def _most(self, state: State) -> int:
        return self._count(0, state[0], state[1]) * self._count(1, state[2], state[3])

    def _value(self, state: State) -> int:
        if state in self._memo:
            return self._memo[state][0]
        i, j, k, m = state
        most = self._most(state)
        if not self._hit(self.us[i], self.vs[k], self.us[j] + self.w, self.vs[m] + self.h):
            self._memo[state] = most, None
            return most
        best, how = 0, self._single(state)
        if how is not None:
            best = 1
            for low, high in self._cuts(state):
                self._left -= 1
                if self._left < 0:
                    raise _OutOfSteps
                if best == most:
                    break
                if self._most(low) + self._most(high) <= best:
                    continue
                found = self._value(low)
                if found + self._most(high) > best and (found := found + self._value(high)) > best:
                    best, how = found, (low, high)  # type: ignore[assignment]
        self._memo[state] = best, how
        return best

    def _single(self, state: State) -> tuple[int, int] | None:
        i, j, k, m = state
        return next(((a, b) for a in range(i, j + 1) for b in range(k, m + 1) if self.free[a][b]), None)

    def _cuts(self, state: State) -> Iterable[tuple[State, State]]:
        i, j, k, m = state
        for end in range(i, j):
            if self.next_u[end] <= j:
                yield (i, end, k, m), (self.next_u[end], j, k, m)
        for end in range(k, m):
            if self.next_v[end] <= m:
                yield (i, j, k, end), (i, j, self.next_v[end], m)


def _strips(free: list[list[bool]], after: list[int], within: list[int]) -> list[tuple[int, int]]:
    """The best layout of strips side by side: each filled from its low end, the strips chosen by dynamic programming."""
    columns = []
    for row in free:
        places, at = [], 0
        while at < len(row):
            if row[at]:
                places.append(at)
                at = within[at]
            else:
                at += 1
        columns.append(places)
    best: list[int] = [0] * (len(free) + 1)
    for i in reversed(range(len(free))):
        best[i] = max(best[i + 1], len(columns[i]) + best[after[i]])
    out, i = [], 0
    while i < len(free):
        if best[i] == best[i + 1]:
            i += 1
        else:
            out += [(i, k) for k in columns[i]]
            i = after[i]
    return out


def _crossed(free: list[list[bool]], starts: list[int], after: list[int], size: int) -> int:
    """The least, over sets of lines `size` apart, of the pieces that the lines can cross all together."""
    crossing: dict[int, int] = {}

    def most(line: int) -> int:
        if line not in crossing:
            low, high = bisect_left(starts, line - size + 1), bisect_left(starts, line + 1)
            count, i = 0, 0
            while i < len(free):
                if any(free[i][low:high]):
                    count, i = count + 1, after[i]
                else:
                    i += 1
            crossing[line] = count
        return crossing[line]

    first, last = starts[0], starts[-1] + size - 1
    return min(sum(most(line) for line in range(offset, last + 1, size))
               for offset in sorted({first + (start - first) % size for start in starts}))  # fmt: skip
