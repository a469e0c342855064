"""Why a sheet gives no more: cases worked by hand, and every claim of random ones tried again."""

from __future__ import annotations

import random
from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

import nesting
from nesting.draw.because import reason_line, reason_lines, reason_values, why
from nesting.explaining import explain, sized
from tests.piles import salvaged


def best(sheets, *blanks, aim="most-worth", unit="mm", **more):
    """The reasons for a plan, after the plan was checked."""
    done = nesting.plan(sheets, blanks, aim=aim, frames="square", seconds=5, **more)
    assert nesting.check(done) == ()
    return explain(done, 20, unit)


def rectangle(*size, id="s", **more):
    return nesting.Sheet.rectangle(id, *size, **more)


def b3(deep):
    """The sheet of bench story B3 (trade.md)."""
    return nesting.Sheet.from_mm("1", [(0, 0), (400, 0), (400, 270), (370, 310), (0, 310)],
                                 bad=[[(0, 200), (deep, 200), (deep, 260), (0, 260)]], true_edges="all")  # fmt: skip


COVER = nesting.Blank("cover", 186, 146, turns=(0,))


def test_b3_with_the_deeper_damage_says_what_width_would_do():
    # the clip's edge runs from (370; 310) to (400; 270): two rows of 146 end at 292 and there at x = 383.5,
    # so from damage 12 deep there are 371.5 for two covers: 185.75 each
    (reason,) = best([b3(12)], COVER)
    size, damage = reason.findings
    assert (size.kind, size.blank, size.side, size.size, size.less) == ("size", "cover", "width", 1_486_000, 2_000)
    assert size.gives == damage.gives == (("cover", 4),)
    assert damage.kind == "damage"
    assert reason_lines([reason], "mm") == [
        "1: 3 cover; short by 0.25 mm each of a fourth: 185.75 mm wide would give 4; without its damage 4"]


def test_b3_with_the_shallower_damage_is_full():
    (reason,) = best([b3(11)], COVER)
    assert [f.kind for f in reason.findings] == ["paper"]
    # by hand: 400 x 310 less the clip 30 x 40 / 2 and the damage 60 x 11
    assert reason.findings[0].share == pytest.approx(4 * 186 * 146 / (400 * 310 - 600 - 660), rel=1e-9)
    assert reason_line(reason, "mm") == "4 cover; 88 % of its good paper is pieces: too little is left for another"


def test_the_grain_rule_is_named():
    # along the grain two of 100 fit in 210; turned, three of 70
    (reason,) = best([rectangle(210, 100, grain="x")], nesting.Blank("b", 100, 70, grain="x"))
    assert reason_line(reason, "mm") == "2 b; without the grain rule 3"


def test_unknown_grain_is_named_on_a_sheet_that_gives_nothing():
    sheets = [rectangle(210, 100, id="a", grain="x"), rectangle(100, 100, id="c"), rectangle(100, 100, id="d")]
    first, second = best(sheets, nesting.Blank("b", 100, 100, grain="x"))
    assert reason_line(second, "mm") == "nothing; its grain is not known: without the grain rule 1 b"
    assert second.sheets == ("c", "d") and second.layouts == ()
    assert [f.kind for f in first.findings] == ["paper"]


def test_the_print_rule_is_named():
    (reason,) = best([rectangle(210, 100, up="+y")], nesting.Blank("b", 100, 70, up="+y"))
    assert reason_line(reason, "mm") == "2 b; without the print rule 3"


def test_both_rules_are_named_where_neither_alone_is_the_reason():
    (reason,) = best([rectangle(210, 100, grain="x", up="+y")], nesting.Blank("b", 100, 70, grain="x", up="+y"))
    assert reason_line(reason, "mm") == "2 b; without the grain and print rules 3"


def test_damage_is_named():
    sheet = nesting.Sheet.from_mm("s", [(0, 0), (200, 0), (200, 100), (0, 100)], bad=[[(140, 40), (160, 40), (150, 60)]])
    (reason,) = best([sheet], nesting.Blank("b", 100, 100))
    assert reason_line(reason, "mm") == "1 b; without its damage 2"


def test_holes_are_named():
    hole = [(180, 40), (190, 40), (185, 60)]
    sheet = nesting.Sheet.from_mm("s", [(0, 0), (210, 0), (210, 100), (0, 100)], holes=[hole])
    (reason,) = best([sheet], nesting.Blank("b", 105, 100))
    assert reason_line(reason, "mm") == "1 b; without its holes 2"
    hole = [(90, 10), (120, 10), (120, 90), (90, 90)]
    ring = nesting.Sheet.from_mm("r", [(0, 0), (210, 0), (210, 100), (0, 100)], holes=[hole])
    reasons = best([sheet, ring], nesting.Blank("b", 105, 100))
    assert [reason_line(r, "mm") for r in reasons] == ["1 b; without its holes 2", "nothing; without its holes 2 b"]


def test_squaring_cuts_are_named():
    # squaring takes 2 at each side: 196 for two of 99
    (reason,) = best([rectangle(200, 100)], nesting.Blank("b", 99, 90, turns=(0,)), cutter=nesting.Cutter(square_up=2))
    assert reason_line(reason, "mm") == "1 b; short by 1 mm each of a second: 98 mm wide would give 2; if its edges were true 2"


