"""Best areas on front panels: what a layout shows, the layout that shows most, and never a cover less for it."""

from __future__ import annotations

import itertools
import random
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from shapely import Polygon, box

import nesting
from nesting.layouts import to_sheet
from nesting.lengths import TICKS_PER_MM
from nesting.notebook.formats import Format
from nesting.search.sheet import shown_kernels
from nesting.search.sheet.ground import ground
from nesting.search.sheet.shown import Shown
from tests.builder import across, layout, plan, shown_mm2, up, with_quantity
from tests.judged import codes
from tests.piles import salvaged

TURNS = (0, 90, 180, 270)


def square(x: float, y: float, side: float) -> list[tuple[float, float]]:
    return [(x, y), (x + side, y), (x + side, y + side), (x, y + side)]


def rectangle(best, width=420, height=297, id="s", **more) -> nesting.Sheet:
    return nesting.Sheet.from_mm(id, [(0, 0), (width, 0), (width, height), (0, height)], best=best, **more)


def test_front_panel_of_a_cover_by_hand():
    # A6: 2 x 105 + 2 x 3 = 216 wide, 148 + 2 x 3 = 154 high; spine at 108; from there 105 to the trim; 3 off head and tail
    cover, card, folio = Format.make("A6", 105, 148).blanks(1)
    assert [v / TICKS_PER_MM for v in cover.front] == [108, 3, 213, 151]
    assert card.front is None and folio.front is None
    # trims head 4, tail 5, fore-edge 6; 2 slack all round: 2 x 100 + 12 + 4 = 216 by 150 + 9 + 4 = 163; spine at 108
    odd = Format.make("odd", 100, 150, head=4, tail=5, fore_edge=6, slack=2).blanks(1)[0]
    assert [odd.width / TICKS_PER_MM, odd.height / TICKS_PER_MM] == [216, 163]
    assert [v / TICKS_PER_MM for v in odd.front] == [108, 7, 208, 157]


