"""Twelve hard sheets with their layouts as pictures, and the three sheets where the hand way loses most.

    python -m tests.benchmarks.hard_sheets FOLDER [--sheets 100] [--seconds 2] [--frames auto|square] [--format png|svg|pdf]

Six are the salvaged and skewed sheets (half and half, seeds from 0) where the search gets most more than a careful hand,
each with the size for which that is so; six are odd ones of `tests.piles`. The drawings are those of `quirestock draw`.
"""

from __future__ import annotations

import argparse
import re
import sys
from dataclasses import dataclass
from pathlib import Path

import nesting
from inventory.drawings import write_pages
from nesting.draw.diagrams import plan_pages
from nesting.search.carefulhand import careful_hand
from nesting.search.handway import hand_way
from tests.benchmarks.salvage import SIZES, asked, sheets_of
from tests.piles import ODD

ODDEST = ("star", "ring", "round ring", "L", "two pieces' worth of holes", "300 points torn")
HARD = 6


@dataclass(frozen=True)
class Case:
    """One sheet and one size: covers by hand, by a careful hand and found, and the limit."""

    sheet: nesting.Sheet
    size: str
    hand: int
    careful: int
    found: int
    limit: int

    def told(self) -> str:
        """One line."""
        return (f"{self.sheet.id}, covers {self.size}: by hand {self.hand}, careful hand {self.careful}, "
                f"found {self.found}, at most {self.limit}")  # fmt: skip


def case(sheet: nesting.Sheet, size: str, frames: str, seconds: float) -> Case:
    """One sheet measured for one size."""
    blank = nesting.Blank(size, *SIZES[size][0])
    single, found = asked(sheet, [blank], [1], frames, seconds)
    careful = careful_hand(sheet, blank, None, single.frames_deg)
    return Case(sheet, size, hand_way(sheet, blank), careful, found.value, found.bound)


def cases(number: int, frames: str, seconds: float) -> list[Case]:
    """All salvaged and skewed sheets with all sizes; Ctrl-C keeps those done so far."""
    from dataclasses import replace

    out = []
    try:
        for kind in ("salvaged", "skewed"):
            for sheet in sheets_of(kind, 0, number // 2):
                named = replace(sheet, id=f"{kind} {sheet.id[1:]}")
                out += [case(named, size, frames, seconds) for size in SIZES if len(SIZES[size]) == 1]
            print(f"{kind}: {number // 2} sheets", file=sys.stderr, flush=True)
    except KeyboardInterrupt:
        print("stopped by hand", file=sys.stderr)
    return out


def drawn(chosen: list[Case], folder: Path, frames: str, seconds: float, kind: str) -> None:
    """The page of each layout, without the summary of the plan."""
    for number, one in enumerate(chosen, 1):
        blank = nesting.Blank("cover", *SIZES[one.size][0])
        plan = nesting.fill(one.sheet, [blank], seconds=10 * seconds, frames=frames).to_plan()
        faults = nesting.check(plan)
        pages = plan_pages(plan, title=f"{one.sheet.id}, {one.size}")[1:]
        stem = f"{number:02d}-{re.sub('[^a-z0-9]+', '-', one.sheet.id.lower())}"
        for path in write_pages(pages, folder, stem, kind):
            print(f"{path}: {one.told()}, drawn {sum(plan.made().values())}; {len(faults)} faults", flush=True)


def main() -> None:
    parser = argparse.ArgumentParser()
    parser.add_argument("folder", type=Path)
    parser.add_argument("--sheets", type=int, default=100)
    parser.add_argument("--seconds", type=float, default=2.0)
    parser.add_argument("--frames", choices=("square", "auto"), default="auto")
    parser.add_argument("--format", choices=("png", "svg", "pdf"), default="png")
    options = parser.parse_args()
    known = cases(options.sheets, options.frames, options.seconds)
    worst = sorted(known, key=lambda c: (c.hand - c.found, c.sheet.id, c.size))
    print("The hand way loses most on:")
    met: dict[str, Case] = {}
    for one in worst:
        met.setdefault(one.sheet.id, one)
    for one in list(met.values())[:3]:
        print(f"  {one.told()}")
    hard: dict[str, Case] = {}
    for one in sorted(known, key=lambda c: (c.careful - c.found, c.found, c.sheet.id, c.size)):
        hard.setdefault(one.sheet.id, one)
    odd = [case(ODD[name](1.0), "130 x 95", options.frames, options.seconds) for name in ODDEST]
    drawn([*list(hard.values())[:HARD], *odd], options.folder, options.frames, options.seconds, options.format)


if __name__ == "__main__":
    main()
