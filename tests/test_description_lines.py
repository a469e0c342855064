"""What is said of a sheet beside its shape, header lines, like and no, ids, and each wrong line's sentence."""

from __future__ import annotations

from pathlib import Path

import pytest

from inventory.descriptions import parse_text, read_file
from nesting.errors import InputError
from nesting.lengths import TICKS_PER_INCH
from tests.described import box, fault, one, points
from tests.sixty_sheets import sixty_sheets

IN = 25.4


@pytest.mark.parametrize(("text", "edges"), [
    ("420 x 297; true L B", (0, 3)), ("420 x 297; true all", (0, 1, 2, 3)), ("420 x 297; true none", ()),
    ("420 x 297; true lb", (0, 3)), ("420 x 297; true left, bottom", (0, 3)),
    ("400 x 310; clip TR 30 by 40; true all", (0, 1, 3, 4)), ("400 x 310; torn R 15; true all", (0, 2, 3)),
    ("400 x 310; edge R every 200: 400 400; true all", (0, 2, 3)),
    ("corners (0; 0) (16; 0) (16; 9) (14; 11) (0; 11); true all", (0, 1, 2, 3, 4)),
    ("corners (0; 0) (16; 0) (16; 9) (14; 11) (0; 11); true R T", (1, 3)),
    ("bottom 420; top 412; left 297; right 294; square BL; true R", (1,)),
])  # fmt: skip
def test_true_edges_are_only_those_said(text: str, edges: tuple[int, ...]) -> None:
    assert one(text).sheet.true_edges == edges


def test_true_edges_by_kind_and_header_and_never_where_the_paper_is_torn() -> None:
    text = "1: 9 x 9\nkind parent\n2: 9 x 9\n3: 9 x 9; true L\ntrue none\n4: 9 x 9\ntrue L R\n5: 9 x 9; torn R 1\n"
    reading = parse_text(text, unit="mm")
    assert [sheet.sheet.true_edges for sheet in reading.sheets] == [(), (0, 1, 2, 3), (3,), (), (3,)]
    assert "Edge R is torn" in fault("1: 9 x 9; torn R 1; true L R")
    assert "Edge R is torn" in fault("1: 9 x 9; true R; edge R every 5: 9 9")


def test_facts_of_a_line_and_of_header_lines() -> None:
    text = """# a comment, then a blank line

unit mm; kind parent
material card
source "the corner; shop"
grain across
inset 2
caliper 0.3
grammage 255 g/m2
price 0,45
count 50
print down
a: 700 x 500
"""
    line = ('b: 700 x 500; grain unknown; print left; inset 0; count no limit; caliper none; grammage 80; price 1.5; '
            'material cover; kind offcut; glue no; cracks; note "foxed; see ""B"""; source')  # fmt: skip
    a, b = parse_text(text + line).sheets
    assert (a.kind, a.sheet.material, a.source) == ("parent", "card", "the corner; shop")
    assert (a.sheet.grain, a.sheet.inset) == ("x", 16_000)
    assert (a.caliper, a.grammage, a.price, a.sheet.count, a.sheet.up) == (2_400, 255, 0.45, 50, "-y")
    assert (b.kind, b.sheet.material, b.source, b.sheet.grain, b.sheet.inset) == ("offcut", "cover", "", None, 0)
    assert (b.caliper, b.grammage, b.price, b.sheet.count, b.sheet.up) == (None, 80, 1.5, None, "-x")
    assert (b.takes_glue, b.cracks_at_fold, a.takes_glue, a.cracks_at_fold) == (False, True, None, None)
    assert b.note == 'foxed; see "B"'
    assert b.description == "700 x 500; grain unknown; print left; inset 0"


@pytest.mark.parametrize(("text", "grain"), [
    ("grain up", "y"), ("grain across", "x"), ("grain along x", "x"), ("grain along y", "y"), ("grain x", "x"), ("GRAIN Up", "y"),
    ("grain unknown", None), ("grain long", "x"), ("grain short", "y"),
])  # fmt: skip
def test_grain_words(text: str, grain: str | None) -> None:
    sheet = one(f"420 x 297; {text}").sheet
    assert (sheet.grain, sheet.grain_guessed) == (grain, False)
    if grain:
        guessed = one(f"420 x 297; {text} Guessed").sheet
        assert (guessed.grain, guessed.grain_guessed) == (grain, True)


