"""The first page of a plan: what is cut, short and possible, the cautions."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise

import pytest

from nesting import Blank, Plan
from nesting.draw.diagrams import plan_pages
from nesting.draw.limits import limit_lines
from nesting.plans import Bound

from .drawn_cases import b3, torn
from .drawn_pages import clashes, flowing, letters, text


def test_the_summary_says_what_is_cut_short_and_possible_and_warns():
    first = flowing(plan_pages(torn(), title="Theatre bills", notes=["185.75 wide would give 4."])[0])
    for word in ("Theatre bills", "1 cover, from 1 sheet", "4 cover", "No more than 2 are possible", "185.75 wide would give 4.",
                 "Pencil, rule and a square", "s17-a 28 × ~289.9", "Guard in place and clamp down", "Hands never go under",
                 "One person at the lever", "Blade locked", "extremely flammable", "no flame or spark", "safety data sheet",
                 "Staples", "heavy", "Local rules and the machine's own manual come first", "Face up".lower()):  # fmt: skip
        assert word in first, word


def test_a_long_plan_has_a_long_summary_with_the_right_pages():
    one = b3()
    long = replace(one, layouts=one.layouts * 60)
    pages = plan_pages(long)
    assert clashes(pages[0]) == [] and clashes(pages[1]) == []
    row = [lettering.text for page in pages[:2] for lettering in letters(page)]
    numbered = [int(before) for before, after in pairwise(row) if after == "b3" and before.isdecimal()]
    assert numbered == list(range(3, 63)) and len(pages) == 62
    assert "layout 60 of 60" in text(pages[61]) and "layout 1 of 60" in text(pages[2])


def test_a_plan_that_cuts_nothing_has_a_summary():
    found = replace(b3(), layouts=(), short=(("cover", 4),), bound=Bound("most", "worth", 0, 0, True, "frames", (0.0,), "proof"))
    (page,) = plan_pages(found)
    assert "nothing, from 0 sheets" in text(page) and "no sheet is cut" in text(page)


def bounded(bound: Bound, quantity: int | None, *more: Blank) -> Plan:
    found = b3()
    blanks = (Blank("cover", 186, 146, quantity), *more)
    short = tuple((b.name, (b.quantity or 0) - (4 if b.name == "cover" else 0)) for b in blanks if b.quantity)
    return replace(found, blanks=blanks, short=short, bound=bound)


AREA = 186 * 146


@pytest.mark.parametrize(("bound", "quantity", "expected"), [
    (Bound("most", "worth", 4 * AREA, 4 * AREA, True, "frames", (0.0,), "proof"), None,
     "4 cover: that is the most possible from these sheets, proven (with cuts square to the sheet as drawn)."),
    (Bound("most", "worth", 4 * AREA, 6.99 * AREA, False, "any angle", (0.0,), "steps"), None,
     "4 cover planned. No more than 6 are possible from these sheets (at any angle)."),
    (Bound("least", "unmade worth", 6 * AREA, 3 * AREA, False, "frames", (0.0, 4.0), "time"), 10,
     "4 cover planned. No more than 7 are possible from these sheets (in the 2 directions tried)."),
    (Bound("least", "stock cost", 124000, 124000, True, "frames", (0.0,), "proof"), 4, "no plan takes less paper"),
    (Bound("least", "stock cost", 124000, 111000.4, False, "frames", (0.0,), "time"), 4,
     "It takes 0.12 m² of paper; no plan can do with less than 0.11 m²"),
    (Bound("most", "sets", 7, 9.2, False, "frames", (0.0,), "time"), None,
     "7 complete sets planned. No more than 9 are possible"),
])  # fmt: skip
def test_bounds_in_words(bound, quantity, expected):
    lines = " ".join(limit_lines(bounded(bound, quantity), "mm"))
    assert expected in lines
    assert "%" not in lines
    if bound.stopped_by == "time":
        assert "time was up" in lines


def test_a_proof_on_cost_says_nothing_of_paper():
    plan = bounded(Bound("least", "stock cost", 7.5, 7.5, True, "frames", (0.0,), "proof"), 4)
    lines = limit_lines(replace(plan, sheets=tuple(replace(sheet, cost=7.5) for sheet in plan.sheets)), "mm")
    assert lines == ["All that is wanted is made, and no plan from these sheets costs less: proven "
                     "(with cuts square to the sheet as drawn)."]  # fmt: skip


def test_bounds_of_several_blanks_count_pieces_on_top():
    bound = Bound("least", "unmade worth", 3000, 1900, False, "frames", (0.0,), "interrupt")
    lines = limit_lines(bounded(bound, 4, Blank("tag", 20, 20, 9, worth=500)), "mm")
    assert lines[0].startswith("No more than 2 pieces are possible on top of these")
    assert "stopped by hand" in lines[1]
    lines = limit_lines(bounded(replace(bound, limit=2600), 4, Blank("tag", 20, 20, 9, worth=500)), "mm")
    assert lines[0].startswith("No more pieces can be added")
