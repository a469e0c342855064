"""The cutter's programme: order, fence settings, the edge that is measured from, squaring cuts, stacks.

Bench stories and check values: trade.md sections 12 and 14 (common practice, no source, where nothing else is named).
"""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import settings as effort
from hypothesis import strategies as st

from nesting import Blank, Cutter, Sheet, check
from nesting.layouts import Areas, Cut, Layout, Piece, Shavings, walk
from nesting.lengths import TICKS_PER_MM as MM
from nesting.lengths import parse
from nesting.programme.steps import Guide, cuts_with_stacking, settings, steps

from .drawn_cases import CASES, across, b3, chance, grid, layout, long_strip, offcut, piece, plan, shavings, strips, turned, up


def programme(found, cutter="its own"):
    return steps(found.layouts[0], found.sheets[0], found.cutter if cutter == "its own" else cutter)


def test_the_hand_made_plans_are_sound():
    for name, (make, _) in CASES.items():
        assert check(make()) == (), name


@pytest.mark.parametrize("cutter", [None, Cutter(), Cutter(square_up=3), Cutter(fence_min=20, fence_max=400, longest_cut=430)])
def test_b3_comes_out_as_at_the_bench(cutter):
    """B3: right side at the fence 389, cut edge 186, 186; both columns: bottom 146, cut edge 146."""
    made = programme(b3(), cutter)
    assert [(s.setting / MM, s.base, s.base_kind) for s in made] == [
        (389, "right", "true edge"), (186, "left", "cut edge"), (186, "left", "cut edge"),
        (146, "bottom", "true edge"), (146, "bottom", "cut edge"),
        (146, "bottom", "true edge"), (146, "bottom", "cut edge")]  # fmt: skip
    assert [s.stacks_on for s in made] == [None, None, None, None, None, 4, 5]
    assert settings(made) == (389 * MM, 186 * MM, 146 * MM)
    assert cuts_with_stacking(b3().layouts[0]) == 5
    assert not any(s.squaring or s.blade for s in made)


def test_b3_says_what_to_take_in_hand_and_what_falls_off():
    made = programme(b3())
    assert [(s.hand, s.after) for s in made] == [
        ("whole", 0), ("right of", 1), ("right of", 2), ("left of", 2), ("above", 4), ("left of", 3), ("above", 6)]  # fmt: skip
    assert made[0].kept.pieces == (("cover", 4),) and made[0].falls.shavings and made[0].falls.pieces == ()
    assert made[1].at_fence == "low" and made[1].falls.pieces == (("cover", 2),)


def test_the_length_of_a_cut_is_that_of_the_paper():
    """Cut 3 of B3 ends on the clipped corner: at x = 383 the paper is 310 - 40 * 13 / 30 high."""
    made = programme(b3())
    assert made[0].length == 310 * MM and made[3].length == 186 * MM
    assert made[2].length == pytest.approx((310 - 40 * 13 / 30) * MM, abs=1)


def test_t41_grid_of_two_by_four():
    """T41: 8 pieces of a 2 x 4 grid, no trim: 7 cuts without restacking, 4 with (arithmetic)."""
    found = grid(4, 2, 105, 148, 0, 0)
    made = programme(found)
    assert len(made) == 7
    assert cuts_with_stacking(found.layouts[0]) == 4
    assert sum(s.stacks_on is None for s in made) == 4


def test_stacks_go_over_gutters_but_not_over_pieces():
    """3 x 3 with gutters: 6 + 18 cuts, each column is cut like the first (trade.md section 7: 2N with gutters)."""
    found = grid(3, 3, 100, 140, 3, 2)
    assert len(programme(found)) == 24 and cuts_with_stacking(found.layouts[0]) == 12
    sheet = Sheet.rectangle("p", 300, 100, true_edges="all")
    pair = up(60, piece("a"), shavings)
    made = layout(sheet, strips(across, [100, 200], [pair, piece("b"), pair]))
    assert cuts_with_stacking(made) == 4  # a piece lies between the two: common practice, no source
    assert all(s.stacks_on is None for s in steps(made, sheet))


def test_a_stack_needs_the_same_edge_at_the_fence():
    """The right column has no true edge below it: its cut is measured from the top, the left one's from the bottom."""
    sheet = Sheet.from_mm("p", [(0, 0), (100, 0), (200, 9), (200, 100), (0, 100)], true_edges=(0, 3))
    column = up(50, piece("a"), piece("a"))
    made = steps(layout(sheet, across(100, column, column)), sheet, Cutter(square_up=2))
    assert [(s.base, s.stacks_on) for s in made[1:]] == [("bottom", None), ("top", None)]


def test_a_narrow_piece_gets_the_side_that_the_fence_can_reach():
    sheet = Sheet.rectangle("p", 300, 200, true_edges="all")
    made = layout(sheet, across(30, piece("strip"), offcut("p-a")))
    assert steps(made, sheet)[0].base == "left"
    for cutter in (Cutter(fence_min=50), Cutter(clamp=40)):
        (step,) = steps(made, sheet, cutter)
        assert (step.base, step.setting, step.blade) == ("right", 270 * MM, False)
    (step,) = steps(made, sheet, Cutter(fence_min=50, fence_max=250))
    assert step.blade and step.why and settings([step]) == ()


