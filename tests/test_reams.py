"""Notebooks from a ream: bench stories B1 and B2, published pieces out (trade.md T36 to T39), grain right and wrong."""

from __future__ import annotations

import csv
import io
import json
from collections.abc import Sequence
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from nesting.blanks import Blank
from nesting.errors import ImpossibleJob, InputError
from nesting.notebook.formats import Format, Grains
from nesting.notebook.reams import Paper, ReamRow, books_from, bought_standards, ream_rows
from nesting.notebook.sizes import read
from nesting.sheets import Sheet
from tests.commands import B2_FILE, run

B1 = Format.make("B1", "3-1/2 in", "5-1/2 in", trim="1/8 in", unit="in")
B2 = Format.make("B2", "3-1/2 in", "5-1/4 in", head="3/32 in", tail="3/32 in", fore_edge="1/8 in", true_up="1/16 in", unit="in")
A6 = Format.make("A6", 105, 148)


def grid(sheet: Sheet, blanks: Sequence[Blank], **_: Any) -> Any:
    """A stand-in for the search: the better plain grid of one blank."""
    blank, (x0, y0, x1, y1) = blanks[0], sheet.box
    best = max((((x1 - x0) // w) * ((y1 - y0) // h) for w, h in map(blank.size, blank.turns_on(sheet))), default=0)
    if not best:
        raise ImpossibleJob({blank.name: "too large"})
    return SimpleNamespace(layout=SimpleNamespace(counts=lambda: {blank.name: best}, tree=None), proven=False)


def paper(text: str, grain: str | None = None) -> Paper:
    name, width, height = read(text, "mm")
    return Paper(name, Sheet.rectangle(name, width / 8000, height / 8000, grain=grain, material="folio"))


def only(rows: Sequence[ReamRow]) -> ReamRow:
    assert len(rows) == 1
    return rows[0]


@pytest.mark.parametrize(("fmt", "pieces", "books", "over"), [(B1, 1, 41, 8), (B2, 2, 83, 2)])
def test_bench_stories_b1_b2(fmt: Format, pieces: int, books: int, over: int) -> None:
    # common practice, no source; 500 sheets 8-1/2 x 11 in, grain long, 12 folios a book, by the real search
    row = only(ream_rows(fmt, [paper("8-1/2 x 11 in", "y")], 500))
    assert (row.grain, row.grain_known, row.proven) == ("long", True, True)
    assert (row.pieces, row.books, row.sheets_over) == (pieces, books, over)
    assert row.sheets_used + row.sheets_over == 500 and row.folios_over == 0


def folio_of(width: str, height: str) -> Format:
    """A format whose folio blank is this size: half as wide when closed, no trims."""
    w, h = (read(f"{side} x 1 in", "in")[1] for side in (width, height))
    return Format.make("folio", w / 2 / 8000, h / 8000, 1, trim=0, grains=Grains(folio="off"))


@pytest.mark.parametrize(("sheet", "blank", "pieces", "waste"), [
    ("17 x 22 in", ("8.5", "11"), 4, 0.0),  # T36, forum worked example
    ("25 x 38 in", ("8.5", "11"), 8, 0.2126),  # T37, cancellation method; unmixed
    ("23 x 35 in", ("8.5", "11"), 8, 0.0708),  # T38
    ("320 x 450 mm", ("216 mm", "154 mm"), 4, 0.0760),  # T39, SRA3
    ("450 x 640 mm", ("216 mm", "154 mm"), 8, 0.0760),  # T39, SRA2
])  # fmt: skip
def test_t36_to_t39_pieces_out(sheet: str, blank: tuple[str, str], pieces: int, waste: float) -> None:
    unmixed = only(ream_rows(folio_of(*blank), [paper(sheet)], 1, fill=grid))
    assert (unmixed.grain, unmixed.pieces) == ("any", pieces)
    assert unmixed.waste == pytest.approx(waste, abs=1e-4)
    mixed = only(ream_rows(folio_of(*blank), [paper(sheet)], 1))
    assert mixed.proven and mixed.pieces == pieces  # both ways in one sheet gain nothing for these five


def test_grain_right_and_wrong_are_told_apart() -> None:
    rows = {row.grain: row for row in ream_rows(A6, [paper("320 x 450 mm")], 500, fill=grid)}
    assert {g: (r.pieces, r.pieces_any, r.needs_wrong_grain, r.grain_known) for g, r in rows.items()} == {
        "short": (4, 4, False, False), "long": (2, 4, True, False)}  # fmt: skip
    assert (rows["long"].books, rows["long"].books_any) == (83, 166)


def test_bare_rows_have_the_same_books() -> None:
    papers = [paper("320 x 450 mm"), paper("A4"), paper("A7", "x")]
    for fmt in (A6, Format.make("free", 105, 148, grains=Grains(folio="off"))):
        whole, bare = ({(r.paper, r.grain): r.books for r in ream_rows(fmt, papers, bare=b)} for b in (False, True))
        assert whole == bare


def test_grain_of_a_bought_sheet_is_its_own() -> None:
    assert only(ream_rows(A6, [paper("320 x 450 mm", "x")], fill=grid)).grain == "short"
    assert only(ream_rows(A6, [paper("450 x 320 mm", "x")], fill=grid)).grain == "long"
    assert only(ream_rows(A6, [paper("450 x 320 mm", "x")], fill=grid)).grain_known


def test_no_grain_rule_gives_one_row() -> None:
    free = Format.make("free", 105, 148, grains=Grains(folio="off"))
    row = only(ream_rows(free, [paper("320 x 450 mm")], fill=grid))
    assert (row.grain, row.pieces, row.pieces_any) == ("any", 4, 4)


def test_across_the_spine_turns_the_answer() -> None:
    across = Format.make("across", 105, 148, grains=Grains(folio="across"))
    rows = {row.grain: row.pieces for row in ream_rows(across, [paper("320 x 450 mm")], fill=grid)}
    assert rows == {"short": 2, "long": 4}


def test_a_square_paper_is_alike_both_ways() -> None:
    assert only(ream_rows(A6, [paper("500 x 500 mm")], fill=grid)).pieces == 6


def test_too_small_a_paper_is_a_row_without_pieces() -> None:
    rows = ream_rows(A6, [paper("148 x 210 mm")], 500)
    assert all((r.pieces, r.books, r.sheets_used, r.sheets_over, r.waste, r.proven) == (0, 0, 0, 500, 1.0, True) for r in rows)
    assert len(rows) == 2


def test_495_usable_is_a_normal_count() -> None:
    row = only(ream_rows(B2, [paper("8-1/2 x 11 in", "y")], 495, fill=grid))
    assert (row.books, row.sheets_used, row.sheets_over, row.folios_over) == (82, 492, 3, 0)


@pytest.mark.parametrize("count", [0, -1, 1.5, True, "500", 10**9])
def test_wrong_counts_are_refused(count: object) -> None:
    with pytest.raises(InputError, match="count"):
        ream_rows(A6, [paper("A4")], count, fill=grid)  # type: ignore[arg-type]


def test_rows_come_by_least_waste_then_name() -> None:
    rows = ream_rows(A6, bought_standards(), fill=grid)
    assert [(r.waste, r.paper, r.grain) for r in rows] == sorted((r.waste, r.paper, r.grain) for r in rows)
    assert {r.paper for r in rows} == {p.name for p in bought_standards()}
    assert rows == ream_rows(A6, reversed(bought_standards()), fill=grid)


def test_the_real_search_beats_or_equals_the_grid_everywhere() -> None:
    real, plain = ream_rows(A6, bought_standards()), ream_rows(A6, bought_standards(), fill=grid)
    by = {(r.paper, r.grain): r for r in plain}
    assert all(r.proven for r in real)
    assert all(r.pieces >= by[r.paper, r.grain].pieces and r.pieces_any >= by[r.paper, r.grain].pieces_any for r in real)
    # With the rule one blank lies one way only, where the grid is the optimum (floor of both sides).
    assert all(r.pieces == by[r.paper, r.grain].pieces for r in real)
    assert any(r.pieces_any > by[r.paper, r.grain].pieces_any for r in real)


@settings(deadline=None)
@given(st.integers(0, 60), st.integers(1, 40), st.integers(1, 3000))
def test_books_account_for_every_folio(pieces: int, folios: int, count: int) -> None:
    books, used, over = books_from(pieces, folios, count)
    assert 0 <= used <= count and books * folios + over == used * pieces
    assert (count * pieces) // folios == books  # not one book more
    assert 0 <= over < max(1, pieces)  # no sheet cut that is not needed


def test_damaged_stock_is_reckoned_by_its_outline() -> None:
    clipped = Sheet.from_mm("clip", [(0, 0), (450, 0), (450, 200), (400, 320), (0, 320)], grain="y", material="folio")
    whole = only(ream_rows(A6, [paper("450 x 320 mm", "y")]))
    row = only(ream_rows(A6, [Paper("clip", clipped, bought=True, in_stock=40)]))
    assert (row.bought, row.in_stock) == (True, 40)
    assert 0 < row.pieces < whole.pieces and row.width == 450 * 8000


@pytest.fixture
def bench(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A workshop in inches with two page papers in its stock book, as the current folder."""
    monkeypatch.delenv("QUIRESTOCK_BOOK", raising=False)
    monkeypatch.chdir(tmp_path)
    (tmp_path / "workshop.toml").write_text('[bench]\nunit = "in"\n')
    (tmp_path / "b2.toml").write_text(B2_FILE)
    assert run("sheet", "add", "p1: 8 1/2 x 11; grain up; count 495", "p2: 17 x 22; count 200", "--kind", "parent",
               "--material", "folio", "--yes") == 0  # fmt: skip
    return tmp_path


def test_ream_command_lists_bought_and_standard_papers(bench: Path, capsys: pytest.CaptureFixture[str]) -> None:
    # bench story B2, and the same from the 495 sheets in stock: common practice, no source
    capsys.readouterr()
    assert run("ream", "b2.toml", "--json") == 0
    rows = json.loads(capsys.readouterr().out)["rows"]
    p1 = [r for r in rows if r["paper"] == "p1"]
    keys = ("grain", "grain_known", "folios_a_sheet", "books", "sheets_over")
    assert [tuple(r[key] for key in keys) for r in p1] == [("long", True, 2, 83, 2)]
    assert (p1[0]["in_stock"], p1[0]["books_in_stock"], p1[0]["proven"]) == (495, 82, True)
    # The grain of p2 was not said: both ways, marked.
    assert {(r["grain"], r["grain_known"]) for r in rows if r["paper"] == "p2"} == {("long", False), ("short", False)}
    assert {p.name for p in bought_standards()} < {r["paper"] for r in rows}
    assert [r["waste"] for r in rows] == sorted(r["waste"] for r in rows)


def test_ream_command_as_table_and_csv(bench: Path, capsys: pytest.CaptureFixture[str]) -> None:
    capsys.readouterr()
    assert run("ream", "b2.toml", "--size", "letter", "--size", "8x10", "--size", "A7") == 0
    shown = capsys.readouterr().out
    assert "folio 7-1/4 x 5-1/2 in, 12 a book, grain along the spine; 500 sheets" in shown
    assert "Too small for a folio: A7." in shown
    letter = [line.split() for line in shown.splitlines() if line.startswith("letter")]
    assert [row[5:] for row in letter] == [
        ["long", "2", "83", "2", "4", "14.7%", "2"],
        ["short", "1", "41", "8", "4", "57.4%", "2", "2", "a", "sheet,", "83", "books"]]  # fmt: skip
    assert run("ream", "b2.toml", "--csv", "--count", "1 ream") == 0
    rows = list(csv.DictReader(io.StringIO(capsys.readouterr().out)))
    assert {r["paper"]: r["books"] for r in rows if r["paper"] == "p1"} == {"p1": "83"}


def test_ream_command_mixes_formats_and_draws(bench: Path, capsys: pytest.CaptureFixture[str]) -> None:
    capsys.readouterr()
    words = ("ream", "b2.toml", "A7", "--size", "letter", "--size", "SRA3", "--size", "A7")
    assert run(*words) == 0
    shown = capsys.readouterr().out
    assert "Together from 500 sheets" in shown and "must meet): A7." in shown and "+" not in shown
    assert run(*words, "--json", "--out", "best.pdf") == 0
    told = json.loads(capsys.readouterr().out)
    assert [f["format"] for f in told["formats"]] == ["b2", "A7"]
    for row in told["together"]:
        assert row["proven"] and min(row["books"].values()) == row["rounds"] == row["rounds_at_most"]
        assert sum(layout["sheets"] for layout in row["layouts"]) == row["sheets_used"] == 500 - row["sheets_over"]
        for f in told["formats"]:
            got = sum(layout["sheets"] * layout["folios"].get(f"{f['format']} folio", 0) for layout in row["layouts"])
            assert row["books"][f["format"]] * f["folios"] <= got
    assert Path("best.pdf").read_bytes().startswith(b"%PDF")
    assert run(*words, "--csv", "--mix", "2:1") == 0
    rows = list(csv.DictReader(io.StringIO(capsys.readouterr().out)))
    assert all(int(r["books b2"]) >= 2 * int(r["rounds"]) for r in rows) and len(rows) == len(told["together"])
    assert run(*words, "--mix", "any", "--out", "best.svg") == 0
    assert "The most books in all" in capsys.readouterr().out and Path("best.svg").stat().st_size > 1000


def test_ream_command_tells_prices(bench: Path, capsys: pytest.CaptureFixture[str]) -> None:
    (bench / "workshop.toml").write_text('[bench]\nunit = "in"\nmoney = "EUR"\n[prices]\nfolio = 0.1\n')
    capsys.readouterr()
    assert run("ream", "b2.toml", "--json") == 0
    rows = [r for r in json.loads(capsys.readouterr().out)["rows"] if r["paper"] == "p1"]
    assert [(r["price_a_book"], r["sheets_short"], r["cuts_a_lift"]) for r in rows] == [(0.6, 4, 2)]  # 498 sheets, 83 books
    assert run("ream", "b2.toml") == 0
    assert "its pages, in EUR" in capsys.readouterr().out
    assert run("ream", "b2.toml", "A7", "--out", "best.png") == 0
    assert "in EUR" in capsys.readouterr().out


def test_ream_command_without_a_stock_book(tmp_path: Path, monkeypatch: pytest.MonkeyPatch,
                                           capsys: pytest.CaptureFixture[str]) -> None:  # fmt: skip
    monkeypatch.chdir(tmp_path)
    monkeypatch.delenv("QUIRESTOCK_BOOK", raising=False)
    assert run("ream", "A6") == 0
    shown = capsys.readouterr()
    assert "no stock book" in shown.err and "SRA3" in shown.out and not list(tmp_path.iterdir())


@pytest.mark.parametrize(("arguments", "code", "said"), [
    (("A6", "--count", "0"), 3, "count"), (("A6", "--count", "2 raems"), 3, "Did you mean ream?"),
    (("A6", "--size", "A44"), 3, "Did you mean A4?"), (("A6", "--csv", "--json"), 3, "one of them"),
    (("A66",), 3, "Did you mean A6?"), (("A6", "--size", "A7"), 4, "fits on none"), (("A6", "--unit", "cm"), 3, "mm or in"),
    (("A6", "--book", "missing.sqlite"), 6, "missing.sqlite"), (("A6", "A6"), 3, "names that differ"),
    (("A6", "A7", "--mix", "2:1:1"), 3, "2 formats"), (("A6", "A7", "--mix", "0:0"), 3, "2:1"),
    (("A6", "--mix", "most"), 3, "2:1"),
    (("A6", "--out", "r.txt"), 3, ".pdf"), (("A6", "A5", "--size", "A6"), 4, "not all fit"),
])  # fmt: skip
def test_ream_command_wrong_input_is_a_sentence(bench: Path, capsys: pytest.CaptureFixture[str], arguments: tuple[str, ...],
                                                code: int, said: str) -> None:  # fmt: skip
    capsys.readouterr()
    assert run("ream", *arguments) == code
    shown = capsys.readouterr()
    assert said in shown.err and "Traceback" not in shown.err and not shown.out
