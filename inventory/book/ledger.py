"""The stock book: all sheets, what happened to them, and the only ways to change either."""

from __future__ import annotations

import difflib
import json
from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path
from types import TracebackType
from typing import Any, Self

from sqlalchemy import Connection, Engine, select

from inventory.stock import KINDS, MATERIALS, StockSheet
from nesting import InputError, Plan
from nesting.documents import with_id
from nesting.plans import StockMark

from . import auditing, contents, copies, cutting, fold, journal, schema, storage
from .cutting import CutResult
from .journal import Entry
from .sentences import told


class Book:
    """An open stock book; use it in a `with` statement. Every time is ISO text given by the caller.

    Every method raises StorageError where the file cannot be read or written; then nothing has changed.
    """

    def __init__(self, engine: Engine, path: Path) -> None:
        """Use `Book.open`."""
        self._engine = engine
        self.path = path
        with storage.reading(engine, path) as connection:
            self.id: str = str(connection.execute(schema.book.select()).scalar_one())

    @classmethod
    def open(cls, place: str | Path, *, readonly: bool = False, create: bool = False, wait: float = storage.WAIT_SECONDS,
             identity: str | None = None) -> Book:  # fmt: skip
        """Open the book in a file (path, or address `sqlite:///path`).

        `create` makes one where there is none, under the id `identity` (default: a random one). `wait`: seconds that
        another program may hold it. Raises InputError for another address, StorageError for all that can be wrong
        with the file.
        """
        path = storage.path_of(place)
        engine = storage.connect(path, readonly=readonly, create=create, wait=wait, identity=identity)
        try:
            return cls(engine, path)
        except BaseException:
            engine.dispose()
            raise

    def __enter__(self) -> Self:
        return self

    def __exit__(self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None) -> None:
        self.close()

    def close(self) -> None:
        """Let go of the file."""
        self._engine.dispose()

    # What there is

    def sheets(self, *, material: str | None = None, kind: str | None = None, gone: bool = False) -> tuple[StockSheet, ...]:
        """The sheets in the order they came, with their present count; `gone` adds those of which none is left (count 0)."""
        if kind is not None and kind not in KINDS:
            raise InputError("kind", " or ".join(KINDS), kind)
        if material is not None and material not in MATERIALS:
            raise InputError("material", " or ".join(MATERIALS), material)
        query = select(schema.stock).order_by(schema.stock.c.entry, schema.stock.c.position)
        if material is not None:
            query = query.where(schema.stock.c.material == material)
        if kind is not None:
            query = query.where(schema.stock.c.kind == kind)
        if not gone:
            query = query.where(schema.stock.c.present > 0)
        with storage.reading(self._engine, self.path) as connection:
            return tuple(contents.stock_sheet(json.loads(row.content), row.present) for row in connection.execute(query))

    def get(self, id: str) -> StockSheet:
        """One sheet, gone or not. Raises InputError where the book has none of that id."""
        with storage.reading(self._engine, self.path) as connection:
            return self._get(connection, id)

    def history(self, id: str) -> tuple[Entry, ...]:
        """The entries that touch a sheet, oldest first. Raises InputError where the book never had it."""
        with storage.reading(self._engine, self.path) as connection:
            found = tuple(journal.touching(connection, id))
            if not found:
                self._get(connection, id)
            return found

    def entries(self) -> tuple[Entry, ...]:
        """Every entry, oldest first."""
        with storage.reading(self._engine, self.path) as connection:
            return tuple(journal.entries(connection))

    def told(self, entry: Entry, sheet: str | None = None) -> str:
        """One line about an entry, as far as it concerns a sheet where one is named."""
        with storage.reading(self._engine, self.path) as connection:
            return told(entry, sheet, lambda number: journal.entry(connection, number))

    def head(self, digits: int = journal.SHORT) -> str:
        """The first digits of the last entry's hash (64 for all): it stands for everything that has happened."""
        with storage.reading(self._engine, self.path) as connection:
            return journal.head(connection, self.id)[:digits]

    # What happens

    def receive(self, sheets: Sequence[StockSheet], when: str) -> Entry:
        """Put sheets into stock, all or none. Raises InputError for a sheet that may not enter, or an id in use."""
        if not sheets:
            raise InputError("sheets", "at least one sheet", "none", "Nothing was recorded.")
        given = [contents.checked(sheet) for sheet in sheets]
        with storage.writing(self._engine, self.path) as connection:
            known = set(connection.execute(select(schema.stock.c.id)).scalars())
            for sheet in given:
                if sheet.id in known:
                    raise InputError("sheet id", "an id that no other sheet of the stock book has or had", sheet.id,
                                     "Give it another id. Nothing was recorded.")  # fmt: skip
                known.add(sheet.id)
            return self._append(connection, when, "received", {"sheets": [contents.document(s) for s in given]})

    def count(self, id: str, now: int, reason: str, when: str) -> Entry:
        """Correct how many of a sheet there are. Raises InputError."""
        if isinstance(now, bool) or not isinstance(now, int) or not 0 <= now <= 10_000_000:
            raise InputError(f"sheet {id}, count", "a whole number from 0 to 10,000,000", now)
        _reason(reason)
        with storage.writing(self._engine, self.path) as connection:
            before = self._get(connection, id).sheet.count
            return self._append(connection, when, "counted", {"id": id, "before": before, "now": now, "reason": reason})

    def retire(self, id: str, reason: str, when: str) -> Entry:
        """Take all of a sheet out of stock. Raises InputError where none is left."""
        _reason(reason)
        with storage.writing(self._engine, self.path) as connection:
            before = self._get(connection, id).sheet.count
            if before == 0:
                raise InputError("sheet id", "a sheet that is still there", f"{id}, of which none is left")
            return self._append(connection, when, "retired", {"id": id, "before": before, "reason": reason})

    def set_material(self, id: str, material: str, when: str) -> Entry:
        """Say what a sheet serves as: cover, card or folio. Raises InputError."""
        if material not in MATERIALS:
            raise InputError("material", " or ".join(MATERIALS), material)
        with storage.writing(self._engine, self.path) as connection:
            before = self._get(connection, id).sheet.material
            if before == material:
                raise InputError(f"sheet {id}, material", "another than it has", material, "Nothing was recorded.")
            return self._append(connection, when, "material", {"id": id, "before": before, "now": material})

    def stamp(self, plan: Plan, head: str | None = None) -> Plan:
        """The plan marked as made from this book, under a new id.

        `head` is the book's head when its sheets were read; without it the present one is meant.
        """
        return with_id(replace(plan, stock=StockMark(self.id, head or self.head())))

    def cut(self, plan: Plan, when: str, layouts: Sequence[int] | None = None) -> CutResult:
        """Record layouts of a plan (numbers from 0, default all) as cut: sheets go out, offcuts come in.

        What is recorded already is left alone, even where stock has changed since. Raises InputError for a plan with
        faults or from another book, StockChanged where a sheet is not as it was when the plan was made.
        """
        cutting.check_first(plan, self.id)
        wanted = cutting.which(plan, layouts)
        with storage.writing(self._engine, self.path) as connection:
            before = cutting.done_before(connection, plan, wanted)
            new = tuple(index for index in wanted if index not in before)
            if not new:
                return CutResult((), (), (), before, bool(before))
            cutting.refuse_changed(connection, plan, new, self.id)
            entry = self._append(connection, when, "cut", cutting.content_of(connection, plan, new))
        taken: dict[str, int] = {}
        for part in entry.content["layouts"]:
            taken[part["sheet"]] = taken.get(part["sheet"], 0) + part["copies"]
        offcuts = (contents.stock_sheet(d) for part in entry.content["layouts"] for d in part["offcuts"])
        return CutResult(tuple(taken.items()), tuple(offcuts), new, before, False)

    def undo(self, when: str) -> Entry:
        """Reverse the last entry that is not undone yet by a new one; returns the entry that was reversed.

        Raises InputError where nothing is left to undo.
        """
        j, u = schema.journal.c, schema.undone.c
        with storage.writing(self._engine, self.path) as connection:
            number = connection.execute(
                select(j.number).where(j.kind != "undone", j.number.not_in(select(u.entry))).order_by(j.number.desc()).limit(1)
            ).scalar()
            if number is None:
                raise InputError("undo", "an entry that is not undone yet", "none", "There is nothing to undo.")
            self._append(connection, when, "undone", {"entry": number})
            return journal.entry(connection, number)

    # Whether it can be trusted

    def verify(self, head: str | None = None) -> tuple[str, ...]:
        """A sentence for each fault, empty when sound: the chain, the tables against the entries, paper at every cut.

        `head`: one printed earlier, at least 12 digits, that the book must have passed, so that a lost tail is seen.
        Raises InputError where it is none.
        """
        if head is not None and not journal.is_head(head):
            raise InputError("--head", f"at least {journal.SHORT} digits and letters a to f", head,
                             "It is printed at the foot of each job card.")  # fmt: skip
        with storage.reading(self._engine, self.path) as connection:
            return auditing.faults(connection, self.id, head)

    def rebuild(self) -> None:
        """Make the tables of stock again from the entries. Raises StorageError where the entries cannot be followed."""
        with storage.writing(self._engine, self.path) as connection:
            auditing.rebuild(connection, self.path)

    def backup(self, to: str | Path) -> Path:
        """Copy the book to a new file, or into a folder; returns the file."""
        return copies.backup(self._engine, self.path, Path(to))

    @staticmethod
    def restore(copy: str | Path, to: str | Path) -> Path | None:
        """Put a backup in place of the book at `to`.

        Returns the file in which the present book is kept, where it held entries that the backup lacks.
        """
        return copies.restore(storage.path_of(copy), storage.path_of(to))

    def _append(self, connection: Connection, when: str, kind: str, content: dict[str, Any]) -> Entry:
        entry = journal.append(connection, self.id, when, kind, content)
        fold.apply(entry, fold.InBook(connection), lambda number: journal.entry(connection, number))
        return entry

    def _get(self, connection: Connection, id: str) -> StockSheet:
        row = connection.execute(select(schema.stock).where(schema.stock.c.id == id)).first()
        if row is None:
            known = connection.execute(select(schema.stock.c.id)).scalars().all()
            near = difflib.get_close_matches(id, known, 1, cutoff=0.75)
            hint = f"Did you mean {near[0]}?" if near else "`quirestock sheet list --gone` shows every id."
            raise InputError("sheet id", "a sheet of the stock book", id, hint)
        return contents.stock_sheet(json.loads(row.content), row.present)


def _reason(reason: str) -> None:
    if not isinstance(reason, str) or not reason.strip() or len(reason) > 500 or not reason.isprintable():
        raise InputError("reason", "a few words", reason, "Say why, such as --reason 'spoiled at the cutter'.")
