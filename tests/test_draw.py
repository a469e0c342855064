"""Cut diagrams and contact sheets: what is on the page, true to scale, legible, and the same every time.

Line kinds after ISO 128-2; the pages' wording and cautions after design.md sections 8 and 9.
"""

from __future__ import annotations

import io
import json
import math
import re
from dataclasses import replace
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import settings as effort
from hypothesis import strategies as st
from matplotlib.collections import LineCollection
from matplotlib.lines import Line2D
from matplotlib.patches import PathPatch

from inventory import StorageError
from inventory.command.main import status
from inventory.drawings import page_bytes, pdf_bytes, write_pages
from nesting import Blank, InputError, Plan, Sheet
from nesting.draw import ink, words
from nesting.draw.contact import contact_pages
from nesting.draw.diagrams import plan_pages
from nesting.draw.ink import Page
from nesting.draw.lettering import Lettering
from nesting.draw.limits import limit_lines
from nesting.draw.picture import SCALES, fitting
from nesting.lengths import TICKS_PER_MM as MM
from nesting.lengths import parse
from nesting.plans import Bound
from nesting.programme.steps import steps

from .drawn_cases import (
    CASES,
    LONG_NAME,
    b3,
    chance,
    inches,
    layout,
    long_names,
    many_cuts,
    offcut,
    piece,
    plan,
    torn,
    turned,
    up,
)  # fmt: skip

SIZES = {"A4": (210, 297), "Letter": (215.9, 279.4)}


def letters(figure) -> list[Lettering]:
    return [artist for artist in figure.artists if isinstance(artist, Lettering)]


def text(figure) -> str:
    return "\n".join(lettering.text for lettering in letters(figure))


def flowing(figure) -> str:
    """The text with line breaks as spaces, in the order it was written."""
    return " ".join(lettering.text for lettering in letters(figure))


def size(figure) -> tuple[float, float]:
    return tuple(float(v) * 25.4 for v in figure.get_size_inches())


def clashes(figure) -> list[tuple[str, str]]:
    """Texts that run into each other, or off the page."""
    every = letters(figure)
    width, height = size(figure)
    out = [("off the page", a.text) for a in every
           if a.rect[0] < 5 or a.rect[1] < 5 or a.rect[2] > width - 5 or a.rect[3] > height - 5]  # fmt: skip
    for i, a in enumerate(every):
        for b in every[:i]:
            if a.rect[0] + 0.1 < b.rect[2] and b.rect[0] + 0.1 < a.rect[2] and a.rect[1] + 0.1 < b.rect[3] \
                    and b.rect[1] + 0.1 < a.rect[3]:  # fmt: skip
                out.append((a.text, b.text))
    return out


@pytest.mark.parametrize("paper", ["A4", "Letter"])
@pytest.mark.parametrize("name", CASES)
def test_every_page_is_legible(name, paper):
    make, unit = CASES[name]
    pages = plan_pages(make(), unit=unit, paper=paper, title="Theatre bills", notes=["A note."], book_head="9b1f44")
    for number, page in enumerate(pages, 1):
        assert clashes(page) == []
        assert all(lettering.size >= 8 for lettering in letters(page))
        assert sorted(size(page)) == pytest.approx(sorted(SIZES[paper]))
        assert f"page {number} of {len(pages)}" in text(page) and "stock book 9b1f44" in text(page)
        assert f"plan {make().id}" in text(page)


@given(st.integers(0, 10**6), st.booleans(), st.sampled_from(["mm", "in"]), st.sampled_from(["A4", "Letter"]))
@effort(max_examples=25, deadline=None)
def test_no_labels_run_into_each_other_on_any_plan(seed, irregular, unit, paper):
    for page in plan_pages(chance(seed, irregular), unit=unit, paper=paper, title=f"by chance {seed}"):
        assert clashes(page) == []


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


