"""The careful hand: its pieces lie on good paper, can be cut, pass the checker, and are never more than is possible."""

from __future__ import annotations

import random
from functools import cache

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

import nesting
from nesting.layouts import Cut, Piece, Shavings
from nesting.plans import Fill, MadeWith
from nesting.search.arguments import checked_least
from nesting.search.budget import Budget
from nesting.search.building import build
from nesting.search.carefulhand import can_be_cut, careful_hand, careful_pieces
from nesting.search.handway import hand_way
from nesting.search.sheet.ground import ground
from nesting.search.sheet.single import Single

from .piles import ODD, salvaged, skewed

MM = 8000
PINWHEEL = [(0, 0, 2, 1), (2, 0, 3, 2), (1, 2, 3, 3), (0, 1, 1, 3)]


def tree_of(box, boxes, name, sizes):
    """Boxes as a tree of cuts within a box, made here by trying every line; None where there is none."""
    x0, y0, x1, y1 = box
    if not boxes:
        return Shavings(box)
    if list(boxes) == [box]:
        return Piece(box, name, sizes[x1 - x0, y1 - y0])
    for axis, (low, high) in ((0, (x0, x1)), (1, (y0, y1))):
        for at in sorted({b[axis] for b in boxes} | {b[axis + 2] for b in boxes}):
            if low < at < high and not any(b[axis] < at < b[axis + 2] for b in boxes):
                halves = [(x0, y0, at, y1), (at, y0, x1, y1)] if axis == 0 else [(x0, y0, x1, at), (x0, at, x1, y1)]
                sides = [tree_of(h, [b for b in boxes if (b[axis] < at) == low], name, sizes)
                         for h, low in zip(halves, (True, False), strict=True)]  # fmt: skip
                return None if None in sides else Cut(box, "xy"[axis], at, *sides)
    return None


def judged(place, blank, boxes):
    """The faults that the checker finds in a layout of these boxes."""
    sizes = {blank.size(turn): turn for turn in blank.turns_on(place.sheet)}
    tree = tree_of(place.usable, boxes, blank.name, sizes)
    assert tree is not None
    least = checked_least(None, [blank])
    layout = build(place, tree, None, least)
    worth = blank.area_mm2 * len(boxes)
    made_with = MadeWith(nesting.__version__, "most-worth", 0, 1.0, None)
    blanks = (nesting.Blank(blank.name, blank.width / MM, blank.height / MM, turns=blank.turns, worth=blank.area_mm2),)
    fill = Fill(layout, worth, worth + 1, False, "search", (place.frame_deg,), place.sheet, blanks, None, made_with, least)
    return nesting.check(fill.to_plan())


@pytest.mark.parametrize("seed", range(6))
@pytest.mark.parametrize("make", [salvaged, skewed])
def test_its_pieces_can_be_cut_and_are_no_more_than_possible(seed, make):
    sheet = make("s", random.Random(seed), 300, 220)
    blank = nesting.Blank("cover", 70, 52)
    single = Single(sheet, [blank], None, "auto")
    limit = single.best([1], Budget(1, None), 10**6).bound
    angles = single.frames_deg[:2]
    for angle in angles:
        place = ground(sheet, angle, None)
        boxes = careful_pieces(place, blank, 2 * MM)
        assert all(place.fits(b) for b in boxes)
        assert judged(place, blank, boxes) == ()
        assert 0 < len(boxes) <= limit
    assert careful_hand(sheet, blank, None, angles, 2 * MM) <= limit


@pytest.mark.parametrize("name", sorted(ODD))
def test_its_pieces_on_odd_sheets(name):
    sheet, blank = ODD[name](0.5), nesting.Blank("cover", 60, 46)
    place = ground(sheet, 0.0, None)
    boxes = careful_pieces(place, blank, 4 * MM)
    assert boxes
    assert judged(place, blank, boxes) == ()
    assert len(boxes) <= Single(sheet, [blank], None, "square").best([1], Budget(1, None), 10**6).bound


def test_a_wheel_about_a_hole_is_never_marked():
    # worked by hand: four 20 x 10 about the hole cannot be cut apart edge to edge, any three of them can
    bad = [(10, 10), (20, 10), (20, 20), (10, 20)]
    sheet = nesting.Sheet.from_mm("s", [(0, 0), (30, 0), (30, 30), (0, 30)], bad=[bad])
    assert careful_hand(sheet, nesting.Blank("b", 20, 10)) == 3


def test_a_plain_sheet_worked_by_hand():
    sheet = nesting.Sheet.rectangle("s", 356, 280)
    assert careful_hand(sheet, nesting.Blank("cover", 216, 140)) == 3  # two above each other, one upright beside them
    assert hand_way(sheet, nesting.Blank("cover", 216, 140)) == 2
    assert careful_hand(sheet, nesting.Blank("cover", 421, 10, turns=(0,))) == 0


def test_a_piece_pushed_up_to_another_counts_though_no_raster_line_runs_there():
    sheet = nesting.Sheet.rectangle("s", 30.3, 10)
    assert careful_hand(sheet, nesting.Blank("b", 10.1, 10)) == 3


def test_squaring_cuts_and_turns_are_kept():
    sheet = nesting.Sheet.rectangle("s", 200, 150)
    assert careful_hand(sheet, nesting.Blank("card", 100, 75)) == 4
    assert careful_hand(sheet, nesting.Blank("card", 100, 75), nesting.Cutter(square_up=3)) == 2
    assert careful_hand(nesting.Sheet.rectangle("s", 75, 100), nesting.Blank("card", 100, 75, turns=(0,))) == 0


def test_a_wheel_cannot_be_cut_and_three_of_it_can():
    assert not can_be_cut(PINWHEEL)
    assert all(can_be_cut(PINWHEEL[:k] + PINWHEEL[k + 1 :]) for k in range(4))


cells = st.tuples(st.integers(0, 5), st.integers(0, 5), st.integers(1, 3), st.integers(1, 3))


@settings(max_examples=300, deadline=None, derandomize=True)
@given(st.lists(cells, max_size=8))
def test_what_can_be_cut_agrees_with_trying_every_cut(rects):
    boxes = []
    for x, y, w, h in rects:
        if not any(x < c and a < x + w and y < d and b < y + h for a, b, c, d in boxes):
            boxes.append((x, y, x + w, y + h))

    @cache
    def cut(group):
        if len(group) < 2:
            return True
        for axis in (0, 1):
            for at in range(1, 9):
                low = frozenset(b for b in group if b[axis + 2] <= at)
                high = frozenset(b for b in group if b[axis] >= at)
                if low and high and len(low) + len(high) == len(group) and cut(low) and cut(high):
                    return True
        return False

    assert can_be_cut(boxes) == cut(frozenset(boxes))
