"""Large piles: whole copies near the linear program's, and limits that are known from other prices."""

from __future__ import annotations

import random
from fractions import Fraction

import nesting
from nesting.search.arguments import checked_blanks, checked_sheets
from nesting.search.budget import Budget
from nesting.search.pile.choosing import begun, choose
from nesting.search.pile.columns import Pool, classes_of, price_all
from nesting.search.pile.relaxing import Relaxed, relax, relaxed, start
from nesting.search.pile.rounding import rounded_copies
from tests.piles import salvaged


def pool_of(seed: int, quantity: int) -> Pool:
    rng = random.Random(seed)
    pile = [salvaged(f"s{i}", rng, 300, 220) for i in (1, 3, 5, 7)]
    pile += [nesting.Sheet.rectangle(f"s{i}", 300, 200 + i, count=2) for i in (0, 2, 4, 6)]
    sheets = checked_sheets(pile)
    blanks = checked_blanks([nesting.Blank("a", 130, 95, quantity), nesting.Blank("b", 90, 60, quantity)])
    budget = Budget(60, 50)
    pool = Pool(list(blanks), classes_of(sheets, blanks, None, "square", 10, budget))
    known = start(pool, budget, 3_000, None)
    relax(Relaxed("least", 0), pool, (), known, budget, 0, 10, 3_000, None, lambda: False)
    return pool


def test_rounded_copies_are_a_choice_near_the_best():
    for seed in range(4):
        for quantity in (6, 15, 400):
            pool = pool_of(seed, quantity)
            columns = list(pool.columns.values())
            for sense in ("least", "most"):
                solution = relaxed(pool, sense, ())
                if solution is None:  # more sheets than are wanted: nothing has a price
                    assert sense == "most" and quantity < 400
                    continue
                copies = rounded_copies(pool, sense, *solution)
                used = [sum(n for c, n in zip(columns, copies, strict=True) if c.group == g) for g in range(len(pool.classes))]
                assert all(u <= group.count for u, group in zip(used, pool.classes, strict=True))
                given = [sum(n * c.counts[i] for c, n in zip(columns, copies, strict=True)) for i in range(2)]
                if sense == "most" or quantity == 400:  # more than there can be: no sheet is left that could give something
                    assert used == [group.count for group in pool.classes] or all(g >= quantity for g in given)
                    continue
                assert all(g >= quantity for g in given)
                for n, c in zip(copies, columns, strict=True):
                    assert n == 0 or any(g - k < quantity for g, k in zip(given, c.counts, strict=True))
                cost = sum(pool.classes[c.group].cost * n for c, n in zip(columns, copies, strict=True))
                best = choose(pool, (), "least", Budget(20, None), 0)
                least = sum(pool.classes[c.group].cost * n for c, n in zip(best.columns, best.copies, strict=True))
                assert least <= cost <= least * 1.35


def test_the_exact_choice_begins_with_the_rounded_one():
    pool = pool_of(1, 15)
    copies = rounded_copies(pool, "least", *relaxed(pool, "least", ()))
    rounded = begun(pool, (), copies)
    assert rounded.made == (15, 15)
    best = choose(pool, (), "least", Budget(20, None), 0, begin=copies)
    assert best is not None and best.made == (15, 15)
    one, other = (sum(pool.classes[c.group].cost * n for c, n in zip(x.columns, x.copies, strict=True)) for x in (best, rounded))
    assert one <= other


def test_limits_known_from_other_prices_hold():
    pool = pool_of(2, 15)
    rng = random.Random(3)
    for _ in range(12):
        prices = [Fraction(rng.randint(1, 40)), Fraction(rng.choice([0, 3, 9, 20]))]
        known = [pool.known_limit(group, prices) for group in range(len(pool.classes))]
        _, gives = price_all(pool, prices, Budget(60, None), 200_000, None)
        assert all(k is None or k >= g for k, g in zip(known, gives, strict=True))
        _, again = price_all(pool, prices, Budget(60, None), 0, None, near=Fraction(1, 1000))
        assert again == gives  # known already, so none is asked


def test_the_end_of_the_time_within_a_round_leaves_known_limits():
    pool = pool_of(1, 15)
    prices = [Fraction(5), Fraction(2)]
    _, gives = price_all(pool, prices, Budget(60, None), 200_000, None)
    over = Budget(0.0, None)
    assert price_all(pool, prices, over, 0, None) == (False, gives)
    assert price_all(pool, prices, over, 0, None, fined=True) == (False, gives)  # no rule has a price here
    _, looser = price_all(pool, [Fraction(6), Fraction(2)], over, 0, None)
    assert looser == [g * Fraction(6, 5) for g in gives]
