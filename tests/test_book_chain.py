"""The journal and its chain: what is written stays, and tampering is found."""

from __future__ import annotations

import json
import re
import sqlite3
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from inventory.book import Book, fold, journal
from inventory.book.schema import GUARDS
from nesting import InputError
from tests.stock_cases import TIME, corner_plan, stock


def forge(path: Path, *statements: str) -> None:
    with sqlite3.connect(path) as link:
        for statement in statements:
            link.execute(statement)
    link.close()


UNGUARD = ("DROP TRIGGER journal_no_update", "DROP TRIGGER journal_no_delete")
GUARD = tuple(GUARDS.values())


def busy_book(path: Path) -> str:
    with Book.open(path, create=True, identity="bench") as book:
        book.receive([stock("s1", count=5), stock("s2")], TIME)
        book.count("s1", 4, "one spoiled", TIME)
        book.cut(corner_plan(book, ["s1"], copies=2), TIME)
        book.retire("s2", "wet", TIME)
        book.undo(TIME)
        assert book.verify() == ()
        return book.head()


@pytest.mark.parametrize("statement", ["UPDATE journal SET time = 'x'", "DELETE FROM journal WHERE number = 5"])
def test_the_journal_can_only_be_added_to(tmp_path, statement):
    busy_book(tmp_path / "b.sqlite")
    with pytest.raises(sqlite3.IntegrityError, match="only ever added to"):
        forge(tmp_path / "b.sqlite", statement)


@pytest.mark.parametrize(("statement", "told"), [
    ("UPDATE journal SET content = replace(content, 'one spoiled', 'sold') WHERE number = 2", r"Entry 2 \(counted.*was changed"),
    ("UPDATE journal SET time = '2025-01-01T00:00:00+00:00' WHERE number = 3", r"Entry 3 \(cut.*was changed"),
    ("UPDATE journal SET kind = 'counted' WHERE number = 4", r"Entry 4 \(counted.*was changed"),
    ("UPDATE journal SET kind = 'sold' WHERE number = 4", "no known kind"),
    ("UPDATE journal SET content = '{' WHERE number = 2", "Entry 2 .* cannot be read"),
    ("UPDATE journal SET hash = 'f' || substr(hash, 2) WHERE number = 3", r"Entry 3 .*was changed"),
    ("DELETE FROM journal WHERE number = 3", "Entry 3 is missing"),
    ("UPDATE stock SET present = 9 WHERE id = 's1'", "Sheet s1: the entries leave 2, the table says 9"),
    ("DELETE FROM stock WHERE id = 's1-b'", "Sheet s1-b: the entries have it, the table does not"),
    ("UPDATE stock SET content = replace(content, 'cover', 'card') WHERE id = 's2'", "Sheet s2: the table does not agree"),
    ("DELETE FROM recorded", "what was cut does not agree"),
    ("DELETE FROM touched WHERE entry = 2", "which sheets were touched does not agree"),
    ("DELETE FROM undone", "what was undone does not agree"),
])  # fmt: skip
def test_tampering_is_found(tmp_path, statement, told):
    path = tmp_path / "b.sqlite"
    busy_book(path)
    forge(path, *UNGUARD, statement, *GUARD)
    with Book.open(path) as book:
        assert any(re.search(told, fault) for fault in book.verify()), book.verify()


def test_a_forged_chain_still_has_to_conserve_paper(tmp_path):
    path = tmp_path / "b.sqlite"
    busy_book(path)
    with Book.open(path) as book:
        entries = book.entries()
    with sqlite3.connect(path) as link:
        for statement in UNGUARD:
            link.execute(statement)
        before = journal.genesis("bench")
        for e in entries:
            content = journal.canonical(e.content)
            if e.kind == "cut":  # an offcut 1 mm wider than the paper there was
                content = content.replace("2560000", "2568000")
            before = journal.chained(before, e.number, e.time, e.kind, content)
            link.execute("UPDATE journal SET content = ?, hash = ? WHERE number = ?", (content, before, e.number))
        for statement in GUARD:
            link.execute(statement)
    link.close()
    with Book.open(path) as book:
        book.rebuild()
        assert any("do not add up to the sheet" in fault for fault in book.verify())


def test_missing_guards_and_a_lost_tail_are_found(tmp_path):
    path = tmp_path / "b.sqlite"
    head = busy_book(path)
    with Book.open(path) as book:
        assert book.verify(head) == () and book.verify(head.upper()) == ()
    forge(path, *UNGUARD)
    with Book.open(path) as book:
        assert len(book.verify()) == 2
    forge(path, GUARD[0], "CREATE TRIGGER journal_no_delete BEFORE DELETE ON journal BEGIN SELECT 1; END")
    with Book.open(path) as book:
        assert book.verify() == ("The guard journal_no_delete is gone or another: entries could be changed unseen.",)
    tail = ("DELETE FROM undone", "DELETE FROM touched WHERE entry = 5", "DELETE FROM journal WHERE number = 5")
    forge(path, *UNGUARD, *tail, *GUARD)
    with Book.open(path) as book:
        book.rebuild()
        assert book.verify() == ()  # the tail is gone without a trace ...
        assert any("entries were lost" in fault for fault in book.verify(head))  # ... but for a head printed before
        for wrong in ("no head", head[:11], ""):
            with pytest.raises(InputError, match="--head"):
                book.verify(wrong)


def test_rebuild_gives_the_same_rows(tmp_path):
    path = tmp_path / "b.sqlite"
    busy_book(path)

    def rows():
        with sqlite3.connect(path) as link:
            out = [sorted(link.execute(f"SELECT * FROM {t.name}")) for t in fold.schema.FOLDED]
        link.close()
        return out

    before = rows()
    forge(path, "DELETE FROM recorded", "DELETE FROM touched", "DELETE FROM undone", "UPDATE stock SET present = 0, entry = 1")
    with Book.open(path) as book:
        assert book.verify() != ()
        book.rebuild()
        assert book.verify() == ()
    assert rows() == before


@settings(max_examples=60, deadline=None)
@given(st.dictionaries(st.text(max_size=5), st.integers() | st.text(max_size=9) | st.none()
                       | st.floats(allow_nan=False, allow_infinity=False)))  # fmt: skip
def test_the_text_of_an_entry_reads_back_the_same(content):
    text = journal.canonical(content)
    assert json.loads(text) == content and journal.canonical(json.loads(text)) == text
