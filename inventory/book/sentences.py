"""What an entry of the journal means to a maker, in one line."""

from __future__ import annotations

from collections.abc import Callable

from .journal import Entry


def told(entry: Entry, sheet: str | None = None, earlier: Callable[[int], Entry] | None = None) -> str:
    """One line about an entry, as far as it concerns `sheet` where one is named.

    `earlier` finds an entry by number, to say what an `undone` one reversed.
    """
    c = entry.content
    if entry.kind == "received":
        if sheet is not None:
            count = next(s["count"] for s in c["sheets"] if s["id"] == sheet)
            return f"received: {count}"
        return f"received: {_some(len(c['sheets']), 'sheet')}"
    name = "" if sheet is not None else f"{c['id']} " if "id" in c else ""
    if entry.kind == "counted":
        return f"{name}counted: {c['before']} became {c['now']} ({c['reason']})"
    if entry.kind == "retired":
        return f"{name}retired: {c['before']} taken out ({c['reason']})"
    if entry.kind == "material":
        return f"{name}is {c['now']} paper now" + (f", was {c['before']}" if c["before"] else "")
    if entry.kind == "cut":
        return _cut(entry, sheet)
    reversed_entry = f"entry {c['entry']}"
    if earlier is not None:
        reversed_entry += f", {told(earlier(c['entry']), sheet)}"
    return f"undone: {reversed_entry}"


def _cut(entry: Entry, sheet: str | None) -> str:
    c = entry.content
    plan = f"plan {c['plan']}"
    if sheet is None:
        copies = sum(part["copies"] for part in c["layouts"])
        return f"cut: {_some(copies, 'sheet')} by {plan}"
    taken = sum(part["copies"] for part in c["layouts"] if part["sheet"] == sheet)
    if taken:
        return f"cut: {taken} by {plan}"
    came = [(part["sheet"], s["count"]) for part in c["layouts"] for s in part["offcuts"] if s["id"] == sheet]
    return f"left over from {came[0][0]}: {sum(count for _, count in came)} by {plan}"


def _some(count: int, noun: str) -> str:
    return f"{count} {noun}" if count == 1 else f"{count} {noun}s"
