"""Many different pieces on alike sheets: trees sound, limits true, the same for the same seed."""

from __future__ import annotations

import random

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

import nesting
from nesting.search.budget import Budget
from nesting.search.pile.dual_feasible import functions, least_sheets
from nesting.search.recreate import loops as r
from nesting.search.recreate.recreating import Recreation
from nesting.search.sheet.filling import counted

from .brute import best_limited

sides = st.integers(1, 7)


def blanks_of(pieces, turning):
    turns = (0, 90) if turning else (0,)
    return [nesting.Blank(f"b{i}", w, h, n, turns=turns) for i, (w, h, n) in enumerate(pieces)]


@settings(max_examples=200, deadline=None, derandomize=True)
@given(st.integers(2, 60), st.lists(st.integers(1, 60), min_size=1, max_size=6))
def test_dual_feasible_functions_keep_what_fits(limit, sizes):
    sizes = [min(s, limit) for s in sizes]
    total = 0
    fitting = []
    for size in sizes:
        if total + size <= limit:
            fitting.append(size)
            total += size
    assert np.all(functions(fitting, limit).sum(axis=1) <= 1 + 1e-9)


@settings(max_examples=80, deadline=None, derandomize=True)
@given(st.integers(3, 8), st.integers(3, 8), st.lists(st.tuples(sides, sides, st.integers(1, 2)), min_size=1, max_size=4,
                                                      unique_by=lambda p: p[:2]), st.booleans())  # fmt: skip
def test_no_packing_needs_fewer_sheets_than_the_limit(width, height, pieces, turning):
    pieces = [p for p in pieces if (p[0] <= width and p[1] <= height) or (turning and p[1] <= width and p[0] <= height)]
    if not pieces:
        return
    limit = least_sheets(pieces, width, height, turning)
    total = sum(n for _, _, n in pieces)
    if best_limited(width, height, tuple((w, h, 1, n) for w, h, n in pieces), turning) == total:
        assert limit <= 1  # one sheet holds them all
    assert limit <= total


@settings(max_examples=40, deadline=None, derandomize=True)
@given(st.integers(0, 10**6), st.booleans(), st.integers(5, 30))
def test_every_solution_holds_all_pieces_and_passes_the_checker(seed, turning, kinds):
    rng = random.Random(seed)
    pieces = [(rng.randint(10, 60), rng.randint(10, 60), rng.randint(1, 3)) for _ in range(kinds)]
    pieces = list({p[:2]: p for p in pieces}.values())
    blanks = blanks_of(pieces, turning)
    found = nesting.plan([nesting.Sheet.rectangle("s", 70, 64, count=None)], blanks, steps=20, seconds=20)
    assert not any(n for _, n in found.short)
    assert found.bound.measure == "stock cost"
    assert found.bound.limit <= found.bound.achieved
    assert nesting.check(found) == ()


def test_solutions_get_better_and_stop_at_the_limit():
    rng = random.Random(7)
    blanks = blanks_of([(rng.randint(10, 60), rng.randint(10, 60), 1) for _ in range(60)], True)
    sheet = nesting.Sheet.rectangle("s", 100, 100, count=None)
    numbers = []
    for trees in Recreation(sheet, sheet.box, blanks, [1] * 60, 0).solutions(1, Budget(20, 60)):
        numbers.append(len(trees))
        assert [sum(c) for c in zip(*(counted(tree, blanks) for tree in trees), strict=True)] == [1] * 60
    assert numbers == sorted(numbers, reverse=True)
    assert len(set(numbers)) == len(numbers)


def test_the_same_seed_gives_the_same_plan():
    rng = random.Random(3)
    blanks = blanks_of([(rng.randint(10, 60), rng.randint(10, 60), 1) for _ in range(40)], True)
    sheets = [nesting.Sheet.rectangle("s", 100, 100, count=None)]
    one = nesting.plan(sheets, blanks, steps=50, seconds=60, seed=5)
    assert one == nesting.plan(sheets, blanks, steps=50, seconds=60, seed=5, workers=2)


def test_the_plain_twins_of_the_kernels_do_the_same():
    def run(plain):
        rng = random.Random(1)
        kernel = (lambda f: f.py_func) if plain else (lambda f: f)
        sizes = np.array([(rng.randint(10, 60), rng.randint(10, 60)) for _ in range(12)], np.int32)
        n = len(sizes)
        tree, roots = np.full((r.FIELDS, 2 * n), r.ABSENT, np.int32), np.full(n, r.ABSENT, np.int32)
        free, out = np.arange(2 * n - 1, n - 1, -1).astype(np.int32), np.arange(n + 4).astype(np.int32)
        state = np.array([88172645463325252], np.uint64)
        with np.errstate(over="ignore"):
            left, size = kernel(r.recreate)(tree, roots, n, np.zeros(n, np.int32), out, n, sizes, np.full((1, n), 3, np.uint8),
                                            np.array([(100, 100)], np.int32), free, n,
                                            np.empty(n, np.int64), np.empty(2 * n + 4, np.int32), True, 0.05, state)  # fmt: skip
        return left, size, tree.tolist(), roots.tolist(), state.tolist()

    assert run(plain=True) == run(plain=False)


# Berkey & Wang 1987, class 1, n = 20, instance 1; 8 sheets fixed and 7 turning, proven by Becker, PhD thesis, UFRGS 2022
CL01_020_01 = [(1, 5), (2, 4), (3, 5), (4, 2), (4, 5), (4, 10), (5, 7), (5, 9), (6, 3), (6, 7), (6, 9), (7, 2), (7, 8), (8, 3),
               (8, 3), (8, 3), (8, 7), (10, 3), (10, 6), (10, 7)]  # fmt: skip


@pytest.mark.parametrize(("turning", "sheets"), [(False, 8), (True, 7)])
def test_a_published_optimum(turning, sheets):
    counts: dict[tuple[int, int], int] = {}
    for piece in CL01_020_01:
        counts[piece] = counts.get(piece, 0) + 1
    blanks = blanks_of([(*piece, n) for piece, n in counts.items()], turning)
    found = nesting.plan([nesting.Sheet.rectangle("s", 10, 10, count=None)], blanks, seconds=2)
    assert found.sheets_used() == {"s": sheets}
    assert found.bound.limit <= sheets * 100
    assert nesting.check(found) == ()


def test_sheets_of_several_kinds_hold_everything_that_fits():
    rng = random.Random(11)
    blanks = blanks_of([(rng.randint(10, 60), rng.randint(10, 60), 1) for _ in range(30)], False)
    kinds = [(120, 90, 3), (80, 80, 4), (64, 62, 5)]
    sheets = [nesting.Sheet.rectangle(f"s{i}", w, h, count=n) for i, (w, h, n) in enumerate(kinds)]
    found = nesting.plan(sheets, blanks, seconds=3)
    assert not any(n for _, n in found.short)
    assert 0 < found.bound.limit <= found.bound.achieved
    assert nesting.check(found) == ()
