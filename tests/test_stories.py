"""Bench stories of the trade through the commands a maker types (worked by hand; common practice, no source)."""

from __future__ import annotations

import json

import pytest

from inventory.command.main import status
from tests.commands import B2_FILE

WORKSHOP = '[bench]\nunit = "{unit}"\n[cutter]\nsquare_up = "3 mm"\n[plan]\nseconds = 20\n'


@pytest.fixture
def bench(tmp_path, monkeypatch, capsys):
    """A workshop in a new folder; returns a function that runs a command and gives (exit code, stdout)."""
    monkeypatch.chdir(tmp_path)
    monkeypatch.delenv("QUIRESTOCK_BOOK", raising=False)

    def run(*words, unit="mm"):
        if not (tmp_path / "workshop.toml").exists():
            (tmp_path / "workshop.toml").write_text(WORKSHOP.format(unit=unit))
        code = status(words)
        return code, capsys.readouterr().out

    run.folder = tmp_path
    return run


def planned(bench, folder="job-plan"):
    return json.loads((bench.folder / folder / "plan.json").read_text())


def test_b1_a_ream_of_letter_paper(bench):
    (bench.folder / "format.toml").write_text(
        'unit = "in"\nname = "b1"\nwidth = "3-1/2"\nheight = "5-1/2"\nfolios = 12\ntrim = "1/8"\n')  # fmt: skip
    code, out = bench("ream", "format.toml", "--count", "500", "--size", "8-1/2 x 11 in", "--json", unit="in")
    row = next(r for r in json.loads(out)["rows"] if r["grain"] == "long")
    assert code == 0
    assert (row["folios_a_sheet"], row["books"], row["sheets_over"], row["proven"]) == (1, 41, 8, True)


@pytest.mark.parametrize(("deep", "covers", "why"), [
    (11, 4, "1: 4 b3 cover; 88 % of its good paper is pieces: too little is left for another"),
    (12, 3, "1: 3 b3 cover; short by 0.25 mm each of a fourth: 185.75 mm wide would give 4; without its damage 4")])  # fmt: skip
def test_b3_four_covers_or_three(bench, deep, covers, why):
    sheet = f"1: 400 x 310; clip TR 30 by 40; bad L 200 to 260 deep {deep}; true all"
    assert bench("sheet", "add", "--material", "cover", sheet, "--yes")[0] == 0
    (bench.folder / "b3.toml").write_text('unit = "mm"\nname = "b3"\nwidth = 90\nheight = 140\nfolios = 12\ntrim = 3\n')
    (bench.folder / "job.toml").write_text(
        'materials = ["cover"]\nframes = "square"\naim = "most-books"\n[[books]]\nformat = "b3.toml"\n')  # fmt: skip
    code, out = bench("plan", "job.toml", "--no-draw")
    assert code == 0 and f"Sheet by sheet:\n  {why}\n" in out
    asked = json.loads(bench("plan", "job.toml", "--no-draw", "--explain", "--json")[1])
    assert [f"1: {r['text']}" for r in asked["explained"]] == [why]
    plan = planned(bench)
    assert "explained" not in plan
    assert plan["bound"]["achieved"] == covers
    assert plan["bound"]["proven"] is True
    assert bench("check", "job-plan/plan.json")[0] == 0


