"""S6, S6a, S7, S7b, S7c: single sheets: how many are proven in the time, and covers against two ways by hand.

    python -m tests.benchmarks.salvage [--sheets 60] [--first 0] [--seconds 0.2] [--frames square|auto|any]
                                       [--kind salvaged|skewed|odd] [--blanks "130 x 95"]
                                       [--no-hand] [--busy]

"By hand" is `nesting.search.handway`, always square to the sheet; "careful hand" is `nesting.search.carefulhand`, in the
same frames as the search. "Reached" counts the sheets where the careful hand has the limit already: there is nothing to
gain on these. `--busy`, for a machine that does other work: times are those of the processor, the clock allows twenty
times as much, and a sheet counts as proven only where the processor took no longer than the seconds. With `--frames auto`
every sheet is also searched square (S7b); with `--frames any --seconds 2` proven means at any angle (S6a), and the limit is
that of the area where it is not. Ctrl-C ends with the sheets done so far.
"""

from __future__ import annotations

import argparse
import random
import sys
import time
from collections.abc import Sequence
from dataclasses import dataclass, field, replace

import nesting
from nesting.search.budget import Budget
from nesting.search.carefulhand import careful_hand
from nesting.search.handway import hand_way
from nesting.search.kernels import warm
from nesting.search.sheet.any_angle import any_angle
from nesting.search.sheet.single import Found, Single
from tests.piles import ODD, salvaged, skewed

SIZES = {
    "130 x 95": [(130, 95)], "216 x 154": [(216, 154)], "170 x 120": [(170, 120)],
    "all three": [(130, 95), (216, 154), (170, 120)], "100 x 70": [(100, 70)],
}  # fmt: skip
EVERY = 50  # sheets between two lines of progress
BUSY = 20


@dataclass
class Row:
    """What is known of one set of blanks: one entry a sheet."""

    found: list[int] = field(default_factory=list)
    limit: list[int] = field(default_factory=list)
    square: list[int] = field(default_factory=list)
    hand: list[int] = field(default_factory=list)
    careful: list[int] = field(default_factory=list)
    seconds: list[float] = field(default_factory=list)
    proven: int = 0


def sheets_of(kind: str, first: int, number: int) -> list[nesting.Sheet]:
    """The sheets of a kind: seed = number of the sheet."""
    if kind == "odd":
        return [make(1.0) for make in ODD.values()]
    make = salvaged if kind == "salvaged" else skewed
    return [make(f"s{seed}", random.Random(seed)) for seed in range(first, first + number)]


def blanks_of(name: str) -> tuple[list[nesting.Blank], list[int]]:
    """The blanks of a row, and what each is worth: 1, or its area where they are several."""
    sizes = SIZES[name]
    return [nesting.Blank(f"{w} x {h}", w, h) for w, h in sizes], [w * h if len(sizes) > 1 else 1 for w, h in sizes]


