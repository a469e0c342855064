"""The forms of design.md section 3, "Describing a sheet by hand", each with its exact shape."""

from __future__ import annotations

from fractions import Fraction
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import LineString, Polygon, union_all

from inventory.descriptions import parse_text
from inventory.stock import StockSheet
from nesting.lengths import TICKS_PER_INCH, TICKS_PER_MM
from tests.described import DESIGN, box, fault, one, points

IN = 25.4
CLIPPED = [(0, 0), (400, 0), (400, 270), (370, 310), (0, 310)]
OUTLINES: dict[str, list[tuple[float, float]]] = {
    "1": box(0, 0, 420, 297), "2": box(0, 0, 16.5 * IN, 11.75 * IN), "3": box(0, 0, 400, 310), "4": CLIPPED,
    "5": box(0, 0, 400, 310), "6": box(0, 0, 400, 310), "7": box(0, 0, 12 * IN, 18 * IN),
    "9": [(0, 0), (392, 0), (392, 50), (388, 50), (388, 150), (395, 150), (395, 200), (397, 200), (397, 250), (400, 250),
          (400, 310), (0, 310)],
    "10": box(0, 0, 12 * IN, 18 * IN), **{str(i): CLIPPED for i in range(11, 20)}, "20": box(0, 0, 400, 310),
    "21": [(0, 0), (16.5 * IN, 0), (16.5 * IN, 9 * IN), (14 * IN, 11.75 * IN), (0, 11.75 * IN)], "22": box(0, 0, 100, 40),
}  # fmt: skip
ZONES: dict[str, list[tuple[str, list[tuple[float, float]]]]] = {
    "3": [("bad", box(385, 0, 400, 310)), ("bad", box(0, 306, 400, 310))],
    "5": [("bad", box(0, 200, 11, 260))], "6": [("bad", box(90, 60, 130, 95))], "19": [("bad", box(380, 0, 400, 50))],
    "10": [("best", box(3 * IN, 6 * IN, 9 * IN, 14 * IN))], "22": [("bad", box(80, 20, 100, 40)), ("best", box(0, 0, 20, 20))],
}  # fmt: skip


def in_ticks(ring: list[tuple[float, float]]) -> list[tuple[int, int]]:
    return [(round(x * TICKS_PER_MM), round(y * TICKS_PER_MM)) for x, y in ring]


def design() -> dict[str, StockSheet]:
    reading = parse_text(DESIGN)
    assert not reading.faults, reading.sentences
    return {sheet.id: sheet for sheet in reading.sheets}


@pytest.mark.parametrize("id", sorted(OUTLINES, key=int))
def test_each_form_of_the_design_has_its_exact_shape(id: str) -> None:
    sheet = design()[id].sheet
    assert list(sheet.outline) == in_ticks(OUTLINES[id])
    if id != "7":
        found = [(zone.kind, list(zone.outline)) for zone in sheet.zones]
        assert found == [(kind, in_ticks(ring)) for kind, ring in ZONES.get(id, [])]
    assert sheet.holes == () and sheet.count == 1 and sheet.true_edges == ()


def test_the_design_lines_make_all_22_sheets_in_order_and_keep_their_text() -> None:
    sheets = design()
    assert list(sheets) == [*"13456", "8", "9", *map(str, range(11, 21)), "22", "2", "7", "10", "21"]
    assert {sheets[i].unit for i in ("2", "7", "10", "21")} == {"in"} and sheets["1"].unit == "mm"
    assert sheets["4"].description == "400 x 310; clip TR 30 by 40" == sheets["15"].description
    assert sheets["19"].description == "400 x 310; clip TR 30 by 40; bad R 0 to 50 deep 20"
    assert sheets["20"].description == "400 x 310"
    assert sheets["22"].description == "squares 20 ....# *...."
    assert sheets["2"].sheet.grain == "y" and sheets["1"].sheet.grain is None


