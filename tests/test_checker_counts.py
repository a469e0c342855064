"""The checker on names, stock and numbers, and on what a plan achieves and its limit (design.md section 3)."""

from __future__ import annotations

from dataclasses import replace
from itertools import product
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

import nesting
from nesting.blanks import Blank
from nesting.checking.sets import most_sets
from nesting.documents import with_id
from nesting.plans import Plan
from nesting.sheets import Sheet
from tests.builder import across, layout, plan
from tests.judged import codes


def test_a_sheet_is_not_used_more_often_than_there_are(document: dict[str, Any], faults: Any) -> None:
    document["sheets"][0]["count"] = 1
    assert codes(faults(document)) == {"stock"}
    document["sheets"][0]["count"] = None
    assert codes(faults(document)) == set()
    document["layouts"][0]["copies"] = 0
    assert "stock" in codes(faults(document))


def test_copies_are_summed_over_layouts(variant: Any) -> None:
    """Two and two of three sheets."""
    out = variant(blank={"quantity": None})
    second = layout(out.sheets[0], across(50, "shavings", "shavings"), copies=2)
    assert codes(nesting.check(replace(out, layouts=(*out.layouts, second)))) == {"stock"}


def test_an_excluded_sheet_stays_whole(variant: Any) -> None:
    assert nesting.check(variant(exclude=("t",))) == ()
    assert codes(nesting.check(variant(exclude=("s",)))) == {"excluded"}


def test_not_more_than_wanted_is_made(document: dict[str, Any], faults: Any) -> None:
    document["blanks"][0]["quantity"], document["short"] = 3, {"cover": -1}
    assert codes(faults(document)) == {"over"}


@pytest.mark.parametrize("short", [{}, {"cover": 0}, {"cover": 2}])
def test_shortfall_is_exact(document: dict[str, Any], faults: Any, short: dict[str, int]) -> None:
    document["short"] = short
    assert codes(faults(document)) == {"short"}


def test_what_has_no_quantity_cannot_be_short(document: dict[str, Any], faults: Any) -> None:
    document["blanks"][0]["quantity"] = None
    assert codes(faults(document)) == {"short"}
    document["short"] = {}
    assert codes(faults(document)) == set()


def test_unknown_names(document: dict[str, Any], faults: Any) -> None:
    document["short"]["folio"] = 0
    assert codes(faults(document)) == {"unknown"}
    del document["short"]["folio"]
    document["layouts"][0]["sheet"] = "u"
    assert codes(faults(document)) == {"unknown"}
    document["layouts"][0]["sheet"] = "s"
    document["layouts"][0]["pieces"][0]["blank"] = "folio"
    assert "unknown" in codes(faults(document))


def test_nothing_twice(document: dict[str, Any], faults: Any, variant: Any) -> None:
    document["sheets"].append(document["sheets"][1])
    assert codes(faults(document)) == {"duplicate"}
    document["sheets"].pop()
    document["blanks"] *= 2
    assert codes(faults(document)) == {"duplicate"}
    document["blanks"].pop()
    document["sheets"][1]["id"] = "s-aa"
    assert codes(faults(document)) == {"duplicate"}
    document["sheets"][1]["id"] = "t"
    document["layouts"] *= 2
    document["layouts"] = [{**x, "copies": 1, "offcuts": [{**o, "count": 1} for o in x["offcuts"]]} for x in document["layouts"]]
    assert codes(faults(document)) == {"duplicate"}


def test_an_altered_plan_has_lost_its_id(tiny: Plan, faults: Any) -> None:
    document = with_id(tiny).to_dict()
    document["made_with"]["seed"] = 1
    assert codes(faults(document)) == {"id"}


@pytest.mark.parametrize(("field", "value", "code"), [
    ("sense", "least", "bound"), ("measure", "stock cost", "bound"), ("measure", "sets", "bound"),
    ("achieved", 4799, "bound"), ("achieved", 4801, "bound"), ("limit", 4700, "bound"), ("limit", 4800, "proof"),
    ("proven", True, "proof"), ("stopped_by", "proof", "proof"), ("stopped_by", "luck", "proof"),
    ("stopped_by", "time", None), ("limit", 1e9, None)])  # fmt: skip
def test_what_is_achieved_and_its_limit(document: dict[str, Any], faults: Any, field: str, value: Any, code: str | None) -> None:
    """4 covers of 1200 mm2 are made, 1200 more could be possible."""
    document["bound"][field] = value
    found = codes(faults(document))
    assert code in found if code else not found


def test_the_sense_is_that_of_the_aim(document: dict[str, Any], faults: Any) -> None:
    document["bound"].update(sense="least", limit=3600)
    (found,) = faults(document)
    assert found.code == "bound" and "With the aim most-worth the limit is an 'at most'" in found.text


def test_proven_is_said_exactly_when_the_limit_is_reached(variant: Any) -> None:
    proven = variant(slack=0)
    assert proven.bound.proven and nesting.check(proven) == ()
    assert codes(nesting.check(replace(proven, bound=replace(proven.bound, proven=False)))) == {"proof"}
    near = replace(proven.bound, limit=4800 * (1 + 1e-10))
    assert nesting.check(replace(proven, bound=near)) == ()
    further = replace(proven.bound, limit=4800 * (1 + 1e-8))
    assert codes(nesting.check(replace(proven, bound=further))) == {"proof"}


