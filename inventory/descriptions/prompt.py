"""Sheets typed line by line at a prompt: each line answered at once, and the last one taken back on request."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from nesting.errors import InputError
from nesting.lengths import Unit

from ..stock import Kind, StockSheet
from .lines import State, is_row, is_silent, read, start, wants_rows


@dataclass(frozen=True)
class Message:
    """What to say to the maker instead of drawing a sheet; `wrong` where the line was not taken."""

    text: str
    wrong: bool = False


class Reader:
    """Reads description lines one by one.

    A line with `squares` waits for its rows; an empty line ends them. A line that is wrong changes nothing.

    >>> reader = Reader(unit="mm")
    >>> [made.id for made in reader.line("1: 420 x 297")]
    ['1']
    >>> reader.undo().text
    'Taken back: 1: 420 x 297'
    """

    def __init__(self, *, unit: Unit | None = None, kind: Kind = "salvaged", material: str | None = None,
                 stock: Iterable[StockSheet] = ()) -> None:  # fmt: skip
        """See `parse_text` for the arguments."""
        self._state = start(unit, {"kind": kind, "material": material}, stock)
        self._before: list[tuple[State, str]] = []
        self._open: str | None = None
        self._rows: list[str] = []

    @property
    def sheets(self) -> tuple[StockSheet, ...]:
        """All sheets taken so far, in order."""
        return self._state.sheets

    @property
    def waits_for_rows(self) -> bool:
        """Whether a sheet in squares is open, so that its next row or an empty line is expected."""
        return self._open is not None

    def line(self, text: str) -> list[StockSheet] | Message:
        """The sheets that a line made, or a message: a header line taken, rows awaited, or what is wrong."""
        if self._open is not None:
            return self._row(text)
        if is_silent(text):
            return Message("")
        if wants_rows(text):
            self._open, self._rows = text, []
            return Message("Now its rows from the top: . good, # bad or gone, * best. An empty line ends them.")
        if is_row(text):
            return Message("Rows of squares belong under a line such as 22: squares 20.", wrong=True)
        return self._take(text, [])

    def undo(self) -> Message:
        """Takes the last line back (of an open sheet in squares: its last row) and says which."""
        if self._open is not None:
            if self._rows:
                return Message(f"Taken back: row {self._rows.pop()}")
            text, self._open = self._open, None
            return Message(f"Taken back: {text.strip()}")
        if not self._before:
            return Message("Nothing to take back.", wrong=True)
        self._state, text = self._before.pop()
        return Message(f"Taken back: {text}")

    def _row(self, text: str) -> list[StockSheet] | Message:
        assert self._open is not None
        if not text.strip():
            opened, rows = self._open, self._rows
            self._open, self._rows = None, []
            return self._take(opened, rows)
        if not is_row(text):
            return Message("Rows have only . # and *; an empty line ends them.", wrong=True)
        if self._rows and len(text.strip()) != len(self._rows[0]):
            return Message(f"The first row has {len(self._rows[0])} squares, this one {len(text.strip())}.", wrong=True)
        self._rows.append(text.strip())
        return Message(f"{len(self._rows)} {'row' if len(self._rows) == 1 else 'rows'}.")

    def _take(self, text: str, rows: list[str]) -> list[StockSheet] | Message:
        number = len(self._before) + 1
        try:
            state, made = read(self._state, text, rows, f"entry {number}")
        except InputError as error:
            return Message(str(error), wrong=True)
        self._before.append((self._state, text.strip()))
        self._state = state
        return list(made) if made else Message(f"From here on: {text.strip()}")
