"""Cut diagrams and contact sheets: what is on the page, true to scale, legible, and the same every time.

Line kinds after ISO 128-2; the pages' wording and cautions after design.md sections 8 and 9.
"""

from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import settings as effort
from hypothesis import strategies as st

from nesting import Blank, InputError, Sheet
from nesting.draw import words
from nesting.draw.diagrams import plan_pages
from nesting.programme.steps import steps

from .drawn_cases import (
    CASES,
    LONG_NAME,
    b3,
    chance,
    inches,
    layout,
    long_names,
    many_cuts,
    offcut,
    piece,
    plan,
    torn,
    turned,
    up,
)  # fmt: skip
from .drawn_pages import SIZES, clashes, flowing, letters, size, text


@pytest.mark.parametrize("paper", ["A4", "Letter"])
@pytest.mark.parametrize("name", CASES)
def test_every_page_is_legible(name, paper):
    make, unit = CASES[name]
    pages = plan_pages(make(), unit=unit, paper=paper, title="Theatre bills", notes=["A note."], book_head="9b1f44")
    for number, page in enumerate(pages, 1):
        assert clashes(page) == []
        assert all(lettering.size >= 8 or lettering.rect[3] < 11 for lettering in letters(page))  # the footer is smaller
        assert sorted(size(page)) == pytest.approx(sorted(SIZES[paper]))
        assert f"page {number} of {len(pages)}" in text(page) and "stock book 9b1f44" in text(page)
        assert f"plan {make().id[:8]}" in text(page) and make().id not in text(page)


@given(st.integers(0, 10**6), st.booleans(), st.sampled_from(["mm", "in"]), st.sampled_from(["A4", "Letter"]))
@effort(max_examples=25, deadline=None)
def test_no_labels_run_into_each_other_on_any_plan(seed, irregular, unit, paper):
    for page in plan_pages(chance(seed, irregular), unit=unit, paper=paper, title=f"by chance {seed}"):
        assert clashes(page) == []


def test_a_layout_page_says_what_the_bench_needs():
    plan_ = b3()
    page = plan_pages(plan_, title="Theatre bills")[1]
    said = text(page)
    for word in ("FACE UP", "b3", "400 × 310 mm, width across first", "Gives 4 cover", "Drawn 1 : 2.5", "print up ↑ top",
                 "7 cuts, 5 pulls if equal strips are stacked", "389", "186", "146", "→ right edge", "← left cut",
                 "↓ bottom edge", "shavings", "bad: keep off", "layout 1 of 1", "100 mm", "4 in"):  # fmt: skip
        assert word in said, word
    assert said.count("cover\n186 × 146 mm") == 4
    # every cut has its number twice: in the drawing and in the table
    for step in steps(plan_.layouts[0], plan_.sheets[0]):
        assert [lettering.text for lettering in letters(page)].count(str(step.number)) >= 2


def test_squaring_cuts_and_blade_are_explained():
    page = plan_pages(torn())[1]
    assert "by eye" in text(page) and "no true edge to measure from" in flowing(page)
    assert "bottom 3.5 | 9" in text(page)
    strip = plan_pages(CASES["long_strip"][0]())[1]
    assert "longer than the knife" in flowing(strip) and "with the blade" in text(strip)
    untried = plan_pages(CASES["tiny"][0]())[1]
    assert "not known to be straight" in flowing(untried)


def test_offcuts_carry_their_ids_and_sizes():
    page = plan_pages(CASES["triangle"][0]())[1]
    assert "w3-a\n200 × 90 mm" in text(page) and "w3-b\n100 × 240 mm over all" in text(page)


def test_inches_are_written_as_fractions():
    said = text(plan_pages(inches(), unit="in")[1])
    assert "12 × 18 in, width across first" in said and "7-1/4" in said and "5-3/4" in said and "fence, in" in said


def test_a_turned_frame_is_square_to_its_edge():
    assert "Square to bottom edge, 4° anticlockwise" in text(plan_pages(turned())[1])
    untrue = turned()
    untrue = replace(untrue, sheets=(replace(untrue.sheets[0], true_edges=()),))
    assert "Cut askew, 4° anticlockwise" in text(plan_pages(untrue)[1])


def test_many_cuts_keep_all_their_numbers_and_long_tables_go_on():
    for page in plan_pages(many_cuts())[1:]:  # the drawing, and the table on a page of its own
        for number in range(1, 26):
            assert str(number) in [lettering.text for lettering in letters(page)]
    sheet = Sheet.rectangle("p", 90, 1200, true_edges="all")
    rows = [offcut("p-a")]
    branch = rows[0]
    for k in range(59, 0, -1):
        branch = up(k * (10 + k / 7), piece(f"n{k}"), branch)
    found = plan([sheet], [Blank(f"n{k}", 90, 1) for k in range(1, 60)], [layout(sheet, branch)])
    pages = plan_pages(found)
    assert len(pages) > 3 and "The table of the cuts is on the next page" in flowing(pages[1])
    assert "The table goes on with cut" in flowing(pages[2]) and "p, continued" in text(pages[3])
    shown = "\n".join(text(page) for page in pages[2:])
    for step in steps(found.layouts[0], sheet):
        assert words.setting(step, "mm")[0] in shown and words.hand(step) in shown


def test_long_names_are_shortened_and_letters_explained():
    page = plan_pages(long_names())[1]
    assert LONG_NAME in flowing(page)  # whole in the table
    assert "A 90°" in text(page) and "A = $a_1$ тег ?" in flowing(page) and "90° = turned a quarter to the left" in flowing(page)
    assert "? = a letter this print lacks" in text(page)
    assert LONG_NAME in flowing(plan_pages(long_names())[0])


def test_wrong_arguments_are_refused():
    with pytest.raises(InputError, match="A4 or Letter"):
        plan_pages(b3(), paper="A3")
    found = b3()
    with pytest.raises(InputError, match="a sheet of the plan"):
        plan_pages(replace(found, sheets=()))
    with pytest.raises(InputError, match="a blank of the plan"):
        plan_pages(replace(found, blanks=()))


def test_a_size_without_room_in_the_drawing_is_in_the_notes():
    """An offcut of 28 mm at 1 : 2.5 has its name in it; its twin in size says so where there is room."""
    assert "size of s17-a: 28 × ~289.9 mm over all" in flowing(plan_pages(torn())[1])
    assert "a = sl-a, 3 × 210 mm; b = sl-b, 14 × 210 mm" in flowing(plan_pages(CASES["slivers"][0]())[1])


def test_no_fence_setting_is_about():
    """What the maker must dial is exact, or says which way it is rounded."""
    for make, _ in CASES.values():
        found = make()
        for unit in ("mm", "in"):
            for step in steps(found.layouts[0], found.sheets[0], found.cutter):
                assert step.setting is None or "~" not in words.setting(step, unit)[0]
