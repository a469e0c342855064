"""Clear rectangles in frames that are not square to them: rules and limits that hold for square cuts are not taken for others."""

from __future__ import annotations

import nesting
from nesting.search.budget import Budget


def test_a_strip_that_only_fits_askew_among_others():
    # along the diagonal of a square of 100 there is room for 130 x 5: (130 + 5) / sqrt(2) = 95.5
    sheets = [nesting.Sheet.rectangle("p", 100, 100, count=50)]
    blanks = [nesting.Blank("strip", 130, 5, 6), nesting.Blank("label", 60, 60, 2)]
    found = nesting.plan(sheets, blanks, frames=(0, 45), steps=50, seconds=60)
    assert found.made() == {"strip": 6, "label": 2}
    assert {layout.frame_deg for layout in found.layouts} == {0.0, 45.0}
    assert found.bound.limit <= found.bound.achieved and not nesting.check(found)


def test_grain_holds_where_the_sheet_is_clear_in_a_turned_frame():
    # a rectangle of 300 x 200 turned by atan(3/4), so that its corners are whole ticks
    turned = [(0, 0), (240, 180), (120, 340), (-120, 160)]
    sheet = nesting.Sheet.from_mm("s", turned, grain="x", count=20)
    blanks = [nesting.Blank("a", 100, 60, 5, grain="x"), nesting.Blank("b", 60, 40, 7)]
    found = nesting.plan([sheet], blanks, frames=(36.869898, 0), steps=50, seconds=60)
    assert found.made() == {"a": 5, "b": 7} and not nesting.check(found)


def test_where_steps_limit_a_search_a_part_of_the_time_is_all_of_it():
    assert Budget(100, 5).part(0.1).time_left() > 90 > 20 > Budget(100, None).part(0.1).time_left()
    assert Budget(100, 5).part(0.1, by_clock=True).time_left() < 20
