"""The checker's own predicates and parts of paper, against shapely (robust on whole coordinates) and against counting."""

from __future__ import annotations

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from shapely import LinearRing, LineString, Point, Polygon
from shapely import box as box_of

from nesting.checking.exact import closer, crosses_itself, double_area, encloses, enters, further, moments, point_within
from nesting.checking.paper import lay, stack, touches
from nesting.sheets import Sheet
from tests.strategies import sheets

small = st.integers(-6, 6)
points = st.tuples(small, small)
lines = st.tuples(small, small, small, small)
rings = st.lists(points, min_size=3, max_size=7)


@st.composite
def boxes(draw: st.DrawFn) -> tuple[int, int, int, int]:
    x0, y0 = draw(points)
    return x0, y0, x0 + draw(st.integers(1, 8)), y0 + draw(st.integers(1, 8))


def line(segment: tuple[int, int, int, int]) -> LineString | Point:
    return Point(segment[:2]) if segment[:2] == segment[2:] else LineString([segment[:2], segment[2:]])


@given(lines, boxes())
def test_enters_means_a_point_strictly_inside(segment: tuple[int, int, int, int], box: tuple[int, int, int, int]) -> None:
    assert enters(segment, box) == line(segment).relate_pattern(box_of(*box), "T********")


@given(lines, boxes(), st.integers(1, 9))
def test_closer_is_a_true_distance(segment: tuple[int, int, int, int], box: tuple[int, int, int, int], gap: int) -> None:
    assume(not enters(segment, box))
    distance = line(segment).distance(box_of(*box))
    assert closer(segment, box, gap) == (distance < gap - 1e-9)


@given(points, lines, st.integers(0, 9))
def test_further_is_a_true_distance(point: tuple[int, int], segment: tuple[int, int, int, int], gap: int) -> None:
    assert further(*point, segment, gap) == (Point(point).distance(line(segment)) >= gap - 1e-9)


@given(rings)
def test_a_ring_that_crosses_or_touches_itself(ring: list[tuple[int, int]]) -> None:
    assume(all(a != b for a, b in zip(ring, ring[1:] + ring[:1], strict=True)))
    assert crosses_itself(ring) == (not LinearRing(ring).is_simple)


@given(rings, points)
def test_area_moments_and_inside(ring: list[tuple[int, int]], point: tuple[int, int]) -> None:
    shape = Polygon(ring)
    assume(shape.is_valid and shape.area > 0)
    area, over_x, over_y = moments(ring, 2, -3)
    assert abs(double_area(ring)) == abs(area) == round(2 * shape.area)
    assert over_x / area / 3 == pytest.approx(shape.centroid.x - 2) and over_y / area / 3 == pytest.approx(shape.centroid.y + 3)
    if not shape.exterior.contains(Point(point)):
        assert encloses(ring, *point) == shape.contains(Point(point))
    assert shape.contains(Point(*map(float, point_within(ring))))


@settings(max_examples=200, deadline=None, derandomize=True)
@given(sheets(), st.tuples(*[st.integers(-20, 460)] * 2), st.tuples(*[st.integers(1, 460)] * 2))
def test_parts_of_paper_in_a_box(sheet: Sheet, low: tuple[int, int], size: tuple[int, int]) -> None:
    """As many parts of the same areas and boxes as shapely finds; within a hundredth of a tick along each slanted edge."""
    box = low[0] * 8000, low[1] * 8000, (low[0] + size[0]) * 8000, (low[1] + size[1]) * 8000
    paper = lay(sheet, 0.0, (0, 0))
    scale = paper.frame.scale
    found = paper.parts(paper.frame.box(box))
    clipped = Polygon(sheet.outline, sheet.holes).intersection(box_of(*box))
    due = sorted((g for g in getattr(clipped, "geoms", [clipped]) if g.area > 0), key=lambda g: -g.area)
    loose = 1e-9 * sheet.area2 if not paper.odd_sides else 0.01 * Polygon(sheet.outline).length
    assert [part.area / 2 / scale**2 for part in found] == pytest.approx([g.area for g in due], abs=loose)
    for part, shape in zip(found, due, strict=True):
        if len(due) == 1:
            assert [v / scale for v in part.box] == pytest.approx(shape.bounds, abs=1)
        area, over_x, over_y = part.moments(0, 0)
        assert over_x / area / 3 / scale == pytest.approx(shape.centroid.x, abs=20) or len(due) > 1
        assert over_y / area / 3 / scale == pytest.approx(shape.centroid.y, abs=20) or len(due) > 1


def test_parts_that_meet_in_a_point_are_apart() -> None:
    """A notch whose tip just reaches the box's upper edge, and one that stays a tick below it."""
    for tip, count in ((60, 2), (60 - 1 / 8000, 1)):
        sheet = Sheet.from_mm("s", [(0, 0), (40, 0), (50, tip), (60, 0), (100, 0), (100, 80), (0, 80)])
        paper = lay(sheet, 0.0, (0, 0))
        assert len(paper.parts(paper.frame.box((0, 0, 800_000, 480_000)))) == count


def test_a_shape_has_one_normal_form_however_it_is_cut_up() -> None:
    whole = [(0, 4, 0, 2, 0, 2), (4, 6, 0, 1, 0, 1)]
    pieces = [(0, 1, 0, 1, 0, 1), (0, 1, 1, 2, 1, 2), (1, 4, 0, 2, 0, 2), (4, 5, 0, 1, 0, 1), (5, 6, 0, 1, 0, 1)]
    assert stack(whole) == stack(pieces) == [(0, 4, ((0, 2),)), (4, 6, ((0, 1),))]
    assert stack([(0, 4, 0, 2, 0, 3)]) is None
    assert stack([]) == []


@settings(max_examples=200, deadline=None, derandomize=True)
@given(sheets(), st.tuples(*[st.integers(-20, 400)] * 2), st.tuples(*[st.integers(1, 200)] * 2))
def test_touches_agrees_with_shapely(sheet: Sheet, low: tuple[int, int], size: tuple[int, int]) -> None:
    box = low[0] * 8000, low[1] * 8000, (low[0] + size[0]) * 8000, (low[1] + size[1]) * 8000
    paper = lay(sheet, 0.0, (0, 0))
    found = touches(paper, paper.frame.box(box))
    piece = box_of(*box)
    assert ("outside" in found) == (not Polygon(sheet.outline).covers(piece))
    assert ("hole" in found) == any(piece.relate_pattern(Polygon(ring), "T********") for ring in sheet.holes)
    assert ("bad" in found) == any(piece.relate_pattern(Polygon(ring), "T********") for ring in sheet.bad)
