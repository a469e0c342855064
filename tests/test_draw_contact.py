"""Contact pages: every sheet of the pile as a small picture."""

from __future__ import annotations

from dataclasses import replace

import pytest
from matplotlib.collections import LineCollection
from matplotlib.patches import PathPatch

from nesting import Sheet
from nesting.draw import ink, words
from nesting.draw.contact import contact_pages
from nesting.lengths import TICKS_PER_MM as MM

from .drawn_cases import CASES
from .drawn_pages import clashes, drawn, flowing, letters, text


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


def hatched(page):
    """The slanting lines of damage on a page, but those of the key at its foot."""
    return [s for c in drawn(page, LineCollection) for s in c.get_segments()
            if abs(abs(s[1][0] - s[0][0]) - abs(s[1][1] - s[0][1])) < 1e-9 and s[0][1] > 20]  # fmt: skip


def test_narrow_damage_is_drawn_with_its_hatch_and_the_page_says_so():
    """A torn edge of 6 mm and a crease of 4 mm on sheets of 530 x 400 mm; a wide patch stays as it is."""
    outline = [(0, 0), (530, 0), (530, 400), (0, 400)]
    edge = [(0, 0), (6, 0), (6, 400), (0, 400)]
    crease = [(0, 200), (530, 200), (530, 204), (0, 204)]
    patch = [(100, 100), (200, 100), (200, 180), (100, 180)]
    for bad, said in ((edge, True), (crease, True), (patch, False)):
        page = contact_pages([Sheet.from_mm("s", outline, bad=[bad])])[0]
        assert ("Narrow damage is drawn wider" in text(page)) is said
        lines = hatched(page)
        wide = max(abs(s[1][0] - s[0][0]) for s in lines)
        assert len(lines) > 20 or not said
        assert 1.2 <= wide <= 2.4 if said else wide == pytest.approx(8, abs=1.2)  # at 1 : 10 the patch is 8 mm high
        left, _, right, _ = biggest(page)
        assert all(left - 1e-6 <= s[0][0] <= right + 1e-6 for s in lines)


def biggest(page):
    """The box of the largest drawn sheet."""
    ends = [p.get_path().get_extents() for p in drawn(page, PathPatch) if p.get_linewidth() == pytest.approx(ink.WIDE)]
    box = max(ends, key=lambda e: e.width)
    return box.x0, box.y0, box.x1, box.y1


def test_pictures_fill_their_cells_and_stay_off_the_heading():
    """Wallpaper sheets of 530 x 400 mm and bills: 1 : 10 fits, and the picture keeps clear of the id above it."""
    sheets = [Sheet.rectangle(f"w{k}", 530, 400) for k in range(9)] + [Sheet.rectangle(f"b{k}", 430, 610) for k in range(3)]
    page = contact_pages(sheets)[0]
    stated = [lettering.text for lettering in letters(page) if " : " in lettering.text]
    assert stated == ["1 : 10"] * 12
    ids = [lettering for lettering in letters(page) if lettering.text in {s.id for s in sheets}]
    boxes = [p.get_path().get_extents() for p in drawn(page, PathPatch) if p.get_linewidth() == pytest.approx(ink.WIDE)]
    assert len(ids) == len(boxes) == 12
    for lettering in ids:
        x0, y0, x1, _ = lettering.rect
        assert all(box.y1 < y0 - 1 or box.y0 > y0 or box.x0 > x1 + 60 or box.x1 < x0 for box in boxes)


def test_arrows_stay_off_damage_and_off_the_frame_of_the_best_part():
    """The sheet's middle is bad; a best part's frame runs where the arrow would stand."""
    sheet = Sheet.from_mm("s", [(0, 0), (400, 0), (400, 300), (0, 300)], bad=[[(170, 120), (230, 120), (230, 180), (170, 180)]],
                          best=[([(90, 60), (160, 60), (160, 240), (90, 240)], 1.0)], grain="y", up="+y")  # fmt: skip
    page = contact_pages([sheet])[0]
    solid = [p.get_path() for p in drawn(page, PathPatch)]
    x0, y0, x1, _ = biggest(page)
    factor = (x1 - x0) / 400
    heads = [path.get_extents() for path in solid if len(path.vertices) in (4, 8) and path.get_extents().y0 > 20
             and path.get_extents().width < 8 and path.get_extents().height < 9]  # fmt: skip
    assert len(heads) == 3  # two of the grain, one of the print
    for head in heads:
        left, low = (head.x0 - x0) / factor, (head.y0 - y0) / factor
        right, high = (head.x1 - x0) / factor, (head.y1 - y0) / factor
        assert right < 170 or left > 230 or high < 120 or low > 180
        assert right < 90 or left > 160 or (left > 90 and right < 160)


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
