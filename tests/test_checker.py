"""The checker: each fault of its own, exact to a tick, and no fault in sound plans (design.md sections 3 and 4)."""

from __future__ import annotations

import random
from dataclasses import replace
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

import nesting
from nesting.blanks import Blank
from nesting.cutters import Cutter
from nesting.documents import with_id
from nesting.layouts import Areas, Cut, Layout, Node, Piece
from nesting.plans import Plan
from nesting.sheets import Sheet
from tests.builder import across, layout, placed, plan, up
from tests.judged import TICK, codes, says, slanted
from tests.strategies import plans


def test_the_tiny_plan_is_sound(tiny: Plan, document: dict[str, Any]) -> None:
    assert nesting.check(tiny) == ()
    assert nesting.check(with_id(tiny)) == ()
    assert document["short"] == {"cover": 1} and document["bound"]["achieved"] == 4800


def test_a_fault_says_where_and_what_in_a_sentence(document: dict[str, Any], faults: Any) -> None:
    document["blanks"][0]["turns"] = [0]
    (found,) = faults(document)
    assert found.code == "turn" and found.where == "layout 1 (sheet s), piece 2 (cover)"
    assert found.text == "It is turned by 90 degrees; cover may be turned by 0."


def test_one_tick_over_a_slanted_edge_is_found() -> None:
    assert nesting.check(slanted()) == () and nesting.check(slanted(-1)) == ()
    assert codes(nesting.check(slanted(1))) == {"outside"}


@pytest.mark.parametrize("axis", [0, 1])
def test_one_tick_over_a_straight_edge_is_found(document: dict[str, Any], faults: Any, axis: int) -> None:
    for corner in document["layouts"][0]["pieces"][0]["corners"]:
        corner[axis] -= TICK
    assert {"outside", "pieces"} == codes(faults(document))


@pytest.mark.parametrize("field", ["holes", "bad"])
def test_damage_may_be_touched_and_not_overlapped(variant: Any, field: str) -> None:
    """A patch over the left offcut whose lower edge lies on the upper edge of the first piece."""

    def patch(y: float) -> dict[str, Any]:
        return {field: [[(10, y), (20, y), (20, 45), (10, 45)]], "count": 3}

    assert nesting.check(variant(sheet=patch(30))) == ()
    assert codes(nesting.check(variant(sheet=patch(30 - TICK)))) == {"damage"}


def test_a_piece_that_lies_all_within_damage_is_found(variant: Any) -> None:
    assert codes(nesting.check(variant(sheet={"bad": [[(-5, -5), (45, -5), (45, 35), (-5, 35)]]}))) == {"damage"}


def test_the_inset_is_a_true_distance_to_edges_and_damage(variant: Any) -> None:
    """A triangle with sides 3, 4, 5 between the corners of a piece and a bad area; pieces 5 mm off the edges."""
    cuts = across(5, "shavings", up(5, "shavings", across(45, up(35, ("cover", 0), "shavings"), "offcut")))
    bad = [[(48, 39), (60, 39), (60, 60), (48, 60)]]
    assert nesting.check(variant(cuts, sheet={"inset": 5, "bad": bad})) == ()
    assert codes(nesting.check(variant(cuts, sheet={"inset": 5 + TICK, "bad": bad}))) == {"inset"}
    hole = [[(48, 39), (59, 39), (59, 59), (48, 59)]]
    assert nesting.check(variant(cuts, sheet={"inset": 5, "holes": hole})) == ()
    nearer = [[(48 - TICK, 39), (60, 39), (60, 60), (48 - TICK, 60)]]
    assert codes(nesting.check(variant(cuts, sheet={"inset": 5, "bad": nearer}))) == {"inset"}


def test_pieces_apart(document: dict[str, Any], faults: Any) -> None:
    for corner in document["layouts"][0]["pieces"][1]["corners"]:
        corner[0] -= TICK
    assert codes(faults(document)) == {"overlap", "pieces"}


def test_a_gutter_between_pieces(variant: Any) -> None:
    """Pieces 40 mm and 42 mm from the left, 2 mm apart; or one above the other but to the side."""
    second = across(42, "shavings", across(82, up(30, ("cover", 0), "offcut"), "shavings"))
    beside = across(40, up(30, ("cover", 0), "shavings"), second)
    assert nesting.check(variant(beside, cutter=Cutter(gutter=2))) == ()
    assert codes(nesting.check(variant(beside, cutter=Cutter(gutter=2.001)))) == {"gutter"}
    assert codes(nesting.check(variant(cutter=Cutter(gutter=1)))) == {"gutter"}


