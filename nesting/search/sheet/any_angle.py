"""One sheet at any angle: branch and bound over the angle that the cuts are turned by.

A span of angles is closed where `turned_positions` shows that none of its frames holds more than the best layout so far;
else the frame at its middle is searched, and both halves of the span are looked at later, the widest spans first.

All frames are those turned by -45 to 45 degrees: further round, the same cuts are a frame of this range with every blank
a quarter turn on, and a blank whose turns are fixed is fixed to the sheet, not to the knife.
"""

from __future__ import annotations

import heapq
import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from ...blanks import GRAIN_TOLERANCE_DEG
from ...lengths import TICKS_PER_MM
from ..budget import Budget
from .clear import Oriented
from .placed import Grid, PlacedTables, cells, even_lines
from .refine import Memory, OutOfSteps, Refiner
from .single import Found, Single, attainable
from .turned_positions import positions, turning, widest

FIRST_HALF, LEAST_HALF = 4.0, 1e-4  # degrees: half of the spans that are begun with, and where it makes no sense to go on
MOST_SPANS = 400
MOST_PIECES = 60  # on the sheet by area: with more, no span narrower than a hair is ever closed
LINES = 24  # of the outer table: fewer than where a layout is looked for, since most spans are wide
WIDE = 0.2  # degrees: half of a span that is asked with coarse cuts alone
COARSE = (2 * TICKS_PER_MM, TICKS_PER_MM // 4)
FINE = (*COARSE, TICKS_PER_MM // 16, TICKS_PER_MM // 64)
STEPS_A_REGION, MOST_A_QUESTION = 200, 20_000  # of one blank as it lies, as steps; decisions at most


@dataclass(frozen=True)
class AnyAngle:
    """The best layout over the frames and all angles tried; `shown`: no layout at any angle is worth more."""

    found: Found
    shown: bool


def any_angle(single: Single, values: Sequence[int], best: Found, budget: Budget, steps: int) -> AnyAngle:
    """Look for a layout worth more than `best` at any angle, until there is none, or time or `steps` are used up.

    `values`: of the blanks, whole, any number of copies of each. A better layout takes the place of `best`; its bound
    is then that of all frames that `best` stood for and its own. Where grain or print matter to a blank only frames
    within their tolerance are meant. Ctrl-C ends the search, and the budget remembers it.
    """
    asked = _Spans(single, values, budget, steps)
    sums = attainable([values[o.blank] for o in asked.oriented], asked.most)
    if sums is None or not asked.oriented:
        return AnyAngle(best, not asked.oriented)
    reach = GRAIN_TOLERANCE_DEG if single.limited_turn else 45.0
    number = math.ceil(reach / max(1e-9, min(FIRST_HALF, asked.widest)))
    half = reach / number
    spans = [(-half, abs(mid), mid) for mid in (-reach + half * (2 * k + 1) for k in range(min(number, MOST_SPANS + 1)))]
    heapq.heapify(spans)
    try:
        while spans:
            worth = next((s for s in sums if s > best.value), None)
            if worth is None:
                return AnyAngle(replace(best, bound=best.value), True)
            hopeless = number > MOST_SPANS or asked.pieces > MOST_PIECES or -spans[0][0] < LEAST_HALF
            if hopeless or asked.steps < asked.cost or budget.over():
                return AnyAngle(best, False)
            minus, _, mid = heapq.heappop(spans)
            half = -minus
            if not asked.may_hold(mid, half, worth, sums):
                continue
            angle = _short(mid, half)
            if asked.may_hold(angle, 0.0, worth, sums):
                found = single.in_frame(angle, values, budget, max(1, min(asked.steps, MOST_A_QUESTION)))
                if found.value > best.value:
                    best = replace(found, bound=max(found.bound, best.bound))
                    heapq.heappush(spans, (minus, abs(mid), mid))
                    continue
            for part in (mid - half / 2, mid + half / 2):
                heapq.heappush(spans, (minus / 2, abs(part), part))
    except KeyboardInterrupt:
        budget.stop("interrupt")
        return AnyAngle(best, False)
    return AnyAngle(replace(best, bound=best.value), True)


def _short(mid: float, half: float) -> float:
    """An angle near the middle of a span with as few decimals as may be: easier to lay out."""
    return next((a for a in (round(mid, digits) + 0.0 for digits in range(9)) if abs(a - mid) <= half / 2), mid)


class _Spans:
    """Questions about spans of angles of one sheet; `steps` counts what may still be spent on them."""

    def __init__(self, single: Single, values: Sequence[int], budget: Budget, steps: int) -> None:
        self._turning = turning(single.sheet, single.cutter, single.simple)
        self._ground = single.in_frame(0.0, [0] * len(values), budget, 0).ground
        self._values, self._budget, self._memory = values, budget, Memory()
        self.steps = steps
        found: dict[tuple[int, tuple[int, int]], Oriented] = {}
        for index, blank in enumerate(single.blanks):
            for turn in blank.turns_on(single.sheet) if values[index] > 0 else ():
                found.setdefault((index, blank.size(turn)), Oriented(index, blank.name, turn, *blank.size(turn)))
        self.oriented = tuple(found.values())
        self.cost = STEPS_A_REGION * len(self.oriented)
        self.widest = min((widest(self._turning, o.width, o.height) for o in self.oriented), default=0.0)
        area2 = single.sheet.area2
        self.pieces = max((area2 // (2 * o.width * o.height) for o in self.oriented), default=0)
        self.most = max((values[o.blank] * area2 // (2 * o.width * o.height) for o in self.oriented), default=0)

    def may_hold(self, mid: float, half: float, worth: int, sums: Sequence[int]) -> bool:
        """Whether it is not ruled out that a frame of the span has a layout of this worth."""
        self.steps -= self.cost
        regions = positions(self._turning, mid, half, [(o.width, o.height) for o in self.oriented])
        kept = [(o, traps) for o, traps in zip(self.oriented, regions, strict=True) if len(traps)]
        if not kept:
            return False
        grid, box = self._grid([o for o, _ in kept], [traps for _, traps in kept])
        tables = PlacedTables(grid, [self._values[o.blank] for o, _ in kept], self.most)
        outer = tables.outer_worth(0, len(grid.outer_xs) - 1, 0, len(grid.outer_ys) - 1)
        if outer is not None and outer < worth:
            return False
        allowed = max(1, min(self.steps, MOST_A_QUESTION))
        refiner = Refiner(tables, sums, allowed, self._budget.over, self._memory)
        try:
            for grain in COARSE if half > WIDE else FINE:
                refiner.begin(False, grain)
                if not refiner.decide(box, worth):
                    return False
        except OutOfSteps:
            pass  # not ruled out
        finally:
            self.steps -= allowed - refiner.steps
        return True

    def _grid(self, oriented: Sequence[Oriented], regions: Sequence[Any]) -> tuple[Grid, tuple[int, int, int, int]]:
        """Lines and cells around the regions for an outer table; the inner one is left empty."""
        pairs = list(zip(oriented, regions, strict=True))
        box = (math.floor(min(traps[:, 0].min() for traps in regions)) - 1,
               math.floor(min(traps[:, 2:4].min() for traps in regions)) - 1,
               math.ceil(max(traps[:, 1].max() + o.width for o, traps in pairs)) + 1,
               math.ceil(max(traps[:, 4:6].max() + o.height for o, traps in pairs)) + 1)  # fmt: skip
        widths, heights = sorted({o.width for o in oriented}), sorted({o.height for o in oriented})
        outer_xs = even_lines(box[0], box[2], widths, (box[2] - box[0]) / LINES)
        outer_ys = even_lines(box[1], box[3], heights, (box[3] - box[1]) / LINES)
        outer = None
        if np.diff(outer_xs).max() <= widths[0] and np.diff(outer_ys).max() <= heights[0]:
            outer = cells(oriented, regions, outer_xs, outer_ys)
        never = np.full((len(oriented), 2), 2)
        nowhere = np.zeros((len(oriented), 2, 2), np.bool_), never, never
        assert self._ground is not None
        return Grid(self._ground, tuple(oriented), tuple(regions), np.array(box[0::2]), np.array(box[1::2]), outer_xs, outer_ys,
                    False, nowhere, outer), box  # fmt: skip
