"""Worth and limit of a damaged sheet brought together: what to ask the refinement, and how long to wait for an answer.

Between a layout in hand and the limit lie sums of worths. Those far above the truth are soon ruled out, those far below soon
found; near it an answer may take long. So both ends are halved towards each other with little patience first, then with
more; where all answers were given and the ends still differ, with cuts at a finer grain.
"""

from __future__ import annotations

import bisect
from collections.abc import Callable, Sequence

from ...geometry import Box
from ...layouts import Node
from .refine import GRAINS, OutOfSteps, Refiner

PATIENCE, MORE_PATIENCE = 1_000, 4  # decisions for one answer at first; times as many


def closed(refiner: Refiner, box: Box, sums: Sequence[int], worth: int, bound: int,
           value: Callable[[Node], int]) -> tuple[int, int, Node | None]:  # fmt: skip
    """Worth and bound as near as the refiner's steps allow, and the layout of the worth where it is a better one.

    `sums`: every worth that a layout can have, rising. `value`: what a layout is worth.
    """
    tree: Node | None = None
    low, high = bisect.bisect_right(sums, worth) - 1, bisect.bisect_right(sums, bound) - 1  # -1: a worth of 0
    grain, patience = 0, PATIENCE
    try:
        while low < high:
            answered = True
            not_found, not_ruled_out = high + 1, low  # in this round
            while low + 1 < not_found or not_ruled_out < high:
                if low + 1 < not_found:
                    middle = (low + not_found) // 2
                    refiner.begin(True, GRAINS[grain])
                    found = _asked(refiner, box, sums[middle], patience)
                    better = refiner.tree(box, sums[middle]) if found else None
                    if better is None:
                        not_found = middle
                        answered &= found is not None
                    else:
                        tree, worth = better, value(better)
                        low = bisect.bisect_right(sums, worth) - 1
                        not_ruled_out = max(not_ruled_out, low)
                if not_ruled_out < high:
                    middle = (not_ruled_out + high + 1) // 2
                    refiner.begin(False, GRAINS[grain])
                    possible = _asked(refiner, box, sums[middle], patience)
                    if possible is False:
                        high = middle - 1
                        not_found = min(not_found, high + 1)
                    else:
                        not_ruled_out = middle
                        answered &= possible is not None
            if low < high:
                if answered and grain + 1 < len(GRAINS):
                    grain += 1
                elif answered:
                    break  # a place so narrow that neither can be said
                else:
                    patience *= MORE_PATIENCE
    except OutOfSteps:
        pass
    return worth, sums[high] if high >= 0 else 0, tree


def _asked(refiner: Refiner, box: Box, worth: int, patience: int) -> bool | None:
    """The answer; None where it takes longer than `patience` decisions. Raises OutOfSteps where all are used."""
    try:
        return refiner.decide(box, worth, patience)
    except OutOfSteps:
        if refiner.over():
            raise
        return None
