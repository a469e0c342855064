"""Whether a stock book can be trusted: chain whole, tables equal to the fold, paper conserved at every cut."""

from __future__ import annotations

import json
from collections.abc import Sequence
from pathlib import Path
from typing import Any

from sqlalchemy import Connection, select

from inventory.errors import StorageError

from . import journal, schema
from .conserving import conserved
from .fold import InMemory, Row, folded, read, write
from .journal import Entry

MEND = "`quirestock book rebuild` puts it right."


def faults(connection: Connection, book_id: str, head: str | None = None) -> tuple[str, ...]:
    """A sentence for each fault; empty when sound. `head` is one that the book must have passed."""
    found = [f"The file is damaged: {text}." for text in connection.exec_driver_sql("PRAGMA integrity_check").scalars()
             if text != "ok"]  # fmt: skip
    found += _guards(connection)
    entries, broken = _chain(connection, book_id)
    found += broken
    if head is not None and journal.number_of(connection, book_id, head) is None:
        found.append(f"The head {head} is not in this book: entries were lost, or it belongs to another book.")
    if len(entries) < _count(connection):
        return tuple(found)  # what follows needs every entry
    try:
        rebuilt = folded(entries)
    except (KeyError, ValueError, TypeError, IndexError) as problem:
        return (*found, f"The entries do not follow from each other: {problem}.")
    found += _differences(rebuilt, read(connection))
    found += _areas(entries)
    return tuple(found)


def rebuild(connection: Connection, path: Path) -> None:
    """Write the tables anew from the entries, inside the caller's transaction. Raises StorageError."""
    entries = journal.entries(connection)
    try:
        tables = folded(entries)
    except (KeyError, ValueError, TypeError, IndexError) as problem:
        raise StorageError(f"{path}: the entries do not follow from each other ({problem}); nothing was changed. "
                           "Bring back a backup with `quirestock book restore BACKUP`.") from problem  # fmt: skip
    write(tables, connection)


def _count(connection: Connection) -> int:
    return int(connection.exec_driver_sql("SELECT count(*) FROM journal").scalar_one())


def _guards(connection: Connection) -> list[str]:
    triggers = connection.exec_driver_sql("SELECT name, sql FROM sqlite_master WHERE type = 'trigger'")
    there = {row.name: row.sql for row in triggers}
    return [f"The guard {name} is gone or another: entries could be changed unseen."
            for name, text in schema.GUARDS.items() if there.get(name) != text]  # fmt: skip


def _chain(connection: Connection, book_id: str) -> tuple[list[Entry], list[str]]:
    """The readable entries, and what is wrong with the chain."""
    entries: list[Entry] = []
    broken: list[str] = []
    before = journal.genesis(book_id)
    rows = connection.execute(select(schema.journal).order_by(schema.journal.c.number)).all()
    for number, row in enumerate(rows, 1):
        name = f"Entry {row.number} ({row.kind}, {row.time})"
        if row.number != number:
            broken.append(f"Entry {number} is missing.")
            break
        if journal.chained(before, row.number, row.time, row.kind, row.content) != row.hash:
            broken.append(f"{name} was changed after it was written, or the one before it was.")
        before = row.hash
        try:
            content = json.loads(row.content)
        except ValueError:
            broken.append(f"{name} cannot be read.")
            break
        if row.kind not in journal.KINDS:
            broken.append(f"{name} is of no known kind.")
            break
        entries.append(Entry(row.number, row.time, row.kind, content, row.hash))
    return entries, broken


def _differences(rebuilt: InMemory, kept: InMemory) -> list[str]:
    out = []
    for id in sorted(rebuilt.stock.keys() | kept.stock.keys()):
        ours, theirs = rebuilt.stock.get(id), kept.stock.get(id)
        if ours != theirs:
            out.append(f"Sheet {id}: {_differ(ours, theirs)}. {MEND}")
    for what, one, other in (("what was cut", rebuilt.recorded, kept.recorded),
                             ("which sheets were touched", rebuilt.touched, kept.touched),
                             ("what was undone", rebuilt.undone, kept.undone)):  # fmt: skip
        if one != other:
            out.append(f"The table of {what} does not agree with the entries. {MEND}")
    return out


def _differ(ours: Row | None, theirs: Row | None) -> str:
    if ours is None:
        return "the entries do not have it, the table does"
    if theirs is None:
        return "the entries have it, the table does not"
    if ours.present != theirs.present:
        return f"the entries leave {ours.present}, the table says {theirs.present}"
    return "the table does not agree with the entries"


def _areas(entries: Sequence[Entry]) -> list[str]:
    """Every cut: sheet = pieces + offcuts + shavings, recomputed from what the entries say came in."""
    out = []
    known: dict[str, Any] = {}
    for entry in entries:
        if entry.kind == "received":
            known.update((sheet["id"], sheet) for sheet in entry.content["sheets"])
        elif entry.kind == "cut":
            for part in entry.content["layouts"]:
                known.update((sheet["id"], sheet) for sheet in part["offcuts"])
                if not conserved(part, known[part["sheet"]]):
                    out.append(f"Entry {entry.number}: pieces, offcuts and shavings of sheet {part['sheet']} "
                               "do not add up to the sheet.")  # fmt: skip
    return out
