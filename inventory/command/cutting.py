"""`quirestock cut` and `quirestock undo`: what was cut goes into the stock book, or out of it again."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from nesting.errors import InputError

from .common import BookOption, JsonOption, emit, emit_json, now, open_book, read_plan, say

if TYPE_CHECKING:
    from nesting import Plan


def cut(
    plan: Annotated[Path, typer.Argument(metavar="PLAN", help="A plan made from this stock book.")],
    layouts: Annotated[
        str | None, typer.Option("--layouts", metavar="NUMBERS", help="Only these, such as 1,3 or 2-5. Default: all.")
    ] = None,
    book: BookOption = None,
    json: JsonOption = False,
) -> None:
    """Record that a plan was cut: its sheets go out of stock, its offcuts come in.

    Recording it twice changes nothing. Where stock has changed since the plan was made, it is refused.
    """
    wanted = None if layouts is None else [number - 1 for number in numbers(layouts)]
    found = read_plan(plan)
    with open_book(book) as stock:
        result = stock.cut(found, now(), wanted)
        head = stock.head()
    if json:
        emit_json({
            "already": result.already, "taken": dict(result.taken), "recorded": [i + 1 for i in result.layouts],
            "recorded_before": [i + 1 for i in result.skipped], "head": head,
            "offcuts": [{"id": s.id, "count": s.sheet.count, "parent": s.parent} for s in result.offcuts]})  # fmt: skip
        return
    if result.already:
        emit("This was recorded before; nothing has changed.")
        return
    if result.skipped:
        say(f"Recorded before, left alone: layout {', '.join(str(i + 1) for i in result.skipped)}.")
    if not result.layouts:
        emit("Nothing to record: the plan cuts nothing.")
    for id, count in result.taken:
        emit(f"out  {count:>4}  {id}")
    for sheet in result.offcuts:
        emit(f"in   {sheet.sheet.count or 0:>4}  {sheet.id}")
    for old, new in _renamed(found, result.layouts, [s.id for s in result.offcuts]):
        say(f"The number {old} was taken: write {new} on that offcut.")


def _renamed(plan: Plan, layouts: tuple[int, ...], given: list[str]) -> list[tuple[str, str]]:
    planned = [piece.id for index in layouts for piece in plan.layouts[index].offcuts]
    return [(old, new) for old, new in zip(planned, given, strict=True) if old != new]


def undo(book: BookOption = None, json: JsonOption = False) -> None:
    """Take back the last thing recorded, by a new entry."""
    with open_book(book) as stock:
        entry = stock.undo(now())
        told = stock.told(entry)
    if json:
        emit_json({"undone": entry.number, "kind": entry.kind, "time": entry.time, "text": told})
    else:
        emit(f"Undone: entry {entry.number} of {entry.time}, {told}")


def numbers(text: str) -> list[int]:
    """Numbers written like 1,3 or 2-5, in order. Raises InputError."""
    out: list[int] = []
    for part in text.split(","):
        low, dash, high = part.strip().partition("-")
        if not low.isdecimal() or (dash and not high.isdecimal()) or not 1 <= int(low) <= int(high or low) <= 100_000:
            raise InputError("--layouts", "numbers like 1,3 or 2-5", text, "They are printed on each cut diagram.")
        out += range(int(low), int(high or low) + 1)
    return out
