"""Ruled stock: where lines meet, against brute force over starts; the pads of the bench; what is refused."""

from __future__ import annotations

import json
from dataclasses import replace
from itertools import pairwise
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

import nesting
from inventory.book import Book
from inventory.descriptions import parse_text
from inventory.stock import StockSheet
from nesting import Blank, ImpossibleJob, InputError, Plan, Sheet
from nesting.layouts import corners_of
from nesting.lengths import TICKS_PER_MM as MM
from nesting.lengths import mm, parse
from nesting.notebook.formats import Format, Grains
from nesting.notebook.reams import Paper, ream_rows
from nesting.notebook.ruled import most_that_meet, on_ruled
from nesting.notebook.ruled_plan import plan_that_meets, tree_of
from nesting.ruling import Lines, Ruling
from nesting.search.phased import packed
from tests.brute import most_started
from tests.commands import run
from tests.strategies import ruled_sheets

B4_PAD = "210 x 297; ruled across 8 first 25; margin L 32 wide 2; grain up; count 80"
# A letter pad, college ruled (9/32 in: US rulings, V2), margin line on one side, three holes on the other; from memory.
LETTER_PAD = ("8 1/2 x 11; ruled across 9/32 first 1 1/2; margin L 1 1/4 wide 1/16; holes R 3 at 1 1/4 5 1/2 9 3/4 deep 11/16 "
              "wide 5/16; header 1 1/8; pad T deep 1/16; grain up; count 50")  # fmt: skip
# A4 with two holes 80 mm apart, 6 mm wide, 12 mm in from the edge: ISO 838, from memory.
A4_PUNCHED = "210 x 297; ruled across 9 first 27; holes L 2 at 108.5 188.5 deep 15 wide 6; grain up; count 100"


def described(text: str, unit: str = "mm") -> StockSheet:
    read = parse_text(f"unit {unit}\nkind parent\nmaterial folio\npad: {text}")
    assert not read.faults, read.sentences
    return read.sheets[0]


def fault(text: str) -> str:
    read = parse_text(f"unit mm\nkind parent\npad: {text}")
    assert not read.sheets
    return read.faults[0].reason


def folio(width: float, height: float, quantity: int | None = None, **more: Any) -> Blank:
    return Blank("folio", width, height, quantity, material="folio", lines_meet=True, **more)


# the search


@settings(deadline=None, max_examples=60)
@given(st.data())
def test_most_pieces_of_given_starts_as_by_brute_force(data: st.DataObject) -> None:
    width, height = data.draw(st.integers(2, 11)), data.draw(st.integers(2, 11))
    w, h = data.draw(st.integers(1, 4)), data.draw(st.integers(1, 4))
    corner = st.tuples(st.integers(0, width - 1), st.integers(0, height - 1))
    bad = [(x, y, x + data.draw(st.integers(1, 3)), y + data.draw(st.integers(1, 3)))
           for x, y in data.draw(st.lists(corner, max_size=4))]  # fmt: skip
    across = sorted(data.draw(st.sets(st.integers(0, width - w)))) if width >= w else []
    along = sorted(data.draw(st.sets(st.integers(0, height - h)))) if height >= h else []
    found = packed(bad, w, h, across, along)
    due = most_started(width, height, bad, (w, h), lambda x, y: x in across and y in along)
    assert found.proven and len(found.pieces) == found.limit == due
    assert all(box[0] in across and box[1] in along for box in found.pieces)
    short = packed(bad, w, h, across, along, steps=1)
    assert len(short.pieces) <= due <= short.limit
    assert packed(bad, w, h, across, along, at_least=due).limit >= due


