"""What an offcut of an odd sheet is in stock; its damage and its paper are recomputed here by shapely."""

from __future__ import annotations

import math
from dataclasses import replace
from pathlib import Path

import pytest
from shapely import Polygon, affinity

from inventory.book import Book, offcuts
from inventory.stock import StockSheet
from nesting import Blank, InputError, Sheet, fill
from nesting.geometry import area2
from nesting.lengths import TICKS_PER_MM as MM
from nesting.sheets import Zone
from tests.stock_cases import TIME, corner_plan, stock

LATER = "2026-03-02T09:00:00+00:00"


@pytest.fixture
def book(tmp_path: Path):
    with Book.open(tmp_path / "stock.sqlite", create=True, identity="bench") as opened:
        yield opened



def offcuts_on(book: Book, sheet: Sheet, blank: Blank, frame: float | str) -> tuple[tuple[StockSheet, ...], object]:
    book.receive([StockSheet(sheet)], TIME)
    plan = book.stamp(fill(sheet, [blank], frames="square" if frame == 0 else (frame,), seconds=5, steps=2000).to_plan())
    return book.cut(plan, LATER).offcuts, plan


@pytest.mark.parametrize("frame", [0, 7.5, -33.0])
def test_damage_never_shrinks_and_paper_never_grows_on_an_offcut(book, frame):
    sheet = Sheet.from_mm("s1", [(0, 0), (400, 9), (380, 310), (11, 290)], holes=[[(300, 150), (320, 155), (305, 170)]],
                          bad=[[(150, 0), (163, 0), (170, 300), (151, 300)], [(330, 100), (360, 103), (340, 140)]],
                          best=[([(200, 100), (390, 100), (330, 220)], 3.0)],
                          grain="x", grain_guessed=True, up="+y", true_edges=(0,), material="cover")  # fmt: skip
    found, plan = offcuts_on(book, sheet, Blank("card", 100, 95, 1, turns=(0, 90), material="cover"), frame)
    assert found, "the case must leave an offcut"
    assert book.verify() == ()
    layout = plan.layouts[0]
    turned = abs(frame) > 10
    for piece, offcut in zip(layout.offcuts, found, strict=True):
        assert offcut.sheet.grain == (None if turned else "x") and offcut.sheet.grain_guessed == (not turned)
        assert ("degrees off" in offcut.note) == turned
        assert min(x for x, _ in offcut.sheet.outline) == 0 and min(y for _, y in offcut.sheet.outline) == 0
        there = Polygon(piece.outline)
        turned_back = [affinity.rotate(there, -frame, origin=(0, 0))]
        x, y, *_ = turned_back[0].bounds
        to_offcut = lambda shape, x=x, y=y: affinity.translate(affinity.rotate(shape, -frame, origin=(0, 0)), -x, -y)  # noqa: E731
        paper = Polygon(offcut.sheet.outline)
        near = 2.5  # ticks: the plan's own corners are whole ticks of the sheet before the turn
        assert to_offcut(there).buffer(near).covers(paper) and paper.buffer(near).covers(to_offcut(there))
        edges = list(zip(offcut.sheet.outline, (*offcut.sheet.outline[1:], offcut.sheet.outline[0]), strict=True))
        square = {i for i, (a, b) in enumerate(edges) if a[0] == b[0] or a[1] == b[1]}
        assert square & set(offcut.sheet.true_edges)  # what the knife made
        along = [i for i in offcut.sheet.true_edges if i not in square]
        assert all(abs(math.degrees(math.atan2(b[1] - a[1], b[0] - a[0])) - math.degrees(math.atan2(9, 400)) + frame) < 0.01
                   for a, b in (edges[i] for i in along))  # and the sheet's own true edge, from (0, 0) to (400, 9)
        bad = Polygon()
        for ring in (*offcut.sheet.bad, *offcut.sheet.holes):
            bad = bad.union(Polygon(ring))
        for ring in (*sheet.bad, *sheet.holes):
            lost = to_offcut(Polygon(ring)).intersection(paper.buffer(-near)).difference(bad)
            assert lost.buffer(-near / 2).is_empty
        best = [Polygon(z.outline) for z in offcut.sheet.zones if z.kind == "best"]
        assert all(z.weight == 3.0 for z in offcut.sheet.zones if z.kind == "best")
        for shape in best:
            assert to_offcut(Polygon(sheet.zones[-1].outline)).buffer(near).covers(shape)


