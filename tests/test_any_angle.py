"""Any angle: what is ruled out for a span of angles holds in each of its frames, and the claim is made only where true."""

from __future__ import annotations

import math
import random
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

import nesting
from nesting.layouts import to_frame
from nesting.search.budget import Budget
from nesting.search.sheet import any_angle as searched
from nesting.search.sheet.any_angle import any_angle
from nesting.search.sheet.ground import frames_for, ground
from nesting.search.sheet.paper_kernels import lowest_x
from nesting.search.sheet.single import Single
from nesting.search.sheet.turned_positions import positions, turning, widest
from tests.piles import salvaged
from tests.strategies import KINDS, some_sheet

MM = 8000


def moved(sheet: nesting.Sheet, degrees: float, mirrored: bool = False) -> nesting.Sheet:
    """The sheet turned about the origin, or first mirrored at the y axis."""
    c, s = math.cos(math.radians(degrees)), math.sin(math.radians(degrees))

    def seen(ring):
        points = [(-x if mirrored else x, y) for x, y in ring]
        return [(round(c * x - s * y) / MM, round(s * x + c * y) / MM) for x, y in points]

    return nesting.Sheet.from_mm(sheet.id, seen(sheet.outline), holes=[seen(h) for h in sheet.holes],
                                 bad=[seen(b) for b in sheet.bad], inset=sheet.inset / MM)  # fmt: skip


def box_at(degrees: float, width: float, height: float, **more) -> nesting.Sheet:
    return moved(nesting.Sheet.from_mm("s", [(0, 0), (width, 0), (width, height), (0, height)], **more), degrees)


@settings(max_examples=25, deadline=None)
@given(st.integers(0, 2**32), st.sampled_from(KINDS), st.sampled_from([0.0, 0.05, 0.7, 3.0, 8.0]))
def test_a_place_in_any_frame_of_a_span_is_among_its_positions(seed, kind, half):
    rng = random.Random(seed)
    sheet = some_sheet(rng, "s", kind, inset=rng.choice([0, 0, 1.5]), true_edges=rng.choice([(), "all", (0,)]))
    cutter = rng.choice([None, nesting.Cutter(square_up=3)])
    w, h = rng.randint(30 * MM, 150 * MM), rng.randint(30 * MM, 150 * MM)
    around = turning(sheet, cutter)
    mid, half = rng.uniform(-45, 45), min(half, widest(around, w, h))
    traps = positions(around, mid, half, [(w, h)])[0]
    for angle in (mid - half, mid + half, mid + rng.uniform(-half, half)):
        place = ground(sheet, angle, cutter)
        x0, y0, x1, y1 = place.usable
        cx, cy = (round(v) for v in to_frame(angle, (0, 0), *around.middle))
        for _ in range(60 if x1 - x0 >= w and y1 - y0 >= h else 0):
            x, y = rng.randint(x0, x1 - w), rng.randint(y0, y1 - h)
            if not place.fits((x, y, x + w, y + h)):
                continue
            dx, dy = rng.choice([(1, 0), (-1, 0), (0, 1), (0, -1)])
            step = 2**22
            while step:  # pushed against something
                a, b = x + dx * step, y + dy * step
                if place.fits((a, b, a + w, b + h)):
                    x, y = a, b
                step //= 2
            assert np.isfinite(lowest_x(traps, float(x - cx), float(x - cx), float(y - cy), float(y - cy))[0])


@settings(max_examples=6, deadline=None)
@given(st.integers(0, 2**32), st.sampled_from(KINDS), st.booleans())
def test_no_frame_of_a_fine_scan_holds_more_than_is_claimed(seed, kind, turning_blanks):
    rng = random.Random(seed)
    sheet = some_sheet(rng, "s", kind, inset=rng.choice([0, 0, 1.5]))
    turns = (0, 90) if turning_blanks else (0,)
    sizes = [(rng.randint(90, 200), rng.randint(90, 200)) for _ in range(rng.randint(1, 2))]
    blanks = [nesting.Blank(f"b{i}", w, h, turns=turns) for i, (w, h) in enumerate(sizes)]
    cutter = rng.choice([None, nesting.Cutter(square_up=3)])
    single, budget = Single(sheet, blanks, cutter, "square"), Budget(600, None)
    values = [w * h for w, h in sizes]
    found = any_angle(single, values, single.best(values, budget, 20_000), budget, 30_000)
    angles = [found.found.ground.frame_deg + d for d in (-0.3, 0.3)] + [-45 + 90 * (k + rng.random()) / 14 for k in range(14)]
    scanned = max(single.in_frame(angle, values, budget, 5_000).value for angle in angles if -45 <= angle <= 45)
    if found.shown:
        assert found.found.bound == found.found.value >= scanned


