"""The pile: bench story B5, aims, sets, limits that hold, and many random jobs through the checker."""

from __future__ import annotations

import json
import random
from itertools import product

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

import nesting

from .damage import damaged
from .piles import job, salvaged

INCH = 25.4


def b5_pile() -> list[nesting.Sheet]:
    sizes = {"A": ("12 in", "18 in"), "B": ("15 in", "20 in"), "C": ("11 in", "14 in"), "D": ("8 in", "12 in")}
    return [nesting.Sheet.rectangle(id, w, h, grain="y", true_edges="all") for id, (w, h) in sizes.items()]


def b5_cover(quantity: int | None) -> nesting.Blank:
    return nesting.Blank("cover", "7 1/4 in", "5 3/4 in", quantity, grain="y")


def test_bench_story_b5():
    # trade.md B5, worked by hand; common practice, no source
    found = nesting.plan(b5_pile(), [b5_cover(11)])
    assert found.sheets_used() == {"A": 1, "B": 1, "D": 1}
    assert found.made() == {"cover": 11}
    assert found.bound.proven
    assert found.bound.achieved / INCH**2 == pytest.approx(612)
    assert nesting.check(found) == ()


@pytest.mark.parametrize(("left_out", "most"), [(("B",), 7), (("A",), 10), (("C", "D"), 9)])
def test_bench_story_b5_without_some_sheets(left_out, most):
    found = nesting.plan(b5_pile(), [b5_cover(11)], exclude=left_out)
    assert found.made() == {"cover": most}
    assert dict(found.short) == {"cover": 11 - most}
    assert found.bound.measure == "unmade worth"
    assert found.bound.proven
    assert nesting.check(found) == ()


def test_each_sheet_of_b5_gives_what_the_story_says():
    for sheet, covers in zip(b5_pile(), (3, 6, 2, 2), strict=True):
        assert nesting.fill(sheet, [b5_cover(None)]).layout.counts() == {"cover": covers}


def test_most_complete_sets():
    sheets = [nesting.Sheet.rectangle("paper", 297, 420, count=10, material="folio"),
              nesting.Sheet.rectangle("card", 297, 420, count=2, material="card")]  # fmt: skip
    blanks = [nesting.Blank("folio", 210, 148, material="folio"), nesting.Blank("card", 210, 148, material="card")]
    found = nesting.plan(sheets, blanks, aim="most-worth", sets={"book": {"folio": 6, "card": 1}})
    # 40 folios make 6 books; 8 cards would make 8
    assert found.bound.measure == "sets"
    assert (found.bound.achieved, found.bound.limit, found.bound.proven) == (6, 6, True)
    assert found.made()["folio"] >= 36
    assert nesting.check(found) == ()


def test_surplus_pieces_are_left_uncut():
    found = nesting.plan([nesting.Sheet.rectangle("p", 420, 297, count=500)], [nesting.Blank("a", 210, 148, 9)])
    assert found.made() == {"a": 9}
    assert found.sheets_used() == {"p": 3}
    assert sorted(x.copies for x in found.layouts) == [1, 2]
    assert nesting.check(found) == ()


def test_sheets_without_limit_are_bounded():
    found = nesting.plan([nesting.Sheet.rectangle("p", 420, 297, count=None)], [nesting.Blank("a", 210, 148, 41)])
    assert found.sheets_used() == {"p": 11}
    assert found.bound.proven


def test_materials_are_not_mixed():
    blanks = [nesting.Blank(name, 216, 154, 1, material=name) for name in ("cover", "card")]
    found = nesting.plan([nesting.Sheet.rectangle("wall", 420, 297, material="cover")], blanks)
    assert found.made() == {"cover": 1, "card": 0}
    assert nesting.check(found) == ()


@settings(max_examples=60, deadline=None, derandomize=True)
@given(st.lists(st.tuples(st.integers(20, 60), st.integers(20, 60), st.integers(1, 3)), min_size=1, max_size=4),
       st.integers(10, 30), st.integers(10, 30), st.integers(1, 12))  # fmt: skip
