"""Pieces chosen beforehand: kept where they are, the rest planned around them as well as can be."""

from __future__ import annotations

import math
import random

import pytest

import nesting
from nesting.errors import ImpossibleJob, InputError
from nesting.fixed import Fixed
from tests.brute import best_around_fixed
from tests.builder import as_chosen
from tests.piles import salvaged


def checked(plan: nesting.Plan) -> nesting.Plan:
    assert nesting.check(plan) == ()
    assert nesting.Plan.from_dict(plan.to_dict()) == plan
    return plan


def boxes(plan: nesting.Plan, sheet: str, blank: str) -> list[tuple[int, ...]]:
    """Low-left and high-right corners in ticks of the pieces of a blank on a sheet."""
    return [(*map(min, zip(*p.corners, strict=True)), *map(max, zip(*p.corners, strict=True)))
            for layout in plan.layouts if layout.sheet == sheet for p in layout.pieces if p.blank == blank]  # fmt: skip


def test_every_position_agrees_with_brute_force():
    """One piece at each place of tiny sheets with damage: the same best worth, proven, or refused where it may not lie."""
    rng, tried = random.Random(4), 0
    for _ in range(4):
        width, height = rng.randint(5, 9), rng.randint(5, 9)
        x, y = rng.randint(0, width - 2), rng.randint(0, height - 2)
        bad = [(x, y, x + rng.randint(1, 2), y + 1)] if rng.random() < 0.7 else []
        w, h = rng.randint(2, 4), rng.randint(2, 3)
        other = (rng.randint(1, 3), rng.randint(2, 4))
        sheet = nesting.Sheet.from_mm("s", [(0, 0), (width, 0), (width, height), (0, height)],
                                      bad=[[(a, b), (c, b), (c, d), (a, d)] for a, b, c, d in bad])  # fmt: skip
        worth = rng.choice([1, 5])
        blanks = [nesting.Blank("own", w, h, turns=(0,), worth=worth), nesting.Blank("other", *other, turns=(0,), worth=3)]
        for fx in range(width - w + 1):
            for fy in range(height - h + 1):
                fixed = [{"sheet": "s", "blank": "own", "at": (fx, fy)}]
                box = (fx, fy, fx + w, fy + h)
                if any(a < box[2] and c > box[0] and b < box[3] and d > box[1] for a, b, c, d in bad):
                    with pytest.raises(InputError, match="damage"):
                        nesting.plan([sheet], blanks, aim="most-worth", fixed=fixed)
                    continue
                found = checked(nesting.plan([sheet], blanks, aim="most-worth", fixed=fixed, seconds=20))
                truth = best_around_fixed(width, height, bad, [(w, h, worth), (*other, 3)], [box])
                assert found.bound.proven and found.bound.achieved == worth + truth, (width, height, bad, w, h, other, fx, fy)
                assert tuple(8000 * v for v in box) in boxes(found, "s", "own")
                tried += 1
    assert tried > 40


def test_in_the_middle_it_costs_what_it_must():
    """A square off the grid in a clear sheet of 6 x 6 (units of 10 mm): each place by brute force."""
    sheet, blanks = nesting.Sheet.rectangle("s", 60, 60), [nesting.Blank("b", 20, 20, 20, worth=1)]
    assert checked(nesting.plan([sheet], blanks, aim="most-worth")).bound.achieved == 9
    for at in [(0, 0), (1, 1), (2, 2), (1, 2), (3, 1)]:
        fixed = [{"sheet": "s", "blank": "b", "at": (10 * at[0], 10 * at[1])}]
        found = checked(nesting.plan([sheet], blanks, aim="most-worth", fixed=fixed))
        truth = best_around_fixed(6, 6, [], [(2, 2, 1)], [(*at, at[0] + 2, at[1] + 2)])
        assert found.bound.proven and found.bound.achieved == 1 + truth
    assert truth < 8


@pytest.mark.parametrize("frames", ["square", (3.0,), (-7.5,)])
def test_pieces_of_the_best_layout_of_a_torn_sheet_cost_nothing(frames):
    """Chosen where the best layout has them, alone or all, they change no worth; damage, holes, turned frames."""
    rng, proven = random.Random(11), 0
    for number in range(2):
        sheet = salvaged(f"s{number}", rng, 240, 180)
        blanks = [nesting.Blank("a", 85, 60), nesting.Blank("b", 55, 40)]
        free = nesting.fill(sheet, blanks, frames=frames, steps=100_000, seconds=20)
        assert free.layout is not None
        some = [as_chosen(free.layout, p) for p in free.layout.pieces]
        for fixed in (some[:1], some):
            found = checked(nesting.plan([sheet], blanks, aim="most-worth", fixed=fixed, steps=100_000, seconds=20))
            assert found.bound.limit >= free.worth and free.upper_bound >= found.bound.achieved
            if free.proven:
                proven += 1
                assert found.bound.achieved == free.worth, (number, len(fixed))
    assert proven >= 2