def test_form_7_covers_the_crease_half_its_width_to_each_side_and_no_more() -> None:
    # oracle: shapely's flat buffer of a longer line, clipped to the sheet
    sheet = design()["7"].sheet
    x, y = 5.25 * TICKS_PER_INCH, 18 * TICKS_PER_INCH
    a, b = (x, y), (4.875 * TICKS_PER_INCH, 0)
    longer = LineString([(a[0] + (a[0] - b[0]), 2 * y), (b[0] - (a[0] - b[0]), -y)])
    truth = longer.buffer(TICKS_PER_INCH / 16, cap_style="flat").intersection(Polygon(sheet.outline))
    drawn = Polygon(sheet.bad[0])
    assert truth.difference(drawn).area < 1e-3 * TICKS_PER_MM  # all covered, but for the arithmetic of the oracle
    assert drawn.difference(truth).area < 10 * y  # a few ticks along both sides, rounded outward
    assert len(sheet.bad) == 1 and len(sheet.bad[0]) == 4


@pytest.mark.parametrize("corner", ["BL", "BR", "TL", "TR"])
def test_form_8_gives_back_its_four_sides_and_its_right_angle(corner: str) -> None:
    sheet = one(f"bottom 420; top 412; left 297; right 294; square {corner}").sheet
    low_left, low_right, high_right, high_left = ((x / TICKS_PER_MM, y / TICKS_PER_MM) for x, y in sheet.outline)

    def far(a: tuple[float, float], b: tuple[float, float]) -> float:
        return ((a[0] - b[0]) ** 2 + (a[1] - b[1]) ** 2) ** 0.5

    sides = [far(low_left, low_right), far(high_left, high_right), far(low_left, high_left), far(low_right, high_right)]
    assert sides == pytest.approx([420, 412, 297, 294], abs=4e-4)  # the fourth corner is rounded inward to a tick
    ring = [low_left, low_right, high_right, high_left]
    at = ["BL", "BR", "TR", "TL"].index(corner)
    (ax, ay), (bx, by), (cx, cy) = ring[at - 1], ring[at], ring[(at + 1) % 4]
    assert (ax - bx) * (cx - bx) + (ay - by) * (cy - by) == pytest.approx(0, abs=1e-6)
    assert sheet.box[:2] == (0, 0)


def test_form_8_is_exact_where_the_fourth_corner_is() -> None:
    assert points(one("left 300; right 300; bottom 400; top 400; square TR").sheet.outline) == box(0, 0, 400, 300)
    # a kite: its square corner mirrored at the diagonal of 500 is twice the foot (192, 144), by hand
    assert points(one("bottom 300; right 300; left 400; top 400; square BL").sheet.outline)[2] == (384, 288)


@pytest.mark.parametrize("text", [
    "bottom 10; top 10; left 10; right 40; square BL", "bottom 400; top 100; left 300; right 100; square BL",
    "bottom 400; top 605; left 300; right 110; square BL",
])  # fmt: skip
def test_form_8_says_so_where_the_sides_cannot_meet(text: str) -> None:
    assert "sides: expected four sides" in fault(f"1: {text}")


def test_form_8_needs_each_side_once_and_one_square_corner() -> None:
    assert "no right" in fault("1: bottom 420; top 412; left 297; square BL")
    assert "one square corner" in fault("1: bottom 420; top 412; left 297; right 294")
    assert "a side twice" in fault("1: bottom 420; bottom 4; top 412; left 297; right 294; square BL")


def _paper(sheet: StockSheet) -> Polygon:
    return Polygon(sheet.sheet.outline)