def test_size_to_a_tick(document: dict[str, Any], faults: Any) -> None:
    document["blanks"][0]["height"] = 30 + TICK
    assert "size" in codes(faults(document))


@pytest.mark.parametrize(("sheet", "turns", "sound"), [("x", (0,), True), ("y", (0,), False), (None, (0,), False)])
def test_grain_is_hard_and_an_unknown_grain_is_no_grain(variant: Any, sheet: Any, turns: Any, sound: bool) -> None:
    cuts = across(40, up(30, ("cover", 0), "offcut"), "offcut")
    found = nesting.check(variant(cuts, sheet={"grain": sheet}, blank={"grain": "x"}))
    assert codes(found) == (set() if sound else {"grain"})
    assert codes(nesting.check(variant(blank={"grain": "x"}))) == {"grain"}  # its second piece is turned across


@pytest.mark.parametrize(("rule", "turn", "sheet", "sound"), [
    ("+y", 0, "+y", True), ("+y", 180, "+y", False), ("+y", 180, "-y", True), ("+y", 0, None, True), ("+x", 180, "-x", True),
    ("-y", 180, "+y", True), ("+x", 0, "+y", False)])  # fmt: skip
def test_the_print_stands_as_the_blank_wants_it(variant: Any, rule: str, turn: int, sheet: Any, sound: bool) -> None:
    cuts = across(40, up(30, ("cover", turn), "offcut"), "offcut")
    found = nesting.check(variant(cuts, sheet={"up": sheet}, blank={"up": rule, "turns": (0, 180)}))
    assert codes(found) == (set() if sound else {"up"})


def test_a_quarter_turn_takes_the_print_along_counter_clockwise(variant: Any) -> None:
    """What points right before the turn points up after 90 degrees, and down after 270."""
    for turn, sheet in ((90, "+y"), (270, "-y")):
        cuts = across(30, up(40, ("cover", turn), "shavings"), "offcut")
        assert nesting.check(variant(cuts, sheet={"up": sheet}, blank={"up": "+x", "turns": (90, 270)})) == ()
        assert codes(nesting.check(variant(cuts, sheet={"up": sheet}, blank={"up": "-x", "turns": (90, 270)}))) == {"up"}


@pytest.mark.parametrize("rule", ["grain", "up"])
def test_a_frame_may_be_ten_degrees_off_grain_and_print(rule: str) -> None:
    for angle, expected in ((10.0, set()), (10.5, {rule})):
        sheet = Sheet.rectangle("s", 200, 200, grain="x", up="+y")
        blank = Blank("cover", 40, 30, **{rule: {"grain": "x", "up": "+y"}[rule]})  # type: ignore[arg-type]
        cuts = across(100, "shavings", across(140, up(60, "shavings", up(90, ("cover", 0), "offcut")), "shavings"))
        assert codes(nesting.check(plan([sheet], [blank], [layout(sheet, cuts, frame_deg=angle)]))) == expected


def test_material(variant: Any) -> None:
    assert nesting.check(variant(sheet={"material": "card"}, blank={"material": "card"})) == ()
    assert codes(nesting.check(variant(sheet={"material": "card"}, blank={"material": "folio"}))) == {"material"}
    assert codes(nesting.check(variant(blank={"material": "folio"}))) == {"material"}


def test_pieces_stay_clear_of_edges_that_are_not_true(variant: Any) -> None:
    cutter = Cutter(square_up=3)
    assert nesting.check(variant(cutter=cutter)) == ()
    found = nesting.check(variant(sheet={"true_edges": (1, 2)}, cutter=cutter))
    assert codes(found) == {"untrue"} and len(found) == 3  # the left edge touched by one piece, the bottom by both
    cuts = across(3, "shavings", up(3, "shavings", across(43, up(33, ("cover", 0), "offcut"), "offcut")))
    assert nesting.check(variant(cuts, sheet={"true_edges": ()}, cutter=cutter)) == ()
    assert codes(nesting.check(variant(cuts, sheet={"true_edges": ()}, cutter=Cutter(square_up=3 + TICK)))) == {"untrue"}


def test_cuts_run_edge_to_edge(document: dict[str, Any], faults: Any) -> None:
    tree = document["layouts"][0]["tree"]
    tree["at"] = 41
    assert codes(faults(document)) == {"tree"}
    tree["at"], tree["low"]["box"][2] = 40, 39
    assert "tree" in codes(faults(document))


def test_a_cut_lies_inside_what_it_divides(variant: Any, document: dict[str, Any], faults: Any) -> None:
    tree = document["layouts"][0]["tree"]
    tree.update(at=100, low={**tree["low"], "box": [0, 0, 100, 60]}, high={"box": [100, 0, 100, 60], "shavings": True})
    found = faults(document)
    assert says(found, "cut at 100 mm does not lie between the edges") and says(found, "no size: its box is 100 mm to 100 mm")


