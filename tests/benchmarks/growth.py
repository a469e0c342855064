"""How time and memory grow: pieces in a plan, the side of a sheet and the number of blanks in a fill.

    python -m tests.benchmarks.growth [--axis pieces|side|blanks] [--most N] [--cases 3] [--seed 0] [--plot FILE.svg]

Each figure is the median of some random instances; each instance runs alone in a process of its own, so that its peak
memory is its own (Python and the loaded libraries are in it: the line "nothing" says how much). Seconds are those of the
processor, after the compiled code is loaded. The exponent is the slope of a line through the logarithms by least squares,
over the points of which at most half of the instances were stopped by the clock ("late"); these show the limit, no growth.
"""

from __future__ import annotations

import argparse
import multiprocessing
import random
import resource
import statistics
import sys
import time
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np

import nesting
from nesting.search.kernels import warm
from nesting.search.recreate import recreating

SEED = 0
SIDE, BLANKS, STEPS = 1_000, 10, 20
LEAST, LARGEST = 0.05, 0.5  # of the sheet's side
POINTS = {
    "pieces": (20, 50, 100, 200, 500, 1_000, 2_000),
    "side": (100, 200, 500, 1_000, 2_000, 5_000, 10_000),
    "blanks": (1, 2, 5, 10, 20, 40),
}
TITLES = {
    "pieces": f"plan: different pieces on sheets of 100 x 100, {STEPS} steps",
    "side": f"fill: side of the sheet in units, {BLANKS} different blanks, any number of copies",
    "blanks": f"fill: different blanks, any number of copies, on {SIDE} x {SIDE} units",
}


@dataclass(frozen=True)
class Measured:
    """One instance: seconds of the processor, peak memory in MB, how far the bound is from the value in per cent."""

    seconds: float
    memory: float
    gap: float
    timed_out: bool


def blanks_for(side: int, number: int, rng: random.Random, quantity: int | None) -> list[nesting.Blank]:
    """Random blanks between LEAST and LARGEST of the side, whole units, worth about their area, both ways up."""
    out = []
    for i in range(number):
        w, h = (rng.randint(round(LEAST * side), round(LARGEST * side)) for _ in range(2))
        worth = None if quantity else round(w * h * rng.uniform(0.9, 1.1))
        out.append(nesting.Blank(f"b{i}", w, h, quantity, turns=(0, 90), worth=worth))
    return out


def measured(axis: str, point: int, seed: int, seconds: float) -> Measured:
    """One instance, in this process. `point` 0: nothing but a sheet of one piece."""
    warm(lambda text: print(text, file=sys.stderr))
    recreating.warm()
    rng = random.Random(f"{axis} {point} {seed}")
    nesting.fill(nesting.Sheet.rectangle("s", 10, 10), [nesting.Blank("b", 5, 5)])  # what is loaded with the first question
    start = time.process_time()
    gap, stopped_by = 0.0, "proof"
    if point and axis == "pieces":
        sheet = nesting.Sheet.rectangle("s", 100, 100, count=None)
        plan = nesting.plan([sheet], blanks_for(100, point, rng, 1), seconds=seconds, steps=STEPS, frames="square")
        gap = 100 * (1 - float(plan.bound.limit) / float(plan.bound.achieved))
        stopped_by = plan.bound.stopped_by
    elif point:
        side, number = (point, BLANKS) if axis == "side" else (SIDE, point)
        sheet = nesting.Sheet.rectangle("s", side, side)
        found = nesting.fill(sheet, blanks_for(side, number, rng, None), seconds=seconds, frames="square")
        gap = 100 * (1 - found.worth / found.upper_bound)
        stopped_by = found.stopped_by
    used = time.process_time() - start
    return Measured(used, resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024, gap, stopped_by == "time")


def apart(*arguments: Any) -> Measured:
    """The same in a fresh process."""
    with multiprocessing.get_context("spawn").Pool(1) as pool:
        return pool.apply(measured, arguments)


def exponent(xs: Sequence[float], ys: Sequence[float]) -> tuple[float, float]:
    """Slope and height of the line through log y over log x, by least squares."""
    slope, height = np.polyfit(np.log(xs), np.log(ys), 1)
    return float(slope), float(height)