@given(st.lists(st.integers(180, 200), min_size=7, max_size=7), st.sampled_from("LRTB"))
@settings(max_examples=60, deadline=None)
def test_form_9_keeps_the_smaller_of_two_readings(readings: list[int], side: str) -> None:
    # oracle: the strips between the readings, one by one, each as far across as the smaller of its two readings
    across, along = 200, 310
    size = f"{across} x {along}" if side in "LR" else f"{along} x {across}"
    sheet = one(f"{size}; edge {side} every 50: {' '.join(map(str, readings))}")
    strips = []
    for i, reading in enumerate(readings):
        kept, low, high = min([reading, *readings[i + 1 : i + 2]]), 50 * i, min(50 * (i + 1), along)
        near, far = (0, kept) if side in "RT" else (across - kept, across)
        strips.append(Polygon(box(near, low, far, high) if side in "LR" else box(low, near, high, far)))
    truth = union_all(strips)
    mine = Polygon(points(sheet.sheet.outline))
    assert mine.symmetric_difference(truth).area < 1e-6


def test_form_9_wants_a_reading_for_each_step() -> None:
    assert "expected 7 readings" in fault("1: 400 x 310; edge R every 50: 400 392 388")
    assert "expected 7 readings" in fault("1: 400 x 310; edge R every 50: 400 392 388 395 397 400 400 400")
    assert "at most 400 mm" in fault("1: 400 x 310; edge R every 50: 401 392 388 395 397 400 400")
    assert one("400 x 300; edge R every 50: 400 400 400 400 400 400 390").sheet.area_mm2 == 400 * 300 - 10 * 50
    inches = one("16 1/2 x 11; edge R every 5: 16 1/2 16 16 3/8", unit="in").sheet
    steps = [(0, 0), (16, 0), (16, 10), (16.375, 10), (16.375, 11), (0, 11)]
    assert list(inches.outline) == [(x * TICKS_PER_INCH, y * TICKS_PER_INCH) for x, y in steps]
    assert "given by its size" in fault("1: corners (0;0) (9;0) (9;9); edge R every 5: 9 9")
    assert "one account" in fault("1: 400 x 310; torn R 4; edge R every 200: 400 400")


@given(st.integers(1, 7), st.integers(1, 9), st.randoms(use_true_random=False))
@settings(max_examples=80, deadline=None)
def test_form_22_agrees_square_by_square(high: int, wide: int, rng: Any) -> None:
    # oracle: every square by itself, in shapely
    rows = ["".join(rng.choice("...##*") for _ in range(wide)) for _ in range(high)]
    reading = parse_text("s: squares 20\n" + "\n".join(rows), unit="mm")
    square = {(x, y): rows[high - 1 - y][x] for x in range(wide) for y in range(high)}
    if not any(mark != "#" for mark in square.values()):
        assert "some paper left" in reading.faults[0].reason
        return
    sheet = reading.sheets[0].sheet
    good = Polygon(sheet.outline).difference(union_all([Polygon(ring) for ring in sheet.bad]))
    best = union_all([Polygon(zone.outline) for zone in sheet.zones if zone.kind == "best"])
    for (x, y), mark in square.items():
        cell = Polygon([(a * TICKS_PER_MM, b * TICKS_PER_MM) for a, b in box(20 * x, 20 * y, 20 * x + 20, 20 * y + 20)])
        assert good.intersection(cell).area == pytest.approx(0 if mark == "#" else cell.area)
        assert best.intersection(cell).area == pytest.approx(cell.area if mark == "*" else 0)
    assert sum(Polygon(ring).area for ring in sheet.bad) == pytest.approx(union_all([Polygon(r) for r in sheet.bad]).area)


def test_form_22_takes_off_whole_rows_and_columns_of_gone_squares() -> None:
    sheet = one("squares 20 ##### #..#. #..#. #....; true all").sheet
    assert points(sheet.outline) == box(20, 0, 100, 60)
    assert [points(ring) for ring in sheet.bad] == [box(60, 20, 80, 60)]
    assert sheet.true_edges == (0, 1)  # bottom and right; the left column and the top row are gone


