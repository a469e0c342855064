"""The command from outside: results on stdout, messages on stderr, exit codes of design.md section 3, no traceback."""

from __future__ import annotations

import json
import os
import signal
import subprocess
import sys
from pathlib import Path

import pytest

from inventory.book import Book
from inventory.command import common
from nesting.lengths import TICKS_PER_MM as MM
from tests.stock_cases import TIME, corner_plan, filled, stock

ROOT = Path(__file__).parent.parent
PILE = """unit mm
kind salvaged
1: 420 x 297; grain across
2: 400 x 310; torn R 15; torn T 4
3: 400 x 310; clip TR 30 by 40
4: 400 x 310; bad L 200 to 260 deep 11
"""


@pytest.fixture
def bench(bench, monkeypatch):
    """The bench at one moment of time."""
    monkeypatch.setattr(common, "now", lambda: TIME)
    return bench


def outside(*arguments: str, cwd: Path, **more):
    env = {**os.environ, "PYTHONPATH": str(ROOT)}
    return subprocess.Popen([sys.executable, "-m", "inventory.command.main", *arguments], cwd=cwd, env=env, text=True,
                            stdout=subprocess.PIPE, stderr=subprocess.PIPE, **more)  # fmt: skip


# Sheets


def test_sheets_come_in_by_argument_and_are_listed(bench):
    code, out, _ = bench("sheet", "add", "12: 420 x 297; grain across", "--unit", "mm", "--material", "cover", "--yes")
    assert code == 0 and "Saved 1 sheet in" in out and out.rstrip().endswith("12.")
    assert any(ord(letter) > 0x2500 for letter in out)  # drawn with block characters
    assert bench("sheet", "add", "420", "x", "297", "--id", "13", "--unit", "mm", "--yes")[0] == 0
    code, out, _ = bench("sheet", "list")
    assert code == 0
    assert [line.split()[0] for line in out.splitlines()] == ["id", "12", "13"]
    listed = json.loads(bench("sheet", "list", "--json", "--material", "cover")[1])
    assert [(s["id"], s["count"], s["width_mm"], s["height_mm"], s["grain"]) for s in listed] == [("12", 1, 420, 297, "x")]


def test_a_sheet_without_a_number_gets_the_next_free_one(bench, tmp_path):
    filled(tmp_path / "stock.sqlite", stock("7"), stock("bill-9"))
    code, out, _ = bench("sheet", "add", "420 x 297; torn R 15", "3: 300 x 200", "--unit", "mm", "--yes")
    assert code == 0 and out.rstrip().endswith("8, 3.")
    assert bench("sheet", "add", "420", "x", "297", "--unit", "mm", "--yes")[1].rstrip().endswith(": 9.")


def test_nothing_is_saved_before_it_is_confirmed(bench, tmp_path):
    assert bench("sheet", "add", "1: 420 x 297", "--unit", "mm", typed="n\n")[0] == 0
    code, _, err = bench("sheet", "add", "1: 420 x 297", "--unit", "mm", typed="")
    assert code == 2 and "With --yes" in err
    assert not (tmp_path / "stock.sqlite").exists()
    assert bench("sheet", "add", "1: 420 x 297", "--unit", "mm", typed="y\n")[0] == 0
    assert (tmp_path / "stock.sqlite").exists()


def test_lines_typed_at_a_prompt(bench):
    typed = "1: 420 x 297\n2: 300 x 999\nundo\n2: 300 x 200; torn R 15\n3: squares 20\n....#\n*....\n\n\ny\n"
    code, out, err = bench("sheet", "add", "--unit", "mm", typed=typed)
    assert code == 0, err
    assert "Taken back: 2: 300 x 999" in err and "Saved 3 sheets" in out
    shown = json.loads(bench("sheet", "show", "2", "--json")[1])
    assert shown["height_mm"] == 200 and [h["kind"] for h in shown["history"]] == ["received"]