def test_one_blank_from_plain_sheets_agrees_with_trying_everything(pile, width, height, quantity):
    sheets = [nesting.Sheet.rectangle(f"s{i}", w, h, count=n) for i, (w, h, n) in enumerate(pile)]
    blank = nesting.Blank("b", width, height, quantity)
    gives = []
    for sheet in sheets:
        try:
            gives.append(nesting.fill(sheet, [nesting.Blank("b", width, height)]).layout.counts()["b"])
        except nesting.ImpossibleJob:
            gives.append(0)
    best = None
    for copies in product(*(range(n + 1) for _, _, n in pile)):
        made = min(quantity, sum(c * g for c, g in zip(copies, gives, strict=True)))
        cost = sum(c * w * h for c, (w, h, _) in zip(copies, pile, strict=True))
        best = min(best or (quantity - made, cost), (quantity - made, cost))
    try:
        found = nesting.plan(sheets, [blank])
    except nesting.ImpossibleJob:
        assert best == (quantity, 0)
        return
    short = dict(found.short)["b"]
    assert short == best[0]
    if not short:
        assert found.bound.achieved == best[1]
        assert found.bound.limit <= best[1]
        assert not found.bound.proven or found.bound.limit == best[1]
    assert nesting.check(found) == ()


# 1,000 random plans take about six minutes; the whole run is `python -m tests.benchmarks.soundness 1000`
@pytest.mark.parametrize("start", range(0, 60, 20))
def test_random_plans_are_sound_and_damage_is_found(start):
    rng = random.Random(start)
    for seed in range(start, start + 20):
        try:
            found = nesting.plan(**job(random.Random(seed)))
        except nesting.ImpossibleJob:
            continue
        assert nesting.check(found) == (), seed
        document = json.loads(json.dumps(found.to_dict()))
        assert nesting.Plan.from_dict(document) == found
        document.pop("id")
        for _ in range(20):
            name, broken = damaged(document, rng)
            try:
                faults = nesting.check(nesting.Plan.from_dict(broken))
            except nesting.InputError:
                continue
            assert faults, (seed, name)


def test_the_same_arguments_give_the_same_plan_for_any_workers():
    arguments = job(random.Random(4)) | {"steps": 3_000, "seconds": 60}
    one = nesting.plan(**arguments, workers=1)
    assert one == nesting.plan(**arguments, workers=2) == nesting.plan(**arguments, workers=1)


@pytest.mark.parametrize(("stage", "copies"), [("layouts", 10_000), ("stock cost", 5)])  # by prices; by ruin and recreate
def test_ctrl_c_keeps_the_best_so_far(stage, copies):
    calls = []

    def stop(step):
        calls.append(step.stage)
        if step.stage == stage:
            raise KeyboardInterrupt

    found = nesting.plan(b5_pile(), [b5_cover(11), nesting.Blank("small", 50, 40, copies)], progress=stop)
    assert stage in calls
    assert found.bound.stopped_by == "interrupt"
    assert found.made()["cover"] > 0
    assert nesting.check(found) == ()


def test_ctrl_c_while_the_layouts_are_made_loses_nothing(monkeypatch):
    from nesting.search.pile import planning

    made, calls = planning.dealt_layouts, []

    def stopped_once(*arguments):
        calls.append(1)
        if len(calls) == 1:
            raise KeyboardInterrupt
        return made(*arguments)

    monkeypatch.setattr(planning, "dealt_layouts", stopped_once)
    found = nesting.plan(b5_pile(), [b5_cover(11)])
    assert len(calls) == 2 and found.made()["cover"] == 11 and nesting.check(found) == ()


@pytest.mark.parametrize("aim", ["least-stock", "most-worth"])
def test_a_plan_is_whole_before_it_is_good(aim):
    """However short the time, all is made that the paper is ample for."""
    rng = random.Random(5)
    pile = [salvaged(f"s{i}", rng) for i in range(12)] + [nesting.Sheet.rectangle("r", 430, 610, count=40)]
    blanks = [nesting.Blank("a", 216, 154, 24), nesting.Blank("b", 186, 146, 32)]
    found = nesting.plan(pile, blanks, aim=aim, seconds=1e-6, least_offcut=(80, 80))
    assert found.bound.stopped_by in ("time", "proof") and nesting.check(found) == ()
    assert found.made() == {"a": 24, "b": 32} if aim == "least-stock" else sum(found.made().values()) > 20
    chosen = {"sheet": "r", "blank": "b", "at": (3, 3), "turn": 0}
    fixed = nesting.plan(pile, blanks, seconds=1e-6, fixed=[chosen])
    assert fixed.made() == {"a": 24, "b": 32} and nesting.check(fixed) == ()


