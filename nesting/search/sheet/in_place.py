"""Pieces chosen beforehand, in the tables of a sheet: each is a kind of its own that may lie in one place alone.

Its value is more than all else on the sheet together, so the best layout keeps it, and no cut goes through it. Its paper
need not be made bad for the others: where it is kept they lie in other boxes.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np

from ...layouts import Piece
from .clear import Oriented
from .ground import QUARTER_TICK


def region_of(place: tuple[int, int]) -> Any:
    """The region of positions of such a piece, as `ground.region`: a quarter tick round its corner."""
    (x, y), q = place, QUARTER_TICK
    return np.array([(x - q, x + q, y - q, y - q, y + q, y + q)])


def edges_of(oriented: Sequence[Oriented]) -> tuple[list[int], list[int]]:
    """Where the edges of such pieces lie, across and up."""
    kept = [(o.place, o.width, o.height) for o in oriented if o.place is not None]
    return sorted({v for (x, _), w, _ in kept for v in (x, x + w)}), sorted({v for (_, y), _, h in kept for v in (y, y + h)})


def hold_in_place(oriented: Sequence[Oriented], xs: Any, ys: Any, allowed: Any, ends_x: Any, ends_y: Any) -> None:
    """Mark in tables between lines (as `placed_table`) that such a piece lies in its place only; its edges are lines."""
    for k, o in enumerate(oriented):
        if o.place is not None:
            i, j = (int(np.searchsorted(lines, v)) for lines, v in ((xs, o.place[0]), (ys, o.place[1])))
            allowed[k] = False
            allowed[k, i, j] = True
            ends_x[k, i] = np.searchsorted(xs, o.place[0] + o.width)
            ends_y[k, j] = np.searchsorted(ys, o.place[1] + o.height)


def piece_of(o: Oriented) -> Piece:
    """A piece in its place."""
    assert o.place is not None
    x, y = o.place
    return Piece((x, y, x + o.width, y + o.height), o.name, o.turn)


def sums_with(own: Sequence[int], sums: Sequence[int] | None) -> list[int] | None:
    """Sorted sums of such pieces' values, which are all alike, and of sums that others can have; None where there are none."""
    if sums is None or not own:
        return None if sums is None else list(sums)
    return sorted({n * own[0] + s for n in range(len(own) + 1) for s in (0, *sums)} - {0})
