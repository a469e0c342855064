"""One sheet, any number of copies of each blank: the best layout over its frames, and a bound that holds.

What does not depend on worths (frames, regions, grid lines) is prepared once; `best` may then be asked with many
different worths, as pricing does.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

from ...blanks import Blank
from ...cutters import Cutter
from ...fixed import Fixed
from ...layouts import Node, Piece, leaves
from ...sheets import Sheet
from ..budget import Budget
from ..chosen import lain, parted
from .clear import Oriented, Stopped, clear_best
from .closing import closed
from .fines import NONE, Fines, fine_of, value_of
from .ground import Ground, frames_for, ground
from .in_place import piece_of, sums_with
from .placed import Grid, PlacedTables, finer, grid
from .refine import Refiner
from .simpler import Simpler, simpler
from .sizes import Coverings, coverings, reachable

MOST_SUMS = 5_000
ALLOWANCES = (3_000, 100_000, 2**62)  # decisions with each fineness of the grid
WORK_A_SECOND, MIN_WORK = 1_000_000_000, 300_000_000  # steps of the tables of sizes


@dataclass(frozen=True)
class Found:
    """A layout of one sheet as a bare tree: its value, the frame it is cut in, and a bound on any layout's value."""

    value: int
    bound: int
    tree: Node | None
    ground: Ground | None

    def times(self, factor: int) -> Found:
        """The same where every worth is so many times as much."""
        return replace(self, value=self.value * factor, bound=self.bound * factor)


class Interrupted(KeyboardInterrupt):
    """Ctrl-C within a question: the best layout met, and a bound that holds."""

    def __init__(self, found: Found) -> None:
        super().__init__()
        self.found = found


@dataclass(frozen=True, eq=False)
class _Frame:
    """`grids`: of rising fineness, prepared as they are asked for; none on clear paper."""

    ground: Ground
    oriented: tuple[Oriented, ...]
    sizes: Coverings | None
    grids: list[Grid]

    def grid(self, level: int) -> Grid:
        """The grid of this fineness."""
        while len(self.grids) <= level:
            self.grids.append(finer(self.grids[0], len(self.grids)))
        return self.grids[level]