def test_anywhere_on_torn_sheets_the_limit_holds():
    """At random places: sound, kept, no more than without; and what is possible at that place is within the limit."""
    rng, tried = random.Random(5), 0
    for number in range(12):
        sheet = salvaged(f"s{number}", rng, 250, 200)
        blanks = [nesting.Blank("a", 80, 60, 30, turns=(0, 90, 180)), nesting.Blank("b", 60, 45, 30)]
        fixed = {"sheet": sheet.id, "blank": "a", "at": (rng.uniform(10, 150), rng.uniform(10, 120)),
                 "turn": rng.choice([0, 90, 180]), "angle": rng.choice([0, 0, 4.5])}  # fmt: skip
        try:
            found = checked(nesting.plan([sheet], blanks, aim="most-worth", fixed=[fixed], seconds=10))
        except InputError:
            continue
        tried += 1
        assert found.bound.achieved <= nesting.fill(sheet, blanks, frames=(fixed["angle"],), seconds=5).upper_bound
        every = [as_chosen(found.layouts[0], p) for p in found.layouts[0].pieces]
        again = checked(nesting.plan([sheet], blanks, aim="most-worth", seconds=10, fixed=every))
        assert found.bound.achieved <= again.bound.achieved <= found.bound.limit
    assert tried >= 4


def test_one_copy_of_a_counted_sheet_has_it():
    """210 x 300 holds 100 x 100 six times; in the middle of its width it leaves fewer: one copy of three is cut so."""
    sheet = nesting.Sheet.rectangle("p", 210, 300, count=3)
    blank = nesting.Blank("b", 100, 100, 14, turns=(0,))
    found = checked(nesting.plan([sheet], [blank], fixed=[{"sheet": "p", "blank": "b", "at": (55, 100)}]))
    assert found.made() == {"b": 14} and found.bound.proven and found.sheets_used() == {"p": 3}
    assert sorted((x.copies, len(x.pieces)) for x in found.layouts if (440_000, 800_000, 1_240_000, 1_600_000)
                  not in boxes(found, "p", "b") or len(x.pieces) < 6)[0][0] == 1  # fmt: skip
    unlimited = checked(nesting.plan([nesting.Sheet.rectangle("p", 210, 300, count=None)], [blank],
                                     fixed=[{"sheet": "p", "blank": "b", "at": (55, 100)}]))  # fmt: skip
    assert unlimited.sheets_used() == {"p": 3} and unlimited.bound.proven


def test_its_sheet_is_cut_even_where_another_is_cheaper():
    """The small sheet would do; the chosen piece spends the large one, which gives no other. The limit knows."""
    sheets = [nesting.Sheet.rectangle("small", 300, 100, cost=1), nesting.Sheet.rectangle("large", 240, 200, cost=10)]
    blank = nesting.Blank("b", 100, 100, 3)
    assert nesting.plan(sheets, [blank]).sheets_used() == {"small": 1}
    found = checked(nesting.plan(sheets, [blank], fixed=[{"sheet": "large", "blank": "b", "at": (50, 50)}]))
    assert found.bound.proven and found.bound.achieved == found.bound.limit == 11
    assert (400_000, 400_000, 1_200_000, 1_200_000) in boxes(found, "large", "b")


def test_no_surplus_takes_its_place():
    """One is wanted, and that one is where it was chosen, not another; beside it what else is wanted."""
    sheet = nesting.Sheet.rectangle("p", 400, 300)
    fixed = [{"sheet": "p", "blank": "a", "at": (120, 90), "turn": 90}]
    for quantity in (1, 3):
        blanks = [nesting.Blank("a", 100, 80, quantity), nesting.Blank("b", 60, 50, 2)]
        found = checked(nesting.plan([sheet], blanks, fixed=fixed))
        assert found.made() == {"a": quantity, "b": 2}
        assert (960_000, 720_000, 1_600_000, 1_520_000) in boxes(found, "p", "a")


