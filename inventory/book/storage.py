"""How the file of a stock book is opened, locked and written, and what its errors mean to a maker."""

from __future__ import annotations

import os
import secrets
import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from urllib.parse import quote

from sqlalchemy import Connection, Engine, create_engine, event, exc
from sqlalchemy.pool import StaticPool

from inventory.errors import StorageError
from nesting import InputError

from . import schema

WAIT_SECONDS = 5.0
MAKE_ONE = "`quirestock sheet add` or `quirestock sheet import` makes one."


def path_of(place: str | Path) -> Path:
    """The file that a path or a `sqlite:///` address names. Raises InputError for any other address."""
    text = os.fspath(place)
    if text.startswith("sqlite:///"):
        text = text.removeprefix("sqlite:///")
    elif "://" in text:
        raise InputError("--book", "a file, or an address that begins with sqlite:///", text,
                         "A stock book is a SQLite file today; name its path.")  # fmt: skip
    if not text:
        raise InputError("--book", "a file", "an empty name", "Name the stock book, such as stock.sqlite.")
    return Path(text)


def connect(path: Path, *, readonly: bool, create: bool, wait: float, identity: str | None = None) -> Engine:
    """An engine of one connection to the book at `path`, its tables brought up to date.

    `wait` is how long (seconds) another process may hold the book; `identity` the id of a new one (default: a random one).
    Raises StorageError: missing, a folder, not a stock book, of a newer version, read-only, locked, disk full.
    """
    _refuse_unusable(path, readonly=readonly, create=create)
    mode = ("rw" if _writable(path) else "ro") if readonly else "rwc" if create else "rw"

    def opened() -> sqlite3.Connection:
        link = raw(path, mode, wait)
        # not mode "ro" where it can be helped: what a killed program left half done is rolled back on opening
        link.execute(f"PRAGMA query_only = {'ON' if readonly else 'OFF'}")
        return link

    engine = create_engine("sqlite://", creator=opened, poolclass=StaticPool)

    @event.listens_for(engine, "begin")
    def begin(connection: Connection) -> None:
        write = connection.get_execution_options().get("writing", False)
        connection.exec_driver_sql("BEGIN IMMEDIATE" if write else "BEGIN")

    try:
        _recognise(engine, path, readonly=readonly, create=create, identity=identity)
    except BaseException:
        engine.dispose()
        raise
    return engine


def raw(path: Path, mode: str, wait: float) -> sqlite3.Connection:
    """A bare connection; `mode` is SQLite's ro, rw or rwc. Raises sqlite3.Error."""
    link = sqlite3.connect(f"file:{quote(os.fspath(path.absolute()))}?mode={mode}", uri=True, timeout=wait,
                           isolation_level=None)  # fmt: skip
    link.execute("PRAGMA foreign_keys = ON")
    if mode != "ro":
        link.execute("PRAGMA journal_mode = DELETE")
        link.execute("PRAGMA synchronous = EXTRA")
    return link


def _refuse_unusable(path: Path, *, readonly: bool, create: bool) -> None:
    if path.is_dir():
        raise StorageError(f"{path}: this is a folder, not a stock book. Name the file, such as {path / 'stock.sqlite'}.")
    if not path.exists():
        if not create:
            raise StorageError(f"{path}: there is no stock book here. {MAKE_ONE}")
        if not path.parent.is_dir():
            raise StorageError(f"{path}: the folder {path.parent} does not exist. Make it first, or name another book.")
        if not os.access(path.parent, os.W_OK):
            raise StorageError(f"{path}: the folder {path.parent} is read-only. Choose a folder that you may write to.")
    elif not os.access(path, os.R_OK):
        raise StorageError(f"{path}: the stock book may not be read by you. Ask its owner, or name another book.")
    elif not readonly and not _writable(path):
        raise StorageError(f"{path}: the stock book or its folder is read-only; nothing can be recorded. "
                           "Copy it to a folder that you may write to.")  # fmt: skip


def _writable(path: Path) -> bool:
    return os.access(path, os.W_OK) and os.access(path.parent, os.W_OK)


def _recognise(engine: Engine, path: Path, *, readonly: bool, create: bool, identity: str | None) -> None:
    """Refuse a foreign file; make the tables of a new one; bring an older one up to date."""
    with reading(engine, path) as connection:
        mark = connection.exec_driver_sql("PRAGMA application_id").scalar_one()
        anything = connection.exec_driver_sql("SELECT count(*) FROM sqlite_master").scalar_one()
        found = schema.version(connection) if mark == schema.APPLICATION_ID else 0
    if anything == 0 and not create:
        raise StorageError(f"{path}: the file is empty, not a stock book. Delete it, or name another with --book.")
    if anything and (mark != schema.APPLICATION_ID or found == 0):
        raise StorageError(f"{path}: this is not a stock book. Name the file that quirestock made, such as stock.sqlite.")
    schema.refuse_newer(found, str(path))
    if found == schema.VERSION:
        return
    if readonly:
        raise StorageError(f"{path}: the stock book has the older version {found}. Run a command that records something, "
                           "such as `quirestock sheet count`, to bring it up to date.")  # fmt: skip
    with writing(engine, path) as connection:
        schema.migrate(connection, str(path))
        if connection.execute(schema.book.select()).first() is None:
            connection.execute(schema.book.insert().values(id=identity or secrets.token_hex(6)))


@contextmanager
def reading(engine: Engine, path: Path) -> Iterator[Connection]:
    """A transaction that sees one state of the book throughout. Raises StorageError."""
    with _sentences(path), engine.connect() as connection, connection.begin():
        yield connection


@contextmanager
def writing(engine: Engine, path: Path) -> Iterator[Connection]:
    """A transaction that holds the book for writing: all of it is kept, or nothing. Raises StorageError."""
    with _sentences(path), engine.execution_options(writing=True).connect() as connection, connection.begin():
        yield connection


@contextmanager
def _sentences(path: Path) -> Iterator[None]:
    """Errors of the database as sentences."""
    try:
        yield
    except exc.DBAPIError as error:
        raise StorageError(sentence(path, str(error.orig))) from error
    except sqlite3.Error as error:
        raise StorageError(sentence(path, str(error))) from error


def sentence(path: Path, problem: str) -> str:
    """What a message of SQLite means to a maker, and what to do."""
    known = (
        ("locked", "another program is writing to the stock book. Wait until it has finished and try again."),
        ("full", "the disk is full; nothing was recorded. Make room and try again."),
        ("readonly", "the stock book or its folder is read-only; nothing was recorded. Copy it to a folder you may write to."),
        ("not a database", "this is not a stock book. Name the file that quirestock made, such as stock.sqlite."),
        ("malformed", "the stock book is damaged. Bring back a backup with `quirestock book restore BACKUP`."),
        ("unable to open", "the stock book cannot be opened. Look whether the folder exists and may be written to."),
        ("only ever added to", "the journal of the stock book is only ever added to; nothing was changed."),
    )
    for word, meaning in known:
        if word in problem:
            return f"{path}: {meaning}"
    return f"{path}: the stock book cannot be read or written ({problem}). Nothing was recorded; try again."
