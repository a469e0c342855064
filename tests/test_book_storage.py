"""The file of the stock book: what can be wrong with it ends in a sentence, and a kill leaves it whole."""

from __future__ import annotations

import os
import shutil
import signal
import sqlite3
import subprocess
import sys
import tempfile
import time
from contextlib import closing
from pathlib import Path

import pytest

from inventory import StorageError
from inventory.book import Book
from inventory.book.schema import APPLICATION_ID
from nesting import InputError
from tests.stock_cases import TIME, corner_plan, filled, stock

ROOT = Path(__file__).parent.parent


@pytest.fixture
def path(tmp_path: Path) -> Path:
    return filled(tmp_path / "stock.sqlite", stock("s1", count=5))


def test_a_missing_book_says_how_to_make_one(tmp_path):
    for readonly in (True, False):
        with pytest.raises(StorageError, match=r"no stock book here.*quirestock sheet add.*sheet import"):
            Book.open(tmp_path / "none.sqlite", readonly=readonly)
    assert list(tmp_path.iterdir()) == []


def test_what_is_not_a_stock_book_is_refused_and_left_as_it_is(tmp_path):
    text, empty, other = tmp_path / "a.txt", tmp_path / "b.sqlite", tmp_path / "c.sqlite"
    text.write_text("1: 420 x 297\n" * 100)
    empty.touch()
    with closing(sqlite3.connect(other)) as link:
        link.execute("CREATE TABLE book (id TEXT)")
    before = {file: file.read_bytes() for file in (text, empty, other)}
    for create in (False, True):
        for file in (text, other):
            with pytest.raises(StorageError, match="not a stock book"):
                Book.open(file, create=create)
    with pytest.raises(StorageError, match=r"empty, not a stock book\. Delete it, or name another with --book"):
        Book.open(empty)
    with pytest.raises(StorageError, match="a folder, not a stock book"):
        Book.open(tmp_path)
    with pytest.raises(StorageError, match=r"the folder .* does not exist"):
        Book.open(tmp_path / "none" / "stock.sqlite", create=True)
    with pytest.raises(InputError, match="--book"):
        Book.open("postgresql://bench/stock")
    assert {file: file.read_bytes() for file in before} == before
    with Book.open(empty, create=True) as book:  # a book of which only the name was made
        assert book.sheets() == () and book.verify() == ()


def test_an_address_is_a_file(path):
    with Book.open(f"sqlite:///{path}", readonly=True) as book:
        assert book.get("s1").sheet.count == 5


def test_a_newer_book_is_refused(path):
    with closing(sqlite3.connect(path)) as link, link:
        link.execute("INSERT INTO migration VALUES (7, 'something of the future')")
    for readonly in (True, False):
        with pytest.raises(StorageError, match=r"version 7.*up to 1.*Update quirestock"):
            Book.open(path, readonly=readonly)


def test_a_book_that_another_program_writes_to_says_so_and_can_be_read(path):
    with closing(sqlite3.connect(path, isolation_level=None)) as other, Book.open(path, wait=0.05) as book:
        other.execute("BEGIN IMMEDIATE")
        with pytest.raises(StorageError, match="another program is writing"):
            book.count("s1", 3, "spoiled", TIME)
        assert book.get("s1").sheet.count == 5
        other.execute("ROLLBACK")
        book.count("s1", 3, "spoiled", TIME)
        assert book.get("s1").sheet.count == 3


def test_a_full_disk_says_so_and_keeps_the_book_whole(path):
    with Book.open(path) as book:
        with book._engine.connect() as connection:  # SQLite's own limit stands for a full disk: the same error
            pages = connection.exec_driver_sql("PRAGMA page_count").scalar_one()
            connection.exec_driver_sql(f"PRAGMA max_page_count = {pages}")
        with pytest.raises(StorageError, match="the disk is full; nothing was recorded"):
            book.receive([stock(f"t{i}") for i in range(200)], TIME)
        assert [s.id for s in book.sheets()] == ["s1"] and book.verify() == ()