def test_with_sets_and_several_materials():
    sheets = [nesting.Sheet.rectangle("c", 400, 300, material="cover"), nesting.Sheet.rectangle("k", 420, 300, material="card")]
    blanks = [nesting.Blank("cover", 150, 100, material="cover", quantity=9),
              nesting.Blank("card", 150, 100, material="card", quantity=9)]  # fmt: skip
    fixed = [{"sheet": "c", "blank": "cover", "at": ("2 in", 77)}]
    book = {"book": {"cover": 1, "card": 1}}
    found = checked(nesting.plan(sheets, blanks, aim="most-worth", sets=book, fixed=fixed, seconds=2))
    assert found.bound.measure == "sets" and found.bound.achieved >= 3
    checked(nesting.plan(sheets, blanks, fixed=fixed, seconds=2))


def test_same_steps_same_plan_for_any_workers():
    rng = random.Random(2)
    sheets = [salvaged(f"s{i}", rng, 250, 200) for i in range(3)]
    blanks = [nesting.Blank("a", 80, 60, 9), nesting.Blank("b", 60, 45, 9)]
    first, second = (nesting.plan(sheets, blanks, steps=300, seconds=60, workers=n,
                                  fixed=[Fixed("s0", "a", (1_120_000, 160_000))]) for n in (1, 2))  # fmt: skip
    assert first == second
    checked(first)


def test_however_soon_it_stops_it_is_cut():
    rng = random.Random(3)
    sheets = [salvaged(f"s{i}", rng) for i in range(5)]
    found = checked(nesting.plan(sheets, [nesting.Blank("a", 80, 60, 50)], seconds=0.01,
                                 fixed=[{"sheet": "s3", "blank": "a", "at": (60, 100)}]))  # fmt: skip
    assert found.made()["a"] >= 1


OWN = {"sheet": "s", "blank": "a", "at": (10, 10)}


@pytest.mark.parametrize(("change", "named"), [
    ([OWN | {"sheet": "zz"}], "fixed 1, sheet"), ([OWN | {"blank": "zz"}], "fixed 1, blank"),
    ([OWN | {"sheet": "t"}], "excluded"), ([OWN | {"at": (250, 10)}], "over the edge"),
    ([OWN | {"at": (-1, 10)}], "over the edge"),
    ([OWN | {"at": (130, 130)}], "damage"), ([OWN, OWN | {"at": (60, 60)}], "overlaps fixed 1"),
    ([OWN | {"turn": 90}], "fixed 1, turn"), ([OWN | {"turn": 45}], "fixed 1, turn"), ([OWN | {"angle": 60}], "angle"),
    ([OWN | {"at": (10,)}], "fixed 1, at"), ([OWN | {"at": "here"}], "fixed 1, at"),
    ([{"sheet": "s", "blank": "a"}], "fixed 1, at"),
    ([OWN | {"size": 1}], "unknown field 'size'"), (["x"], "fixed 1"), (None, "fixed"), (OWN, "fixed"),
    ([OWN, OWN | {"at": (200, 10)}, OWN | {"at": (10, 200)}], "at most 2 of a"),
    ([OWN, OWN | {"at": (180, 10), "angle": 3}], "one frame"), ([OWN | {"blank": "g"}], "grain"),
    ([OWN | {"at": (1, 10)}], "nearer than 2 mm"), ([OWN] * 201, "at most 200"),
    ([OWN | {"angle": math.nan}], "angle")])  # fmt: skip
def test_what_cannot_be_is_named(change, named):
    sheet = nesting.Sheet.from_mm("s", [(0, 0), (300, 0), (300, 300), (0, 300)],
                                  bad=[[(150, 150), (160, 150), (160, 160), (150, 160)]], inset=2)  # fmt: skip
    blanks = [nesting.Blank("a", 80, 60, 2, turns=(0, 180)), nesting.Blank("g", 20, 20, 1, grain="x")]
    with pytest.raises(InputError, match=named):
        nesting.plan([sheet, nesting.Sheet.rectangle("t", 100, 100)], blanks, exclude=["t"], fixed=change)