def asked(sheet: nesting.Sheet, blanks: Sequence[nesting.Blank], values: Sequence[int], frames: str,
          seconds: float) -> tuple[Single, Found]:  # fmt: skip
    """One sheet searched, all preparation within the time."""
    budget = Budget(seconds, None)
    single = Single(sheet, blanks, None, "auto" if frames == "any" else frames)
    found = single.best(values, budget, 10**9)
    if frames != "any":
        return single, found
    turned = any_angle(single, values, found, budget, 10**9)
    by_area = max(v * sheet.area2 // (2 * b.width * b.height) for b, v in zip(blanks, values, strict=True))
    return single, turned.found if turned.shown else replace(turned.found, bound=max(by_area, turned.found.bound))


def measured(row: Row, sheet: nesting.Sheet, name: str, frames: str, seconds: float, by_hand: bool,
             busy: bool) -> None:  # fmt: skip
    """One sheet into a row."""
    blanks, values = blanks_of(name)
    clock, allowed = (time.process_time, BUSY * seconds) if busy else (time.perf_counter, seconds)
    start = clock()
    single, found = asked(sheet, blanks, values, frames, allowed)
    used = clock() - start
    square = found.value if frames == "square" else asked(sheet, blanks, values, "square", allowed)[1].value
    if by_hand and len(blanks) == 1:
        hand, careful = hand_way(sheet, blanks[0]), careful_hand(sheet, blanks[0], None, single.frames_deg)
        row.hand.append(hand)
        row.careful.append(careful)
    row.found.append(found.value)
    row.limit.append(found.bound)
    row.square.append(square)
    row.seconds.append(used)
    row.proven += found.value == found.bound and (used <= seconds or not busy)


def gain(better: int, worse: int) -> str:
    """By how much more, in per cent."""
    return f"{100 * (better / worse - 1):+.1f}" if worse else "-"


def printed(name: str, row: Row) -> None:
    """One line of the table."""
    count, covers, limit = len(row.found), sum(row.found), sum(row.limit)
    if not count:
        return
    times = f"{1000 * sum(row.seconds) / count:.0f} | {1000 * max(row.seconds):.0f}"
    hand = "- | - | - | - | -"
    if row.careful:
        reached = sum(a == b for a, b in zip(row.careful, row.limit, strict=True))
        by_hand, careful = sum(row.hand), sum(row.careful)
        hand = f"{by_hand} | {gain(covers, by_hand)} | {careful} | {gain(covers, careful)} | {reached}"
    print(f"| {name} | {row.proven}/{count} | {covers} | {limit} | {hand} | {times} |", flush=True)


def against_square(name: str, row: Row) -> None:
    """One line more: the frames against square alone."""
    pairs = list(zip(row.found, row.square, strict=True))
    fewer, more = sum(a < b for a, b in pairs), sum(a > b for a, b in pairs)
    covers, square = sum(row.found), sum(row.square)
    print(f"| {name} | {square} | {covers} | {gain(covers, square)} | {more} | {fewer} |", flush=True)


def main() -> None:
    parser = argparse.ArgumentParser()
    parser.add_argument("--sheets", type=int, default=60)
    parser.add_argument("--first", type=int, default=0)
    parser.add_argument("--seconds", type=float, default=0.2)
    parser.add_argument("--frames", choices=("square", "auto", "any"), default="square")
    parser.add_argument("--kind", choices=("salvaged", "skewed", "odd"), default="salvaged")
    parser.add_argument("--blanks", choices=tuple(SIZES), action="append")
    parser.add_argument("--no-hand", action="store_true")
    parser.add_argument("--busy", action="store_true")
    options = parser.parse_args()
    warm(print)
    sheets = sheets_of(options.kind, options.first, options.sheets)
    each = f"{options.seconds:g} s each{', of the processor' if options.busy else ''}"
    print(f"{len(sheets)} sheets, {options.kind}, frames {options.frames}, {each}\n")
    print("| blanks | proven | covers | limit | by hand | gain % | careful hand | gain % | reached | mean ms | worst ms |")
    print(f"|{'---|' * 11}", flush=True)
    rows: dict[str, Row] = {}
    try:
        for name in options.blanks or SIZES:
            row = rows[name] = Row()
            for number, sheet in enumerate(sheets, 1):
                measured(row, sheet, name, options.frames, options.seconds, not options.no_hand, options.busy)
                if number % EVERY == 0:
                    print(f"{name}: {number} of {len(sheets)}", file=sys.stderr, flush=True)
            printed(name, row)
    except KeyboardInterrupt:
        printed(name, row)
        print(f"stopped by hand after {len(row.seconds)} sheets of {name}")
    if options.frames != "square":
        print("\n| blanks | square | with frames | gain % | sheets with more | with fewer |")
        print(f"|{'---|' * 6}")
        for name, row in rows.items():
            against_square(name, row)


if __name__ == "__main__":
    main()
