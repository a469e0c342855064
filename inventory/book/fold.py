"""What stock there is: the journal folded into tables, one rule a kind of entry, and its reverse.

Contents: received {sheets}, counted {id, before, now, reason}, retired {id, before, reason},
material {id, before, now},
cut {plan, layouts: [{layout, sheet, first, copies, before, frame_deg, pieces, offcuts, areas}]}, undone {entry}.
The same rules run on the book's own tables and on tables in memory, so a rebuild gives the same rows.
"""

from __future__ import annotations

import json
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import Any, Protocol

from sqlalchemy import Connection, delete, insert, select, update

from . import schema
from .journal import Entry, canonical

Key = tuple[str, int, int]


@dataclass(frozen=True)
class Row:
    """A line of the table `stock`: what came in with `entry` as its `position`-th sheet, and how many are left."""

    id: str
    entry: int
    position: int
    present: int
    kind: str
    material: str | None
    parent: str | None
    content: str


class Tables(Protocol):
    """Where the fold is kept."""

    def put(self, row: Row) -> None:
        """Add a sheet."""

    def remove(self, id: str) -> None:
        """Take a sheet away, as if it had never come."""

    def set_count(self, id: str, count: int) -> None:
        """Say how many are left."""

    def set_material(self, id: str, material: str | None) -> None:
        """Say what it serves as."""

    def record(self, keys: Sequence[Key], entry: int) -> None:
        """Note copies of layouts as cut."""

    def forget(self, keys: Sequence[Key]) -> None:
        """Note them as not cut."""

    def touch(self, entry: int, ids: Sequence[str]) -> None:
        """Note which sheets an entry touches."""

    def undo(self, entry: int, by: int) -> None:
        """Note an entry as reversed by another."""


def apply(entry: Entry, tables: Tables, earlier: Callable[[int], Entry]) -> None:
    """Bring the tables to the state behind `entry`; `earlier` finds an entry by its number."""
    if entry.kind == "undone":
        target = earlier(entry.content["entry"])
        _reverse(target, tables)
        tables.undo(target.number, entry.number)
        tables.touch(entry.number, sheets_of(target))
        return
    c = entry.content
    if entry.kind == "received":
        for position, sheet in enumerate(c["sheets"]):
            tables.put(_row(sheet, entry.number, position))
    elif entry.kind == "counted":
        tables.set_count(c["id"], c["now"])
    elif entry.kind == "retired":
        tables.set_count(c["id"], 0)
    elif entry.kind == "material":
        tables.set_material(c["id"], c["now"])
    elif entry.kind == "cut":
        position = 0
        for part in c["layouts"]:
            tables.set_count(part["sheet"], part["before"] - part["copies"])
            for sheet in part["offcuts"]:
                tables.put(_row(sheet, entry.number, position))
                position += 1
            tables.record(_keys(c["plan"], part), entry.number)
    else:
        raise ValueError(f"entry {entry.number} has the unknown kind {entry.kind!r}")
    tables.touch(entry.number, sheets_of(entry))


def _reverse(entry: Entry, tables: Tables) -> None:
    c = entry.content
    if entry.kind == "received":
        for sheet in reversed(c["sheets"]):
            tables.remove(sheet["id"])
    elif entry.kind in ("counted", "retired"):
        tables.set_count(c["id"], c["before"])
    elif entry.kind == "material":
        tables.set_material(c["id"], c["before"])
    elif entry.kind == "cut":
        for part in reversed(c["layouts"]):
            tables.forget(_keys(c["plan"], part))
            for sheet in reversed(part["offcuts"]):
                tables.remove(sheet["id"])
            tables.set_count(part["sheet"], part["before"])
    else:
        raise ValueError(f"entry {entry.number} ({entry.kind}) cannot be reversed")


def sheets_of(entry: Entry) -> tuple[str, ...]:
    """The ids that an entry other than `undone` touches, sorted."""
    c = entry.content
    if entry.kind == "received":
        ids = {sheet["id"] for sheet in c["sheets"]}
    elif entry.kind == "cut":
        ids = {part["sheet"] for part in c["layouts"]} | {s["id"] for part in c["layouts"] for s in part["offcuts"]}
    else:
        ids = {c["id"]}
    return tuple(sorted(ids))


def _row(sheet: Mapping[str, Any], entry: int, position: int) -> Row:
    rest = {key: value for key, value in sheet.items() if key != "count"}
    return Row(sheet["id"], entry, position, sheet["count"], sheet["kind"], sheet["material"], sheet["parent"], canonical(rest))


def _with_material(content: str, material: str | None) -> str:
    return canonical({**json.loads(content), "material": material})


