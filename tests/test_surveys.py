"""Which size suits the stock: counts shared between sizes against the plain search, the list, early stops, the command."""

from __future__ import annotations

import csv
import io
import json
import random
from collections.abc import Sequence
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

import nesting
from nesting.blanks import Blank
from nesting.errors import InputError
from nesting.notebook.formats import Format, Grains
from nesting.notebook.surveys import Survey, SurveyRow, coarse_first, sizes_between, survey, worth_a_look
from nesting.search.counting import Counting
from nesting.sheets import Sheet
from tests.commands import run
from tests.strategies import KINDS, some_sheet

MM = 8000
FREE = Format.make("trial", 90, 140, 2, trim=0, grains=Grains("off", "off", "off"), cover_up=False)


def cover(id: str, width: float, height: float, **more: Any) -> Sheet:
    return Sheet.rectangle(id, width, height, **{"material": "cover", "true_edges": "all", **more})


def sizes(*pairs: tuple[int, int]) -> list[tuple[int, int]]:
    return [(w * MM, h * MM) for w, h in pairs]


@settings(deadline=None, max_examples=25)
@given(st.integers(0, 10**6), st.sampled_from(KINDS), st.integers(0, 10**6))
def test_shared_counts_hold_against_the_search_of_each_size_alone(seed: int, kind: str, order: int) -> None:
    sheet = some_sheet(random.Random(seed), "s", kind)
    rng = random.Random(order)
    asked = Counting(sheet, None, "square")
    for _ in range(6):
        blank = Blank("b", rng.randint(60, 160), rng.randint(60, 160))
        shared = asked.count(blank)
        alone = Counting(sheet, None, "square").count(blank)
        assert shared.found <= alone.most and alone.found <= shared.most  # two true answers cannot exclude each other
        assert shared.found <= shared.most
    assert asked.searched <= 6


def test_a_count_known_from_larger_and_smaller_sizes_is_not_searched() -> None:
    asked = Counting(cover("a", 300, 200), None)
    assert [asked.count(Blank("b", side, 100)).found for side in (100, 75, 90, 98, 99)] == [6, 8, 6, 6, 6]
    assert asked.searched == 3  # 98 and 99 lie between 90 and 100, which give the same


def test_the_material_that_runs_out_first_decides() -> None:
    stock = [cover("c", 360, 280, count=3), Sheet.rectangle("k", 360, 280, material="card", count=5),
             Sheet.rectangle("f", 180, 140, material="folio", count=21)]  # fmt: skip
    row = survey(FREE, sizes((90, 140)), stock).rows[0]
    assert (row.covers, row.card, row.pages, row.books) == (12, 20, 10, 10)
    assert row.limited_by == ("folio",) and row.waste == 0 and row.evenness == 0.5 and row.proven


def test_stock_without_limit_and_stock_that_is_not_there_set_no_limit() -> None:
    stock = [cover("c", 360, 280, count=3), Sheet.rectangle("k", 360, 280, material="card", count=None)]
    found = survey(FREE, sizes((90, 140)), stock)
    row = found.rows[0]
    assert (row.covers, row.card, row.pages, row.books, row.evenness) == (12, None, None, 12, 1)
    assert found.reckoned == ("cover", "card")


def test_pages_of_unknown_grain_are_told_and_give_nothing() -> None:
    hard = Format.make("hard", 90, 140, 2, trim=0)
    stock = [cover("c", 360, 280), Sheet.rectangle("f", 360, 280, material="folio", count=50)]
    found = survey(hard, sizes((90, 140)), stock)
    assert found.no_grain == ("f",) and found.rows[0].pages == 0 and found.rows[0].books == 0


def test_soft_rules_are_left_out_and_hard_ones_hold() -> None:
    one = cover("c", 140, 180, grain="y")  # the blank is 180 x 140: only turned, and then across the grain
    for rule, books in ((("spine", 2.0), 1), ("spine", 0)):
        f = Format.make("f", 90, 140, 2, trim=0, grains=Grains(rule, "off", "off"), cover_up=False)  # type: ignore[arg-type]
        assert survey(f, sizes((90, 140)), [one]).rows[0].covers == books


