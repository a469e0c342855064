"""Descriptions typed line by line, and random ones: never an error, whatever is typed."""

from __future__ import annotations

from fractions import Fraction
from typing import Any

from hypothesis import given, settings
from hypothesis import strategies as st

from inventory.descriptions import Message, Reader, parse_text
from nesting.lengths import TICKS_PER_INCH, parse, show
from tests.described import DESIGN, box, points


def test_the_prompt_makes_the_same_sheets_as_a_file() -> None:
    reader = Reader()
    for line in [*DESIGN.splitlines()[:14], "", *DESIGN.splitlines()[14:]]:
        answer = reader.line(line)
        assert not (isinstance(answer, Message) and answer.wrong), (line, answer)
    assert reader.sheets == parse_text(DESIGN).sheets


def test_the_prompt_takes_the_last_line_back_and_like_keeps_working() -> None:
    reader = Reader(unit="mm")
    first = reader.line("4: 400 x 310; clip TR 30 by 40")
    assert isinstance(first, list) and [sheet.id for sheet in first] == ["4"]
    assert len(reader.line("11 to 18: like 4")) == 8  # type: ignore[arg-type]
    assert reader.undo() == Message("Taken back: 11 to 18: like 4")
    assert [sheet.id for sheet in reader.sheets] == ["4"]
    again = reader.line("11: like 4; no clip")
    assert isinstance(again, list) and again[0].description == "400 x 310"
    assert reader.line("unit in") == Message("From here on: unit in")
    wrong = reader.line("12: like 4")
    assert isinstance(wrong, Message) and wrong.wrong and "given in one unit" in wrong.text
    reader.undo()  # the unit
    assert isinstance(reader.line("12: like 4"), list)
    for _ in range(3):
        reader.undo()
    assert reader.sheets == () and reader.undo().wrong
    gone = reader.line("13: like 4")
    assert isinstance(gone, Message) and gone.wrong and reader.sheets == ()
    assert isinstance(reader.line("4: 10 x 10"), list)  # its number is free again


def test_the_prompt_waits_for_rows_of_squares() -> None:
    reader = Reader(unit="mm")
    assert isinstance(reader.line("22: squares 20; grain up"), Message) and reader.waits_for_rows
    for row, wrong in (("####", False), ("...", True), ("23: 4 x 4", True), (".*..", False), ("....", False)):
        answer = reader.line(row)
        assert isinstance(answer, Message) and answer.wrong == wrong
    assert reader.undo().text == "Taken back: row ...."
    made = reader.line("")
    assert isinstance(made, list) and points(made[0].sheet.outline) == box(0, 0, 80, 20) and made[0].sheet.grain == "y"
    assert not reader.waits_for_rows
    reader.line("23: squares 5")
    assert reader.undo().text == "Taken back: 23: squares 5" and not reader.waits_for_rows
    assert isinstance(reader.line("...."), Message) and reader.line("# aside") == Message("")


WORDS = st.sampled_from([
    "420", "x", "297", "torn", "R", "TR", "clip", "by", "bad", "across", "to", "up", "deep", "best", "hole", "crease",
    "wide", "edge", "every", ":", ";", "corners", "(0; 0)", "(9; 0)", "(9; 9)", "squares", "..#", "like", "1", "no",
    "grain", "true", "all", "unit", "mm", "in", "8 1/2", '"', "(", ")", "1,234", "-3", "½", "note", "bottom", "top",
    "left", "right", "square", "BL", "count", "price", "\n", "1:", "2:", "#", "99999999999999", "1/0", "é", "\t",
    "kind parent", "weight", "0",
])  # fmt: skip


