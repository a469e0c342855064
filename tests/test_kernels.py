"""Each compiled kernel against its plain Python twin on random input."""

from __future__ import annotations

import random

import numpy as np
import pytest

from nesting.search import kernels
from nesting.search.sheet import paper_kernels, place_table, size_table
from nesting.search.sheet.clear import ClearTable, Oriented


def twins(name: str, *arguments):
    function = next(getattr(m, name) for m in (kernels, paper_kernels, place_table, size_table) if hasattr(m, name))
    return function(*arguments), function.py_func(*arguments)


def equal(pair):
    one, other = pair
    assert np.array_equal(np.asarray(one), np.asarray(other))


def equal_rows(xs, ys, at_x, at_y, values, rate, spare):
    """The table of sizes in two strokes, compiled and plain: all that they write and tell."""
    results = []
    for function in (size_table.size_rows, size_table.size_rows.py_func):
        table = np.zeros((xs.size, ys.size), values.dtype)
        keep, parts = np.zeros((xs.size, 1), np.uint8), np.zeros(xs.size, np.int64)
        row, count, steps = function(table, xs, ys, at_x, at_y, values, rate, spare, keep, parts, 0, 0, 1)
        assert 0 < row < xs.size
        more = function(table, xs, ys, at_x, at_y, values, rate, spare, keep, parts, row, count, 10**9)
        assert more[0] == xs.size
        results.append([table, keep, parts, (row, count, steps), more])
    for one, other in zip(*results, strict=True):
        equal((one, other))


def random_paper(rng: random.Random):
    """Boundaries of a rectangle with a triangle of damage."""
    w, h = rng.randint(20, 60), rng.randint(20, 60)
    x, y = rng.randint(1, w - 12), rng.randint(1, h - 12)
    outline = [(0, 0), (w, 0), (w, h), (rng.randint(0, 9), h)]
    bad = [(x, y), (x + rng.randint(2, 10), y + 1), (x + 3, y + rng.randint(2, 10))]
    rows = [(*ring[i - 1], *ring[i], n) for n, ring in enumerate((outline, bad)) for i in range(len(ring))]
    return np.array(rows, np.int64), np.array([1, 0], np.int64), w, h


@pytest.mark.parametrize("seed", range(20))
def test_twins_agree(seed):
    rng = random.Random(seed)
    segments, rings, w, h = random_paper(rng)
    for inset in (0.0, 1.5):
        for _ in range(40):
            x, y = rng.randint(0, w - 2), rng.randint(0, h - 2)
            equal(twins("fits", x, y, x + rng.randint(1, 9), y + rng.randint(1, 9), segments, rings, inset))
    edges = np.array([(0.0, 0.0, 30.0, rng.uniform(0, 5)), (0.0, 9.0, 30.0, rng.uniform(6, 20)), (5.0, 3.0, 12.0, 4.0),
                      (5.0, 5.0, 12.0, 4.5)])  # fmt: skip
    traps = paper_kernels.trapezoids(edges, np.array([0.0, 5.0, 12.0, 30.0]))
    equal(twins("trapezoids", edges, np.array([0.0, 5.0, 12.0, 30.0])))
    xs = np.array([*sorted(rng.sample(range(1, 40), 9)), 40], np.int64)
    ys = np.array([0, *sorted(rng.sample(range(1, 30), 8))], np.int64)
    equal(twins("touched_cells", traps, xs, ys, 1.0))
    equal(twins("allowed_points", traps, xs, ys, 3, 2, segments, rings, 0.0, 1.0))
    equal(twins("lowest_x", traps, 2.0, 25.0, rng.uniform(0, 4), rng.uniform(5, 9)))
    for value in (0.0, 12.5, 40.0, 99.0):
        equal(twins("lines_below", xs, value))
        equal(twins("lines_up_to", xs, value))
    widths, heights = (np.array([rng.randint(2, 9) for _ in range(3)], np.int64) for _ in range(2))
    values = np.array([rng.randint(1, 50) for _ in range(3)], np.int64)
    sizes = np.arange(0, 24, dtype=np.int64)
    for kind in (np.int64, np.int32):
        at_x, at_y = np.searchsorted(sizes, widths), np.searchsorted(sizes[:17], heights)
        for spare in (3000.0, 40.0, 0.0):
            equal_rows(sizes, sizes[:17], at_x, at_y, values.astype(kind), float(np.max(values / (widths * heights))), spare)
    nx, ny = 9, 8
    allowed = np.array([[[rng.random() < 0.6 for _ in range(ny)] for _ in range(nx)] for _ in range(2)])
    ends_x = np.array([np.minimum(np.arange(nx) + rng.randint(1, 4), nx) for _ in range(2)])
    ends_y = np.array([np.minimum(np.arange(ny) + rng.randint(1, 4), ny) for _ in range(2)])
    for kind in (np.int64, np.int32):
        there = np.array([[[rng.randint(1, 50) for _ in range(ny)] for _ in range(nx)] for _ in range(2)], kind)
        equal(twins("placed_table", nx, ny, allowed, ends_x, ends_y, there))


def test_the_two_tables_agree_on_clear_paper():
    # every whole position allowed: the table between lines must give what the table of sizes gives
    size, width, height = 13, 4, 3
    lines = np.arange(size + 1)
    allowed = np.ones((1, size + 1, size + 1), np.bool_)
    ends = (lines + width)[None, :], (lines + height)[None, :]
    placed = place_table.placed_table(size + 1, size + 1, allowed, *ends, allowed.astype(np.int64))
    clear = ClearTable([Oriented(0, "b", 0, width, height)], [1], lines, lines)
    assert clear.run(0, None)
    for i in range(1, size + 1):
        for j in range(1, size + 1):
            assert placed[i - 1, 0, j] == clear.worth(i, j)


def test_compiling_is_told_of_once_and_loading_never(tmp_path, monkeypatch):
    import importlib.util

    from nesting.search.kernels import told_of_compiling

    (tmp_path / "tiny.py").write_text("import numba\n\n\n@numba.njit(cache=True)\ndef more(x):\n    return x + 1\n")
    said: list[str] = []

    def used() -> int:
        spec = importlib.util.spec_from_file_location("tiny", tmp_path / "tiny.py")
        assert spec is not None and spec.loader is not None
        module = importlib.util.module_from_spec(spec)
        spec.loader.exec_module(module)
        with told_of_compiling(said.append):
            return int(module.more(1)) + int(module.more(1.0))

    assert used() == 4 and len(said) == 1 and "once" in said[0]  # two compiled, one sentence
    assert used() == 4 and len(said) == 1
