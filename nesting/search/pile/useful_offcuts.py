"""The same sheets, pieces moved together so that one sheet keeps a larger rectangle over.

A goal again: one sheet is given out narrower, or less high, by just more than the largest leftover so far, and ruin and
recreate looks for a place for everything on that.
"""

from __future__ import annotations

from collections.abc import Iterator

from ...layouts import Node
from ..budget import Blocks, Budget
from ..recreate.as_cuts import largest_leftover
from ..recreate.on_kinds import Kinds, Run, narrowed

BLOCK = 500  # rounds between two looks at the clock
EFFORT, GROWTH, MOST_EFFORT = 4, 4, 64  # blocks for each goal at first, more of them when no goal was reached, at most


def larger_offcuts(run: Run, budget: Budget) -> Iterator[list[tuple[int, Node]]]:
    """Solutions on the same sheets as a complete one, each with a larger rectangle left over on some sheet."""
    blocks = Blocks(budget)
    best = largest_leftover(tree for _, tree in run.trees())
    effort = EFFORT
    while effort <= MOST_EFFORT:
        better = None
        for kind, goal in _goals(run, best):
            trial = run.copy()
            trial.exchange(kind, goal)
            for _ in range(effort):
                if trial.left_out == 0:
                    break
                if blocks.over():
                    return
                trial.advance(BLOCK)
            if trial.left_out == 0:
                trial.exchange_back(kind, run.kinds)
                better = trial
                break
        if better is None:
            effort *= GROWTH
            continue
        run = better
        best = largest_leftover(tree for _, tree in run.trees())
        yield run.trees()


def _goals(run: Run, best: int) -> Iterator[tuple[int, Kinds]]:
    """Kinds in use, the emptiest sheet first, and all kinds with a narrower or lower one of it behind them."""
    for kind in dict.fromkeys(run.open_kinds()):
        width, height = (int(v) for v in run.kinds.sides[kind])
        for less_w, less_h in ((best // height + 1, 0), (0, best // width + 1)):
            if less_w < width and less_h < height:
                yield kind, narrowed(run.kinds, kind, width - less_w, height - less_h)
