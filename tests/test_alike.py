"""Sheets that are alike, given one by one: planned as one kind, said so, each under its own name."""

from __future__ import annotations

from dataclasses import replace

import nesting
from tests.piles import salvaged


def many(count, **more):
    import random

    one = replace(salvaged("a", random.Random(4)), **more)
    return [replace(one, id=f"s{i}") for i in range(count)]


def told(sheets, blanks, **more):
    lines = []
    done = nesting.plan(sheets, blanks, seconds=20, progress=lambda step: lines.append(step.text), **more)
    return done, [line for line in lines if "alike" in line]


def test_a_thousand_identical_sheets_are_one_kind_and_keep_their_names():
    sheets = many(1_000)
    done, lines = told(sheets, [nesting.Blank("b", 150, 120)], aim="most-worth", least_offcut=(40, 40))
    assert lines == ["1,000 sheets are alike: planned as one kind."]
    assert [x.sheet for x in done.layouts] == [s.id for s in sheets]
    offcuts = [o.id for x in done.layouts for o in x.offcuts]
    assert offcuts and len(set(offcuts)) == len(offcuts)
    assert all(o.id.startswith(f"{x.sheet}-") for x in done.layouts for o in x.offcuts)
    assert nesting.check(done) == ()
    # one sheet alone gives as many, and its offcuts are the same
    single = nesting.fill(sheets[0], [nesting.Blank("b", 150, 120)], seconds=5)
    assert done.made()["b"] == 1_000 * len(single.layout.pieces)


def test_some_alike_among_others():
    sheets = [*many(3), nesting.Sheet.rectangle("x", 300, 200), nesting.Sheet.rectangle("y", 310, 200)]
    _, lines = told(sheets, [nesting.Blank("b", 150, 95, 4)])
    assert lines == ["5 sheets, some of them alike: planned as 3 kinds."]


def test_nothing_is_said_where_no_two_are_alike():
    _, lines = told([*many(1), nesting.Sheet.rectangle("x", 300, 200)], [nesting.Blank("b", 150, 95, 4)])
    assert lines == []
