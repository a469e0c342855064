"""Outlines of thousands of points: made simpler inward for layouts and outward for limits, never the other way."""

from __future__ import annotations

import math
import random

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from shapely import Polygon

import nesting
from nesting.search.budget import Budget
from nesting.search.sheet.simpler import MOST_POINTS, TOLERANCE, simpler
from nesting.search.sheet.single import Single
from tests.strategies import traced_sheet


@settings(max_examples=30, deadline=None, derandomize=True)
@given(st.integers(0, 10**9), st.sampled_from([401, 1_200, 2_500]), st.sampled_from([0.0, 0.05, 0.4, 3.0]))
def test_the_inner_shape_is_never_outside_and_the_outer_one_never_inside(seed, points, noise):
    sheet = traced_sheet(random.Random(seed), "s", points, noise)
    found = simpler(sheet)
    if found is None:
        assume(False)
    true, inner, outer = (Polygon(r) for r in (sheet.outline, found.inner.outline, found.outer.outline))
    assert inner.is_valid and outer.is_valid
    assert true.covers(inner)
    assert outer.covers(true)
    # what is deeper in the paper than the tolerance stays, where it hangs together
    deep = true.buffer(-1.01 * found.tolerance)
    assert deep.difference(inner.buffer(2)).area <= 1e-6 * true.area or deep.geom_type == "MultiPolygon"
    assert true.buffer(1.01 * found.tolerance).covers(outer)
    for ring, grown, shrunk in zip((*sheet.holes, *sheet.bad), found.inner.gone, found.outer.gone, strict=True):
        assert Polygon(grown).is_valid and Polygon(grown).covers(Polygon(ring))
        assert Polygon(shrunk).is_valid and Polygon(ring).covers(Polygon(shrunk))
    lost = (true.area - inner.area) + sum(
        Polygon(g).area - Polygon(r).area for r, g in zip((*sheet.holes, *sheet.bad), found.inner.gone, strict=True))
    assert found.lost2 == pytest.approx(2 * lost, rel=1e-9, abs=2)
    assert found.lost2 <= 2 * 1.05 * found.tolerance * sum(
        Polygon(r).length for r in (sheet.outline, *sheet.holes, *sheet.bad)) or noise >= 0.4


@pytest.mark.parametrize(("noise", "tolerance"), [(0.0, TOLERANCE), (0.05, TOLERANCE)])
def test_five_thousand_points_become_some_hundred_within_the_tolerance(noise, tolerance):
    found = simpler(traced_sheet(random.Random(3), "s", 4_900, noise))
    assert found is not None
    assert found.inner.points <= MOST_POINTS and found.outer.points <= MOST_POINTS
    assert found.tolerance == tolerance
    assert found.lost2 > 0


def test_the_tolerance_grows_only_where_the_points_demand_it():
    found = simpler(traced_sheet(random.Random(3), "s", 4_900, 0.6))
    assert found is not None
    assert found.inner.points <= MOST_POINTS
    assert TOLERANCE < found.tolerance <= 16 * TOLERANCE


def test_points_on_a_line_cost_nothing():
    points = [(x / 10, 0) for x in range(3_000)] + [(300, 0), (300, 200), (0, 200)]
    found = simpler(nesting.Sheet.from_mm("s", points))
    assert found is not None
    assert found.inner == found.outer and len(found.inner.outline) == 4
    assert (found.tolerance, found.lost2) == (0, 0)


def test_a_sheet_of_few_points_is_left_alone():
    assert simpler(nesting.Sheet.rectangle("s", 100, 100)) is None


def test_long_straight_edges_stay_where_they_are():
    # a torn right edge of 2,000 points; two columns of 200 need the full width from the left edge to 400
    right = [(402 + 1.5 * math.sin(k / 7), 300 * k / 2_000) for k in range(2_001)]
    sheet = nesting.Sheet.from_mm("s", [(0, 0), *right, (0, 300)])
    done = nesting.plan([sheet], [nesting.Blank("b", 200, 150)], aim="most-worth", frames="square", seconds=5)
    assert done.made() == {"b": 4}
    assert nesting.check(done) == ()


@settings(max_examples=4, deadline=None, derandomize=True)
@given(st.integers(0, 10**9), st.sampled_from([0.05, 0.3]))
def test_layouts_are_good_on_the_true_outline_and_limits_hold_for_it(seed, noise):
    rng = random.Random(seed)
    sheet = traced_sheet(rng, "s", 1_000, noise)
    blank = nesting.Blank("b", rng.randint(30, 90), rng.randint(30, 90))
    single = Single(sheet, [blank], None, "square")
    assume(single.possible())
    done = nesting.plan([sheet], [blank], aim="most-worth", frames="square", seconds=4)
    assert nesting.check(done) == ()
    # the true outline in the search, every point of it
    exact = Single(sheet, [blank], None, "square")
    exact.simple = None
    found = exact.best([1], Budget(20, None), 20_000)
    assert done.made()["b"] <= found.bound
    assert done.bound.limit / blank.area_mm2 >= found.value - 1e-9
