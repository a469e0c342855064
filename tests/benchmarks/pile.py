"""S8, S8b: a whole pile: seconds, gap to the limit and memory; how they grow with the number of sheets.

    python -m tests.benchmarks.pile [--aim least-stock|most-worth] [--sheets 300] [--seconds 60] [--workers 2] [--profile]
    python -m tests.benchmarks.pile --growth [--most 1000] [--aim ...] [--seconds 64]

The job: half of the sheets irregular (`tests.piles.salvaged` of nominal sizes 300 to 800 by 250 to 600 mm), half
rectangles of such sizes, all unique; three formats (A6, a pocket size, A7), 2,000 books to 300 sheets, three, three and
four tenths of them; cards and folios from SRA2, as many as are needed. `least-stock` wants all books;
`most-worth` has twelve tenths of them as limits and asks for the most complete sets.

Each run is a process of its own, so that its peak memory is its own. "Gap" is the bound's: how far the plan is from its
limit, in per cent of what it achieves. The growth doubles the seconds from 1 up until the gap is at most 2 %; "seconds" is
what that last run took. Ctrl-C ends with the runs done so far; within a run it keeps the best so far, as `plan` does.
"""

from __future__ import annotations

import argparse
import math
import multiprocessing
import random
import resource
import sys
import time
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass
from typing import Any

import nesting
from nesting.notebook.formats import Format
from tests.benchmarks.growth import exponent
from tests.piles import salvaged

FORMATS = ((Format.make("A6", 105, 148, folios=12), 0.3), (Format.make("pocket", 90, 140, folios=10), 0.3),
           (Format.make("A7", 74, 105, folios=8), 0.4))  # fmt: skip
BOOKS_A_SHEET = 2_000 / 300
LIMIT = 1.2  # of the books, for most-worth: more than the pile gives
GOOD = 2.0  # per cent
POINTS = (10, 30, 100, 300, 1_000)
MB = 1024


@dataclass(frozen=True)
class Run:
    """One plan: `gap` in per cent of `measure`, `memory` in MB, books made of those wanted."""

    seconds: float
    gap: float
    measure: str
    memory: float
    proven: bool
    stopped_by: str
    made: int
    wanted: int
    sheets: int
    faults: int


def pile(number: int, seed: int) -> list[nesting.Sheet]:
    """The cover papers: every second one irregular."""
    rng = random.Random(f"pile {seed}")
    out = []
    for k in range(number):
        width, height = rng.uniform(300, 800), rng.uniform(250, 600)
        if k % 2:
            out.append(nesting.Sheet.rectangle(f"s{k}", round(width), round(height), material="cover"))
        else:
            out.append(salvaged(f"s{k}", rng, width, height, material="cover"))
    return out


def job(number: int, seed: int, aim: str) -> dict[str, Any]:
    """The arguments of `nesting.plan` for so many cover papers, time and workers left out."""
    wanted = [round(share * BOOKS_A_SHEET * number * (LIMIT if aim == "most-worth" else 1)) for _, share in FORMATS]
    blanks = [b for (made, _), books in zip(FORMATS, wanted, strict=True) for b in made.blanks(books)]
    count = {"card": 0, "folio": 0}
    for blank in blanks:
        if blank.material in count:
            count[blank.material] += blank.quantity or 0
    sheets = pile(number, seed)
    sheets.append(nesting.Sheet.rectangle("SRA2 card", 450, 640, count=count["card"], grain="y", material="card"))
    sheets.append(nesting.Sheet.rectangle("SRA2 paper", 450, 640, count=count["folio"], grain="y", material="folio"))
    if aim != "most-worth":
        return {"sheets": sheets, "blanks": blanks, "aim": aim}
    sets = {made.name: {b.name: b.quantity or 0 for b in made.blanks(1)} for made, _ in FORMATS}
    return {"sheets": sheets, "blanks": blanks, "aim": aim, "sets": sets}