def test_damage_cut_by_a_slanted_edge_grows_outward_exactly(book):
    # the bad area's right edge crosses the knife's lines x = 100 mm between two ticks
    ring = ((60 * MM, 100 * MM), (140 * MM + 1, 107 * MM), (139 * MM, 201 * MM), (77 * MM, 202 * MM))
    sheet = replace(stock("s1").sheet, zones=(Zone("bad", ring),))
    book.receive([replace(stock("s1"), sheet=sheet)], TIME)
    found = book.cut(corner_plan(book, ["s1"]), LATER).offcuts
    for offcut, corner in zip(found, ((0, 90 * MM), (100 * MM, 0)), strict=True):
        moved = Polygon([(x - corner[0], y - corner[1]) for x, y in ring])
        there = moved.intersection(Polygon(offcut.sheet.outline))
        bad = Polygon(offcut.sheet.bad[0])
        assert len(offcut.sheet.bad) == 1 and not there.is_empty
        assert bad.covers(there) and there.buffer(6, join_style="mitre").covers(bad)


def test_damage_that_the_knife_misses_stays_as_it_is(book):
    ring = ((160 * MM, 100 * MM), (240 * MM + 1, 107 * MM), (239 * MM, 201 * MM))
    book.receive([replace(stock("s1"), sheet=replace(stock("s1").sheet, zones=(Zone("bad", ring),)))], TIME)
    a, b = book.cut(corner_plan(book, ["s1"]), LATER).offcuts
    assert a.sheet.bad == () and b.sheet.bad == (tuple((x - 100 * MM, y) for x, y in ring),)


def test_a_hole_on_the_knife_becomes_part_of_the_edge_and_a_hole_inside_stays(book):
    def square(x: int, y: int):
        return ((x * MM, y * MM), ((x + 20) * MM, y * MM), ((x + 20) * MM, (y + 20) * MM), (x * MM, (y + 20) * MM))

    outline = ((0, 0), (420 * MM, 0), (420 * MM, 297 * MM), (0, 297 * MM))
    holes = (square(90, 200), square(300, 200))
    sheet = Sheet.from_ticks("s1", outline, holes=holes, true_edges="all", material="cover")
    found, plan = offcuts_on(book, sheet, Blank("card", 100, 95, 1, turns=(0,), worth=1, material="cover"), 0)
    total = sum(area2(s.sheet.outline) - sum(map(area2, s.sheet.holes)) for s in found)
    assert total == plan.layouts[0].areas.offcuts
    assert sum(len(s.sheet.holes) for s in found) >= 1
    assert book.verify() == ()


def test_a_hole_that_touches_the_knife_at_a_point_stays_a_hole(book):
    diamond = ((100 * MM, 200 * MM), (130 * MM, 170 * MM), (160 * MM, 200 * MM), (130 * MM, 230 * MM))
    sheet = replace(stock("s1").sheet, holes=(diamond,))
    book.receive([StockSheet(sheet)], TIME)
    plain, hole = corner_plan(book, ["s1"]), area2(diamond)
    areas = plain.layouts[0].areas
    layout = replace(plain.layouts[0], areas=replace(areas, sheet=areas.sheet - hole, offcuts=areas.offcuts - hole))
    a, b = book.cut(book.stamp(replace(plain, layouts=(layout,))), LATER).offcuts
    assert a.sheet.area2 == 2 * 100 * 207 * MM * MM
    assert b.sheet.area2 == 2 * 320 * 297 * MM * MM - hole and len(b.sheet.holes) == 1
    assert book.verify() == ()


def test_paper_that_hangs_together_at_a_point_keeps_its_larger_part():
    small = ((0, 0), (10, 0), (10, 10))
    pinched = (*small, (30, 10), (30, 40), (10, 40), (10, 10), (0, 10))
    outline, holes = offcuts._repaired(pinched, [], "s1-a")
    assert Polygon(outline).equals(Polygon(((10, 10), (30, 10), (30, 40), (10, 40)))) and holes == ()
    with pytest.raises(InputError, match="offcut s1-a"):
        offcuts._repaired(((0, 0), (10, 0), (20, 0)), [], "s1-a")
