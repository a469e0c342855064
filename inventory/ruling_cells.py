"""The lines of ruled stock in a table's cell, in mm: `ruled rows 0 8 35` is the lowest line, the pitch and how many."""

from __future__ import annotations

import re
from typing import cast

from nesting.errors import InputError
from nesting.lengths import exact, number, rounded
from nesting.ruling import KINDS, Lines, Ruling, RulingKind

_LENGTH = r"[-−]?(?:\d+(?:[.,]\d*)?|[.,]\d+)"
_LINES = rf"\s+({_LENGTH})\s+({_LENGTH})\s+(\d{{1,5}})"
_CELL = re.compile(rf"({'|'.join(KINDS)})(?:\s+rows{_LINES})?(?:\s+columns{_LINES})?", re.ASCII | re.IGNORECASE)


def ruling_cell(ruling: Ruling) -> str:
    """The cell of a ruling; reading it back gives the same."""
    named = (("rows", ruling.rows), ("columns", ruling.columns))
    said = [f"{name} {number(lines.low)} {number(lines.pitch)} {lines.count}" for name, lines in named if lines]
    return " ".join([ruling.kind, *said])


def read_ruling(cell: str) -> Ruling | None:
    """The ruling of a cell, None for an empty one. Raises InputError."""
    text = cell.strip()
    if not text:
        return None
    found = _CELL.fullmatch(text)
    if not found:
        raise InputError("ruling_mm", "ruled rows 0 8 35 (lowest line, pitch, how many), or columns, or both", text)
    kind, *values = found.groups()
    return Ruling(cast(RulingKind, kind.lower()), _lines(values[:3]), _lines(values[3:]))


def _lines(values: list[str]) -> Lines | None:
    if values[0] is None:
        return None
    low, pitch = (rounded(exact(value.lstrip("-−"), "mm", "ruling_mm"), "near") for value in values[:2])
    return Lines(-low if values[0][0] in "-−" else low, pitch, int(values[2]))
