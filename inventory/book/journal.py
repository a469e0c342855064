"""What happened, in order: the append-only journal and its chain.

Each entry carries the SHA-256 of the one before together with its own number, time, kind and content, so a
change anywhere shows in every later entry (a linked timestamp chain after Haber & Stornetta 1991).
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from sqlalchemy import Connection, Row, select

from nesting import InputError

from . import schema

KINDS = ("received", "counted", "retired", "material", "cut", "undone")
SHORT = 12


@dataclass(frozen=True)
class Entry:
    """One entry of the journal; `time` is ISO text, `content` what its kind needs (see `fold`)."""

    number: int
    time: str
    kind: str
    content: Mapping[str, Any]
    hash: str


def canonical(value: Any) -> str:
    """The one JSON text of a value: keys sorted, no spaces."""
    return json.dumps(value, sort_keys=True, separators=(",", ":"), ensure_ascii=False, allow_nan=False)


def genesis(book_id: str) -> str:
    """The head of a book in which nothing has happened yet."""
    return hashlib.sha256(f"quirestock stock book {book_id}".encode()).hexdigest()


def chained(before: str, number: int, time: str, kind: str, content: str) -> str:
    """The hash of an entry: SHA-256 over the hash before and the entry's own fields."""
    return hashlib.sha256(canonical([before, number, time, kind, content]).encode()).hexdigest()


def check_time(when: str) -> str:
    """The time as given. Raises InputError where it is not ISO text such as 2026-01-31T18:05:00+00:00."""
    try:
        datetime.fromisoformat(when)
    except (TypeError, ValueError):
        raise InputError("time of the entry", "an ISO time such as 2026-01-31T18:05:00+00:00", when) from None
    return when


def append(connection: Connection, book_id: str, when: str, kind: str, content: Mapping[str, Any]) -> Entry:
    """Add one entry behind the last, inside the caller's transaction."""
    last = connection.execute(
        select(schema.journal.c.number, schema.journal.c.hash).order_by(schema.journal.c.number.desc()).limit(1)
    ).first()
    number, before = (last.number + 1, last.hash) if last else (1, genesis(book_id))
    text = canonical(content)
    entry = Entry(number, check_time(when), kind, json.loads(text), chained(before, number, when, kind, text))
    connection.execute(
        schema.journal.insert().values(number=number, time=when, kind=kind, content=text, hash=entry.hash)
    )
    return entry


def entries(connection: Connection, *, after: int = 0) -> list[Entry]:
    """The entries behind number `after`, in order."""
    rows = connection.execute(
        select(schema.journal).where(schema.journal.c.number > after).order_by(schema.journal.c.number)
    )
    return [_entry(row) for row in rows]


def entry(connection: Connection, number: int) -> Entry:
    """One entry that is known to exist."""
    return _entry(connection.execute(select(schema.journal).where(schema.journal.c.number == number)).one())


def touching(connection: Connection, sheet: str) -> list[Entry]:
    """The entries that touch a sheet, in order."""
    rows = connection.execute(
        select(schema.journal).join(schema.touched, schema.touched.c.entry == schema.journal.c.number)
        .where(schema.touched.c.sheet == sheet).order_by(schema.journal.c.number)
    )  # fmt: skip
    return [_entry(row) for row in rows]


def head(connection: Connection, book_id: str) -> str:
    """The hash of the last entry (64 digits)."""
    last = connection.execute(select(schema.journal.c.hash).order_by(schema.journal.c.number.desc()).limit(1)).scalar()
    return last if last is not None else genesis(book_id)


def is_head(mark: str) -> bool:
    """Whether a text could be the beginning of a head, long enough to stand for it."""
    return SHORT <= len(mark) <= 64 and not set(mark.lower()) - set("0123456789abcdef")


def number_of(connection: Connection, book_id: str, mark: str) -> int | None:
    """The number of the entry whose hash begins with `mark`; 0 for the empty book; None where there is none."""
    mark = mark.lower()
    if not is_head(mark):
        return None
    if genesis(book_id).startswith(mark):
        return 0
    return connection.execute(
        select(schema.journal.c.number).where(schema.journal.c.hash.startswith(mark)).limit(1)
    ).scalar()


def _entry(row: Row[Any]) -> Entry:
    return Entry(row.number, row.time, row.kind, json.loads(row.content), row.hash)