def test_a_layout_page_says_what_the_bench_needs():
    plan_ = b3()
    page = plan_pages(plan_, title="Theatre bills")[1]
    said = text(page)
    for word in ("FACE UP", "b3", "400 × 310 mm, width across first", "Gives 4 cover", "Drawn 1 : 2.5", "print up ↑ top",
                 "7 cuts, 5 pulls if equal strips are stacked", "389", "186", "146", "→ right edge", "← left cut",
                 "↓ bottom edge", "shavings", "bad: keep off", "layout 1 of 1", "100 mm", "4 in"):  # fmt: skip
        assert word in said, word
    assert said.count("cover\n186 × 146 mm") == 4
    # every cut has its number twice: in the drawing and in the table
    for step in steps(plan_.layouts[0], plan_.sheets[0]):
        assert [lettering.text for lettering in letters(page)].count(str(step.number)) >= 2


def drawn(figure, kind):
    return [artist for artist in figure.artists if isinstance(artist, kind)]


def long_on_paper(line: Line2D) -> float:
    """The length in mm of a line as printed."""
    (ax, ay), (bx, by) = line.get_transform().transform(line.get_xydata()[[0, -1]]) / line.figure.dpi * 25.4
    return math.hypot(bx - ax, by - ay)


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


def test_squaring_cuts_and_blade_are_explained():
    page = plan_pages(torn())[1]
    assert "by eye" in text(page) and "no true edge to measure from" in flowing(page)
    assert "bottom 3.5 | 9" in text(page)
    strip = plan_pages(CASES["long_strip"][0]())[1]
    assert "longer than the knife" in flowing(strip) and "with the blade" in text(strip)
    untried = plan_pages(CASES["tiny"][0]())[1]
    assert "not known to be straight" in flowing(untried)


def test_offcuts_carry_their_ids_and_sizes():
    page = plan_pages(CASES["triangle"][0]())[1]
    assert "w3-a\n200 × 90 mm" in text(page) and "w3-b\n100 × 240 mm over all" in text(page)


def test_inches_are_written_as_fractions():
    said = text(plan_pages(inches(), unit="in")[1])
    assert "12 × 18 in, width across first" in said and "7-1/4" in said and "5-3/4" in said and "fence, in" in said


def test_a_turned_frame_is_square_to_its_edge():
    assert "Square to bottom edge, 4° anticlockwise" in text(plan_pages(turned())[1])
    untrue = turned()
    untrue = replace(untrue, sheets=(replace(untrue.sheets[0], true_edges=()),))
    assert "Cut askew, 4° anticlockwise" in text(plan_pages(untrue)[1])


def test_many_cuts_keep_all_their_numbers_and_long_tables_go_on():
    page = plan_pages(many_cuts())[1]
    for number in range(1, 26):
        assert [lettering.text for lettering in letters(page)].count(str(number)) >= 2
    sheet = Sheet.rectangle("p", 90, 1200, true_edges="all")
    rows = [offcut("p-a")]
    branch = rows[0]
    for k in range(59, 0, -1):
        branch = up(k * (10 + k / 7), piece(f"n{k}"), branch)
    found = plan([sheet], [Blank(f"n{k}", 90, 1) for k in range(1, 60)], [layout(sheet, branch)])
    pages = plan_pages(found)
    assert len(pages) == 3 and "The table goes on with cut" in flowing(pages[1]) and "p, continued" in text(pages[2])
    shown = text(pages[1]) + "\n" + text(pages[2])
    for step in steps(found.layouts[0], sheet):
        assert words.length(step.setting, "mm") in shown and words.hand(step) in shown


def test_long_names_are_shortened_and_letters_explained():
    page = plan_pages(long_names())[1]
    assert LONG_NAME not in text(page)
    assert "A 90°" in text(page) and "A = $a_1$ тег ?" in flowing(page) and "90° = turned a quarter to the left" in flowing(page)
    assert "? = a letter this print lacks" in text(page)
    assert LONG_NAME in flowing(plan_pages(long_names())[0])


def test_the_summary_says_what_is_cut_short_and_possible_and_warns():
    first = flowing(plan_pages(torn(), title="Theatre bills", notes=["185.75 wide would give 4."])[0])
    for word in ("Theatre bills", "1 cover, from 1 sheet", "4 cover", "No more than 2 are possible", "185.75 wide would give 4.",
                 "Pencil, rule and a square", "s17-a 28 × ~289.9", "Guard in place and clamp down", "Hands never go under",
                 "One person at the lever", "Blade locked", "extremely flammable", "no flame or spark", "safety data sheet",
                 "Staples", "heavy", "Local rules and the machine's own manual come first", "Face up".lower()):  # fmt: skip
        assert word in first, word


