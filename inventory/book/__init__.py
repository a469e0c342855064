"""The stock book: a ledger of all sheets and what happened to them (design.md section 7)."""

from .cutting import CutResult
from .journal import Entry
from .ledger import Book

__all__ = ["Book", "CutResult", "Entry"]