def test_a_guess_is_copied_by_like_and_dropped_by_no_grain_or_a_test() -> None:
    text = """unit mm
grain up guessed
1: 420 x 297
2: like 1; grain up
3: like 1; no grain
4: like 1
"""
    assert [(s.sheet.grain, s.sheet.grain_guessed) for s in parse_text(text).sheets] == [
        ("y", True), ("y", False), (None, False), ("y", True)]  # fmt: skip
    stock = parse_text("1: 420 x 297; grain long guessed", unit="mm").sheets
    again = parse_text("5: like 1", unit="mm", stock=stock).sheets[0].sheet
    assert (again.grain, again.grain_guessed) == ("x", True)


@pytest.mark.parametrize(("text", "up"), [("up", "+y"), ("down", "-y"), ("left", "-x"), ("right", "+x"), ("none", None)])
def test_print_words(text: str, up: str | None) -> None:
    assert one(f"420 x 297; print {text}").sheet.up == up


@pytest.mark.parametrize(("text", "width", "height"), [
    ("16 1/2 x 11 3/4", 16.5, 11.75), ("8 1/2 x 11 in", 8.5, 11), ('8-1/2" x 11"', 8.5, 11), ("8½ × 11", 8.5, 11),
    ("215,9 mm x 279.4 mm", 8.5, 11), ("21.59 cm x 27.94 cm", 8.5, 11), ("215.9 x 279.4 mm", 8.5, 11), ("8.5X11", 8.5, 11),
])  # fmt: skip
def test_sizes_in_every_form_of_length(text: str, width: float, height: float) -> None:
    box = one(text, unit="in").sheet.box
    assert box == (0, 0, width * TICKS_PER_INCH, height * TICKS_PER_INCH)


def test_a_bare_length_needs_a_unit_and_a_part_one_unit() -> None:
    assert "unit mm" in fault("1: 420 x 297", unit=None)
    assert not parse_text("1: 420 x 297 mm").faults and not parse_text("1: 420 mm x 297 mm; torn R 1/2 in").faults
    assert "one unit in a part" in fault("1: 420 x 297; bad L 2 to 6 deep 1/2 in")
    assert "one unit in a part" in fault("1: 420 mm x 297", unit="in")
    assert one("420 x 297; bad L 2 to 6 mm deep 1/2 in; bad L 0 to 6 mm deep 12 mm").sheet.bad[0][2] == (101_600, 48_000)
    assert "1,234" in fault("1: 1,234 x 300") and "1234" in fault("1: 1,234 x 300")
    assert "0 or more" in fault("1: -420 x 297") and "above 0" in fault("1: 0 x 297")


def test_holes_best_and_their_weights() -> None:
    text = "hole across 90 to 96 up 60 to 66; best across 3 to 9 up 6 to 14 weight 2; bad T 0 to 400 deep 3"
    sheet = one(f"400 x 310; {text}").sheet
    assert [points(hole) for hole in sheet.holes] == [box(90, 60, 96, 66)]
    assert [(zone.kind, zone.weight) for zone in sheet.zones] == [("bad", 1.0), ("best", 2.0)]
    assert sheet.area_mm2 == 400 * 310 - 36


def test_like_adds_drops_and_replaces_and_leaves_count_and_note() -> None:
    text = """unit mm
source shop
4: 400 x 310; clip TR 30 by 40; clip BL 5 by 5; grain up; true L; count 5; note "torn label"; torn B 3; glue no
source theatre
true all
5: like 4; no clip TR
6: like 4; no clip; no torn; grain across; count 2
7: like 6; no grain; no true; bad L 0 to 9 deep 4
8: like 7
bill-9 to bill-11: like 7; no bad L
007 to 009: 10 x 10
"""
    sheets = {sheet.id: sheet for sheet in parse_text(text).sheets}
    assert sheets["5"].description == "400 x 310; clip BL 5 by 5; grain up; true L; torn B 3"
    assert (sheets["5"].source, sheets["5"].sheet.count, sheets["5"].note, sheets["5"].takes_glue) == ("shop", 1, "", False)
    assert sheets["5"].sheet.true_edges == (3,)  # the left side, between the top and the clipped corner
    assert sheets["6"].description == "400 x 310; true L; grain across" and sheets["6"].sheet.count == 2
    assert [points(ring) for ring in sheets["4"].sheet.bad] == [box(0, 0, 400, 3)] and sheets["6"].sheet.bad == ()
    assert (sheets["7"].sheet.grain, sheets["7"].sheet.true_edges, len(sheets["7"].sheet.bad)) == (None, (), 1)
    assert sheets["8"].sheet.bad == sheets["7"].sheet.bad and sheets["bill-10"].sheet.bad == ()
    assert [id for id in sheets if id.startswith("00")] == ["007", "008", "009"]


