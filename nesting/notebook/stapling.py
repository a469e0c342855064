"""Where the staples go, and which staple: leg, crown, throat of the stapler.

>>> from nesting.notebook.formats import Format
>>> [place / 8000 for place in places(Format.make("A6", 105, 148))]
[37.0, 111.0]
"""

from __future__ import annotations

import re
from dataclasses import dataclass

from nesting.errors import InputError
from nesting.lengths import TICKS_PER_MM, Unit, parse

from .formats import Format

# What is left of a leg to bend over: 2 to 3 mm (common practice, no source). With 3 mm and sheets of 0.10 mm the leg
# formula gives the capacities in print, 30, 50, 70 and 100 sheets for legs of 6, 8, 10 and 13 mm (dewiki "Heftklammer").
CLINCH = 3 * TICKS_PER_MM
CROWN = 129 * TICKS_PER_MM // 10  # of staples 24/6: dewiki "Heftklammer"; DIN 7405, withdrawn
_UNDER = TICKS_PER_MM // 5  # a leg may be 0.2 mm short of its name (the same)


@dataclass(frozen=True)
class Stapler:
    """A stapler and its staples, in ticks.

    `legs`: of the staples on hand. `throat`: how far in from the edge it reaches; None for no limit. `clinch`: what
    must be left of a leg to bend over. `crown`: the width of a staple.
    """

    legs: tuple[int, ...] = ()
    throat: int | None = None
    clinch: int = CLINCH
    crown: int = CROWN

    def leg_for(self, grip: int) -> int | None:
        """The shortest leg on hand that goes through `grip` and bends over; None where none does."""
        return min((leg for leg in self.legs if leg >= grip + self.clinch), default=None)

    def meets(self, leg: int, grip: int) -> bool:
        """Whether the two bent ends of so long a leg would meet or lie over each other (geometry)."""
        return leg - grip > self.crown // 2


def read_leg(value: object, unit: Unit | None = None, where: str = "leg") -> int:
    """The leg of a staple in ticks, by its length or its name: `24/6` has wire no. 24 and a leg of 6 mm, less 0.2.

    Raises InputError.

    >>> read_leg("24/6") / 8000, read_leg("8 mm") / 8000
    (5.8, 8.0)
    """
    if isinstance(value, bool) or not isinstance(value, str | int | float):
        raise InputError(where, 'a length such as "6 mm", or a name such as "24/6"', value)
    named = re.fullmatch(r"\s*(?:[1-9]\d|\d)\s*/\s*(\d{1,2})\s*", str(value), re.ASCII)
    # 1/4 is a fraction of an inch: a bare one is no name, since no staple has wire no. 1 to 9
    if named and int(str(value).split("/")[0]) >= 10:
        found = int(named.group(1)) * TICKS_PER_MM - _UNDER
    else:
        found = parse(str(value), unit, "down", where)
    if not TICKS_PER_MM < found <= 40 * TICKS_PER_MM:
        raise InputError(where, "a leg from 1 to 40 mm", value)
    return found


def places(format: Format) -> tuple[int, ...]:
    """Middles of the staples in ticks from the finished head: as the format says, else evenly.

    Of n staples the i-th lies at (2i - 1) / 2n of the height: two at a quarter and three quarters (common practice, no
    source).
    """
    if format.staples.at:
        return format.staples.at
    n = format.staples.count
    return tuple((2 * i - 1) * format.finished_height // (2 * n) for i in range(1, n + 1))


def marks(format: Format) -> tuple[int, ...]:
    """The same from the head of the flat book as it is stapled, its head trim still on."""
    return tuple(place + format.trims.head for place in places(format))


def leg_needed(grip: int, clinch: int = CLINCH) -> int:
    """The least leg for a stitch grip: sheets = (leg - clinch) / caliper (medicalalgorithms), turned round."""
    return grip + clinch


def most_folios(leg: int, shell: int, folio: int, clinch: int = CLINCH) -> int:
    """The most folios that a leg goes through beside a cover and card of thickness `shell`.

    >>> most_folios(6 * 8000, 0, 800), most_folios(13 * 8000, 0, 800)
    (30, 100)
    """
    return max(0, (leg - clinch - shell) // folio)
