"""Many different pieces on alike clear sheets: runs of ruin and recreate, one sheet fewer each time."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import numpy as np

from ...blanks import Blank
from ...geometry import Box
from ...layouts import Node
from ...sheets import Sheet
from ..budget import Blocks, Budget
from ..sheet.clear import Oriented
from . import loops as r
from .as_cuts import as_cuts
from .pace import first_state, rounds_at_once

MOST_PIECES = 4_000
BLOCK = 500  # rounds between two looks at the clock, at most
SHORT_BLOCK = 20  # rounds between two looks at the best
HISTORY, GROWTH = 100, 2  # late acceptance: first length, and how many times as long each next start has it
FROZEN = 1e-9  # where all costs remembered are as near as that, nothing will move any more
POWER, SPREAD, NOISE, BLINK = 0.7, 0.02, 0.2, 0.02
WHOLE, WHOLE_PIECES = 0.3, 2.0  # how often a sheet is emptied: of few pieces; of many, over their number


class Recreation:
    """The state of a search for one kind of clear sheet; `solutions` yields ever fewer sheets as trees."""

    def __init__(self, sheet: Sheet, box: Box, blanks: Sequence[Blank], wanted: Sequence[int], seed: int) -> None:
        """Raises ValueError where a wanted piece does not fit the box."""
        self._box = box
        width, height = box[2] - box[0], box[3] - box[1]
        self._pieces: list[list[Oriented]] = []
        for index, (blank, count) in enumerate(zip(blanks, wanted, strict=True)):
            seen: dict[tuple[int, int], Oriented] = {}
            for turn in blank.ways_on(sheet):
                size = blank.size(turn)
                if size[0] <= width and size[1] <= height:
                    seen.setdefault(size, Oriented(index, blank.name, turn, *size))
            if count and not seen:
                raise ValueError(blank.name)
            self._pieces += [list(seen.values())] * count
        n = len(self._pieces)
        self._sizes = np.array([(w[0].width, w[0].height) for w in self._pieces], np.int32).reshape(-1, 2)
        self._turns = np.array([[1 if len(w) == 1 else 3 for w in self._pieces]], np.uint8)
        self._kinds = np.zeros(n, np.int32)  # alike sheets: one kind
        self._sides = np.array([(width, height)], np.int32)
        self._whole = float(width) * float(height)
        self._areas = np.array([w[0].width * w[0].height / self._whole for w in self._pieces])
        self._prices = self._areas**POWER
        self._tree = np.full((r.FIELDS, 2 * n), r.ABSENT, np.int32)
        self._roots = np.full(n, r.ABSENT, np.int32)
        self._free = np.arange(2 * n - 1, n - 1, -1).astype(np.int32)
        self._free_size = n
        self._out = np.zeros(n + 4, np.int32)
        self._sheets = self._left_out = 0
        self._start_anew(HISTORY)
        self._state = first_state(seed)

    def solutions(self, lower: int, budget: Budget) -> Iterator[list[Node]]:
        """Trees of all sheets used, each time at least one sheet fewer, down to `lower` or the end of the budget.

        Called again with another budget or limit it goes on where it stopped.
        """
        blocks = Blocks(budget)
        if self._sheets == 0:
            self._begin()
            yield self._trees()
        while True:
            if self._left_out == 0:
                if self._sheets <= lower or budget.over():
                    return
                self.aim(self._sheets - 1)
            while self._left_out and self._sheets >= lower and not blocks.over():
                self._block()
            if self._left_out:
                return
            yield self._trees()

    def aim(self, sheets: int) -> None:
        """Leave only so many sheets, the fullest ones; the pieces of the others are left out, and the search begins anew."""
        while self._sheets > sheets:
            self._left_out = self._without_emptiest(self._left_out)
            self._sheets -= 1
        self._start_anew(HISTORY)

    def _start_anew(self, length: int) -> None:
        """Forget the costs met: the search moves freely from where it is, and settles the more slowly the longer its memory."""
        self._history = np.full(length, np.inf)
        self._at, self._current = 0, np.inf

    def _whole_share(self) -> float:
        """A whole sheet of many pieces is seldom put together better from nothing."""
        return min(WHOLE, WHOLE_PIECES * self._sheets / len(self._pieces))

    @property
    def sheets(self) -> int:
        """How many sheets there are now; some pieces may be left out of them."""
        return self._sheets

    def _begin(self) -> None:
        """Every piece on a sheet, largest first."""
        n = len(self._pieces)
        self._out[:n] = np.argsort(-self._areas, kind="stable")
        self._left_out, self._free_size = r.recreate(
            self._tree, self._roots, n, self._kinds, self._out, n, self._sizes, self._turns, self._sides, self._free,
            self._free_size, np.empty(n, np.int64), np.empty(2 * n + 4, np.int32), False, 0.0, self._state)  # fmt: skip
        self._sheets = int((self._roots != r.ABSENT).sum())

    def _block(self) -> None:
        """Some rounds; where the search has settled it starts anew with a longer memory: a long search is a patient one."""
        if self._at > self._history.size and float(self._history.max() - self._history.min()) <= FROZEN:
            self._start_anew(GROWTH * self._history.size)
        rounds = rounds_at_once(BLOCK, len(self._pieces), self._sheets)
        self._left_out, self._free_size, self._at, self._current = r.rounds(
            self._tree, self._roots, self._sheets, self._kinds, self._out, self._left_out, self._sizes, self._turns, self._sides,
            self._prices, self._whole, self._free, self._free_size, self._history, self._at, self._current, rounds, SPREAD,
            self._whole_share(), NOISE, BLINK, self._state)  # fmt: skip

    def fullest(self, values: Sequence[int], blocks: int, budget: Budget) -> Node | None:
        """One sheet with as much worth as can be found (`values` of the blanks); None where nothing was placed.

        `blocks`: looks at the state, at most; the best of them is kept.
        """
        n = len(self._pieces)
        worth = np.array([values[ways[0].blank] for ways in self._pieces], float)
        shares = worth / max(1.0, float(worth.sum()))
        stack = np.empty(2 * n + 4, np.int32)
        self._out[:n] = np.argsort(-worth / (self._areas + 1e-12), kind="stable")
        left, self._free_size = r.recreate(
            self._tree, self._roots, 1, self._kinds, self._out, n, self._sizes, self._turns, self._sides, self._free,
            self._free_size, np.empty(n, np.int64), stack, True, 0.0, self._state)  # fmt: skip
        best, tree = np.inf, None
        history = np.full(HISTORY, np.inf)
        at, current = 0, np.inf
        for _ in range(blocks):
            if left == 0 or budget.over():
                break
            left, self._free_size, at, current = r.rounds(
                self._tree, self._roots, 1, self._kinds, self._out, left, self._sizes, self._turns, self._sides, shares,
                self._whole, self._free, self._free_size, history, at, current, SHORT_BLOCK, 0.0, WHOLE, NOISE, BLINK,
                self._state)  # fmt: skip
            if current < best - 1e-12:
                best, tree = current, self._trees()
        trees = self._trees() if left == 0 else tree
        return trees[0] if trees else None

    def _without_emptiest(self, left_out: int) -> int:
        """Take the least filled sheet out and close ranks; how many pieces are left out now."""
        used = [sheet for sheet in range(len(self._roots)) if self._roots[sheet] != r.ABSENT]
        placed = [piece for piece in range(len(self._pieces)) if self._tree[r.ROOM_W, piece] != r.ABSENT]
        homes = {piece: r.root_of(self._tree, piece) for piece in placed}
        filled = dict.fromkeys(used, 0.0)
        for piece, home in homes.items():
            filled[home] += float(self._areas[piece])
        emptiest = min(used, key=lambda sheet: (filled[sheet], sheet))
        out = [piece for piece, home in homes.items() if home == emptiest]
        for number, piece in enumerate(out):
            self._out[left_out + number] = piece
            self._free_size = r.take_out(self._tree, self._roots, piece, self._free, self._free_size)
        kept = [self._roots[sheet] for sheet in used if sheet != emptiest]
        self._roots[:] = r.ABSENT
        for sheet, root in enumerate(kept):
            self._roots[sheet] = root
            self._tree[r.PARENT, root] = -1 - sheet
        return left_out + len(out)

    def _trees(self) -> list[Node]:
        return [as_cuts(self._tree, self._pieces, int(root), self._box) for root in self._roots if root != r.ABSENT]


def warm() -> None:
    """Load or compile what only this method needs, before the clock starts."""
    if r.rounds.signatures:  # type: ignore[attr-defined]
        return
    sheet = Sheet.rectangle("-", 3, 3)
    blanks = [Blank("a", 3, 2, 2), Blank("b", 3, 1, 2), Blank("c", 2, 2, 1)]
    for _ in Recreation(sheet, sheet.box, blanks, [2, 2, 1], 0).solutions(2, Budget(60.0, 2)):
        pass