def test_a_wrong_line_on_a_pipe_stops_it_all(bench, tmp_path):
    code, _, err = bench("sheet", "add", "--unit", "mm", "--yes", typed="1: 420 x 297\n2: 300 by\n")
    assert code == 3 and "Nothing was saved" in err and not (tmp_path / "stock.sqlite").exists()
    code, _, err = bench("sheet", "add", "--yes", typed="")
    assert code == 0 and "No sheets, nothing saved." in err


def test_a_prompt_on_a_real_pipe(tmp_path):
    done = outside("sheet", "add", "--unit", "mm", "--yes", cwd=tmp_path, stdin=subprocess.PIPE)
    out, err = done.communicate("1: 420 x 297\n2: like 1\n", timeout=60)
    assert done.returncode == 0 and "Saved 2 sheets" in out, err
    done = outside("sheet", "add", "--unit", "mm", "--yes", cwd=tmp_path, stdin=subprocess.PIPE)
    assert done.stdin is not None
    done.stdin.buffer.write(b"3: 420 x 297; note \xff\n")
    out, err = done.communicate(timeout=60)
    assert done.returncode == 3 and "UTF-8" in err and "Traceback" not in err


def test_a_pile_in_a_file_is_loaded_whole(bench, tmp_path):
    (tmp_path / "pile.txt").write_text(PILE)
    code, out, _ = bench("sheet", "import", "pile.txt", "--dry-run")
    assert code == 0 and out.startswith("4 sheets could be loaded") and not (tmp_path / "stock.sqlite").exists()
    assert bench("sheet", "import", "pile.txt")[0] == 0
    code, _, err = bench("sheet", "import", "pile.txt")
    assert code == 3 and "used in the stock book" in err
    assert json.loads(bench("sheet", "show", "3", "--json")[1])["area_mm2"] == 400 * 310 - 30 * 40 / 2
    assert bench("sheet", "export", "out.csv")[0] == 0
    assert bench("sheet", "import", "out.csv", "--book", "second.sqlite")[0] == 0
    first, second = (json.loads(bench("sheet", "list", "--json", *more)[1]) for more in ((), ("--book", "second.sqlite")))
    for sheet in (*first, *second):
        sheet.pop("description")
    assert first == second


def test_bad_rows_come_back_with_their_reasons_and_nothing_is_loaded(bench, tmp_path):
    (tmp_path / "pile.csv").write_text("id,width,height,unit,grain\n1,420,297,mm,acros\n2,300,200,mm,x\n2,300,200,mm,x\n")
    code, _, err = bench("sheet", "import", "pile.csv", "--bad", "bad.csv")
    assert code == 3 and "Nothing was loaded" in err and "across" in err
    rows = (tmp_path / "bad.csv").read_text().splitlines()
    assert len(rows) == 3 and "across" in rows[1]
    assert not (tmp_path / "stock.sqlite").exists()
    code, _, err = bench("sheet", "import", "pile.csv", "--bad", "nowhere/bad.csv")  # the reasons are said all the same
    assert code == 3 and "across" in err and err.index("across") < err.index("Nothing was loaded") < err.index("not be written")
    assert "--bad" in err and not (tmp_path / "nowhere").exists()
    code, _, err = bench("sheet", "import", "pile.csv", "--bad", "pile.csv")
    assert code == 3 and "another file" in err and (tmp_path / "pile.csv").read_text().startswith("id,width")


@pytest.mark.parametrize(("name", "data", "code"), [
    ("none.txt", None, 3), ("folder", "folder", 3), ("empty.txt", b"", 3), ("latin.txt", b"1: 420 x 297; note \xe9\n", 3),
    ("header.csv", b"id,width,height\n", 3), ("column.csv", b"id,width,height,colour\n1,2,3,red\n", 3),
    ("unit.txt", b"1: 8 1/2 x 11\n", 3), ("twice.txt", b"unit mm\n1: 420 x 297\n1: 420 x 297\n", 3),
    ("what.docx", b"PK", 3),
])  # fmt: skip
def test_a_file_that_cannot_be_loaded(bench, tmp_path, name, data, code):
    if data == "folder":
        (tmp_path / name).mkdir()
    elif data is not None:
        (tmp_path / name).write_bytes(data)
    found, out, err = bench("sheet", "import", name)
    assert (found, out) == (code, "") and len(err.strip()) > 20
    assert not (tmp_path / "stock.sqlite").exists()


