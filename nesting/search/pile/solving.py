"""One independent part of a job: which method runs when, and what comes of it."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from concurrent.futures import Executor
from dataclasses import dataclass
from fractions import Fraction
from functools import partial
from itertools import chain
from typing import Any

from ...blanks import Blank
from ...cutters import Cutter
from ...fixed import Fixed
from ...plans import Aim
from ...sheets import Sheet
from ..budget import Budget
from ..recreate import recreating
from ..sheet import merging, shown_kernels
from ..sheet.ground import frames_for
from ..sheet.shown import has_best
from ..sheet.single import Found, only_along
from . import best_shown, covering, different, first_look, near, one_sheet, priced, rounded, several_sizes
from .alike import Alike
from .choosing import Choice
from .columns import Pool, SheetClass, TimeUp, alike_groups, chosen_on, class_of, classes_of, first_layouts, without_copy
from .packing import packed
from .part import Part, Sets
from .variety import Variety, prices_of

Method = Callable[[Budget], None]
SLOW_SECONDS = 25  # prices within the quantities need time: none to speak of in a second, their share in ten
MANY_ROUNDS = 400  # of pricing, where copies are many
PREPARING = 0.75  # of the time at most
VARYING = 0.7  # of the time for the aim alone, where variety has a price: the rest is for choosing with it


@dataclass(frozen=True)
class Solved:
    """One part of the job: what is made, from which layouts, and the limits on cost and on worth (or sets) made."""

    pool: Pool | None
    choice: Choice | None
    least_cost: Fraction
    most_made: Fraction
    frames: tuple[float, ...]


def loads(sheets: Sequence[Sheet], blanks: Sequence[Blank]) -> list[Callable[[], None]]:
    """What the methods that a job may need load or compile, before the clock starts."""
    out = [_solvers]
    many, alone = len(blanks) >= different.LEAST_KINDS, len(sheets) == 1 and sheets[0].count == 1
    if many or alone:
        out += [recreating.warm, merging.warm, covering.warm]
    if many and not alone and (len(sheets) > 1 or sheets[0].count is not None):
        out.append(several_sizes.warm)
    if any(has_best(s) for s in sheets):
        out.append(shown_kernels.warm)
    return out


def _solvers() -> None:
    import ortools.linear_solver.pywraplp
    import ortools.sat.python.cp_model  # noqa: F401


def schedule(part: Part, seconds: float) -> list[tuple[Method, float]]:
    """The rule: the methods for a part in order, each with its share of the time left; the next begins where it ends.

    One clear sheet: its best layout is the plan. Many pieces on clear sheets: ruin and recreate, with the linear program
    between, for longer where there are many copies. Everything else: the linear program over layouts; where rules with a price
    may be broken, with layouts that keep within the quantities behind it.
    """
    prices, within = partial(priced.run, part), partial(priced.run_within, part)
    if not part.sets and one_sheet.applies(part.pool, part.sense == "least"):
        return [(partial(one_sheet.run, part), 0.97), (prices, 1.0)]
    if part.sense == "least" and part.pool.fined():
        # what was chosen beforehand stays in every layout, which layouts within the quantities would not see to
        return [(prices, 1.0)] if any(c.must_be_cut for c in part.pool.classes) else [(prices, 0.7), (within, 1.0)]
    if part.sense != "least" or not different.applies(part.pool):
        return [(prices, 1.0)]
    if not different.alike(part.pool):
        return [(partial(several_sizes.run, part), 0.8), (prices, 0.3), (within, 1.0)]
    alike, just = Alike(part), partial(near.run, part)
    if different.few(part.pool):
        slow = min(0.4, seconds / SLOW_SECONDS)
        return [(alike.run, 0.05), (prices, 0.05), (alike.run, 0.4), (within, slow), (just, slow), (alike.run, 1.0)]
    longer, rest = partial(priced.run, part, most_rounds=MANY_ROUNDS), partial(rounded.run, part)
    return [(alike.run, 0.05), (longer, 0.6), (rest, 0.4), (within, 0.3), (just, 0.5), (rest, 0.5), (alike.run, 1.0)]


def solve(sheets: list[Sheet], blanks: list[Blank], aim: Aim, sets: Sets, cutter: Cutter | None, frames: Any, seconds: float,
          budget: Budget, seed: int, executor: Executor | None, fixed: Sequence[Fixed] = (),
          variety: Variety = 0, best_rate: Fraction = Fraction(0)) -> Solved:  # fmt: skip
    """Layouts, limits and choice for one independent part of the job; an interrupt keeps what there is.

    `fixed`: pieces chosen beforehand, on these sheets or others.
    """
    fixed = [f for f in fixed if any(s.id == f.sheet for s in sheets)]
    angles = {*(angle for s in sheets for angle in frames_for(s, frames, only_along(s, blanks))), *(f.angle for f in fixed)}
    used = tuple(sorted(angles)) or (0.0,)
    if not sheets:
        return Solved(None, None, Fraction(0), Fraction(0), used)
    chosen = chosen_on(sheets, blanks, cutter, fixed)
    part = Part("most" if aim == "most-worth" else "least", sheets, sets, Pool(blanks, chosen), seed, executor, best_rate)
    rest, each = without_copy(sheets, fixed), seconds / (10 * len(sheets))
    classes: list[SheetClass] = []
    try:
        if chosen:  # whatever ends the search, these are cut
            for group, sheet_class in enumerate(chosen):
                part.pool.add(group, sheet_class.single.bare())
            part.choose(budget)
        classes = chosen + classes_of(rest, blanks, cutter, frames, each, budget.part(PREPARING))
        if not classes:
            return Solved(None, None, Fraction(0), Fraction(0), used)
        if not sets:
            fitting = _fitting(blanks, classes)
            if len(fitting) < len(blanks):  # those that fit nowhere must not weigh in any limit
                return solve(sheets, fitting, aim, sets, cutter, frames, seconds, budget, seed, executor, fixed,
                             variety, best_rate)  # fmt: skip
        part.pool = Pool(blanks, classes, part.pool.columns, prices_of(variety, classes))
        kept = VARYING if part.pool.variety else 1.0
        pack(part.pool)
        showing = best_shown.applies(part.pool)
        main = budget.part(best_shown.SEARCHING) if showing else budget
        for method, share in schedule(part, seconds):
            if part.closed() or (part.choice is not None and main.over()):
                break
            spell = main.part(share * kept)
            try:
                method(spell)
            finally:
                if spell.stopped_by != "search":
                    budget.stop(spell.stopped_by)
            if budget.stopped_by == "interrupt":
                break
        if part.pool.variety and budget.stopped_by != "interrupt":
            first_layouts(part.pool, budget)  # of every sheet there must be a layout to choose
            part.choose(budget)
        if showing and part.choice is not None and budget.stopped_by != "interrupt":
            best_shown.run(part, budget)
    except TimeUp:
        budget.stop("time")
    except KeyboardInterrupt:
        budget.stop("interrupt")
    try:
        if budget.stopped_by == "time" and first_look.needed(part):
            later = (c for alike in alike_groups(rest) if (c := class_of(alike, blanks, cutter, frames, each)) is not None)
            first_look.run(part, classes or chain(chosen, later), Budget(first_look.OVERTIME, None))
            part.choose(budget)
        if part.choice is None:
            part.choose(budget)
    except KeyboardInterrupt:  # one that came late
        budget.stop("interrupt")
        if part.choice is None:
            part.choose(budget)
    return Solved(part.pool, part.choice, part.cost.limit, part.made.limit, used)


def _fitting(blanks: list[Blank], classes: Sequence[SheetClass]) -> list[Blank]:
    """The blanks that some sheet has a place for."""
    placed = frozenset().union(*(c.single.placed() for c in classes))
    return [b for i, b in enumerate(blanks) if i in placed]


def pack(pool: Pool) -> None:
    """A quick start where several different blanks go on many alike clear rectangles."""
    if len(pool.blanks) < 2:
        return
    many = [(group, c) for group, c in enumerate(pool.classes) if c.count is None or c.count > 1]
    for group, sheet_class in many[:2]:
        place = sheet_class.single.clear_ground()
        if place is not None:
            for tree in packed(place, pool.blanks, [b.quantity or 0 for b in pool.blanks]):
                pool.add(group, Found(0, 0, tree, place))
