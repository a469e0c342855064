"""How many folios are in this heap: counting by weight.

>>> SetWeight(12, 2.1725).text()
'12 folios weigh 26.1 g as cut (24.8 to 27.4 g by the label: weigh one counted set); one missing shows as 2.2 g'
"""

from __future__ import annotations

from dataclasses import dataclass

TOLERANCE = 0.05  # of the grammage on a label: book, bond and copier paper (JCP A55, O-63)
_SETTLED = 0.01  # sets of one parcel differ by less: common practice, no source


@dataclass(frozen=True)
class SetWeight:
    """The folios of one book: how many, and the mass of one in g by the grammage on the label."""

    folios: int
    one: float

    @property
    def total(self) -> float:
        """Mass of the set in g."""
        return self.folios * self.one

    @property
    def label_range(self) -> tuple[float, float]:
        """The least and most that the set may weigh if the label's grammage is kept (5 %, JCP A55, O-63)."""
        return self.total * (1 - TOLERANCE), self.total * (1 + TOLERANCE)

    @property
    def tells_one(self) -> bool:
        """Whether one folio more or less shows, by a set that was counted: half of it above the spread of a parcel."""
        return self.folios * _SETTLED < 0.5

    def count(self, grams: float) -> int:
        """How many folios a heap of so many g has, to the nearest.

        >>> SetWeight(12, 2.1725).count(23.9)
        11
        """
        return round(grams / self.one)

    def text(self) -> str:
        """What a maker reads."""
        least, most = self.label_range
        if self.folios == 1:
            return f"a folio weighs {self.one:.1f} g as cut ({least:.1f} to {most:.1f} g by the label)"
        shows = f"one missing shows as {self.one:.1f} g"
        if not self.tells_one:
            shows = "too many to tell one missing: weigh smaller heaps"
        return (f"{self.folios} folios weigh {self.total:.1f} g as cut ({least:.1f} to {most:.1f} g by the label: weigh one "
                f"counted set); {shows}")  # fmt: skip
