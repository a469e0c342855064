"""Line kinds, hatches, scale and bars of the drawings: true to paper, told apart without colour (ISO 128-2)."""

from __future__ import annotations

import re
from dataclasses import replace

import pytest
from matplotlib.collections import LineCollection
from matplotlib.lines import Line2D
from matplotlib.patches import PathPatch

from inventory.drawings import page_bytes
from nesting.draw import ink
from nesting.draw.diagrams import plan_pages
from nesting.draw.picture import SCALES
from nesting.lengths import TICKS_PER_MM as MM

from .drawn_cases import CASES, b3, torn
from .drawn_pages import drawn, flowing, long_on_paper, text


@pytest.mark.parametrize("name", ["b3", "tiny", "long_strip"])
def test_the_bars_measure_100_mm_and_4_in_on_paper(name):
    make, unit = CASES[name]
    for page in plan_pages(make(), unit=unit):
        heavy = [line for line in drawn(page, Line2D) if line.get_linewidth() > 2.2 and line.get_linestyle() != "none"]
        sizes = sorted(long_on_paper(line) for line in heavy)
        assert any(abs(s - 100) < 1e-6 for s in sizes) and any(abs(s - 101.6) < 1e-6 for s in sizes)
        assert all(line.get_solid_capstyle() == "butt" for line in heavy)


@pytest.mark.parametrize("name", CASES)
def test_the_sheet_is_drawn_to_the_scale_stated(name):
    make, unit = CASES[name]
    found = make()
    for page in plan_pages(found, unit=unit, paper="Letter"):
        stated = re.search(r"Drawn (\d+\.?\d*) : (\d+\.?\d*)", text(page))
        if stated is None:
            continue
        factor = float(stated[1]) / float(stated[2])
        assert factor in [pytest.approx(scale) for scale in SCALES]
        outlines = [patch for patch in drawn(page, PathPatch) if patch.get_linewidth() == pytest.approx(ink.EDGE)]
        x0, _, x1, _ = found.sheets[0].box
        wide = [patch.get_path().get_extents().width for patch in outlines]
        assert max(wide) == pytest.approx((x1 - x0) / MM * factor, rel=1e-6)


def test_line_kinds_differ_without_colour():
    """ISO 128-2: continuous wide for cuts, dashed for folds; squaring cuts dash-dotted. All of it black."""
    page = plan_pages(torn())[1]
    lines = [line for line in drawn(page, Line2D) if line.get_marker() in ("None", None)]
    assert {line.get_color() for line in lines} <= {ink.BLACK, "#555555"}
    wide = [line for line in lines if line.get_linewidth() == pytest.approx(ink.WIDE)]
    patterns = [line._unscaled_dash_pattern[1] and tuple(line._unscaled_dash_pattern[1]) for line in wide]
    assert set(patterns) == {None, tuple(ink.DASH_DOT[1])}
    assert patterns.count(ink.DASH_DOT[1]) == 2 + 1  # two squaring cuts, and the sample in the key
    folds = [line for line in lines if line._unscaled_dash_pattern[1] and tuple(line._unscaled_dash_pattern[1]) == ink.DASHED[1]]
    # the fold of the one cover, 146 mm at 1 : 2.5, and its sample in the key
    assert sorted(round(long_on_paper(line), 3) for line in folds) == [8.0, 58.4]


def test_damage_is_hatched_and_only_where_it_is():
    """Hatch segments lie in the damage (a strip 11 mm wide at 1 : 2.5), at 45 degrees."""
    page = plan_pages(b3())[1]
    hatched = [np for c in drawn(page, LineCollection) for np in c.get_segments()
               if abs(abs(np[1][0] - np[0][0]) - abs(np[1][1] - np[0][1])) < 1e-9 and abs(np[1][0] - np[0][0]) > 0.5]  # fmt: skip
    assert hatched
    big = [s for s in hatched if s[0][1] > 120 and s[0][0] < 40]
    assert big and max(abs(s[1][0] - s[0][0]) for s in big) <= 11 / 2.5 + 1e-6


def test_a_page_says_which_edges_are_true_and_marks_them(tmp_path):
    some = b3()
    sheet = some.sheets[0]
    none = replace(some, sheets=(replace(sheet, true_edges=()),))
    every = replace(some, sheets=(replace(sheet, true_edges=tuple(range(len(sheet.outline)))),))
    pages = [plan_pages(plan)[1] for plan in (some, none, every)]
    said = ("true edges marked", "no edge true: square it first", "all edges true")
    assert [[words in flowing(page) for words in said] for page in pages] == [
        [True, False, False], [False, True, False], [False, False, True]]  # fmt: skip
    assert ["true edge" in text(page) for page in pages] == [True, False, True]  # the key
    assert len({page_bytes(page, "svg") for page in pages}) == 3
