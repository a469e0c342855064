"""S6, S7: single salvaged sheets, one frame: how many proven in the time, and covers against the hand way.

    python -m tests.benchmarks.salvage [--sheets 60] [--seconds 0.2]
"""

from __future__ import annotations

import argparse
import random
import time

import nesting
from nesting.search.budget import Budget
from nesting.search.handway import hand_way
from nesting.search.kernels import warm
from nesting.search.sheet.single import Single
from tests.piles import salvaged

SIZES = {
    "130 x 95": [(130, 95)], "216 x 154": [(216, 154)], "170 x 120": [(170, 120)],
    "all three": [(130, 95), (216, 154), (170, 120)], "100 x 70": [(100, 70)],
}  # fmt: skip


def main() -> None:
    parser = argparse.ArgumentParser()
    parser.add_argument("--sheets", type=int, default=60)
    parser.add_argument("--seconds", type=float, default=0.2)
    parser.add_argument("--frames", default="square")
    options = parser.parse_args()
    warm(print)
    sheets = [salvaged(f"s{i}", random.Random(i)) for i in range(options.sheets)]
    print(f"{'blanks':<10} {'proven':>9} {'covers':>7} {'limit':>6} {'by hand':>8} {'mean ms':>8} {'worst ms':>9}")
    for name, sizes in SIZES.items():
        blanks = [nesting.Blank(f"{w} x {h}", w, h) for w, h in sizes]
        values = [w * h if len(sizes) > 1 else 1 for w, h in sizes]
        proven = covers = limit = by_hand = 0
        times = []
        for sheet in sheets:
            start = time.perf_counter()
            found = Single(sheet, blanks, None, options.frames).best(values, Budget(options.seconds, None), 10**9)
            times.append(time.perf_counter() - start)
            proven += found.value == found.bound
            covers += found.value
            limit += found.bound
            if len(sizes) == 1:
                by_hand += hand_way(sheet, blanks[0])
        hand = str(by_hand) if len(sizes) == 1 else "-"
        mean = 1000 * sum(times) / len(times)
        print(f"{name:<10} {proven:>4}/{len(sheets):<4} {covers:>7} {limit:>6} {hand:>8} {mean:>8.0f} {1000 * max(times):>9.0f}")


if __name__ == "__main__":
    main()