def test_workers_and_order_change_nothing() -> None:
    rng = random.Random(5)
    stock = [some_sheet(rng, f"s{i}", kind, material="cover") for i, kind in enumerate(KINDS)]
    every = sizes_between((60 * MM, 80 * MM), (80 * MM, 100 * MM), 10 * MM)
    alone = survey(FREE, every, stock)
    with ThreadPoolExecutor(3) as executor:
        assert survey(FREE, list(reversed(every)), stock, executor=executor) == alone
    assert [(r.height, r.width) for r in alone.rows] == sorted((r.height, r.width) for r in alone.rows)
    for row in alone.rows:
        for other in alone.rows:
            if other.width >= row.width and other.height >= row.height:
                assert (other.covers or 0) <= row.covers_most  # never more of a larger size


def test_alike_sheets_are_asked_once() -> None:
    stock = [cover("a", 360, 280), cover("b", 360, 280, count=2), cover("c", 360, 281)]
    found = survey(FREE, sizes((90, 140)), stock)
    assert found.asked == found.searched == 2 and found.rows[0].covers == 16


def test_ctrl_c_keeps_the_sizes_that_are_done() -> None:
    every = sizes_between((60 * MM, 80 * MM), (90 * MM, 120 * MM), 10 * MM)

    def stop(done: int, _: int) -> None:
        if done == 5:
            raise KeyboardInterrupt

    found = survey(FREE, every, [cover("c", 360, 280)], progress=stop)
    assert (found.stopped, len(found.rows), found.of) == ("user", 5, len(every))
    corners = {(60, 80), (90, 80), (60, 120), (90, 120)}
    assert corners <= {(r.width // MM, r.height // MM) for r in found.rows}  # spread over the range
    found = survey(FREE, every, [cover("c", 360, 280)], seconds=1e-9)
    assert (found.stopped, len(found.rows)) == ("time", 1)


def row(width: int, height: int, books: int, waste: float, evenness: float) -> SurveyRow:
    return SurveyRow(width, height, books, books, None, None, books, waste, evenness, True)


@given(st.lists(st.builds(row, st.integers(1, 6), st.integers(1, 6), st.integers(0, 4), st.sampled_from([0.1, 0.2, 0.3]),
                          st.sampled_from([0.5, 0.75, 1.0])), max_size=20), st.integers(1, 5))  # fmt: skip
def test_no_size_on_the_list_is_beaten_and_each_other_is(rows: list[SurveyRow], most: int) -> None:
    listed = worth_a_look(rows, None)
    assert not any(a.beats(b) for a in rows for b in listed)
    assert all(r in listed or not r.books or any(o.beats(r) for o in listed) for r in rows)
    short = worth_a_look(rows, most)
    assert len(short) <= most and set(short) <= set(listed)
    assert [r.area for r in short] == sorted(r.area for r in short)


@given(st.lists(st.tuples(st.integers(1, 9), st.integers(1, 9)), min_size=1, max_size=40, unique=True))
def test_coarse_first_is_an_order_of_the_same_sizes(some: list[tuple[int, int]]) -> None:
    assert sorted(coarse_first(some)) == sorted(some)
    assert coarse_first(some) == coarse_first(list(reversed(some)))


@pytest.mark.parametrize(("call", "said"), [
    (lambda: survey(FREE, [], [cover("c", 300, 300)]), "sizes"),
    (lambda: survey(FREE, sizes((90, 140)), []), "cover paper"),
    (lambda: survey(FREE, sizes((90, 140)), [cover("c", 300, 300, count=None)]), "no limit"),
    (lambda: survey(Format.make("f", 90, 140, trim=20), sizes((10, 140)), [cover("c", 300, 300)]), "fore_edge"),
    (lambda: sizes_between((1, 1), (5, 5), 0), "step"), (lambda: sizes_between((9, 1), (5, 5), 1), "width"),
    (lambda: sizes_between((1, 1), (5000, 5000), 1), "step"),
])  # fmt: skip
def test_wrong_input(call: Any, said: str) -> None:
    with pytest.raises(InputError, match=said):
        call()


def test_pages_are_drawn_for_whole_and_for_stopped_surveys() -> None:
    from nesting.draw.heat import survey_pages

    every = sizes_between((60 * MM, 80 * MM), (90 * MM, 120 * MM), 10 * MM)
    found = survey(FREE, every, [cover("c", 360, 280)])
    half = Survey(found.format, found.rows[::2], found.of, "user", found.reckoned, 0, 0, ())
    for one in (found, half):
        pages = survey_pages(one, worth_a_look(one.rows), unit="in", paper="Letter")
        assert len(pages) == 4
        texts = {getattr(artist, "text", None) for artist in pages[0].get_children()}
        assert {f"{r.books}" for r in one.rows} <= texts


@pytest.fixture
def bench(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A workshop with covers, card and pages in its stock book, as the current folder."""
    monkeypatch.delenv("QUIRESTOCK_BOOK", raising=False)
    monkeypatch.chdir(tmp_path)
    (tmp_path / "workshop.toml").write_text('[bench]\nunit = "mm"\n')
    assert run("sheet", "add", "c: 400 x 310; count 10; true all", "--material", "cover", "--yes") == 0
    assert run("sheet", "add", "k: 450 x 640; grain up; count 3", "--kind", "parent", "--material", "card", "--yes") == 0
    assert run("sheet", "add", "f: 450 x 640; grain up; count 100", "--kind", "parent", "--material", "folio", "--yes") == 0
    return tmp_path


def test_survey_command_end_to_end(bench: Path, capsys: pytest.CaptureFixture[str]) -> None:
    capsys.readouterr()
    words = ("notebook", "survey", "A6", "--width", "80 to 110", "--height", "120..150 mm", "--step", "10")
    assert run(*words, "--json") == 0
    told = json.loads(capsys.readouterr().out)
    assert (told["sizes"], len(told["rows"]), told["stopped"]) == (16, 16, None)
    assert told["reckoned"] == ["cover", "card", "folio"]
    a6 = nesting.Sheet.rectangle("c", 400, 310)
    for r in told["rows"]:
        blank = Blank("b", 2 * r["width_mm"] + 6, r["height_mm"] + 6)
        each = Counting(a6, None, "square").count(blank)
        assert each.found * 10 <= r["covers_at_most"] and r["covers"] <= each.most * 10
        assert r["books"] == min(r["covers"], r["card"], r["pages"])
    assert run(*words, "--csv", "--out", "s.pdf") == 0
    rows = list(csv.DictReader(io.StringIO(capsys.readouterr().out)))
    assert [int(r["books"]) for r in rows] == [r["books"] for r in told["rows"]]
    assert Path("s.pdf").read_bytes().startswith(b"%PDF")
    assert run(*words) == 0
    shown = capsys.readouterr().out
    listed = [r for r in told["rows"] if r["worth_a_look"]]
    assert listed and all(f"{r['width_mm']} x {r['height_mm']} mm" in shown for r in listed)
    assert run(*words, "--all", "--out", "s.png") == 0
    assert len(capsys.readouterr().out.splitlines()) >= 16 + 3 and len(list(bench.glob("s-*.png"))) == 4
    assert run("notebook", "survey", "A6", "--size", "A6", "--size", "3-1/2 x 5-1/2 in", "--workers", "1") == 0
    assert "105 x 148 mm" in capsys.readouterr().out


@pytest.mark.parametrize(("arguments", "code", "said"), [
    (("--width", "120 to 80"), 3, "--width"), (("--width", "80 to 90 to 100"), 3, "--width"),
    (("--height", "tall"), 3, "--height"), (("--step", "0"), 3, "--step"), (("--step", "0.1"), 3, "at most"),
    (("--size", "A66"), 3, "Did you mean A6?"), (("--size", "A6", "--step", "5"), 3, "or a range"),
    (("--csv", "--json"), 3, "one of them"), (("--seconds", "0"), 3, "--seconds"), (("--out", "s.jpg"), 3, ".png"),
    (("--size", "900 x 900"), 4, "no complete book"), (("--book", "none.sqlite"), 6, "none.sqlite"),
    (("--size", "2 x 140"), 3, "fore_edge"),
])  # fmt: skip
def test_survey_command_wrong_input_is_a_sentence(bench: Path, capsys: pytest.CaptureFixture[str], arguments: Sequence[str],
                                                  code: int, said: str) -> None:  # fmt: skip
    capsys.readouterr()
    assert run("notebook", "survey", "A6", *arguments) == code
    shown = capsys.readouterr()
    assert said in shown.err and "Traceback" not in shown.err and not shown.out


def test_survey_command_stopped_by_the_maker(bench: Path, capsys: pytest.CaptureFixture[str],
                                             monkeypatch: pytest.MonkeyPatch) -> None:  # fmt: skip
    from inventory.command import survey as command

    def stop(done: int, _: int) -> None:
        if done == 4:
            raise KeyboardInterrupt

    monkeypatch.setattr(command, "_told", lambda: stop)
    capsys.readouterr()
    assert run("notebook", "survey", "A6", "--csv") == 130
    shown = capsys.readouterr()
    assert len(shown.out.splitlines()) == 5 and "Stopped by you: 4 of" in shown.err