def test_a_long_plan_has_a_long_summary_with_the_right_pages():
    one = b3()
    long = replace(one, layouts=one.layouts * 60)
    pages = plan_pages(long)
    assert clashes(pages[0]) == [] and clashes(pages[1]) == []
    row = [lettering.text for page in pages[:2] for lettering in letters(page)]
    numbered = [int(before) for before, after in pairwise(row) if after == "b3" and before.isdecimal()]
    assert numbered == list(range(3, 63)) and len(pages) == 62
    assert "layout 60 of 60" in text(pages[61]) and "layout 1 of 60" in text(pages[2])


def bounded(bound: Bound, quantity: int | None, *more: Blank) -> Plan:
    found = b3()
    blanks = (Blank("cover", 186, 146, quantity), *more)
    short = tuple((b.name, (b.quantity or 0) - (4 if b.name == "cover" else 0)) for b in blanks if b.quantity)
    return replace(found, blanks=blanks, short=short, bound=bound)


AREA = 186 * 146


@pytest.mark.parametrize(("bound", "quantity", "expected"), [
    (Bound("most", "worth", 4 * AREA, 4 * AREA, True, "frames", (0.0,), "proof"), None,
     "4 cover: that is the most possible from these sheets, proven (with cuts square to the sheet as drawn)."),
    (Bound("most", "worth", 4 * AREA, 6.99 * AREA, False, "any angle", (0.0,), "steps"), None,
     "4 cover planned. No more than 6 are possible from these sheets (at any angle)."),
    (Bound("least", "unmade worth", 6 * AREA, 3 * AREA, False, "frames", (0.0, 4.0), "time"), 10,
     "4 cover planned. No more than 7 are possible from these sheets (in the 2 directions tried)."),
    (Bound("least", "stock cost", 124000, 124000, True, "frames", (0.0,), "proof"), 4, "no plan takes less paper"),
    (Bound("least", "stock cost", 124000, 111000.4, False, "frames", (0.0,), "time"), 4,
     "It takes 0.12 m² of paper; no plan can do with less than 0.11 m²"),
    (Bound("most", "sets", 7, 9.2, False, "frames", (0.0,), "time"), None,
     "7 complete sets planned. No more than 9 are possible"),
])  # fmt: skip
def test_bounds_in_words(bound, quantity, expected):
    lines = " ".join(limit_lines(bounded(bound, quantity), "mm"))
    assert expected in lines
    assert "%" not in lines
    if bound.stopped_by == "time":
        assert "time was up" in lines


def test_bounds_of_several_blanks_count_pieces_on_top():
    bound = Bound("least", "unmade worth", 3000, 1900, False, "frames", (0.0,), "interrupt")
    lines = limit_lines(bounded(bound, 4, Blank("tag", 20, 20, 9, worth=500)), "mm")
    assert lines[0].startswith("No more than 2 pieces are possible on top of these")
    assert "stopped by hand" in lines[1]
    lines = limit_lines(bounded(replace(bound, limit=2600), 4, Blank("tag", 20, 20, 9, worth=500)), "mm")
    assert lines[0].startswith("No more pieces can be added")


def test_scales_come_from_the_list():
    assert fitting(400 * MM, 310 * MM, 160, 130) == pytest.approx(1 / 2.5)
    assert fitting(400 * MM, 310 * MM, 159.9, 130) == pytest.approx(1 / 3)
    assert fitting(60 * MM, 40 * MM, 500, 500) == 2
    assert words.scale(0.4) == "1 : 2.5" and words.scale(2) == "2 : 1" and words.scale(1 / 3) == "1 : 3"