def test_count_and_retire(bench, tmp_path):
    filled(tmp_path / "stock.sqlite", stock("s1", count=5))
    assert bench("sheet", "count", "s1", "3", "--reason", "two spoiled")[1] == "s1 counted: 5 became 3 (two spoiled)\n"
    assert bench("sheet", "retire", "s1", "--reason", "wet")[0] == 0
    assert "No sheets." in bench("sheet", "list")[2]
    assert json.loads(bench("sheet", "list", "--gone", "--json")[1])[0]["count"] == 0
    code, _, err = bench("sheet", "count", "s11", "3", "--reason", "found")
    assert code == 3 and "Did you mean s1?" in err
    code, _, err = bench("sheet", "count", "s1", "-3", "--reason", "odd")
    assert code == 2 and "A number below 0 cannot be given here" in err
    assert bench("sheet", "count", "s1", "3")[0] == 2  # a reason is asked for
    shown = bench("sheet", "show", "s1")[1]
    assert "counted: 5 became 3 (two spoiled)" in shown and "retired: 3 taken out (wet)" in shown


def test_the_contact_sheet_is_drawn(bench, tmp_path):
    (tmp_path / "pile.txt").write_text(PILE)
    bench("sheet", "import", "pile.txt")
    assert bench("sheet", "picture", "--out", "heap.pdf")[0] == 0
    assert (tmp_path / "heap.pdf").read_bytes().startswith(b"%PDF")
    assert bench("sheet", "picture", "2", "4", "--out", "two.png")[0] == 0
    assert (tmp_path / "two.png").read_bytes().startswith(b"\x89PNG")
    code, _, err = bench("sheet", "picture", "--out", "heap.docx")
    assert code == 3 and ".pdf" in err
    assert bench("sheet", "picture", "77", "--out", "x.pdf")[0] == 3


# Plans


def planned(folder: Path, *ids: str, copies: int = 1) -> Path:
    with Book.open(folder / "stock.sqlite", readonly=True) as book:
        plan = corner_plan(book, ids, copies)
    path = folder / "plan.json"
    path.write_text(json.dumps(plan.to_dict()))
    return path


def test_a_plan_is_cut_once_and_undone(bench, tmp_path):
    filled(tmp_path / "stock.sqlite", stock("s1", count=2), stock("s2"))
    planned(tmp_path, "s1", "s2")
    code, out, err = bench("cut", "plan.json", "--layouts", "2")
    assert code == 0 and [line.split() for line in out.splitlines()] == [
        ["out", "1", "s2"], ["in", "1", "s2-a"], ["in", "1", "s2-b"]], err  # fmt: skip
    code, out, err = bench("cut", "plan.json", "--json")
    found = json.loads(out)
    assert code == 0 and not found["already"]
    assert (found["taken"], found["recorded"], found["recorded_before"]) == ({"s1": 1}, [1], [2])
    code, out, _ = bench("cut", "plan.json")
    assert code == 0 and "recorded before; nothing has changed" in out
    assert bench("undo")[1].startswith("Undone: entry 3 of")
    assert {s["id"] for s in json.loads(bench("sheet", "list", "--json")[1])} == {"s1", "s2-a", "s2-b"}
    assert bench("book", "verify")[0] == 0


def test_stock_that_has_changed_is_code_5(bench, tmp_path):
    filled(tmp_path / "stock.sqlite", stock("s1", count=2))
    planned(tmp_path, "s1")
    bench("sheet", "count", "s1", "1", "--reason", "one torn")
    code, out, err = bench("cut", "plan.json")
    assert (code, out) == (5, "") and "Sheet s1 has changed since the plan was made" in err and "one torn" in err