def test_like_may_name_a_sheet_of_the_stock_book() -> None:
    stock = parse_text("kind parent\nunit in\n4: 12 x 18; clip TR 1 by 2; grain up; price 3").sheets
    reading = parse_text("5: like 4; no clip\n4: 1 x 1", unit="in", stock=stock)
    assert reading.sheets[0].sheet.area_mm2 == pytest.approx(12 * 18 * IN * IN)
    assert (reading.sheets[0].kind, reading.sheets[0].price, reading.sheets[0].sheet.true_edges) == ("parent", 3, (0, 1, 2, 3))
    assert "used in the stock book" in reading.faults[0].reason
    assert "given in one unit" in fault("5: like 4", unit="mm", stock=stock)


@pytest.mark.parametrize(("line", "match"), [
    ("1: 420 x 297; grian up", 'Did you mean "grain"?'), ("1: 420 x 297; grain uo", 'Did you mean "up"?'),
    ("1: 420 x 297; grain unknown guessed", "guessed, or unknown"), ("1: 420 x 297; grain uo guessed", 'Did you mean "up"?'),
    ("grian up", 'Did you mean "grain"?'), ("knid parent", 'Did you mean "kind"?'),
    ("kind salvage", 'Did you mean "salvaged"?'), ("unit cm", 'Did you mean "mm"?'), ("unit: mm", "without a colon"),
    ("material paper", "cover, card or folio"), ("1: 420 x 297; print upp", 'Did you mean "up"?'),
    ("1: 420 x 297; tron R 4", 'Did you mean "torn"?'),
    ("1: 420 x 297; bad acros 3 to 4 up 5 to 6", 'Did you mean "across"'),
    ("1: 420 x 297; torn X 4", "an edge: L, R, T or B"), ("1: 420 x 297; torn R", "torn R 15"),
    ("1: 420 x 297; clip TR 30", "clip TR 30 by 40"), ("1: 420 x 297; clip R 30 by 40", "a corner"),
    ("1: 420 x 297; torn R 420", "less than the sheet's 420 mm"),
    ("1: 420 x 297; clip TR 430 by 4", "at most 420 mm along"),
    ("1: 420 x 297; bad L 0 to 400 deep 5", "sheet's height, 297 mm"),
    ("1: 420 x 297; bad T 0 to 430 deep 5", "sheet's width, 420 mm"),
    ("1: 420 x 297; bad across 0 to 297 up 0 to 420", "sheet's height"),
    ("1: 420 x 297; bad L 60 to 20 deep 5", "the smaller position first"),
    ("1: 420 x 297; bad across 0 to 420 up 0 to 297", "some good paper left"),
    ("1: 420 x 297; bad L 0 to 9 deep 421", "width, 420 mm"),
    ("1: 420 x 297; hole across 10 to 500 up 3 to 4", "width, 420 mm"),
    ("1: 420 x 297; hole across 0 to 420 up 3 to 4", "2 pieces"),
    ("1: 420 x 297; clip TR 40 by 30; bad across 415 to 420 up 290 to 297", "one off the sheet"),
    ("1: 420 x 297; torn R 200; torn L 220", "some good paper left"),
    ("1: 420 x 297; crease T 5 to T 8 wide 1", "two different edges"),
    ("1: 420 x 297; crease T 0 to L 297 wide 1", "two different points"),
    ("1: 420 x 297; crease T 5 to B 430 wide 1", "width, 420 mm"), ("1: 420 x 297; crease T 5 B 4", "wide 1/8"),
    ("1: corners (0; 0) (9; 0)", "three or more points"), ("1: corners (0; 0) (9; 9) (9; 0) (0; 5)", "does not cross"),
    ("1: corners (0, 0) (9, 9) (9, 0)", "parted by one ;"), ("1: corners (5; 0) (9; 0) (9; 9)", "a corner at 0 across"),
    ("1: corners (0; 0) (5; 0) (9; 0)", "area above 0"), ("1: corners (0; 0) (5; 0", "a closing bracket"),
    ("1: corners (0; 0) (9; 0) (9; 9) (0; 5); clip TL 2 by 2", "a corner of the sheet there"),
    ("1: corners 0 0", "three or more"), ("1: like 99", "the number of a sheet above"), ("1: like", "like 4"),
    ("1: 9 x 9; like 2", "one like"), ("1: 9 x 9; no clip", "named by like"), ("1: torn R 4", "the size first"),
    ("1:", "a size"), ("1: ;;", "a size"), (": 9 x 9", "number or name"), ("a b: 9 x 9", "without blanks"),
    ("1: 9 x 9; count 0", "from 1 to 10,000,000"), ("1: 9 x 9; count -3", "from 1"),
    ("1: 9 x 9; count 1000000000", "from 1 to"), ("1: 9 x 9; count 2.5", "a whole number"),
    ("1: 9 x 9; grain up; grain across", "once in a line"), ("1: 9 x 9; 8 x 8", "one size"),
    ("1: 9 x 9; grammage 20 lb", "give g/m2"), ("1: 9 x 9; grammage 0", "1 to 5,000"),
    ("1: 9 x 9; caliper 90", "at most 25 mm"), ("1: 9 x 9; price free", "a plain number"),
    ("1: 9 x 9; glue maybe", "yes, no or unknown"), ("1: 9 x 9; grain long", "equally long"),
    ('1: 9 x 9; note "open', "a closing quote"), ('1: 9 x 9; note "a" b', "a ; after the closing quote"),
    ("18 to 11: 9 x 9", "a range that goes up"), ("1 to 5000: 9 x 9", "of at most 1,000"),
    ("a1 to b2: 9 x 9", "a range of numbers"), ("11-18: 9 x 9", "write 11 to 18"), ("12 9 x 9", "its number and a colon"),
    ("1: 9 x 9; true Q", "an edge"), ("1: 9 x 9; true al", 'mean "all"'), ("1: 9", "width x height"),
    ("1: 9 x 9 x 9", "one plain length"), ("1: 9 x 9; best L 0 to 3 deep 2", "best across"), ("true", "a value"),
    ("1: 9 x 9; edge R every 5 9 9", "edge R every 50:"), ("1: 9 x 9; " + "x" * 300, "at most 200 letters"),
    ("1: 9 x 9; no glue", "glue no"), ("1: 9 x 9; " + "torn R 1; " * 3000, "at most 20,000 letters"),
    ("1: 9 x 9; no colour", "a word to drop"), ("1: 9 x 9; squares 3 ..", "one size"),
])  # fmt: skip
def test_each_wrong_line_gives_one_sentence(line: str, match: str) -> None:
    assert match in fault(line), fault(line)


