"""Variety: from as many different sheets as possible, or as few, at a price; cases reckoned by hand."""

from __future__ import annotations

import pytest

import nesting


def large(k):
    return nesting.Sheet.rectangle(f"large{k}", 200, 100)


def small(k):
    return nesting.Sheet.rectangle(f"small{k}", 110, 100)


BLANK = nesting.Blank("b", 100, 100, 6)
THREE_OR_SIX = [*map(large, range(3)), *map(small, range(6))]


def planned(sheets, variety, blanks=(BLANK,), aim="least-stock", **more):
    done = nesting.plan(sheets, blanks, aim=aim, seconds=5, variety=variety, **more)
    assert nesting.check(done) == ()
    assert nesting.Plan.from_dict(done.to_dict()) == done
    return done


@pytest.mark.parametrize(("variety", "sheets", "cost"), [
    (0, 3, 60_000), (1_999, 3, 60_000), (2_001, 6, 66_000), (-5_000, 3, 60_000)])  # fmt: skip
def test_three_large_sheets_or_six_small_ones(variety, sheets, cost):
    # six small cost 66,000, three large 60,000: three sheets more for 6,000, so 2,000 is where it turns
    done = planned(THREE_OR_SIX, variety)
    assert done.made() == {"b": 6}
    assert sum(done.sheets_used().values()) == sheets
    assert done.bound.achieved == cost
    assert done.bound.limit == 60_000  # of the plain cost
    assert done.bound.proven == (sheets == 3)


@pytest.mark.parametrize(("variety", "sheets"), [(-2_999, {"large0": 1, "large1": 1, "large2": 1}), (-3_001, {"p": 6})])
def test_copies_of_one_sheet_are_alike(variety, sheets):
    # six copies of p cost 66,000 and are one kind: two kinds less for 6,000, so 3,000 is where it turns
    stock = [*map(large, range(3)), nesting.Sheet.rectangle("p", 110, 100, count=6)]
    assert planned(stock, variety).sheets_used() == sheets


def test_copies_are_taken_from_as_many_or_as_few_numbers_as_can_be():
    stock = [nesting.Sheet.rectangle(f"p{k}", 110, 100, count=n) for k, n in enumerate((2, 5, 3, 6))]
    assert planned(stock, 1).sheets_used().keys() == {"p0", "p1", "p2", "p3"}
    assert planned(stock, -1).sheets_used() == {"p3": 6}


def test_every_sheet_gives_something_that_is_wanted():
    # the price is above what any sheet costs: six sheets of one piece each, never a sheet for nothing
    done = planned([large(k) for k in range(9)], 10**6)
    assert len(done.layouts) == 6
    assert all(len(x.pieces) == 1 for x in done.layouts)


def test_most_worth_prefers_other_sheets_at_the_same_worth():
    assert sum(planned(THREE_OR_SIX, 1, aim="most-worth").sheets_used().values()) == 6
    assert sum(planned(THREE_OR_SIX, -1, aim="most-worth").sheets_used().values()) == 3


def test_a_price_for_one_material_leaves_the_others_alone():
    stock = [nesting.Sheet.rectangle(f"{m}{k}", 200, 100, material=m) for m in ("cover", "card") for k in range(4)]
    blanks = [nesting.Blank(m, 100, 100, 4, material=m) for m in ("cover", "card")]
    used = planned(stock, {"cover": 30_000}, blanks).sheets_used()
    assert sorted(used) == ["card0", "card1", "cover0", "cover1", "cover2", "cover3"]


def test_several_blanks_and_a_price_keep_within_what_is_wanted():
    stock = [nesting.Sheet.rectangle(f"s{k}", 250, 100) for k in range(8)]
    blanks = [nesting.Blank("a", 100, 100, 3), nesting.Blank("b", 50, 100, 3)]
    done = planned(stock, 50_000, blanks)
    assert done.made() == {"a": 3, "b": 3}
    assert len(done.sheets_used()) == 6


@pytest.mark.parametrize("variety", ["much", float("nan"), True, {"cover": "much"}, {1: 2}])
def test_a_price_must_be_a_number(variety):
    with pytest.raises(nesting.InputError, match="variety"):
        nesting.plan([large(0)], [BLANK], variety=variety)


def test_a_document_without_variety_has_none():
    done = planned(THREE_OR_SIX, 0)
    assert "variety" not in done.to_dict()["made_with"]
    assert planned(THREE_OR_SIX, 2_001).to_dict()["made_with"]["variety"] == 2_001