def test_rows_of_squares_need_one_length_and_a_line_above() -> None:
    assert "row 2: expected 5 squares" in fault("1: squares 20\n.....\n....\n.....")
    assert "rows of . # *" in fault("1: squares 20")
    assert "under a line such as" in fault("..#.\n")
    assert "at most 10,000" in fault("1: squares 1\n" + "\n".join("." * 200 for _ in range(60)))
    two = parse_text("1: squares 20\n..\n#.\n\n# a comment\n2: 30 x 40", unit="mm")
    assert [sheet.id for sheet in two.sheets] == ["1", "2"]


@pytest.mark.parametrize(("text", "outline"), [
    ("400 x 310; clip BL 30 by 40", [(30, 0), (400, 0), (400, 310), (0, 310), (0, 40)]),
    ("400 x 310; clip BR 30 by 40", [(0, 0), (370, 0), (400, 40), (400, 310), (0, 310)]),
    ("400 x 310; clip TL 30 by 40", [(0, 0), (400, 0), (400, 310), (30, 310), (0, 270)]),
    ("400 x 310; clip LT 30 by 40", [(0, 0), (400, 0), (400, 310), (30, 310), (0, 270)]),
    ("400 x 310; clip TR 30 by 40; torn R 15", CLIPPED),
    ("corners (0; 0) (400; 0) (400; 310) (0; 310); clip TR 30 by 40", CLIPPED),
    ("corners (0; 310) (400; 310) (400; 0) (0; 0)", box(0, 0, 400, 310)),
    ("400 x 310; edge B every 200: 310 300 310; torn L 10", box(0, 10, 400, 310)),
])  # fmt: skip
def test_damage_moves_the_outline(text: str, outline: list[tuple[float, float]]) -> None:
    found = points(one(text).sheet.outline)
    assert len(found) == len(outline) and set(found) == set(outline)


