"""`nesting.plan`: layouts for a whole job from a whole pile."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from concurrent.futures import Executor, ThreadPoolExecutor
from contextlib import nullcontext
from dataclasses import dataclass
from fractions import Fraction
from typing import Any

from ..blanks import Blank
from ..cutters import Cutter
from ..documents import with_id
from ..errors import ImpossibleJob, InputError
from ..layouts import Layout
from ..plans import AIMS, Aim, Bound, MadeWith, Measure, Plan
from ..sheets import Sheet
from . import bounds, different, several_sizes
from .arguments import checked_blanks, checked_cutter, checked_least, checked_rest, checked_sheets
from .as_cuts import largest_leftover
from .budget import Budget, Report
from .building import build
from .choosing import Choice, as_chosen, choose
from .columns import Column, Pool, TimeUp, classes_of, first_layouts
from .ground import frames_for
from .kernels import warm
from .packing import packed
from .reasons import why_not
from .relaxing import ROUNDS, Relaxed, relax, start
from .single import Found
from .worths import exact, plain

REFINE_STEPS = 60_000
RECREATE_SHARE = 0.85
AFTER_INTERRUPT = 1.0  # seconds for each part of the job that was not begun


@dataclass(frozen=True)
class _Solved:
    """One material's part of the job: what is made, from which columns, and the limits on cost and on worth made."""

    pool: Pool | None
    choice: Choice | None
    least_cost: Fraction
    most_made: Fraction
    frames: tuple[float, ...]


def plan(sheets: Sequence[Sheet], blanks: Sequence[Blank], aim: Aim = "least-stock",
         sets: Mapping[str, Mapping[str, int]] | None = None, cutter: Cutter | None = None, seconds: float = 10.0,
         steps: int | None = None, seed: int = 0, frames: Any = "auto", least_offcut: Any = None,
         fixed: Sequence[Any] = (), exclude: Sequence[str] = (), best_rate: float = 0, workers: int = 1,
         progress: Report | None = None) -> Plan:  # fmt: skip
    """The layouts for a whole job, what stays short, and the limit that no plan can pass.

    `least-stock`: first the least worth unmade, then the least stock cost. `most-worth`: quantities are limits; with
    `sets` (blanks needed for one set of each name) the most complete sets, ties by worth. `exclude`: ids of sheets
    not to touch. `steps` limits the search in a way that does not depend on the machine. Raises InputError, and
    ImpossibleJob where nothing can be made; Ctrl-C keeps the best so far and says so in `bound.stopped_by`.

    >>> import nesting
    >>> done = nesting.plan([nesting.Sheet.rectangle("a", 432, 559, count=9)], [nesting.Blank("letter", 216, 279, 10)])
    >>> done.made(), done.sheets_used(), done.bound.proven
    ({'letter': 10}, {'a': 3}, True)
    """
    from .. import __version__

    if aim not in AIMS:
        raise InputError("aim", " or ".join(AIMS), aim)
    checked_rest(seconds, steps, seed, workers, fixed, best_rate)
    blanks, sheets, cutter = checked_blanks(blanks), checked_sheets(sheets), checked_cutter(cutter)
    least = checked_least(least_offcut, blanks)
    usable = _without_excluded(sheets, exclude)
    wanted = _checked_sets(sets, aim, blanks)
    _check_limits(aim, blanks, usable)
    warm(lambda text: Budget(seconds, steps, progress).report("compiling", text=text))
    if len(blanks) >= different.LEAST_KINDS:
        different.warm()
        if len(usable) > 1 or usable[0].count is not None:
            several_sizes.warm()
    budget = Budget(seconds, steps, progress)
    parts = [(list(usable), list(blanks))] if wanted else _by_material(usable, blanks)
    solved: list[_Solved] = []
    pool_executor = ThreadPoolExecutor(workers) if workers > 1 else nullcontext()
    with pool_executor as executor:
        for number, (some_sheets, some_blanks) in enumerate(parts):
            share = budget.part(1 / (len(parts) - number))
            if budget.stopped_by == "interrupt":
                share = Budget(min(AFTER_INTERRUPT, max(0.1, budget.time_left())), steps, progress)
            solved.append(_solve(some_sheets, some_blanks, aim, wanted, cutter, frames, seconds, share, seed, executor))
            if share.stopped_by != "search" and budget.stopped_by != "interrupt":
                budget.stopped_by = share.stopped_by
    nothing = not any(s.choice is not None and any(s.choice.made) for s in solved)
    if nothing and all(s.most_made == 0 for s in solved):
        raise ImpossibleJob({b.name: why_not(b, usable, cutter) for b in blanks})
    layouts = _layouts([(s.pool, s.choice) for s in solved if s.pool and s.choice], cutter, least)
    made = {b.name: 0 for b in blanks}
    for s in solved:
        if s.pool and s.choice:
            made.update({b.name: m for b, m in zip(s.pool.blanks, s.choice.made, strict=True)})
    short = tuple((b.name, b.quantity - made[b.name]) for b in blanks if b.quantity is not None)
    bound = _bound(aim, bool(wanted), blanks, made, sheets, layouts, solved, budget.stopped_by)
    made_with = MadeWith(__version__, aim, seed, seconds, steps)
    frozen_sets = tuple((n, tuple(sorted(needs.items()))) for n, needs in sorted(sets.items())) if sets else None
    return with_id(Plan(sheets, blanks, layouts, short, bound, made_with, cutter, frozen_sets, (), tuple(exclude), least))


