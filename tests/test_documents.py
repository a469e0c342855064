"""The plan document: design.md's example, there and back, what is refused, and that no damage goes unseen."""

from __future__ import annotations

import json
import random
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

import nesting
from nesting.documents import digest, with_id
from nesting.errors import InputError
from nesting.plans import Plan
from tests.damage import damaged
from tests.damage_numbers import tables
from tests.damage_tools import copied
from tests.strategies import plans

EXAMPLE = """
{"document": "quirestock-plan", "version": 1, "unit": "mm",
 "stock": null, "cutter": null, "sets": null, "fixed": [], "exclude": [], "least_offcut": [80, 80],
 "sheets": [{"id": "s1", "outline": [[0,0],[420,0],[420,297],[0,297]], "holes": [], "zones": [], "count": 1, "grain": "x",
   "up": null, "true_edges": [], "inset": 0, "cost": 124740}],
 "blanks": [{"name": "cover", "width": 216, "height": 154, "quantity": 2, "turns": [0, 90], "grain": null, "up": null,
   "worth": 33264}],
 "layouts": [{"sheet": "s1", "copies": 1, "frame_deg": 0.0, "origin": [0,0],
   "tree": {"box": [0,0,420,297], "cut": "x", "at": 216,
     "low": {"box": [0,0,216,297], "cut": "y", "at": 154,
       "low": {"box": [0,0,216,154], "piece": "cover", "turn": 0},
       "high": {"box": [0,154,216,297], "offcut": "s1-a"}},
     "high": {"box": [216,0,420,297], "cut": "x", "at": 370,
       "low": {"box": [216,0,370,297], "cut": "y", "at": 216,
         "low": {"box": [216,0,370,216], "piece": "cover", "turn": 90},
         "high": {"box": [216,216,370,297], "offcut": "s1-b"}},
       "high": {"box": [370,0,420,297], "shavings": true}}},
   "pieces": [{"blank": "cover", "turn": 0, "corners": [[0,0],[216,0],[216,154],[0,154]]},
     {"blank": "cover", "turn": 90, "corners": [[370,0],[370,216],[216,216],[216,0]]}],
   "offcuts": [{"id": "s1-a", "count": 1, "outline": [[0,154],[216,154],[216,297],[0,297]]},
     {"id": "s1-b", "count": 1, "outline": [[216,216],[370,216],[370,297],[216,297]]}],
   "area_mm2": {"sheet": 124740, "pieces": 66528, "offcuts": 43362, "shavings": 14850}}],
 "short": {"cover": 0},
 "bound": {"sense": "least", "measure": "stock cost", "achieved": 124740, "limit": 124740, "proven": true, "scope": "frames",
   "frames_deg": [0.0], "stopped_by": "proof"},
 "made_with": {"version": "0.1.0", "aim": "least-stock", "seed": 0, "seconds": 10.0, "steps": null}}
"""


@pytest.fixture
def example() -> dict[str, Any]:
    """The example of design.md section 3."""
    out: dict[str, Any] = json.loads(EXAMPLE)
    return out


def test_the_example_passes_check_and_comes_back_equal(example: dict[str, Any]) -> None:
    plan = nesting.Plan.from_dict(example)
    assert nesting.check(plan) == ()
    assert plan.to_dict() == example
    assert nesting.Plan.from_dict(json.loads(json.dumps(plan.to_dict()))) == plan


def test_an_id_comes_back_and_belongs_to_the_content(example: dict[str, Any]) -> None:
    plan = with_id(Plan.from_dict(example))
    assert plan.id is not None and len(plan.id) == 16 and plan.id == digest(plan)
    assert plan.to_dict() == {**example, "id": plan.id} and Plan.from_dict(plan.to_dict()) == plan
    assert nesting.check(plan) == ()


def numbered(tables: list[dict[str, Any]]) -> list[tuple[int, str]]:
    return [(i, key) for i, table in enumerate(tables) for key in table]


@pytest.mark.parametrize(("index", "key"), numbered(tables(json.loads(EXAMPLE))))
def test_every_field_is_needed_and_named_when_missing(example: dict[str, Any], index: int, key: str) -> None:
    table = tables(example)[index]
    kind = next((k for k in ("cut", "piece", "offcut", "shavings") if k in table), None)
    del table[key]
    with pytest.raises(InputError) as caught:
        Plan.from_dict(example)
    # without its kind a node is told apart by what is left
    assert repr(key) in str(caught.value) or key == kind


@pytest.mark.parametrize("index", range(len(tables(json.loads(EXAMPLE)))))
def test_an_unknown_field_is_refused_by_name(example: dict[str, Any], index: int) -> None:
    tables(example)[index]["colour"] = "blue"
    with pytest.raises(InputError, match="unknown field 'colour'"):
        Plan.from_dict(example)


