"""A sheet in stock: what planning needs of it, and all else that a maker wants to know."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from nesting import Sheet
from nesting.lengths import Unit

Kind = Literal["salvaged", "parent", "offcut"]
KINDS: tuple[Kind, ...] = ("salvaged", "parent", "offcut")
MATERIALS = ("cover", "card", "folio")


@dataclass(frozen=True)
class StockSheet:
    """One line of the stock book.

    `sheet` carries id, outline, count and what planning needs; its material says what it serves as: cover
    (decorative paper), card or folio (page paper). `unit` is the one it was measured in; `caliper` is in ticks,
    `grammage` in g/m2, `price` of one sheet in the workshop's money. `parent` is the sheet an offcut came from.
    """

    sheet: Sheet
    kind: Kind = "salvaged"
    unit: Unit = "mm"
    caliper: int | None = None
    grammage: float | None = None
    price: float | None = None
    source: str = ""
    note: str = ""
    takes_glue: bool | None = None
    cracks_at_fold: bool | None = None
    description: str = ""
    parent: str | None = None

    @property
    def id(self) -> str:
        """The sheet's id, unique in the book for ever."""
        return self.sheet.id