def table(axis: str, points: Sequence[int], cases: int, seed: int, seconds: float) -> list[Measured]:
    """Measure and print one axis; the medians."""
    print(f"\n{TITLES[axis]}\n{axis:>8} {'seconds':>9} {'slowest':>9} {'peak MB':>8} {'gap %':>7} {'late':>7}", flush=True)
    out = []
    for point in points:
        runs = [apart(axis, point, seed + case, seconds) for case in range(cases)]
        seconds_used, memory, gap = (statistics.median(getattr(r, f) for r in runs) for f in ("seconds", "memory", "gap"))
        late = sum(r.timed_out for r in runs)
        out.append(Measured(seconds_used, memory, gap, 2 * late > cases))
        slowest = max(r.seconds for r in runs)
        print(f"{point:>8} {seconds_used:>9.4f} {slowest:>9.4f} {memory:>8.0f} {gap:>7.3f} {late:>7}", flush=True)
    ended = [(p, m) for p, m in zip(points, out, strict=True) if not m.timed_out]
    if len(ended) > 1:
        xs = [p for p, _ in ended]
        print(f"seconds grow as {axis} to the power {exponent(xs, [m.seconds for _, m in ended])[0]:.2f}, peak memory to the "
              f"power {exponent(xs, [m.memory for _, m in ended])[0]:.2f}, over the {len(xs)} points that ended before their "
              "time")  # fmt: skip
    return out


def plot(path: Path, results: dict[str, tuple[Sequence[int], list[Measured]]]) -> None:
    """Seconds and memory over each axis, both scales logarithmic, with the fitted line of the seconds."""
    import matplotlib as mpl

    mpl.use("svg")
    from matplotlib import pyplot as plt

    mpl.rcParams.update({"svg.hashsalt": "growth", "font.size": 8, "axes.spines.top": False, "axes.spines.right": False})
    figure, axes = plt.subplots(2, len(results), figsize=(2.6 * len(results), 3.8), squeeze=False, sharex="col", sharey="row")
    names = {"pieces": "pieces in plan", "side": "side of sheet in fill, units", "blanks": "different blanks in fill"}
    for (top, bottom), (axis, (points, found)) in zip(axes.T, results.items(), strict=True):
        seconds = [m.seconds for m in found]
        top.loglog(points, seconds, "o-", color="#1f4e79", markersize=3, linewidth=1)
        ended = [(p, m.seconds) for p, m in zip(points, found, strict=True) if not m.timed_out]
        if len(ended) > 1:
            slope, height = exponent([p for p, _ in ended], [s for _, s in ended])
            top.loglog(points, np.exp(height) * np.array(points, float) ** slope, "--", color="#888888", linewidth=0.8)
            top.set_title(f"power {slope:.2f}", fontsize=8)
        bottom.loglog(points, [m.memory for m in found], "o-", color="#7a3b1d", markersize=3, linewidth=1)
        bottom.set_ylim(50, 2_500)
        bottom.set_yticks([100, 1_000], ["100", "1000"])
        bottom.set_xticks(points[::2], [str(p) for p in points[::2]])
        bottom.minorticks_off()
        bottom.set_xlabel(names[axis])
    axes[0, 0].set_ylabel("seconds of the processor")
    axes[1, 0].set_ylabel("peak memory, MB")
    figure.tight_layout()
    figure.savefig(path, metadata={"Date": None})


def main() -> None:
    parser = argparse.ArgumentParser()
    parser.add_argument("--axis", choices=sorted(POINTS), action="append")
    parser.add_argument("--most", type=int, default=10_000, help="leave out larger points")
    parser.add_argument("--cases", type=int, default=3)
    parser.add_argument("--seed", type=int, default=SEED)
    parser.add_argument("--seconds", type=float, default=60.0)
    parser.add_argument("--plot", type=Path)
    options = parser.parse_args()
    print(f"nothing: {apart('side', 0, 0, 1.0).memory:.0f} MB; {options.cases} instances a point from seed {options.seed}, "
          f"at most {options.seconds:g} s each")  # fmt: skip
    results = {}
    for axis in options.axis or POINTS:
        points = [p for p in POINTS[axis] if p <= options.most]
        results[axis] = points, table(axis, points, options.cases, options.seed, options.seconds)
    if options.plot:
        plot(options.plot, results)


if __name__ == "__main__":
    main()
