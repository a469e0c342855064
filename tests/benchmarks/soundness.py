"""Random plans through the checker, and random damage to their documents: every plan sound, every damage found.

    python -m tests.benchmarks.soundness [1000]
"""

from __future__ import annotations

import collections
import json
import random
import sys
import time

import nesting
from tests.damage import damaged
from tests.piles import job


def main() -> None:
    wanted = int(sys.argv[1]) if len(sys.argv) > 1 else 1000
    start = time.perf_counter()
    plans = impossible = proven = faulty = changed = 0
    missed: collections.Counter[str] = collections.Counter()
    seed = 0
    while plans < wanted:
        try:
            found = nesting.plan(**job(random.Random(seed)))
        except nesting.ImpossibleJob:
            impossible += 1
            seed += 1
            continue
        plans += 1
        proven += found.bound.proven
        if nesting.check(found):
            faulty += 1
            print(f"seed {seed}: {nesting.check(found)[0]}")
        document = json.loads(json.dumps(found.to_dict()))
        document.pop("id")  # the id alone would give every damage away
        name, broken = damaged(document, random.Random(seed))
        changed += 1
        try:
            if not nesting.check(nesting.Plan.from_dict(broken)):
                missed[name] += 1
                print(f"seed {seed}: not found: {name}")
        except nesting.InputError:
            pass
        seed += 1
    print(f"{plans} plans ({impossible} impossible jobs besides): {faulty} faulty, {proven} proven; {changed} damaged documents, "
          f"{sum(missed.values())} not found; {time.perf_counter() - start:.0f} s")  # fmt: skip


if __name__ == "__main__":
    main()