@given(st.lists(WORDS, max_size=25).map(" ".join) | st.text(max_size=60))
@settings(max_examples=400, deadline=None)
def test_no_text_ever_raises(text: str) -> None:
    for whole in (text, f"1: 420 x 297; {text}", f"unit mm\n1: 420 x 297\n2: like 1; {text}"):
        reading = parse_text(whole, unit="mm")
        assert all(f.reason and f.line >= 1 for f in reading.faults)
        assert all(sheet.sheet.area2 > 0 for sheet in reading.sheets)
    reader = Reader(unit="mm")
    for line in text.splitlines():
        reader.line(line)
    reader.undo()


SIXTEENTHS = st.integers(0, 4).map(lambda k: Fraction(k, 16))


@st.composite
def described(draw: st.DrawFn) -> list[tuple[str, tuple[Any, ...]]]:
    """Parts of a 20 x 15 in sheet as (form, arguments), every length in inches as a Fraction."""
    parts: list[tuple[str, tuple[Any, ...]]] = []

    def inches(low: int, high: int) -> Fraction:
        return draw(st.integers(low, high)) + draw(SIXTEENTHS)

    forms = ["torn", "clip", "strip", "bad", "best", "hole", "crease"]
    for form in draw(st.lists(st.sampled_from(forms), max_size=4, unique=True)):
        if form == "torn":
            parts.append(("torn {} {}", (draw(st.sampled_from("LRTB")), inches(1, 2))))
        elif form == "clip":
            parts.append(("clip {} {} by {}", (draw(st.sampled_from(["TL", "TR", "BL", "BR"])), inches(1, 2), inches(1, 2))))
        elif form == "strip":
            parts.append(("bad {} {} to {} deep {}", (draw(st.sampled_from("LRTB")), inches(3, 5), inches(6, 8), inches(4, 5))))
        elif form == "crease":
            parts.append(("crease T {} to B {} wide {}", (inches(4, 15), inches(4, 15), Fraction(1, 8))))
        else:
            parts.append((form + " across {} to {} up {} to {}", (inches(5, 7), inches(8, 9), inches(4, 6), inches(7, 9))))
    return parts


def _mixed(value: Fraction) -> str:
    whole, rest = divmod(value, 1)
    return f"{whole} {rest}" if whole and rest else str(value)


def _dashed(value: Fraction) -> str:
    return show(int(value * TICKS_PER_INCH), "in").replace(" in", '"')


def _metric(value: Fraction) -> str:
    return show(int(value * TICKS_PER_INCH), "mm").replace(" mm", "")


def _comma(value: Fraction) -> str:
    text = f"{float(value * Fraction(254, 10)):.4f}".rstrip("0")
    return text.replace(".", ",") if len(text.partition(".")[2]) != 3 else text


@given(described(), st.booleans())
@settings(max_examples=80, deadline=None)
def test_every_spelling_of_a_sheet_reads_to_the_same_shape(parts: list[tuple[str, tuple[Any, ...]]], shout: bool) -> None:
    sheets = []
    for unit, spell in (("in", _mixed), ("in", _dashed), ("mm", _metric), ("mm", _comma)):
        size = f"{spell(Fraction(20))} x {spell(Fraction(15))}"
        said = [form.format(*(spell(a) if isinstance(a, Fraction) else a for a in args)) for form, args in parts]
        line = "; ".join([size, *said])
        reading = parse_text(f"unit {unit}\n7: {line.upper() if shout else line}")
        assert not reading.faults, (line, reading.sentences)
        sheet = reading.sheets[0]
        sheets.append((sheet.sheet.outline, sheet.sheet.holes, sheet.sheet.zones))
        kept = parse_text(f"7: {sheet.description}", unit=unit)  # type: ignore[arg-type]
        assert kept.sheets[0] == sheet  # what is kept with the sheet reads to the sheet
    assert all(sheet == sheets[0] for sheet in sheets)


def test_a_length_printed_in_the_language_reads_back() -> None:
    assert parse(_dashed(Fraction(33, 4))) == Fraction(33, 4) * TICKS_PER_INCH == parse(_mixed(Fraction(33, 4)), "in")
