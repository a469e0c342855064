"""Tables of sheets: what is written reads back as it was, and each bad row gives one sentence."""

from __future__ import annotations

import csv
import json
from fractions import Fraction
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from inventory.descriptions import parse_text
from inventory.errors import StorageError
from inventory.stock import KINDS, MATERIALS, StockSheet
from inventory.tables import COLUMNS, read_table, write_bad_rows, write_table
from nesting import Sheet
from nesting.errors import InputError
from tests.described import DESIGN
from tests.sixty_sheets import sixty_sheets

ENDINGS = ("csv", "xlsx", "json")


def written(path: Path, *rows: str) -> Path:
    path.write_text("\n".join(rows) + "\n", encoding="utf-8")
    return path


def sentences(path: Path, *rows: str, **more: Any) -> tuple[str, ...]:
    return read_table(written(path, *rows), **more).sentences


@pytest.mark.parametrize("ending", ENDINGS)
def test_described_sheets_come_back_as_they_were(tmp_path: Path, ending: str) -> None:
    sheets = (*parse_text(DESIGN).sheets, *parse_text(sixty_sheets().replace("\n1:", "\na1:")).sheets[:1])
    sheets = (*sheets, *(s for s in parse_text(sixty_sheets()).sheets if s.id.startswith("bill") or int(s.id) > 22))
    path = tmp_path / f"sheets.{ending}"
    write_table(path, sheets)
    again = read_table(path)
    assert not again.faults and again.sheets == tuple(sheets)


def odd_sheets() -> tuple[StockSheet, ...]:
    """Sheets that no description makes: outlines to a tick, several holes, weights, numbered true edges, odd texts."""
    ring = [(0.000125, -5), (419.999875, 0), (400, 297.5), (200, 300), (0, 297)]
    torn = Sheet.from_mm("=1+1", ring, holes=[[(50, 50), (60, 50), (60, 60.25)], [(90, 90), (99, 90), (99, 99)]],
                         bad=[[(0, 0), (20, 0), (20, 20)], [(-5, 100), (7, 100), (7, 120)]],
                         best=[([(100, 100), (200, 100), (200, 200)], 2.5), [(210, 100), (250, 100), (250, 200)]],
                         grain="y", up="-x", true_edges=[1, 3], inset=0.125, count=None, cost=61.3333333,
                         material="cover")  # fmt: skip
    plain = Sheet.rectangle("-7", "8 1/2 in", "11 in", true_edges="all", count=500, cost=12, material="folio", up="+y")
    moved = Sheet.from_mm("s1-a", [(10, 20), (110, 20), (110, 220), (10, 220)], true_edges=[0, 3])
    third = Sheet.rectangle("'@x", "1/3 in", 100.000125)
    return (
        StockSheet(torn, "salvaged", "mm", 960, 81.5, 0.1, "+source, with \"quotes\"", "-note\nof two lines; | 'x'", True,
                   False, "kept text"),
        StockSheet(plain, "parent", "in", 812, None, 2.0, "@shop", "''", None, True, ""),
        StockSheet(moved, "offcut", "in", None, None, None, "\u00e9", "NA", False, None, "", "s1"),
        StockSheet(third, "offcut", "in", 1, None, None, "nan", "007", None, None, "", "=s"),
    )


@pytest.mark.parametrize("ending", ENDINGS)
def test_sheets_without_a_description_come_back_to_a_tick(tmp_path: Path, ending: str) -> None:
    path = tmp_path / f"sheets.{ending}"
    write_table(path, odd_sheets())
    again = read_table(path)
    assert not again.faults, again.sentences
    for mine, theirs in zip(odd_sheets(), again.sheets, strict=True):
        assert theirs == mine


