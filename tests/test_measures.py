"""A paper's grammage, caliper and bulk from any two, its label's grain, and scoring."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from nesting.errors import InputError
from nesting.lengths import TICKS_PER_INCH, TICKS_PER_MM, parse
from nesting.notebook import paper, scoring
from nesting.notebook.labels import read_label
from nesting.notebook.measures import LEAST_BULK, MOST_BULK, measure, read_caliper


@given(st.floats(20, 400), st.floats(0.8, 2.2))
def test_any_two_give_the_third(grams: float, bulk: float) -> None:
    thick = grams * bulk / 1000
    pairs = ({"grammage": grams, "caliper": thick}, {"grammage": grams, "bulk": bulk}, {"caliper": thick, "bulk": bulk})
    for found in (*(measure(**pair) for pair in pairs), measure(grams, thick, bulk)):
        assert (found.grammage, found.caliper, found.bulk) == pytest.approx((grams, thick, bulk), rel=1e-9)
        assert not found.assumed


def test_one_alone_takes_the_usual_bulk_and_says_so() -> None:
    # trade.md section 2: text 1.25 (JCP D10, O-63), card 1.15 (JCP K10), coated and map 0.95 (JCP E10)
    assert [measure(100, material=m).caliper for m in ("folio", "card", "cover")] == pytest.approx([0.125, 0.115, 0.095])
    assert measure(caliper=0.1).grammage == pytest.approx(80)
    assert measure(80).assumed and measure(caliper=0.1).assumed


@pytest.mark.parametrize(("grams", "thick", "bulk"), [
    (75, 0.095, 1.25),  # JCP O-63: 1.267, within the tolerance of its own standard
    (60, 0.090, 1.5), (255, 0.290, 1.14),  # Holmen; JCP K10
])  # fmt: skip
def test_published_threes_agree(grams: float, thick: float, bulk: float) -> None:
    assert measure(grams, thick, bulk).caliper == thick


def test_three_that_do_not_agree_say_what_any_two_give() -> None:
    with pytest.raises(InputError) as caught:
        measure(80, 0.2, 1.25, field="pocket, folio")
    text = str(caught.value)
    assert "80 g/m2 and 0.2 mm agree with bulk 2.50" in text
    assert "80 g/m2 and bulk 1.25 with 0.100 mm" in text
    assert "0.2 mm and bulk 1.25 with 160 g/m2" in text and text.startswith("pocket, folio:")


@pytest.mark.parametrize(("values", "match"), [
    ({}, "Measure ten sheets"), ({"bulk": 1.3}, "bulk 1.3 alone"),
    ({"grammage": 80, "caliper": 1.0}, "right unit"),
    ({"grammage": 80, "caliper": 0.01}, "right unit"), ({"grammage": -1}, "from 5 to 2000"),
    ({"grammage": 80, "bulk": 15}, "bulk"),
    ({"caliper": float("nan")}, "caliper"), ({"grammage": True}, "grammage"), ({"caliper": 0}, "caliper"),
])  # fmt: skip
def test_wrong_measures_are_refused(values: dict[str, float], match: str) -> None:
    with pytest.raises(InputError, match=match):
        measure(**values)


@given(st.one_of(st.none(), st.floats(-1, 3000)), st.one_of(st.none(), st.floats(-1, 6)), st.one_of(st.none(), st.floats(-1, 25)))
def test_any_numbers_give_measures_or_a_sentence(grams: float | None, thick: float | None, bulk: float | None) -> None:
    try:
        found = measure(grams, thick, bulk)
    except InputError as error:
        assert "\n" not in str(error)
    else:
        assert LEAST_BULK <= found.bulk <= MOST_BULK and min(found.grammage, found.caliper) > 0


@pytest.mark.parametrize(("text", "ticks"), [
    ("0.1 mm", 800), ("10 sheets 1.02 mm", 816), ("20 sheets: 2 mm", 800), ("1 sheet 0.004 in", 813), ("10 pt", 2032),
    ("100 sheets, 1/2 in", 1016), (0.1, 800), ("0,1 mm", 800),
])  # fmt: skip
def test_calipers_as_measured(text: object, ticks: int) -> None:
    assert read_caliper(text, "mm") == ticks  # 10 pt is 0.010 in, JCP L80 calls it 0.26 mm


@pytest.mark.parametrize("text", ["", "thin", "0 sheets 1 mm", "10 sheets", True, None, "-1 mm", "10 sheets thin"])
def test_calipers_refused(text: object) -> None:
    with pytest.raises(InputError, match="caliper"):
        read_caliper(text, "mm")


@pytest.mark.parametrize(("text", "grams"), [
    ("20 lb 17 x 22", 75.2), ("67 lb bristol 22.5 x 30.5", 137.3), ("100 lb 20 x 26 in", 270.4), ("20# 17 x 22", 75.2),
])  # fmt: skip
def test_basis_weights_with_their_basis_size(text: str, grams: float) -> None:
    # bristol of 22.5 x 30.5 has the factor 2.05 (trade.md trap 4)
    assert paper.read_grammage(text) == pytest.approx(grams, rel=1e-3)


@pytest.mark.parametrize("text", ["20 lb 17", "20 lb x 22", "20 lb 0 x 22", "20 g 17 x 22", "20 lb 17 x 22 x 3"])
def test_wrong_basis_sizes_are_refused(text: str) -> None:
    with pytest.raises(InputError, match="grammage"):
        paper.read_grammage(text)


@pytest.mark.parametrize(("text", "grain", "axis"), [
    ("25 x 38 in grain long", "long", "y"), ("38 x 25 in, long grain", "long", "x"), ("SRA2 grain short", "short", "x"),
    ("11M x 17 in", "short", "x"),  # Xerox text at 32essay: 11M x 17 is grain short
    ("11 x 17M in", "long", "y"), ("8 1/2(M) x 11 in", "short", "x"), ("64 × 88M cm", "long", "y"),
    ("A4 Schmalbahn", "long", "y"), ("A4 BB", "short", "x"), ("letter LG", "long", "y"),  # zfamedien.de for the German two
    ("17 x 22 in, grain 22", "long", "y"), ("17 x 22 in grain along 17 in", "short", "x"),
    ("320 x 450 mm; grain 320", "short", "x"),
])  # fmt: skip
def test_grain_as_labels_write_it(text: str, grain: str, axis: str) -> None:
    found = read_label(text)
    assert (found.grain, found.axis, found.question) == (grain, axis, "")


@pytest.mark.parametrize("text", ["17 x <u>22</u> in", "17 x 2\u03322\u0332 in", "_17_ x 22 in", "17 x 22 in underlined"])
def test_an_underline_is_asked_and_never_read(text: str) -> None:
    # US: along the grain (sizes.com); Germany: across it (zfamedien.de, druckstudiogruppe)
    found = read_label(text)
    assert (found.grain, found.axis) == (None, None) and "United States" in found.question and "Germany" in found.question
    assert (found.width, found.height) == (parse("17 in"), parse("22 in"))
    assert read_label(f"{text}, grain long").grain == "long"


def test_the_order_of_the_figures_is_asked() -> None:
    # Fedrigoni writes the grain's figure second; others do not
    assert read_label("64 x 88 cm").grain is read_label("88 x 64 cm").grain is None
    assert "second" in read_label("88 x 64 cm").question and "second" not in read_label("A4").question


@pytest.mark.parametrize(("text", "match"), [
    ("11M x 17 in grain long", "contradict"), ("11M x 17M in", "contradict"), ("20M x 20 in", "square"),
    ("500 x 500 mm grain long", "square"),
    ("17 x 22 in grain 19", "one of its sides"), ("17 x 22 in grainy", "grain long"),
    ("A44 grain long", "Did you mean"), ("", "size"),
    ("17 x 22", "unit"),
])  # fmt: skip
def test_wrong_labels_are_refused(text: str, match: str) -> None:
    with pytest.raises(InputError, match=match):
        read_label(text)


def test_scoring_by_grammage() -> None:
    # warned from 150 g/m2 (Condat), insisted on from 200 (metaglossary); any stock of 0.006 in (baliprint)
    assert [scoring.advice(g) for g in (149, 150, 199, 200)] == ["none", "advised", "advised", "needed"]
    assert [scoring.advice(None, t) for t in (0.15, 0.16)] == ["none", "advised"] and scoring.advice() is None


def test_units_agree_with_pint_where_it_reads_them_right() -> None:
    pint = pytest.importorskip("pint")
    read = pint.UnitRegistry().Quantity
    for text in ("215.9 mm", "21.59 cm", "8.5 in", "8.5 inch", "0.02 mm", "11 in"):
        assert parse(text) / TICKS_PER_MM == pytest.approx(read(text).to("mm").magnitude, rel=1e-9), text
    assert paper.grammage_of_basis_weight(20, 17, 22) == pytest.approx(
        (read("20 lb") / (500 * read("17 in") * read("22 in"))).to("g/m^2").magnitude, rel=1e-12)  # fmt: skip
    assert read_caliper("10 pt") == pytest.approx(read("10 thou").to("mm").magnitude * TICKS_PER_MM)
    # What it misreads without a word: the space in 8 1/2 in is a product to it, and 10 pt of card are pints. A comma
    # is dropped, and so is a half in one sign.
    assert read("8 1/2 in").to("in").magnitude == pytest.approx(4.0) and parse("8 1/2 in") == 8.5 * TICKS_PER_INCH
    assert read("215,9 mm").magnitude == 2159 and parse("215,9 mm") == parse("215.9 mm")
    assert read("8½ in").magnitude == 8 and parse("8½ in") == parse("8.5 in")
    assert read("10 pt").check("[volume]") and read_caliper("10 pt") == 2032