def run(number: int, seed: int, aim: str, seconds: float, workers: int, profile: bool) -> Run:
    """One plan, in this process, with progress on stderr."""
    asked = job(number, seed, aim)
    nesting.plan(pile(2, seed), [nesting.Blank("b", 90, 70, 9)], seconds=1)  # what is loaded with the first question
    last = [0.0]

    def report(step: Any) -> None:
        if step.seconds - last[0] > 5:
            last[0] = step.seconds
            print(f"  {step.seconds:4.0f} s  {step.stage} {step.value} {step.bound} {step.text}", file=sys.stderr, flush=True)

    judge = _profiler() if profile else None
    start = time.perf_counter()
    plan = nesting.plan(**asked, seconds=seconds, workers=workers, frames="auto", progress=report)
    used = time.perf_counter() - start
    if judge is not None:
        _told(judge)
    achieved, limit = float(plan.bound.achieved), float(plan.bound.limit)
    made, wanted = plan.made(), {b.name: b.quantity or 0 for b in plan.blanks}
    books = sum(min(made[b.name] // b.quantity for b in form.blanks(1) if b.quantity) for form, _ in FORMATS)
    gap = 100 * abs(achieved - limit) / achieved if achieved else math.inf
    memory = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / MB
    covers = sum(wanted[f"{form.name} cover"] for form, _ in FORMATS)
    cut = sum(layout.sheet.startswith("s") for layout in plan.layouts)
    return Run(used, gap, plan.bound.measure, memory, plan.bound.proven, plan.bound.stopped_by, books, covers, cut,
               len(nesting.check(plan)))  # fmt: skip


def _profiler() -> Any:
    import cProfile

    out = cProfile.Profile()
    out.enable()
    return out


def _told(judge: Any) -> None:
    import pstats

    judge.disable()
    pstats.Stats(judge, stream=sys.stderr).sort_stats("tottime").print_stats(25)


def apart(*arguments: Any) -> Run:
    """The same in a fresh process."""
    with ProcessPoolExecutor(1, multiprocessing.get_context("spawn")) as pool:
        return pool.submit(run, *arguments).result()


def line(name: str, found: Run) -> None:
    """One line of the table."""
    end = "proven" if found.proven else found.stopped_by
    print(f"| {name} | {found.seconds:.1f} | {found.made}/{found.wanted} | {found.sheets} | {found.gap:.2f} | {found.measure} "
          f"| {found.memory:.0f} | {end} | {found.faults} |", flush=True)  # fmt: skip


def head(first: str) -> None:
    """The head of the table."""
    print(f"\n| {first} | seconds | books | cover sheets cut | gap % | of | peak MB | ended by | faults |")
    print(f"|{'---|' * 9}", flush=True)


def growth(points: list[int], seed: int, aim: str, most: float, workers: int) -> None:
    """The least doubled time that brings the gap to GOOD, for each number of sheets."""
    head(f"sheets, {aim}")
    good: list[tuple[int, Run]] = []
    every: list[tuple[int, Run]] = []
    try:
        for number in points:
            seconds = 1.0
            while True:
                found = apart(number, seed, aim, seconds, workers, False)
                if found.gap <= GOOD or 2 * seconds > most:
                    break
                print(f"  {number} sheets, {seconds:g} s: gap {found.gap:.2f} %", file=sys.stderr, flush=True)
                seconds *= 2
            line(str(number), found)
            every.append((number, found))
            if found.gap <= GOOD:
                good.append((number, found))
    except KeyboardInterrupt:
        print("stopped by hand")
    if len(good) > 1:
        slope = exponent([n for n, _ in good], [r.seconds for _, r in good])[0]
        memory = exponent([n for n, _ in every], [r.memory for _, r in every])[0]
        print(f"\nseconds until the gap is {GOOD:g} % grow as the sheets to the power {slope:.2f} ({len(good)} of {len(every)} "
              f"points reach it), peak memory to the power {memory:.2f}")  # fmt: skip


def main() -> None:
    parser = argparse.ArgumentParser()
    parser.add_argument("--aim", choices=("least-stock", "most-worth"), action="append")
    parser.add_argument("--sheets", type=int, default=300)
    parser.add_argument("--seconds", type=float, default=60.0)
    parser.add_argument("--workers", type=int, default=2)
    parser.add_argument("--seed", type=int, default=0)
    parser.add_argument("--profile", action="store_true", help="where the time goes, of the main thread, on stderr")
    parser.add_argument("--growth", action="store_true")
    parser.add_argument("--most", type=int, default=1_000, help="leave out larger points")
    options = parser.parse_args()
    aims = options.aim or ["least-stock", "most-worth"]
    if options.growth:
        for aim in aims:
            growth([p for p in POINTS if p <= options.most], options.seed, aim, options.seconds, options.workers)
        return
    head(f"{options.sheets} sheets, {options.seconds:g} s, {options.workers} workers")
    for aim in aims:
        line(aim, apart(options.sheets, options.seed, aim, options.seconds, options.workers, options.profile))


if __name__ == "__main__":
    main()
