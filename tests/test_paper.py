"""Counts, grammage, basis weight, caliper and bulk against published figures (the rest: `test_trade_table`), bench story B8."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from nesting.errors import InputError
from nesting.notebook import paper


def grammage(pounds: float, kind: str) -> float:
    return paper.grammage_of_basis_weight(pounds, *paper.BASIS_SIZES[kind])


def test_t11_reams_and_quires() -> None:
    assert paper.sheets_in(reams=3, quires=4) == 1600  # ISO 4046-3
    assert paper.sheets_in(reams=1) == paper.sheets_in(quires=20) == 500


@pytest.mark.parametrize(("kind", "to_grams", "to_pounds"), [
    ("bond", 3.760, 0.2660), ("text", 1.480, 0.6756), ("cover", 2.704, 0.3698),  # printwiki
    ("index", 1.81, 0.5531), ("bristol", 2.19, 0.4560), ("tag", 1.63, 0.6144),  # Xerox
])  # fmt: skip
def test_published_factors(kind: str, to_grams: float, to_pounds: float) -> None:
    assert grammage(1, kind) == pytest.approx(to_grams, rel=2e-3)
    assert paper.basis_weight(1, *paper.BASIS_SIZES[kind]) == pytest.approx(to_pounds, rel=1e-3)


def test_t18_exact_constant() -> None:
    assert pytest.approx(1406.13916, abs=1e-5) == paper.POUND_CONSTANT  # definition; the trade's 1406.5 is rounded
    assert abs(paper.POUND_CONSTANT / 1406.5 - 1) < 1e-3


def test_b8_counting_by_weight() -> None:
    # bench story B8: common practice, no source
    assert round(paper.mass(186, 146, 80, 12), 1) == 26.1
    assert round(paper.mass(186, 146, 80), 1) == 2.2


@given(st.floats(1, 400), st.sampled_from(sorted(paper.BASIS_SIZES)))
def test_there_and_back(pounds: float, kind: str) -> None:
    assert paper.basis_weight(grammage(pounds, kind), *paper.BASIS_SIZES[kind]) == pytest.approx(pounds, rel=1e-12)


@given(st.floats(20, 400), st.floats(0.8, 2.2))
def test_bulk_undoes_caliper(grams: float, bulk: float) -> None:
    assert paper.bulk(grams, paper.caliper(grams, bulk)) == pytest.approx(bulk, rel=1e-12)


@pytest.mark.parametrize(("text", "count"), [
    ("495", 495), ("1 ream", 500), ("2 reams", 1000), ("3 reams 4 quires", 1600), ("3 reams + 4 quires", 1600),
    ("1 ream and 5 sheets", 505), ("10 000", 10000),
])  # fmt: skip
def test_counts_as_written(text: str, count: int) -> None:
    assert paper.read_count(text) == count


@pytest.mark.parametrize("text", ["", "0", "-5", "many", "1e9", "4.5", "99999999999", "3 boxes", "½ ream", "5 sheets!"])
def test_counts_refused(text: str) -> None:
    with pytest.raises(InputError, match="count"):
        paper.read_count(text)


def test_a_misspelt_ream_is_suggested() -> None:
    with pytest.raises(InputError, match="Did you mean ream"):
        paper.read_count("2 raems")


@pytest.mark.parametrize(("value", "grams"), [(80, 80), (80.5, 80.5), ("80", 80), ("80 g", 80), ("80 g/m2", 80), ("80gsm", 80)])
def test_grammage_as_written(value: object, grams: float) -> None:
    assert paper.read_grammage(value) == grams


@pytest.mark.parametrize("value", ["", "heavy", "20 lb", -80, 0, 1e9, True, None, float("nan"), "20 lb boond"])
def test_grammage_refused(value: object) -> None:
    with pytest.raises(InputError, match="grammage"):
        paper.read_grammage(value)


def test_a_misspelt_kind_is_suggested() -> None:
    with pytest.raises(InputError, match="Did you mean bond"):
        paper.read_grammage("20 lb boond")
