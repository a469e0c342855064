"""What can go wrong with the outside world: storage, and stock that has moved on."""

from __future__ import annotations


class StorageError(Exception):
    """A file, folder or stock book that cannot be read or written; says which and what to do."""


class StockChanged(Exception):
    """A plan whose sheets are no longer as they were when it was made; names the sheet."""