@pytest.mark.parametrize(("path", "value"), [
    (("document",), "plan"), (("version",), 2), (("version",), True), (("unit",), "in"), (("sheets",), {}), (("layouts",), "x"),
    (("short",), []), (("short", "cover"), 0.5), (("exclude",), [1]), (("least_offcut",), [80]), (("stock",), {"book": "a"}),
    (("sheets", 0, "outline"), [[0, 0], [1, 1]]), (("sheets", 0, "outline", 0), [0]), (("sheets", 0, "outline", 0, 0), "0"),
    (("sheets", 0, "outline", 0, 0), 0.00001), (("sheets", 0, "outline", 0, 0), float("inf")), (("sheets", 0, "count"), 0),
    (("sheets", 0, "grain"), "long"), (("sheets", 0, "zones"), [{"kind": "good", "outline": []}]),
    (("sheets", 0, "true_edges"), [4]), (("sheets", 0, "cost"), -1), (("blanks", 0, "width"), 0), (("blanks", 0, "width"), 1e-5),
    (("blanks", 0, "quantity"), 0), (("blanks", 0, "turns"), [45]), (("blanks", 0, "worth"), 0),
    (("layouts", 0, "copies"), 1.0), (("layouts", 0, "frame_deg"), None), (("layouts", 0, "tree", "box"), [0, 0, 1]),
    (("layouts", 0, "tree", "cut"), "z"), (("layouts", 0, "tree", "low"), None), (("layouts", 0, "pieces", 0, "turn"), 45),
    (("layouts", 0, "pieces", 0, "corners"), [[0, 0]]), (("layouts", 0, "offcuts", 0, "id"), 1),
    (("layouts", 0, "tree", "high", "high", "shavings"), False), (("layouts", 0, "area_mm2", "sheet"), "124740"),
    (("layouts", 0, "area_mm2", "sheet"), 124740.0000001), (("bound", "sense"), "best"), (("bound", "measure"), "sheets"),
    (("bound", "proven"), 1), (("bound", "achieved"), float("nan")), (("bound", "scope"), "all"),
    (("made_with", "aim"), "most-sheets"), (("made_with", "seed"), "0"), (("id",), 5)])  # fmt: skip
def test_a_value_that_cannot_be_is_refused(example: dict[str, Any], path: tuple[Any, ...], value: Any) -> None:
    place: Any = example
    for key in path[:-1]:
        place = place[key]
    place[path[-1]] = value
    with pytest.raises(InputError, match="expected"):
        Plan.from_dict(example)


@settings(max_examples=150, deadline=None, derandomize=True)
@given(plans())
def test_every_plan_comes_back_equal(plan: Plan) -> None:
    there = json.loads(json.dumps(with_id(plan).to_dict()))
    back = Plan.from_dict(there)
    assert back == with_id(plan) and back.to_dict() == there and nesting.check(back) == ()


@settings(max_examples=250, deadline=None, derandomize=True)
@given(plans(cut=True), st.integers(0, 2**32))
def test_a_thousand_damaged_documents_are_all_found(plan: Plan, seed: int) -> None:
    """Four damages to each plan, without an id that would give every change away."""
    rng = random.Random(seed)
    document = plan.to_dict()
    assert "id" not in document
    for _ in range(4):
        name, altered = damaged(document, rng)
        assert altered != document, name
        try:
            found = nesting.check(Plan.from_dict(altered))
        except InputError:
            continue
        assert found, f"not found: {name}"


@settings(max_examples=50, deadline=None, derandomize=True)
@given(plans(cut=True), st.integers(0, 2**32))
def test_with_an_id_any_change_is_found(plan: Plan, seed: int) -> None:
    document = with_id(plan).to_dict()
    _, altered = damaged(document, random.Random(seed))
    try:
        assert "id" in {fault.code for fault in nesting.check(Plan.from_dict(altered))}
    except InputError:
        return


ODD_NUMBERS = (0, -1, 1, 3, 2.5, -0.0, 100, 1e6, 1 / 8000, -45, 45.0, 46.5, 20_000_000, -20_000_000, 2**62, -(2**62), 1e300)


def alter(document: dict[str, Any], rng: random.Random) -> None:
    """One value somewhere in the document is replaced by another of its kind, or a list is stirred."""
    places: list[tuple[Any, Any]] = []
    stack: list[Any] = [document]
    while stack:
        holder = stack.pop()
        for key, value in holder.items() if isinstance(holder, dict) else enumerate(holder):
            places.append((holder, key))
            if isinstance(value, dict | list):
                stack.append(value)
    holder, key = rng.choice(places)
    value = holder[key]
    if isinstance(value, bool):
        holder[key] = not value
    elif isinstance(value, int | float):
        holder[key] = rng.choice(ODD_NUMBERS)
    elif isinstance(value, str):
        holder[key] = rng.choice([h[k] for h, k in places if isinstance(h[k], str)])
    elif isinstance(value, list) and value:
        stir = rng.randrange(4)
        if stir == 0:
            rng.shuffle(value)
        elif stir == 1:
            value.append(copied([rng.choice(value)])[0])
        elif stir == 2:
            value.pop(rng.randrange(len(value)))
        else:
            value.clear()


@settings(max_examples=200, deadline=None, derandomize=True)
@given(plans(cut=True), st.integers(0, 2**32))
def test_whatever_is_read_is_judged_without_an_error(plan: Plan, seed: int) -> None:
    rng = random.Random(seed)
    document = plan.to_dict()
    for _ in range(rng.choice((1, 1, 2, 5))):
        alter(document, rng)
    try:
        read = Plan.from_dict(document)
    except InputError:
        return
    assert all(fault.code and fault.where and fault.text.endswith(".") for fault in nesting.check(read))