@given(st.integers(50, 500), st.integers(50, 500), st.randoms(use_true_random=False))
@settings(max_examples=80, deadline=None)
def test_all_damage_together_leaves_what_shapely_leaves(wide: int, high: int, rng: Any) -> None:
    parts, gone = [], [Polygon()]
    for side in "LRTB":
        across, along = (wide, high) if side in "LR" else (high, wide)
        every = rng.randint(5, 60)
        form = rng.choice(["none", "edge"])
        readings = [rng.randint(across * 5 // 6, across) for _ in range(along // every + 1)]
        if form == "edge":
            parts.append(f"edge {side} every {every}: {' '.join(map(str, readings))}")
        for i in range(len(readings) if form != "none" else 0):
            off, low, up = across - min(readings[i : i + 2]), i * every, min((i + 1) * every, along)
            strips = {"L": (0, low, off, up), "R": (wide - off, low, wide, up),
                      "B": (low, 0, up, off), "T": (low, high - off, up, high)}  # fmt: skip
            gone.append(Polygon(box(*strips[side])) if off and low < up else Polygon())
    for corner in rng.sample(["TL", "TR", "BL", "BR"], rng.randint(0, 4)):
        along, down = rng.randint(1, wide // 2), rng.randint(1, high // 2)
        parts.append(f"clip {corner} {along} by {down}")
        x, y = (0 if "L" in corner else wide), (0 if "B" in corner else high)
        gone.append(Polygon([(x, y), (abs(x - along), y), (x, abs(y - down))]))
    rest = Polygon(box(0, 0, wide, high)).difference(union_all(gone))
    truth = max(getattr(rest, "geoms", [rest]), key=lambda piece: piece.area)  # crumbs go with the damage
    mine = Polygon(points(one("; ".join([f"{wide} x {high}", *parts])).sheet.outline))
    assert mine.symmetric_difference(truth).area < 1
    assert mine.difference(truth).area < 1e-3  # rounded inward


def test_a_sheet_in_two_pieces_is_refused_and_a_crumb_is_not() -> None:
    legs = "corners (0; 0) (300; 0) (300; 300) (200; 300) (200; 100) (100; 100) (100; 300) (0; 300)"
    assert one(f"{legs}; clip BL 99 by 99").sheet.area_mm2 == 300 * 300 - 100 * 200 - 99 * 99 / 2
    assert "found 2 pieces" in fault(f"1: {legs}; clip BL 250 by 250")
    foot = "corners (0; 0) (300; 0) (300; 300) (200; 300) (200; 100) (100; 100) (100; 160) (0; 160)"
    crumb = points(one(f"{foot}; clip BL 250 by 250").sheet.outline)  # 10 mm of the left leg's tip go with it
    assert set(crumb) == {(250, 0), (300, 0), (300, 300), (200, 300), (200, 100), (150, 100)}


@pytest.mark.parametrize(("text", "strips"), [
    ("400 x 310; torn L 15", [box(0, 0, 15, 310)]), ("400 x 310; torn R 15", [box(385, 0, 400, 310)]),
    ("400 x 310; torn B 15; torn L 2", [box(0, 0, 400, 15), box(0, 0, 2, 310)]),
    ("400 x 310; torn T 4; bad T 20 to 60 deep 11", [box(0, 306, 400, 310), box(20, 299, 60, 310)]),
    ("corners (0; 0) (400; 0) (390; 310) (0; 310); torn R 20", [box(380, 0, 400, 310)]),
    ("squares 20 #..#. #..#. #....; torn L 5", [box(60, 20, 80, 60), box(20, 0, 25, 60)]),
    ("bottom 400; top 400; left 300; right 300; square BL; torn T 10", [box(0, 290, 400, 300)]),
])  # fmt: skip
def test_a_torn_edge_is_a_bad_strip_along_it_and_the_paper_stays(text: str, strips: list[list[tuple[float, float]]]) -> None:
    sheet, whole = one(text).sheet, one(text.partition("; torn")[0]).sheet
    assert sheet.outline == whole.outline
    assert [points(ring) for ring in sheet.bad] == strips


def test_an_edge_inside_a_torn_strip_is_never_true() -> None:
    leaning = "corners (0; 0) (400; 0) (390; 310) (0; 310)"
    assert one(f"{leaning}; true all").sheet.true_edges == (0, 1, 2, 3)
    assert one(f"{leaning}; torn R 15; true all").sheet.true_edges == (0, 2, 3)
    assert one("400 x 310; torn L 1; torn R 1; torn T 1; torn B 1; true all").sheet.true_edges == ()


@pytest.mark.parametrize("side", ["R", "T"])
def test_a_torn_strip_goes_along_a_slanted_side(side: str) -> None:
    # oracle: shapely's one-sided buffer of the leaning side, clipped to the sheet; never less, at most 2 ticks more
    sheet = one(f"bottom 400; top 380; left 300; right 310; square BL; torn {side} 10").sheet
    whole, zone = Polygon(sheet.outline), Polygon(sheet.bad[0])
    at = {"R": 1, "T": 2}[side]
    edge = LineString([sheet.outline[at], sheet.outline[at + 1]])
    (ax, ay), (bx, by) = edge.coords
    longer = LineString([(2 * ax - bx, 2 * ay - by), (2 * bx - ax, 2 * by - ay)])
    depth = 10 * TICKS_PER_MM
    assert longer.buffer(depth, single_sided=True).intersection(whole).difference(zone).area < 1
    assert zone.intersection(whole).difference(longer.buffer(depth + 2, single_sided=True)).area < 1
    assert len(sheet.bad) == 1 and sheet.area2 == one("bottom 400; top 380; left 300; right 310; square BL").sheet.area2


@pytest.mark.parametrize("corner", ["BL", "BR", "TR", "TL"])
def test_a_clip_on_slanted_sides_goes_first_along_the_level_one(corner: str) -> None:
    sides = "bottom 400; top 380; left 300; right 300; square BL"
    whole = list(one(sides).sheet.outline)
    left = one(f"{sides}; clip {corner} 30 by 40").sheet.outline
    at = ["BL", "BR", "TR", "TL"].index(corner)
    level, upright = (at - 1, at + 1) if corner in ("BR", "TL") else (at + 1, at - 1)
    for other, leg in ((level, 30), (upright, 40)):
        (x, y), (ex, ey) = whole[at], whole[other % 4]
        share = leg * TICKS_PER_MM / ((ex - x) ** 2 + (ey - y) ** 2) ** 0.5
        cut = x + share * (ex - x), y + share * (ey - y)
        assert min(abs(px - cut[0]) + abs(py - cut[1]) for px, py in left) < 6  # ticks
    assert len(left) == 5 and whole[at] not in left


def test_bad_at_a_leaning_or_ragged_edge_is_measured_from_that_edge() -> None:
    leaning = one("bottom 400; top 380; left 300; right 300; square BL; bad R 100 to 200 deep 10").sheet
    zone = Polygon(leaning.bad[0])
    edge = LineString([leaning.outline[1], leaning.outline[2]])
    deep = edge.intersection(Polygon([(0, 100 * 8000), (10**7, 100 * 8000), (10**7, 200 * 8000), (0, 200 * 8000)]))
    assert all(zone.buffer(0.1).covers(LineString([(x - 80_000, y), (x, y)])) for x, y in deep.coords)
    assert zone.bounds[0] == pytest.approx(min(x for x, _ in deep.coords) - 80_000, abs=2)
    ragged = one("400 x 300; edge R every 100: 400 380 390 390; bad R 120 to 180 deep 5").sheet
    assert points(ragged.bad[0]) == box(375, 120, 400, 180)


def test_a_crease_may_join_any_two_edges() -> None:
    sheet = one("400 x 300; crease L 100 to T 100 wide 4").sheet  # 200 up, 100 across
    zone = Polygon(points(sheet.bad[0]))
    line = LineString([(0, 100), (100, 300)])
    assert zone.covers(line.buffer(1.999, cap_style="flat").intersection(Polygon(box(0, 0, 400, 300))))
    assert zone.area == pytest.approx(4 * line.length, rel=0.01)
    corner = one("400 x 300; crease B 0 to T 400 wide 2").sheet
    assert len(corner.bad[0]) == 6  # from corner to corner: both tips are cut by two edges


def test_lengths_that_are_no_whole_ticks_are_rounded_to_the_safe_side() -> None:
    sheet = one("1/3 x 2/3; bad across 1/12 to 1/6 up 1/12 to 1/6; best across 1/12 to 1/6 up 1/3 to 5/12", unit="in").sheet
    third = Fraction(TICKS_PER_INCH, 3)
    assert sheet.box == (0, 0, int(third), int(2 * third))
    (x0, y0), _, (x1, y1), _ = sheet.bad[0]
    assert x0 < third / 4 < x0 + 1 and x1 - 1 < third / 2 <= x1 and (y0, y1) == (x0, x1)
    (bx0, _), _, (bx1, _), _ = sheet.zones[1].outline
    assert bx0 - 1 < third / 4 <= bx0 and bx1 <= third / 2 < bx1 + 1
    squares = one("squares 1/3 in .#. .*.").sheet
    assert squares.box == (0, 0, TICKS_PER_INCH, int(2 * third))
    assert squares.bad == ((((a := int(third)), a), ((b := int(2 * third) + 1), a), (b, b), (a, b)),)
    assert squares.zones[1].outline[0] == (a + 1, 0) and squares.zones[1].outline[2] == (b - 1, a)
    torn = one("3 in x 3 in; torn R 1/3 in").sheet
    assert torn.bad[0][0] == (3 * TICKS_PER_INCH - int(third) - 1, 0) and torn.box[2] == 3 * TICKS_PER_INCH