def test_of_two_feasible_edges_the_scale_decides_before_the_piece():
    """Settings fall on the fence's scale where step is given (design.md section 4, rule 5)."""
    sheet = Sheet.rectangle("p", 200, 100, true_edges="all")
    made = layout(sheet, across("100.5 mm", piece("a"), offcut("p-a")))
    assert steps(made, sheet)[0].base == "left"
    assert not steps(made, sheet)[0].off_scale
    (step,) = steps(made, sheet, Cutter(step="99.5 mm"))
    assert (step.base, step.setting, step.off_scale) == ("right", parse("99.5 mm"), False)
    (step,) = steps(made, sheet, Cutter(step=1))
    assert (step.base, step.off_scale) == ("left", True)


def test_of_two_edges_the_one_with_pieces_at_the_fence_then_the_larger():
    """Shavings fall in front of the knife; a larger part lies better at the fence (trade.md section 7, and B3)."""
    sheet = Sheet.rectangle("p", 300, 100, true_edges="all")
    (first, *_) = steps(layout(sheet, across(200, offcut("p-a"), across(290, piece("a"), shavings))), sheet)
    assert (first.base, first.setting) == ("right", 100 * MM)
    (first, *_) = steps(layout(sheet, across(200, offcut("p-a"), across(290, shavings, shavings))), sheet)
    assert (first.base, first.setting) == ("left", 200 * MM)


def test_a_long_cut_is_for_the_blade():
    """Design.md section 4, rule 5: a sheet longer than the knife is first broken down with straight-edge and blade."""
    made = programme(long_strip())
    assert made[0].blade and made[0].length == 1500 * MM and "longer than the knife" in made[0].why
    assert not any(s.blade for s in made[1:])
    assert settings(made) == (110 * MM,)


def test_squaring_cuts_come_with_two_distances():
    """A trapezium without true edges: left edge x = 10 y / 200, so 20 - 0.25 and 20 - 9.75 at 5 and 195 (arithmetic)."""
    sheet = Sheet.from_mm("t", [(0, 0), (100, 0), (90, 200), (10, 200)])
    made = layout(sheet, across(20, shavings, up(30, shavings, up(180, offcut("t-a"), shavings))))
    first, second, third = steps(made, sheet, Cutter(square_up=5))
    assert first.squaring and first.base is None and first.setting is None
    assert first.guide == Guide("left", parse("19.75 mm"), parse("10.25 mm"), 5 * MM)
    assert first.at_fence == "high"
    assert second.squaring and second.guide == Guide("bottom", 30 * MM, 30 * MM, 5 * MM)
    assert (third.base, third.base_kind, third.setting) == ("bottom", "cut edge", 150 * MM)


@pytest.mark.parametrize("cutter", [None, Cutter(square_up=0)])
def test_without_squaring_an_untried_edge_is_used_and_said_to_be_one(cutter):
    sheet = Sheet.rectangle("p", 300, 200)
    (step,) = steps(layout(sheet, across(100, piece("a"), offcut("p-a"))), sheet, cutter)
    assert (step.base, step.base_kind, step.squaring) == ("left", "edge as it is", False)
    sure = Sheet.rectangle("p", 300, 200, true_edges=(1,))
    (step,) = steps(layout(sure, across(100, piece("a"), offcut("p-a"))), sure, cutter)
    assert (step.base, step.base_kind) == ("right", "true edge")


def test_a_true_edge_counts_only_where_the_paper_has_it():
    """The top is true, but the right part is clipped all along it: nothing to measure from there."""
    sheet = Sheet.from_mm("p", [(0, 0), (200, 0), (200, 60), (100, 100), (0, 100)], true_edges=(3,))
    part = up(30, piece("a"), offcut("p-a"))
    made = steps(layout(sheet, across(100, part, up(30, piece("b"), shavings))), sheet, Cutter(square_up=2))
    assert [(s.base, s.squaring) for s in made] == [(None, True), ("top", False), (None, True)]


def test_an_edge_too_short_to_hold_the_paper_square_is_none():
    """4 mm of a true edge on a side of 200: common practice, no source."""
    sheet = Sheet.from_mm("p", [(0, 0), (196, 8), (200, 8), (200, 100), (0, 100)], true_edges=())
    short = Sheet.from_mm("p", [(0, 0), (4, 0), (200, 9), (200, 100), (0, 100)], true_edges=(0,))
    for paper in (sheet, short):
        (step,) = steps(layout(paper, up(50, shavings, offcut("p-a"))), paper, Cutter(square_up=2))
        assert step.squaring


def test_a_turned_frame_is_measured_from_its_true_edge():
    made = programme(turned())
    assert (made[0].base, made[0].base_kind, made[0].setting) == ("bottom", "true edge", 146 * MM)
    assert [s.squaring for s in made] == [False, False, True, False, False]
    assert [s.setting for s in made[3:]] == [186 * MM, 186 * MM]