def test_b5_the_three_sheets(bench):
    sheets = ["A: 12 x 18", "B: 15 x 20", "C: 11 x 14", "D: 8 x 12"]
    lines = [f"{s}; grain up; true all" for s in sheets]
    assert bench("sheet", "add", "--material", "cover", *lines, "--yes", unit="in")[0] == 0
    (bench.folder / "b5.toml").write_text(
        'unit = "in"\nname = "b5"\nwidth = "3-1/2"\nheight = "5-1/2"\nfolios = 12\ntrim = "1/8"\n'
        '[grain]\ncover = "spine"\n')  # fmt: skip
    (bench.folder / "job.toml").write_text('materials = ["cover"]\n[[books]]\nformat = "b5.toml"\nwanted = 10\novers = 1\n')
    code, out = bench("plan", "job.toml")
    plan = planned(bench)
    assert code == 0
    assert "11 b5 cover" in out
    assert [x["sheet"] for x in plan["layouts"]] == ["A", "B", "D"]
    assert plan["bound"]["achieved"] == pytest.approx(612 * 645.16)
    assert plan["bound"]["proven"] is True
    assert bench("cut", "job-plan/plan.json")[0] == 0
    left = json.loads(bench("sheet", "list", "--json")[1])
    assert {"C"} <= {s["id"] for s in left}
    assert not {"A", "B", "D"} & {s["id"] for s in left if s["count"]}
    assert bench("book", "verify")[0] == 0


B2 = f'unit = "in"\nname = "b2"\n{B2_FILE}'


def test_b2_a_ream_halved_and_trued_up(bench):
    (bench.folder / "workshop.toml").write_text(WORKSHOP.format(unit="in").replace("[cutter]", '[cutter]\nlift = "20 mm"'))
    (bench.folder / "b2.toml").write_text(B2)
    code, out = bench("ream", "b2.toml", "--count", "500", "--size", "8-1/2 x 11 in", "--json")
    row = next(r for r in json.loads(out)["rows"] if r["grain"] == "long")
    assert code == 0
    assert (row["folios_a_sheet"], row["books"], row["sheets_over"], row["proven"]) == (2, 83, 2, True)
    out = bench("notebook", "blanks", "b2.toml")[1]
    assert "folio: 7-1/4 x 5-1/2 in" in out and "folio: cut at 5-1/2 in, then true up at 5-7/16 in." in out
    assert "lift    200 sheets; a ream 3 lifts" in bench("notebook", "paper", "--caliper", "0.1 mm")[1]


B6 = """
unit = "mm"
name = "b6"
width = 90
height = 140
folios = 12
trim = 3
caliper = { folio = 0.10, card = 0.30, cover = 0.12, glue = 0.02 }
grammage = { folio = 80 }
"""


@pytest.fixture
def b6(bench):
    """The workshop of story B6: a lift of 20 mm and staples 24/6."""
    stapler = '[stapler]\nlegs = ["24/6"]\nthroat = 250\n'
    text = stapler + WORKSHOP.format(unit="mm").replace("[cutter]", "[cutter]\nlift = 20")
    (bench.folder / "workshop.toml").write_text(text)
    (bench.folder / "b6.toml").write_text(B6)
    return bench


def test_b6_forty_books_trimmed(b6):
    code, out = b6("notebook", "limits", "b6.toml", "--books", "40")
    assert code == 0
    assert "closed           3.28 mm thick" in out and "a staple passes  1.64 mm" in out
    assert "Trimming 40 books: 6 a lift, 7 lifts, 21 cuts" in out
    found = json.loads(b6("notebook", "limits", "b6.toml", "--books", "40", "--json")[1])
    assert found["trimming"]["settings"] == [143, 140, 90] and found["trimming"]["cuts"] == 21
    assert (found["stitch_grip"], found["closed"], found["leg_needed"], found["leg_on_hand"]) == (1.64, 3.28, 4.64, 5.8)


def test_b7_one_book_came_out_low(b6):
    code, out = b6("notebook", "limits", "b6.toml", "--books", "40", "--shortest", "141")
    assert code == 0
    assert "height at      139 mm" in out and "lowest book at 140 mm, or keep it apart as a second" in out


def test_b8_counting_by_weight(b6):
    out = b6("notebook", "limits", "b6.toml")[1]
    assert "12 folios weigh 26.1 g" in out and "one missing shows as 2.2 g" in out
    found = json.loads(b6("notebook", "limits", "b6.toml", "--json")[1])
    assert (round(found["folios_g"], 1), round(found["folio_g"], 1)) == (26.1, 2.2)