def test_lengths_for_the_bench():
    assert words.length(parse("185.75 mm"), "mm") == "185.75"
    assert words.length(parse("185.753 mm"), "mm") == "~185.8"
    assert words.length(parse("7 1/4 in"), "in") == "7-1/4"
    assert words.length(parse("100 mm"), "in").startswith("~3-")
    assert words.rough(parse("8.3 mm"), "mm") == "8.5" and words.rough(parse("5/16 in"), "in") == "5/16"


def test_a_word_list_is_shortened_name_by_name():
    things = [("2 ", "cover for the small notebook"), ("", "wallpaper-0117-a")]
    assert words.listed(things, 500, 9) == "2 cover for the small notebook, wallpaper-0117-a"
    short = words.listed(things, 50, 9)
    assert ink.width(short, 9) <= 50 and short.startswith("2 cov") and short.endswith("a") and "…" in short
    assert ink.shortened("wallpaper-0117-a", 15, 9).endswith("a")


def test_contact_sheets_show_twelve_to_a_page():
    sheets = [make().sheets[0] for make, _ in CASES.values()][:13]
    sheets = [replace(sheet, id=f"n{k}") for k, sheet in enumerate(sheets)]
    pages = contact_pages(sheets, captions={"n0": "400 x 310; clip TR 30 by 40; bad L 200 to 260 deep 11"})
    assert len(pages) == 2
    for page, part in zip(pages, (sheets[:12], sheets[12:]), strict=True):
        assert clashes(page) == []
        big = {lettering.text for lettering in letters(page) if lettering.size >= 12}
        assert {sheet.id for sheet in part} <= big and "FACE UP" in big
        assert text(page).count(" : ") == len(part)
        for sheet in part:
            wide, tall = sheet.box[2] - sheet.box[0], sheet.box[3] - sheet.box[1]
            assert words.size(wide, wide, "mm").split(" × ")[1] in text(page)
            assert words.size(tall, tall, "mm").split(" × ")[0] in text(page)
    assert "clip TR 30 by 40" in flowing(pages[0]) and "grain ↕   print up ↑" in text(pages[0]) and "grain ?" in text(pages[0])
    assert "There are no sheets" in text(contact_pages([])[0])


def test_contact_pictures_are_to_the_scale_stated():
    sheets = [Sheet.rectangle("a", 400, 300), Sheet.rectangle("b", 390, 310), Sheet.rectangle("c", 40, 30)]
    page = contact_pages(sheets)[0]
    stated = [lettering.text for lettering in letters(page) if " : " in lettering.text]
    assert stated[0] == stated[1] != stated[2]  # one scale for those it serves, an own one for the small sheet
    outlines = [patch for patch in drawn(page, PathPatch) if patch.get_linewidth() == pytest.approx(ink.WIDE)]
    wide = [patch.get_path().get_extents().width for patch in outlines]
    for sheet, scale in zip(sheets, stated, strict=True):
        up_, down = (float(v) for v in scale.split(" : "))
        assert any(w == pytest.approx((sheet.box[2] - sheet.box[0]) / MM * up_ / down) for w in wide)


def test_files_are_the_same_every_time_and_whole():
    pypdf = pytest.importorskip("pypdf")
    data = pdf_bytes(plan_pages(b3(), paper="Letter"))
    assert data == pdf_bytes(plan_pages(b3(), paper="Letter"))
    reader = pypdf.PdfReader(io.BytesIO(data))
    assert len(reader.pages) == 2
    assert [float(v) / 72 * 25.4 for v in reader.pages[1].mediabox[2:]] == pytest.approx([215.9, 279.4], abs=0.1)
    assert "FACE UP" in reader.pages[1].extract_text() and "CreationDate" not in (reader.metadata or {})
    page = plan_pages(b3())[1]
    svg = page_bytes(page, "svg")
    assert svg == page_bytes(plan_pages(b3())[1], "svg") and b"<dc:date>" not in svg
    assert page_bytes(page, "png") == page_bytes(plan_pages(b3())[1], "png")


