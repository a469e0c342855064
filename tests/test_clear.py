"""One clear rectangle, any number of copies: exact sizes, waste allowed in steps, rounded sizes, all against every cut."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

import nesting
from nesting.layouts import Piece, leaves
from nesting.search.budget import Budget
from nesting.search.sheet import clear, sizes
from nesting.search.sheet.clear import ClearTable, Oriented, clear_best
from nesting.search.sheet.ground import ground
from nesting.search.sheet.size_table import size_rows
from nesting.search.sheet.sizes import Coverings, covering, coverings, reachable, reduced, sums

from .brute import best_unlimited

lengths = st.integers(2, 9)
pieces = st.lists(st.tuples(lengths, lengths, st.integers(1, 60)), min_size=1, max_size=4, unique_by=lambda p: p[:2])
sheets = st.tuples(st.integers(9, 28), st.integers(9, 24))


def asked(shapes, turning):
    """Blanks as they lie, and their worths."""
    turned = [(h, w, v) for w, h, v in shapes if w != h] if turning else []
    both = [Oriented(i, f"b{i}", 0, w, h) for i, (w, h, _) in enumerate(shapes)]
    both += [Oriented(i, f"b{i}", 90, h, w) for i, (w, h, _) in enumerate(shapes) if w != h and turning]
    return both, [v for _, _, v in (*shapes, *turned)]


def place(width, height, frame=0.0):
    sheet = nesting.Sheet.from_ticks("s", ((0, 0), (width, 0), (width, height), (0, height)))
    return replace(ground(sheet, 0, None), frame_deg=frame)


def worth_of(tree, oriented, values):
    by = {(o.name, o.turn): v for o, v in zip(oriented, values, strict=True)}
    return sum(by[leaf.blank, leaf.turn] for leaf in leaves(tree) if isinstance(leaf, Piece))


@pytest.mark.parametrize("few", [True, False])
@settings(max_examples=100, deadline=None, derandomize=True)
@given(sheets, pieces, st.booleans(), st.sampled_from([0.0, 1.0]), st.booleans())
def test_exact_tables_agree_with_trying_everything(few, sheet, shapes, turning, frame, by_area):
    # `few` False: coarse sizes first, then layouts of ever more waste
    if by_area:
        shapes = [(w, h, w * h) for w, h, _ in shapes]
    oriented, values = asked(shapes, turning)
    here = place(*sheet, frame)
    slack = sizes.slack_of(here)
    tried = [(o.width, o.height, v) for o, v in zip(oriented, values, strict=True)]
    truth = best_unlimited(*sheet, tried)
    exact = covering(here, [(o.width, o.height) for o in oriented], None)
    coarse = None if few else covering(here, [(o.width, o.height) for o in oriented], 7)
    value, bound, tree = clear_best(here, oriented, values, Coverings(exact, coarse), Budget(60, None), 10**9)
    assert value == truth == worth_of(tree, oriented, values)
    assert bound >= truth
    if slack == 0:
        assert bound == truth
    else:
        assert bound <= max(truth, best_unlimited(sheet[0] + slack, sheet[1] + slack, tried))


@pytest.mark.parametrize("work", [0, 3_000, 10**9])
@settings(max_examples=50, deadline=None, derandomize=True)
@given(sheets, pieces, st.booleans(), st.sampled_from([0.0, 1.0]), st.sampled_from([1e-9, 60]))
def test_whatever_stops_the_search_layout_and_bound_are_true(work, sheet, shapes, turning, frame, seconds):
    oriented, values = asked(shapes, turning)
    here = place(*sheet, frame)
    truth = best_unlimited(*sheet, [(o.width, o.height, v) for o, v in zip(oriented, values, strict=True)])
    for exact in (None, covering(here, [(o.width, o.height) for o in oriented], None)):
        coarse = covering(here, [(o.width, o.height) for o in oriented], 5)
        value, bound, tree = clear_best(here, oriented, values, Coverings(exact, coarse), Budget(seconds, None), work)
        assert worth_of(tree, oriented, values) == value <= truth <= bound


@settings(max_examples=120, deadline=None, derandomize=True)
@given(sheets, pieces, st.integers(0, 40))
def test_what_is_left_out_has_no_place_in_a_better_layout(sheet, shapes, share):
    # any goal: a table of layouts of that worth finds the best one if there is one, and never one too many
    oriented, values = asked(shapes, False)
    truth = best_unlimited(*sheet, shapes)
    goal = max(1, truth * share // 20)
    table = ClearTable(oriented, values, *(reduced([p[a] for p in shapes], [sheet[a]]) for a in (0, 1)), goal)
    assert table.run(0, None)
    found = table.worth(*sheet)
    assert found <= truth
    assert found == truth or truth < goal
    box = (0, 0, *sheet)
    assert worth_of(table.tree(box), oriented, values) >= found


@settings(max_examples=120, deadline=None, derandomize=True)
@given(st.lists(st.integers(1, 60), min_size=1, max_size=5), st.integers(1, 300), st.sampled_from([1, 8, 1000]))
def test_reachable_sizes_as_bits_and_one_by_one(steps, limit, scale):
    steps, limit = [s * scale for s in steps], limit * scale + scale // 2
    found = sums(steps, limit)
    assert np.array_equal(found, reachable(steps, [0], limit))
    few = reduced(steps, [limit])
    assert set(few.tolist()) <= set(found.tolist())
    assert few[0] == 0
    assert few[-1] == found[-1]
    # closed: what is left beside any of them is one of them again
    for size in few:
        for part in few[few <= size]:
            assert found[np.searchsorted(found, size - part, side="right") - 1] in few


def test_few_sizes_are_enough_where_pieces_are_large():
    # by hand: beside one piece of any length 430 is the most that fits, beside two nothing, and 860 is the longest pair
    assert sums([400, 410, 430], 1000).tolist() == [0, 400, 410, 430, 800, 810, 820, 830, 840, 860]
    assert reduced([400, 410, 430], [1000]).tolist() == [0, 430, 860]


def test_sizes_without_a_common_unit_are_too_many():
    # 80 m in steps of an eighth of a micrometre: more sums than are listed one by one, so sizes are rounded
    here = place(80_000_000, 8_000_001)
    shapes = [(300_007, 1_000_001), (410_003, 1_200_007), (550_001, 1_300_021)]
    assert sums([w for w, _ in shapes], 80_000_000) is None
    found = coverings(here, shapes)
    assert found.exact is None
    assert found.coarse is not None
    assert found.coarse.unit_x == 160_000
    oriented, values = [Oriented(i, f"b{i}", 0, w, h) for i, (w, h) in enumerate(shapes)], [w * h // 1000 for w, h in shapes]
    value, bound, tree = clear_best(here, oriented, values, found, Budget(60, None), 10**7)
    assert 0.97 * bound < value == worth_of(tree, oriented, values) <= bound


@pytest.mark.parametrize("calls", [1, 2, 8])
def test_an_interrupt_keeps_the_layout_met(monkeypatch, calls):
    # large enough for rounded sizes first; the interrupt comes within the given call of the compiled table
    blanks = [nesting.Blank(f"b{i}", 70 + 37 * i, 90 + 41 * i, turns=(0, 90)) for i in range(12)]
    left = [calls]

    def interrupted(*arguments):
        left[0] -= 1
        if left[0] == 0:
            raise KeyboardInterrupt
        return size_rows(*arguments)

    monkeypatch.setattr(clear, "size_rows", interrupted)
    found = nesting.fill(nesting.Sheet.rectangle("s", 3001, 2999), blanks)
    assert found.stopped_by == "interrupt"
    assert not found.proven
    assert found.worth <= found.upper_bound <= 3001 * 2999
    assert found.worth > (0.95 if calls > 5 else 0.5) * 3001 * 2999
    assert nesting.check(found.to_plan()) == ()
