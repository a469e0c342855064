"""What a plan achieves in its measure, recomputed; and whether its limit and its proof agree with that."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from fractions import Fraction

from ..lengths import TICKS_PER_MM
from ..plans import Plan
from .exact import double_area
from .faults import Fault
from .rules import penalty
from .sets import most_sets

_ENDS = ("proof", "time", "steps", "search", "interrupt")
_PER_MM2 = 2 * TICKS_PER_MM * TICKS_PER_MM
NEAR = 1e-9


def same(a: float, b: float) -> bool:
    """Whether two amounts agree as far as sums of floats do."""
    return math.isclose(a, b, rel_tol=NEAR)


def stock_cost(plan: Plan) -> Fraction:
    """What the sheets cut cost: each its cost, or without one its area in mm2."""
    costs = {}
    for sheet in plan.sheets:
        area = abs(double_area(sheet.outline)) - sum(abs(double_area(hole)) for hole in sheet.holes)
        costs[sheet.id] = Fraction(area, _PER_MM2) if sheet.cost is None else Fraction(sheet.cost)
    return sum((costs[layout.sheet] * layout.copies for layout in plan.layouts), Fraction(0))


def worths(plan: Plan) -> dict[str, Fraction]:
    """The worth of one of each blank: as stated, or its area in mm2."""
    return {b.name: Fraction(2 * b.width * b.height, _PER_MM2) if b.worth is None else Fraction(b.worth) for b in plan.blanks}


def penalty_faults(plan: Plan) -> Iterator[Fault]:
    """What soft rules broken cost is said exactly."""
    due = _float(penalty(plan))
    if not same(plan.bound.penalty, due):
        yield Fault("penalty", "bound", f"The rules with a price that its pieces break cost {_said(due)}, "
                    f"the plan says {_said(plan.bound.penalty)}.")  # fmt: skip


def bound_faults(plan: Plan, made: Mapping[str, int], sound: bool) -> Iterator[Fault]:
    """Measure and sense fit aim and shortfall, achieved is right, the limit on its side, proven exactly when they agree.

    `sound`: all names are known, so that what is achieved can be worked out.
    """
    b = plan.bound
    short = {blank.name: blank.quantity - made[blank.name] for blank in plan.blanks if blank.quantity is not None}
    if plan.made_with.aim == "least-stock":
        sense, measure = "least", "unmade worth" if any(n > 0 for n in short.values()) else "stock cost"
    else:
        sense, measure = "most", "sets" if plan.sets else "worth"
    if b.sense != sense:
        yield Fault("bound", "bound", f"With the aim {plan.made_with.aim} the limit is an 'at {sense}', "
                    f"the plan says 'at {b.sense}'.")  # fmt: skip
    if b.measure != measure:
        yield Fault("bound", "bound", f"What counts here is {measure}, the plan says {b.measure}.")
    elif sound:
        low, high = _achieved(plan, made, short)
        if not (low <= b.achieved <= high or same(b.achieved, low) or same(b.achieved, high)):
            with_rules = " with rules broken" if penalty(plan) and measure in ("stock cost", "worth") else ""
            yield Fault("bound", "bound", f"The {measure} achieved{with_rules} is {_said(low)}, the plan says {b.achieved}.")
    proven = same(b.achieved, b.limit)
    if not proven and (b.achieved < b.limit) == (b.sense == "least"):
        word = "less" if b.sense == "least" else "more"
        yield Fault("bound", "bound", f"The plan achieves {b.achieved}, but says that no plan can have {word} than {b.limit}.")
    if b.limit < -1e-6:
        yield Fault("bound", "bound", f"The limit is {b.limit}, and no amount here can be below 0.")
    if b.proven and not proven:
        yield Fault("proof", "bound", f"It is called proven, but {b.achieved} is achieved and the limit is {b.limit}.")
    if proven and not b.proven:
        yield Fault("proof", "bound", f"It is called not proven, though the limit, {b.limit}, is achieved.")
    if b.stopped_by not in _ENDS:
        yield Fault("proof", "bound", f"What stopped the search is one of {', '.join(_ENDS)}; the plan says {b.stopped_by!r}.")
    elif b.stopped_by == "proof" and not b.proven:
        yield Fault("proof", "bound", "A proof is said to have stopped the search, but the plan is not called proven.")
    if sound:
        yield from penalty_faults(plan)
    yield from _frame_faults(plan)


def _achieved(plan: Plan, made: Mapping[str, int], short: Mapping[str, int]) -> tuple[float, float]:
    """At least and at most what the plan achieves in its measure; equal but for sets that share blanks in a knotty way."""
    worth = worths(plan)
    if plan.bound.measure == "sets":
        return most_sets(made, plan.sets or ())
    if plan.bound.measure == "stock cost":
        total = stock_cost(plan) + penalty(plan)
    elif plan.bound.measure == "worth":
        total = sum((worth[name] * count for name, count in made.items()), -penalty(plan))
    else:
        total = sum((worth[name] * count for name, count in short.items()), Fraction(0))
    return _float(total), _float(total)


def _float(value: Fraction) -> float:
    try:
        return float(value)
    except OverflowError:
        return math.inf if value > 0 else -math.inf


def _said(value: float) -> str:
    return f"{value:.15g}"


def _frame_faults(plan: Plan) -> Iterator[Fault]:
    listed = plan.bound.frames_deg
    for angle in listed:
        if not -45 < angle <= 45:
            yield Fault("frame", "bound", f"A frame is turned by more than -45 and at most 45 degrees; the plan lists {angle:g}.")
    if plan.bound.scope not in ("frames", "any angle"):
        yield Fault("frame", "bound", f"A limit holds for frames or any angle; the plan says {plan.bound.scope!r}.")
    for number, layout in enumerate(plan.layouts, 1):
        if plan.bound.scope == "any angle" and not -45 <= layout.frame_deg <= 45:
            yield Fault("frame", f"layout {number}", f"It is cut in a frame turned by {layout.frame_deg:g} degrees; the limit "
                        "for any angle holds for -45 to 45.")  # fmt: skip
        if plan.bound.scope == "frames" and layout.frame_deg not in listed:
            yield Fault("frame", f"layout {number}", f"It is cut in a frame turned by {layout.frame_deg:g} degrees, and the "
                        "limit does not hold for that.")  # fmt: skip