def _keys(plan: str, part: Mapping[str, Any]) -> list[Key]:
    return [(plan, part["layout"], copy) for copy in range(part["first"], part["first"] + part["copies"])]


@dataclass
class InMemory:
    """The fold as plain values, to compare with the book's tables and to rebuild them."""

    stock: dict[str, Row] = field(default_factory=dict)
    recorded: dict[Key, int] = field(default_factory=dict)
    touched: set[tuple[int, str]] = field(default_factory=set)
    undone: dict[int, int] = field(default_factory=dict)

    def put(self, row: Row) -> None:
        if row.id in self.stock:
            raise ValueError(f"sheet {row.id} comes in twice")
        self.stock[row.id] = row

    def remove(self, id: str) -> None:
        del self.stock[id]

    def set_count(self, id: str, count: int) -> None:
        self.stock[id] = replace(self.stock[id], present=count)

    def set_material(self, id: str, material: str | None) -> None:
        row = self.stock[id]
        self.stock[id] = replace(row, material=material, content=_with_material(row.content, material))

    def record(self, keys: Sequence[Key], entry: int) -> None:
        self.recorded.update(dict.fromkeys(keys, entry))

    def forget(self, keys: Sequence[Key]) -> None:
        for key in keys:
            del self.recorded[key]

    def touch(self, entry: int, ids: Sequence[str]) -> None:
        self.touched.update((entry, id) for id in ids)

    def undo(self, entry: int, by: int) -> None:
        self.undone[entry] = by


def folded(entries: Sequence[Entry]) -> InMemory:
    """The state behind the last of all entries of a book."""
    tables = InMemory()
    known = {entry.number: entry for entry in entries}
    for entry in entries:
        apply(entry, tables, known.__getitem__)
    return tables


@dataclass(frozen=True)
class InBook:
    """The fold in the tables of the book, inside a transaction."""

    connection: Connection

    def put(self, row: Row) -> None:
        self.connection.execute(insert(schema.stock).values(**vars(row)))

    def remove(self, id: str) -> None:
        self.connection.execute(delete(schema.stock).where(schema.stock.c.id == id))

    def set_count(self, id: str, count: int) -> None:
        self.connection.execute(update(schema.stock).where(schema.stock.c.id == id).values(present=count))

    def set_material(self, id: str, material: str | None) -> None:
        s = schema.stock.c
        content = _with_material(self.connection.execute(select(s.content).where(s.id == id)).scalar_one(), material)
        self.connection.execute(update(schema.stock).where(s.id == id).values(material=material, content=content))

    def record(self, keys: Sequence[Key], entry: int) -> None:
        rows = [{"plan": plan, "layout": layout, "copy": copy, "entry": entry} for plan, layout, copy in keys]
        if rows:
            self.connection.execute(insert(schema.recorded), rows)

    def forget(self, keys: Sequence[Key]) -> None:
        r = schema.recorded.c
        for plan, layout in sorted({key[:2] for key in keys}):
            copies = [key[2] for key in keys if key[:2] == (plan, layout)]
            self.connection.execute(
                delete(schema.recorded).where(r.plan == plan, r.layout == layout, r.copy.between(min(copies), max(copies)))
            )

    def touch(self, entry: int, ids: Sequence[str]) -> None:
        if ids:
            self.connection.execute(insert(schema.touched), [{"entry": entry, "sheet": id} for id in ids])

    def undo(self, entry: int, by: int) -> None:
        self.connection.execute(insert(schema.undone).values(entry=entry, by=by))


def write(tables: InMemory, connection: Connection) -> None:
    """Put the fold in place of what the book's tables hold, inside the caller's transaction."""
    for table in schema.FOLDED:
        connection.execute(delete(table))
    book = InBook(connection)
    for row in sorted(tables.stock.values(), key=lambda r: (r.entry, r.position)):
        book.put(row)
    by_entry: dict[int, list[Key]] = {}
    for key, number in tables.recorded.items():
        by_entry.setdefault(number, []).append(key)
    for number, keys in by_entry.items():
        book.record(keys, number)
    if tables.touched:
        connection.execute(insert(schema.touched), [{"entry": e, "sheet": s} for e, s in sorted(tables.touched)])
    for number, by in tables.undone.items():
        book.undo(number, by)


def read(connection: Connection) -> InMemory:
    """What the book's tables hold now."""
    return InMemory(
        {r.id: Row(**r._mapping) for r in connection.execute(schema.stock.select())},
        {(r.plan, r.layout, r.copy): r.entry for r in connection.execute(schema.recorded.select())},
        {(r.entry, r.sheet) for r in connection.execute(schema.touched.select())},
        {r.entry: r.by for r in connection.execute(schema.undone.select())})  # fmt: skip
