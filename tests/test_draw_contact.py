"""Contact pages: every sheet of the pile as a small picture."""

from __future__ import annotations

from dataclasses import replace

import pytest
from matplotlib.patches import PathPatch

from nesting import Sheet
from nesting.draw import ink, words
from nesting.draw.contact import contact_pages
from nesting.lengths import TICKS_PER_MM as MM

from .drawn_cases import (
    CASES,
)  # fmt: skip
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