def test_reasons_are_given_for_each_blank():
    with pytest.raises(nesting.ImpossibleJob) as caught:
        nesting.plan([nesting.Sheet.rectangle("p", 200, 100)],
                     [nesting.Blank("wide", 210, 90, 1), nesting.Blank("grained", 50, 50, 1, grain="x")])  # fmt: skip
    assert "10 mm too long" in caught.value.reasons["wide"]
    assert "; a blank of 200 mm x 100 mm would fit there" in caught.value.reasons["wide"]
    assert "grain of every sheet is unknown" in caught.value.reasons["grained"]


@pytest.mark.parametrize(("change", "named"), [
    ({"sheets": []}, "sheets"), ({"blanks": []}, "blanks"), ({"aim": "most"}, "aim"), ({"fixed": ["x"]}, "fixed"),
    ({"best_rate": -0.1}, "best_rate"), ({"exclude": ["zz"]}, "exclude"), ({"exclude": ["A", "B", "C", "D"]}, "exclude"),
    ({"sets": {"k": {"cover": 1}}}, "sets"), ({"aim": "most-worth", "sets": {"k": {"kover": 1}}}, "sets"),
    ({"least_offcut": 80}, "least_offcut"), ({"blanks": [nesting.Blank("a", 9, 9)]}, "quantity"),
    ({"blanks": [nesting.Blank("a", 9, 9, 1), nesting.Blank("a", 8, 8, 1)]}, "names that differ"),
    ({"sheets": [nesting.Sheet.rectangle("a", 99, 99, cost=1), nesting.Sheet.rectangle("b", 99, 99)]}, "cost")])  # fmt: skip
def test_wrong_arguments_are_named(change, named):
    arguments = {"sheets": b5_pile(), "blanks": [b5_cover(11)]} | change
    with pytest.raises(nesting.InputError, match=named):
        nesting.plan(**arguments)


@pytest.mark.parametrize("seconds", [0.0001, 0.05, 3])
def test_however_soon_it_stops_nothing_is_called_proven_that_is_not(seconds):
    sheets = [nesting.Sheet.rectangle("a", 400, 300, count=5)]
    blanks = [nesting.Blank("a", 100, 90), nesting.Blank("b", 50, 40)]
    found = nesting.plan(sheets, blanks, aim="most-worth", sets={"s": {"a": 1, "b": 2}}, seconds=seconds)
    assert found.bound.limit >= 42  # found by a longer search
    assert nesting.check(found) == ()
    tiny = nesting.plan([nesting.Sheet.rectangle("a", 100, 100, count=5)], [nesting.Blank("b", 50, 50, 20, worth=1e-11)],
                        aim="most-worth", seconds=seconds)  # fmt: skip
    assert tiny.bound.limit == pytest.approx(2e-10)
    assert nesting.check(tiny) == ()


def test_a_strip_of_thousands_of_pieces_is_planned_written_and_checked():
    found = nesting.plan([nesting.Sheet.rectangle("s", 18_000, 100)], [nesting.Blank("b", 6, 100, 3_000, turns=(0,))])
    assert found.made() == {"b": 3_000}
    assert nesting.Plan.from_dict(json.loads(json.dumps(found.to_dict()))) == found
    assert nesting.check(found) == ()


def test_very_many_sheets_do_not_overflow_the_choice():
    found = nesting.plan([nesting.Sheet.rectangle("a", 432, 559, count=1_000_000)],
                         [nesting.Blank("l", 215.123457, 123.456789), nesting.Blank("m", 50.111111, 50.1234)],
                         aim="most-worth", seconds=3)  # fmt: skip
    assert found.sheets_used() == {"a": 1_000_000}
    assert nesting.check(found) == ()
