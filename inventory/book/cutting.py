"""What a checked plan does to the stock when it is cut: the content of a `cut` entry, or why there is none."""

from __future__ import annotations

import itertools
import json
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from sqlalchemy import Connection, select

from inventory.errors import StockChanged
from inventory.stock import StockSheet
from nesting import InputError, Plan
from nesting.layouts import Layout

from . import contents, journal, schema
from .conserving import areas_of
from .fold import sheets_of
from .offcuts import offcuts_of
from .sentences import told

PLAN_AGAIN = "Plan again on the stock as it is now."


@dataclass(frozen=True)
class CutResult:
    """What recording a plan did.

    `taken`: sheets cut, as (id, how many); `offcuts`: what came into stock; `layouts`: the layouts recorded now,
    `skipped`: those recorded before (both from 0). `already`: all of them were, and nothing changed.
    """

    taken: tuple[tuple[str, int], ...]
    offcuts: tuple[StockSheet, ...]
    layouts: tuple[int, ...]
    skipped: tuple[int, ...]
    already: bool


def check_first(plan: Plan, book_id: str) -> None:
    """Raise InputError for a plan with faults, without an id, or made from another book."""
    from nesting import check

    faults = check(plan)
    if faults:
        more = f" and {len(faults) - 1} more" if len(faults) > 1 else ""
        raise InputError("plan", "a plan without faults", f"{faults[0].where}: {faults[0].text}{more}",
                         "See them all with `quirestock check PLAN`.")  # fmt: skip
    if plan.stock is None or plan.id is None:
        raise InputError("plan, stock", "the stock book it was made from", "none",
                         "Only a plan made from the stock book can be recorded: `quirestock plan JOB`.")  # fmt: skip
    if plan.stock.book != book_id:
        raise InputError("plan, stock, book", f"this stock book ({book_id})", f"another ({plan.stock.book})",
                         "Name the book it was made from with --book.")  # fmt: skip


def which(plan: Plan, layouts: Sequence[int] | None) -> tuple[int, ...]:
    """The layouts asked for, in order, from 0. Raises InputError for one that the plan does not have."""
    count = len(plan.layouts)
    if layouts is None:
        return tuple(range(count))
    for index in layouts:
        if isinstance(index, bool) or not isinstance(index, int) or not 0 <= index < count:
            shown = index + 1 if isinstance(index, int) else index
            raise InputError("layouts", f"numbers from 1 to {count}" if count else "none: the plan has no layouts", shown)
    return tuple(sorted(set(layouts)))


def done_before(connection: Connection, plan: Plan, layouts: Sequence[int]) -> tuple[int, ...]:
    """Those of the layouts whose every copy is recorded already."""
    r = schema.recorded.c
    found = set(connection.execute(select(r.layout).where(r.plan == plan.id, r.copy == 0)).scalars())
    return tuple(index for index in layouts if index in found)


def refuse_changed(connection: Connection, plan: Plan, layouts: Sequence[int], book_id: str) -> None:
    """Raise StockChanged where a sheet that the layouts cut has changed since the plan was made."""
    assert plan.stock is not None
    number = journal.number_of(connection, book_id, plan.stock.head)
    if number is None:
        raise StockChanged(f"The stock book no longer has the state {plan.stock.head} that the plan was made from; "
                           f"it may have been brought back from a backup. {PLAN_AGAIN}")  # fmt: skip
    wanted = {plan.layouts[index].sheet for index in layouts}
    undone = {row.entry: row.by for row in connection.execute(select(schema.undone))}
    for entry in journal.entries(connection, after=number):
        target = journal.entry(connection, entry.content["entry"]) if entry.kind == "undone" else entry
        if target.number in undone and target.number > number:
            continue  # reversed since: as if neither had been
        hit = sorted(wanted.intersection(sheets_of(target)))
        if not hit or _no_change(target, plan):
            continue
        told_of = told(entry, hit[0], lambda n: journal.entry(connection, n))
        raise StockChanged(f"Sheet {hit[0]} has changed since the plan was made. Entry {entry.number}, {entry.time}: "
                           f"{told_of}. Nothing was recorded. {PLAN_AGAIN}")  # fmt: skip


def _no_change(entry: journal.Entry, plan: Plan) -> bool:
    if entry.kind == "counted":
        return bool(entry.content["before"] == entry.content["now"])
    return entry.kind == "cut" and entry.content["plan"] == plan.id


def content_of(connection: Connection, plan: Plan, layouts: Sequence[int]) -> dict[str, Any]:
    """The content of the `cut` entry that records these layouts (see `fold`). Raises InputError, StockChanged."""
    left: dict[str, int] = {}
    used: set[str] = set()
    parts = []
    for index in layouts:
        layout = plan.layouts[index]
        parent = _parent(connection, plan, layout)
        before = left.setdefault(layout.sheet, parent.sheet.count or 0)
        if before < layout.copies:
            raise StockChanged(f"Sheet {layout.sheet}: layout {index + 1} cuts {layout.copies}, the stock book has {before}. "
                               f"Nothing was recorded. {PLAN_AGAIN}")  # fmt: skip
        left[layout.sheet] = before - layout.copies
        ids = {piece.id: _free(connection, piece.id, used) for piece in layout.offcuts}
        offcuts = [contents.document(sheet) for sheet in offcuts_of(parent, layout, ids)]
        parts.append({"layout": index, "sheet": layout.sheet, "first": 0, "copies": layout.copies, "before": before,
                      "frame_deg": layout.frame_deg, "pieces": _pieces(plan, layout), "offcuts": offcuts,
                      "areas": areas_of(parent, layout, offcuts)})  # fmt: skip
    return {"plan": plan.id, "layouts": parts}


def _parent(connection: Connection, plan: Plan, layout: Layout) -> StockSheet:
    row = connection.execute(select(schema.stock).where(schema.stock.c.id == layout.sheet)).first()
    if row is None:
        raise InputError(f"plan, sheet {layout.sheet}", "a sheet of this stock book", "none of that id", PLAN_AGAIN)
    parent = contents.stock_sheet(json.loads(row.content), row.present)
    planned = next(sheet for sheet in plan.sheets if sheet.id == layout.sheet)
    if (planned.outline, planned.holes) != (parent.sheet.outline, parent.sheet.holes):
        raise InputError(f"plan, sheet {layout.sheet}", "the outline and holes of the stock book", "others", PLAN_AGAIN)
    return parent


def _free(connection: Connection, wanted: str, used: set[str]) -> str:
    """The id, with a number behind it where the book has it already."""
    for number in itertools.count(1):
        id = wanted if number == 1 else f"{wanted}-{number}"
        taken = connection.execute(select(schema.stock.c.id).where(schema.stock.c.id == id)).first()
        if id not in used and taken is None:
            used.add(id)
            return id
    raise AssertionError("unreachable: the numbers do not end")


def _pieces(plan: Plan, layout: Layout) -> list[dict[str, Any]]:
    sizes = {blank.name: blank for blank in plan.blanks}
    return [{"blank": name, "count": count, "width": sizes[name].width, "height": sizes[name].height}
            for name, count in sorted(layout.counts().items())]  # fmt: skip
