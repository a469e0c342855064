"""The compiled loops of the search, behind one seam.

Each kernel is plain Python on arrays; `compiled` hands it to numba and keeps the plain twin as `.py_func`, which
the tests run on the same random input. Values are 64-bit integers; areas and positions are in ticks.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from typing import Any, TypeVar

import numpy as np

F = TypeVar("F", bound=Callable[..., Any])
_uncached: list[str] = []


def compiled(function: F) -> F:
    """The function compiled by numba, its machine code cached; uncached where the cache cannot be written."""
    import numba

    try:
        return numba.njit(cache=True, nogil=True)(function)  # type: ignore[no-any-return]
    except RuntimeError:  # numba found no folder that it may write its cache to
        _uncached.append(function.__name__)
        return numba.njit(nogil=True)(function)  # type: ignore[no-any-return]


@compiled
def lines_below(lines: Any, value: float) -> int:
    """How many of the sorted lines lie below a value (bisection; numpy's own takes seconds to compile)."""
    low, high = 0, lines.size
    while low < high:
        middle = (low + high) // 2
        if lines[middle] < value:
            low = middle + 1
        else:
            high = middle
    return low


@compiled
def lines_up_to(lines: Any, value: float) -> int:
    """How many of the sorted lines lie below a value or on it."""
    low, high = 0, lines.size
    while low < high:
        middle = (low + high) // 2
        if lines[middle] <= value:
            low = middle + 1
        else:
            high = middle
    return low


@contextmanager
def told_of_compiling(tell: Callable[[str], None]) -> Iterator[None]:
    """Say once, within, that a kernel is compiled, as soon as one is; loading compiled ones from the cache says nothing."""
    from numba.core import event

    class Heard(event.Listener):  # type: ignore[misc]  # numba has no types
        def __init__(self) -> None:
            self.said = False

        def on_start(self, _event: Any) -> None:
            if not self.said:
                self.said = True
                tell("Compiling the search for this machine: once, a minute or two.")

        def on_end(self, _event: Any) -> None:
            pass

    with event.install_listener("numba:compile", Heard()):
        yield


def warm(tell: Callable[[str], None], more: Sequence[Callable[[], None]] = ()) -> None:
    """Load or compile the kernels of single sheets now, and `more`; say so where any is compiled."""
    with told_of_compiling(tell):
        for part in (_single_sheets, *more):
            part()
    if _uncached:
        tell("The compiled search cannot be kept on this machine: every start will take this time again.")


def _single_sheets() -> None:
    from .sheet.paper_kernels import allowed_points, fits, lowest_x, touched_cells, trapezoids
    from .sheet.place_table import placed_table
    from .sheet.refine_kernels import WIDTH, decide
    from .sheet.size_table import size_rows

    if lowest_x.signatures:  # type: ignore[attr-defined]
        return
    lines, one = np.array([0, 2], np.int64), np.array([1], np.int64)
    square = np.array([(0, 0, 2, 0, 0), (2, 0, 2, 2, 0), (2, 2, 0, 2, 0), (0, 2, 0, 0, 0)], np.int64)
    edges = np.array([(0.0, 0.0, 2.0, 0.0), (0.0, 2.0, 2.0, 2.0)])
    traps = trapezoids(edges, np.array([0.0, 2.0]))
    touched_cells(traps, lines, lines, 1.0)
    allowed = allowed_points(traps, lines, lines, 1, 1, square, one, 0.0, 1.0)
    for worths in (one, one.astype(np.int32)):
        table, keep = np.zeros((2, 2), worths.dtype), np.zeros((2, 1), np.uint8)
        size_rows(table, lines, lines, one, one, worths, 1.0, 4.0, keep, np.zeros(2, np.int64), 0, 0, 1)
        inner = placed_table(2, 2, np.stack((allowed,)), np.array([[1, 2]]), np.array([[1, 2]]), np.ones((1, 2, 2), worths.dtype))
    inner = inner.astype(np.int64)
    sizes, starts = np.array([(1, 1, 1)], np.int64), np.array([0, len(traps)], np.int64)
    state, memory = np.array([9, 0, 1, 1, 1, 1, 0], np.int64), np.zeros((4, WIDTH), np.int64)
    decide((lines, lines, inner, lines, lines, inner, sizes, starts, traps, square, one, one, memory, state, np.ones(2)),
           0, 0, 2, 2, 1)  # fmt: skip
    fits(0, 0, 1, 1, square, one, 0.0)
    lowest_x(traps, 0.0, 2.0, 0.0, 2.0)