def test_grain_print_and_squaring_are_obeyed():
    sheet = nesting.Sheet.rectangle("s", 300, 200, grain="x", up="+y")
    blank = nesting.Blank("g", 80, 60, 2, turns=(0, 90, 180), grain="x", up="+y")
    for turn, angle, named in [(90, 0, "these do: 0"), (180, 0, "these do: 0"), (0, 12, "at most 10 degrees")]:
        with pytest.raises(InputError, match=named):
            nesting.plan([sheet], [blank], fixed=[{"sheet": "s", "blank": "g", "at": (100, 70), "turn": turn, "angle": angle}])
    checked(nesting.plan([sheet], [blank], fixed=[{"sheet": "s", "blank": "g", "at": (100, 70), "angle": 8}]))
    cutter = nesting.Cutter(square_up=3)
    with pytest.raises(InputError, match="squaring cut"):
        nesting.plan([sheet], [blank], cutter=cutter, fixed=[{"sheet": "s", "blank": "g", "at": (2, 70)}])
    checked(nesting.plan([sheet], [blank], cutter=cutter, fixed=[{"sheet": "s", "blank": "g", "at": (3, 70)}]))


def test_four_around_a_middle_that_no_knife_can_part():
    sheet, blanks = nesting.Sheet.rectangle("s", 300, 300), [nesting.Blank("b", 200, 100, 4)]
    around = [((0, 0), 0), ((200, 0), 90), ((100, 200), 0), ((0, 100), 90)]
    fixed = [{"sheet": "s", "blank": "b", "at": at, "turn": turn} for at, turn in around]
    with pytest.raises(ImpossibleJob, match="no knife can part"):
        nesting.plan([sheet], blanks, fixed=fixed)
    checked(nesting.plan([sheet], blanks, fixed=fixed[:3]))


def test_the_checker_misses_a_chosen_piece_that_is_not_there():
    """By a tick; by its turn; on another sheet; taken for two."""
    sheets = [nesting.Sheet.rectangle("s", 300, 200, count=2), nesting.Sheet.rectangle("t", 300, 200)]
    fixed = {"sheet": "s", "blank": "a", "at": (50, 60)}
    document = nesting.plan(sheets, [nesting.Blank("a", 80, 60, 3, turns=(0, 180))], fixed=[fixed]).to_dict()
    del document["id"]
    assert document["fixed"] == [fixed | {"at": [50, 60], "turn": 0, "angle": 0.0}]
    for change in ({"at": [50 + 1 / 8000, 60]}, {"turn": 180}, {"sheet": "t"}, {"angle": 0.5}):
        faults = nesting.check(nesting.Plan.from_dict(document | {"fixed": [document["fixed"][0] | change]}))
        assert [f.code for f in faults] == ["fixed"], change
    twice = nesting.check(nesting.Plan.from_dict(document | {"fixed": document["fixed"] * 2}))
    assert [f.code for f in twice] == ["fixed"]
    unknown = nesting.check(nesting.Plan.from_dict(document | {"fixed": [document["fixed"][0] | {"blank": "zz"}]}))
    assert [f.code for f in unknown] == ["unknown"]
    for damage in ({"size": 3}, {"turn": 45}, {"at": [1]}, {"sheet": 4}):
        with pytest.raises(InputError, match="fixed"):
            nesting.Plan.from_dict(document | {"fixed": [document["fixed"][0] | damage]})


def test_chosen_pieces_of_one_sheet_on_two_copies_are_a_fault():
    sheet, blank = nesting.Sheet.rectangle("s", 100, 60, count=2), nesting.Blank("a", 50, 60, 4, turns=(0,))
    plan = nesting.plan([sheet], [blank])
    one = nesting.plan([sheet], [nesting.Blank("a", 50, 60, 1, turns=(0,))], fixed=[{"sheet": "s", "blank": "a", "at": (50, 0)}])
    left = {"sheet": "s", "blank": "a", "at": [0, 0], "turn": 0, "angle": 0.0}
    document = plan.to_dict() | {"fixed": [left, left | {"at": [50, 0]}]}
    del document["id"]
    assert not nesting.check(nesting.Plan.from_dict(document))
    # the same two places, each on a copy of its own: a plan cut from one of them only, twice
    half = one.to_dict()["layouts"][0]
    other = nesting.plan([sheet], [nesting.Blank("a", 50, 60, 1, turns=(0,))], fixed=[left]).to_dict()["layouts"][0]
    for layout in (half, other):
        layout["copies"] = 1
    for offcut, name in ((o, f"s-{x}") for layout, x in ((half, "a"), (other, "b")) for o in layout["offcuts"]):
        offcut["id"] = name
    document |= {"layouts": [half, other], "short": {"a": 2}}
    codes = [f.code for f in nesting.check(nesting.Plan.from_dict(document))]
    assert codes.count("fixed") == 1