@pytest.mark.parametrize("degrees", [7.0, 30.0, -3.3, 44.9])
def test_four_squares_in_a_turned_square(degrees):
    sheet = box_at(degrees, 100.1, 100.1)
    blanks = [nesting.Blank("b", 50, 50)]
    assert nesting.fill(sheet, blanks, frames="square").worth < 4 * 2500
    found = nesting.fill(sheet, blanks, seconds=60)
    assert (found.worth, found.proven, found.scope) == (4 * 2500, True, "any angle")
    single, budget = Single(sheet, blanks, None, "square"), Budget(60, None)  # without a look at the edges
    met = any_angle(single, [1], single.best([1], budget), budget, 10**6)
    assert met.shown and met.found.value == 4
    assert abs(met.found.ground.frame_deg - degrees) < 0.2


def test_a_torn_strip_at_seven_degrees():
    rng = random.Random(7)
    across = [(20 * i, rng.uniform(0, 1)) for i in range(21)]
    strip = nesting.Sheet.from_mm("s", across + [(x, 82 - y) for x, y in reversed(across)])
    sheet, blanks = moved(strip, 7), [nesting.Blank("b", 130, 80)]
    assert abs(frames_for(sheet, "auto", False)[1] - 7) < 0.3  # no edge is long: the least box around it
    found = nesting.fill(sheet, blanks, seconds=60)
    assert (found.layout.counts(), found.scope) == ({"b": 3}, "any angle")
    assert not nesting.check(found.to_plan())
    with pytest.raises(nesting.ImpossibleJob):
        nesting.fill(sheet, blanks, frames="square")


def test_a_blank_longer_than_the_sheet_lies_askew():
    sheet = nesting.Sheet.from_mm("r", [(0, 0), (290, 0), (300, 5), (300, 200), (0, 200)])
    found = nesting.fill(sheet, [nesting.Blank("tag", 330, 20)], seconds=60)
    assert found.layout.counts() == {"tag": 2} and found.scope == "any angle"
    assert not nesting.check(found.to_plan())
    with pytest.raises(nesting.ImpossibleJob):
        nesting.fill(sheet, [nesting.Blank("tag", 330, 20)], frames="square")
    with pytest.raises(nesting.ImpossibleJob):
        nesting.fill(sheet, [nesting.Blank("tag", 361, 1)])  # the diagonal is 360.6 mm


def test_the_better_angle_is_taken_and_the_plan_says_any_angle():
    sizes = [(130, 95), (216, 154), (170, 120)]
    blanks = [nesting.Blank(f"{w} x {h}", w, h) for w, h in sizes]
    sheet = salvaged("s4", random.Random(4))
    square, found = nesting.fill(sheet, blanks, frames="square"), nesting.fill(sheet, blanks, seconds=60)
    assert square.proven and square.scope == "frames"
    assert found.worth > square.worth and found.scope == "any angle" and found.layout.frame_deg in found.frames_deg
    plan = found.to_plan()
    assert plan.bound.scope == "any angle" and not nesting.check(plan)
    assert nesting.Plan.from_dict(plan.to_dict()) == plan
    for bound in (replace(plan.bound, scope="all"), replace(plan.bound, scope="frames", frames_deg=(0.0,))):
        assert {fault.code for fault in nesting.check(replace(plan, bound=bound))} == {"frame"}
    askew = replace(plan.layouts[0], frame_deg=plan.layouts[0].frame_deg + 90)
    assert "frame" in {fault.code for fault in nesting.check(replace(plan, layouts=(askew,)))}


def counts(sheet: nesting.Sheet, sizes, frames) -> tuple[float, bool, str]:
    found = nesting.fill(sheet, [nesting.Blank(f"b{i}", w, h) for i, (w, h) in enumerate(sizes)], frames=frames, seconds=60)
    return found.worth, found.proven, found.scope


@pytest.mark.parametrize("seed", [0, 5, 7])
def test_turning_the_sheet_by_any_angle_changes_no_proven_count(seed):
    sheet = salvaged("s", random.Random(seed))
    here = counts(sheet, [(130, 95)], "auto")
    assert here[1:] == (True, "any angle")
    for degrees in (11.3, 38.0, 90.0, 200.7):
        assert counts(moved(sheet, degrees), [(130, 95)], "auto") == here


