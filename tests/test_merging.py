"""Limited copies on one clear sheet: against all cut trees, published optima and verdicts; bounds that hold."""

from __future__ import annotations

import random

import numpy as np
import pytest

import nesting
from nesting.search.budget import Budget
from nesting.search.sheet import merging_kernels as m
from nesting.search.sheet.clear import Oriented
from nesting.search.sheet.climbing import Climb
from nesting.search.sheet.limited_bounds import limits, lower_prices, priced
from nesting.search.sheet.merging import Merging

from .brute import best_limited
from .test_fill import reference, sound

# Furini, Malaguti & Thomopulos, INFORMS J. Computing 28(4), 2016, and Thomopulos 2016; re-proven by Becker, PhD thesis,
# UFRGS 2022. Any number of stages, fixed orientation.
MOST_WORTH = {"2": 2892, "A1": 2020, "A5": 12985, "CHL6": 16869, "CW2": 5354, "HH": 11586, "Hchl8s": 911, "STS4": 9700,
              "gcut5": 195582, "okp2": 22502, "okp4": 32893, "wang20": 2721}  # fmt: skip

# instances of Clautiaux, Carlier & Moukrim 2007/2008 and Hopper & Turton 2001, verdicts of Becker 2022: fixed, turning
FITS = {"E00N10": (False, False), "E00N23": (False, True), "E02F17": (False, True), "E02F22": (True, True),
        "E03N10": (False, False), "E05F20": (True, True), "E10X15": (False, True), "E15N10": (False, True),
        "E20F15": (False, True), "c1-p1": (True, True), "c1-p3": (True, True)}  # fmt: skip


def small_case(rng: random.Random):
    width, height = rng.randint(4, 12), rng.randint(4, 11)
    pieces = []
    for _ in range(rng.randint(1, 4)):
        w, h = rng.randint(1, 7), rng.randint(1, 7)
        pieces.append((w, h, rng.choice([w * h, rng.randint(1, 30)]), rng.randint(1, 3)))
    return width, height, tuple(pieces)


def problem_of(width, height, pieces, turning):
    oriented = [Oriented(i, f"b{i}", turn, *size) for i, (w, h, _, _) in enumerate(pieces)
                for turn, size in {(w, h): (0, (w, h)), (h, w): (90, (h, w)) if turning and w != h else (0, (w, h))}.values()
                if size[0] <= width and size[1] <= height]  # fmt: skip
    return limits(width, height, oriented, [p[2] for p in pieces], [p[3] for p in pieces])


@pytest.mark.parametrize("part", range(10))
def test_the_most_worth_agrees_with_all_cut_trees(part):
    rng = random.Random(part)
    for _ in range(40):
        width, height, pieces = small_case(rng)
        turning = rng.random() < 0.5
        truth = best_limited(width, height, pieces, turning)
        blanks = [nesting.Blank(f"b{i}", w, h, q, turns=(0, 90) if turning else (0,), worth=v)
                  for i, (w, h, v, q) in enumerate(pieces)]  # fmt: skip
        try:
            found = nesting.fill(nesting.Sheet.rectangle("s", width, height), blanks)
        except nesting.ImpossibleJob:
            assert truth == 0
            continue
        assert (found.worth, found.upper_bound, found.proven) == (truth, truth, True), (width, height, pieces, turning)
        sound(found)