def test_least_stock_counts_cost_once_nothing_is_short(variant: Any) -> None:
    """Two sheets of 100 x 60 mm; with a cost of their own, twice that."""
    whole = variant(blank={"quantity": 4}, aim="least-stock", slack=0)
    assert (whole.bound.measure, whole.bound.achieved) == ("stock cost", 12000) and nesting.check(whole) == ()
    priced = variant(blank={"quantity": 4}, aim="least-stock", slack=0, sheet={"cost": 2.5})
    assert priced.bound.achieved == 5 and nesting.check(priced) == ()
    above = replace(whole.bound, limit=12001, proven=False, stopped_by="time")
    assert codes(nesting.check(replace(whole, bound=above))) == {"bound"}
    below = replace(whole.bound, limit=-1, proven=False, stopped_by="time")
    assert codes(nesting.check(replace(whole, bound=below))) == {"bound"}


def test_least_stock_counts_what_is_unmade_first(variant: Any) -> None:
    """7 wanted, 4 made: 3 of worth 2 are unmade."""
    short = variant(blank={"quantity": 7, "worth": 2}, aim="least-stock", slack=0)
    assert (short.bound.measure, short.bound.achieved) == ("unmade worth", 6) and nesting.check(short) == ()
    assert codes(nesting.check(replace(short, bound=replace(short.bound, measure="stock cost")))) == {"bound"}


def test_the_area_of_a_sheet_with_a_hole_is_its_cost(variant: Any) -> None:
    hole = [[(75, 5), (85, 5), (85, 15), (75, 15)]]
    holed = variant(blank={"quantity": 4}, aim="least-stock", slack=0, sheet={"holes": hole})
    assert holed.bound.achieved == 11800 and nesting.check(holed) == ()


def strip(made: dict[str, int], sets: Any, achieved: float) -> Plan:
    """A strip of slips 10 x 10 mm, so many of each name."""
    names = [name for name, count in made.items() for _ in range(count)]
    sheet = Sheet.rectangle("s", 10 * len(names), 10)
    cuts: Any = (names[-1], 0)
    for number in range(len(names) - 2, -1, -1):
        cuts = across(10 * number + 10, (names[number], 0), cuts)
    out = plan([sheet], [Blank(name, 10, 10) for name in made], [layout(sheet, cuts)], sets=sets)
    return replace(out, bound=replace(out.bound, measure="sets", achieved=achieved, limit=achieved))


def test_complete_sets_that_share_no_blank() -> None:
    sets = {"small": {"a": 1, "b": 2}, "large": {"c": 3}}
    made = {"a": 4, "b": 5, "c": 7}  # 2 small (b is scarce), 2 large
    assert nesting.check(strip(made, sets, 4)) == ()
    for wrong in (3, 5, 4.5):
        assert codes(nesting.check(strip(made, sets, wrong))) == {"bound"}


def test_complete_sets_that_share_a_blank() -> None:
    """7 of a: 2 small and 1 large take all; 3 small leave one over, large alone gives 2."""
    sets = {"small": {"a": 2, "b": 1}, "large": {"a": 3, "c": 1}}
    made = {"a": 7, "b": 2, "c": 5}
    assert nesting.check(strip(made, sets, 3)) == ()
    for wrong in (2, 4):
        assert codes(nesting.check(strip(made, sets, wrong))) == {"bound"}


@pytest.mark.parametrize(("sets", "code"), [({"A": {"a": 0}}, "sets"), ({"A": {}}, "sets"), ({"A": {"z": 1}}, "unknown")])
def test_sets_that_are_none(sets: Any, code: str) -> None:
    out = strip({"a": 2}, {"A": {"a": 1}}, 2)
    needs = tuple((name, tuple(blanks.items())) for name, blanks in sets.items())
    assert codes(nesting.check(replace(out, sets=needs))) == {code}


names = st.sampled_from("abc")
needs = st.dictionaries(names, st.integers(1, 4), min_size=1)


@given(st.fixed_dictionaries({name: st.integers(0, 9) for name in "abc"}), st.lists(needs, min_size=1, max_size=3))
def test_most_sets_against_trying_all(made: dict[str, int], sets: list[dict[str, int]]) -> None:
    best = max(
        sum(counts)
        for counts in product(range(10), repeat=len(sets))
        if all(sum(k * s.get(b, 0) for k, s in zip(counts, sets, strict=True)) <= made[b] for b in made)
    )
    found = most_sets(made, [(f"set {i}", tuple(s.items())) for i, s in enumerate(sets)])
    assert found == (best, best)


def test_many_knotty_sets_are_still_limited() -> None:
    """40 sets of 3 out of 40 blanks, each shared: at most what every blank alone allows, at least something."""
    sets = [(f"s{i}", tuple((f"b{(i * k) % 40}", 2 + (i + k) % 3) for k in (1, 3, 7) if i * k % 40 != 0)) for i in range(1, 40)]
    sets = [(name, tuple(dict(wanted).items())) for name, wanted in sets]
    low, high = most_sets({f"b{i}": 50 + i for i in range(40)}, sets)
    assert 0 < low <= high < 40 * 45
