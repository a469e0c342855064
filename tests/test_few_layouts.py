"""Plans of just so many sheets: all layouts near the prices, and the search for some of them that give everything."""

from __future__ import annotations

import random
from itertools import combinations_with_replacement

import numpy as np
import pytest

import nesting
from nesting.search.budget import Budget
from nesting.search.pile import covering, near, rounded
from nesting.search.pile.columns import Pool, classes_of
from nesting.search.pile.part import Part
from nesting.search.pile.priced import run, run_within
from nesting.search.sheet.limited_bounds import priced
from nesting.search.sheet.merging import EVERY, Merging

from .brute import best_limited, least_by_brute_force
from .test_merging import problem_of, small_case

NEVER = 10**12


def cover_by_brute_force(counts, need, sheets):
    ways = combinations_with_replacement(range(len(counts)), sheets)
    return any((counts[list(some)].sum(axis=0) >= need).all() for some in ways)


@pytest.mark.parametrize("part", range(4))
def test_a_cover_is_found_where_there_is_one(part):
    rng = np.random.default_rng(part)
    for _ in range(40):
        layouts, blanks, sheets = (int(rng.integers(1, top)) for top in (7, 4, 5))
        counts, need = rng.integers(0, 3, (layouts, blanks)), rng.integers(1, 5, blanks)
        values = rng.integers(1, 6, blanks)
        most = max(1, int((counts @ values).max()))
        found = covering.covered(counts, values, need, most, sheets, NEVER, lambda: False)
        assert found is not None
        assert bool(found) == cover_by_brute_force(counts, need, sheets)
        assert len(found) <= sheets
        assert not found or (counts[found].sum(axis=0) >= need).all()
        chosen = near._chosen(counts, need, sheets, Budget(60.0, 20_000), 0)
        assert chosen is not None
        assert bool(chosen) == bool(found)


def test_a_search_that_is_cut_into_pieces_ends_the_same_as_its_plain_twin():
    rng = np.random.default_rng(7)
    for _ in range(30):
        counts, need, values = rng.integers(0, 3, (6, 3)), rng.integers(1, 6, 3), rng.integers(1, 6, 3)
        ends = []
        for kernel, work in ((covering.cover, NEVER), (covering.cover, 20), (covering.cover.py_func, 20)):
            state, rest = np.array([0, 1], np.int64), np.zeros((4, 3), np.int64)
            rest[0] = need
            tried, barred = np.zeros((4, 6), np.int32), np.full(6, -1, np.int64)
            number, place = np.zeros(4, np.int64), np.zeros(4, np.int64)
            ended = covering.OPEN
            while ended == covering.OPEN:
                ended = kernel(counts, values, int((counts @ values).max()), 3, work, state, rest, tried, number, place, barred)
            depth = int(state[covering.DEPTH]) if ended == covering.FOUND else 0
            ends.append((ended, [int(tried[d, place[d]]) for d in range(depth)]))
        assert ends[0] == ends[1] == ends[2]


def test_every_layout_that_reaches_a_target_is_listed():
    rng = random.Random(3)
    for _ in range(15):
        width, height, pieces = small_case(rng)
        turning = rng.random() < 0.5
        problem = problem_of(width, height, pieces, turning)
        if problem is None:
            continue
        total = problem.total()
        for target in {1, max(1, total // 2), total}:
            merging = Merging(problem, [priced(problem, [0.0] * len(pieces))], target, 1, rising=False)
            assert merging.run(EVERY, lambda: False, lambda worth: None)
            blocks, counts = merging.reaching()
            listed = {tuple(int(n) for n in row) for row in counts}
            for block, row in zip(blocks, counts, strict=True):
                made = [0] * len(pieces)
                for leaf in nesting.layouts.leaves(merging.tree((0, 0, width, height), int(block))):
                    if isinstance(leaf, nesting.layouts.Piece):
                        made[int(leaf.blank[1:])] += 1
                assert made == list(row)
            every = [()]
            for quantity in problem.quantity:
                every = [(*some, n) for some in every for n in range(quantity + 1)]
            for some in every:
                worth = sum(p[2] * n for p, n in zip(pieces, some, strict=True))
                if worth >= target:
                    alone = tuple((*p[:3], n) for p, n in zip(pieces, some, strict=True) if n)
                    assert (best_limited(width, height, alone, turning) == worth) == (some in listed)


def part_of(width, height, pieces, turning=False):
    turns = (0, 90) if turning else (0,)
    blanks = [nesting.Blank(f"b{i}", w, h, n, turns=turns, worth=w * h) for i, (w, h, n) in enumerate(pieces)]
    sheet = nesting.Sheet.rectangle("s", width, height, count=None, cost=1)
    part = Part("least", [sheet], [], Pool(blanks, ()), 0, None)
    part.pool = Pool(blanks, classes_of([sheet], blanks, None, "square", 1.0, Budget(60.0, None)))
    run(part, Budget(60.0, 30))
    return part


@pytest.mark.parametrize("method", [near.run, rounded.run])
def test_no_claim_of_a_method_is_wrong(method):
    rng = random.Random(11)
    proven = 0
    for _ in range(8):
        width, height, turning = rng.randint(4, 8), rng.randint(4, 8), rng.random() < 0.5
        sizes = {(rng.randint(1, min(width, 6)), rng.randint(1, min(height, 6))) for _ in range(4)}
        pieces = [(*size, rng.randint(1, 2)) for size in sorted(sizes)]
        part = part_of(width, height, pieces, turning)
        method(part, Budget(60.0, 50))
        each = [p[:2] for p in pieces for _ in range(p[2])]
        _, least = least_by_brute_force([(width, height, None, 1)], each, turning)
        assert not part.short()
        assert part.cost.limit <= least <= part.spent(part.choice)
        proven += part.closed()
    assert proven >= 6


def test_three_sheets_that_the_linear_program_allows_are_shown_impossible():
    # OF1 of Becker, Araujo & Buriol, Procedia Computer Science 195, 2021 (items of Oliveira & Ferreira 1990): 4 sheets, proven
    part = part_of(70, 40, [(29, 5, 1), (9, 39, 4), (55, 9, 1), (31, 15, 1), (11, 16, 2), (23, 21, 3), (29, 14, 4), (16, 19, 3),
                            (9, 36, 2), (22, 4, 2)])  # fmt: skip
    run_within(part, Budget(60.0, 30))
    assert part.cost.limit == 3
    near.run(part, Budget(60.0, 50))
    assert part.cost.limit == 4


def test_most_layouts_from_the_linear_program_and_the_rest_searched():
    # rows of one kind of blank fill 32 sheets; one of each kind is left: 32.7 sheets by area, so 33 are the fewest
    part = part_of(60, 40, [(30, 20, 41), (20, 20, 61), (15, 10, 97), (60, 10, 25)])
    rounded.run(part, Budget(60.0, 50))
    assert not part.short()
    assert part.closed()
    assert part.spent(part.choice) == 33
