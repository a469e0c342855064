"""As few alike sheets as can be: published optima, exhaustive search on small jobs, progress, very large jobs."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

import nesting

from .brute import least_by_brute_force

# Dataset C (demands on classical knapsack instances), fixed orientation, proven: Becker, Araujo & Buriol, Procedia Computer
# Science 195, 2021. (width, height, items as width, height, demand, sheets)
PUBLISHED = {
    "Hchl8s": (49, 20, [(14, 2, 1), (1, 5, 1), (20, 4, 2), (12, 3, 3), (11, 8, 2), (11, 6, 2), (7, 9, 1), (17, 5, 1), (7, 14, 2),
                        (1, 7, 3)], 2),
    "gcut10": (1000, 1000, [(730, 300, 1), (269, 717, 1), (463, 369, 1), (642, 464, 1), (453, 329, 1), (455, 667, 1),
                            (506, 482, 1), (560, 362, 1), (483, 260, 1), (693, 345, 1), (381, 510, 1), (456, 586, 1),
                            (457, 453, 1), (707, 658, 1), (639, 650, 1), (691, 359, 1), (434, 700, 1), (576, 291, 1),
                            (728, 739, 1), (545, 742, 1)], 8),
}  # fmt: skip


def job(pieces, turning=False):
    turns = (0, 90) if turning else (0,)
    return [nesting.Blank(f"b{i}", w, h, n, turns=turns) for i, (w, h, n) in enumerate(pieces)]


@pytest.mark.parametrize("name", sorted(PUBLISHED))
def test_published_optima_are_found_and_proven(name):
    width, height, pieces, sheets = PUBLISHED[name]
    found = nesting.plan([nesting.Sheet.rectangle("s", width, height, count=None)], job(pieces), seconds=30)
    assert found.sheets_used() == {"s": sheets}
    assert found.bound.proven
    assert nesting.check(found) == ()


@settings(max_examples=60, deadline=None, derandomize=True)
@given(st.integers(4, 8), st.integers(4, 8), st.lists(st.tuples(st.integers(1, 7), st.integers(1, 7)), min_size=2, max_size=6),
       st.booleans())  # fmt: skip
def test_what_is_called_proven_is_the_fewest(width, height, pieces, turning):
    pieces = [p for p in pieces if (p[0] <= width and p[1] <= height) or (turning and p[1] <= width and p[0] <= height)]
    if not pieces:
        return
    counts = {}
    for piece in pieces:
        counts[piece] = counts.get(piece, 0) + 1
    blanks = job([(*p, n) for p, n in counts.items()], turning)
    sheet = nesting.Sheet.rectangle("s", width, height, count=None, cost=1)
    found = nesting.plan([sheet], blanks, seconds=20, steps=30)
    unmade, least = least_by_brute_force([(width, height, None, 1)], pieces, turning)
    assert unmade == 0
    assert not any(n for _, n in found.short)
    assert found.bound.limit <= least <= found.bound.achieved
    assert found.bound.achieved == least
    assert not found.bound.proven or found.bound.limit == least
    assert nesting.check(found) == ()


def test_progress_tells_ever_fewer_sheets():
    pieces = [(7 * i % 53 + 10, 11 * i % 47 + 12, 1) for i in range(40)]
    steps = []
    found = nesting.plan([nesting.Sheet.rectangle("s", 100, 100, count=None)], job(pieces, True), seconds=3,
                         progress=steps.append)  # fmt: skip
    numbers = [step.value for step in steps if step.stage == "sheets needed"]
    assert numbers == sorted(numbers, reverse=True)
    assert sum(found.sheets_used().values()) <= numbers[-1]
    assert all(step.bound * 10_000 <= found.bound.achieved for step in steps if step.stage == "sheets needed")
    assert all(step.seconds <= 3.3 for step in steps)


def test_a_hundred_thousand_pieces():
    sheet = nesting.Sheet.rectangle("s", 400, 300, count=None)
    found = nesting.plan([sheet], job([(100, 50, 100_000)]), seconds=5)
    assert found.sheets_used() == {"s": 4167}  # 24 on a sheet
    assert found.bound.proven
    with pytest.raises(nesting.InputError, match="room for at most 20,000 pieces"):
        nesting.fill(nesting.Sheet.rectangle("s", 20_000, 20_000), job([(100, 50, 100_000)]))
