"""How lengths, names and scales are written on drawings, and the room that lettering takes."""

from __future__ import annotations

from dataclasses import replace

import pytest

from nesting.draw import ink, words
from nesting.draw.cut_table import cut_table
from nesting.draw.ink import Page
from nesting.draw.picture import fitting
from nesting.lengths import TICKS_PER_MM as MM
from nesting.lengths import Unit, parse
from nesting.programme.steps import Part, steps

from .drawn_cases import CASES, b3


def test_the_room_a_text_takes_is_what_matplotlib_makes_of_it():
    """The measure that all placing stands on, against the renderer's own, within 1 %."""
    import matplotlib
    from matplotlib.backends.backend_agg import FigureCanvasAgg
    from matplotlib.font_manager import FontProperties
    from matplotlib.text import Text

    page = Page("A4")
    with matplotlib.rc_context({"text.hinting": "none"}):
        renderer = FigureCanvasAgg(page.figure).get_renderer()
        for words_, size_, bold in (("186 × 146 mm", 8, False), ("closed print shop, wallpaper", 9, True), ("s17-b", 36, True)):
            theirs = Text(0, 0, words_, fontproperties=FontProperties(fname=ink.font_file(bold), size=size_))
            theirs.set_figure(page.figure)
            wide = theirs.get_window_extent(renderer).width / page.figure.dpi * 25.4
            assert ink.width(words_, size_, bold) == pytest.approx(wide, rel=0.01)


def test_scales_come_from_the_list():
    assert fitting(400 * MM, 310 * MM, 160, 130) == pytest.approx(1 / 2.5)
    assert fitting(400 * MM, 310 * MM, 159.9, 130) == pytest.approx(1 / 3)
    assert fitting(60 * MM, 40 * MM, 500, 500) == 2
    assert words.scale(0.4) == "1 : 2.5" and words.scale(2) == "2 : 1" and words.scale(1 / 3) == "1 : 3"


def test_lengths_for_the_bench():
    assert words.side(parse("185.75 mm"), "mm") == "185.75" and words.side(parse("185.753 mm"), "mm") == "~185.8"
    assert words.side(parse("7 1/4 in"), "in") == "7-1/4" and words.with_unit(parse("7 1/4 in"), "in") == "7-1/4 in"
    assert words.side(parse("100 mm"), "in") == words.with_unit(parse("100 mm"), "in") == "100 mm"
    assert words.size(parse("7 1/4 in"), parse("100 mm"), "in") == "184.15 × 100 mm"
    assert words.rough(parse("8.3 mm"), "mm") == "8.5" and words.rough(parse("5/16 in"), "in") == "5/16"


def test_settings_are_exact_or_say_which_way_they_are_rounded():
    """Inches only where exact in 64ths, else mm (design.md section 3); never ~: the maker must dial it."""
    first = steps(b3().layouts[0], b3().sheets[0])[0]

    def setting(text: str, unit: Unit, stays: Part) -> tuple[str, str]:
        return words.setting(replace(first, setting=parse(text), at_fence="low", low=stays), unit)

    piece, rest = Part((("cover", 1),)), Part(shavings=True)
    assert setting("7 35/64 in", "in", piece) == ("7-35/64", "") and setting("191.6 mm", "in", piece) == ("191.6 mm", "")
    assert setting("335.625 mm", "mm", piece) == ("335.63", "up") and setting("335.625 mm", "mm", rest) == ("335.62", "down")
    assert setting("7 35/64 in", "mm", piece) == ("191.7", "up")  # 191.690625
    assert setting("335.62 mm", "mm", rest) == ("335.62", "")


@pytest.mark.parametrize("name", CASES)
@pytest.mark.parametrize("width", [140.0, 185.0])
def test_every_cell_of_a_cut_table_holds_whole_words(name, width):
    make, unit = CASES[name]
    found = make()
    made = steps(found.layouts[0], found.sheets[0], found.cutter)
    table = cut_table(made, unit, width)
    assert sum(column.width for column in table.columns) == pytest.approx(width if table.rows else 0)
    assert not table.rows or [c.heading for c in table.columns][-3:] == ["edge at it", "stays at the fence", "falls off"]
    for step, row in table.rows:
        for column, cell in zip(table.columns, row, strict=True):
            for line in cell:
                assert "…" not in line and ink.width(line, 9, column.bold) <= column.width - 1.5, (column.heading, line)
        for part, cell in ((step.kept, row[-2]), (step.falls, row[-1])):
            told = "".join(cell).replace(" ", "")
            named = all(f"{count:,}{name}".replace(" ", "") in told for name, count in part.pieces)
            assert named or f"{sum(n for _, n in part.pieces):,}piecesof{len(part.pieces)}kinds" in told
            assert part.pieces or part.offcuts or told == "shavings"


def test_a_side_of_too_many_names_is_counted_and_a_long_word_broken():
    many = Part(tuple((f"cover {k}", k) for k in range(1, 40)), ("s1-a", "s1-b", "s1-c"))
    assert words.told(many, 40, 9) == ("780 pieces of 39 kinds,", "3 offcuts")
    few = Part((("card " * 20, 1), ("cover " * 20, 2)))
    assert " ".join(words.told(few, 40, 9)).split() == ["1", *["card"] * 20, ",", "2", *["cover"] * 20]
    long = words.told(Part((("x" * 60, 2),)), 40, 9)
    assert len(long) > 1 and "".join(long).replace(" ", "") == "2" + "x" * 60
    assert all(ink.width(line, 9) <= 40 for line in long)


def test_a_word_list_is_shortened_name_by_name():
    things = [("2 ", "cover for the small notebook"), ("", "wallpaper-0117-a")]
    assert words.listed(things, 500, 9) == "2 cover for the small notebook, wallpaper-0117-a"
    short = words.listed(things, 50, 9)
    assert ink.width(short, 9) <= 50 and short.startswith("2 cov") and short.endswith("a") and "…" in short
    assert ink.shortened("wallpaper-0117-a", 15, 9).endswith("a")
