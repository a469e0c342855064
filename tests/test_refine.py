"""Refinement: the same answers compiled and plain, coarse and fine, with a memory of any size."""

from __future__ import annotations

import os
import random
import subprocess
import sys

import nesting
from nesting.layouts import Piece, leaves
from nesting.search.budget import Budget
from nesting.search.sheet import refine
from nesting.search.sheet.single import Single
from tests.piles import salvaged

WITHOUT_COMPILER = """
import nesting
from nesting.search.budget import Budget
from nesting.search.sheet.single import Single
from tests.test_refine import sliver
print(Single(*sliver()).best([15, 8], Budget(600, None), 10**6))
"""


def sliver():
    """A small sheet whose slanted edge keeps the exact grid from being used."""
    outline = [(0, 0), (12, 0), (12, 9), (5, 9.001), (0, 9)]
    sheet = nesting.Sheet.from_mm("s", outline, bad=[[(3, 3), (4, 3), (4, 4), (3, 4)]])
    return sheet, [nesting.Blank("a", 5, 3), nesting.Blank("b", 4, 2)], None, "square"


def test_the_compiled_refinement_is_its_plain_twin():
    plain = subprocess.run([sys.executable, "-c", WITHOUT_COMPILER], env={**os.environ, "NUMBA_DISABLE_JIT": "1"},
                           capture_output=True, text=True, check=True)  # fmt: skip
    here = Single(*sliver()).best([15, 8], Budget(600, None), 10**6)
    assert repr(here.tree) in plain.stdout
    assert f"value={here.value}, bound={here.bound}" in plain.stdout


def found_on(seed: int, blanks, values):
    single = Single(salvaged(f"s{seed}", random.Random(seed)), blanks, None, "square")
    found = single.best(values, Budget(600, None), 10**7)
    place = found.ground
    assert place is not None
    pieces = [leaf for leaf in leaves(found.tree) if isinstance(leaf, Piece)] if found.tree else []
    assert all(place.fits(leaf.box) for leaf in pieces)
    return found


def test_small_memory_and_other_grains_change_no_answer(monkeypatch):
    blanks = [nesting.Blank("a", 130, 95), nesting.Blank("b", 170, 120)]
    values = [130 * 95, 170 * 120]
    for seed in range(6):
        usual = found_on(seed, blanks, values)
        assert usual.value == usual.bound
        for rows, grains in ((256, refine.GRAINS), (refine.ROWS, (900, 7, 1)), (refine.ROWS, (1,))):
            monkeypatch.setattr(refine, "ROWS", rows)
            monkeypatch.setattr("nesting.search.sheet.closing.GRAINS", grains)
            assert (found_on(seed, blanks, values).value, usual.bound) == (usual.value, usual.bound)
            monkeypatch.undo()


def test_used_up_steps_leave_a_true_limit():
    blanks = [nesting.Blank("a", 100, 70)]
    for seed in range(12):
        full = found_on(seed, blanks, [1])
        single = Single(salvaged(f"s{seed}", random.Random(seed)), blanks, None, "square")
        few = single.best([1], Budget(600, None), 40)
        assert few.value <= full.value <= few.bound
