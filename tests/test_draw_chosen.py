"""Pieces chosen before planning are marked on the drawing, and the mark is in the key."""

from __future__ import annotations

from dataclasses import replace

import pytest
from matplotlib.patches import PathPatch

from nesting import Plan
from nesting.draw import ink
from nesting.draw.chosen import HALF, chosen_pieces
from nesting.draw.diagrams import plan_pages
from nesting.fixed import Fixed
from nesting.layouts import Layout

from .drawn_cases import b3, tiny, turned
from .drawn_pages import clashes, drawn, text


def chosen(layout: Layout, k: int) -> Fixed:
    """The piece of a layout in a square frame as one that was chosen."""
    piece = layout.pieces[k]
    xs, ys = zip(*piece.corners, strict=True)
    return Fixed(layout.sheet, piece.blank, (min(xs), min(ys)), piece.turn, layout.frame_deg)


def diamonds(figure) -> list[tuple[float, float]]:
    """The middles of the marks on a page, but that of the key at its foot."""
    out = []
    for patch in drawn(figure, PathPatch):
        box = patch.get_path().get_extents()
        if patch.get_facecolor()[:3] == (0, 0, 0) and box.width == pytest.approx(2 * HALF) == pytest.approx(box.height):
            out.append(((box.x0 + box.x1) / 2, (box.y0 + box.y1) / 2))
    return out


def test_each_chosen_piece_has_its_mark():
    plan = b3()
    layout = plan.layouts[0]
    found = replace(plan, fixed=(chosen(layout, 0), chosen(layout, 3)))
    assert chosen_pieces(found) == {1: (layout.pieces[0], layout.pieces[3])}
    page = plan_pages(found)[1]
    assert len(diamonds(page)) == 2 and clashes(page) == [] and "chosen: lies as it was chosen" in text(page)
    outline = next(p.get_path().get_extents() for p in drawn(page, PathPatch) if p.get_linewidth() == pytest.approx(ink.EDGE))
    inside = []
    for x, y in diamonds(page):  # at 1 : 2.5
        at = (x - outline.x0) * 2.5 * 8000, (y - outline.y0) * 2.5 * 8000
        inside += [k for k, p in enumerate(layout.pieces) if p.corners[0][0] < at[0] < p.corners[2][0]
                   and p.corners[0][1] < at[1] < p.corners[2][1]]  # fmt: skip
    assert sorted(inside) == [0, 3]
    bare = plan_pages(plan)[1]
    assert diamonds(bare) == [] and "chosen" not in text(bare)


def test_a_chosen_piece_in_a_turned_frame_is_found():
    plan = turned()
    layout = plan.layouts[0]
    low_left = layout.pieces[1].corners[0]
    fixed = Fixed(layout.sheet, "cover", low_left, 0, 4.0)
    assert chosen_pieces(replace(plan, fixed=(fixed,))) == {1: (layout.pieces[1],)}
    assert chosen_pieces(replace(plan, fixed=(replace(fixed, angle=3.0),))) == {}
    assert len(diamonds(plan_pages(replace(plan, fixed=(fixed,)))[1])) == 1


def test_of_several_layouts_that_of_one_copy_is_meant_and_only_one():
    plan = tiny()
    layout = plan.layouts[0]
    fixed = (chosen(layout, 0),)
    twice: Plan = replace(plan, layouts=(replace(layout, copies=3), layout, layout), fixed=fixed)
    assert chosen_pieces(twice) == {2: (layout.pieces[0],)}