def _without_excluded(sheets: Sequence[Sheet], exclude: Sequence[str]) -> tuple[Sheet, ...]:
    known = {s.id for s in sheets}
    if isinstance(exclude, str) or not isinstance(exclude, Sequence):
        raise InputError("exclude", "a list of ids", exclude)
    for name in exclude:
        if name not in known:
            raise InputError("exclude", "ids of sheets in the pile", name)
    out = tuple(s for s in sheets if s.id not in set(exclude))
    if not out:
        raise InputError("exclude", "at least one sheet left to cut", "all of them")
    return out


def _checked_sets(sets: Any, aim: Aim, blanks: Sequence[Blank]) -> list[tuple[str, dict[int, int]]]:
    if not sets:
        return []
    if aim != "most-worth":
        raise InputError("sets", 'the aim "most-worth" beside them', aim)
    index = {b.name: i for i, b in enumerate(blanks)}
    if not isinstance(sets, Mapping):
        raise InputError("sets", "a table of sets, each with blanks and numbers", sets)
    out = []
    for name, needs in sorted(sets.items()):
        if not isinstance(needs, Mapping) or not needs:
            raise InputError(f"sets, {name}", "at least one blank", "none")
        for blank, count in needs.items():
            if blank not in index:
                raise InputError(f"sets, {name}", f"names of blanks ({', '.join(index)})", blank)
            if isinstance(count, bool) or not isinstance(count, int) or not 1 <= count <= 10_000:
                raise InputError(f"sets, {name}, {blank}", "a whole number from 1 to 10,000", count)
        out.append((name, {index[b]: n for b, n in needs.items()}))
    return out


def _check_limits(aim: Aim, blanks: Sequence[Blank], sheets: Sequence[Sheet]) -> None:
    for blank in blanks:
        if blank.quantity is None:
            if aim == "least-stock":
                raise InputError(f"blank {blank.name}, quantity", "how many, for the aim least-stock", "no limit")
            if any(s.count is None and (blank.material in (None, s.material)) for s in sheets):
                raise InputError(f"blank {blank.name}, quantity", "a limit, where sheets have none either", "no limit")


def _by_material(sheets: Sequence[Sheet], blanks: Sequence[Blank]) -> list[tuple[list[Sheet], list[Blank]]]:
    """Independent parts of the job: blanks that share no paper are planned apart."""
    if any(b.material is None for b in blanks):
        return [(list(sheets), list(blanks))]
    names = dict.fromkeys(b.material for b in blanks)
    return [([s for s in sheets if s.material == name], [b for b in blanks if b.material == name]) for name in names]


