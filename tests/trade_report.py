"""The rows of `test_trade_table`, as they were computed in this run, for the end of the test report."""

from __future__ import annotations

HEAD = ("row", "what", "expected", "found", "source", "flag", "")
ROWS: list[tuple[str, ...]] = []


def table() -> list[str]:
    """The rows as lines in columns, none where the table was not run."""
    if not ROWS:
        return []
    rows = [HEAD, *sorted(set(ROWS))]
    wide = [max(len(row[i]) for row in rows) for i in range(len(HEAD))]
    return ["  ".join(cell.ljust(w) for cell, w in zip(row, wide, strict=True)).rstrip() for row in rows]