@pytest.mark.parametrize("frames", ["square", "auto"])
def test_quarter_turns_and_mirror_images_change_no_proven_count(frames):
    for seed in (1, 9):
        sheet, sizes = salvaged("s", random.Random(seed)), [(170, 120), (110, 90)]
        here = counts(sheet, sizes, frames)
        assert here[1]
        turned = [(h, w) for w, h in sizes]
        for degrees, mirrored, blanks in ((90, False, turned), (180, False, sizes), (0, True, sizes), (270, True, turned)):
            assert counts(moved(sheet, degrees, mirrored), blanks, frames) == here


def test_grain_keeps_the_angle_within_its_tolerance():
    square = box_at(30, 100.1, 100.1, grain="x")
    sheet = nesting.Sheet.from_mm("s", [(x / MM, y / MM) for x, y in square.outline], grain="x")
    found = nesting.fill(sheet, [nesting.Blank("b", 50, 50, grain="x")], seconds=60)
    assert abs(found.layout.frame_deg if found.layout else 0) <= 10
    assert found.worth < 4 * 2500


def test_quantities():
    sheet = salvaged("s5", random.Random(5))
    wanted = nesting.fill(sheet, [nesting.Blank("b", 130, 95, 2)])
    assert (wanted.proven, wanted.scope) == (True, "any angle")  # all that is wanted is made
    loose = nesting.fill(sheet, [nesting.Blank("b", 130, 95, 50)])
    assert (loose.worth, loose.scope) == (nesting.fill(sheet, [nesting.Blank("b", 130, 95)]).worth, "any angle")
    bound = nesting.fill(sheet, [nesting.Blank("b", 130, 95, 2), nesting.Blank("c", 60, 50)])
    assert bound.scope == "frames"


def test_no_claim_without_the_steps_or_the_angles_for_it():
    sheet, blanks = salvaged("s5", random.Random(5)), [nesting.Blank("b", 130, 95)]
    few = [nesting.fill(sheet, blanks, steps=300, seconds=60) for _ in range(2)]
    assert few[0] == few[1] and few[0].scope == "frames"
    assert nesting.fill(sheet, blanks, frames=[0, 3]).scope == "frames"
    assert nesting.fill(sheet, [nesting.Blank("b", 13, 9)], seconds=2).scope == "frames"  # hundreds of pieces


def test_an_interrupt_while_angles_are_tried_keeps_the_layout(monkeypatch):
    sheet, blanks = salvaged("s5", random.Random(5)), [nesting.Blank("b", 130, 95)]
    before = nesting.fill(sheet, blanks, frames="square")

    def stopped(*_):
        raise KeyboardInterrupt

    monkeypatch.setattr(searched, "positions", stopped)
    found = nesting.fill(sheet, blanks)
    assert (found.worth, found.scope, found.proven) == (before.worth, "frames", True)


def test_frames_of_its_own():
    assert frames_for(nesting.Sheet.rectangle("r", 300, 200), "auto", False) == (0.0,)
    assert frames_for(box_at(7, 300, 200), "auto", False) == pytest.approx((0.0, 7.0), abs=1e-3)
    assert frames_for(box_at(7, 300, 200), "square", False) == (0.0,)
    assert frames_for(box_at(30, 300, 200), "auto", True) == (0.0,)  # grain: too far
    assert len(frames_for(box_at(45, 300, 200), "auto", False)) == 2  # 45 and -45 degrees are the same frame
    skewed = nesting.Sheet.from_mm("s", [(0, 0), (300, 9), (310, 220), (5, 200)])
    assert 2 <= len(frames_for(skewed, "auto", False)) <= 4


def test_sheets_with_a_rectangular_outline_are_cut_square_to_it():
    """A blank that only fits askew has no place on a plain rectangle; damage within it changes no rule."""
    blank = nesting.Blank("tag", 330, 20)
    damaged = nesting.Sheet.from_mm("d", [(0, 0), (300, 0), (300, 200), (0, 200)], bad=[[(0, 0), (9, 0), (9, 9), (0, 9)]])
    for sheet in (nesting.Sheet.rectangle("r", 300, 200), damaged):
        with pytest.raises(nesting.ImpossibleJob):
            nesting.fill(sheet, [blank])
    plain, small = nesting.Sheet.rectangle("r", 100, 100), [nesting.Blank("b", 45, 9)]
    one, other = (nesting.fill(plain, small, frames=f) for f in ("auto", "square"))
    assert (one.worth, one.upper_bound) == (other.worth, other.upper_bound)
