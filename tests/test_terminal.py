"""The picture of a sheet in the terminal: its shape, its axes, what lies on it."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from inventory.descriptions import parse_text
from inventory.terminal import picture
from nesting import Sheet
from tests.described import one
from tests.sixty_sheets import sixty_sheets


def drawn(text: str) -> list[str]:
    """The lines of cells of a plain picture, from the top."""
    return [line.partition("|")[2] for line in text.splitlines() if "|" in line.partition("grain")[0]]


def test_a_plain_sheet_is_drawn_whole_with_both_axes_marked() -> None:
    lines = picture(one("60 x 40").sheet, ascii=True, width=30).splitlines()
    assert lines == [
        "s: 60 across x 40 up, mm",
        " 40 |.........................", *["    |........................."] * 3, " 20 |.........................",
        *["    |........................."] * 3, "  0 +-------------------------", "    0           30       60 mm",
        ". paper   grain unknown", "print any way", "true edges none",
    ]  # fmt: skip


def test_the_axes_count_from_where_positions_do() -> None:
    ends = "edge L every 30: 80 80 80; edge B every 50: 50 50 50"
    lines = picture(one(f"100 x 60; {ends}").sheet, ascii=True).splitlines()
    assert lines[0] == "s: 80 across x 50 up, mm"  # what is left of it
    level = next(i for i, line in enumerate(lines) if "+-" in line)
    assert lines[1].startswith(" 60 |") and lines[level].startswith(" 10 +")
    assert lines[level + 1].split() == ["20", "60", "100", "mm"]


def test_width_and_height_swapped_are_seen() -> None:
    wide, high = drawn(picture(one("420 x 297").sheet, ascii=True)), drawn(picture(one("297 x 420").sheet, ascii=True))
    assert len(wide[0]) > 2 * len(wide) and len(high[0]) < 2 * len(high)
    assert len(wide[0]) / len(wide) / 2 == pytest.approx(420 / 297, rel=0.05)  # a cell is about twice as high as wide
    assert len(high[0]) / len(high) / 2 == pytest.approx(297 / 420, rel=0.05)


def test_marks_lie_where_they_are_said_and_up_is_up() -> None:
    text = "bad across 0 to 25 up 0 to 50; best across 50 to 100 up 75 to 100; hole across 50 to 75 up 25 to 50; clip TL 25 by 25"
    cells = drawn(picture(one(f"100 x 100; {text}").sheet, ascii=True))
    rows, columns = len(cells), len(cells[0])

    def at(across: float, up: float) -> str:
        return cells[rows - 1 - int(up / 100 * rows)][int(across / 100 * columns)]

    assert [at(10, 10), at(10, 40), at(90, 90), at(60, 40)] == ["#", "#", "*", "o"]
    assert [at(60, 10), at(1, 99), at(60, 60)] == [".", " ", "."]
    assert at(30, 30) == "." == at(10, 60)


def test_a_torn_edge_is_drawn_as_bad_and_the_paper_whole() -> None:
    text = picture(one("100 x 60; torn L 20").sheet, ascii=True, width=60)
    assert text.startswith("s: 100 across x 60 up, mm")
    assert all(row.startswith("###") and row.endswith("...") for row in drawn(text))


def test_the_smallest_damage_is_seen() -> None:
    for kind, sign in (("bad", "#"), ("hole", "o"), ("best", "*")):
        cells = drawn(picture(one(f"5000 x 3000; {kind} across 1001 to 1002 up 1000 to 1000.5").sheet, ascii=True))
        assert "".join(cells).count(sign) == 1


def test_the_legend_names_only_what_is_drawn_and_how_grain_print_and_edges_lie() -> None:
    plain = picture(one("100 x 100; grain across; print left; true L B; inset 2").sheet)
    assert plain.endswith("\n░ paper   grain ↔ across   print ← left\ninset 2 mm   true edges L B") and "bad" not in plain
    full = picture(one("100 x 100; grain up; print down; bad L 5 to 50 deep 9"), "in")
    assert "▚ bad" in full and "grain ↕ up" in full and "print ↓ down" in full and "3-15/16 across x 3-15/16 up, in" in full
    more = picture(Sheet.from_mm("x", [(0, 0), (9, 0), (9, 5), (5, 9), (0, 9)], true_edges=[0, 2]))
    assert "true edges B and 1 more" in more


def test_plain_characters_are_all_ascii_and_blocks_are_not() -> None:
    sheet = one("100 x 100; grain up; print down; bad L 5 to 50 deep 9; hole across 50 to 60 up 50 to 60")
    assert picture(sheet, ascii=True).isascii() and not picture(sheet).isascii()
    assert len(picture(sheet, ascii=True).splitlines()) == len(picture(sheet).splitlines())


@pytest.mark.parametrize(("width", "height", "to_scale"), [
    (10, 10, True), (5000, 50, False), (50, 5000, False), (420, 297, True)])  # fmt: skip
def test_sheets_of_every_size_are_drawn(width: int, height: int, to_scale: bool) -> None:
    for unit in ("mm", "in"):
        text = picture(Sheet.rectangle("x", width, height), unit, ascii=True)  # type: ignore[arg-type]
        assert ("not to scale" in text) != to_scale
        assert len(drawn(text)) >= 1 and set("".join(drawn(text))) == {"."}


@given(st.integers(1, 160_000_000), st.integers(1, 160_000_000), st.integers(0, 120), st.sampled_from(["mm", "in"]))
@settings(max_examples=150, deadline=None)
def test_no_line_is_wider_than_asked(width: int, height: int, columns: int, unit: str) -> None:
    sheet = Sheet.from_ticks("number-seven", ((0, 0), (width, 0), (width, height), (0, height)), grain="x")
    text = picture(sheet, unit, columns, ascii=True)  # type: ignore[arg-type]
    assert len(text.splitlines()) <= 24 + 8
    if columns >= 48:
        assert max(map(len, text.splitlines())) <= columns
    assert drawn(text)[-1].startswith(".") and text.splitlines()[0].endswith(f"up, {unit}")


def test_all_of_sixty_sheets_are_drawn() -> None:
    for stock in parse_text(sixty_sheets()).sheets:
        text = picture(stock, stock.unit, ascii=True)
        cells = "".join(drawn(text))
        assert "." in cells
        assert ("#" in cells) == bool(stock.sheet.bad) and ("o" in cells) == bool(stock.sheet.holes)
        assert ("*" in cells) == any(zone.kind == "best" for zone in stock.sheet.zones)
