"""What reading a file gives: the sheets that were understood, and each line that was not, beside its reason."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from ..stock import StockSheet


@dataclass(frozen=True)
class RowFault:
    """A line (or the row of a table) that became no sheet: its number, its text, and a sentence why.

    `cells` holds the row's cells by column, for tables only.
    """

    line: int
    text: str
    reason: str
    cells: tuple[tuple[str, str], ...] = ()


@dataclass(frozen=True)
class Reading:
    """The sheets read, in order, and the faults, in order; `place` says what a fault's number counts."""

    sheets: tuple[StockSheet, ...]
    faults: tuple[RowFault, ...]
    place: Literal["line", "row"] = "line"

    @property
    def sentences(self) -> tuple[str, ...]:
        """One sentence a fault, with its line or row number, for the maker."""
        return tuple(f"{self.place} {fault.line}: {fault.reason}" for fault in self.faults)
