"""Everything that touches the world: the stock book, sheet descriptions and tables, jobs, the command."""

from .errors import StockChanged, StorageError

__all__ = ["StockChanged", "StorageError"]