def test_the_cuts_start_from_the_whole_sheet(document: dict[str, Any], faults: Any) -> None:
    document["layouts"][0]["tree"] = document["layouts"][0]["tree"]["low"]
    found = faults(document)
    assert {"tree", "pieces", "offcut"} <= codes(found)


def test_the_list_of_pieces_is_that_of_the_cuts(document: dict[str, Any], faults: Any) -> None:
    pieces = document["layouts"][0]["pieces"]
    pieces.reverse()
    assert codes(faults(document)) == {"pieces"}
    pieces.reverse()
    corners = pieces[0]["corners"]
    corners[:] = corners[2:] + corners[:2]  # half a turn that its label denies
    assert codes(faults(document)) == {"pieces"}
    del pieces[0]
    assert {"pieces", "short", "area", "bound"} == codes(faults(document))


def test_corners_that_are_no_rectangle(document: dict[str, Any], faults: Any) -> None:
    document["layouts"][0]["pieces"][0]["corners"] = [[0, 0], [40, 0], [40, 30], [0, 0]]
    assert codes(faults(document)) == {"pieces"} and says(faults(document), "not those of a blank turned by 0 degrees")


def test_frames(document: dict[str, Any], faults: Any) -> None:
    document["bound"]["frames_deg"] = [1.0]
    assert codes(faults(document)) == {"frame"}
    document["bound"]["frames_deg"] = [0.0, 46.0]
    assert codes(faults(document)) == {"frame"}
    document["bound"]["frames_deg"] = [0.0]
    document["layouts"][0]["origin"] = [TICK, 0]
    assert "frame" in codes(faults(document))
    document["layouts"][0].update(origin=[0, 0], frame_deg=-45.0)
    assert codes(faults(document)) == {"frame"}


def test_a_turned_frame_is_right_to_a_tick(variant: Any) -> None:
    sheet = Sheet.rectangle("s", 200, 200)
    cuts = across(100, "shavings", across(140, up(60, "shavings", up(90, ("cover", 0), "offcut")), "shavings"))
    out = plan([sheet], [Blank("cover", 40, 30)], [layout(sheet, cuts, frame_deg=20.0, origin=(12345, -678))])
    assert nesting.check(out) == ()
    document = out.to_dict()
    for corner in document["layouts"][0]["pieces"][0]["corners"]:
        corner[0] = round(corner[0] / TICK + 4) / 8000
    assert codes(nesting.check(Plan.from_dict(document))) == {"pieces"}


def test_a_deep_tree_is_judged_like_any_other() -> None:
    """A strip cut 20,000 times; and one of its pieces with another name."""
    count = 20_000
    sheet, blank = Sheet.rectangle("s", count, 100), Blank("slip", 1, 100, turns=(0,))
    boxes = [(i * 8000, 0, (i + 1) * 8000, 800_000) for i in range(count)]
    tree: Node = Piece(boxes[-1], "slip", 0)
    for box in reversed(boxes[:-1]):
        tree = Cut((box[0], 0, boxes[-1][2], 800_000), "x", box[2], Piece(box, "slip", 0), tree)
    pieces = tuple(placed("slip", 0, box, 0.0, (0, 0)) for box in boxes)
    whole = Layout("s", 1, 0.0, (0, 0), tree, pieces, (), Areas(sheet.area2, sheet.area2, 0, 0))
    out = plan([sheet], [blank], [whole])
    assert nesting.check(Plan.from_dict(out.to_dict())) == ()
    wrong = replace(whole, pieces=(*pieces[:-1], replace(pieces[-1], turn=180)))
    assert codes(nesting.check(replace(out, layouts=(wrong,)))) == {"pieces", "turn"}


@settings(max_examples=1000, deadline=None, derandomize=True)
@given(plans())
def test_random_sound_plans_have_no_fault(found: Plan) -> None:
    assert nesting.check(found) == ()


@settings(max_examples=100, deadline=None, derandomize=True)
@given(plans(frames=(0.0,), cut=True), st.integers(0, 2**32))
def test_a_piece_moved_by_a_tick_is_found(found: Plan, seed: int) -> None:
    rng = random.Random(seed)
    document = found.to_dict()
    piece = rng.choice(rng.choice(document["layouts"])["pieces"])
    axis, step = rng.randrange(2), rng.choice((-1, 1))
    for corner in piece["corners"]:
        corner[axis] = (round(corner[axis] * 8000) + step) / 8000
    assert "pieces" in codes(nesting.check(Plan.from_dict(document)))