def test_pages_are_written_one_pdf_or_a_file_each(tmp_path):
    pages = plan_pages(b3())
    assert write_pages(pages, tmp_path / "new" / "folder", "plan") == [tmp_path / "new" / "folder" / "plan.pdf"]
    for kind, start in (("svg", b"<?xml"), ("PNG", b"\x89PNG")):
        paths = write_pages(pages, tmp_path, "plan", kind)
        assert [path.name for path in paths] == [f"plan-{n}.{kind.lower()}" for n in (1, 2)]
        assert all(path.read_bytes().startswith(start) for path in paths)
    assert write_pages(pages * 5, tmp_path, "long", "svg")[0].name == "long-01.svg"


def test_pages_of_a_longer_earlier_run_are_removed_and_nothing_else(tmp_path):
    pages = plan_pages(b3())
    others = ("plan.pdf", "plan-a.svg", "plan-03.png", "plan-long-03.svg", "my-plan-03.svg", "plan-03.svg.old")
    for name in (*others, "plan-01.svg", "plan-03.svg", "plan-12.svg"):
        (tmp_path / name).write_text("of an earlier run")
    (tmp_path / "plan-9.svg").mkdir()
    paths = write_pages(pages, tmp_path, "plan", "svg")
    assert {path.name for path in tmp_path.iterdir()} == {*others, "plan-9.svg", *(path.name for path in paths)}


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


def test_a_folder_that_cannot_be_made_is_said_so(tmp_path):
    pages = plan_pages(b3())
    (tmp_path / "taken").write_text("a file")
    with pytest.raises(StorageError, match="is a file, a folder is needed"):
        write_pages(pages, tmp_path / "taken", "plan")
    with pytest.raises(StorageError, match="cannot be made"):
        write_pages(pages, tmp_path / "taken" / "below", "plan")
    with pytest.raises(InputError, match="pdf, svg or png"):
        write_pages(pages, tmp_path, "plan", "gif")


def test_a_read_only_folder_is_said_so(tmp_path, monkeypatch):
    from pathlib import Path

    def refuse(self, *args, **kwargs):
        raise PermissionError(13, "Permission denied")

    monkeypatch.setattr(Path, "mkdir", refuse)
    with pytest.raises(StorageError, match="may not be made"):
        write_pages(plan_pages(b3()), tmp_path / "new", "plan")


def test_wrong_arguments_are_refused():
    with pytest.raises(InputError, match="A4 or Letter"):
        plan_pages(b3(), paper="A3")
    found = b3()
    with pytest.raises(InputError, match="a sheet of the plan"):
        plan_pages(replace(found, sheets=()))
    with pytest.raises(InputError, match="a blank of the plan"):
        plan_pages(replace(found, blanks=()))


def test_a_plan_that_cuts_nothing_has_a_summary():
    found = replace(b3(), layouts=(), short=(("cover", 4),), bound=Bound("most", "worth", 0, 0, True, "frames", (0.0,), "proof"))
    (page,) = plan_pages(found)
    assert "nothing, from 0 sheets" in text(page) and "no sheet is cut" in text(page)


def test_the_command_draws_a_plan(tmp_path, monkeypatch, capsys):
    monkeypatch.chdir(tmp_path)
    (tmp_path / "plan.json").write_text(json.dumps(b3().to_dict()))
    assert status(["draw", "plan.json"]) == 0
    assert capsys.readouterr().out.strip() == "plan.pdf" and (tmp_path / "plan.pdf").read_bytes().startswith(b"%PDF")
    assert status(["draw", "plan.json", "--out", "pages", "--format", "svg", "--paper", "Letter", "--unit", "in"]) == 0
    assert (tmp_path / "pages" / "plan-2.svg").is_file()
    assert status(["draw", "plan.json", "--format", "gif"]) == 3
    assert status(["draw", "plan.json", "--paper", "A3"]) == 3
    assert status(["draw", "missing.json"]) == 3
    (tmp_path / "file").write_text("")
    assert status(["draw", "plan.json", "--out", "file"]) == 6
    broken = b3().to_dict()
    broken["layouts"][0]["copies"] = 2
    (tmp_path / "broken.json").write_text(json.dumps(broken))
    capsys.readouterr()
    assert status(["draw", "broken.json"]) == 1
    assert "is not drawn" in capsys.readouterr().err