def _solve(sheets: list[Sheet], blanks: list[Blank], aim: Aim, sets: list[tuple[str, dict[int, int]]], cutter: Cutter | None,
           frames: Any, seconds: float, budget: Budget, seed: int, executor: Executor | None) -> _Solved:  # fmt: skip
    """Columns, limits and choice for one independent part of the job; an interrupt keeps what there is."""
    limited_turn = any(b.grain is not None or b.up is not None for b in blanks)
    used = tuple(sorted({angle for s in sheets for angle in frames_for(s, frames, limited_turn)})) or (0.0,)
    main = "most" if aim == "most-worth" else "least"
    if not sheets:
        return _Solved(None, None, Fraction(0), Fraction(0), used)
    cost = Relaxed("least", bounds.cost_by_area(blanks, sheets))
    needs = [n for _, n in sets]
    made = Relaxed("most", bounds.sets_by_area(blanks, sheets, needs) if sets else bounds.made_by_area(blanks, sheets))
    pool: Pool | None = None
    choice: Choice | None = None
    looking = budget.part(0.75)  # the rest is for choosing among what was found
    try:
        classes = classes_of(sheets, blanks, cutter, frames, seconds / (10 * len(sheets)), looking)
        if not classes:
            return _Solved(None, None, Fraction(0), Fraction(0), used)
        pool = Pool(blanks, classes)
        _pack(pool)
        if main == "least" and different.applies(pool):
            start_with = _many_different(pool, sheets, cost, budget.part(RECREATE_SHARE), seed)
            choice = as_chosen(pool, start_with)
            if not _closed(choice, pool, main, bool(sets), cost, made):
                choice = _better(main, pool, choice, choose(pool, sets, main, budget, seed, budget.steps, start_with))
            if choice is not None and (budget.over() or _closed(choice, pool, main, bool(sets), cost, made)):
                return _Solved(pool, choice, cost.limit, made.limit, used)
        first_layouts(pool, looking)
        rounds = budget.steps or ROUNDS
        for refine_steps in (0, budget.steps or REFINE_STEPS):  # plain tables first; what they leave open is refined
            known = start(pool, looking, refine_steps, executor)
            relax(made if main == "most" else cost, pool, sets, known, looking, seed, rounds, refine_steps, executor)
            choice = _better(main, pool, choice, choose(pool, sets, main, budget, seed, budget.steps))
            if main == "least" and choice is not None and _short(choice, blanks):
                relax(made, pool, (), known, looking, seed, rounds, refine_steps, executor)
                choice = _better(main, pool, choice, choose(pool, sets, main, budget, seed, budget.steps))
            if choice is not None and (looking.over() or _closed(choice, pool, main, bool(sets), cost, made)):
                break
    except TimeUp:
        budget.stopped_by = "time"
    except KeyboardInterrupt:
        budget.stopped_by = "interrupt"
    if pool is not None and choice is None:
        choice = choose(pool, sets, main, budget, seed, budget.steps)
    if budget.stopped_by == "search":
        budget.stopped_by = looking.stopped_by
    return _Solved(pool, choice, cost.limit, made.limit, used)


def _many_different(pool: Pool, sheets: Sequence[Sheet], cost: Relaxed, budget: Budget,
                    seed: int) -> dict[tuple[int, tuple[int, ...]], int]:  # fmt: skip
    """A start for many different pieces: as few alike sheets as can be, or the least cost where they differ."""
    if not different.alike(pool):
        return several_sizes.cheapest(pool, cost, budget, seed)
    group = pool.classes[0]
    least = different.least_cost(pool, len(group.members) == len(sheets))
    cost.take(least)
    lower = math.ceil(least / group.cost) if least and group.cost else 1
    return different.recreate_columns(pool, lower, budget, seed)


def _better(main: str, pool: Pool, before: Choice | None, after: Choice | None) -> Choice | None:
    """The later choice, unless its time was too short to reach the earlier one."""
    if before is None or after is None or main == "most":
        return after or before
    return before if _spoilt(before, pool) < _spoilt(after, pool) else after


def _spoilt(choice: Choice, pool: Pool) -> tuple[Fraction, Fraction, int]:
    """What the aim least-stock lowers: worth unmade, then cost, then the want of a large offcut."""
    wanted = zip(pool.blanks, choice.made, strict=True)
    unmade = sum((exact(b.worth or 0) * ((b.quantity or 0) - m) for b, m in wanted), Fraction(0))
    return unmade, _spent(choice, pool), -largest_leftover(c.tree for c in choice.columns)


def _spent(choice: Choice, pool: Pool) -> Fraction:
    cut = zip(choice.columns, choice.copies, strict=True)
    return sum((pool.classes[column.group].cost * copies for column, copies in cut), Fraction(0))


def _short(choice: Choice, blanks: Sequence[Blank]) -> bool:
    return any(m < (b.quantity or 0) for m, b in zip(choice.made, blanks, strict=True))


def _closed(choice: Choice, pool: Pool, main: str, sets: bool, cost: Relaxed, made: Relaxed) -> bool:
    """Whether the choice has reached its limit."""
    if main == "least" and not _short(choice, pool.blanks):
        return _spent(choice, pool) <= cost.limit
    if sets:
        return sum(choice.sets) >= made.limit
    worth = sum((exact(b.worth or 0) * m for b, m in zip(pool.blanks, choice.made, strict=True)), Fraction(0))
    return worth >= made.limit