def test_a_book_opened_for_reading_is_not_written(path):
    before = path.read_bytes()
    with Book.open(path, readonly=True) as book:
        for write in (lambda: book.count("s1", 3, "spoiled", TIME), book.rebuild, lambda: book.undo(TIME)):
            with pytest.raises(StorageError, match="read-only"):
                write()
    assert path.read_bytes() == before


def test_a_damaged_file_says_so(path):
    data = bytearray(path.read_bytes())
    data[4096:8192] = os.urandom(4096)
    path.write_bytes(data)
    with pytest.raises(StorageError, match=r"damaged|cannot be read|not a stock book"), Book.open(path) as book:
        assert book.verify() == ()
        book.sheets()


def test_a_read_only_folder_is_named():
    """In a forked process of another user where this one is root, since root may write anywhere."""
    folder = Path(tempfile.mkdtemp())
    book, new = folder / "stock.sqlite", folder / "new.sqlite"
    filled(book, stock("s1"))
    book.chmod(0o444)
    folder.chmod(0o555)

    def attempts() -> str:
        told = []
        for place, create in ((book, False), (new, True)):
            try:
                Book.open(place, create=create)
            except StorageError as error:
                told.append(str(error))
        with Book.open(book, readonly=True) as opened:
            return "\n".join([*told, opened.get("s1").id])

    end, start = os.pipe()
    child = os.fork()
    if child == 0:
        try:
            if os.geteuid() == 0:
                os.setgroups([])
                os.setgid(65534)
                os.setuid(65534)
            os.write(start, attempts().encode())
        finally:
            os._exit(0)
    os.close(start)
    with os.fdopen(end) as pipe:
        told = pipe.read().splitlines()
    os.waitpid(child, 0)
    folder.chmod(0o755)
    shutil.rmtree(folder)
    assert "stock.sqlite: the stock book or its folder is read-only; nothing can be recorded" in told[0]
    assert f"the folder {folder} is read-only. Choose a folder" in told[1]
    assert told[2:] == ["s1"]


WRITER = """
import sys
sys.path.insert(0, {root!r})
from tests.stock_cases import TIME, corner_plan, stock
from inventory.book import Book
with Book.open(sys.argv[1], create=True) as book:
    for n in range(10_000):
        book.receive([stock(f"{{sys.argv[2]}}-{{n}}-{{i}}") for i in range(4)], TIME)
        book.count(f"{{sys.argv[2]}}-{{n}}-0", 7, "counted", TIME)
        book.undo(TIME)
        print(book.head(64), flush=True)
"""


def test_a_kill_in_the_middle_of_many_writes_leaves_the_book_whole(tmp_path):
    path = tmp_path / "stock.sqlite"
    code = WRITER.format(root=str(ROOT))
    acknowledged = ""
    for run in range(5):
        writer = subprocess.Popen([sys.executable, "-c", code, str(path), str(run)], stdout=subprocess.PIPE, text=True)
        assert writer.stdout is not None
        for _ in range(3 + run):
            acknowledged = writer.stdout.readline().strip()
        time.sleep(0.003 * run)  # so that the kills fall at different places of a write
        writer.send_signal(signal.SIGKILL)
        acknowledged = ([line.strip() for line in writer.stdout if line.endswith("\n")] or [acknowledged])[-1]
        writer.wait()
        writer.stdout.close()
        with Book.open(path) as book:
            assert book.verify(acknowledged) == ()
            assert len(book.sheets()) % 4 == 0 and book.sheets()
            book.receive([stock(f"after {run}-{i}") for i in range(4)], TIME)


def test_what_a_kill_left_half_written_is_rolled_back_even_for_a_reader(path):
    """The killed program had already overwritten pages of the file: its rollback journal lies beside it."""
    before = path.read_bytes()
    code = ("import os, sqlite3, sys; link = sqlite3.connect(sys.argv[1], isolation_level=None)\n"
            "link.execute('PRAGMA cache_size = 1'); link.execute('BEGIN IMMEDIATE')\n"
            "for n in range(2, 400):\n"
            "    link.execute('INSERT INTO journal VALUES (?, ?, ?, ?, ?)', (n, 't', 'cut', 'x' * 900, str(n)))\n"
            "os.kill(os.getpid(), 9)")  # fmt: skip
    assert subprocess.run([sys.executable, "-c", code, str(path)]).returncode == -signal.SIGKILL
    assert path.with_name(f"{path.name}-journal").exists() and path.read_bytes() != before
    with Book.open(path, readonly=True) as book:
        assert book.verify() == () and len(book.entries()) == 1
    assert path.read_bytes() == before


