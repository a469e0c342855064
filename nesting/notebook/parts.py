"""The parts of a format: trims, calipers, grains, staples, the dummy; and how a word is chosen from a few.

Lengths in ticks; None where something was not measured.
"""

from __future__ import annotations

import difflib
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Literal, get_args

from nesting.errors import InputError
from nesting.lengths import TICKS_PER_MM

Material = Literal["cover", "card", "folio"]
MATERIALS: tuple[Material, ...] = get_args(Material)
GrainRule = Literal["spine", "across", "off"]
GRAIN_RULES: tuple[GrainRule, ...] = get_args(GrainRule)
SoftRule = tuple[GrainRule, float]  # with its price in percent of the paper of one blank
Wrap = Literal["no", "yes", "always"]
WRAPS: tuple[Wrap, ...] = get_args(Wrap)
MOST_FOLIOS = 500
MOST_OF_A_BLANK = 1_000_000  # the limit of a Blank

# 1/8 in at head, tail and fore-edge of stitched books, 3/16 in at the fore-edge of sewn ones (Gray 1918, "Trimming
# Books"; Roberts & Etherington, "trimming"); the metric habit is 3 mm (acprint, do-druck).
TRIM_IN = 25_400
TRIM_IN_SEWN = 38_100
TRIM_MM = 3 * TICKS_PER_MM


@dataclass(frozen=True)
class Trims:
    """What the knife takes off the bound book at head, tail and fore-edge, in ticks."""

    head: int = TRIM_MM
    tail: int = TRIM_MM
    fore_edge: int = TRIM_MM


@dataclass(frozen=True)
class Calipers:
    """Thickness in ticks of one folio's paper, the card, the cover paper and the glue; None where not measured."""

    folio: int | None = None
    card: int | None = None
    cover: int | None = None
    glue: int | None = None


@dataclass(frozen=True)
class Grains:
    """How the grain lies in each material: along the spine, across it, or off (any way).

    A rule alone is hard; with a price in percent it is soft: a blank that lies otherwise counts as so much more paper.
    Card is glued to thin decorative paper and governs, so with dry adhesive the cover's rule is soft (design.md section 3).
    Along the spine for card and folios (manual "Hand Lever Cutters" ch. VI; Puget Bindery). Maddox, *Paper and Its
    Uses*, wants ruled lines with the grain, that is across the spine: hence a setting (trade.md trap 8).
    """

    cover: GrainRule | SoftRule = ("spine", 2.0)
    card: GrainRule | SoftRule = "spine"
    folio: GrainRule | SoftRule = "spine"


@dataclass(frozen=True)
class Dummy:
    """What was measured, in ticks, on the one book made first, pressed and trimmed; None where it was not.

    `thickness`: closed and pressed. `creep`: by how much the middle leaves stand out before trimming. `height`: what it
    could be trimmed to. Each replaces what would be reckoned (trade.md section 4: no measured creep was found in print).
    """

    thickness: int | None = None
    creep: int | None = None
    height: int | None = None


@dataclass(frozen=True)
class Staples:
    """How many staples a book has and how far their middles lie from the finished head, in ticks; none given: evenly.

    Two or more, by height (Roberts & Etherington, "saddle stitching").
    """

    count: int = 2
    at: tuple[int, ...] = ()


def listed(words: Iterable[str]) -> str:
    """Words as a sentence has them.

    >>> listed(["cover", "card", "folio"]), listed(["card"])
    ('cover, card and folio', 'card')
    """
    *first, last = words
    return f"{', '.join(first)} and {last}" if first else last


def chosen(value: object, choices: Iterable[str], field: str) -> str:
    """`value` if it is one of the choices. Raises InputError with the nearest right word."""
    words = tuple(choices)
    if isinstance(value, str) and value in words:
        return value
    near = difflib.get_close_matches(value.lower(), words, n=1, cutoff=0.65) if isinstance(value, str) else []
    raise InputError(field, " or ".join(words), value, f"Did you mean {near[0]}?" if near else "")