@pytest.mark.parametrize("part", range(6))
def test_every_target_is_answered_rightly_and_every_price_bounds(part):
    rng = random.Random(100 + part)
    for _ in range(30):
        width, height, pieces = small_case(rng)
        turning = rng.random() < 0.5
        problem = problem_of(width, height, pieces, turning)
        truth = best_limited(width, height, pieces, turning)
        if problem is None:
            assert truth == 0
            continue
        prices, bound = lower_prices(problem, 0, lambda: False)
        assert bound >= truth
        weighings = [priced(problem, prices), priced(problem, [rng.uniform(0, v) for v in problem.worth])]
        for target in range(1, problem.total() + 2, max(1, problem.total() // 12)):
            merging = Merging(problem, weighings, target, 1)
            assert merging.run(10**9, lambda: False, lambda worth: None)
            assert int(merging.state[m.TARGET]) - 1 == max(truth, target - 1)
        everything = problem.total()
        _, all_bound = lower_prices(problem, everything - 1, lambda: False, free=True)
        assert all_bound >= everything or truth < everything
        free = [priced(problem, [0.0] * len(pieces)), priced(problem, [rng.uniform(-5, v) for v in problem.worth], True)]
        merging = Merging(problem, free, everything, 1)
        assert merging.run(10**9, lambda: False, lambda worth: None)
        assert (int(merging.state[m.BEST]) >= 0) == (truth == everything)


@pytest.mark.parametrize("part", range(4))
def test_narrow_runs_give_true_layouts_and_prove_nothing_more(part):
    rng = random.Random(200 + part)
    for _ in range(30):
        width, height, pieces = small_case(rng)
        problem = problem_of(width, height, pieces, True)
        truth = best_limited(width, height, pieces, True)
        if problem is None:
            continue
        merging = Merging(problem, [priced(problem, [0.0] * len(pieces))], 1, 1, 1)
        done = merging.run(10**9, lambda: False, lambda worth: None)
        found = int(merging.state[m.TARGET]) - 1
        assert found <= truth
        assert not (done and merging.exact()) or found == truth
        climb = Climb(problem, (0, 0, width, height), 0, 10**9)
        climb.go(Budget(1000, 1), lambda: None, 0)  # prices only
        assert climb.known <= truth <= climb.bound


@pytest.mark.parametrize("name", sorted(MOST_WORTH))
def test_published_optima_with_limited_copies(name):
    case = next(c for c in reference("g2kp_constrained.json") if c["name"] == name)
    blanks = [nesting.Blank(f"b{i}", w, h, q, turns=(0,), worth=v) for i, (w, h, v, q) in enumerate(case["items"])]
    found = nesting.fill(nesting.Sheet.rectangle(name, case["W"], case["H"]), blanks, seconds=60)
    assert (found.worth, found.upper_bound, found.proven) == (MOST_WORTH[name], MOST_WORTH[name], True)
    sound(found)


@pytest.mark.parametrize("turning", [False, True])
@pytest.mark.parametrize("name", sorted(FITS))
def test_whether_a_set_fits_one_sheet(name, turning):
    case = next(c for c in reference("g2opp_feasibility.json") if c["name"] == name)
    blanks = [nesting.Blank(f"b{i}", w, h, q, turns=(0, 90) if turning else (0,)) for i, (w, h, q) in enumerate(case["items"])]
    total = sum(w * h * q for w, h, q in case["items"])

    def tell(step):  # the best layout of a set that does not fit is another question
        if step.bound is not None and step.bound < total:
            raise KeyboardInterrupt

    found = nesting.fill(nesting.Sheet.rectangle(name, case["W"], case["H"]), blanks, seconds=60, progress=tell)
    if FITS[name][turning]:
        assert found.proven
        assert found.worth == total
    else:
        assert found.upper_bound < total
    sound(found)


def test_same_steps_same_layout():
    case = next(c for c in reference("g2kp_constrained.json") if c["name"] == "okp2")
    blanks = [nesting.Blank(f"b{i}", w, h, q, turns=(0, 90), worth=v) for i, (w, h, v, q) in enumerate(case["items"])]
    sheet = nesting.Sheet.rectangle("s", case["W"], case["H"])
    first, second = (nesting.fill(sheet, blanks, seconds=1000, steps=6, workers=n) for n in (1, 2))
    assert first.layout == second.layout
    assert first.upper_bound == second.upper_bound


def test_an_interrupt_keeps_the_best():
    case = next(c for c in reference("g2kp_constrained.json") if c["name"] == "CHL6")
    blanks = [nesting.Blank(f"b{i}", w, h, q, turns=(0, 90), worth=v) for i, (w, h, v, q) in enumerate(case["items"])]
    seen = []

    def stop(progress):
        seen.append(progress.value)
        if len(seen) == 2:
            raise KeyboardInterrupt

    found = nesting.fill(nesting.Sheet.rectangle("s", case["W"], case["H"]), blanks, seconds=60, progress=stop)
    assert len(seen) == 2
    assert found.worth >= seen[-1] or not found.proven
    assert found.upper_bound >= found.worth >= max(v for v in seen if v is not None)
    sound(found)


def test_a_job_on_one_sheet_comes_to_the_same():
    rng = random.Random(7)
    for _ in range(40):
        width, height, pieces = small_case(rng)
        turning = rng.random() < 0.5
        truth = best_limited(width, height, pieces, turning)
        total = sum(v * q for _, _, v, q in pieces)
        blanks = [nesting.Blank(f"b{i}", w, h, q, turns=(0, 90) if turning else (0,), worth=v)
                  for i, (w, h, v, q) in enumerate(pieces)]  # fmt: skip
        for aim in ("least-stock", "most-worth"):
            try:
                found = nesting.plan([nesting.Sheet.rectangle("s", width, height, count=1)], blanks, aim)
            except nesting.ImpossibleJob:
                assert truth == 0
                continue
            assert nesting.check(found) == ()
            assert found.bound.proven
            assert sum(found.made()[f"b{i}"] * v for i, (_, _, v, _) in enumerate(pieces)) == truth
            if aim == "most-worth":
                assert found.bound.achieved == truth
            else:
                assert found.bound.measure == ("stock cost" if truth == total else "unmade worth")
                assert found.bound.achieved == (width * height if truth == total else total - truth)


def test_a_job_without_limits_on_one_sheet():
    found = nesting.plan([nesting.Sheet.rectangle("s", 10, 10, count=1)], [nesting.Blank("a", 5, 4), nesting.Blank("b", 3, 2, 1)],
                         "most-worth")  # fmt: skip
    assert found.bound.proven
    assert found.bound.achieved == best_limited(10, 10, ((5, 4, 20, 5), (3, 2, 6, 1)), True)
    assert nesting.check(found) == ()


def job_of(name: str, turning: bool, seconds: float) -> nesting.Plan:
    case = next(c for c in reference("g2opp_feasibility.json") if c["name"] == name)
    blanks = [nesting.Blank(f"b{i}", w, h, q, turns=(0, 90) if turning else (0,)) for i, (w, h, q) in enumerate(case["items"])]
    return nesting.plan([nesting.Sheet.rectangle(name, case["W"], case["H"], count=1)], blanks, seconds=seconds)


def test_a_published_set_that_fits_one_sheet_is_made_whole():
    found = job_of("E02F17", True, 60)
    assert all(n == 0 for _, n in found.short)
    assert found.bound.proven


def test_a_published_set_that_does_not_fit_stays_short_and_says_so():
    found = job_of("E03N10", False, 60)
    assert any(n for _, n in found.short)
    assert found.bound.measure == "unmade worth"
    assert found.bound.proven


KERNELS = ("hashed", "rehash", "put", "ordered", "opened", "merge", "sifted", "own_best", "inner_table", "outer_table")


@pytest.mark.parametrize("seed", range(3))
def test_compiled_kernels_and_their_plain_twins_agree(seed, monkeypatch):
    rng = random.Random(300 + seed)
    width, height, pieces = 12, 11, small_case(rng)[2]
    # many kinds and copies, so that counts lie in several words
    pieces += tuple((rng.randint(2, 4), rng.randint(2, 4), rng.randint(1, 30), 1000) for _ in range(18))
    problem = problem_of(width, height, pieces, True)
    weighings = [priced(problem, [rng.uniform(0, v / 2) for v in problem.worth]), priced(problem, [0.0] * len(pieces))]

    def run(keep: int) -> Merging:
        merging = Merging(problem, weighings, 1, 1, keep)
        merging.run(1_500, lambda: False, lambda worth: None)
        merging.tighten()
        return merging

    for keep in (2, 30):
        compiled = run(keep)
        with monkeypatch.context() as plain:
            for name in KERNELS:
                plain.setattr(m, name, getattr(m, name).py_func)
            twin = run(keep)
            rehashed = [np.full(64, -1, np.int32), np.zeros(50, np.int32)]
            m.rehash(twin._words, 50, *rehashed)
        other = [np.full(64, -1, np.int32), np.zeros(50, np.int32)]
        m.rehash(compiled._words, 50, *other)
        assert compiled._words.shape[1] > 1
        names = "state inner outer need _words _weights _worth _low _high _chain _ids _boxes"
        for name in names.split():
            assert np.array_equal(getattr(compiled, name), getattr(twin, name)), name
        assert all(np.array_equal(a, b) for a, b in zip(rehashed, other, strict=True))
