"""Standard sizes against published tables and two independent packages (T01 to T10: `test_trade_table`)."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from nesting.errors import InputError
from nesting.lengths import TICKS_PER_INCH, TICKS_PER_MM
from nesting.notebook import sizes


def mm(name: str) -> tuple[float, float]:
    size = sizes.find(name)
    return size.width / TICKS_PER_MM, size.height / TICKS_PER_MM


def inches(name: str) -> tuple[float, float]:
    size = sizes.find(name)
    return size.width / TICKS_PER_INCH, size.height / TICKS_PER_INCH


# ISO 216:2007, ISO 269 and JIS P 0138 tables as printed (trade.md section 1), typed apart from the rule.
TABLES = {
    "A": "841 1189 594 841 420 594 297 420 210 297 148 210 105 148 74 105 52 74 37 52 26 37",
    "B": "1000 1414 707 1000 500 707 353 500 250 353 176 250 125 176 88 125 62 88 44 62 31 44",
    "C": "917 1297 648 917 458 648 324 458 229 324 162 229 114 162 81 114 57 81 40 57 28 40",
    "JIS B": "1030 1456 728 1030 515 728 364 515 257 364 182 257 128 182 91 128 64 91 45 64 32 45",
    # ISO 217:2013
    "RA": "860 1220 610 860 430 610 305 430 215 305",
    "SRA": "900 1280 640 900 450 640 320 450 225 320",
}


@pytest.mark.parametrize("series", TABLES)
def test_series_equal_their_published_tables(series: str) -> None:
    figures = [int(word) for word in TABLES[series].split()]
    pairs = list(zip(figures[::2], figures[1::2], strict=True))
    assert [mm(f"{series}{i}") for i in range(len(pairs))] == pairs


def test_inch_tables() -> None:
    # ASME Y14.1; F stands outside the halving chain
    assert [inches(f"ANSI {c}") for c in "ABCDEF"] == [(8.5, 11), (11, 17), (17, 22), (22, 34), (34, 44), (28, 40)]
    # northernarchitecture.us
    assert [inches(f"Arch {c}") for c in "ABCDE"] == [(9, 12), (12, 18), (18, 24), (24, 36), (36, 48)]
    assert inches("Arch E1") == (30, 42)


def test_letter_and_its_halvings_are_exact() -> None:
    assert [inches(n) for n in ("letter", "half letter", "quarter letter", "eighth letter")] == [
        (8.5, 11), (5.5, 8.5), (4.25, 5.5), (2.75, 4.25)]  # fmt: skip
    assert inches("legal") == (8.5, 14) and inches("tabloid") == inches("ledger") == (11, 17)


def test_jis_notebooks() -> None:
    found = [mm(f"JIS notebook {i}") for i in range(1, 7)]  # JIS S 5504
    assert found == [(210, 297), (182, 257), (148, 210), (128, 182), (105, 148), (179, 252)]


def test_all_that_reportlab_knows() -> None:
    pagesizes = pytest.importorskip("reportlab.lib.pagesizes")
    ours = [f"{s}{i}" for s in "ABC" for i in range(11)] + ["letter", "legal", "tabloid"]
    for name in ours:
        theirs = getattr(pagesizes, name.upper())
        assert tuple(side / 72 * 25.4 for side in theirs) == pytest.approx(mm(name), abs=1e-9), name
    # trade.md trap 6: version 5.1.0 has 8.0 in for the half of 8.5 x 11; halving says 8.5, so only the width agrees.
    assert pagesizes.HALF_LETTER[0] / 72 == inches("half letter")[0]
    assert inches("half letter") == (5.5, 8.5)


def test_all_that_weasyprint_knows() -> None:
    try:
        from weasyprint.css.computed_values import PAGE_SIZES
    except (ImportError, OSError) as error:  # its drawing libraries may be missing
        pytest.skip(f"weasyprint is not usable here: {error}")
    per = {"mm": 1.0, "in": 25.4}
    compared = 0
    for name, sides in PAGE_SIZES.items():
        theirs = tuple(side.value * per[side.unit] for side in sides)
        assert theirs == pytest.approx(mm(name), abs=1e-9), name
        compared += 1
    assert compared >= 47


@pytest.mark.parametrize(("written", "name"), [
    ("a6", "A6"), ("ISO A6", "A6"), ("iso-b6", "B6"), ("jis b6", "JIS B6"), ("JIS-B6", "JIS B6"), ("Half-Letter", "half letter"),
    ("SRA 3", "SRA3"), (" arch b ", "Arch B"), ("19x25in", "19 x 25 in"),
])  # fmt: skip
def test_names_as_people_write_them(written: str, name: str) -> None:
    assert sizes.find(written).name == name


@pytest.mark.parametrize(("written", "near"), [
    ("A66", "A6"), ("hlaf letter", "half letter"), ("JISB66", "JIS B6"), ("leter", "letter"),
])  # fmt: skip
def test_unknown_name_suggests_the_nearest(written: str, near: str) -> None:
    with pytest.raises(InputError, match=f"Did you mean {near}"):
        sizes.find(written)


def test_names_are_unique_and_short_side_first() -> None:
    names = [size.name for size in sizes.standard_sizes()]
    assert len(set(names)) == len(names)
    assert all(0 < size.width <= size.height and size.source for size in sizes.standard_sizes())


def test_bought_sizes_hold_each_measure_once_and_no_envelopes() -> None:
    bought = sizes.bought_sizes()
    assert len({(s.width, s.height) for s in bought}) == len(bought)
    assert not {s.family for s in bought} & {"ISO C", "JIS notebook"}
    wanted = {"A4", "SRA3", "RA2", "JIS B4", "letter", "tabloid", "17 x 22 in", "25 x 38 in", "Arch B", "Kiku"}
    assert wanted <= {s.name for s in bought}


def test_read_takes_names_and_sides() -> None:
    assert sizes.read("A4")[1:] == (210 * TICKS_PER_MM, 297 * TICKS_PER_MM)
    for text in ("8 1/2 x 11 in", '8-1/2" x 11"', "8½ × 11 in", "8.5 by 11 in", "215.9 mm x 279.4 mm", "21.59 x 27.94 cm"):
        assert sizes.read(text)[1:] == (1727200, 2235200), text
    assert sizes.read("297 x 420", "mm")[1:] == (297 * TICKS_PER_MM, 420 * TICKS_PER_MM)


@pytest.mark.parametrize("text", ["297 x 420", "297 x", "x 420 mm", "0 x 420 mm", "-1 x 420 mm", "1 x 2 x 3 mm", "", "nonsense"])
def test_read_refuses(text: str) -> None:
    with pytest.raises(InputError):
        sizes.read(text)


@given(st.integers(1, 5000), st.integers(1, 5000), st.integers(0, 12))
def test_halving_keeps_the_rule(a: int, b: int, times: int) -> None:
    width, height = sizes.halved(a, b, times)
    # Each halving keeps the short side as the next long one and never rounds up.
    if times:
        before = sizes.halved(a, b, times - 1)
        assert height == before[0] and width * 2 <= before[1] < width * 2 + 2
    else:
        assert (width, height) == (a, b)
