"""As large as the paper gives: divisions of a sheet against brute force, and by hand."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from nesting import Cutter
from nesting.errors import ImpossibleJob, InputError
from nesting.lengths import TICKS_PER_MM as T
from nesting.lengths import parse
from nesting.notebook.allowances import blank_of
from nesting.notebook.formats import Format, Grains
from nesting.notebook.largest import Division, largest
from nesting.notebook.sizes import find

A6 = Format.make("A6", 105, 148)


def test_a6_on_sra2_grows_until_the_sheet_is_used() -> None:
    # 450 / 2 = 225 and 640 / 4 = 160, less the trims: arithmetic
    found = largest(A6, 450 * T, 640 * T, "y")
    best = found.best
    assert best is not None and (best.columns, best.rows, best.turned, best.waste) == (2, 4, False, 0)
    assert (best.width, best.height) == (round(109.5 * T), 154 * T) and found.own == best.pieces == 8


def test_half_a4_is_102_by_142_5() -> None:
    # T35: A4 halved, folded, trimmed 3 mm on three sides; grain long
    a4 = find("A4")
    found = largest(Format.make("x", 100, 140), a4.width, a4.height, "y")
    assert found.best is not None and (found.best.width, found.best.height) == (102 * T, round(142.5 * T))


def test_letter_for_inch_makers() -> None:
    b1 = Format.make("B1", "3-1/2 in", "5-1/2 in", trim="1/8 in", unit="in")
    letter = find("letter")
    found = largest(b1, letter.width, letter.height, "y")
    near = found.others[0]
    assert (found.own, found.best) == (1, None)  # nothing with a book no smaller is near
    assert (near.width, near.height, near.pieces) == (parse("4-1/8 in"), parse("5-1/4 in"), 2)


def test_the_grain_rule_is_kept_and_both_ways_are_tried_without_one() -> None:
    for grain in ("x", "y"):
        found = largest(A6, 450 * T, 640 * T, grain)
        assert {d.turned for d in (found.best, *found.others) if d} == {grain == "x"}
    assert {d.turned for d in largest(A6, 450 * T, 640 * T).others} == {False, True}
    free = Format.make("free", 105, 148, grains=Grains(folio="off"))
    assert {d.turned for d in largest(free, 450 * T, 640 * T, "y").others} == {False, True}


def test_gutters_and_the_scale_are_kept() -> None:
    found = largest(A6, 450 * T, 640 * T, "y", cutter=Cutter(gutter=4, step=1)).best
    assert found is not None and (found.columns, found.rows) == (2, 4)
    assert (2 * found.width + 6 * T, found.height + 6 * T) == (223 * T, 157 * T)


def test_nothing_near_is_impossible_and_says_why() -> None:
    with pytest.raises(ImpossibleJob, match="equal cutting"):
        largest(A6, 74 * T, 105 * T)
    with pytest.raises(InputError, match="most_change"):
        largest(A6, 450 * T, 640 * T, most_change=0)


@settings(deadline=None, max_examples=40)
@given(st.integers(200, 800), st.integers(200, 1000), st.integers(70, 150), st.integers(90, 200),
       st.sampled_from([None, "x", "y"]), st.integers(0, 4))  # fmt: skip
def test_every_division_fits_and_none_gives_more(width: int, height: int, w: int, h: int, grain: str | None,
                                              true_up: int) -> None:  # fmt: skip
    fmt = Format.make("x", w, h, true_up=true_up)
    try:
        found = largest(fmt, width * T, height * T, grain)  # type: ignore[arg-type]
    except ImpossibleJob:
        return
    every = [d for d in (found.best, *found.others) if d is not None]
    for division in every:
        grown = Format.make("grown", division.width / T, division.height / T, true_up=true_up)
        folio = blank_of(grown, "folio")
        across, up = (folio.height, folio.width) if division.turned else (folio.width, folio.height)
        assert division.columns * across <= width * T and division.rows * up <= height * T
        used = division.pieces * across * up / (width * height * T * T)
        assert 1 - used == pytest.approx(division.waste, abs=1e-9)
        # one step of the scale more does not fit
        assert division.columns * (across + 800) > width * T and division.rows * (up + 800) > height * T
    _best_by_hand(fmt, found.best, every, found.own)


def _best_by_hand(fmt: Format, best: Division | None, every: list[Division], own: int) -> None:
    kept = [d for d in every if d.width >= fmt.width and d.height >= fmt.height and d.pieces >= own > 0]
    assert (best is None) == (not kept)
    if best is not None:
        assert round(best.waste, 6) == min(round(d.waste, 6) for d in kept)
