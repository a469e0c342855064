"""What each method of the schedule does: the same jobs with one of them left out.

    python -m tests.benchmarks.ablation [--seconds 3] [--every 10]

Jobs: a share of the 500 bins (fixed) and the jobs with demands of dataset C, from the reference folder.
"""

from __future__ import annotations

import argparse
import json
from collections.abc import Callable
from typing import Any

import nesting
from nesting.search.pile import solving
from nesting.search.pile.part import Part

from .bins import REFERENCE as BINS
from .rectangles import FILES, REFERENCE

DEMANDS = REFERENCE / f"{FILES['S3C']}.json"
METHODS = ("Alike.run", "run", "run_within")


def name_of(method: Any) -> str:
    """The method's name in the schedule."""
    return str(getattr(method, "func", method).__qualname__)


def without(left_out: str | None, schedule: Callable[[Part, float], Any]) -> Callable[[Part, float], Any]:
    """The schedule with one method left out."""
    return lambda part, seconds: [(method, share) for method, share in schedule(part, seconds) if name_of(method) != left_out]


def main() -> None:
    parser = argparse.ArgumentParser()
    parser.add_argument("--seconds", type=float, default=3.0)
    parser.add_argument("--every", type=int, default=10)
    options = parser.parse_args()
    families = {"bins": json.loads(BINS.read_text())["instances"][4 :: options.every],
                "demands": json.loads(DEMANDS.read_text())["instances"]}  # fmt: skip
    whole = solving.schedule
    try:
        for left_out in (None, *METHODS):
            solving.schedule = without(left_out, whole)
            told = []
            for family, cases in families.items():
                sheets = proven = 0
                for case in cases:
                    blanks = [nesting.Blank(f"b{i}", w, h, n, turns=(0,)) for i, (w, h, n) in enumerate(case["items"])]
                    sheet = nesting.Sheet.rectangle("s", case["W"], case["H"], count=None)
                    plan = nesting.plan([sheet], blanks, seconds=options.seconds, frames="square")
                    sheets += sum(plan.sheets_used().values())
                    proven += plan.bound.proven
                told.append(f"{family}: {sheets} sheets, {proven} of {len(cases)} proven")
            print(f"without {left_out or 'nothing':<12} {'; '.join(told)}", flush=True)
    finally:
        solving.schedule = whole


if __name__ == "__main__":
    main()