def test_a_renamed_offcut_is_said(bench, tmp_path):
    filled(tmp_path / "stock.sqlite", stock("s1"), stock("s1-a"))
    planned(tmp_path, "s1")
    _, out, err = bench("cut", "plan.json")
    assert "s1-a-2" in out and "The number s1-a was taken: write s1-a-2 on that offcut." in err


def test_check_tells_faults_apart_by_its_code(bench, tmp_path):
    filled(tmp_path / "stock.sqlite", stock("s1", count=2))
    path = planned(tmp_path, "s1")
    code, out, _ = bench("check", "plan.json")
    assert (code, out) == (0, "Sound: 1 piece from 1 sheet, 1 layout.\n")
    document = json.loads(path.read_text())
    document["layouts"][0]["copies"] = 3
    path.write_text(json.dumps(document))
    code, out, _ = bench("check", "plan.json")
    assert code == 1 and "fault" in out
    code, out, _ = bench("check", "plan.json", "--json")
    found = json.loads(out)
    assert code == 1 and not found["sound"] and found["faults"][0].keys() == {"code", "where", "text"}
    code, _, err = bench("cut", "plan.json")
    assert code == 3 and "without faults" in err


@pytest.mark.parametrize(("text", "code"), [
    (None, 3), ("", 3), ("{", 3), ("[" * 100_000, 3), ('{"document": NaN}', 3), ("[]", 3), ('{"document": "other"}', 3),
])  # fmt: skip
def test_a_file_that_is_no_plan(bench, tmp_path, text, code):
    if text is not None:
        (tmp_path / "plan.json").write_text(text)
    for command in ("check", "cut"):
        found, out, err = bench(command, "plan.json")
        assert (found, out) == (code, "") and len(err.strip()) > 20


@pytest.mark.parametrize("layouts", ["0", "2", "x", "1-", "3-1", "-1", "1,,1", ""])
def test_layouts_that_are_not_there(bench, tmp_path, layouts):
    filled(tmp_path / "stock.sqlite", stock("s1"))
    planned(tmp_path, "s1")
    code, _, err = bench("cut", "plan.json", "--layouts", layouts)
    assert code == 3 and "numbers" in err
    assert bench("book", "head", "--json")[1].count('"entries": 1')


# The book


def test_the_book_is_verified_rebuilt_and_brought_back(bench, tmp_path):
    filled(tmp_path / "stock.sqlite", stock("s1", count=2))
    head = bench("book", "head")[1].strip()
    assert len(head) == 12
    assert bench("book", "backup", "copy.sqlite")[1] == "copy.sqlite\n"
    assert bench("book", "backup", "copy.sqlite")[0] == 6
    bench("sheet", "count", "s1", "9", "--reason", "found")
    assert bench("book", "verify", "--head", head)[0] == 0
    later = json.loads(bench("book", "verify", "--json")[1])["head"]
    code, out, err = bench("book", "restore", "copy.sqlite")
    assert code == 0 and f"head {head}" in out and f"stock-before-{later}.sqlite" in err
    code, out, _ = bench("book", "verify", "--head", later)
    assert code == 1 and "entries were lost" in out
    code, out, _ = bench("book", "verify", "--head", later, "--json")
    assert code == 1 and json.loads(out)["sound"] is False
    assert bench("book", "rebuild")[1] == "Rebuilt: 1 sheet in stock.\n"


@pytest.mark.parametrize("arguments", [
    ["sheet", "list"], ["sheet", "show", "1"], ["sheet", "count", "1", "2", "--reason", "x"], ["undo"],
    ["book", "verify"], ["book", "rebuild"], ["book", "head"], ["sheet", "export", "x.csv"],
    ["sheet", "picture", "--out", "x.pdf"],
])  # fmt: skip
def test_a_missing_book_is_code_6_and_says_how_to_make_one(bench, tmp_path, arguments):
    code, out, err = bench(*arguments)
    assert (code, out) == (6, "") and "sheet add" in err
    assert list(tmp_path.iterdir()) == []


