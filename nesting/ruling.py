"""The ruling of a sheet: where its printed lines (or rows of dots) lie, the same on both faces."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal, get_args

from .errors import InputError
from .lengths import TICKS_PER_MM, Unit, show

RulingKind = Literal["ruled", "dotted", "squared"]
KINDS: tuple[RulingKind, ...] = get_args(RulingKind)
LEAST_PITCH = TICKS_PER_MM
MOST_LINES = 20_000


@dataclass(frozen=True)
class Lines:
    """`count` parallel lines, `pitch` apart, the first in reading order of the axis at `low`; all in ticks."""

    low: int
    pitch: int
    count: int

    @property
    def high(self) -> int:
        """The last line."""
        return self.low + (self.count - 1) * self.pitch

    def between(self, start: int, end: int) -> tuple[int, ...]:
        """The lines strictly between two positions: one on a cut edge is trimmed away with it.

        >>> Lines(10, 5, 4).between(10, 25)
        (15, 20)
        """
        first = max(0, (start - self.low) // self.pitch + 1)
        last = min(self.count, -((self.low - end) // self.pitch))
        return tuple(self.low + k * self.pitch for k in range(first, last))


@dataclass(frozen=True)
class Ruling:
    """Lines in sheet coordinates: `rows` run across (their y), `columns` run up (their x); None where there are none.

    Squared and dotted stock has both, or columns None where they were not measured.
    """

    kind: RulingKind
    rows: Lines | None = None
    columns: Lines | None = None

    def __post_init__(self) -> None:
        """Check the lines. Raises InputError."""
        if self.kind not in KINDS:
            raise InputError("ruling, kind", "ruled, dotted or squared", self.kind)
        if self.rows is None and (self.columns is None or self.kind != "ruled"):
            raise InputError("ruling", "lines across or up", "none")
        if self.kind == "ruled" and self.rows is not None and self.columns is not None:
            raise InputError("ruling", "lines one way; both ways is squared", "both ways")
        for lines in (self.rows, self.columns):
            if lines is not None:
                _checked(lines)

    @property
    def up(self) -> Literal["+y", "-x"] | None:
        """Where the head of the ruling points: rows are read from the top, columns from the left; squares any way."""
        if self.kind != "ruled":
            return None
        return "-x" if self.rows is None else "+y"

    @classmethod
    def of(cls, kind: RulingKind, width: int, height: int, pitch: int, first: int, *, up: bool = False, left: int | None = None,
           lines: int | None = None, where: str = "ruling") -> Ruling:  # fmt: skip
        """The ruling of a sheet of this size, all in ticks. Raises InputError.

        `first`: the first line below the head edge: the top, or with `up` (lines that run up) the left edge. `left`: the
        first column of squared and dotted stock from the left. `lines`: how many; None: as many as there is room for.

        >>> Ruling.of("ruled", 210 * 8000, 297 * 8000, 8 * 8000, 25 * 8000).rows
        Lines(low=0, pitch=64000, count=35)
        """
        if pitch < LEAST_PITCH:
            raise InputError(f"{where}, pitch", f"{show(LEAST_PITCH)} or more from line to line", show(pitch))
        along = width if up else height
        if not 0 <= first < along:
            side = "width" if up else "height"
            raise InputError(f"{where}, first", f"less than the sheet's {side}, {show(along)}", show(first),
                             "First is the distance of the first line from the head edge.")  # fmt: skip
        room = (along - first) // pitch + 1
        if lines is not None and not 1 <= lines <= room:
            raise InputError(f"{where}, lines", f"from 1 to the {room} that the sheet has room for", str(lines))
        count = room if lines is None else lines
        if up:
            return cls(kind, None, Lines(first, pitch, count))
        columns = None
        if left is not None:
            if kind == "ruled":
                raise InputError(f"{where}, left", "no left for stock ruled one way; squared and dotted have columns", show(left))
            if not 0 <= left < width:
                raise InputError(f"{where}, left", f"less than the sheet's width, {show(width)}", show(left))
            columns = Lines(left, pitch, (width - left) // pitch + 1)
        return cls(kind, Lines(height - first - (count - 1) * pitch, pitch, count), columns)

    def moved(self, x: int, y: int) -> Ruling:
        """The same lines seen from another zero, which lies at (x, y)."""
        rows = None if self.rows is None else Lines(self.rows.low - y, self.rows.pitch, self.rows.count)
        columns = None if self.columns is None else Lines(self.columns.low - x, self.columns.pitch, self.columns.count)
        return Ruling(self.kind, rows, columns)

    def text(self, unit: Unit = "mm") -> str:
        """In words: `ruled across, 8 mm`."""
        lines = self.rows or self.columns
        assert lines is not None
        way = "" if self.kind != "ruled" else " across" if self.rows else " up"
        return f"{self.kind}{way}, {show(lines.pitch, unit)}"


def _checked(lines: Lines) -> None:
    for name in ("low", "pitch", "count"):
        value = getattr(lines, name)
        if isinstance(value, bool) or not isinstance(value, int):
            raise InputError(f"ruling, {name}", "a whole number", value)
    if lines.pitch < LEAST_PITCH:
        raise InputError("ruling, pitch", f"{show(LEAST_PITCH)} or more from line to line", show(lines.pitch))
    if not 1 <= lines.count <= MOST_LINES:
        raise InputError("ruling, count", f"from 1 to {MOST_LINES:,} lines", lines.count)
