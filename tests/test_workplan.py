"""The work plan: loads, order and waiting; and the lay sheet: which cover on which card, which way up."""

from __future__ import annotations

import json
from dataclasses import replace
from fractions import Fraction
from itertools import pairwise

from hypothesis import given
from hypothesis import strategies as st

from inventory.stock import StockSheet
from nesting import Sheet
from nesting.draw.day_chart import day_pages
from nesting.draw.lay_page import lay_pages
from nesting.lengths import TICKS_PER_MM as MM
from nesting.notebook.formats import Format
from nesting.notebook.laying import lay_notes, lays_of, marks_of
from nesting.notebook.stages import USUAL, Overs, Run
from nesting.notebook.workplan import Capacity, WorkPlan, in_press, work_plan
from tests.builder import across, layout, plan
from tests.worked import JOB, WORKSHOP, paper, worked

B6 = Format.make("B6", 90, 140, folio_caliper=0.10, card_caliper=0.30, cover_caliper=0.12, glue_caliper=0.02)
NIGHT = 12 * 60


# Loads


def test_forty_books_are_seven_lifts() -> None:
    # bench story B6 (trade.md section 14; common practice, no source): closed 3.28 mm, lift 20 mm
    closed = B6.closed_thickness()
    assert closed == round(3.28 * MM)
    made = work_plan([Run.of(B6, 40)], USUAL, {}, [Capacity(lift=20 * MM // closed)], 360)
    trim = next(row for row in made.rows if row.stage.key == "trim")
    assert (trim.most, trim.loads, trim.by) == (6, 7, "lift")
    assert [t.last - t.first for t in made.tasks if t.stage.key == "trim"] == [6, 6, 6, 6, 6, 6, 4]


def test_the_press_takes_what_its_height_takes_and_one_load_at_a_time() -> None:
    assert in_press(120 * MM, 2, round(3.28 * MM)) == 72 and in_press(None, 2, 3) is None and in_press(1, 1, 3) == 1
    made = work_plan([Run.of(B6, 40)], USUAL, {}, [Capacity(flat=20, folded=20)], 360)
    in_it = sorted((start, end) for k, start, end in made.waits if made.tasks[k].stage.key == "laminate")
    assert len(in_it) == 2 and in_it[0][1] <= in_it[1][0] and all(end - start == 60 for start, end in in_it)
    pressed = [made.tasks[k].last - made.tasks[k].first for k, *_ in made.waits if made.tasks[k].stage.key == "press"]
    assert pressed == [20, 20]


def test_what_waits_leaves_the_hands_free() -> None:
    made = work_plan([Run.of(B6, 10)], USUAL, {}, [Capacity()], 360)
    (start, end) = next((a, b) for k, a, b in made.waits if made.tasks[k].stage.key == "laminate")
    meanwhile = {made.tasks[b.task].stage.key for b in made.blocks if start <= b.start and b.end <= end and b.day == 0}
    assert {"cut_pages", "count"} <= meanwhile


def sound(made: WorkPlan, runs: list[Run], day: int) -> None:
    """Nobody works twice at once or after hours; nothing starts before its books are there; all of it is done."""
    last = Fraction(0)
    done: dict[int, Fraction] = {}
    began: dict[int, Fraction] = {}
    for block in made.blocks:
        assert 0 <= block.start < block.end <= day
        start, end = (block.day * 1440 + minute for minute in (block.start, block.end))
        assert start >= last
        last = end
        began.setdefault(block.task, start)
        done[block.task] = end
    for k, task in enumerate(made.tasks):
        spent = sum((b.end - b.start for b in made.blocks if b.task == k), Fraction(0))
        assert spent == task.work
    for k, task in enumerate(made.tasks):
        for j, earlier in enumerate(made.tasks):
            # with no overs a book has one number: each stage of it comes after those before, but page and cover work
            if earlier.run == task.run and earlier.first < task.last and task.first < earlier.last and j < k:
                if task.stage.key == earlier.stage.key or not set(task.stage.takes) & set(earlier.stage.takes):
                    continue
                assert began[k] >= done[j] + earlier.wait, (task.stage.key, earlier.stage.key)
    press = sorted((a, b) for k, a, b in made.waits if made.tasks[k].holder == "press")
    assert all(one[1] <= two[0] for one, two in pairwise(press))


@given(st.lists(st.integers(1, 30), min_size=1, max_size=2), st.integers(1, 12), st.integers(1, 12), st.integers(1, 12),
       st.integers(60, 600))  # fmt: skip
def test_every_work_plan_can_be_worked(books: list[int], flat: int, folded: int, lift: int, day: int) -> None:
    runs = [Run.of(replace(B6, name=f"B6 {k}"), n) for k, n in enumerate(books)]
    stages = tuple(replace(s, each=s.each or Fraction(1, 10)) for s in USUAL)
    made = work_plan(runs, stages, {}, [Capacity(flat, folded, 5, lift)] * len(runs), day)
    sound(made, runs, day)


def test_spoiled_copies_are_spread_over_the_loads() -> None:
    made = work_plan([Run.of(B6, 40, {"laminate": Overs(Fraction(50))})], USUAL, {}, [Capacity(flat=10, folded=20)], 360)
    laminate = [t for t in made.tasks if t.stage.key == "laminate"]
    assert sum(t.last - t.first for t in laminate) == 60 and len(laminate) == 6
    assert next(r.copies for r in made.rows if r.stage.key == "staple") == 40


# The chart


def test_the_chart_shows_every_day_and_the_cautions() -> None:
    made = work_plan([Run.of(B6, 40)], USUAL, {}, [Capacity(20, 20, 15, 6)], 360)
    pages = day_pages(made, day_start=540, day_minutes=360, title="forty")
    words = " ".join(a.text for page in pages for a in page.artists if hasattr(a, "text"))
    assert all(f"day {k + 1}" in words for k in {b.day for b in made.blocks})
    assert "9:00" in words and "15:00" in words and "extremely flammable" in words and "Hands never go under" in words
    assert NIGHT in {int(end - start) for _, start, end in made.waits}


# Glue-up


def test_covers_go_on_cards_in_order_with_the_way_of_their_print() -> None:
    f = Format.make("x", 20, 30, trim=0)  # covers and cards 40 x 30
    cover, card = f.blanks(3)[:2]
    up = Sheet.rectangle("u", 80, 30, up="+y", material="cover")
    turned = Sheet.rectangle("t", 30, 40, up="+y", material="cover")
    cards = Sheet.rectangle("c", 80, 30, count=2, material="card")
    lay_up = layout(up, across(40, ("x cover", 0), ("x cover", 180)))
    lay_turned = layout(turned, ("x cover", 90))
    lay_cards = layout(cards, across(40, ("x card", 0), ("x card", 0)), copies=2)
    made = plan([up, turned, cards], [cover, card], [lay_up, lay_turned, lay_cards])
    lays = lays_of(made, f, {"t": (False, True)})
    assert [(v.first, v.count, v.cover_sheet, v.way, v.card_sheet) for v in lays] == [
        (1, 1, "u", "print upright", "c"),
        (2, 1, "u", "print upside down", "c"), (3, 1, "t", "top of the print to the right", "c"),
    ]
    assert [(v.takes_glue, v.cracks) for v in lays] == [(None, None), (None, None), (False, True)]


def test_marks_carry_the_slack_and_no_second_overhang() -> None:
    slack = Format.make("s", 105, 148, slack=1.5, true_up=1)
    marks = marks_of(slack)
    assert marks is not None and (marks.side, marks.end, marks.centre) == (1.5 * MM, 1.5 * MM, 108 * MM)
    assert marks.cover == (219 * MM, 157 * MM) and marks.card == (216 * MM, 154 * MM)  # trims once
    told = " ".join(lay_notes(slack, marks, "mm"))
    assert "1.5 mm on every side" in told and "No overhang" in told and "LOOK" not in told
    much = Format.make("s", 105, 148, slack=4)
    assert "LOOK: the slack is 4 mm" in " ".join(lay_notes(much, marks_of(much), "mm"))  # type: ignore[arg-type]
    assert marks_of(Format.make("s", 105, 148, cards=0)) is None


def test_the_bench_commands(bench, tmp_path) -> None:
    odd = [StockSheet(Sheet.rectangle(f"w{k}", 450, 330, grain="y", up="+y", true_edges="all", material="cover"), "salvaged",
                      takes_glue=k != 1, cracks_at_fold=k == 2) for k in range(4)]  # fmt: skip
    shop = WORKSHOP.replace("[allowances.caliper]", "[weights]\nbooks = 5\n[allowances]\nslack = 1\n[allowances.caliper]")
    worked(tmp_path, JOB.replace("24", "12"), shop, (*odd, paper("card", 3), paper("folio", 36)))
    code, out, err = bench("plan", "job.toml", "--no-draw")
    assert code == 0 and "Left out, for they do not take glue: w1" in err
    code, out, _ = bench("notebook", "glue", "job.toml", "--out", "drawn")
    assert code == 0 and "w1" not in out and "crack at the fold: w2" in out and "flammable" in out and "1 mm on every side" in out
    lays = json.loads(bench("notebook", "glue", "job-plan/plan.json", "--json")[1])[0]["lays"]
    assert sum(lay["count"] for lay in lays) == 12 and {lay["card_sheet"] for lay in lays} == {"card-paper"}
    code, out, _ = bench("notebook", "work", "job.toml", "--out", "drawn")
    assert code == 0 and "3 of 5 at most, by the weights" in out and "12 h a load" in out and "Common practice, no source" in out
    assert (tmp_path / "drawn" / "lay.pdf").is_file() and (tmp_path / "drawn" / "work.pdf").is_file()
    made = json.loads(bench("notebook", "work", "job.toml", "--json")[1])
    assert {s["stage"]: s["loads"] for s in made["stages"]}["trim"] == 2


def test_a_lay_sheet_of_many_covers_takes_more_pages() -> None:
    marks = marks_of(B6)
    assert marks is not None
    from nesting.notebook.laying import Lay

    lays = [Lay(k + 1, 1, f"w{k}", k + 1, "card", "print upright", True, None) for k in range(80)]
    pages = lay_pages([("B6", marks, lays, ("note",))])
    words = [a.text for page in pages for a in page.artists if hasattr(a, "text")]
    assert len(pages) > 1 and all(f"w{k}" in words for k in range(80))
