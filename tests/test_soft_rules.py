"""Rules of grain and print with a price: what they cost against brute force over turns, and how a price trades."""

from __future__ import annotations

import itertools
import random
from dataclasses import replace
from fractions import Fraction
from functools import cache

import pytest
from hypothesis import given, settings

import nesting
from nesting import Blank, Sheet
from nesting.draw.diagrams import plan_pages
from nesting.draw.lettering import Lettering
from nesting.draw.limits import limit_lines
from nesting.draw.rules import rule_lines
from nesting.layouts import Cut, Piece
from nesting.search.pile.columns import Column
from nesting.search.pile.surplus import Dealt, penalty_paid, without_surplus
from nesting.search.sheet.single import Single

from .brute import best_limited, best_with_damage
from .strategies import plans

MAT = 8000
NEXT = {"+x": "+y", "+y": "-x", "-x": "-y", "-y": "+x"}


def price_of(blank: Blank, sheet: Sheet, turn: int) -> float:
    """The prices a piece breaks, by hand: an axis is exchanged by a quarter turn, a direction goes round with it."""
    total = 0.0
    if isinstance(blank.grain, tuple):
        axis = blank.grain[0] if turn in (0, 180) else {"x": "y", "y": "x"}[blank.grain[0]]
        total += blank.grain[1] if sheet.grain != axis else 0
    if isinstance(blank.up, tuple) and sheet.up is not None:
        top = blank.up[0]
        for _ in range(turn // 90):
            top = NEXT[top]
        total += blank.up[1] if top != sheet.up else 0
    return total


def some_rule(rng: random.Random, directions: str, prices: list) -> object:
    return rng.choice([None, (rng.choice(directions.split()), rng.choice(prices))])


def some_blank(rng: random.Random, name: str, quantity: int | None = None) -> Blank:
    prices = [0, 1, 2.5, 7, 30, 1000]
    turns = rng.choice([(0,), (0, 90), (0, 180), (0, 90, 180, 270)])
    return Blank(name, rng.randint(2, 5), rng.randint(2, 5), quantity, turns=turns,
                 grain=some_rule(rng, "x y", prices), up=some_rule(rng, "+x -x +y -y", prices),
                 worth=rng.choice([None, 5, 12]))  # fmt: skip


def some_sheet(rng: random.Random, name: str, bad: tuple = (), cost: float | None = None) -> Sheet:
    width, height = rng.randint(5, 9), rng.randint(5, 9)
    rings = [[(a, b), (c, b), (c, d), (a, d)] for a, b, c, d in bad if c <= width and d <= height]
    return Sheet.from_mm(name, [(0, 0), (width, 0), (width, height), (0, height)], bad=rings,
                         grain=rng.choice(["x", "y", None]), up=rng.choice(["+x", "-y", "+y", None]), cost=cost)  # fmt: skip


@pytest.mark.parametrize("damaged", [False, True])
def test_fill_agrees_with_brute_force_over_turns(damaged):
    paid = 0
    for seed in range(150):
        rng = random.Random(f"{seed} {damaged}")
        blanks = [some_blank(rng, f"b{i}") for i in range(rng.randint(1, 3))]
        x, y = rng.randint(0, 4), rng.randint(0, 4)
        bad = ((x, y, x + rng.randint(1, 3), y + rng.randint(1, 2)),) if damaged else ()
        sheet = some_sheet(rng, "s", bad)
        _, _, w, h = (v // MAT for v in sheet.box)
        pieces = [(size[0] // MAT, size[1] // MAT, (b.worth or float(b.area_mm2)) - price_of(b, sheet, turn))
                  for b in blanks for turn in b.turns for size in [b.size(turn)]]  # fmt: skip
        rings = tuple((r[0][0] // MAT, r[0][1] // MAT, r[2][0] // MAT, r[2][1] // MAT) for r in sheet.bad)
        truth = best_with_damage(w, h, rings, [p for p in pieces if p[2] > 0])
        try:
            found = nesting.fill(sheet, blanks, seconds=5, frames="square")
        except nesting.ImpossibleJob:
            assert truth == 0
            continue
        assert found.worth == pytest.approx(truth), (seed, found.worth, truth)
        assert found.proven and found.upper_bound == pytest.approx(truth)
        placed = found.layout.pieces if found.layout else ()
        named = {b.name: b for b in blanks}
        assert found.penalty == pytest.approx(sum(price_of(named[p.blank], sheet, p.turn) for p in placed))
        assert nesting.check(found.to_plan()) == ()
        paid += found.penalty > 0
    assert paid > 25


def test_fill_with_quantities_keeps_between_truth_and_bound():
    exact = tried = 0
    for seed in range(60):
        rng = random.Random(f"limited {seed}")
        blanks = [some_blank(rng, f"b{i}", rng.randint(1, 3)) for i in range(rng.randint(1, 2))]
        sheet = some_sheet(rng, "s")
        truth = best_of_turns(sheet, blanks)
        try:
            found = nesting.fill(sheet, blanks, seconds=3, frames="square")
        except nesting.ImpossibleJob:
            assert truth == 0
            continue
        assert found.worth <= truth + 1e-9 and truth <= found.upper_bound + 1e-9
        assert nesting.check(found.to_plan()) == ()
        tried += 1
        exact += found.worth == pytest.approx(truth)
    assert exact >= 0.9 * tried


def single_pieces(blanks: list[Blank]) -> list[Blank]:
    return [b for b in blanks for _ in range(b.quantity or 0)]


def ways_of(blank: Blank) -> list[int]:
    return list(blank.turns)


@cache
def holds(width: int, height: int, sizes: tuple[tuple[int, int], ...]) -> bool:
    """Whether rectangles that may not be turned can be cut from a clear sheet."""
    if sum(w * h for w, h in sizes) > width * height:
        return False
    return best_limited(width, height, tuple((w, h, w * h, 1) for w, h in sizes), False) == sum(w * h for w, h in sizes)


def fits(sheet: Sheet, lying: list[tuple[Blank, int]]) -> bool:
    sizes = tuple(sorted((b.size(t)[0] // MAT, b.size(t)[1] // MAT) for b, t in lying))
    return holds(sheet.box[2] // MAT, sheet.box[3] // MAT, sizes)


def best_of_turns(sheet: Sheet, blanks: list[Blank]) -> float:
    """The most worth less prices on one clear sheet: every turn of every piece, or none, tried."""
    pieces = single_pieces(blanks)
    best = 0.0
    for turns in itertools.product(*([None, *ways_of(b)] for b in pieces)):
        lying = [(b, t) for b, t in zip(pieces, turns, strict=True) if t is not None]
        worth = sum((b.worth or float(b.area_mm2)) - price_of(b, sheet, t) for b, t in lying)
        if worth > best and fits(sheet, lying):
            best = worth
    return best


def least_of_all(sheets: list[Sheet], blanks: list[Blank]) -> tuple[float, float]:
    """Least worth unmade, then least cost and prices: every sheet and turn of every piece tried."""
    pieces = single_pieces(blanks)
    best = (float("inf"), float("inf"))
    ways = [[None, *((s, t) for s in range(len(sheets)) for t in ways_of(b))] for b in pieces]
    for chosen in itertools.product(*ways):
        lying: list[list[tuple[Blank, int]]] = [[] for _ in sheets]
        unmade = 0.0
        for blank, way in zip(pieces, chosen, strict=True):
            if way is None:
                unmade += blank.worth or float(blank.area_mm2)
            else:
                lying[way[0]].append((blank, way[1]))
        cost = sum((s.cost if s.cost is not None else s.area_mm2) + sum(price_of(b, s, t) for b, t in on)
                   for s, on in zip(sheets, lying, strict=True) if on)  # fmt: skip
        if (unmade, cost) < best and all(fits(s, on) for s, on in zip(sheets, lying, strict=True)):
            best = (unmade, cost)
    return best


def test_plans_agree_with_brute_force_over_sheets_and_turns():
    exact = paid = 0
    for seed in range(40):
        rng = random.Random(f"plan {seed}")
        blanks = [replaced(some_blank(rng, f"b{i}", rng.randint(1, 2)), rng) for i in range(rng.randint(1, 2))]
        sheets = [some_sheet(rng, f"s{i}", cost=rng.choice([3, 10, 31.5])) for i in range(2)]
        unmade, cost = least_of_all(sheets, blanks)
        try:
            found = nesting.plan(sheets, blanks, seconds=3, frames="square")
        except nesting.ImpossibleJob:
            continue
        assert nesting.check(found) == ()
        assert nesting.Plan.from_dict(found.to_dict()) == found
        measure, truth = ("unmade worth", unmade) if unmade > 0 else ("stock cost", cost)
        assert found.bound.measure == measure
        assert found.bound.limit <= truth + 1e-9 and truth <= found.bound.achieved + 1e-9, seed
        exact += found.bound.achieved == pytest.approx(truth)
        paid += found.bound.penalty > 0
    assert exact >= 36 and paid >= 10


def replaced(blank: Blank, rng: random.Random) -> Blank:
    """The same with at most two turns, to keep brute force small."""
    turns = rng.choice([(0,), (0, 90), (0, 180)])
    return Blank(blank.name, blank.width // MAT, blank.height // MAT, blank.quantity, turns, blank.grain, blank.up, blank.worth)


# the sheet with its grain right costs 40 more; two pieces across it on the other pay two prices: 20 is where it turns
@pytest.mark.parametrize(("price", "sheet", "penalty"), [(0, "B", 0), (19.9, "B", 39.8), (20.1, "A", 0), (1000, "A", 0)])
def test_a_price_just_below_and_above_another_sheets_cost_changes_the_plan(price, sheet, penalty):
    right = Sheet.rectangle("A", 100, 100, grain="y", cost=50)
    wrong = Sheet.rectangle("B", 100, 100, grain="x", cost=10)
    found = nesting.plan([right, wrong], [Blank("b", 50, 100, 2, turns=(0,), grain=("y", price))], seconds=3)
    assert found.sheets_used() == {sheet: 1}
    assert found.bound.penalty == pytest.approx(penalty) and found.bound.proven
    assert found.bound.achieved == pytest.approx(penalty + (50 if sheet == "A" else 10))
    assert nesting.check(found) == ()


# 95 x 45 holds three 30 x 45 across the grain, or two along it: a piece of 1350 against three prices, 450 each
@pytest.mark.parametrize(("price", "turns", "worth"), [(449, [0, 0, 0], 4050 - 3 * 449), (451, [90, 90], 2700)])
@pytest.mark.parametrize("quantity", [None, 3])
def test_most_worth_weighs_a_price_against_a_piece_more(price, turns, worth, quantity):
    sheet = Sheet.rectangle("s", 95, 45, grain="x")
    blank = Blank("b", 30, 45, quantity, turns=(0, 90), grain=("y", price))
    filled = nesting.fill(sheet, [blank], seconds=3)
    for found in (nesting.plan([sheet], [blank], aim="most-worth", seconds=3), filled.to_plan()):
        assert [p.turn for p in found.layouts[0].pieces] == turns
        assert found.bound.achieved == worth and found.bound.proven
        assert found.bound.penalty == (0 if turns[0] else 3 * price)
        assert nesting.check(found) == ()


def test_surplus_pieces_that_break_a_rule_stay_uncut_first():
    ground = Single(Sheet.rectangle("s", 4, 1, grain="y"), [Blank("b", 1, 1, 9)], None, "square").clear_ground()
    tree = Cut((0, 0, 4, 1), "x", 2, Piece((0, 0, 2, 1), "b", 0), Piece((2, 0, 4, 1), "b", 90))
    first = Column(0, (2,), tree, ground, ((0, 90, Fraction(5), 1),))
    plain = Column(1, (3,), tree, ground)
    worse = Column(2, (2,), tree, ground, ((0, 90, Fraction(9), 2),))
    columns, copies = [first, plain, worse], [3, 1, 2]
    dealt = [Dealt(c, f"s{i}", n) for i, (c, n) in enumerate(zip(columns, copies, strict=True))]
    for made in range(1, 14):
        kept = without_surplus(dealt, [made])
        cut = sum(d.copies * (d.column.counts[0] - sum(d.uncut.values())) for d in kept)
        fines = sum(d.copies * each * (n - d.uncut.get((b, turn), 0)) for d in kept for b, turn, each, n in d.column.broken)
        assert cut == made and fines == penalty_paid(columns, copies, [made])
        assert fines == max(0, made - 6 - 3) * 9 + min(3, max(0, made - 6)) * 5
        assert all(sum(d.uncut.values()) < d.column.counts[0] for d in kept)


def test_a_limit_allows_both_rules_of_a_piece_at_one_price():
    # each of two pieces breaks both rules at 7: 28 in all, on the one sheet that is there
    sheet = Sheet.rectangle("s", 100, 100, grain="x", up="+x", cost=10)
    found = nesting.plan([sheet], [Blank("b", 50, 100, 2, turns=(0,), grain=("y", 7), up=("+y", 7))], seconds=2)
    assert (found.bound.achieved, found.bound.penalty) == (38, 28) and found.bound.limit <= 38
    assert nesting.check(found) == ()


def test_a_chosen_piece_pays_its_price_and_stays():
    sheets = [Sheet.rectangle("s", 100, 100, grain="y"), Sheet.rectangle("t", 100, 100, grain="y")]
    blank = Blank("b", 40, 60, 4, turns=(0, 90), grain=("y", 5))
    chosen = {"sheet": "s", "blank": "b", "at": (0, 0), "turn": 90}
    found = nesting.plan(sheets, [blank], fixed=[chosen], seconds=3)
    assert nesting.check(found) == () and found.made() == {"b": 4}
    on_s = next(x for x in found.layouts if x.sheet == "s")
    assert any(p.turn == 90 and (0, 0) in p.corners for p in on_s.pieces)
    assert found.bound.penalty >= 5 and found.bound.limit <= found.bound.achieved


def test_unmade_worth_comes_before_prices_and_sets_do_too():
    sheet = Sheet.rectangle("s", 50, 100)
    dear = Blank("b", 50, 100, 1, turns=(0,), grain=("y", 10**9))
    found = nesting.plan([sheet], [dear], seconds=2)
    assert found.made() == {"b": 1} and found.bound.measure == "stock cost"
    assert found.bound.achieved == 5000 + 10**9 == found.bound.limit
    short = nesting.plan([sheet], [replace_quantity(dear, 2)], seconds=2)
    assert short.bound.measure == "unmade worth" and short.bound.achieved == 5000 and short.bound.penalty == 10**9
    books = nesting.plan([sheet], [dear], aim="most-worth", sets={"book": {"b": 1}}, seconds=2)
    assert books.bound.measure == "sets" and books.bound.achieved == 1 and books.bound.penalty == 10**9
    for plan in (found, short, books):
        assert nesting.check(plan) == ()
    with pytest.raises(nesting.ImpossibleJob, match="price"):
        nesting.plan([sheet], [dear], aim="most-worth", seconds=2)


def replace_quantity(blank: Blank, quantity: int) -> Blank:
    return Blank(blank.name, blank.width // MAT, blank.height // MAT, quantity, blank.turns, blank.grain, blank.up)


def test_many_different_pieces_with_prices_are_planned_by_prices():
    rng = random.Random(5)
    blanks = [Blank(f"b{i}", rng.randint(20, 60), rng.randint(20, 60), 2, grain=("y", 50)) for i in range(8)]
    sheets = [Sheet.rectangle("s", 120, 120, grain="y", count=20)]
    found = nesting.plan(sheets, blanks, seconds=3)
    assert nesting.check(found) == () and not any(n for _, n in found.short)
    hard = nesting.plan(sheets, [Blank(b.name, b.width // MAT, b.height // MAT, 2, grain="y") for b in blanks], seconds=3)
    assert found.sheets_used() == hard.sheets_used() and found.bound.penalty <= 100


def test_the_checker_refuses_a_penalty_that_is_not_paid():
    sheet = Sheet.rectangle("s", 100, 100, grain="x")
    plan = nesting.plan([sheet], [Blank("b", 50, 100, 2, turns=(0,), grain=("y", 7), up=("+y", 3))], seconds=2)
    assert plan.bound.penalty == 14 and nesting.check(plan) == ()
    for wrong in (0, 7, 28):
        bad = replace(plan, id=None, bound=replace(plan.bound, penalty=wrong))
        assert [fault.code for fault in nesting.check(bad)] == ["penalty"]
    cheap = replace(plan.bound, achieved=10_000, limit=10_000, penalty=0)
    assert {fault.code for fault in nesting.check(replace(plan, id=None, bound=cheap))} == {"penalty", "bound"}


def test_beyond_the_tolerance_a_frame_breaks_soft_rules_and_shuts_out_hard_ones():
    sheet = Sheet.rectangle("s", 100, 100, grain="y", up="+y")
    soft, hard = Blank("soft", 20, 30, grain=("y", 5), up=("+y", 2)), Blank("hard", 20, 30, grain="y")
    assert soft.penalty_on(sheet, 0, 10.0) == 0 and soft.penalty_on(sheet, 0, 10.5) == 7
    assert hard.turns_on(sheet, 10.0) == (0,) and hard.turns_on(sheet, 10.5) == ()
    skewed = nesting.fill(sheet, [Blank("b", 20, 30, turns=(0,), grain=("y", 5))], frames=[30], seconds=2)
    assert skewed.penalty == 5 * len(skewed.layout.pieces) and nesting.check(skewed.to_plan()) == ()
    assert not nesting.fill(sheet, [hard], frames=[30], seconds=2).to_plan().layouts[0].frame_deg


@pytest.mark.parametrize(("given", "field"), [
    (("z", 3), "grain"), (("x",), "grain"), (("x", -1), "price"), (("x", float("nan")), "price"), (("x", "3"), "price"),
    (("x", True), "price"), ("+x", "grain"), (("x", 1e13), "price"), (5, "grain"),
])  # fmt: skip
def test_wrong_rules_are_refused(given, field):
    with pytest.raises(nesting.InputError, match=field):
        Blank("b", 10, 10, grain=given)


def test_rules_with_a_price_round_trip_and_old_documents_stay_readable():
    blank = Blank("b", 50, 100, 1, turns=(0,), grain=["y", 500], up=("+y", 2.5))
    assert blank.grain == ("y", 500)
    plan = nesting.plan([Sheet.rectangle("s", 60, 100, grain="x", up="-y")], [blank], seconds=2)
    document = plan.to_dict()
    assert document["blanks"][0]["grain"] == ["y", 500] and document["blanks"][0]["up"] == ["+y", 2.5]
    assert document["bound"]["penalty"] == 502.5
    assert nesting.Plan.from_dict(document) == plan
    plain = nesting.plan([Sheet.rectangle("s", 60, 100)], [Blank("b", 50, 100, 1)], seconds=2).to_dict()
    assert "penalty" not in plain["bound"] and "grain_guessed" not in plain["sheets"][0]


def test_a_guess_that_a_plan_relies_on_is_said_on_it():
    sheets = [Sheet.rectangle("s3", 200, 100, grain="y", grain_guessed=True), Sheet.rectangle("s4", 200, 100, grain="y")]
    plan = nesting.plan(sheets, [Blank("b", 95, 95, 4, grain="y")], seconds=2)
    assert nesting.check(plan) == () and nesting.Plan.from_dict(plan.to_dict()) == plan
    assert plan.to_dict()["sheets"][0]["grain_guessed"] is True and "grain_guessed" not in plan.to_dict()["sheets"][1]
    assert rule_lines(plan) == ["The grain of s3 is a guess: bend it both ways before you cut."]
    off = nesting.plan(sheets, [Blank("b", 95, 95, 4)], seconds=2)
    assert rule_lines(off) == []
    said = [" ".join(a.text for a in page.artists if isinstance(a, Lettering)) for page in plan_pages(plan)]
    assert [("is a guess" in text) for text in said] == [True, True, False] and "Grain ↕ guessed" in said[1]


def test_pieces_against_a_rule_are_told_and_limits_speak_of_prices():
    plan = nesting.plan([Sheet.rectangle("s", 100, 100, grain="x", up="+x")],
                        [Blank("b", 50, 100, 2, turns=(0,), grain=("y", 7), up=("+y", 3))], seconds=2)  # fmt: skip
    assert rule_lines(plan) == ["Of the pieces, 2 lie across the grain or on unknown grain and 2 lie with the print not upright; "
                                "the prices of these rules are reckoned in."]  # fmt: skip
    assert "prices of rules broken added: proven" in limit_lines(plan, "mm")[0]
    most = nesting.plan(plan.sheets, plan.blanks, aim="most-worth", seconds=2)
    assert "prices of rules broken taken off: proven" in limit_lines(most, "mm")[0]


def test_a_guess_without_a_grain_is_refused():
    with pytest.raises(nesting.InputError, match="grain_guessed"):
        Sheet.rectangle("s", 100, 100, grain_guessed=True)
    with pytest.raises(nesting.InputError, match="grain_guessed"):
        Sheet.rectangle("s", 100, 100, grain="x", grain_guessed=1)


def test_unknown_grain_with_a_hard_rule_names_the_ways_out():
    with pytest.raises(nesting.ImpossibleJob) as caught:
        nesting.plan([Sheet.rectangle("s", 100, 100)], [Blank("b", 50, 50, 1, grain="y")], seconds=1)
    for way in ("bend a strip", "wet it", "set the grain", "give the rule a price", "turn it off"):
        assert way in caught.value.reasons["b"]
    soft = nesting.plan([Sheet.rectangle("s", 100, 100)], [Blank("b", 50, 50, 1, grain=("y", 4))], seconds=1)
    assert soft.bound.penalty == 4 and nesting.check(soft) == ()


@given(plans(frames=(0.0, 20.0, 3.0)))
@settings(max_examples=60, deadline=None)
def test_random_plans_with_prices_and_guesses_are_sound_and_round_trip(plan):
    assert nesting.check(plan) == ()
    assert nesting.Plan.from_dict(plan.to_dict()) == plan
