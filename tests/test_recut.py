"""Pieces that lie where they lie, cut in the best order."""

from __future__ import annotations

import random

import nesting
from nesting.layouts import Cut, Piece, Shavings, leaves
from nesting.programme.steps import steps
from nesting.search.recut import recut
from nesting.search.trees import halves
from tests.piles import salvaged


def random_tree(rng: random.Random, box, deep: int):
    x0, y0, x1, y1 = box
    axis = rng.choice("xy")
    low, high = (x0, x1) if axis == "x" else (y0, y1)
    if deep == 0 or high - low < 4:
        return Piece(box, "a", 0) if rng.random() < 0.6 else Shavings(box)
    at = rng.randint(low + 1, high - 1)
    one, other = halves(box, axis, at)
    return Cut(box, axis, at, random_tree(rng, one, deep - 1), random_tree(rng, other, deep - 1))


def every_tree(box, pieces):
    """All trees over a box whose cuts lie at edges of pieces."""
    inside = [p for p in pieces if box[0] <= p[0] and p[2] <= box[2] and box[1] <= p[1] and p[3] <= box[3]]
    if not inside:
        yield Shavings(box)
        return
    if inside == [box]:
        yield Piece(box, "a", 0)
    for axis, side in (("x", 0), ("y", 1)):
        for at in sorted({e for p in inside for e in (p[side], p[side + 2]) if box[side] < e < box[side + 2]}):
            if all(p[side + 2] <= at or p[side] >= at for p in inside):
                low, high = halves(box, axis, at)
                for one in every_tree(low, inside):
                    for other in every_tree(high, inside):
                        yield Cut(box, axis, at, one, other)


def judged(tree, longest, least):
    blade = left = 0
    stack = [tree]
    while stack:
        node = stack.pop()
        if isinstance(node, Cut):
            x0, y0, x1, y1 = node.box
            blade += (y1 - y0 if node.axis == "x" else x1 - x0) > longest
            stack += [node.low, node.high]
        elif isinstance(node, Shavings):
            x0, y0, x1, y1 = node.box
            left += ((x1 - x0) * (y1 - y0)) ** 2 if min(x1 - x0, y1 - y0) >= least else 0
    return blade, -left


def test_no_tree_of_the_same_pieces_is_better():
    rng = random.Random(7)
    for _ in range(60):
        box = (0, 0, rng.randint(8, 20), rng.randint(8, 20))
        tree = random_tree(rng, box, 2)
        pieces = [leaf.box for leaf in leaves(tree) if isinstance(leaf, Piece)]
        if not pieces:
            continue

        def useful(b):
            return float(((b[2] - b[0]) * (b[3] - b[1])) ** 2 if min(b[2] - b[0], b[3] - b[1]) >= 3 else 0)

        found = recut(tree, 12, useful)
        assert sorted(leaf.box for leaf in leaves(found) if isinstance(leaf, Piece)) == sorted(pieces)
        assert judged(found, 12, 3) == min(judged(t, 12, 3) for t in every_tree(box, pieces))


def test_a_sheet_longer_than_the_knife_is_broken_down_with_one_cut():
    # 700 x 500 under a knife of 430: across the middle once with the blade, the rest under the knife
    cutter = nesting.Cutter(longest_cut=430)
    found = nesting.fill(nesting.Sheet.rectangle("s", 700, 500), [nesting.Blank("a", 170, 120)], cutter)
    assert found.layout is not None and not nesting.check(found.to_plan())
    assert sum(step.blade for step in steps(found.layout, nesting.Sheet.rectangle("s", 700, 500), cutter)) == 1


def test_the_worth_stays_and_the_checker_agrees():
    for seed in range(8):
        sheet = salvaged("s", random.Random(seed))
        one = nesting.fill(sheet, [nesting.Blank("a", 130, 95)], nesting.Cutter(longest_cut=300, square_up=2), frames="square")
        other = nesting.fill(sheet, [nesting.Blank("a", 130, 95)], nesting.Cutter(square_up=2), frames="square")
        assert one.worth == other.worth
        assert not nesting.check(one.to_plan())
