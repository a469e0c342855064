"""Which tables a stock book has, and how an older one is brought up to date.

`journal` is the truth; `stock`, `recorded`, `touched` and `undone` are a fold of it (see `fold`).
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from sqlalchemy import CheckConstraint, Column, Connection, ForeignKey, Index, Integer, MetaData, Table, Text

from inventory.errors import StorageError

# "qstk" in ASCII: SQLite's application_id, by which a file says that it is a stock book.
APPLICATION_ID = 0x7173746B

metadata = MetaData()

book = Table("book", metadata, Column("id", Text, primary_key=True))
migration = Table(
    "migration", metadata,
    Column("number", Integer, primary_key=True, autoincrement=False),
    Column("what", Text, nullable=False),
)  # fmt: skip
journal = Table(
    "journal", metadata,
    Column("number", Integer, primary_key=True, autoincrement=False),
    Column("time", Text, nullable=False),
    Column("kind", Text, nullable=False),
    Column("content", Text, nullable=False),
    Column("hash", Text, nullable=False, unique=True),
)  # fmt: skip
stock = Table(
    "stock", metadata,
    Column("id", Text, primary_key=True),
    Column("entry", Integer, ForeignKey("journal.number"), nullable=False),
    Column("position", Integer, nullable=False),
    Column("present", Integer, CheckConstraint("present >= 0"), nullable=False),
    Column("kind", Text, nullable=False),
    Column("material", Text),
    Column("parent", Text),  # may be of another book: a label says where paper came from
    Column("content", Text, nullable=False),
)  # fmt: skip
recorded = Table(
    "recorded", metadata,
    Column("plan", Text, primary_key=True),
    Column("layout", Integer, primary_key=True, autoincrement=False),
    Column("copy", Integer, primary_key=True, autoincrement=False),
    Column("entry", Integer, ForeignKey("journal.number"), nullable=False),
)  # fmt: skip
touched = Table(
    "touched", metadata,
    Column("entry", Integer, ForeignKey("journal.number"), primary_key=True, autoincrement=False),
    Column("sheet", Text, primary_key=True),
    Index("touched_sheet", "sheet"),
)  # fmt: skip
undone = Table(
    "undone", metadata,
    Column("entry", Integer, ForeignKey("journal.number"), primary_key=True, autoincrement=False),
    Column("by", Integer, ForeignKey("journal.number"), nullable=False),
)  # fmt: skip

FOLDED = (stock, recorded, touched, undone)
# Triggers by name: the journal is only ever added to.
GUARDS = {
    f"journal_no_{verb.lower()}": f"CREATE TRIGGER journal_no_{verb.lower()} BEFORE {verb} ON journal "
    "BEGIN SELECT RAISE(ABORT, 'the journal of a stock book is only ever added to'); END"
    for verb in ("UPDATE", "DELETE")
}


@dataclass(frozen=True)
class Migration:
    """One numbered step of the tables' history; steps are never changed once released."""

    number: int
    what: str
    run: Callable[[Connection], None]


def _first(connection: Connection) -> None:
    metadata.create_all(connection)
    for trigger in GUARDS.values():
        connection.exec_driver_sql(trigger)
    connection.exec_driver_sql(f"PRAGMA application_id = {APPLICATION_ID}")


MIGRATIONS = (Migration(1, "journal, stock, what was recorded, touched and undone", _first),)
VERSION = MIGRATIONS[-1].number


def version(connection: Connection) -> int:
    """The number of the last migration of an existing book; 0 where there are no tables yet."""
    names = set(connection.exec_driver_sql("SELECT name FROM sqlite_master WHERE type = 'table'").scalars())
    if migration.name not in names:
        return 0
    return int(connection.exec_driver_sql("SELECT coalesce(max(number), 0) FROM migration").scalar_one())


def migrate(connection: Connection, place: str) -> None:
    """Run the migrations that the book has not seen, inside the caller's transaction.

    Raises StorageError for a book of a newer version.
    """
    found = version(connection)
    refuse_newer(found, place)
    for step in MIGRATIONS:
        if step.number > found:
            step.run(connection)
            connection.execute(migration.insert().values(number=step.number, what=step.what))


def refuse_newer(found: int, place: str) -> None:
    """Raise StorageError where a newer quirestock wrote the book."""
    if found > VERSION:
        raise StorageError(
            f"{place}: the stock book has version {found}, this quirestock knows versions up to {VERSION}. "
            "Nothing was changed. Update quirestock and try again."
        )
