"""Damages plan documents at random, each in a way that no longer is a sound plan.

`damaged(document, rng)` gives the name of the damage and a new document. Every kind is chosen so that it cannot happen
to yield another sound plan (a limit only made weaker, a cut moved where no paper lies): what is changed is wrong.
"""

from __future__ import annotations

import random
from collections.abc import Callable

from tests import damage_layouts, damage_numbers
from tests.damage_tools import Document, copied


def damaged(document: Document, rng: random.Random) -> tuple[str, Document]:
    """A damaged copy of a plan document, and what was done to it. Raises ValueError where nothing can be damaged."""
    kinds = list(KINDS)
    rng.shuffle(kinds)
    for kind in kinds:
        copy = copied(document)
        if kind(copy, rng):
            return kind.__name__.replace("_", " "), copy
    raise ValueError("nothing in this document can be damaged")


KINDS: tuple[Callable[[Document, random.Random], bool], ...] = (*damage_layouts.DAMAGES, *damage_numbers.DAMAGES)
