"""How good a plan is, in words for the bench: what is the most possible, and under which conditions."""

from __future__ import annotations

import math
from fractions import Fraction

from ..blanks import Blank
from ..lengths import Unit
from ..plans import Bound, Plan
from ..sheets import Sheet


def worth(blank: Blank) -> Fraction:
    """The worth of one blank: its area in mm2 unless it is given one."""
    return Fraction(blank.area_mm2 if blank.worth is None else blank.worth)


def cost(sheet: Sheet) -> Fraction:
    """The cost of one sheet: its area in mm2 unless it is given one."""
    return Fraction(sheet.area_mm2 if sheet.cost is None else sheet.cost)


def limit_lines(plan: Plan, unit: Unit) -> list[str]:
    """What the bound of a plan says, in sentences without percentages."""
    bound = plan.bound
    where = _scope(bound)
    if bound.measure == "stock cost":
        lines = _stock(plan, unit, where)
    elif bound.measure == "sets":
        lines = [_most("complete sets", math.floor(bound.achieved), _down(bound.limit), bound.proven, where)]
    else:
        lines = _pieces(plan, where)
    if plan.made_with.variety:
        used = len(plan.sheets_used())
        lines.append(f"{used} different sheets are cut: the job sets a price on that. The limit leaves it out.")
    ended = {"time": "The search ended when its time was up: more time may find more.",
             "steps": "The search ended after its number of tries: more may find more.",
             "interrupt": "The search was stopped by hand: this is the best until then."}  # fmt: skip
    if not bound.proven and bound.stopped_by in ended:
        lines.append(ended[bound.stopped_by])
    return lines


def _scope(bound: Bound) -> str:
    if bound.scope == "any angle":
        return "at any angle"
    if bound.frames_deg == (0.0,):
        return "with cuts square to the sheet as drawn"
    return "in the direction tried" if len(bound.frames_deg) == 1 else f"in the {len(bound.frames_deg)} directions tried"


def _down(value: float | Fraction) -> int:
    """Rounded down, forgiving the last digits of a float."""
    return math.floor(Fraction(value) * (1 + Fraction(1, 10**9)))


def _most(what: str, made: int, most: int, proven: bool, where: str) -> str:
    if proven or made >= most:
        return f"{made} {what}: that is the most possible from these sheets, proven ({where})."
    return f"{made} {what} planned. No more than {most} are possible from these sheets ({where})."


def _pieces(plan: Plan, where: str) -> list[str]:
    """For the measures worth (most) and unmade worth (least): a number of pieces."""
    bound, made = plan.bound, plan.made()
    if bound.measure == "worth" and any(blank.priced for blank in plan.blanks):
        if bound.proven:
            return [f"No plan from these sheets is worth more, prices of rules broken taken off: proven ({where})."]
        return [f"It is worth {bound.achieved:g}, prices of rules broken taken off; no more than {bound.limit:g} is possible "
                f"from these sheets ({where})."]  # fmt: skip
    lost = bound.measure == "unmade worth"
    room = Fraction(bound.achieved) - Fraction(bound.limit)
    room = room if lost else -room
    if len(plan.blanks) == 1:
        blank = plan.blanks[0]
        most = made[blank.name] + _down(room / worth(blank))
        if blank.quantity is not None and made[blank.name] >= blank.quantity:
            return [f"All {blank.quantity} {blank.name} wanted are made."]
        return [_most(blank.name, made[blank.name], most, bound.proven, where)]
    short = dict(plan.short)
    open_blanks = [b for b in plan.blanks if b.quantity is None or short.get(b.name, 0) > 0]
    if not open_blanks:
        return ["All that is wanted is made."]
    if bound.proven:
        return [f"This is the most possible from these sheets: proven ({where})."]
    more = max(_down(room / worth(blank)) for blank in open_blanks)
    if more == 0:
        return [f"No more pieces can be added from these sheets ({where})."]
    return [f"No more than {more} pieces are possible on top of these from these sheets ({where})."]


def _stock(plan: Plan, unit: Unit, where: str) -> list[str]:
    bound = plan.bound
    added = ", prices of rules broken added" if any(blank.priced for blank in plan.blanks) else ""
    by_area = all(sheet.cost is None or math.isclose(sheet.cost, sheet.area_mm2) for sheet in plan.sheets)
    if bound.proven and added:
        less = "takes less" if by_area else "costs less"
        return [f"All that is wanted is made, and no plan from these sheets {less}{added}: proven ({where})."]
    if bound.proven:
        less = "no plan takes less paper from these sheets" if by_area else "no plan from these sheets costs less"
        return [f"All that is wanted is made, and {less}: proven ({where})."]
    if not by_area:
        return [f"All that is wanted is made. The sheets cost {bound.achieved:g}{added}; "
                f"no plan can do with less than {bound.limit:g} ({where})."]  # fmt: skip
    taken, least = area(bound.achieved, unit), area(bound.limit, unit)
    return [f"All that is wanted is made. It takes {taken} of paper{added}; "
            f"no plan can do with less than {least} ({where})."]  # fmt: skip


def area(mm2: float, unit: Unit) -> str:
    """An area for reading: square metres, square centimetres below 0.1 m2, or square inches."""
    if unit == "in":
        return f"{mm2 / 25.4**2:,.0f} sq in"
    return f"{mm2 / 1e6:.2f} m²" if mm2 >= 1e5 else f"{mm2 / 100:,.0f} cm²"
