"""Edges of the search: blanks that fit nowhere, real signals, goals set while pieces are out, cheap plans that stay short."""

from __future__ import annotations

import random
import subprocess
import sys

import numpy as np
import pytest

import nesting
from nesting.search.arguments import checked_blanks, checked_sheets
from nesting.search.budget import Budget
from nesting.search.pile.columns import Pool, classes_of
from nesting.search.recreate import loops, on_kinds
from nesting.search.recreate.recreating import Recreation
from nesting.search.sheet.filling import counted

UNENDING = nesting.Sheet.rectangle("a", 100, 100, count=None)


@pytest.mark.parametrize("odd", [nesting.Blank("r", 200, 20, 1), nesting.Blank("r", 40, 40, 3, material="card")])
@pytest.mark.parametrize("sheets", [[UNENDING], [nesting.Sheet.rectangle("a", 100, 100, count=3),
                                                 nesting.Sheet.rectangle("b", 60, 60, count=3)]])  # fmt: skip
def test_a_blank_that_fits_nowhere_stays_short_and_changes_nothing_else(odd, sheets):
    blanks = [nesting.Blank("p", 50, 50, 3), nesting.Blank("q", 40, 40, 3)]
    alone = nesting.plan(sheets, blanks, seconds=3)
    found = nesting.plan(sheets, [*blanks, odd], seconds=3)
    assert dict(found.short) == {"p": 0, "q": 0, "r": odd.quantity}
    assert found.sheets_used() == alone.sheets_used()
    assert nesting.check(found) == ()


def test_fewer_sheets_may_be_aimed_at_while_pieces_are_out():
    tried = 0
    for seed in range(30):
        rng = random.Random(seed)
        blanks = checked_blanks([nesting.Blank(f"b{i}", rng.randint(15, 60), rng.randint(15, 60), 2) for i in range(15)])
        search = Recreation(UNENDING, UNENDING.box, blanks, [2] * 15, seed)
        search._begin()
        search.aim(search.sheets - 2)
        search._block()
        search.aim(search.sheets - 1)
        out = list(search._out[: search._left_out])
        placed = sum(sum(counted(tree, blanks)) for tree in search._trees())
        assert len(set(out)) == len(out)
        assert placed + len(out) == 30
        tried += search._left_out > 0
    assert tried > 10


def test_what_stays_short_is_made_from_the_cheapest_sheets():
    sheets = [nesting.Sheet.rectangle(name, side, side) for name, side in (("A", 100), ("B", 40), ("C", 90))]
    found = nesting.plan(sheets, [nesting.Blank("P", 100, 100, 2), nesting.Blank("Q", 40, 40, 1)], seconds=2)
    assert dict(found.short) == {"P": 1, "Q": 0}
    assert found.sheets_used() == {"A": 1, "B": 1}


def test_progress_of_fill_is_in_the_worths_of_the_job():
    steps = []
    blanks = [nesting.Blank("p", 30, 20, 2, worth=0.25), nesting.Blank("q", 50, 40, 3, worth=0.75)]
    found = nesting.fill(nesting.Sheet.rectangle("a", 200, 160), blanks, progress=steps.append)
    assert found.worth == 2.75
    assert [s.value for s in steps if s.stage == "layout"][-1] == 2.75


INTERRUPTED = """
import os, random, signal, threading
import nesting
rng = random.Random(3)
blanks = [nesting.Blank(f"b{i}", rng.randint(15, 60), rng.randint(15, 60), rng.randint(1, 2)) for i in range(30)]
sheets = [nesting.Sheet.rectangle("a", 100, 100, count=None), nesting.Sheet.rectangle("b", 120, 80, count=None),
          nesting.Sheet.rectangle("c", 70, 90, count=None)][:KINDS]
told = []
def tell(step):
    if step.stage in ("stock cost", "sheets needed") and not told:
        told.append(step)
        threading.Timer(0.5, lambda: os.kill(os.getpid(), signal.SIGINT)).start()
found = nesting.plan(sheets, blanks, seconds=30, progress=tell)
assert found.bound.stopped_by in ("interrupt", "proof"), found.bound
assert not any(n for _, n in found.short) and nesting.check(found) == ()
print("kept")
"""


@pytest.mark.parametrize("kinds", [1, 3])
def test_a_real_interrupt_keeps_the_best_so_far(kinds):
    done = subprocess.run([sys.executable, "-c", INTERRUPTED.replace("KINDS", str(kinds))], capture_output=True, text=True,
                          timeout=120, check=False)  # fmt: skip
    assert done.stdout == "kept\n", done.stderr


def arrays_of(search):
    return {name: value.tolist() for name, value in vars(search).items() if isinstance(value, np.ndarray)}


def test_whole_rounds_and_their_plain_twins_do_the_same(monkeypatch):
    rng = random.Random(2)
    sides = [(rng.randint(15, 60), rng.randint(15, 60)) for _ in range(8)]
    blanks = checked_blanks([nesting.Blank(f"b{i}", *s, 2, turns=(0, 90)) for i, s in enumerate(sides)])
    sheets = checked_sheets([nesting.Sheet.rectangle("a", 100, 100, count=9), nesting.Sheet.rectangle("b", 80, 70, count=9)])
    pool = Pool(blanks, classes_of(sheets, blanks, None, "square", 1.0, Budget(60.0, None)))

    def run(plain):
        if plain:
            monkeypatch.setattr(loops, "rounds", loops.rounds.py_func)
            monkeypatch.setattr(on_kinds, "rounds_on_kinds", on_kinds.rounds_on_kinds.py_func)
        alike = Recreation(sheets[0], sheets[0].box, blanks, [2] * 8, 1)
        alike._begin()
        alike.aim(alike.sheets - 1)
        kinds = on_kinds.kinds_of(pool)
        several = on_kinds.Run(kinds, kinds.counts, on_kinds.NO_LIMIT, kinds.areas, 1, 50)
        several.lower_limit(several.cost() - 1)
        with np.errstate(over="ignore"):
            alike._block()
            several.advance(60)
        return arrays_of(alike), arrays_of(several), alike._left_out, several.left_out, several.price

    assert run(plain=False) == run(plain=True)