def test_the_distance_from_edges_is_named():
    (reason,) = best([rectangle(200, 100, inset=5)], nesting.Blank("b", 100, 90, turns=(0,)))
    assert reason_line(reason, "mm") == "1 b; without the distance kept from its edges 2"


def test_inches_are_tried_in_64ths():
    # 12 in for two of 6 1/32: by 1/32 too wide each
    (reason,) = best([rectangle("12 in", "4 in")], nesting.Blank("b", "6 1/32 in", "3 in", turns=(0,)), unit="in")
    assert reason_line(reason, "in") == "1 b; short by 1/32 in each of a second: 6 in wide would give 2"


def test_what_is_no_longer_wanted_is_said():
    (reason,) = best([rectangle(200, 100)], nesting.Blank("b", 100, 100, 1), aim="least-stock")
    assert reason_line(reason, "mm") == "1 b; all that is wanted is made; it could give 2"


def test_an_l_is_full_by_proof_though_paper_is_left():
    sheet = nesting.Sheet.from_mm("s", [(0, 0), (200, 0), (200, 60), (60, 60), (60, 200), (0, 200)])
    (reason,) = best([sheet], nesting.Blank("b", 125, 45))
    assert reason.gives == (("b", 2),)
    assert reason_line(reason, "mm") == "2 b; that is the most it can give: proven"


def test_several_blanks():
    # 300 x 100: two of 130 and one of 40 are all of it
    blanks = [nesting.Blank("a", 130, 100, turns=(0,), worth=10), nesting.Blank("b", 40, 100, turns=(0,), worth=1)]
    (reason,) = best([rectangle(300, 100)], *blanks)
    assert reason.gives == (("a", 2), ("b", 1))
    assert [f.kind for f in reason.findings] == ["paper"]
    assert reason.findings[0].share == Fraction(1)


def test_several_blanks_of_which_one_is_too_large():
    # 300 x 100: two of 110 and one of 80; four of 75 would be worth more, at what one of 80 is worth
    blanks = [nesting.Blank("a", 110, 100, turns=(0,)), nesting.Blank("b", 80, 100, turns=(0,))]
    (reason,) = best([rectangle(300, 100)], *blanks)
    assert reason_line(reason, "mm") == "2 a, 1 b; short by 5 mm each of a fourth: b 75 mm wide would give 4 b"


def test_alike_sheets_are_one_reason_and_the_values_say_the_same():
    sheets = [rectangle(210, 100, id=f"s{i}", grain="x") for i in range(3)]
    reasons = best(sheets, nesting.Blank("b", 100, 70, grain="x"))
    assert reason_lines(reasons, "mm") == ["s0, s1, s2: 2 b; without the grain rule 3"]
    assert reason_values(reasons[0], "mm") == {
        "sheets": ["s0", "s1", "s2"], "layouts": [1, 2, 3], "gives": {"b": 2}, "text": "2 b; without the grain rule 3",
        "reasons": [{"kind": "grain", "would_give": {"b": 3}}]}  # fmt: skip


def test_without_time_nothing_is_claimed():
    done = nesting.plan([b3(12)], [COVER], aim="most-worth", seconds=5)
    (reason,) = explain(done, 0)
    assert [f.kind for f in reason.findings] == ["time"]
    assert why(reason, "mm") == ""


def test_a_page_says_why_and_a_blank_made_in_full_is_no_reason():
    # b is made in full on the small sheet; of the large one it is not asked, though six would be worth more
    blanks = [nesting.Blank("a", 150, 100, turns=(0,)), nesting.Blank("b", 60, 50, 1, turns=(0,), worth=10**6)]
    first, second = best([rectangle(200, 100, id="s0"), rectangle(60, 50, id="s1")], *blanks)
    assert (first.gives, second.gives) == ((("a", 1),), (("b", 1),))
    assert why(first, "mm") == "Why no more: 75 % of its good paper is pieces: too little is left for another."


@settings(max_examples=15, deadline=None, derandomize=True)
@given(st.integers(0, 10**9))
def test_every_claim_on_random_sheets_holds(seed):
    rng = random.Random(seed)
    sheet = salvaged("s", rng, rng.uniform(150, 300), rng.uniform(120, 250))
    blank = nesting.Blank("b", rng.randint(50, 130), rng.randint(40, 100))
    try:
        done = nesting.plan([sheet], [blank], aim="most-worth", frames="square", seconds=5)
    except nesting.ImpossibleJob:
        return
    (reason,) = explain(done, 20)
    made = done.made()["b"]
    for found in reason.findings:
        would = dict(found.gives).get("b", 0)
        if found.kind == "size":
            small = sized(blank, **{found.side: found.size})
            assert found.size + found.less == getattr(blank, found.side)
            again = nesting.fill(sheet, [small], frames="square", seconds=5)
            assert len(again.layout.pieces) >= would > made
            assert nesting.check(again.to_plan()) == ()
            almost = nesting.fill(sheet, [sized(blank, **{found.side: found.size + 2_000})], frames="square", seconds=5)
            assert almost.layout is None or len(almost.layout.pieces) <= made or not done.bound.proven
        elif found.kind == "damage":
            bare = nesting.Sheet.from_ticks("s", sheet.outline)
            assert len(nesting.fill(bare, [blank], frames="square", seconds=5).layout.pieces) >= would > made
        elif found.kind == "paper":
            assert made * blank.area_mm2 <= sheet.area_mm2 and found.share <= 1
        elif found.kind == "most":
            assert done.bound.proven
