"""How many books a ream of each paper gives, its grain right or not.

>>> from nesting.notebook.reams import Paper
>>> Paper.standard("letter").name
'letter'
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass, replace
from typing import Any, Literal

from nesting.blanks import Blank
from nesting.cutters import Cutter
from nesting.errors import ImpossibleJob, InputError
from nesting.lengths import mm
from nesting.sheets import Grain, Sheet

from .allowances import blank_of
from .formats import Format
from .paper import REAM
from .ruled import on_ruled, pieces_that_meet
from .sizes import Size, bought_sizes, find

# As nesting.fill: sheet, blanks, cutter, seconds.
FillCall = Callable[..., Any]
GrainWay = Literal["long", "short", "any"]


@dataclass(frozen=True)
class Paper:
    """A paper to cut folios from: one sheet, whether it is in stock, and how many of it.

    The sheet's grain may be None: then both ways are reckoned.
    """

    name: str
    sheet: Sheet
    bought: bool = False
    in_stock: int | None = None

    @classmethod
    def standard(cls, size: str | Size) -> Paper:
        """A standard size, edges true, grain either way. Raises InputError for a name that is not known."""
        size = find(size) if isinstance(size, str) else size
        return cls.of_sides(size.name, size.width, size.height)

    @classmethod
    def of_sides(cls, name: str, width: int, height: int) -> Paper:
        """A paper of these sides in ticks, edges true, grain either way."""
        return cls(name, Sheet.rectangle(name, mm(width), mm(height), true_edges="all", material="folio"))


@dataclass(frozen=True)
class ReamRow:
    """What a count of one paper gives, with its grain one way.

    `grain`: along the "long" or "short" side, or "any" where the format has no grain rule. `grain_known`: it is the
    paper's own, not a question. `books_in_stock`: from all of it that is in stock. `pieces`: folios a sheet, grain
    right; `pieces_any`: without the rule. `waste`: share of a sheet's area that no folio gets (room for the true-up
    counts as folio). `proven`: no layout gives more, with the rule or without.
    """

    paper: str
    bought: bool
    in_stock: int | None
    books_in_stock: int | None
    width: int
    height: int
    grain: GrainWay
    grain_known: bool
    count: int
    pieces: int
    pieces_any: int
    books: int
    books_any: int
    sheets_used: int
    sheets_over: int
    folios_over: int
    waste: float
    waste_any: float
    proven: bool

    @property
    def needs_wrong_grain(self) -> bool:
        """Whether turning folios against the grain rule would give more of them."""
        return self.pieces_any > self.pieces


def bought_standards() -> tuple[Paper, ...]:
    """Every standard size that paper is sold in."""
    return tuple(Paper.standard(size) for size in bought_sizes())


def books_from(pieces: int, folios: int, count: int) -> tuple[int, int, int]:
    """Books from so many sheets, sheets they use, and folios left on used sheets (whole sheets only).

    >>> books_from(2, 12, 500), books_from(1, 12, 500)
    ((83, 498, 0), (41, 492, 0))
    """
    books = pieces * count // folios
    if books == 0:
        return 0, 0, 0
    used = -(-books * folios // pieces)
    return books, used, used * pieces - books * folios


def ream_rows(format: Format, papers: Iterable[Paper], count: int = REAM, *, cutter: Cutter | None = None,
              seconds: float = 5.0, fill: FillCall | None = None) -> tuple[ReamRow, ...]:  # fmt: skip
    """One row for each paper and way of its grain, least waste first, then by name.

    `count`: sheets, any number: a ream with 495 usable sheets is normal. `seconds`: at most, for one sheet. `fill`
    stands in for `nesting.fill`. A paper too small for a folio gives a row with no pieces. Raises InputError.
    """
    if isinstance(count, bool) or not isinstance(count, int) or not 1 <= count <= 10_000_000:
        raise InputError("count", "a whole number of sheets from 1 to 10,000,000", count)
    if fill is None:
        from nesting import fill as search

        fill = search
    rows: list[ReamRow] = []
    for paper in papers:
        sheet = replace(paper.sheet, count=1, cost=None, material="folio")
        folio = on_ruled(format, blank_of(format, "folio"), [sheet])
        ruled, free = folio.with_rules(folio.grain_along, folio.up), folio.with_rules(None, folio.up)  # soft is told as if hard
        most, most_proven = _pieces(fill, sheet, free, cutter, seconds)
        for grain, known in _ways(sheet, ruled):
            pieces, proven = most, most_proven
            if ruled.grain is not None and most:
                pieces, proven = _pieces(fill, replace(sheet, grain=grain), ruled, cutter, seconds)
            rows.append(_row(format, paper, ruled, _way(sheet, grain, ruled), known, count, pieces, most, proven and most_proven))
    return tuple(sorted(rows, key=lambda row: (row.waste, row.paper, row.grain)))


def _ways(sheet: Sheet, blank: Blank) -> list[tuple[Grain | None, bool]]:
    """The grains to reckon with, and whether each is known."""
    x0, y0, x1, y1 = sheet.box
    if blank.grain is None or sheet.grain is not None:
        return [(sheet.grain, True)]
    if x1 - x0 == y1 - y0 and sheet.is_clear_rectangle:
        return [("y", False)]  # alike both ways
    return [("x", False), ("y", False)]


def _way(sheet: Sheet, grain: Grain | None, blank: Blank) -> GrainWay:
    if blank.grain is None or grain is None:
        return "any"
    x0, y0, x1, y1 = sheet.box
    along, across = (x1 - x0, y1 - y0) if grain == "x" else (y1 - y0, x1 - x0)
    return "long" if along >= across else "short"


def _pieces(fill: FillCall, sheet: Sheet, blank: Blank, cutter: Cutter | None, seconds: float) -> tuple[int, bool]:
    """The most folios of one sheet that were found, and whether that is proven."""
    if blank.lines_meet:
        return pieces_that_meet(sheet, blank, cutter)
    x0, y0, x1, y1 = sheet.box
    turns = blank.turns_on(sheet)
    if sheet.is_clear_rectangle and not any(w <= x1 - x0 and h <= y1 - y0 for w, h in map(blank.size, turns)):
        return 0, True
    try:
        found = fill(sheet, [blank], cutter=cutter, seconds=seconds, frames="square")  # a ream is cut square to its edges
    except ImpossibleJob:
        return 0, True
    return (found.layout.counts().get(blank.name, 0) if found.layout else 0), bool(found.proven)


def _row(format: Format, paper: Paper, blank: Blank, grain: GrainWay, known: bool, count: int, pieces: int, most: int,
         proven: bool) -> ReamRow:  # fmt: skip
    x0, y0, x1, y1 = paper.sheet.box
    most = max(most, pieces)  # a search cut short may find fewer where it may do more
    books, used, folios_over = books_from(pieces, format.folios, count)
    area2, blank2 = paper.sheet.area2, 2 * blank.width * blank.height
    at_hand = None if paper.in_stock is None else books_from(pieces, format.folios, paper.in_stock)[0]
    return ReamRow(paper.name, paper.bought, paper.in_stock, at_hand, x1 - x0, y1 - y0, grain, known, count, pieces, most, books,
                   books_from(most, format.folios, count)[0], used, count - used, folios_over,
                   1 - pieces * blank2 / area2, 1 - most * blank2 / area2, proven)  # fmt: skip
