"""The bound books under the knife: how many in a lift, the three settings, and what one short book does to the batch.

Order of work: one end of all books, then all to the finished height at one setting, fore-edges last (trade.md section 6,
common practice, no source).
"""

from __future__ import annotations

from dataclasses import dataclass

from nesting.errors import InputError
from nesting.lengths import show

from .allowances import reckon
from .formats import Format


@dataclass(frozen=True)
class Trimming:
    """How a batch is trimmed; lengths in ticks.

    `a_lift`: books a lift; None where the cutter sets no limit. `height`: finished. `first`: the setting of the first
    cut, at the head, for a book as high as reckoned; `short_first`: for the shortest book, where one is shorter.
    `fore_edge`: None where it is not trimmed. `cuts`: of the whole batch.
    """

    books: int
    a_lift: int | None
    lifts: int
    first: int
    height: int
    fore_edge: int | None
    short_first: int | None = None

    @property
    def settings(self) -> tuple[int, ...]:
        """The fence settings in order."""
        return (self.first, self.height, *(() if self.fore_edge is None else (self.fore_edge,)))

    @property
    def cuts(self) -> int:
        """How many times the knife comes down."""
        return len(self.settings) * self.lifts


def lifts(count: int, thickness: int, lift: int | None) -> tuple[int | None, int]:
    """How many of a thickness go into one lift (None: no limit), and how many lifts so many take. Raises InputError.

    >>> lifts(500, 800, 20 * 8000)
    (200, 3)
    """
    if lift is None:
        return None, 1
    a_lift = lift // thickness
    if a_lift < 1:
        raise InputError("cutter, lift", f"at least one piece of {show(thickness)}", show(lift))
    return a_lift, -(-count // a_lift)


def trimming(format: Format, books: int, lift: int | None = None, shortest: int | None = None) -> Trimming:
    """How so many books of a format are trimmed, `lift` being the cutter's highest stack.

    `shortest`: height in ticks of the lowest flat book, where one came out lower: the batch is then trimmed to what that
    book still gives, `least_trim` off its head and tail. Raises InputError where the thickness is not known, or nothing
    is left.
    """
    closed = format.closed_thickness()
    if closed is None:
        raise InputError(f"format {format.name}, caliper", "the caliper of every paper, or the dummy's thickness", "nothing",
                         "Measure ten sheets together, divide by ten.")  # fmt: skip
    if isinstance(books, bool) or not isinstance(books, int) or not 1 <= books <= 1_000_000:
        raise InputError("books", "a whole number from 1 to 1,000,000", books)
    tall = min(made.trued_height for made in reckon(format))
    height, first, short_first = format.finished_height, tall - format.trims.head, None
    if shortest is not None:
        height = min(height, shortest - 2 * format.least_trim)
        if height <= 0:
            raise InputError("shortest", "a book higher than its trims", show(shortest, format.unit))
        if shortest - format.least_trim < first:
            short_first = shortest - format.least_trim
    a_lift, count = lifts(books, closed, lift)
    fore_edge = None if format.turn_in or format.flap else format.width
    return Trimming(books, a_lift, count, first, height, fore_edge, short_first)