def test_which_book_is_meant(bench, tmp_path, monkeypatch):
    filled(tmp_path / "stock.sqlite", stock("here"))
    filled(tmp_path / "named.sqlite", stock("named"))
    filled(tmp_path / "env.sqlite", stock("env"))
    (tmp_path / "shop" / "jobs").mkdir(parents=True)
    (tmp_path / "shop" / "workshop.toml").write_text('[bench]\nunit = "in"\n')
    filled(tmp_path / "shop" / "stock.sqlite", stock("shop"))

    def first(*more: str) -> str:
        return json.loads(bench("sheet", "list", "--json", *more)[1])[0]["id"]

    assert first() == "here" and first("--book", "named.sqlite") == "named"
    assert first("--book", f"sqlite:///{tmp_path / 'named.sqlite'}") == "named"
    monkeypatch.chdir(tmp_path / "shop" / "jobs")
    assert first() == "shop"
    assert "16-1/2 in" not in bench("sheet", "list")[1] and " in" in bench("sheet", "list")[1]
    monkeypatch.setenv("QUIRESTOCK_BOOK", str(tmp_path / "env.sqlite"))
    assert first() == "env" and first("--book", str(tmp_path / "named.sqlite")) == "named"


# The shell


@pytest.mark.parametrize("arguments", [
    ["shet"], ["sheet", "lst"], ["sheet", "list", "--jsn"], ["cut"], ["sheet", "count", "1", "x"], [],
])  # fmt: skip
def test_usage_errors_are_code_2(bench, arguments):
    code, out, err = bench(*arguments)
    assert code == 2 and (out + err).strip()


def test_an_error_of_the_system_is_a_sentence(bench, monkeypatch):
    def full(*_, **__):
        raise OSError(28, "No space left on device", "plan.pdf")

    monkeypatch.setattr("inventory.command.book.open_book", full)
    code, _, err = bench("book", "head")
    assert code == 6 and err == "plan.pdf: the file cannot be read or written (No space left on device).\n"


def test_ctrl_c_is_code_130_and_saves_nothing(tmp_path):
    running = outside("sheet", "add", "--unit", "mm", cwd=tmp_path, stdin=subprocess.PIPE)
    assert running.stdin is not None and running.stdout is not None
    running.stdin.write("1: 420 x 297\n")
    running.stdin.flush()
    running.stdout.readline()  # the sheet is drawn: it waits for the next line
    running.send_signal(signal.SIGINT)
    _, err = running.communicate(timeout=60)
    assert running.returncode == 130 and err.rstrip().endswith("Stopped.") and "Traceback" not in err
    assert not (tmp_path / "stock.sqlite").exists()


def test_a_reader_that_goes_away_is_no_trouble(tmp_path):
    filled(tmp_path / "stock.sqlite", *(stock(f"s{i}") for i in range(2000)))
    running = outside("sheet", "list", "--json", cwd=tmp_path)
    assert running.stdout is not None and running.stderr is not None
    running.stdout.readline()
    running.stdout.close()
    assert running.stderr.read() == ""
    assert running.wait(timeout=60) == 0


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="this system has no /dev/full")
def test_results_that_cannot_be_written_are_said(tmp_path):
    filled(tmp_path / "stock.sqlite", stock("s1"))
    with open("/dev/full", "w") as full:
        done = subprocess.run([sys.executable, "-m", "inventory.command.main", "sheet", "list"], cwd=tmp_path, text=True,
                              env={**os.environ, "PYTHONPATH": str(ROOT)}, stdout=full, stderr=subprocess.PIPE)  # fmt: skip
    assert done.returncode == 6 and done.stderr == "the file cannot be read or written (No space left on device).\n"


def test_a_bare_number_without_a_unit_is_refused(bench, tmp_path):
    code, _, err = bench("sheet", "add", "1: 420 x 297", "--yes")
    assert code == 3 and "unit" in err
    (tmp_path / "workshop.toml").write_text('[bench]\nunit = "mm"\n')
    assert bench("sheet", "add", "1: 420 x 297", "--yes")[0] == 0


def test_the_clock_is_whole_seconds_in_utc():
    assert common.now().endswith("+00:00") and "." not in common.now() and MM == 8000
