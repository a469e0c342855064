"""The checker on what goes back to stock, and on areas: conserved exactly (design.md sections 3 and 7)."""

from __future__ import annotations

from typing import Any

import pytest

import nesting
from nesting.blanks import Blank
from nesting.plans import Plan
from nesting.sheets import Sheet
from tests.builder import across, layout, plan, up
from tests.judged import TICK, codes, says, slanted


def test_offcuts_are_what_the_cuts_leave(document: dict[str, Any], faults: Any) -> None:
    offcut = document["layouts"][0]["offcuts"][0]
    offcut["outline"][0][1] += TICK
    assert codes(faults(document)) == {"offcut"}


def edit_offcut(field: str, value: Any) -> Any:
    def edit(layout: dict[str, Any]) -> None:
        layout["offcuts"][0][field] = value

    return edit


ROUND = "does not run once round"


@pytest.mark.parametrize(("edit", "words"), [
    (edit_offcut("count", 1), "2 copies give 2"), (edit_offcut("id", "s-b"), "the plan lists 's-b'"),
    (edit_offcut("id", "t-aa"), "is named s-a, s-b"), (edit_offcut("id", "s-AA"), "is named s-a, s-b"),
    (edit_offcut("outline", []), ROUND), (edit_offcut("outline", [[0, 30], [0, 60], [40, 60], [40, 30]]), ROUND),
    (edit_offcut("outline", [[0, 30], [40, 60], [40, 30], [0, 60]]), ROUND), (edit_offcut("outline", [[0, 30], [40, 30]]), ROUND),
    (edit_offcut("outline", [[0, 30], [40, 30], [40, 60], [0, 45]]), "not what the cuts leave"),
    (edit_offcut("outline", [[0, 30], [20, 30], [20, 10], [20, 30], [40, 30], [40, 60], [0, 60]]), ROUND),
    (lambda layout: layout["offcuts"].pop(), "leave 2 offcuts, the plan lists 1"),
    (lambda layout: layout["offcuts"].reverse(), "not what the cuts leave")])  # fmt: skip
def test_a_wrong_offcut(document: dict[str, Any], faults: Any, edit: Any, words: str) -> None:
    edit(document["layouts"][0])
    found = faults(document)
    assert "offcut" in codes(found) and says(found, words)


def test_no_offcut_where_no_paper_is(document: dict[str, Any], faults: Any) -> None:
    document["sheets"][0]["outline"] = [[0, 0], [70, 0], [70, 59], [100, 59], [100, 60], [0, 60]]
    tree = document["layouts"][0]["tree"]["high"]["high"]
    box = tree.pop("box")
    tree.clear()
    tree.update(box=box, cut="y", at=59, low={"box": [70, 0, 100, 59], "offcut": "s-ab"},
                high={"box": [70, 59, 100, 60], "shavings": True})  # fmt: skip
    assert says(faults(document), "No paper is left")


def test_least_offcut_either_way_round(variant: Any) -> None:
    assert nesting.check(variant(least_offcut=(40, 30))) == ()
    assert nesting.check(variant(least_offcut=(30, 40))) == ()
    assert codes(nesting.check(variant(least_offcut=(40, 30 + TICK)))) == {"offcut"}


def notched(corners: list[list[float]]) -> Plan:
    """Two arms of paper over a notch: 30 wide on the left, 40 on the right; the upper part is an offcut."""
    sheet = Sheet.from_mm("s", [(0, 0), (100, 0), (100, 60), (60, 60), (60, 30), (30, 30), (30, 60), (0, 60)])
    cuts = up(30, across(40, ("cover", 0), "shavings"), "offcut")
    out = plan([sheet], [Blank("cover", 40, 30)], [layout(sheet, cuts)])
    document = out.to_dict()
    document["layouts"][0]["offcuts"][0]["outline"] = corners
    return Plan.from_dict(document)


def test_the_largest_part_goes_back_and_no_other() -> None:
    right, left = [[60, 30], [100, 30], [100, 60], [60, 60]], [[0, 30], [30, 30], [30, 60], [0, 60]]
    assert nesting.check(notched(right)) == ()
    found = nesting.check(notched(left))
    assert codes(found) == {"offcut"} and "not the largest part" in found[0].text
    assert codes(nesting.check(notched([[0, 30], [100, 30], [100, 60], [0, 60]]))) == {"offcut"}


@pytest.mark.parametrize("name", ["sheet", "pieces", "offcuts", "shavings"])
def test_areas_add_up_exactly(document: dict[str, Any], faults: Any, name: str) -> None:
    document["layouts"][0]["area_mm2"][name] += 2**-13
    assert codes(faults(document)) == {"area"}


def test_no_area_below_zero(document: dict[str, Any], faults: Any) -> None:
    areas = document["layouts"][0]["area_mm2"]
    areas["offcuts"], areas["shavings"] = areas["offcuts"] + areas["shavings"] + 1, -1
    assert says(faults(document), "below 0")


def test_areas_on_a_slanted_edge_are_those_of_the_outlines_given() -> None:
    """Rounding leaves the nominal area uncertain there, but not what the rounded corners enclose."""
    document = slanted().to_dict()
    areas = document["layouts"][0]["area_mm2"]
    areas["offcuts"] += 2**-13
    areas["shavings"] -= 2**-13
    found = nesting.check(Plan.from_dict(document))
    assert codes(found) == {"area"} and says(found, "outlines of the offcuts measure")


@pytest.mark.parametrize(("less", "more"), [("pieces", "shavings"), ("shavings", "offcuts"), ("offcuts", "pieces")])
def test_each_area_is_right_by_itself(document: dict[str, Any], faults: Any, less: str, more: str) -> None:
    areas = document["layouts"][0]["area_mm2"]
    areas[less] -= 2**-13
    areas[more] += 2**-13
    assert codes(faults(document)) == {"area"}