def test_a_cut_that_meets_no_paper_is_left_out():
    sheet = Sheet.from_mm("p", [(0, 0), (200, 0), (100, 100), (0, 100)], true_edges=(0, 2, 3))
    made = layout(sheet, across(100, piece("a"), up(99.999, offcut("p-a"), shavings)))
    assert [s.axis for s in steps(made, sheet)] == ["x"]


def test_a_hole_under_the_knife_does_not_part_the_cut():
    sheet = Sheet.from_mm("p", [(0, 0), (200, 0), (200, 100), (0, 100)], holes=[[(90, 40), (110, 40), (110, 60), (90, 60)]],
                          true_edges="all")  # fmt: skip
    (step,) = steps(layout(sheet, across(100, offcut("p-a"), shavings)), sheet)
    assert step.length == 100 * MM and step.line == ((100 * MM, 0), (100 * MM, 100 * MM))


def test_a_long_row_of_cuts_needs_no_recursion():
    sheet = Sheet.rectangle("p", 3001, 10, true_edges="all")
    end, high = 3001 * MM, 10 * MM
    node = Shavings((3000 * MM, 0, end, high))
    for at in range(3000 * MM, 0, -MM):
        node = Cut((at - MM, 0, end, high), "x", at, Piece((at - MM, 0, at, high), "a", 0), node)
    made = Layout("p", 1, 0.0, (0, 0), node, (), (), Areas(0, 0, 0, 0))
    done = steps(made, sheet)
    assert len(done) == 3000 == cuts_with_stacking(made)
    assert settings(done) == (1 * MM,)


def replayed(found):
    """Carry the steps out on boxes: returns the boxes that are left, after checking every step against what is in hand."""
    lay = found.layouts[0]
    hands = {(0, "whole"): lay.tree.box}
    made = steps(lay, found.sheets[0], found.cutter)
    for step in made:
        box = hands.pop((step.after, step.hand))
        x0, y0, x1, y1 = box
        assert box == step.box
        low, high = (x0, x1) if step.axis == "x" else (y0, y1)
        assert low < step.at < high
        if step.base is not None:
            side = {"left": x0, "right": x1, "bottom": y0, "top": y1}[step.base]
            assert step.setting == abs(step.at - side) > 0
            assert (step.at_fence == "low") == (step.base in ("left", "bottom"))
            root = dict(zip(("left", "bottom", "right", "top"), lay.tree.box, strict=True))
            assert (step.base_kind == "cut edge") <= (side != root[step.base])
        if step.axis == "x":
            hands[step.number, "left of"], hands[step.number, "right of"] = (x0, y0, step.at, y1), (step.at, y0, x1, y1)
        else:
            hands[step.number, "below"], hands[step.number, "above"] = (x0, y0, x1, step.at), (x0, step.at, x1, y1)
    return made, sorted(hands.values())


@given(st.integers(0, 10**6))
@effort(max_examples=60, deadline=None)
def test_the_steps_carried_out_give_the_leaves_of_the_tree(seed):
    found = chance(seed)  # rectangles: every cut of the tree meets paper
    made, left = replayed(found)
    nodes = list(walk(found.layouts[0].tree))
    assert left == sorted(node.box for node in nodes if not isinstance(node, Cut))
    assert len(made) == sum(isinstance(node, Cut) for node in nodes)
    assert sum(s.stacks_on is None for s in made) >= cuts_with_stacking(found.layouts[0])


@given(st.integers(0, 10**6), st.booleans())
@effort(max_examples=60, deadline=None)
def test_an_untrue_edge_is_never_measured_from(seed, irregular):
    """With squaring, every base is an earlier cut or a true edge of the outline (design.md section 4, rule 6)."""
    found = chance(seed, irregular)
    sheet, lay = found.sheets[0], found.layouts[0]
    x0, y0, x1, y1 = lay.tree.box
    ends = [(sheet.outline[i], sheet.outline[(i + 1) % len(sheet.outline)]) for i in sheet.true_edges]
    true = {side for side, axis, at in (("left", 0, x0), ("right", 0, x1), ("bottom", 1, y0), ("top", 1, y1))
            if any(a[axis] == b[axis] == at for a, b in ends)}  # fmt: skip
    cuts: set[tuple[str, int]] = set()
    for step in steps(lay, sheet, Cutter(square_up=2)):
        if step.base is None:
            assert step.guide is not None
        else:
            side = dict(zip(("left", "bottom", "right", "top"), step.box, strict=True))[step.base]
            assert step.base_kind in ("cut edge", "true edge")
            assert (step.axis, side) in cuts or step.base in true
        cuts.add((step.axis, step.at))


def test_the_same_layout_gives_the_same_steps():
    assert programme(b3()) == programme(b3())


def test_a_sheet_without_cuts_has_no_steps():
    sheet = Sheet.rectangle("p", 100, 80)
    found = plan([sheet], [Blank("a", 100, 80)], [layout(sheet, piece("a"))])
    assert programme(found) == () and settings(()) == () and cuts_with_stacking(found.layouts[0]) == 0
