"""Skewed sheets and ones quite unlike the usual: each is filled, passes the checker, and keeps its limit."""

from __future__ import annotations

import random

import pytest

import nesting
from nesting.search.budget import Budget
from nesting.search.sheet.single import Single

from .piles import ODD, salvaged, skewed

COVER = [nesting.Blank("cover", 108, 77)]
TWO = [nesting.Blank("cover", 108, 77), nesting.Blank("slim", 93, 50)]


@pytest.mark.parametrize("blanks", [COVER, TWO], ids=["one size", "two sizes"])
@pytest.mark.parametrize("name", sorted(ODD))
def test_odd_sheets_are_filled_soundly(name, blanks):
    found = nesting.fill(ODD[name](0.6), blanks, seconds=1)
    assert found.layout is not None
    assert found.worth <= found.upper_bound
    assert nesting.check(found.to_plan()) == ()


@pytest.mark.parametrize("seed", range(6))
def test_skewed_sheets_lose_nothing_by_their_frames(seed):
    sheet = skewed("s", random.Random(seed), 300, 220)
    auto, square = (nesting.fill(sheet, COVER, seconds=2, frames=frames) for frames in ("auto", "square"))
    assert auto.worth >= square.worth
    for found in (auto, square):
        assert found.worth <= found.upper_bound
        assert nesting.check(found.to_plan()) == ()


@pytest.mark.parametrize("blanks", [COVER, TWO], ids=["one size", "two sizes"])
def test_a_plain_rectangle_is_filled_as_rectangles_are(blanks):
    clear = nesting.fill(nesting.Sheet.rectangle("s", 252, 178.2), blanks)
    assert clear.proven
    plain = nesting.fill(ODD["rectangle"](0.6), blanks)
    assert (plain.worth, plain.upper_bound) == (clear.worth, clear.upper_bound)
    # a micrometre off at the top keeps the search for clear rectangles out: the other way must agree
    outline = [(0, 0), (252, 0), (252, 178.2), (100, 178.201), (0, 178.2)]
    single = Single(nesting.Sheet.from_mm("s", outline), blanks, None, "square")
    assert single.clear_ground() is None
    found = single.best([int(b.area_mm2) for b in blanks], Budget(20, None), 10**6)
    assert found.value == found.bound == clear.worth


def test_skewed_edges_are_one_to_six_degrees_off():
    import math

    for seed in range(50):
        outline = skewed("s", random.Random(seed)).outline
        edges = [(x - a, y - b) for (a, b), (x, y) in zip(outline, outline[1:] + outline[:1], strict=True)]
        long = sorted(edges, key=lambda e: -math.hypot(*e))[:4]
        off = [abs((math.degrees(math.atan2(y, x)) + 45) % 90 - 45) for x, y in long]
        assert all(1 <= a <= 6 for a in off)


def test_the_same_seed_gives_the_same_sheet():
    for make in (salvaged, skewed):
        assert make("s", random.Random(3)) == make("s", random.Random(3)) != make("s", random.Random(4))
