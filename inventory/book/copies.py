"""A copy of the book for safety, and the way back from one."""

from __future__ import annotations

import os
import sqlite3
import time
from collections.abc import Callable
from contextlib import closing
from pathlib import Path

from sqlalchemy import Engine

from inventory.errors import StorageError
from nesting import InputError

from . import auditing, journal, storage
from .schema import book


def state(engine: Engine, path: Path) -> tuple[str, str, tuple[str, ...]]:
    """Book id, head and faults of an open book."""
    with storage.reading(engine, path) as connection:
        id = str(connection.execute(book.select()).scalar_one())
        return id, journal.head(connection, id), auditing.faults(connection, id)


def backup(engine: Engine, path: Path, to: Path) -> Path:
    """Copy the open book to a new file and read it back; a folder gets a file named for the head.

    Returns the file. Raises StorageError where it exists, cannot be written or does not read back sound.
    """
    _, head, faults = state(engine, path)
    if faults:
        raise StorageError(f"{path}: the stock book has faults, so it is not copied. {faults[0]} See `quirestock book verify`.")
    target = to / f"stock-{head[: journal.SHORT]}.sqlite" if to.is_dir() else to
    if target.exists():
        raise StorageError(f"{target}: this file exists already and is left as it is. Name another.")
    _copy_to_new(path, target)
    return target


def restore(copy: Path, to: Path) -> Path | None:
    """Put a backup in place of the book at `to`, all of it or nothing.

    Where the present book has entries that the backup lacks, or cannot be read, it is kept beside; returns that file.
    Raises StorageError where the backup is missing or not sound.
    """
    if copy.exists() and to.exists() and copy.samefile(to):
        raise InputError("backup", "another file than the stock book itself", str(copy))
    head = _sound_head(copy)
    kept = None
    if to.exists():
        kept = _keep(to, copy)
    new = to.with_name(f"{to.name}.new")
    new.unlink(missing_ok=True)
    _copy_to_new(copy, new)
    if _sound_head(new) != head:
        new.unlink()
        raise StorageError(f"{copy}: the copy of the backup does not read back. Nothing was changed; try again.")
    if to.exists() and _readable(to):
        _overwrite(new, to)
        new.unlink()
    else:
        os.replace(new, to)
    return kept


def _sound_head(path: Path) -> str:
    engine = storage.connect(path, readonly=True, create=False, wait=storage.WAIT_SECONDS)
    try:
        _, head, faults = state(engine, path)
    finally:
        engine.dispose()
    if faults:
        raise StorageError(f"{path}: this backup has faults and is not used. {faults[0]}")
    return head


def _readable(path: Path) -> bool:
    try:
        storage.connect(path, readonly=True, create=False, wait=storage.WAIT_SECONDS).dispose()
    except StorageError:
        return False
    return True


def _keep(present: Path, copy: Path) -> Path | None:
    """Keep the present book under another name, unless the backup holds all of it."""
    name = "unreadable"
    if _readable(present):
        engine = storage.connect(present, readonly=True, create=False, wait=storage.WAIT_SECONDS)
        try:
            id, head, _ = state(engine, present)
        finally:
            engine.dispose()
        other = storage.connect(copy, readonly=True, create=False, wait=storage.WAIT_SECONDS)
        try:
            with storage.reading(other, copy) as connection:
                if journal.number_of(connection, id, head) is not None:
                    return None
        finally:
            other.dispose()
        name = head[: journal.SHORT]
    kept = present.with_name(f"{present.stem}-before-{name}{present.suffix}")
    if not kept.exists():
        if name == "unreadable":
            kept.write_bytes(present.read_bytes())
        else:
            _copy_to_new(present, kept)
    return kept


def _patient() -> Callable[[int, int, int], None]:
    """Ends a copy that waits too long for another program (by itself it would wait for ever)."""
    limit = time.monotonic() + storage.WAIT_SECONDS

    def progress(status: int, _left: int, _all: int) -> None:
        if status in (sqlite3.SQLITE_BUSY, sqlite3.SQLITE_LOCKED) and time.monotonic() > limit:
            raise sqlite3.OperationalError("database is locked")

    return progress


def _copy_to_new(source: Path, target: Path) -> None:
    """A whole copy under a name that appears only when it is complete."""
    if not target.parent.is_dir():
        raise StorageError(f"{target}: the folder {target.parent} does not exist. Make it first, or name another place.")
    part = target.with_name(f"{target.name}.part")
    try:
        part.unlink(missing_ok=True)
        with closing(_open(source, "ro")) as one, closing(_open(part, "rwc")) as other:
            one.backup(other, progress=_patient())
        os.replace(part, target)
    except sqlite3.Error as error:
        part.unlink(missing_ok=True)
        raise StorageError(storage.sentence(target, str(error))) from error
    except OSError as error:
        raise StorageError(f"{target}: the copy cannot be written ({error.strerror}). Name another place.") from error


def _overwrite(source: Path, target: Path) -> None:
    """Copy into the present file under the database's own lock, so that other programs see the old or the new."""
    try:
        with closing(_open(source, "ro")) as one, closing(_open(target, "rw")) as other:
            one.backup(other, progress=_patient())
    except sqlite3.Error as error:
        raise StorageError(storage.sentence(target, str(error))) from error


def _open(path: Path, mode: str) -> sqlite3.Connection:
    return storage.raw(path, mode, storage.WAIT_SECONDS)
