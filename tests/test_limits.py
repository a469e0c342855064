"""How bulky a book may get: staples, throat, lying closed, scoring, corners; weighing; trimming the batch."""

from __future__ import annotations

from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from nesting.errors import InputError
from nesting.lengths import TICKS_PER_MM as T
from nesting.notebook.formats import Dummy, Format, Grains, Staples
from nesting.notebook.limits import Limits, limits
from nesting.notebook.stapling import CLINCH, Stapler, leg_needed, marks, most_folios, places, read_leg
from nesting.notebook.trimming import lifts, trimming
from nesting.notebook.weighing import SetWeight

B6 = {"folio_caliper": 0.1, "card_caliper": 0.3, "cover_caliper": 0.12, "glue_caliper": 0.02}
LEG_6 = Stapler(legs=(read_leg("24/6"),))


def b6(folios: int = 12, **fields: Any) -> Format:
    return Format.make("B6", 90, 140, folios, **{**B6, **fields})


def warned(found: Limits) -> str:
    return " | ".join(r.text for r in found.remarks if r.kind == "warning")


@pytest.mark.parametrize(("name", "sheets"), [("6 mm", 30), ("8 mm", 50), ("10 mm", 70), ("13 mm", 100)])
def test_the_leg_formula_gives_the_capacities_in_print(name: str, sheets: int) -> None:
    # dewiki "Heftklammer": 23/6, 23/8, 23/10, 23/13; sheets of 0.10 mm, 3 mm to bend over
    assert most_folios(read_leg(name), 0, 800) == sheets


def test_named_staples_count_as_short_as_they_may_be() -> None:
    assert read_leg("24/6") == round(5.8 * T) and read_leg("26/6") == read_leg("24/6") and read_leg("23/13") == round(12.8 * T)
    assert read_leg("1/4 in") == round(6.35 * T) and read_leg(6, "mm") == 6 * T


@pytest.mark.parametrize("value", ["", "long", "24/", "24/90", True, None, "0 mm", "1/4"])
def test_wrong_legs_are_refused(value: object) -> None:
    with pytest.raises(InputError, match="leg"):
        read_leg(value)


def test_a_book_within_its_limits() -> None:
    found = limits(b6(), LEG_6)
    assert [(v or 0) / T for v in (found.grip, found.closed, found.leg_needed, found.leg)] == [1.64, 3.28, 4.64, 5.8]
    # (5.8 - 3 - 0.44) / 0.1 = 23 by the leg; 1.6 / 0.1 = 16 to lie closed
    assert (found.most_by_leg, found.most_closing, found.most) == (23, 16, 16)
    assert found.reach == 93 * T and warned(found) == ""


def test_a_book_too_thick_for_its_staples_and_to_lie_closed() -> None:
    found = limits(b6(24), LEG_6)
    assert found.leg is None
    assert "no staple on hand has a leg of 5.84 mm; the longest on hand does for 23 folios" in warned(found)
    assert "24 folios of this paper will not lie closed: 16 at most" in warned(found)
    assert limits(b6(30), Stapler(legs=(8 * T, 6 * T))).leg == 8 * T


def test_printers_page_limits() -> None:
    # 64 pages of usual, 100 of thin paper (printers' guides): 16 folios of 0.10 mm, 24 of 0.065 mm
    assert limits(b6(16)).most_closing == 16 and "closed" not in warned(limits(b6(16)))
    assert limits(b6(24, folio_caliper=0.065)).most_closing == 24
    assert "64 is usual at most" in warned(limits(Format.make("A6", 105, 148, 17)))
    assert warned(limits(Format.make("A6", 105, 148, 16))) == ""


def test_throat_reaches_half_the_flat_width() -> None:
    # at least half the flat width as stapled: geometry
    assert "throat" not in warned(limits(b6(), Stapler(throat=93 * T)))
    assert "does not reach the fold, which lies 93 mm in" in warned(limits(b6(), Stapler(throat=92 * T)))
    assert limits(b6(flap=60)).reach == 150 * T


def test_a_leg_too_long_meets_its_fellow() -> None:
    assert "meet" in warned(limits(b6(2), Stapler(legs=(10 * T,)))) and "meet" not in warned(limits(b6(2), LEG_6))


def test_staples_stay_on_the_book_and_apart() -> None:
    assert "past the head or tail" in warned(limits(b6(staples=Staples(2, (3 * T, 100 * T))), LEG_6))
    assert "lie over each other" in warned(limits(b6(staples=Staples(2, (60 * T, 70 * T))), LEG_6))
    assert warned(limits(b6(staples=Staples(0)), LEG_6)) == ""


@given(st.integers(1, 12), st.integers(40, 300))
def test_even_places_mirror_each_other(count: int, height: int) -> None:
    fmt = Format.make("x", 100, height, staples=Staples(count), head=5)
    at = places(fmt)
    assert len(at) == count and all(abs(a + b - height * T) <= 1 for a, b in zip(at, reversed(at), strict=True))
    assert marks(fmt) == tuple(a + 5 * T for a in at)


