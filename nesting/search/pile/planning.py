"""`nesting.plan`: layouts for a whole job from a whole pile."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from concurrent.futures import ThreadPoolExecutor
from contextlib import nullcontext
from fractions import Fraction
from typing import Any

from ...blanks import Blank
from ...cutters import Cutter
from ...documents import with_id
from ...errors import ImpossibleJob, InputError
from ...layouts import Layout
from ...plans import AIMS, Aim, Bound, MadeWith, Measure, Plan
from ...sheets import Sheet
from ..arguments import MOST_ON_A_SHEET, check_room, checked_blanks, checked_cutter, checked_least, checked_rest, checked_sheets
from ..budget import Budget, Report, search_seconds
from ..chosen import checked_fixed
from ..kernels import warm
from ..sheet.fines import paid
from ..worths import exact, plain
from .bounds import most_of
from .dealing import dealt_layouts
from .reasons import why_not
from .solving import Solved, loads, solve
from .variety import checked_variety

AFTER_INTERRUPT = 1.0  # seconds for each part of the job that was not begun


def plan(sheets: Sequence[Sheet], blanks: Sequence[Blank], aim: Aim = "least-stock",
         sets: Mapping[str, Mapping[str, int]] | None = None, cutter: Cutter | None = None, seconds: float = 10.0,
         steps: int | None = None, seed: int = 0, frames: Any = "auto", least_offcut: Any = None,
         fixed: Sequence[Any] = (), exclude: Sequence[str] = (), best_rate: float = 0, workers: int = 1,
         progress: Report | None = None, variety: Any = 0) -> Plan:  # fmt: skip
    """The layouts for a whole job, what stays short, and the limit that no plan can pass.

    `least-stock`: first the least worth unmade, then the least stock cost. `most-worth`: quantities are limits; with
    `sets` (blanks needed for one set of each name) the most complete sets, ties by worth. The prices of soft rules that
    pieces break are added to the cost, or taken off the worth. `exclude`: ids of sheets not to touch. `fixed`: pieces
    already chosen, each a mapping (or `nesting.fixed.Fixed`) {"sheet": id, "blank": name,
    "at": (x, y), "turn": 0, "angle": 0}: the low-left corner in sheet coordinates as the piece lies after its turn, and the
    angle of its frame in degrees; those of one sheet lie on one copy of it. They count towards the quantities. `variety`:
    what one more different sheet may cost, in stock cost (worth with `most-worth`), below 0 what it must save; also by
    material, {"cover": 500}. Of equally good plans it is the one whose front panels show most of the best areas;
    `best_rate`: the worth (with least-stock the cost) that a mm2 of them makes up for. `steps` limits the search in a way
    that does not depend on the machine. Raises InputError, and ImpossibleJob where nothing can be made or no knife can part
    the chosen pieces; Ctrl-C keeps the best so far and says so in `bound.stopped_by`.

    >>> import nesting
    >>> done = nesting.plan([nesting.Sheet.rectangle("a", 432, 559, count=9)], [nesting.Blank("letter", 216, 279, 10)])
    >>> done.made(), done.sheets_used(), done.bound.proven
    ({'letter': 10}, {'a': 3}, True)
    """
    from ... import __version__

    if aim not in AIMS:
        raise InputError("aim", " or ".join(AIMS), aim)
    checked_rest(seconds, steps, seed, workers, best_rate)
    varied = checked_variety(variety)
    blanks, sheets, cutter = checked_blanks(blanks), checked_sheets(sheets), checked_cutter(cutter)
    least = checked_least(least_offcut, blanks)
    usable = _without_excluded(sheets, exclude)
    chosen = checked_fixed(fixed, sheets, blanks, exclude, cutter)
    check_room(usable, blanks)
    wanted = _checked_sets(sets, aim, blanks)
    _check_limits(aim, blanks, usable)
    warm(lambda text: Budget(seconds, steps, progress).report("compiling", text=text), loads(usable, blanks))
    pieces = sum(most_of(b, usable) for b in blanks)
    budget = Budget(search_seconds(seconds, min(MOST_ON_A_SHEET, pieces)), steps, progress)
    parts = [(list(usable), list(blanks))] if wanted else _by_material(usable, blanks)
    solved: list[Solved] = []
    order = sorted(range(len(parts)), key=lambda k: (len(parts[k][0]), k))  # short parts first: others have what they leave
    pool_executor = ThreadPoolExecutor(workers) if workers > 1 else nullcontext()
    with pool_executor as executor:
        for number, k in enumerate(order):
            share = budget.part(1 / (len(parts) - number), by_clock=True)
            if budget.stopped_by == "interrupt":
                share = Budget(min(AFTER_INTERRUPT, max(0.1, budget.time_left())), steps, progress)
            solved.append(solve(*parts[k], aim, wanted, cutter, frames, seconds, share, seed, executor, chosen, varied,
                                exact(best_rate)))  # fmt: skip
            if share.stopped_by != "search" and budget.stopped_by != "interrupt":
                budget.stop(share.stopped_by)
    solved = [solved[order.index(k)] for k in range(len(parts))]
    nothing = not any(s.choice is not None and any(s.choice.made) for s in solved)
    if nothing and all(s.most_made == 0 for s in solved):
        raise ImpossibleJob({b.name: why_not(b, usable, cutter, weighed=aim == "most-worth") for b in blanks})

    def laid_out() -> Plan:
        taken = [(s.pool, s.choice) for s in solved if s.pool and s.choice]
        layouts = dealt_layouts(taken, cutter, least, lambda: budget.time_left() <= 0 or budget.stopped_by == "interrupt")
        made = {b.name: 0 for b in blanks}
        for pool, choice in taken:
            made.update({b.name: m for b, m in zip(pool.blanks, choice.made, strict=True)})
        short = tuple((b.name, b.quantity - made[b.name]) for b in blanks if b.quantity is not None)
        bound = _bound(aim, bool(wanted), blanks, made, sheets, layouts, solved, budget.stopped_by)
        made_with = MadeWith(__version__, aim, seed, seconds, steps, varied, best_rate)
        frozen_sets = tuple((n, tuple(sorted(needs.items()))) for n, needs in sorted(sets.items())) if sets else None
        return with_id(Plan(sheets, blanks, layouts, short, bound, made_with, cutter, frozen_sets, chosen, tuple(exclude), least))

    try:
        budget.report("chosen")
        return laid_out()
    except KeyboardInterrupt:  # what the search has chosen must not be lost: once more, without more looking
        budget.stop("interrupt")
        return laid_out()


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


def _bound(aim: Aim, sets: bool, blanks: Sequence[Blank], made: Mapping[str, int], sheets: Sequence[Sheet],
           layouts: Sequence[Layout], solved: Sequence[Solved], stopped_by: str) -> Bound:  # fmt: skip
    worth = sum((exact(b.worth or 0) * made[b.name] for b in blanks), Fraction(0))
    costs = {s.id: exact(s.cost or 0) for s in sheets}
    penalty = paid(layouts, sheets, blanks)
    measure: Measure
    if aim == "most-worth":
        if sets:
            measure = "sets"
            achieved = Fraction(sum(sum(s.choice.sets) for s in solved if s.choice))
        else:
            measure, achieved = "worth", worth - penalty
        limit = max(achieved, sum((s.most_made for s in solved), Fraction(0)))
    elif any(b.quantity is not None and made[b.name] < b.quantity for b in blanks):
        measure = "unmade worth"
        whole_worth = sum((exact(b.worth or 0) * (b.quantity or 0) for b in blanks), Fraction(0))
        achieved = whole_worth - worth
        limit = max(Fraction(0), min(achieved, whole_worth - sum((s.most_made for s in solved), Fraction(0))))
    else:
        measure = "stock cost"
        achieved = sum((costs[x.sheet] * x.copies for x in layouts), penalty)
        limit = min(achieved, sum((s.least_cost for s in solved), Fraction(0)))
    proven = abs(achieved - limit) <= abs(achieved) / 10**9
    frames = tuple(sorted({angle for s in solved for angle in s.frames}))
    return Bound("most" if aim == "most-worth" else "least", measure, plain(achieved), plain(achieved if proven else limit),
                 proven, "frames", frames, "proof" if proven else stopped_by, plain(penalty))  # fmt: skip
