"""`nesting.fill`: the best layout of one sheet."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace
from fractions import Fraction
from typing import Any

from ...blanks import Blank
from ...cutters import Cutter
from ...errors import ImpossibleJob
from ...layouts import Node, Piece, leaves
from ...plans import Fill, MadeWith
from ...sheets import Sheet
from ..arguments import check_room, checked_blanks, checked_cutter, checked_least, checked_rest, checked_sheets
from ..budget import Budget, Report, search_seconds
from ..building import build
from ..kernels import warm
from ..pile.reasons import why_not
from ..recreate import recreating
from ..recreate.recreating import Recreation
from ..worths import exact, plain
from . import merging, shown_kernels, simpler
from .any_angle import any_angle
from .climbing import Climb
from .fines import NONE, Fines, fines_in, paid, whole_values
from .leftovers import Leftovers
from .limited_bounds import Limits, limits
from .showing_most import filled_showing_most
from .shown import has_best
from .single import Found, Interrupted, Single

REFINE_STEPS = 400_000
ROUNDS = 24
FOR_WORTH = 0.9  # of the time, where there are best areas
PRICING_SHARE = 0.5  # of the time, before ruin and recreate
RECREATE_SHARE, BETWEEN_SHARE = 0.5, 0.2
MERGED_WORK = 15  # merging asks for many tables: each must take no more than this part of what one may take
BETWEEN = ((0, 100), (4_000, 1_000), (64_000, 200_000))  # blocks of a run of merging, then looks of ruin and recreate
MOST_COPIES, MOST_PIECES, BLOCKS = 60, 600, 200_000  # of one blank, in all, looks at the best


def fill(sheet: Sheet, blanks: Sequence[Blank], cutter: Cutter | None = None, seconds: float = 10.0,
         steps: int | None = None, seed: int = 0, frames: Any = "auto", workers: int = 1,
         progress: Report | None = None) -> Fill:  # fmt: skip
    """The layout of one sheet with the most worth, and an upper bound on any layout's worth in these frames.

    Worth is less the prices of soft rules that pieces break; a piece that would cost more than it is worth is left out.
    With frames "auto" and no such prices every angle is looked at in the time left; where that ends, the bound holds for any
    angle, and `scope` says so. Quantities are limits. `steps` limits the search in a way that does not depend on the machine;
    `seconds` may stop it earlier, and `stopped_by` says so. Raises InputError, and ImpossibleJob where no blank has a place.

    >>> import nesting
    >>> nesting.fill(nesting.Sheet.rectangle("a", 432, 559), [nesting.Blank("letter", 216, 279)]).worth // (216 * 279)
    4
    """
    from ... import __version__

    checked_rest(seconds, steps, seed, workers, 0)
    blanks = checked_blanks(blanks)
    sheet = checked_sheets([sheet])[0]
    check_room([sheet], blanks)
    cutter = checked_cutter(cutter)
    least = checked_least(None, blanks)
    more = [recreating.warm, merging.warm] if any(b.quantity is not None for b in blanks) else []
    more += [shown_kernels.warm] if has_best(sheet) else []
    warm(lambda text: Budget(seconds, steps, progress).report("compiling", text=text), more)
    budget = Budget(search_seconds(seconds, most_on(sheet, blanks)), steps, progress)
    single = Single(sheet, blanks, cutter, frames, seconds)
    shaved = simpler.told([single.simple])
    if shaved:
        budget.report("known", text=shaved)
    values, fines, scale = whole_worths(single, blanks)
    showing = has_best(sheet)
    main = budget.part(FOR_WORTH) if showing else budget
    shown = False
    if single.possible():
        found, made, stopped = limited(single, blanks, values, main, steps or REFINE_STEPS, seed, scale, fines)
    else:
        found, made, stopped = single.first(values, main), [0] * len(blanks), "search"
    if frames == "auto" and not sheet.is_clear_rectangle and not single.fined() and sheet.ruling is None:
        found, made, shown = _at_any_angle(single, blanks, found, made, main, steps or REFINE_STEPS)
    if not single.possible() and not any(made):
        raise ImpossibleJob({b.name: why_not(b, [sheet], cutter) for b in blanks})
    if showing and found.tree is not None and found.ground is not None and any(made):
        worths, _, _ = whole_worths(single, blanks, all_of_them=True)
        better = filled_showing_most(found.ground, blanks, found.tree, worths, made, budget.over)
        if fines_in(better, found.ground, blanks, fines) <= fines_in(found.tree, found.ground, blanks, fines):
            found = replace(found, tree=better)
    counts = counted(found.tree, blanks)
    skip = {b.name: counts[i] - made[i] for i, b in enumerate(blanks) if counts[i] > made[i]}
    assert found.ground is not None
    layout = build(found.ground, found.tree, cutter, least, skip=skip, blanks=blanks) if any(made) else None
    penalty = paid(() if layout is None else (layout,), (sheet,), blanks)
    worth = sum((exact(b.worth or 0) * n for b, n in zip(blanks, made, strict=True)), -penalty)
    bound = max(Fraction(found.bound) / scale, worth)
    proven = bound - worth <= worth / 10**9
    made_with = MadeWith(__version__, "most-worth", seed, seconds, steps)
    return Fill(layout, plain(worth), plain(worth if proven else bound), proven, "proof" if proven else stopped,
                tuple(dict.fromkeys((*single.frames_deg, found.ground.frame_deg))), sheet, blanks, cutter, made_with, least,
                "any angle" if shown else "frames", plain(penalty))  # fmt: skip


def _at_any_angle(single: Single, blanks: Sequence[Blank], found: Found, made: list[int], budget: Budget,
                  steps: int) -> tuple[Found, list[int], bool]:  # fmt: skip
    """A better layout at any angle, how many of each blank of it to make, and whether there is none better still.

    Only where no quantity is used up: the search of angles knows no limits. Where all are, nothing can be better. A sheet with
    a rectangular outline is cut square to it: there the angles can only show that none gives more.
    """
    quantity = [b.quantity for b in blanks]
    if all(q is not None and m >= q for m, q in zip(made, quantity, strict=True)):
        return replace(found, bound=found.value), made, True
    if any(q is not None and m >= q for m, q in zip(made, quantity, strict=True)):
        return found, made, False
    values, _, _ = whole_worths(single, blanks, all_of_them=True)
    turned = any_angle(single, values, found, budget, steps)
    if single.sheet.is_rectangle and turned.found.value > found.value:
        return found, made, False
    counts = counted(turned.found.tree, blanks)
    if all(q is None or n <= q for n, q in zip(counts, quantity, strict=True)):
        return turned.found, counts, turned.shown
    better, within = _within_limits(turned.found, blanks, values, quantity, counts, NONE)
    worth = sum(v * n for v, n in zip(values, within, strict=True))
    return (replace(better, value=worth), within, False) if worth > found.value else (found, made, False)


def whole_worths(single: Single, blanks: Sequence[Blank], all_of_them: bool = False) -> tuple[list[int], Fines, Fraction]:
    """Whole worths of the blanks (0 where one has no place in the frames), fines of their soft rules, and the scale of all."""
    values, fines, scale = whole_values([exact(b.worth or 0) for b in blanks], blanks, most_pieces(single, blanks))
    placed = single.placed()
    return [v if all_of_them or i in placed else 0 for i, v in enumerate(values)], fines, scale


def most_pieces(single: Single, blanks: Sequence[Blank]) -> int:
    """No layout has more pieces."""
    return most_on(single.sheet, blanks)


def most_on(sheet: Sheet, blanks: Sequence[Blank]) -> int:
    """No layout of the sheet has more pieces."""
    x0, y0, x1, y1 = sheet.box
    return max(1, (x1 - x0) * (y1 - y0) // min(b.width * b.height for b in blanks))


def counted(tree: Node | None, blanks: Sequence[Blank]) -> list[int]:
    """How many of each blank a tree gives."""
    index = {b.name: i for i, b in enumerate(blanks)}
    out = [0] * len(blanks)
    for leaf in leaves(tree) if tree is not None else ():
        if isinstance(leaf, Piece):
            out[index[leaf.blank]] += 1
    return out


def limited(single: Single, blanks: Sequence[Blank], values: Sequence[int], budget: Budget,
            refine_steps: int, seed: int, scale: Fraction | None,
            fines: Fines = NONE) -> tuple[Found, list[int], str]:  # fmt: skip
    """The best layout within the quantities, how many of each blank of it to make, and what stopped the search.

    Without quantities in the way the unlimited optimum is the answer. On one clear rectangle merging finds the best.
    Elsewhere prices on the pieces that come out too often are raised and lowered in rounds (Lagrangian relaxation):
    each round bounds the worth, and its layout, cut back to the quantities and filled up again, is a candidate.
    `scale`: what the values were made whole by, for progress; None for none. `fines`: taken off where soft rules are
    broken; where they tell turns of a blank apart, prices alone are at work, as merging and ruin and recreate know a blank
    by one worth.
    """
    def report(worth: int, limit: int) -> None:
        if scale is not None:
            budget.report("layout", plain(Fraction(worth) / scale), plain(Fraction(limit) / scale))

    if fines and (level := single.levelled(values, fines)) is not None:
        values, fines = level, NONE
    best: Found | None = None
    best_made: list[int] = []
    bound: int | None = None
    quantity = [b.quantity for b in blanks]
    prices = [0.0] * len(blanks)
    interrupted = False
    merged = None if fines else merging_problem(single, values, quantity, single.work // MERGED_WORK)
    rounds = 1 if merged else ROUNDS
    pricing = budget if merged or fines or single.clear_ground() is None else budget.part(PRICING_SHARE)
    for step in range(rounds if budget.steps is None else min(rounds, budget.steps)):
        try:
            priced = [max(0, v - round(p)) for v, p in zip(values, prices, strict=True)]
            found = single.best(priced, pricing, refine_steps if step == 0 else refine_steps // 20, fines)
        except Interrupted as stop:
            found, interrupted = stop.found, True
        except KeyboardInterrupt:
            interrupted = True
            break
        paid = sum(max(0, v - w) * (q or 0) for v, w, q in zip(values, priced, quantity, strict=True))
        bound = found.bound + paid if bound is None else min(bound, found.bound + paid)
        counts = counted(found.tree, blanks)
        found, made = _within_limits(found, blanks, values, quantity, counts, fines)
        worth = sum(v * n for v, n in zip(values, made, strict=True)) - fines_in(found.tree, found.ground, blanks, fines)
        if best is None or worth > best.value:
            best, best_made = Found(worth, 0, found.tree, found.ground), made
            try:
                report(worth, bound)
            except KeyboardInterrupt:
                interrupted = True
                break
        too_many = [c - q if q is not None else 0 for c, q in zip(counts, quantity, strict=True)]
        settled = all(t <= 0 and p == 0 for t, p in zip(too_many, prices, strict=True))
        if interrupted or settled or best.value >= bound or pricing.over():
            break
        size = sum(t * t for t in too_many)
        if size == 0:
            break
        move = 0.9 ** (step // 2) * max(1.0, bound - best.value) / size
        prices = [min(float(v), max(0.0, p + move * t)) for p, t, v in zip(prices, too_many, values, strict=True)]
    if not (fines or interrupted or budget.over()) and best is not None and bound is not None and best.value < bound:
        if merged is None:
            try:
                best, best_made = _recreated(single, blanks, values, budget, best, best_made, RECREATE_SHARE, seed)
            except KeyboardInterrupt:
                interrupted = True
        else:
            best, best_made, bound, interrupted = _merged(merged, single, blanks, values, budget, best, best_made, bound, seed,
                                                          report)  # fmt: skip
    if best is None:
        best, best_made = Found(0, 0, None, single.best([0] * len(blanks), budget).ground), [0] * len(blanks)
        most = most_pieces(single, blanks)
        bound = sum(v * min(most, most if b.quantity is None else b.quantity) for v, b in zip(values, blanks, strict=True))
    assert bound is not None
    reason = "interrupt" if interrupted else budget.stopped_by
    return Found(best.value, max(bound, best.value), best.tree, best.ground), best_made, reason


def merging_problem(single: Single, values: Sequence[int], quantity: Sequence[int | None], work: int) -> Limits | None:
    """The sheet as a problem for merging: one clear rectangle, square to its edges, with few enough sizes.

    None also where a table over the sizes would take more than `work`.
    """
    place = single.clear_ground() if single.frames_deg == (0.0,) else None
    if place is None:
        return None
    x0, y0, x1, y1 = place.usable
    return limits(x1 - x0, y1 - y0, single.oriented(), values, quantity, work)


def _merged(problem: Limits, single: Single, blanks: Sequence[Blank], values: Sequence[int], budget: Budget, best: Found,
            made: list[int], bound: int, seed: int,
            tell: Callable[[int, int], None]) -> tuple[Found, list[int], int, bool]:  # fmt: skip
    """Merging, with ruin and recreate once it is clear that it will take long; best, counts, bound, interrupted."""
    place = single.clear_ground()
    assert place is not None
    climb = Climb(problem, place.usable, best.value, bound)

    def report() -> None:
        tell(climb.known, climb.bound)

    interrupted = False
    try:
        for most, looks in BETWEEN:
            if most:
                climb.go(budget, report, most)
            if climb.known >= climb.bound or budget.over():
                break
            known = best if climb.tree is None else Found(climb.known, 0, climb.tree, place)
            recreated, counts = _recreated(single, blanks, values, budget, known, made, BETWEEN_SHARE, seed, looks)
            if recreated.value > climb.known:
                best, made = recreated, counts
                climb.learn(recreated.value)
                report()
        climb.go(budget, report)
    except KeyboardInterrupt:
        interrupted = True
    if climb.tree is not None:
        best, made = Found(climb.known, 0, climb.tree, place), counted(climb.tree, blanks)
    return best, made, climb.bound, interrupted


def _recreated(single: Single, blanks: Sequence[Blank], values: Sequence[int], budget: Budget, best: Found,
               made: list[int], share: float, seed: int, looks: int = BLOCKS) -> tuple[Found, list[int]]:  # fmt: skip
    """Ruin and recreate on one clear sheet with limited quantities, where that is better than the best so far."""
    place = single.clear_ground()
    if place is None:
        return best, made
    x0, y0, x1, y1 = place.usable
    fitting = {o.blank for o in single.oriented()}
    wanted = [min(b.quantity or MOST_COPIES, MOST_COPIES, (x1 - x0) * (y1 - y0) // (b.width * b.height)) if i in fitting else 0
              for i, b in enumerate(blanks)]  # fmt: skip
    if sum(wanted) > MOST_PIECES or not any(wanted):
        return best, made
    blocks = looks if budget.steps is None else min(looks, budget.steps)
    tree = Recreation(place.sheet, place.usable, blanks, wanted, seed).fullest(values, blocks, budget.part(share))
    if tree is None:
        return best, made
    counts = counted(tree, blanks)
    worth = sum(v * n for v, n in zip(values, counts, strict=True))
    return (Found(worth, 0, tree, place), counts) if worth > best.value else (best, made)


def _within_limits(found: Found, blanks: Sequence[Blank], values: Sequence[int], quantity: Sequence[int | None],
                   counts: list[int], fines: Fines) -> tuple[Found, list[int]]:  # fmt: skip
    """Cut a layout back to the quantities and fill the freed boxes with what is still wanted."""
    made = [c if q is None else min(c, q) for c, q in zip(counts, quantity, strict=True)]
    if made == counts or found.tree is None or found.ground is None:
        return found, made
    tree = Leftovers(found.ground, blanks, values, made, fines).filled(found.tree)
    return Found(found.value, found.bound, tree, found.ground), counted_within(tree, blanks, quantity)


def counted_within(tree: Node, blanks: Sequence[Blank], quantity: Sequence[int | None]) -> list[int]:
    """How many of each blank a tree gives, at most the quantities."""
    return [c if q is None else min(c, q) for c, q in zip(counted(tree, blanks), quantity, strict=True)]