@st.composite
def stock_sheets(draw: st.DrawFn) -> StockSheet:
    """A sheet with any facts: a rectangle, an outline of five points, or one from a description."""
    unit = draw(st.sampled_from(["mm", "in"]))
    text = st.text(st.characters(codec="utf-8", exclude_categories=("C", "Zl", "Zp")), max_size=12).map(str.strip)
    shape = draw(st.sampled_from(["plain", "ticks", "described"]))
    facts: dict[str, Any] = {
        "grain": draw(st.sampled_from([None, "x", "y"])), "up": draw(st.sampled_from([None, "+x", "-x", "+y", "-y"])),
        "count": draw(st.none() | st.integers(1, 10_000_000)), "material": draw(st.sampled_from([None, *MATERIALS])),
        "cost": draw(st.none() | st.integers(0, 10**9) | st.floats(0, 1e6).map(lambda v: round(v, 9))),
    }  # fmt: skip
    facts["grain_guessed"] = facts["grain"] is not None and draw(st.booleans())
    note, source, description = draw(text), draw(text), ""
    if shape == "plain":
        size = st.integers(8_000, 8_000_000)
        sheet = Sheet.from_ticks("7", ((0, 0), (w := draw(size), 0), (w, h := draw(size)), (0, h)),
                                 true_edges=draw(st.sets(st.integers(0, 3))),
                                 inset=0.125 * draw(st.integers(0, 40)), **facts)  # fmt: skip
    elif shape == "ticks":
        at = st.integers(0, 400_000)
        ring = ((draw(at), draw(at)), (3_000_000 + draw(at), draw(at)), (3_000_000 + draw(at), 2_000_000 + draw(at)),
                (1_500_000 + draw(at), 2_500_000), (draw(at), 2_000_000 + draw(at)))  # fmt: skip
        sheet = Sheet.from_ticks("7", ring, true_edges=draw(st.sets(st.integers(0, 4))), **facts)
    else:
        parts = ["torn R 1", "clip TR 1 by 2", "bad L 1 to 2 deep 1", "grain long", "grain up guessed", "true all",
                 "edge T every 9: 7 6"]  # fmt: skip
        part = draw(st.sampled_from(parts))
        made = parse_text(f"7: 12 x 7; {part}", unit=unit).sheets[0]
        sheet, description = made.sheet, made.description
        said = {"grain long": {"grain": "x", "grain_guessed": False}, "grain up guessed": {"grain": "y", "grain_guessed": True},
                "true all": {"true_edges": (0, 1, 2, 3)}}.get(part, {})  # fmt: skip
        facts = {"true_edges": draw(st.sampled_from([(), (0,)])), **facts, **said}
        sheet = Sheet.from_ticks("7", sheet.outline, zones=sheet.zones, **facts)
    known = st.sampled_from([None, True, False])
    return StockSheet(sheet, draw(st.sampled_from(KINDS)), unit, draw(st.none() | st.integers(1, 40_000)),
                      draw(st.none() | st.integers(10, 900).map(float)), draw(st.none() | st.floats(0, 1e6)), source, note,
                      draw(known), draw(known), description)  # fmt: skip