def test_no_caliper_no_guess() -> None:
    found = limits(Format.make("A6", 105, 148), LEG_6)
    assert (found.grip, found.closed, found.leg_needed, found.leg, found.most, found.score) == (None,) * 6


def test_grain_that_springs_open_and_a_dummy_that_was_not_pressed() -> None:
    assert "spring open" in warned(limits(b6(grains=Grains(folio="across")))) and "spring open" not in warned(limits(b6()))
    assert "press it overnight" in warned(limits(b6(dummy=Dummy(thickness=4 * T))))
    assert "press it" not in warned(limits(b6(dummy=Dummy(thickness=3 * T))))


@pytest.mark.parametrize(("cover", "card", "score"), [(80, 60, "none"), (80, 80, "advised"), (105, 255, "needed")])
def test_scoring_goes_by_paper_and_card_together(cover: float, card: float, score: str) -> None:
    found = limits(b6(cover_grammage=cover, card_grammage=card))
    assert found.score == score
    assert any("only after stapling" in r.text for r in found.remarks) == (score != "none")
    # channel 2 x 0.44 + 0.71 (Condat)
    assert any("~1.6 mm wide and ~0.4 mm deep" in r.text for r in found.remarks) == (score != "none")


def test_corners_are_told_and_not_with_a_flap() -> None:
    found = limits(b6(corner=6.35))
    assert any("6.35 mm take ~2.6 mm off each tip" in r.text for r in found.remarks) and warned(found) == ""
    assert "square" in warned(limits(b6(corner=6.35, flap=50)))
    assert b6(corner=45).corner == 45 * T
    with pytest.raises(InputError, match="half the finished width"):
        b6(corner=45.1)


def test_set_weights() -> None:
    # bench story B8: common practice, no source; 5 %: JCP A55, O-63
    found = SetWeight(12, 186 * 146 * 80e-6)
    assert (round(found.total, 1), round(found.one, 1)) == (26.1, 2.2)
    assert [round(v, 1) for v in found.label_range] == [24.8, 27.4]
    assert found.count(23.9) == 11 and found.count(found.total) == 12
    assert found.tells_one and not SetWeight(60, 2.2).tells_one and "smaller heaps" in SetWeight(60, 2.2).text()
    assert SetWeight(1, 2.2).text().startswith("a folio weighs 2.2 g")


@given(st.integers(1, 500), st.floats(0.1, 50), st.integers(0, 600))
def test_counting_by_weight_is_exact_for_equal_folios(folios: int, one: float, heap: int) -> None:
    assert SetWeight(folios, one).count(heap * one) == heap


def test_b6_and_b7_trimming() -> None:
    # bench stories B6 and B7: common practice, no source
    made = trimming(b6(), 40, 20 * T)
    assert (made.a_lift, made.lifts, made.cuts, made.short_first) == (6, 7, 21, None)
    assert [v / T for v in made.settings] == [143, 140, 90]
    short = trimming(b6(), 40, 20 * T, 141 * T)
    assert ((short.short_first or 0) / T, short.height / T) == (140, 139)


def test_trimming_keeps_what_still_reaches() -> None:
    assert trimming(b6(), 40, None, 142 * T).height == 140 * T
    assert trimming(b6(), 40, None, 145 * T).short_first is None
    assert trimming(b6(), 40).lifts == 1 and trimming(b6(), 40).a_lift is None
    assert trimming(b6(flap=60), 40, 20 * T).fore_edge is None and trimming(b6(flap=60), 40, 20 * T).cuts == 14
    assert trimming(b6(dummy=Dummy(thickness=2 * T, height=139 * T)), 40, 20 * T).settings[:2] == (142 * T, 139 * T)
    assert trimming(b6(dummy=Dummy(thickness=2 * T)), 40, 20 * T).a_lift == 10


@pytest.mark.parametrize(("fmt", "more", "match"), [
    (Format.make("A6", 105, 148), {"books": 4}, "caliper"), (b6(), {"books": 0}, "books"), (b6(), {"books": True}, "books"),
    (b6(), {"books": 4, "shortest": T}, "higher than its trims"), (b6(), {"books": 4, "lift": T}, "lift"),
])  # fmt: skip
def test_wrong_trimming_is_refused(fmt: Format, more: dict[str, int], match: str) -> None:
    with pytest.raises(InputError, match=match):
        trimming(fmt, **more)


@given(st.integers(1, 10_000), st.integers(1, 50_000), st.integers(50_000, 1_000_000))
def test_lifts_hold_all_and_no_more_than_fits(count: int, thick: int, lift: int) -> None:
    a_lift, found = lifts(count, thick, lift)
    assert a_lift is not None and a_lift * thick <= lift < (a_lift + 1) * thick
    assert (found - 1) * a_lift < count <= found * a_lift


def test_leg_needed_is_grip_and_clinch() -> None:
    # sheets = (leg - clinch) / t: medicalalgorithms
    assert leg_needed(800 * 30) - CLINCH == 800 * 30 and most_folios(leg_needed(800 * 30), 0, 800) == 30