def _pack(pool: Pool) -> None:
    """A quick start where several different blanks go on many alike clear rectangles."""
    if len(pool.blanks) < 2:
        return
    many = [(group, c) for group, c in enumerate(pool.classes) if c.count is None or c.count > 1]
    for group, sheet_class in many[:2]:
        place = sheet_class.single.clear_ground()
        if place is not None:
            for tree in packed(place.sheet, place.usable, pool.blanks, [b.quantity or 0 for b in pool.blanks]):
                pool.add(group, Found(0, 0, tree, place))


def _layouts(parts: list[tuple[Pool, Choice]], cutter: Cutter | None, least: tuple[int, int]) -> tuple[Layout, ...]:
    """Columns dealt out to the sheets of their class; pieces beyond what is wanted are left uncut."""
    out: list[Layout] = []
    named: dict[str, int] = {}
    for pool, choice in parts:
        cut = _dealt(pool, choice)
        given = [sum(copies * column.counts[i] for column, _, copies in cut) for i in range(len(pool.blanks))]
        surplus = [g - m for g, m in zip(given, choice.made, strict=True)]
        final: list[tuple[Column, str, int, dict[str, int]]] = []
        for column, sheet_id, copies in reversed(cut):
            while copies > 0 and any(s > 0 and c > 0 for s, c in zip(surplus, column.counts, strict=True)):
                drop = [min(s, c) for s, c in zip(surplus, column.counts, strict=True)]
                surplus = [s - d for s, d in zip(surplus, drop, strict=True)]
                copies -= 1
                if tuple(drop) != column.counts:
                    final.append((column, sheet_id, 1, {b.name: d for b, d in zip(pool.blanks, drop, strict=True) if d}))
            if copies > 0:
                final.append((column, sheet_id, copies, {}))
        for column, sheet_id, copies, skip in reversed(final):
            layout = build(column.ground, column.tree, cutter.square_up if cutter else 0, least, copies, skip, sheet_id,
                           named.get(sheet_id, 0))  # fmt: skip
            named[sheet_id] = named.get(sheet_id, 0) + len(layout.offcuts)
            out.append(layout)
    return tuple(out)


def _dealt(pool: Pool, choice: Choice) -> list[tuple[Column, str, int]]:
    left = {number: [[name, count] for name, count in group.members] for number, group in enumerate(pool.classes)}
    out: list[tuple[Column, str, int]] = []
    order = sorted(zip(choice.columns, choice.copies, strict=True),
                   key=lambda item: (item[0].group, tuple(-c for c in item[0].counts)))  # fmt: skip
    for column, copies in order:
        for member in left[column.group]:
            name, count = member
            take = copies if count is None else min(copies, int(count))
            if take > 0:
                out.append((column, str(name), int(take)))
                copies -= int(take)
                if count is not None:
                    member[1] = int(count) - int(take)
    return out


def _bound(aim: Aim, sets: bool, blanks: Sequence[Blank], made: Mapping[str, int], sheets: Sequence[Sheet],
           layouts: Sequence[Layout], solved: Sequence[_Solved], stopped_by: str) -> Bound:  # fmt: skip
    worth = sum((exact(b.worth or 0) * made[b.name] for b in blanks), Fraction(0))
    costs = {s.id: exact(s.cost or 0) for s in sheets}
    measure: Measure
    if aim == "most-worth":
        if sets:
            measure = "sets"
            achieved = Fraction(sum(sum(s.choice.sets) for s in solved if s.choice))
        else:
            measure, achieved = "worth", worth
        limit = max(achieved, sum((s.most_made for s in solved), Fraction(0)))
    elif any(b.quantity is not None and made[b.name] < b.quantity for b in blanks):
        measure = "unmade worth"
        whole_worth = sum((exact(b.worth or 0) * (b.quantity or 0) for b in blanks), Fraction(0))
        achieved = whole_worth - worth
        limit = max(Fraction(0), min(achieved, whole_worth - sum((s.most_made for s in solved), Fraction(0))))
    else:
        measure = "stock cost"
        achieved = sum((costs[x.sheet] * x.copies for x in layouts), Fraction(0))
        limit = min(achieved, sum((s.least_cost for s in solved), Fraction(0)))
    proven = abs(achieved - limit) <= abs(achieved) / 10**9
    frames = tuple(sorted({angle for s in solved for angle in s.frames}))
    return Bound("most" if aim == "most-worth" else "least", measure, plain(achieved), plain(achieved if proven else limit),
                 proven, "frames", frames, "proof" if proven else stopped_by)  # fmt: skip
