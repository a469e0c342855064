"""Names and numbers: nothing twice, nothing unknown, no sheet used too often, what is made and what stays short."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Mapping

from ..documents import digest
from ..plans import Plan
from .faults import Fault


def name_faults(plan: Plan) -> Iterator[Fault]:
    """Each sheet, blank and offcut has a name of its own, and every name used is known."""
    sheets, blanks = Counter(s.id for s in plan.sheets), Counter(b.name for b in plan.blanks)
    offcuts = Counter(offcut.id for layout in plan.layouts for offcut in layout.offcuts)
    for kind, names in (("sheet", sheets), ("blank", blanks), ("offcut", offcuts)):
        for name, count in names.items():
            if count > 1:
                yield Fault("duplicate", f"{kind} {name}", f"{count} {kind}s have this name.")
    for name in offcuts:
        if name in sheets:
            yield Fault("duplicate", f"offcut {name}", "A sheet of the plan has this name already.")
    for name, _ in plan.short:
        if name not in blanks:
            yield Fault("unknown", "short", f"No blank of the plan is called {name!r}.")
    for name, needs in plan.sets or ():
        for blank, count in needs:
            if blank not in blanks:
                yield Fault("unknown", f"set {name}", f"No blank of the plan is called {blank!r}.")
            if count < 1:
                yield Fault("sets", f"set {name}", f"It takes {count} of {blank}; 1 or more is expected.")
        if not needs:
            yield Fault("sets", f"set {name}", "It takes no blank at all.")


def id_faults(plan: Plan) -> Iterator[Fault]:
    """A plan that carries an id carries the one of its content."""
    if plan.id is None:
        return
    try:
        due = digest(plan)
    except (TypeError, ValueError, OverflowError, RecursionError) as error:
        yield Fault("id", "id", f"The id of this plan cannot be worked out from it ({type(error).__name__}).")
        return
    if plan.id != due:
        yield Fault("id", "id", f"The id is {plan.id!r}, that of its content is {due!r}: the plan was altered after it was made.")


def stock_faults(plan: Plan) -> Iterator[Fault]:
    """Copies are 1 or more, no sheet is used more often than there are, none that was to be left alone."""
    used: Counter[str] = Counter()
    for number, layout in enumerate(plan.layouts, 1):
        if layout.copies < 1:
            yield Fault("stock", f"layout {number}", f"It is cut {layout.copies} times; 1 or more is expected.")
        used[layout.sheet] += layout.copies
    have = {sheet.id: sheet.count for sheet in plan.sheets}
    for name, count in used.items():
        if name not in have:
            yield Fault("unknown", f"sheet {name}", "A layout cuts it, but no sheet of the plan has this name.")
            continue
        limit = have[name]
        if limit is not None and count > limit:
            yield Fault("stock", f"sheet {name}", f"The layouts cut {count} of it, there are {limit}.")
    for name in dict.fromkeys(plan.exclude):
        if name in used:
            yield Fault("excluded", f"sheet {name}", "It was to be left whole, and a layout cuts it.")


def made(plan: Plan) -> dict[str, int]:
    """How many of each blank the listed pieces give, all copies counted."""
    out = {blank.name: 0 for blank in plan.blanks}
    for layout in plan.layouts:
        for piece in layout.pieces:
            if piece.blank in out:
                out[piece.blank] += layout.copies
    return out


def number_faults(plan: Plan, got: Mapping[str, int]) -> Iterator[Fault]:
    """Not more than wanted is made, and what stays short is told exactly, for each blank with a quantity."""
    listed = Counter(name for name, _ in plan.short)
    short = dict(plan.short)
    for blank in plan.blanks:
        where = f"blank {blank.name}"
        if blank.quantity is None:
            if blank.name in short:
                yield Fault("short", where, "It has no quantity, so it cannot be short.")
            continue
        if got[blank.name] > blank.quantity:
            yield Fault("over", where, f"{got[blank.name]} are made, {blank.quantity} are wanted.")
        if blank.name not in short:
            yield Fault("short", where, "The plan does not say how many stay short.")
        elif short[blank.name] not in (blank.quantity - got[blank.name], due := max(0, blank.quantity - got[blank.name])):
            yield Fault("short", where, f"The plan says that {short[blank.name]} stay short; it is {due or 'none'}.")
        elif listed[blank.name] > 1:
            yield Fault("short", where, "The plan says more than once how many stay short.")