class Single:
    """A sheet prepared for a set of blanks; grain, print and material rules decide which turns are left."""

    def __init__(self, sheet: Sheet, blanks: Sequence[Blank], cutter: Cutter | None, frames: object,
                 seconds: float = 10.0, fixed: Sequence[Fixed] = (), like: Single | None = None) -> None:  # fmt: skip
        """`seconds`: about what the tables of one question may take at most on a clear rectangle, turned into steps.

        `fixed`: pieces chosen beforehand, where they may lie; every layout has them, in the one frame they are in. `like`:
        an earlier one of the same sheet, cutter and frames for other blanks, whose grounds serve again.
        """
        self.limited_turn = only_along(sheet, blanks)
        self.frames_deg: tuple[float, ...]
        if like is not None and not fixed and like.limited_turn == self.limited_turn:
            self.frames_deg = like.frames_deg
        else:
            self.frames_deg = (fixed[0].angle,) if fixed else frames_for(sheet, frames, self.limited_turn)
        self._grounds: dict[float, Ground] = {} if like is None else like._grounds
        self._own: list[Oriented] = []
        if fixed:
            place, index = ground(sheet, fixed[0].angle, cutter), {b.name: i for i, b in enumerate(blanks)}
            for f in fixed:
                i = index[f.blank]
                box = lain(place, f, blanks[i], self.fixed)
                assert box is not None, "a chosen piece that was not checked"
                self._own.append(Oriented(i, f.blank, f.turn, *blanks[i].size(f.turn), box[:2],
                                          blanks[i].broken_on(sheet, f.turn, f.angle)))  # fmt: skip
        self.sheet = sheet
        self.simple: Simpler | None = simpler(sheet) if like is None else like.simple
        self.blanks = list(blanks)
        self.cutter = cutter
        self.work = max(MIN_WORK, int(WORK_A_SECOND * seconds))
        self._prepared: dict[float, _Frame] = {}
        self._known: dict[tuple[tuple[int, ...], Fines], tuple[Found, int]] = {}

    @property
    def fixed(self) -> tuple[Piece, ...]:
        """The pieces chosen beforehand, in their frame."""
        return tuple(piece_of(o) for o in self._own)

    def bare(self) -> Found:
        """Only what was chosen beforehand, cut free; its value and bound say nothing."""
        place = ground(self.sheet, self.frames_deg[0], self.cutter)
        return Found(0, 0, parted(self.fixed, place.box), place)

    def _frame(self, angle: float) -> _Frame:
        """What is known of a frame; prepared when it is first asked for."""
        if angle not in self._prepared:
            self._prepared[angle] = self._prepare(angle)
        return self._prepared[angle]

    def _prepare(self, angle: float) -> _Frame:
        if angle not in self._grounds:
            self._grounds[angle] = ground(self.sheet, angle, self.cutter, self.simple)
        place = self._grounds[angle]
        x0, y0, x1, y1 = place.usable
        oriented = []
        for index, blank in enumerate(self.blanks):
            for turn in blank.ways_on(self.sheet, angle):
                size = blank.size(turn)
                if size[0] <= x1 - x0 and size[1] <= y1 - y0:
                    broken = blank.broken_on(self.sheet, turn, angle)
                    oriented.append(Oriented(index, blank.name, turn, *size, broken=broken))
        oriented += self._own
        if not oriented:
            return _Frame(place, (), None, [])
        if place.clear() and not self._own:
            return _Frame(place, tuple(oriented), coverings(place, [(o.width, o.height) for o in oriented]), [])
        prepared = grid(place, oriented)
        return _Frame(place, prepared.oriented if prepared else (), None, [prepared] if prepared else [])

    def clear_ground(self) -> Ground | None:
        """The ground of the first frame where it is one clear rectangle."""
        first = self._frame(self.frames_deg[0])
        return first.ground if first.sizes is not None else None

    def oriented(self) -> tuple[Oriented, ...]:
        """The turned blanks that fit the first frame."""
        return self._frame(self.frames_deg[0]).oriented

    def placed(self) -> frozenset[int]:
        """The blanks (by index) that may have a position in some frame."""
        return frozenset(o.blank for angle in self.frames_deg for o in self._frame(angle).oriented)

    def possible(self) -> bool:
        """Whether any blank has a position in any frame."""
        return any(self._frame(angle).oriented for angle in self.frames_deg)

    def levelled(self, values: Sequence[int], fines: Fines) -> list[int] | None:
        """The values less what soft rules take off, where that is the same however a blank lies here; else None."""
        every = [o for angle in self.frames_deg for o in self._frame(angle).oriented]
        off = {o.blank: fine_of(o, fines) for o in every}
        if any(off[o.blank] != fine_of(o, fines) or off[o.blank] > values[o.blank] > 0 for o in every):
            return None
        return [max(0, v - off.get(i, 0)) for i, v in enumerate(values)]

    def fined(self) -> bool:
        """Whether a blank can lie here so that a rule with a price is broken."""
        prices = [b.prices for b in self.blanks]
        return any(b and prices[o.blank][k] for angle in self.frames_deg for o in self._frame(angle).oriented
                   for k, b in enumerate(o.broken))  # fmt: skip

    def first(self, values: Sequence[int], budget: Budget, fines: Fines = NONE) -> Found:
        """A quick layout in the first frame alone; its bound says nothing of the other frames."""
        return self._in_frame(self._frame(self.frames_deg[0]), values, fines, budget, 0)

    def in_frame(self, angle: float, values: Sequence[int], budget: Budget, refine_steps: int) -> Found:
        """The best layout of one frame, also one that is not among `frames_deg`; the bound is of this frame alone."""
        return self._in_frame(self._frame(angle), values, NONE, budget, refine_steps)

    def best(self, values: Sequence[int], budget: Budget, refine_steps: int = 0, fines: Fines = NONE) -> Found:
        """The best layout for these values of the blanks (whole, 0: not wanted) within the budget.

        `refine_steps`: how many decisions may be spent on closing the gap; 0 takes the two tables as they are. `fines`:
        taken off where soft rules are broken. Ctrl-C raises `Interrupted` where a layout was met.
        """
        common = math.gcd(*values, *(f for pair in fines for f in pair)) or 1
        key = tuple(v // common for v in values), tuple((a // common, b // common) for a, b in fines)
        known = self._known.get(key)
        if known is None or (known[1] < refine_steps and known[0].bound > known[0].value):
            try:
                known = self._search(*key, budget, refine_steps), refine_steps
            except Interrupted as stop:
                raise Interrupted(stop.found.times(common)) from None
            self._known[key] = known
        return known[0].times(common)

    def _search(self, values: Sequence[int], fines: Fines, budget: Budget, refine_steps: int) -> Found:
        best: Found | None = None
        bound = 0
        for angle in self.frames_deg:
            frame, stopped = self._frame(angle), False
            try:
                found = self._in_frame(frame, values, fines, budget, refine_steps)
            except Stopped as stop:
                found, stopped = Found(stop.value, stop.bound, stop.tree, frame.ground), True
            bound = max(bound, found.bound)
            if best is None or found.value > best.value:
                best = found
            if stopped:
                raise Interrupted(replace(best, bound=max(bound, self._area_bounds(values, fines))))
        assert best is not None
        return replace(best, bound=bound)

    def _area_bounds(self, values: Sequence[int], fines: Fines) -> int:
        """The area bound over all frames."""
        frames = [self._frame(angle) for angle in self.frames_deg]
        return max(self._area_bound(f, [value_of(o, values, fines) for o in f.oriented]) for f in frames)

    def _in_frame(self, frame: _Frame, values: Sequence[int], fines: Fines, budget: Budget, refine_steps: int) -> Found:
        if self._own:
            return self._around_own(frame, values, fines, budget, refine_steps)
        return self._searched(frame, [value_of(o, values, fines) for o in frame.oriented], budget, refine_steps)

    def _around_own(self, frame: _Frame, values: Sequence[int], fines: Fines, budget: Budget, refine_steps: int) -> Found:
        """The best layout with all that was chosen beforehand: each is given more worth than all else can have."""
        others = [0 if o.place is not None else value_of(o, values, fines) for o in frame.oriented]
        much = self._area_bound(frame, others) + 1
        worths = [v if o.place is None else much for o, v in zip(frame.oriented, others, strict=True)]
        found = self._searched(frame, worths, budget, refine_steps)
        less = len(self._own) * much - sum(values[o.blank] - fine_of(o, fines) for o in self._own)
        assert found.value >= len(self._own) * much, "the edges of chosen pieces are lines of the table"
        # they are cut whatever they cost; a limit is never below 0
        return replace(found, value=found.value - less, bound=max(0, found.bound - less))

    def _searched(self, frame: _Frame, worths: Sequence[int], budget: Budget, refine_steps: int) -> Found:
        """The best layout in a frame for these values of the turned blanks."""
        if not any(worths):
            return Found(0, 0, None, frame.ground)
        if frame.sizes is not None:
            worth, bound, tree = clear_best(frame.ground, frame.oriented, worths, frame.sizes, budget, self.work)
            return Found(worth, min(bound, self._area_bound(frame, worths)), tree, frame.ground)
        bound, steps = self._area_bound(frame, worths), refine_steps
        best_tree: Node | None = None
        worth = -1
        for level, allowance in enumerate(ALLOWANCES):
            more = _within(frame, level, worths, bound, budget, min(steps, allowance))
            steps -= more.steps
            bound = min(bound, more.bound)
            if more.value > worth:
                worth, best_tree = more.value, more.tree
            if bound <= worth or steps <= 0 or budget.over() or frame.grid(level).exact:
                break
        if bound > worth and refine_steps > 0 and steps <= 0 and budget.steps is not None:
            budget.stop("steps")
        return Found(worth, bound, best_tree, frame.ground)

    def _area_bound(self, frame: _Frame, worths: Sequence[int]) -> int:
        """No layout is worth more than the good paper's area at the best worth per area."""
        x0, y0, x1, y1 = frame.ground.usable
        area2 = min(2 * (x1 - x0) * (y1 - y0), frame.ground.paper.area2)
        pairs = list(zip(frame.oriented, worths, strict=True))
        own = [(o, v) for o, v in pairs if o.place is not None and v > 0]
        area2 -= sum(2 * o.width * o.height for o, _ in own)
        others = max((v * area2 // (2 * o.width * o.height) for o, v in pairs if o.place is None), default=0)
        return sum(v for _, v in own) + others


def only_along(sheet: Sheet, blanks: Sequence[Blank]) -> bool:
    """Whether hard rules of grain or print keep every blank to frames within their tolerance."""
    return not any(b.turns_on(sheet, 45.0) for b in blanks)


def attainable(values: Sequence[int], limit: int, most: int = MOST_SUMS) -> list[int] | None:
    """Sorted sums of the values up to `limit`; None where they are more than `most`."""
    sums = reachable([v for v in values if v > 0], [0], limit, most)
    return None if sums is None else [int(s) for s in sums if s > 0]


@dataclass(frozen=True)
class _Look:
    value: int
    bound: int
    tree: Node | None
    steps: int


def _within(frame: _Frame, level: int, worths: Sequence[int], bound: int, budget: Budget, steps: int) -> _Look:
    """What the tables of one fineness give, and the refinement with so many steps; `bound`: already known."""
    g = frame.grid(level)
    tables = PlacedTables(g, worths, bound)
    last = (0, len(g.xs) - 1, 0, len(g.ys) - 1)
    worth, tree = tables.inner_worth(*last), tables.tree(*last)
    outer = tables.outer_worth(0, len(g.outer_xs) - 1, 0, len(g.outer_ys) - 1)
    bound = bound if outer is None else min(bound, outer)
    if bound <= worth or steps <= 0:
        return _Look(worth, bound, tree, 0)
    pairs = list(zip(frame.oriented, worths, strict=True))
    own = [v for o, v in pairs if o.place is not None]
    sums = sums_with(own, attainable([v for o, v in pairs if o.place is None], bound - sum(own)))
    if sums is None:
        return _Look(worth, bound, tree, 0)
    refiner = Refiner(tables, sums, steps, budget.over)
    worth, bound, better = closed(refiner, frame.ground.usable, sums, worth, bound,
                                  lambda tree: worth_of(tree, frame.oriented, worths))  # fmt: skip
    return _Look(worth, bound, better or tree, steps - refiner.steps)


def worth_of(tree: Node, oriented: Sequence[Oriented], worths: Sequence[int]) -> int:
    """What the pieces of a tree are worth."""
    value = {(o.name, o.turn): v for o, v in zip(oriented, worths, strict=True) if o.place is None}
    own = {piece_of(o): v for o, v in zip(oriented, worths, strict=True) if o.place is not None}
    return sum(own[leaf] if leaf in own else value[leaf.blank, leaf.turn] for leaf in leaves(tree) if isinstance(leaf, Piece))
