"""Which finished size is as large as the paper gives: the folio that wastes least of a sheet, and the sizes beside it.

A sheet cut into equal rows and columns is used up whatever the size (arithmetic), so a format's size may follow from the paper:
the divisions of the sheet are tried, and each blank is taken back to its finished size through the format's own allowances.

>>> from nesting.notebook.formats import Format
>>> best = largest(Format.make("A6", 105, 148), 450 * 8000, 640 * 8000, "y").best
>>> best.pieces, best.width / 8000, best.height / 8000
(8, 109.5, 154.0)
"""

from __future__ import annotations

from dataclasses import dataclass

from nesting.cutters import Cutter
from nesting.errors import ImpossibleJob, InputError
from nesting.lengths import TICKS_PER_64TH, TICKS_PER_MM, show
from nesting.sheets import Grain

from .allowances import blank_of, reckon
from .formats import Format

_MOST_DIVISIONS = 40
_LEAST = 30 * TICKS_PER_MM  # no smaller finished side is offered


@dataclass(frozen=True)
class Division:
    """A sheet cut into equal folios: the finished size that this gives, in ticks.

    `columns`, `rows`: how many folios across and up the sheet; `turned`: they lie with their spine across it. `waste`:
    the share of the sheet that no folio gets: what gutters and the fence's scale leave. `change`: how much wider and
    higher the finished book is than the format asked for, as shares.
    """

    columns: int
    rows: int
    turned: bool
    width: int
    height: int
    waste: float
    change: tuple[float, float]

    @property
    def pieces(self) -> int:
        """Folios a sheet."""
        return self.columns * self.rows

    @property
    def larger(self) -> bool:
        """Whether the book is in no side smaller than asked for."""
        return min(self.change) >= 0

    @property
    def far(self) -> float:
        """How far from the format asked for: the greater change of a side."""
        return max(abs(change) for change in self.change)


@dataclass(frozen=True)
class Sizes:
    """What a paper offers for a format. `own`: folios of the format's own size in equal rows and columns.

    `best`: as large as the paper gives; None where no near division has as many folios and a book no smaller.
    """

    own: int
    best: Division | None
    others: tuple[Division, ...]


def largest(format: Format, width: int, height: int, grain: Grain | None = None, *, cutter: Cutter | None = None,
            most_change: float = 0.35) -> Sizes:  # fmt: skip
    """The finished sizes near a format's that use up a sheet of width x height ticks with true edges.

    `grain`: of the sheet; the format's rule for folios is kept, a soft one as if hard, and both ways are tried where either
    is unknown. As large as the paper gives: of the divisions with at least as many folios as the format's own size
    gets, in no side smaller, that with the least waste. The others come by how far they are from what was asked for.
    `most_change`: a side may differ by so much of itself. Raises InputError, and ImpossibleJob where nothing is near.
    """
    if not 0 < most_change <= 2:
        raise InputError("most_change", "a share above 0, at most 2", most_change)
    folio = blank_of(format, "folio")
    rules = folio.with_rules(folio.grain_along, None)
    cutter = cutter or Cutter()
    found, own = [], 0
    for turned in (False, True):
        if grain is not None and rules.grain is not None and (rules.grain == grain) == turned:
            continue
        w, h = (folio.height, folio.width) if turned else (folio.width, folio.height)
        own = max(own, ((width + cutter.gutter) // (w + cutter.gutter)) * ((height + cutter.gutter) // (h + cutter.gutter)))
        found += [_division(format, (width, height), (c, r), turned, cutter)
                  for c in range(1, _MOST_DIVISIONS + 1) for r in range(1, _MOST_DIVISIONS + 1)]  # fmt: skip
    near = [d for d in found if d is not None and d.far <= most_change]
    if not near:
        raise ImpossibleJob({folio.name: f"no equal cutting of {show(width)} x {show(height)} gives a book of about this size"})
    best = min((d for d in near if d.larger and d.pieces >= own > 0), key=_first, default=None)
    rest = sorted((d for d in near if d != best), key=lambda d: (d.far, *_first(d)))
    return Sizes(own, best, tuple(rest))


def _first(division: Division) -> tuple[float, float, int, int, bool]:
    return round(division.waste, 6), division.far, division.columns, division.rows, division.turned


def _division(format: Format, sheet: tuple[int, int], counts: tuple[int, int], turned: bool, cutter: Cutter) -> Division | None:
    """One division of the sheet, None where its folios are too small."""
    step = cutter.step or (TICKS_PER_64TH if format.unit == "in" else TICKS_PER_MM // 10)
    across, up = ((side - (n - 1) * cutter.gutter) // n // step * step
                  for side, n in zip(sheet, counts, strict=True))  # fmt: skip
    flat = (up, across) if turned else (across, up)
    folio = next(made for made in reckon(format) if made.material == "folio")
    width = (flat[0] - (folio.width - 2 * format.width)) // 2
    height = flat[1] - (folio.height - format.finished_height)
    if min(width, height) < _LEAST:
        return None
    waste = 1 - counts[0] * counts[1] * across * up / (sheet[0] * sheet[1])
    change = (width / format.width - 1, height / format.finished_height - 1)
    return Division(*counts, turned, width, height, waste, change)