def test_two_programs_writing_at_once_both_get_through(tmp_path):
    path = filled(tmp_path / "stock.sqlite", stock("s1"))
    code = WRITER.format(root=str(ROOT)).replace("10_000", "5").replace("book.undo(TIME)", "pass")
    writers = [subprocess.Popen([sys.executable, "-c", code, str(path), name], stdout=subprocess.DEVNULL) for name in "ab"]
    assert [writer.wait(timeout=60) for writer in writers] == [0, 0]
    with Book.open(path) as book:
        assert len(book.entries()) == 1 + 2 * 5 * 2 and book.verify() == ()


# Copies


def test_a_backup_brings_the_book_back(path, tmp_path):
    copies = tmp_path / "copies"
    copies.mkdir()
    with Book.open(path) as book:
        copy, head = book.backup(copies), book.head(64)
        assert copy.parent == copies and book.head() in copy.name
        with pytest.raises(StorageError, match="exists already and is left as it is"):
            book.backup(copies)
        book.cut(corner_plan(book, ["s1"]), TIME)
        later = book.head(64)
    kept = Book.restore(copy, path)
    with Book.open(path) as book:
        assert book.head(64) == head and book.verify() == () and book.get("s1").sheet.count == 5
        book.count("s1", 1, "after the restore", TIME)
    assert kept is not None
    with Book.open(kept, readonly=True) as book:
        assert book.head(64) == later
    assert sorted(p.name for p in tmp_path.iterdir()) == sorted(["copies", path.name, kept.name])


def test_a_restore_that_loses_nothing_keeps_nothing_beside(path, tmp_path):
    with Book.open(path) as book:
        copy = book.backup(tmp_path / "copy.sqlite")
    assert Book.restore(copy, path) is None
    path.unlink()
    assert Book.restore(copy, path) is None
    path.write_bytes(b"coffee was spilt over this book" * 400)
    kept = Book.restore(copy, path)
    assert kept is not None and kept.read_bytes().startswith(b"coffee")
    with Book.open(path) as book:
        assert book.get("s1").sheet.count == 5 and book.verify() == ()


def test_a_restore_waits_for_another_program_but_not_for_ever(path, tmp_path, monkeypatch):
    monkeypatch.setattr("inventory.book.storage.WAIT_SECONDS", 0.1)
    with Book.open(path) as book:
        copy = book.backup(tmp_path / "copy.sqlite")
    with closing(sqlite3.connect(path, isolation_level=None)) as other:
        other.execute("BEGIN IMMEDIATE")
        with pytest.raises(StorageError, match="another program is writing"):
            Book.restore(copy, path)
    with Book.open(path) as book:
        assert book.verify() == () and book.get("s1").sheet.count == 5


def test_a_backup_with_faults_is_not_used(path, tmp_path):
    with Book.open(path) as book:
        copy = book.backup(tmp_path / "copy.sqlite")
    with closing(sqlite3.connect(copy)) as link, link:
        assert link.execute("PRAGMA application_id").fetchone()[0] == APPLICATION_ID
        link.execute("UPDATE stock SET present = 99")
    before = path.read_bytes()
    with pytest.raises(StorageError, match=r"the folder .*none does not exist"), Book.open(path) as book:
        book.backup(tmp_path / "none" / "copy.sqlite")
    with pytest.raises(StorageError, match="has faults and is not used"):
        Book.restore(copy, path)
    with Book.open(copy) as faulty, pytest.raises(StorageError, match="has faults, so it is not copied"):
        faulty.backup(tmp_path / "second.sqlite")
    with pytest.raises(InputError, match="another file"):
        Book.restore(path, path)
    with pytest.raises(StorageError, match="no stock book here"):
        Book.restore(tmp_path / "none.sqlite", path)
    assert path.read_bytes() == before and not (tmp_path / "second.sqlite").exists()