def test_the_spine_takes_its_wrap_from_the_front():
    parts = {"folio_caliper": 0.1, "card_caliper": 0.3, "cover_caliper": 0.12, "folios": 30, "fore_edge": 5}
    bulky = Format.make("b", 90, 140, wrap="always", **parts)
    cover = bulky.blanks(1)[0]
    wrap = cover.width - 2 * (90 + 5) * TICKS_PER_MM  # what is added for the spine, half of it right of the middle
    assert wrap > 0
    assert cover.front[0] == -(-(cover.width + wrap) // 2)
    assert cover.front[2] == cover.width - 5 * TICKS_PER_MM
    bare = Format.make("b", 90, 140, wrap="no", **parts)
    narrow = bare.blanks(1)[0]
    assert narrow.front[2] - narrow.front[0] == 90 * TICKS_PER_MM  # the spine takes it all the same: less is left to trim
    assert narrow.front[0] == -(-(narrow.width + wrap) // 2)


@pytest.mark.parametrize("front", [[0, 0, 0, 10], [5, 0, 31, 10], [0, -1, 5, 5], [0, 0, 5], "whole", [4, 0, 3, 9]])
def test_a_front_outside_the_blank_is_refused(front):
    with pytest.raises(nesting.InputError, match="front"):
        nesting.Blank("b", 30, 20, front=front)


@pytest.mark.parametrize("turn", TURNS)
def test_front_after_each_turn(turn):
    blank = nesting.Blank("b", 30, 20, front=(18, 2, 29, 17))
    by_hand = {0: (18, 2, 29, 17), 90: (3, 18, 18, 29), 180: (1, 3, 12, 18), 270: (2, 1, 17, 12)}
    assert tuple(v / TICKS_PER_MM for v in blank.front_at(turn)) == by_hand[turn]


@settings(deadline=None)
@given(st.integers(0, 2**32))
def test_area_of_rings_in_boxes_is_what_shapely_says(seed):
    rng = random.Random(seed)
    middle = np.array([rng.uniform(10, 40), rng.uniform(10, 40)])
    star = [tuple(middle + rng.uniform(1, 12) * np.array([np.cos(a), np.sin(a)])) for a in np.linspace(0, 2 * np.pi, 9)[:-1]]
    weight = rng.choice([1.0, 0.5, 3.0])
    sheet = rectangle([(star, weight), square(rng.randint(0, 30), rng.randint(0, 30), rng.randint(1, 9))], 50, 50)
    shown = Shown(ground(sheet, 0.0, None), [nesting.Blank("b", 10, 8, front=(5, 1, 9, 8))])
    for turn, x, y in itertools.product((0, 180), (0, 80_001, 200_000), (0, 111_111)):
        a, b, c, d = shown.blanks["b"].front_at(turn)
        front = box(x + a, y + b, x + c, y + d)
        area = sum(z.weight * Polygon(z.outline).intersection(front).area for z in sheet.zones) / TICKS_PER_MM**2
        assert shown.of("b", turn, x, y) == pytest.approx(100 * area, abs=1.001)
        assert shown.of("b", turn, x, y) == shown.at("b", turn, [x], [y])[0, 0]


def test_kernels_and_their_plain_twins_agree():
    rng = random.Random(3)
    sheet = rectangle([([(rng.randint(0, 50), rng.randint(0, 50)), (90, rng.randint(10, 60)), (20, 70)], 2.0)], 100, 100)
    arrays = Shown(ground(sheet, 0.0, None), [])._all
    lines, free = np.array([0, 160_000, 333_333, 640_000]), np.array([[rng.random() < 0.7 for _ in range(4)] for _ in range(4)])
    front = np.array([3, 5, 200_000, 100_007])
    one, other = (f(*arrays, free, lines, lines, front) for f in (shown_kernels.covered_at, shown_kernels.covered_at.py_func))
    assert np.array_equal(one, other) and one.any()


@pytest.mark.parametrize("seed", range(12))
def test_one_piece_shows_as_much_as_at_any_whole_place(seed):
    rng = random.Random(seed)
    wide, high = rng.randint(9, 14), rng.randint(8, 12)
    places = [(rng.randint(0, wide - 4), rng.randint(0, high - 4), rng.randint(1, 4)) for _ in range(2)]
    best = [(square(*place), rng.choice([1.0, 2.0])) for place in places]
    bad = [square(rng.randint(0, wide - 2), rng.randint(0, high - 2), 1)] if seed % 2 else []
    w, h = rng.randint(4, 6), rng.randint(3, 5)
    blank = nesting.Blank("b", w, h, 1, turns=TURNS, front=(w // 2, 0, w, h - 1))
    sheet = rectangle(best, wide, high, bad=bad)
    found = nesting.fill(sheet, [blank], seconds=5)
    most = 0.0
    for turn in TURNS:
        tw, th = (v // TICKS_PER_MM for v in blank.size(turn))
        a, b, c, d = (v // TICKS_PER_MM for v in blank.front_at(turn))
        for x, y in itertools.product(range(wide - tw + 1), range(high - th + 1)):
            if not any(box(x, y, x + tw, y + th).intersection(Polygon(ring)).area for ring in bad):
                most = max(most, sum(q * Polygon(r).intersection(box(x + a, y + b, x + c, y + d)).area for r, q in best))
    assert found.layout.best_mm2 == pytest.approx(shown_mm2(sheet, found.layout, [blank]), abs=0.02)
    assert found.layout.best_mm2 >= most - 0.02
    assert nesting.check(found.to_plan()) == ()


@pytest.mark.parametrize("seed", range(6))
def test_two_pieces_show_as_much_as_at_any_pair_of_whole_places(seed):
    rng = random.Random(100 + seed)
    wide, high, w, h = 10, 7, 5, 3  # room for four: two are wanted
    best = [(square(rng.randint(0, wide - 3), rng.randint(0, high - 3), 3), q) for q in (1.0, 2.0)]
    blank = nesting.Blank("b", w, h, 2, turns=(0, 180), front=(3, 0, 5, 3))
    sheet = rectangle(best, wide, high)
    found = nesting.fill(sheet, [blank], seconds=5)
    places = []
    for turn, x, y in itertools.product((0, 180), range(wide - w + 1), range(high - h + 1)):
        a, b, c, d = (v // TICKS_PER_MM for v in blank.front_at(turn))
        front = box(x + a, y + b, x + c, y + d)
        places.append((sum(q * Polygon(r).intersection(front).area for r, q in best), x, y))
    pairs = [p + q for (p, x, y), (q, u, v) in itertools.combinations(places, 2) if abs(x - u) >= w or abs(y - v) >= h]
    assert found.worth == 2 * w * h
    assert found.layout.best_mm2 >= max(pairs) - 0.02


def test_a_cover_is_turned_by_half_only_where_it_may_and_shows_more():
    # the picture lies in the left half of a sheet of one cover's size: only a cover turned by half has its front there
    sheet = rectangle([square(20, 30, 60)], 216, 154)
    free, held = (nesting.Blank("c", 216, 154, turns=t, front=(108, 3, 213, 151)) for t in (TURNS, (0, 90)))
    assert [p.turn for p in nesting.fill(sheet, [free], seconds=2).layout.pieces] == [180]
    kept = nesting.fill(sheet, [held], seconds=2).layout
    assert ([p.turn for p in kept.pieces], kept.best_mm2) == ([0], 0)
    upright = rectangle([square(20, 30, 60)], 216, 154, up="+y")
    ruled = nesting.Blank("c", 216, 154, turns=TURNS, up="+y", front=(108, 3, 213, 151))
    assert [p.turn for p in nesting.fill(upright, [ruled], seconds=2).layout.pieces] == [0]


@pytest.mark.parametrize("seed", range(4))
def test_a_mirrored_sheet_shows_as_much(seed):
    rng = random.Random(seed)
    best = [square(rng.randint(0, 340), rng.randint(0, 220), rng.randint(30, 70)) for _ in range(2)]
    mirrored = [[(420 - x, y) for x, y in ring] for ring in best]
    # turned by half a cover's front changes sides as in the mirror; its trims there are alike
    blank = nesting.Blank("c", 216, 154, turns=TURNS, front=(108, 3, 213, 151))
    one, other = (nesting.fill(rectangle(b), [blank], seconds=2) for b in (best, mirrored))
    assert one.worth == other.worth
    assert one.layout.best_mm2 == pytest.approx(other.layout.best_mm2, rel=0.02, abs=1)


@settings(deadline=None, max_examples=8)
@given(st.integers(0, 2**32))
def test_never_a_cover_less_for_best_areas(seed):
    rng = random.Random(seed)
    bare = salvaged("s", rng)
    x, y, side = rng.randint(40, 300), rng.randint(40, 200), rng.randint(20, 80)
    best = nesting.sheets.Zone("best", tuple((a * TICKS_PER_MM, b * TICKS_PER_MM) for a, b in square(x, y, side)), 2.0)
    assume(Polygon(bare.outline).intersection(Polygon(best.outline)).area > 0)
    with_best = replace(bare, zones=(*bare.zones, best))
    limit = rng.choice([None, 1, 3])
    blanks = [nesting.Blank("c", 130, 95, limit, turns=TURNS, front=(65, 3, 127, 92)), nesting.Blank("d", 100, 70, limit)]
    frames = rng.choice(["square", [0, 4.5]])
    one, other = (nesting.fill(s, blanks, seconds=900, steps=5, frames=frames) for s in (bare, with_best))
    assert (one.worth, one.upper_bound) == (other.worth, other.upper_bound)
    assert nesting.check(other.to_plan()) == ()
    plan = other.to_plan()
    assert nesting.Plan.from_dict(plan.to_dict()) == plan


def test_the_checker_refuses_a_wrong_amount():
    sheet = rectangle([([(30, 30), (200, 40), (120, 190)], 1.5)])
    plan = nesting.fill(sheet, [nesting.Blank("c", 216, 154, front=(108, 3, 213, 151))], seconds=2).to_plan()
    assert nesting.check(plan) == () and plan.layouts[0].best_mm2 > 0
    for amount in (0, plan.layouts[0].best_mm2 + 0.02, plan.layouts[0].best_mm2 - 0.02, -1):
        assert codes(nesting.check(replace(plan, layouts=(replace(plan.layouts[0], best_mm2=amount),)))) == {"best"}
    unsaid = replace(plan, layouts=(replace(plan.layouts[0], best_mm2=None),))  # as in documents of before
    assert nesting.check(unsaid) == () and nesting.Plan.from_dict(unsaid.to_dict()) == unsaid
    other_way = replace(plan, sheets=(replace(sheet, zones=()),))
    assert codes(nesting.check(other_way)) == {"best"}


def test_a_panel_that_just_meets_a_best_area_in_a_turned_frame_may_have_been_rounded():
    origin, mm = (0, 0), TICKS_PER_MM
    edge = [to_sheet(20, origin, x * mm, y * mm) for x, y in ((100, 60), (140, 60), (140, 160), (100, 160))]
    sheet = nesting.Sheet.from_mm("s", [(0, 0), (300, 0), (300, 300), (0, 300)],
                                  best=[([(round(x) / mm, round(y) / mm) for x, y in edge], 1.0)])  # fmt: skip
    cuts = across(140 + 1 / mm, "shavings", across(200 + 1 / mm, up(60, "shavings", up(160, ("c", 0), "shavings")), "shavings"))
    found = layout(sheet, cuts, 1, 20.0, origin)
    for amount, faults in ((0, set()), (0.01, set()), (0.5, {"best"})):
        made = plan([sheet], [nesting.Blank("c", 60, 100)], [replace(found, best_mm2=amount)])
        assert codes(nesting.check(made)) == faults


COVER = {"turns": TURNS, "front": (108, 3, 213, 151)}


def total_shown(plan: nesting.Plan) -> float:
    return sum((layout.best_mm2 or 0) * layout.copies for layout in plan.layouts)


def test_of_equally_good_sheets_the_one_that_shows_is_cut():
    sheets = [rectangle([], 216, 154, "a"), rectangle([square(120, 20, 80)], 216, 154, "b"), rectangle([], 216, 154, "c")]
    plan = nesting.plan(sheets, [nesting.Blank("cover", 216, 154, 1, **COVER)], seconds=5)
    assert (plan.sheets_used(), total_shown(plan)) == ({"b": 1}, 6400)
    assert nesting.check(plan) == () and plan.bound.proven


def test_alike_sheets_stay_alike_and_surplus_is_what_shows_least():
    # 16 covers go on each of three alike sheets, 33 are wanted: of the third only the one that shows most is cut
    best = [square(40, 40, 60), square(600, 400, 50)]
    sheets = [rectangle(best, 880, 640, f"s{i}") for i in range(3)]
    plan = nesting.plan(sheets, [nesting.Blank("cover", 216, 154, 33, **COVER)], seconds=8, steps=40)
    assert plan.made() == {"cover": 33} and nesting.check(plan) == ()
    shown = sorted(layout.best_mm2 for layout in plan.layouts for _ in range(layout.copies))
    single = nesting.fill(sheets[0], [nesting.Blank("cover", 216, 154, 1, **COVER)], seconds=5).layout.best_mm2
    assert single == 3600 and min(shown) == 3600


def test_a_rate_trades_a_cover_for_the_picture_and_without_one_it_never_does():
    # two covers fill the sheet; the picture lies across their seam, and one cover in the middle has it on its front
    sheet = rectangle([square(174, 40, 80)], 432, 154)
    blank = nesting.Blank("cover", 216, 154, **COVER)
    never = nesting.plan([sheet], [with_quantity(blank, 9)], aim="most-worth", seconds=5)
    assert never.made() == {"cover": 2} and never.made_with.best_rate == 0 and never.bound.proven
    lost = 6400 - total_shown(never)
    assert lost > 0
    for rate, covers in ((0.9 * 33264 / lost, 2), (1.1 * 33264 / lost, 1)):
        plan = nesting.plan([sheet], [with_quantity(blank, 9)], aim="most-worth", seconds=5, best_rate=rate)
        assert plan.made() == {"cover": covers} and nesting.check(plan) == ()
        assert nesting.Plan.from_dict(plan.to_dict()) == plan and plan.made_with.best_rate == rate
        assert plan.bound.achieved == covers * 33264 and plan.bound.limit == 2 * 33264
    assert total_shown(plan) == 6400


def test_a_rate_takes_a_dearer_sheet_but_leaves_no_cover_unmade():
    sheets = [rectangle([], 216, 154, "plain", cost=1), rectangle([square(120, 20, 80)], 216, 154, "picture", cost=5)]
    blank = nesting.Blank("cover", 216, 154, 1, **COVER)
    for rate, used in ((0, "plain"), (0.9 * 4 / 6400, "plain"), (1.1 * 4 / 6400, "picture")):
        plan = nesting.plan(sheets, [blank], seconds=5, best_rate=rate)
        assert plan.sheets_used() == {used: 1} and plan.short == (("cover", 0),)
        assert plan.bound.limit == 1 and nesting.check(plan) == ()
    for wrong in (-1, float("nan"), "much"):
        with pytest.raises(nesting.InputError, match="best_rate"):
            nesting.plan(sheets, [blank], best_rate=wrong)


@settings(deadline=None, max_examples=4)
@given(st.integers(0, 2**32))
def test_a_pile_gives_no_cover_less_for_best_areas_and_the_same_for_more_workers(seed):
    rng = random.Random(seed)
    # no two alike: best areas would part them, and few steps would leave another limit
    bare = [rectangle([], rng.choice([300, 420]) + i, rng.choice([220, 297]), f"s{i}") for i in range(3)] + [salvaged("t", rng)]
    areas = [nesting.sheets.Zone("best", tuple((a * TICKS_PER_MM, b * TICKS_PER_MM) for a, b in square(60 + 9 * i, 70, 60)))
             for i in range(4)]  # fmt: skip
    with_best = [replace(s, zones=(*s.zones, z)) if i % 2 else s for i, (s, z) in enumerate(zip(bare, areas, strict=True))]
    blanks = [nesting.Blank("c", 130, 95, 7, turns=TURNS, front=(65, 3, 127, 92)), nesting.Blank("d", 100, 70, 4)]
    aim = rng.choice(["least-stock", "most-worth"])
    one, other, third = (nesting.plan(sheets, blanks, aim=aim, seconds=900, steps=10, workers=workers)
                         for sheets, workers in ((bare, 1), (with_best, 1), (with_best, 2)))  # fmt: skip
    assert (one.bound.achieved, one.bound.limit) == (other.bound.achieved, other.bound.limit)
    assert other == third and nesting.check(other) == ()


def test_the_summary_says_what_share_is_on_front_covers():
    from nesting.draw.fronts import best_lines

    blank = nesting.Blank("cover", 216, 154, **COVER)
    plan = nesting.fill(rectangle([square(120, 20, 80), square(20, 20, 40)], 216, 154), [blank], seconds=2).to_plan()
    assert best_lines(plan) == ["Of the best areas on the sheets cut, 80 % is on front covers."]  # 6400 of 8000 mm2
    weighted = nesting.fill(rectangle([(square(120, 20, 80), 3.0), square(20, 20, 40)], 216, 154), [blank], seconds=2).to_plan()
    assert best_lines(weighted) == ["Of the best areas on the sheets cut, 92 % (by weight) is on front covers."]  # 19200 / 20800
    assert best_lines(nesting.fill(rectangle([], 216, 154), [blank], seconds=2).to_plan()) == []
    old = replace(plan, layouts=(replace(plan.layouts[0], best_mm2=None),))
    assert best_lines(old) == []


def test_a_job_file_names_the_rate(tmp_path):
    from inventory.jobs import read_job

    path = tmp_path / "job.toml"
    path.write_text('best_rate = 1.5\n[[books]]\nformat = "A6"\nwanted = 2\n')
    assert read_job(path, "mm", {}).best_rate == 1.5
    path.write_text('[[books]]\nformat = "A6"\nwanted = 2\n')
    assert read_job(path, "mm", {}).best_rate == 0
    for wrong in ("-1", '"much"', "true", "inf"):
        path.write_text(f'best_rate = {wrong}\n[[books]]\nformat = "A6"\nwanted = 2\n')
        with pytest.raises(nesting.InputError, match="best_rate"):
            read_job(path, "mm", {})


def test_a_piece_chosen_beforehand_stays_where_it_is():
    sheet = rectangle([square(20, 20, 80), square(300, 40, 80)], 460, 154, "s")
    blank = nesting.Blank("cover", 216, 154, 2, **COVER)
    here = {"sheet": "s", "blank": "cover", "at": (0, 0), "turn": 0}
    plan = nesting.plan([sheet], [blank], aim="most-worth", seconds=5, fixed=[here])
    assert nesting.check(plan) == () and plan.made() == {"cover": 2}
    by_left = sorted(plan.layouts[0].pieces, key=lambda p: min(x for x, _ in p.corners))
    assert (by_left[0].turn, by_left[0].corners[0]) == (0, (0, 0))  # turned by half it would show the first area
    assert plan.layouts[0].best_mm2 > 0  # the other one shows what it can of the second