@settings(deadline=None, max_examples=60)
@given(ruled_sheets(), st.integers(1, 5), st.integers(2, 6))
def test_lines_meet_as_by_brute_force_over_starts(case: tuple[Sheet, list[tuple[int, int, int, int]]], w: int, h: int) -> None:
    sheet, bad = case
    width, height = (v // MM for v in sheet.box[2:])
    assert sheet.ruling is not None and sheet.ruling.rows is not None
    lines = [(sheet.ruling.rows.low + k * sheet.ruling.rows.pitch) // MM for k in range(sheet.ruling.rows.count)]

    def carried(y: int) -> tuple[int, ...]:
        return tuple(sorted(y + h - line for line in lines if y < line < y + h))

    patterns = {carried(y) for y in range(height - h + 1)} - {()}
    due = max((most_started(width, height, bad, (w, h), lambda x, y, p=p: carried(y) == p) for p in patterns), default=0)
    blank = folio(w, h)
    if due == 0:
        with pytest.raises(ImpossibleJob):
            most_that_meet(sheet, blank)
        return
    found = most_that_meet(sheet, blank)
    assert found.proven and found.count == due
    plan = plan_that_meets(sheet, folio(w, h, 2 * due + 1))
    assert nesting.check(plan) == () and plan.bound.proven
    assert sum(layout.copies for layout in plan.layouts) == 3
    assert Plan.from_dict(json.loads(json.dumps(plan.to_dict()))) == plan


def test_finer_places_than_the_lines_of_the_sheet_do_not_help() -> None:
    # brute force over starts of a tenth of a mm: heads 0.3 mm off the best phase lose a folio
    sheet = Sheet.from_ticks("pad", ((0, 0), (50 * MM, 0), (50 * MM, 107 * MM), (0, 107 * MM)), material="folio",
                             ruling=Ruling.of("ruled", 50 * MM, 107 * MM, 7 * MM, 10 * MM))  # fmt: skip
    best = most_that_meet(sheet, folio(50, 33))
    counts = []
    for tenth in range(70):
        starts = [s for s in range(tenth * MM // 10, 74 * MM + 1, 7 * MM) if s + 7 * MM > 10 * MM]
        at, count = 0, 0
        for s in starts:
            if s >= at:
                at, count = s + 33 * MM, count + 1
        counts.append(count)
    assert best.count == max(counts) and len(set(counts)) > 1


# the bench


def test_b4_a_ruled_pad_by_hand() -> None:
    # bench story B4: common practice, no source
    pad = described(B4_PAD)
    book = Format.make("B4", 85.5, 130, folios=12, trim=3, lines_meet=True)
    blank = on_ruled(book, next(b for b in book.blanks(13) if b.material == "folio"), [pad.sheet])
    assert (mm(blank.width), mm(blank.height), blank.up) == (177, 136, "+y")
    found = most_that_meet(pad.sheet, blank)
    tops = sorted(297 - mm(box[3]) for box in found.boxes)
    assert tops == [17, 153] and {mm(box[0]) for box in found.boxes} == {33}
    assert (found.count, found.proven, mm(found.head_margin)) == (2, True, 8)
    plan = plan_that_meets(pad.sheet, blank)
    assert nesting.check(plan) == () and dict(plan.short) == {"B4 folio": 0}
    assert plan.sheets_used() == {"pad": 78}  # 13 books, 2 sheets over
    rows = ream_rows(book, [Paper("pad", pad.sheet, bought=True, in_stock=80)], 80)
    assert [(r.pieces, r.books, r.sheets_over, r.proven) for r in rows] == [(2, 13, 2, True)]


@pytest.mark.parametrize(("text", "unit", "width", "height", "free", "met"), [
    (LETTER_PAD, "in", "5 1/2 in", "3 1/4 in", 3, 2),
    (A4_PUNCHED, "mm", 190, 63, 4, 4), (A4_PUNCHED, "mm", 190, 64, 4, 3), (A4_PUNCHED, "mm", 210, 60, 3, 3),
])  # fmt: skip
def test_what_meeting_costs_on_punched_pads(text: str, unit: str, width: Any, height: Any, free: int, met: int) -> None:
    # counted by hand from the zones: common practice, no source
    sheet = replace(described(text, unit).sheet, count=1)
    blank = folio(width, height, grain="y", up="+y")
    best = nesting.fill(sheet, [blank.with_lines_meeting(False)])
    assert best.proven and best.layout and len(best.layout.pieces) == free
    found = most_that_meet(sheet, blank)
    assert (found.count, found.proven) == (met, True)
    clear = [z.outline for z in sheet.zones]
    for x0, y0, x1, y1 in found.boxes:
        for ring in clear:
            xs, ys = [x for x, _ in ring], [y for _, y in ring]
            assert x1 <= min(xs) or x0 >= max(xs) or y1 <= min(ys) or y0 >= max(ys)


def test_lines_that_run_up_turn_the_folio_and_the_answer_is_the_same() -> None:
    across = described("210 x 297; ruled across 8 first 25; margin L 32; header 20; grain up").sheet
    up = described("297 x 210; ruled up 8 first 25; margin B 32; header 20; grain across").sheet
    assert (across.up, up.up) == ("+y", "-x")
    blank = folio(120, 90, grain="y", up="+y")
    a, b = most_that_meet(across, blank), most_that_meet(up, blank)
    assert (a.turn, b.turn) == (0, 90) and (a.count, a.lines, a.head_margin) == (b.count, b.lines, b.head_margin)
    assert {(x0, 297 * MM - y1) for x0, _, _, y1 in a.boxes} == {(y0, x0) for x0, y0, _, _ in b.boxes}
    assert nesting.check(plan_that_meets(up, folio(120, 90, 3, grain="y", up="+y"))) == ()


def test_lines_against_the_grain_are_said_to_be_impossible() -> None:
    wrong = described("210 x 297; ruled across 8 first 25; grain across").sheet
    with pytest.raises(ImpossibleJob, match="square to the spine"):
        most_that_meet(wrong, folio(120, 90, grain="y"))


@pytest.mark.parametrize("kind", ["squared", "dotted"])
def test_squares_are_alike_to_both_sides_of_the_spine(kind: str) -> None:
    # squares 5 mm: German school paper (V2)
    sheet = described(f"210 x 297; {kind} 5 first 6 left 7.5; count 10").sheet
    found = most_that_meet(sheet, folio(96, 60))
    assert found.proven and found.count >= 8
    middles = {((x0 + x1) // 2 - int(7.5 * MM)) % (5 * MM) for x0, _, x1, _ in found.boxes}
    assert middles in ({0}, {5 * MM // 2})
    plan = plan_that_meets(sheet, folio(96, 60, 17))
    assert nesting.check(plan) == ()
    with pytest.raises(InputError, match="first column"):
        most_that_meet(described(f"210 x 297; {kind} 5 first 6").sheet, folio(96, 60))


# published rulings


@pytest.mark.parametrize(("text", "due"), [("11/32 in", 8.731), ("9/32 in", 7.144), ("8/32 in", 6.350)])
def test_t46_us_rulings(text: str, due: float) -> None:
    # ruled-paper article; yourcustombag (V2)
    pitch = parse(text)
    assert mm(pitch) == pytest.approx(due, abs=0.001)
    rows = described(f"8 1/2 x 11; ruled across {text.removesuffix(' in')} first 1 1/2", "in").sheet.ruling
    assert rows is not None and rows.rows is not None and rows.rows.pitch == pitch


def test_t47_din_16552_lines_fit_their_sheets() -> None:
    # DIN 16552-1 (2005): no. 25, 30 lines of 9 mm on A4; no. 12, 62 lines of 3 mm on A5 (geiring.de; schulstart.de; V2)
    assert 30 * 9 == 270 <= 297 and 62 * 3 <= 210
    for text, last in (("210 x 297; ruled across 9 first 27 lines 30", 27 + 29 * 9),
                       ("148 x 210; ruled across 3 first 20 lines 62", 20 + 61 * 3)):  # fmt: skip
        ruling = described(text).sheet.ruling
        assert ruling is not None and ruling.rows is not None
        height = int(text.split(";")[0].split("x")[1])
        assert mm(ruling.rows.low) == height - last >= 0
    assert "34 that the sheet has room for" in fault("210 x 297; ruled across 9 first 0 lines 40")


# descriptions and the stock book


@pytest.mark.parametrize(("text", "said"), [
    ("ruled across 0 first 25", "ruled, pitch"), ("ruled across 0.5 first 25", "from line to line"),
    ("ruled across 8 first 297", "height, 297 mm"), ("ruled up 8 first 210", "width, 210 mm"), ("header 297", "header"),
    ("ruled up 8 first 9; header 210", "width, 210 mm"), ("margin L 300", "margin L"),
    ("ruled 8 first 25", "ruled across 8 first 25"),
    ("ruled acros 8 first 25", 'Did you mean "across"?'), ("ruled across 8 frist 25", 'Did you mean "first"?'),
    ("ruled across 8 first 25 left 4", "squared or dotted"), ("squared 5 first 10 left 210", "width, 210 mm"),
    ("holes L 3 at 40 148 deep 15 wide 6", "3 places"), ("holes L 1 at 400 deep 15 wide 6", "297 mm long"),
    ("holes L 1 at 40 deep 5 wide 6", "far rim"), ("holes L 1 at 40", "holes L 3 at"), ("pad X", "L, R, T or B"),
    ("pad T; true T", "glued to a pad"), ("ruled across 8 first 25; print down", "as its lines run across"),
    ("ruled across 8 first 25; ruled up 8 first 25", "one ruling"),
])  # fmt: skip
def test_wrong_descriptions_are_a_sentence(text: str, said: str) -> None:
    assert said in fault(f"210 x 297; {text}")


def test_a_description_gives_zones_and_lines() -> None:
    sheet = described("210 x 297; ruled across 8 first 25; margin L 32; holes R 1 at 100 deep 15 wide 6; header 20; pad T").sheet
    assert sheet.ruling == Ruling("ruled", Lines(0, 8 * MM, 35)) and sheet.up == "+y"
    boxes = [tuple(v / MM for v in (*ring[0], *ring[2])) for ring in sheet.bad]
    assert boxes == [(31.5, 0, 32.5, 297), (195, 97, 201, 103), (0, 277, 210, 297), (0, 296, 210, 297)]
    assert sheet.true_edges == (0, 1, 3)  # all but the glued edge
    like = parse_text("unit mm\na: 210 x 297; ruled across 8 first 25; margin L 32\n"
                      "b: like a; no ruled; no margin L; squared 5 first 9")  # fmt: skip
    assert [s.sheet.ruling.kind for s in like.sheets if s.sheet.ruling] == ["ruled", "squared"] and not like.sheets[1].sheet.bad


def test_the_stock_book_keeps_the_lines_and_offcuts_keep_their_place(tmp_path: Path) -> None:
    pad = described("210 x 297; ruled across 8 first 25; margin L 32; grain up; count 3")
    with Book.open(tmp_path / "stock.sqlite", create=True, identity="bench") as book:
        book.receive([pad], "2026-03-01T09:00:00+00:00")
        assert next(iter(book.sheets())).sheet.ruling == pad.sheet.ruling
        plan = book.stamp(plan_that_meets(pad.sheet, folio(150, 90, 1, grain="y", up="+y"), least_offcut=(60, 60)))
        cut = book.cut(plan, "2026-03-02T09:00:00+00:00").offcuts
        assert book.verify() == () and cut
    outlines = {o.id: o.outline for o in plan.layouts[0].offcuts}
    for stock in cut:
        ring = outlines[stock.id]
        x, y = min(p[0] for p in ring), min(p[1] for p in ring)
        assert pad.sheet.ruling is not None and stock.sheet.ruling == pad.sheet.ruling.moved(x, y)
        assert stock.sheet.ruling.rows and (stock.sheet.ruling.rows.low + y - (297 - 25) * MM) % (8 * MM) == 0


def test_a_table_keeps_the_lines_of_an_offcut(tmp_path: Path) -> None:
    from inventory.rows import cells_of, sheet_of

    pad = described("210 x 297; ruled across 8 first 25; margin L 32; grain up; count 3")
    bare = replace(pad, description="", kind="offcut")
    for stock in (pad, bare, replace(bare, sheet=replace(bare.sheet, zones=(), ruling=Ruling(
            "squared", Lines(-3, 5 * MM, 40), Lines(7 * MM // 2, 5 * MM, 30)), up=None))):  # fmt: skip
        cells = {name: str(value) for name, value in cells_of(stock).items()}
        again = sheet_of(cells, "mm", "parent", "folio")
        assert again == stock and again.sheet.ruling == stock.sheet.ruling
    for cell, said in (("ruled", "lines across or up"), ("lined rows 0 8 35", "ruling_mm"), ("ruled rows 0 0 35", "pitch")):
        with pytest.raises(InputError, match=said):
            sheet_of({**{n: str(v) for n, v in cells_of(bare).items()}, "ruling_mm": cell}, "mm", "parent", "folio")


# plans and the checker


def moved(plan: Plan, piece: int, by: int) -> Plan:
    """The plan with one piece moved up, its cuts made anew."""
    layout = plan.layouts[0]
    found = []
    for i, placed in enumerate(layout.pieces):
        xs, ys = [x for x, _ in placed.corners], [y for _, y in placed.corners]
        shift = by if i == piece else 0
        found.append((min(xs), min(ys) + shift, max(xs), max(ys) + shift))
    from nesting.layouts import Piece, Placed, leaves

    tree = tree_of(layout.tree.box, [(box, Piece(box, "folio", layout.pieces[0].turn)) for box in found])
    placed = tuple(Placed(leaf.blank, leaf.turn, corners_of(leaf.box, leaf.turn))  # type: ignore[arg-type]
                   for leaf in leaves(tree) if isinstance(leaf, Piece))  # fmt: skip
    areas = replace(layout.areas, offcuts=0, shavings=layout.areas.offcuts + layout.areas.shavings)
    return replace(plan, layouts=(replace(layout, tree=tree, pieces=placed, offcuts=(), areas=areas),))


def test_the_checker_sees_a_folio_whose_lines_do_not_meet() -> None:
    pad = described("210 x 297; ruled across 8 first 25; grain up; count 3").sheet
    plan = plan_that_meets(pad, folio(150, 80, 3, grain="y", up="+y"))
    same = moved(plan, 0, 0)
    assert {f.code for f in nesting.check(same)} <= {"offcut", "area"}  # only the joined leftovers differ
    low = min(range(3), key=lambda i: plan.layouts[0].pieces[i].corners[0][1])
    off = moved(plan, low, -MM // 2)
    assert "lines" in {f.code for f in nesting.check(off)}
    bare = replace(plan, sheets=(replace(plan.sheets[0], ruling=None),))
    assert [f.code for f in nesting.check(bare)] == ["lines"] * 3
    wrong_way = replace(plan, sheets=(replace(plan.sheets[0], ruling=Ruling("ruled", None, Lines(0, 8 * MM, 20))),))
    assert {f.code for f in nesting.check(wrong_way)} == {"lines"}
    squares = Ruling("squared", pad.ruling.rows if pad.ruling else None, Lines(1, 7 * MM, 20))
    assert {f.code for f in nesting.check(replace(plan, sheets=(replace(plan.sheets[0], ruling=squares),)))} == {"lines"}


def test_ruled_stock_is_cut_square_to_its_lines() -> None:
    # A6 folios 216 x 154 lie askew on RA2: one more than square to its edges; whole rectangles are never cut askew
    size = ((MM, 0), (430 * MM, 0), (430 * MM, 610 * MM), (0, 610 * MM), (0, MM))
    ruling = Ruling.of("squared", 430 * MM, 610 * MM, 5 * MM, 5 * MM)
    blank = Blank("folio", 216, 154, grain="y")
    plain, ruled = (Sheet.from_ticks("ra2", size, grain="y", ruling=r) for r in (None, ruling))
    askew, square = nesting.fill(plain, [blank]), nesting.fill(ruled, [blank])
    assert askew.layout and square.layout and (len(askew.layout.pieces), len(square.layout.pieces)) == (4, 3)
    assert square.layout.frame_deg == 0 and square.proven and nesting.check(square.to_plan()) == ()
    wrong = replace(askew.to_plan(), sheets=(replace(askew.to_plan().sheets[0], ruling=ruling),))
    assert {f.code for f in nesting.check(wrong)} == {"lines"}


def test_plans_lay_folios_square_to_the_lines_unless_the_format_says_otherwise() -> None:
    pad = described("210 x 297; ruled across 8 first 25; count 5").sheet
    turns = {}
    for rules in ("across", "spine", "off"):
        book = Format.make("a", 60, 120, folios=4, rules=rules, grains=Grains(folio="off"))
        blank = on_ruled(book, next(b for b in book.blanks(2) if b.material == "folio"), [pad])
        plan = nesting.plan([pad], [blank], seconds=5, steps=2_000)
        assert nesting.check(plan) == ()
        turns[rules] = {piece.turn % 180 for layout in plan.layouts for piece in layout.pieces}
    assert turns["across"] == {0} and turns["spine"] == {90} and turns["off"] <= {0, 90}


def test_plan_and_fill_refuse_lines_that_meet_by_name() -> None:
    pad = described(B4_PAD).sheet
    with pytest.raises(InputError, match="folio, lines_meet"):
        nesting.plan([pad], [folio(100, 90, 3)])
    with pytest.raises(InputError, match="folio, lines_meet"):
        nesting.fill(replace(pad, count=1), [folio(100, 90, 3)])


def test_a_plan_that_falls_short_says_so() -> None:
    pad = described("210 x 297; ruled across 8 first 25; grain up; count 2").sheet
    plan = plan_that_meets(pad, folio(177, 136, 9, grain="y"))
    assert dict(plan.short) == {"folio": 5} and plan.bound.measure == "unmade worth" and plan.bound.proven
    assert nesting.check(plan) == ()


@pytest.mark.parametrize(("change", "said"), [({"lines": 4, "pitch": 0}, "unknown field"), ({"pitch": 0}, "from line to line"),
                                              ({"count": 0}, "lines"), ({"low": 0.00001}, "whole ticks")])  # fmt: skip
def test_a_faulty_ruling_in_a_document_is_refused(change: dict[str, Any], said: str) -> None:
    document = plan_that_meets(described(B4_PAD).sheet, folio(177, 136, 2, grain="y")).to_dict()
    document["sheets"][0]["ruling"]["rows"].update(change)
    with pytest.raises(InputError, match=said):
        Plan.from_dict(document)


def test_formats_say_how_lines_run() -> None:
    with pytest.raises(InputError, match="lines_meet"):
        Format.make("a", 80, 120, lines_meet=True, rules="spine")
    pad = described(B4_PAD).sheet
    along = Format.make("a", 60, 120, rules="spine")
    blank = on_ruled(along, next(b for b in along.blanks(1) if b.material == "folio"), [pad])
    assert 0 not in blank.with_rules(None, blank.up).turns_on(pad) and blank.with_rules(None, blank.up).turns_on(pad)
    plain = Sheet.rectangle("plain", 210, 297, material="folio")
    meet = Format.make("a", 60, 120, lines_meet=True)
    one = next(b for b in meet.blanks(1) if b.material == "folio")
    assert one.lines_meet and not on_ruled(meet, one, [plain]).lines_meet


def test_a_drawing_shows_the_lines_where_they_lie() -> None:
    from matplotlib.collections import LineCollection

    from nesting.draw.diagrams import plan_pages
    from nesting.draw.ruling import GREY, HAIR

    plan = plan_that_meets(described(B4_PAD).sheet, folio(177, 136, 2, grain="y"))
    page = plan_pages(plan)[-1]
    hair = [c for c in page.artists if isinstance(c, LineCollection) and c.get_linewidths()[0] == pytest.approx(HAIR)]
    segments = max((c.get_segments() for c in hair), key=len)
    ys = sorted({round(float(s[0][1]), 6) for s in segments})
    assert GREY and len(ys) == 34  # 35 lines, the last on the edge itself
    assert all(b - a == pytest.approx(ys[1] - ys[0]) for a, b in pairwise(ys))


# the commands


@pytest.fixture
def bench(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.delenv("QUIRESTOCK_BOOK", raising=False)
    monkeypatch.chdir(tmp_path)
    (tmp_path / "workshop.toml").write_text('[bench]\nunit = "mm"\n')
    (tmp_path / "b4.toml").write_text("width = 85.5\nheight = 130\nfolios = 12\ntrim = 3\nlines_meet = true\n")
    (tmp_path / "job.toml").write_text('materials = ["folio"]\n[[books]]\nformat = "b4.toml"\nwanted = 5\n')
    assert run("sheet", "add", f"pad: {B4_PAD}", "--kind", "parent", "--material", "folio", "--yes") == 0
    return tmp_path


def test_folios_command_with_and_without(bench: Path, capsys: pytest.CaptureFixture[str]) -> None:
    capsys.readouterr()
    assert run("notebook", "folios", "b4.toml", "pad", "--out", "drawn", "--format", "svg") == 0
    shown = capsys.readouterr().out
    assert "Lines that meet cost no folios a sheet." in shown and "the first 8 mm below its head" in shown
    assert {p.name for p in (bench / "drawn").glob("*.json")} == {"any-place.json", "lines-meet.json"}
    assert run("check", "drawn/lines-meet.json") == 0
    capsys.readouterr()
    assert run("notebook", "folios", "b4.toml", LETTER_PAD.replace(";", " in;", 1), "--json") in (3, 4)
    capsys.readouterr()
    assert run("notebook", "folios", "b4.toml", "pad", "--json") == 0
    told = json.loads(capsys.readouterr().out)
    assert told["lines_meet"] == {"folios_a_sheet": 2, "proven": True, "books": 13, "sheets_over": 2, "waste": 0.22809}
    for arguments, code, said in (
        (("b4.toml", "pda"), 3, 'Did you mean "pad"?'), (("b4.toml", "210 x 297; grain up"), 3, "ruled, dotted or squared"),
        (("A4", "pad"), 4, "no folio"), (("b4.toml", "pad", "--out", "x", "--format", "bmp"), 3, "--format"),
        (("b4.toml", "210 x 297; ruled across 0 first 25"), 3, "pitch"),
    ):  # fmt: skip
        assert run("notebook", "folios", *arguments) == code
        assert said in capsys.readouterr().err


def test_a_job_of_folios_whose_lines_meet(bench: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert run("plan", "job.toml", "--no-draw") == 0
    plan = Plan.from_dict(json.loads((bench / "job-plan" / "plan.json").read_text()))
    assert plan.made() == {"b4 folio": 60} and plan.sheets_used() == {"pad": 30} and nesting.check(plan) == ()
    for text, said in (
        ('[[books]]\nformat = "b4.toml"\nwanted = 5\n', "one format alone"),
        ('aim = "most-books"\nmaterials = ["folio"]\n[[books]]\nformat = "b4.toml"\n', "aim"),
        ('materials = ["folio"]\nexclude = ["pad"]\n[[books]]\nformat = "b4.toml"\nwanted = 5\n', "one ruled paper"),
    ):
        (bench / "other.toml").write_text(text)
        capsys.readouterr()
        assert run("plan", "other.toml", "--no-draw") == 3
        assert said in capsys.readouterr().err