@given(stock_sheets())
@settings(max_examples=150, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
def test_any_sheet_comes_back_from_csv_and_json(tmp_path: Path, stock: StockSheet) -> None:
    for ending in ("csv", "json"):
        path = tmp_path / f"any.{ending}"
        write_table(path, [stock])
        again = read_table(path)
        assert not again.faults, again.sentences
        assert again.sheets == (stock,)


def test_no_cell_is_a_formula_and_the_quote_comes_off_again(tmp_path: Path) -> None:
    # CSV injection: cells that begin with = + - @ are run by spreadsheets (OWASP, "CSV Injection", from memory)
    for ending in ("csv", "xlsx"):
        path = tmp_path / f"f.{ending}"
        write_table(path, odd_sheets())
        if ending == "csv":
            cells = [cell for row in csv.reader(path.open(encoding="utf-8", newline="")) for cell in row]
        else:
            import openpyxl

            sheet = openpyxl.load_workbook(path).active
            assert not any(cell.data_type == "f" for row in sheet.iter_rows() for cell in row)
            cells = [cell.value for row in sheet.iter_rows() for cell in row]
        texts = [cell for cell in cells if isinstance(cell, str) and cell]
        assert "'=1+1" in texts and "''@x" in texts and "'''" in texts
        assert not any(text.startswith(("=", "+", "-", "@", "\t", "\r")) for text in texts)


def test_json_is_a_document_with_plain_values(tmp_path: Path) -> None:
    path = tmp_path / "s.json"
    write_table(path, parse_text("unit in\n4: 12 x 18 1/2; grain up; price 0.5; count 3; true L").sheets)
    document = json.loads(path.read_text(encoding="utf-8"))
    assert document == {"document": "quirestock-sheets", "version": 1, "sheets": [{
        "id": "4", "width": 12, "height": 18.5, "unit": "in", "kind": "salvaged", "grain": "y", "true_edges": "L", "count": 3,
        "price": 0.5, "description": "12 x 18 1/2; grain up; true L"}]}  # fmt: skip


def test_a_table_may_describe_a_sheet_in_every_way(tmp_path: Path) -> None:
    path = written(
        tmp_path / "t.csv",
        "ID,Width,height,unit,kind,grain,up,true_edges,description,outline_mm,bad_mm,holes_mm,best_mm,count,note",
        '1,400,310,mm,,,,,clip TR 30 by 40,,,,,,', '2,,,in,parent,across,left,,"16 1/2 x 11 3/4; torn R 1/2",,,,,no limit,NA',
        '3,,,,,,,L B,,"0 0; 100 0; 100 50.5; 0 50.5",0 0; 9 0; 9 9 | 20 20; 29 20; 29 29,50 20; 60 20; 60 30,'
        '70 20; 80 20; 80 30; weight 2,,',
        '4,16 1/2 in,200 mm,,,,,R T,,,,,,7,', "", ",,,,,,,,,,,,,,",
        '5,420,297,mm,,up,up,0 1,,0 0; 420 0; 420 297; 0 297,,,,,')  # fmt: skip
    reading = read_table(path)
    assert not reading.faults, reading.sentences
    one, two, three, four, five = (sheet.sheet for sheet in reading.sheets)
    assert one.area_mm2 == 400 * 310 - 600 and reading.sheets[0].description == "400 mm x 310 mm; clip TR 30 by 40"
    assert two.box == (0, 0, 16 * 203_200 + 101_600, 11 * 203_200 + 152_400) and len(two.bad) == 1
    assert (two.grain, two.up, two.count) == ("x", "-x", None)
    assert two.true_edges == (0, 2, 3) and reading.sheets[1].note == "NA"
    assert len(three.bad) == 2 and len(three.holes) == 1 and three.zones[2].weight == 2 and three.true_edges == (0, 3)
    assert four.box == (0, 0, Fraction(33, 2) * 203_200, 1_600_000) and four.true_edges == (1, 2) and four.count == 7
    assert (five.grain, five.up, five.true_edges) == ("y", "+y", (0, 1))


def test_semicolon_tables_with_decimal_commas_are_read(tmp_path: Path) -> None:
    path = tmp_path / "t.csv"
    path.write_bytes('\ufeffid;width;height;unit;price\r\n1;215,9;279,4;mm;0,35\r\n'.encode())
    reading = read_table(path)
    assert reading.sheets[0].sheet.box == (0, 0, 1_727_200, 2_235_200) and reading.sheets[0].price == 0.35


HEAD = "id,width,height,unit,grain,count,description"


@pytest.mark.parametrize(("row", "match"), [
    ("1,420,297,,x,1,", "width: expected a length with its unit, found 420. Fill the column unit"),
    ("1,420,297,cm,x,1,", 'unit: expected mm or in'), ("1,420,297,mm,uo,1,", 'grain: expected up'),
    ("1,420,297,mm,uo,1,", 'Did you mean "up"?'), ("1,420,297,mm,x,0,", "count: expected a whole"),
    ("1,420,297,mm,x,-1,", "count: expected"), ("1,420,297,mm,x,1000000000,", "from 1 to 10,000,000"),
    (",420,297,mm,x,1,", "id: expected"), ("1,,297,mm,x,1,", "width: expected the size"),
    ("1,420,,mm,x,1,", "height: expected the size"), ("1,,,mm,x,1,", "size"),
    ("1,420,297,mm,x,1,400 x 297", "width: expected 400, the width by description"),
    ("1,420,297,mm,x,1,grain up", "what column grain says"), ("1,420,297,mm,y,1,grain up guessed", "what column grain says"),
    ("1,420,297,mm,x,1,torn R 500", "less than the sheet's 420 mm"), ("1,420,297,mm,x,1,like 4", "not like another"),
    ("1,420,297,mm,x,1,tron R 5", 'Did you mean "torn"?'), ('1,"1,234",297,mm,x,1,', "thousands"),
    ("1,420,297,mm,x,1,,,,9", "7 cells"), ("1,-420,297,mm,x,1,", "0 or more"), ("1,0,297,mm,x,1,", "above 0"),
    ("1,2024-03-01 00:00:00,297,mm,x,1,", "took a fraction for a date"), ("1,420,297,mm,x,1,no clip", "to drop"),
    ("1,420,297,mm,x,1,count 3; count 4", "once"),
])  # fmt: skip
def test_each_bad_row_gives_one_sentence_with_its_number(tmp_path: Path, row: str, match: str) -> None:
    found = sentences(tmp_path / "t.csv", HEAD, "0,9,9,mm,,,", row)
    assert len(found) == 1 and found[0].startswith("row 3: ") and match in found[0], found


@pytest.mark.parametrize(("cells", "match"), [
    ({"outline_mm": "0 0; 9 0"}, "at least 3 points"), ({"outline_mm": "0 0; 9 0; 9 x"}, "a plain number of mm"),
    ({"outline_mm": "0 0; 9 0; 9 9; 0 9 1"}, "points as x y"), ({"outline_mm": "0 0; 9 9; 9 0; 0 5"}, "does not cross"),
    ({"outline_mm": "0 0; 9 0; 9 9 | 0 0; 9 0; 9 9"}, "one outline"),
    ({"bad_mm": "0 0; 9 0; 9 9"}, "outline_mm beside it"),
    ({"outline_mm": "0 0; 9 0; 9 9", "width": "10"}, "9, the width by outline_mm"),
    ({"outline_mm": "0 0; 9 0; 9 9", "description": "9 x 9"}, "the shape that outline_mm gives"),
    ({"outline_mm": "0 0; 9 0; 9 9; 0 9", "description": "9 x 9; grain up", "grain": "x"}, "what column grain says"),
    ({"outline_mm": "0 0; 9 0; 9 9", "bad_mm": "20 20; 30 20; 30 30"}, "off the sheet"),
    ({"outline_mm": "0 0; 9 0; 9 9", "bad_mm": "0 0; 30 0; 30 30; -9 30"}, "some good paper left"),
    ({"outline_mm": "0 0; 9 0; 9 9", "true_edges": "3"}, "edge numbers from 0 to 2"),
    ({"width": "9", "height": "9", "true_edges": "3"}, "need outline_mm"),
    ({"outline_mm": "0 0; 9 0; 9 9", "best_mm": "1 0; 2 0; 2 1; weight 0"}, "above 0"),
    ({"outline_mm": "0 0; 9 0; 9 9", "grain": "long"}, "beside outline_mm"),
    ({"width": "9", "height": "9", "cost": "-1"}, "cost: expected"),
    ({"width": "9", "height": "9", "up": "north"}, "up: expected up, down"),
    ({"width": "9", "height": "9", "inset": "x"}, "inset"),
    ({"width": "9", "height": "9", "material": "crd"}, 'Did you mean "card"?'),
])  # fmt: skip
def test_bad_outlines_and_facts_give_one_sentence(tmp_path: Path, cells: dict[str, str], match: str) -> None:
    path = tmp_path / "t.json"
    rows = [{"id": "1", "unit": "mm", **cells}]
    path.write_text(json.dumps({"document": "quirestock-sheets", "version": 1, "sheets": rows}))
    found = read_table(path).sentences
    assert len(found) == 1 and match in found[0], found


def test_faults_of_the_header_are_row_1_and_a_duplicate_id_names_the_first(tmp_path: Path) -> None:
    path = tmp_path / "t.csv"
    found = sentences(path, "id,widht,width,height,unit,width", "1,,9,9,mm,", "1,,9,9,mm,")
    assert [s.partition(":")[0] for s in found] == ["row 1", "row 1", "row 3"]
    assert 'Did you mean "width"?' in found[0] and "width twice" in found[1] and "1, used in row 2" in found[2]
    assert sentences(path, "width,height,unit", "9,9,mm") == (
        "row 1: column id: expected a column id, found none. Add it: each sheet needs its number.",)  # fmt: skip
    stock = parse_text("1: 9 x 9", unit="mm").sheets
    assert "used in the stock book" in sentences(path, "id,width,height,unit", "1,9,9,mm", stock=stock)[0]
    assert read_table(written(path, "id,width,height", "2,9,9"), unit="in", material="card").sheets[0].sheet.material == "card"


def test_files_that_are_no_table_say_why(tmp_path: Path) -> None:
    cases: list[tuple[str, bytes | None, str]] = [
        ("missing.csv", None, "a file that is there"), ("empty.csv", b"", "an empty file"),
        ("blank.csv", b"\n\n ,\n", "an empty file"),
        ("head.csv", b"id,width\n", "a header only"), ("other.csv", "id,width\n1,9 ½\n".encode("utf-16"), "UTF-8"),
        ("other.xlsx", b"no workbook", "an XLSX workbook"), ("empty.xlsx", b"", "an empty file"),
        ("x.ods", b"1", r"ends in \.csv"),
        ("x.json", b"[1, 2]", "another document"), ("x.json", b"{", "JSON"), ("x.json", b"", "an empty file"),
        ("x", b"", "no ending"), ("rows.csv", b"row,reason,id\n1,unknown column,\n", "found none"),
    ]  # fmt: skip
    for name, content, match in cases:
        if content is not None:
            (tmp_path / name).write_bytes(content)
        with pytest.raises(InputError, match=match):
            read_table(tmp_path / name)
    with pytest.raises(InputError, match="found a folder"):
        read_table(tmp_path)
    with pytest.raises(InputError, match=r"ends in \.csv"):
        write_table(tmp_path / "x.ods", ())
    with pytest.raises(StorageError, match="is not there"):
        write_table(tmp_path / "no" / "x.csv", ())
    with pytest.raises(StorageError, match="XLSX cannot keep"):
        write_table(tmp_path / "x.xlsx", [StockSheet(Sheet.rectangle("1", 9, 9), note="a\x01b")])
    with pytest.raises(StorageError, match="no file keeps"):
        write_table(tmp_path / "x.csv", [StockSheet(Sheet.rectangle("1", 9, 9), note="a\udc80b")])
    assert not (tmp_path / "x.xlsx").exists() and not (tmp_path / "x.csv").exists() and not list(tmp_path.glob(".*"))


def test_bad_rows_come_back_beside_their_reasons_and_can_be_mended_there(tmp_path: Path) -> None:
    path, bad = tmp_path / "t.csv", tmp_path / "bad.csv"
    written(path, HEAD, "1,420,297,mm,uo,1,", "2,420,297,mm,x,1,", "3,420,297,,x,-1,=2+2")
    write_bad_rows(bad, read_table(path))
    rows = list(csv.reader(bad.open(encoding="utf-8", newline="")))
    assert rows[0] == ["row", "reason", "id", "width", "height", "unit", "grain", "count", "description"]
    assert [row[0] for row in rows[1:]] == ["2", "4"] and 'Did you mean "up"?' in rows[1][1]
    assert rows[2][7:] == ["'-1", "'=2+2"]
    mended = ["2", "mended", "1", "420", "297", "mm", "up", "1", ""]
    written(bad, *(",".join(f'"{cell}"' for cell in row) for row in (rows[0], mended)))
    assert [sheet.id for sheet in read_table(bad).sheets] == ["1"]
    write_bad_rows(bad, parse_text("1: 9 x 9\n=cmd()", unit="mm"))
    assert list(csv.reader(bad.open(encoding="utf-8", newline="")))[1][2] == "'=cmd()"


def test_the_columns_are_those_of_the_design() -> None:
    design = ("id, width, height, unit, kind, grain, up, count, cost, caliper, grammage, source, note, description, "
              "outline_mm, holes_mm, bad_mm, best_mm")  # fmt: skip
    assert set(design.split(", ")) <= set(COLUMNS)
