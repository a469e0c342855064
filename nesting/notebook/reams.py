"""How many books a ream of each paper gives, its grain right or not.

>>> from nesting.notebook.reams import Paper
>>> Paper.standard("letter").name
'letter'
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, field, replace
from typing import Any, Literal

from nesting.blanks import Blank
from nesting.cutters import Cutter
from nesting.errors import ImpossibleJob, InputError
from nesting.layouts import Layout
from nesting.lengths import mm
from nesting.programme.stacking import cuts_with_stacking
from nesting.sheets import Grain, Sheet

from .allowances import blank_of
from .formats import Format
from .paper import REAM
from .ruled import on_ruled, pieces_that_meet
from .sizes import Size, bought_sizes, find

REFINE_STEPS = 400_000  # decisions on a damaged sheet, as nesting.fill has them
# As nesting.fill: sheet, blanks, cutter, seconds.
FillCall = Callable[..., Any]
GrainWay = Literal["long", "short", "any"]


@dataclass(frozen=True)
class Paper:
    """A paper to cut folios from: one sheet, whether it is in stock, and how many of it.

    The sheet's grain may be None: then both ways are reckoned. `price` of one sheet in the workshop's money, `caliper` in
    ticks, where known.
    """

    name: str
    sheet: Sheet
    bought: bool = False
    in_stock: int | None = None
    price: float | None = None
    caliper: int | None = None

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
    counts as folio). `sheets_short`: more sheets that the next book takes. `cuts`: pulls of the lever for one lift, equal strips
    cut as one stack; `lifts`: stacks that the cutter takes at once. `price`: of one book's pages, all sheets used paid for.
    `proven`: no layout with cuts square to the sheet gives more, with the rule or without. `layout`: of one sheet.
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
    sheets_short: int | None
    cuts: int
    lifts: int | None
    price: float | None
    proven: bool
    layout: Layout | None = field(default=None, compare=False, repr=False)

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


def checked_count(count: object) -> None:
    """Raises InputError for what is no number of sheets."""
    if isinstance(count, bool) or not isinstance(count, int) or not 1 <= count <= 10_000_000:
        raise InputError("count", "a whole number of sheets from 1 to 10,000,000", count)


def sheets_for(pieces: int, folios: int, count: int) -> int | None:
    """Sheets beside these that the next book takes; None where a sheet gives nothing.

    >>> sheets_for(2, 12, 500), sheets_for(1, 12, 500), sheets_for(0, 12, 500)
    (4, 4, None)
    """
    if pieces == 0:
        return None
    books = pieces * count // folios
    return -(-(books + 1) * folios // pieces) - count


def lifts_of(sheets: int, caliper: int | None, cutter: Cutter | None) -> int | None:
    """Stacks that the cutter takes at once (trade.md T43); None where caliper or lift is not known."""
    if caliper is None or cutter is None or not cutter.lift:
        return None
    a_lift = cutter.lift // caliper
    return -(-sheets // a_lift) if a_lift else None


def ream_rows(format: Format, papers: Iterable[Paper], count: int = REAM, *, cutter: Cutter | None = None,
              seconds: float = 5.0, fill: FillCall | None = None, bare: bool = False) -> tuple[ReamRow, ...]:  # fmt: skip
    """One row for each paper and way of its grain, least waste first, then by name.

    `count`: sheets, any number: a ream with 495 usable sheets is normal. `seconds`: at most, for one sheet. `fill`
    stands in for `nesting.fill`. `bare`: in less time, without layouts and cuts, and without a look at the wrong grain. A paper
    too small for a folio gives a row with no pieces. Raises InputError.
    """
    checked_count(count)
    if fill is None:
        from nesting.search.arguments import checked_cutter
        from nesting.search.kernels import warm

        cutter = checked_cutter(cutter)
        warm(lambda _: None)
    rows: list[ReamRow] = []
    for paper in papers:
        sheet = replace(paper.sheet, count=1, cost=None, material="folio")
        folio = on_ruled(format, blank_of(format, "folio"), [sheet])
        ruled, free = folio.with_rules(folio.grain_along, folio.up), folio.with_rules(None, folio.up)  # soft is told as if hard
        ruling = ruled.grain is not None
        any_way = None if bare and ruling else _asked(fill, sheet, free, cutter, seconds, not ruling and not bare)
        for grain, known in ways(sheet, (ruled,)):
            right = any_way
            if right is None or (ruling and right.pieces):
                right = _asked(fill, replace(sheet, grain=grain), ruled, cutter, seconds, not bare)
            along = way(sheet, grain, (ruled,))
            rows.append(_row(format, paper, ruled, along, known, count, right, any_way or right, cutter))
    return tuple(sorted(rows, key=lambda row: (row.waste, row.paper, row.grain)))


def ways(sheet: Sheet, blanks: Sequence[Blank]) -> list[tuple[Grain | None, bool]]:
    """The grains to reckon with for blanks of these rules, and whether each is known."""
    x0, y0, x1, y1 = sheet.box
    if all(b.grain is None for b in blanks) or sheet.grain is not None:
        return [(sheet.grain, True)]
    if x1 - x0 == y1 - y0 and sheet.is_clear_rectangle:
        return [("y", False)]  # alike both ways
    return [("x", False), ("y", False)]


def way(sheet: Sheet, grain: Grain | None, blanks: Sequence[Blank]) -> GrainWay:
    """The side that the grain runs along; "any" where no blank has a grain rule."""
    if all(b.grain is None for b in blanks) or grain is None:
        return "any"
    x0, y0, x1, y1 = sheet.box
    along, across = (x1 - x0, y1 - y0) if grain == "x" else (y1 - y0, x1 - x0)
    return "long" if along >= across else "short"


@dataclass(frozen=True)
class _Sheet:
    """What one sheet gives of a blank: the most found, whether that is proven, and the layout where it was asked for."""

    pieces: int = 0
    proven: bool = True
    layout: Layout | None = None


def _asked(fill: FillCall | None, sheet: Sheet, blank: Blank, cutter: Cutter | None, seconds: float, drawn: bool) -> _Sheet:
    """The most of a blank from one sheet, by `fill` or by the search of one sheet, which makes a layout only where `drawn`."""
    if blank.lines_meet:
        return _Sheet(*pieces_that_meet(sheet, blank, cutter))
    x0, y0, x1, y1 = sheet.box
    if sheet.is_clear_rectangle and not any(w <= x1 - x0 and h <= y1 - y0 for w, h in map(blank.size, blank.turns_on(sheet))):
        return _Sheet()
    if fill is None:
        return _searched(sheet, blank, cutter, seconds, drawn)
    try:
        found = fill(sheet, [blank], cutter=cutter, seconds=seconds)
    except ImpossibleJob:
        return _Sheet()
    return _Sheet(found.layout.counts().get(blank.name, 0) if found.layout else 0, bool(found.proven), found.layout)


def _searched(sheet: Sheet, blank: Blank, cutter: Cutter | None, seconds: float, drawn: bool) -> _Sheet:
    from nesting.search.budget import Budget
    from nesting.search.building import build
    from nesting.search.sheet.single import Single

    single = Single(sheet, [blank], cutter, "square", seconds)  # a ream is cut square to its edges
    if not single.possible():
        return _Sheet()
    found = single.best([1], Budget(seconds, None), REFINE_STEPS)
    layout = build(found.ground, found.tree, cutter, (blank.width, blank.height)) if drawn and found.ground else None
    return _Sheet(found.value, found.value == found.bound, layout)


def _row(format: Format, paper: Paper, blank: Blank, grain: GrainWay, known: bool, count: int, right: _Sheet, any_way: _Sheet,
         cutter: Cutter | None) -> ReamRow:  # fmt: skip
    x0, y0, x1, y1 = paper.sheet.box
    pieces, most = right.pieces, max(right.pieces, any_way.pieces)  # a search cut short may find fewer where it may do more
    books, used, folios_over = books_from(pieces, format.folios, count)
    area2, blank2 = paper.sheet.area2, 2 * blank.width * blank.height
    at_hand = None if paper.in_stock is None else books_from(pieces, format.folios, paper.in_stock)[0]
    return ReamRow(
        paper.name, paper.bought, paper.in_stock, at_hand, x1 - x0, y1 - y0, grain, known, count, pieces, most, books,
        books_from(most, format.folios, count)[0], used, count - used, folios_over, 1 - pieces * blank2 / area2,
        1 - most * blank2 / area2, sheets_for(pieces, format.folios, count),
        cuts_with_stacking(right.layout) if right.layout is not None and pieces else 0, lifts_of(used, paper.caliper, cutter),
        paper.price * used / books if paper.price is not None and books else None, right.proven and any_way.proven,
        right.layout)  # fmt: skip