def test_faults_carry_line_numbers_and_texts_and_stop_nothing() -> None:
    reading = parse_text("unit mm\n1: 9 x 9\n1: 8 x 8\n\nbad line\n2: squares 5\n..\n.\n3: 7 x 7\n", first_line=10)
    assert [sheet.id for sheet in reading.sheets] == ["1", "3"]
    assert [(f.line, f.text) for f in reading.faults] == [(12, "1: 8 x 8"), (14, "bad line"), (15, "2: squares 5\n..\n.")]
    assert "1, used in line 11" in reading.faults[0].reason
    assert reading.sentences[0].startswith("line 12: number: expected")


def test_files_that_cannot_be_read_say_why(tmp_path: Path) -> None:
    path = tmp_path / "sheets.txt"
    with pytest.raises(InputError, match="a file that is there"):
        read_file(path)
    with pytest.raises(InputError, match="found a folder"):
        read_file(tmp_path)
    for content, match in ((b"", "an empty file"), (b"  \n\n", "an empty file"), ("1: 9 × 9".encode("utf-16"), "UTF-8"),
                           (b"unit mm\n# nothing else\n", "header lines only")):  # fmt: skip
        path.write_bytes(content)
        with pytest.raises(InputError, match=match):
            read_file(path)
    path.write_bytes(b"\xef\xbb\xbfunit mm\r\n1: 9 x 9\r\n")
    assert [sheet.id for sheet in read_file(path).sheets] == ["1"]


def test_sixty_sheets_in_one_file(tmp_path: Path) -> None:
    path = tmp_path / "sixty.txt"
    path.write_text(sixty_sheets(), encoding="utf-8")
    reading = read_file(path)
    assert not reading.faults and len({sheet.id for sheet in reading.sheets}) == 60
    odd = [sheet for sheet in reading.sheets if not sheet.sheet.is_clear_rectangle]
    assert len(odd) >= 40 and {sheet.source for sheet in reading.sheets} == {
        "wallpaper samples", "theatre bills", "sheet music", "ends of rolls"}  # fmt: skip
    again = parse_text("\n".join(f"{s.id}: {s.description}" for s in reading.sheets if s.unit == "mm"), unit="mm")
    by_id = {sheet.id: sheet.sheet for sheet in again.sheets}
    for sheet in reading.sheets:
        if sheet.unit == "mm":  # the kept text alone makes the same shape
            assert (by_id[sheet.id].outline, by_id[sheet.id].zones, by_id[sheet.id].holes) == (
                sheet.sheet.outline, sheet.sheet.zones, sheet.sheet.holes)  # fmt: skip
