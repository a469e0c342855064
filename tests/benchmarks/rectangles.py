"""S1, S2, S3, S5, yes/no: clear rectangles against published values, from the reference folder beside the checkout.

    python -m tests.benchmarks.rectangles S1|S2|S3C|S3A|S5|OPP [--seconds 10] [--turning] [--every 1]

OPP asks whether a set fits one sheet; its value is 1 (it does, the layout is there), 0 (it does not, proven) or 0.5.
"""

from __future__ import annotations

import argparse
import json
import time
from operator import eq, ge, le
from pathlib import Path
from typing import Any

import nesting
from nesting.search.kernels import warm

REFERENCE = Path(__file__).parents[3] / "shared" / "reference"
FILES = {"S1": "g2kp_unconstrained", "S2": "g2kp_constrained", "S3C": "2csp_datasetC_42", "S3A": "2csp_A_43",
         "S5": "vsbpp_hopper_turton_15", "OPP": "g2opp_feasibility"}  # fmt: skip
ORDER = {"S1": ge, "S2": ge, "OPP": eq, "S5": ge}


def blanks_of(case: dict[str, Any], family: str, turning: bool) -> list[nesting.Blank]:
    turns = (0, 90) if turning else (0,)
    out = []
    for i, item in enumerate(case["items"]):
        worth = item[2] if family in ("S1", "S2") else None
        count = {"S1": None, "S2": item[-1]}.get(family, item[2])
        out.append(nesting.Blank(f"b{i}", item[0], item[1], count, turns=turns, worth=worth))
    return out


def one(case: dict[str, Any], family: str, turning: bool, seconds: float) -> tuple[float, float | None, bool, bool]:
    """Value, published value (S5: the limit on use), whether proven, whether sound."""
    blanks = blanks_of(case, family, turning)
    way = "R" if turning else "O"
    if family in ("S1", "S2"):
        known = case.get(f"published_opt_{way}" if family == "S1" else f"opt_{way}")
        found = nesting.fill(nesting.Sheet.rectangle("s", case["W"], case["H"]), blanks, seconds=seconds, frames="square")
        return found.worth, known, found.proven, nesting.check(found.to_plan()) == ()
    if family == "OPP":
        return fits(case, blanks, way, seconds)
    if family == "S5":
        sheets = [nesting.Sheet.rectangle(f"s{i}", w, h, count=n, cost=cost) for i, (w, h, n, cost) in enumerate(case["bins"])]
        plan = nesting.plan(sheets, blanks, seconds=seconds, frames="square")
        short = any(n for _, n in plan.short)
        use = 0.0 if short else 100 * case["item_area"] / plan.bound.achieved
        top = None if short else 100 * case["item_area"] / plan.bound.limit
        return use, top, plan.bound.proven, nesting.check(plan) == ()
    known = case.get(f"opt_{way}" if family == "S3C" else f"guillotine_opt_{way}")
    sheet = nesting.Sheet.rectangle("s", case["W"], case["H"], count=None)
    plan = nesting.plan([sheet], blanks, seconds=seconds, frames="square")
    return sum(plan.sheets_used().values()), known, plan.bound.proven, nesting.check(plan) == ()


def fits(case: dict[str, Any], blanks: list[nesting.Blank], way: str, seconds: float) -> tuple[float, float | None, bool, bool]:
    """The answer, the published one, whether there is an answer, whether the layout is sound and no answer is wrong."""
    known = {"feasible": 1.0, "infeasible": 0.0}.get(case[f"guillotine_{way}"])
    total = sum(w * h * n for w, h, n in case["items"])
    answer: list[float] = []

    def told(progress: Any) -> None:  # the best layout of a set that does not fit is another question
        if progress.stage == "layout" and progress.bound is not None and progress.bound < total and not answer:
            answer.append(0.0)
            raise KeyboardInterrupt

    sheet = nesting.Sheet.rectangle("s", case["W"], case["H"])
    found = nesting.fill(sheet, blanks, seconds=seconds, frames="square", progress=told)
    if not answer and found.worth == total:
        answer.append(1.0)
    elif not answer and found.upper_bound < total:
        answer.append(0.0)
    wrong = bool(answer) and known is not None and answer[0] != known
    return answer[0] if answer else 0.5, known, bool(answer), nesting.check(found.to_plan()) == () and not wrong


def means(uses: dict[str, float]) -> str:
    """Mean use for each class of instances of several sheet sizes (M1a, M1b, ... are class M1) and over all."""
    classes: dict[str, list[float]] = {}
    for name, use in uses.items():
        classes.setdefault(name.rstrip("abcdefghij"), []).append(use)
    told = [f"{name} {sum(some) / len(some):.2f}" for name, some in sorted(classes.items())]
    return f"mean use, %: {', '.join(told)}, all {sum(uses.values()) / len(uses):.2f}"


def main() -> None:
    parser = argparse.ArgumentParser()
    parser.add_argument("family", choices=sorted(FILES))
    parser.add_argument("--seconds", type=float, default=10.0)
    parser.add_argument("--turning", action="store_true")
    parser.add_argument("--every", type=int, default=1)
    options = parser.parse_args()
    warm(print)
    cases = json.loads((REFERENCE / f"{FILES[options.family]}.json").read_text())["instances"]
    if options.family == "S1":
        cases = [c for c in cases if c["name"].startswith("gcut")]
    reached = known_count = proven = sound = 0
    total, times = 0.0, []
    uses: dict[str, float] = {}
    for case in cases[:: options.every]:
        start = time.perf_counter()
        value, known, closed, good = one(case, options.family, options.turning, options.seconds)
        times.append(time.perf_counter() - start)
        known_count += known is not None
        reached += known is not None and ORDER.get(options.family, le)(value, known)
        proven += closed
        sound += good
        total += value
        uses[case["name"]] = value
        told = "-" if known is None else f"{known:.8g}"
        print(f"{case['name']:<10} {value:>12.8g} {told:>10} {'proven' if closed else '':<7} {times[-1]:6.2f} s")
    times.sort()
    way = "turning" if options.turning else "fixed"
    head = f"{options.family}, {way}, {options.seconds:g} s"
    if options.family == "S5":
        print(means(uses))
    goals = "limits" if options.family == "S5" else "published values"
    print(f"{head}: {reached} of {known_count} {goals} reached, {proven} of {len(times)} proven, {sound} sound, "
          f"mean value {total / len(times):.2f}, median {times[len(times) // 2]:.2f} s, slowest {times[-1]:.2f} s")  # fmt: skip


if __name__ == "__main__":
    main()
