"""Several formats from one ream: the most books of each, or of all, when sheets may be cut in different ways.

>>> from nesting.notebook.formats import Format
>>> from nesting.notebook.reams import Paper
>>> row = mix_rows([Format.make("A6", 105, 148), Format.make("A7", 74, 105)], [Paper.standard("SRA3")], 500)[0]
>>> row.rounds, row.books, row.proven
(83, (83, 84), True)
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING

from nesting.blanks import Blank
from nesting.cutters import Cutter
from nesting.errors import InputError
from nesting.layouts import Layout
from nesting.programme.stacking import cuts_with_stacking
from nesting.sheets import Sheet

from .allowances import blank_of
from .formats import Format
from .paper import REAM
from .reams import GrainWay, Paper, checked_count, lifts_of, way, ways
from .ruled import on_ruled

if TYPE_CHECKING:
    from nesting.search.mixing import Book

MOST_FORMATS = 12
MOST_SHARE = 1_000


@dataclass(frozen=True)
class MixRow:
    """What a count of one paper gives of all formats together, with its grain one way.

    `rounds`: how often the shares of the formats are whole, the most there can be; `books`: of each format, with what else
    the sheets give. `layouts`: each with its copies, the most copies first. `waste`: share of the area of the sheets used that
    no book gets. `sheets_short`: more sheets that are enough for one round more (one book more without shares). `cuts`: pulls of
    the lever for a lift of each layout. `price`: of one book's pages on average, all sheets used paid for. `proven`: nothing
    gives more rounds, or as many and more books.
    """

    paper: str
    bought: bool
    in_stock: int | None
    width: int
    height: int
    grain: GrainWay
    grain_known: bool
    count: int
    rounds: int
    books: tuple[int, ...]
    rounds_most: int
    books_most: int
    sheets_used: int
    sheets_over: int
    sheets_short: int | None
    waste: float
    cuts: int
    lifts: int | None
    price: float | None
    proven: bool
    layouts: tuple[Layout, ...] = field(default=(), compare=False, repr=False)


def mix_rows(formats: Sequence[Format], papers: Iterable[Paper], count: int = REAM, shares: Sequence[int] | None = None, *,
             cutter: Cutter | None = None) -> tuple[MixRow, ...]:  # fmt: skip
    """One row for each paper and way of its grain that gives all formats that have a share, least waste first, then by name.

    A ruled paper on which lines must meet is left out: layouts of several formats are not searched for that. `shares`: books of
    each format in one round, by default one; all 0 for the most books whichever they are. Raises InputError.
    """
    from nesting.search.arguments import checked_cutter
    from nesting.search.kernels import warm
    from nesting.search.mixing import Book

    checked_count(count)
    if not 1 <= len(formats) <= MOST_FORMATS:
        raise InputError("formats", f"from 1 to {MOST_FORMATS} formats", len(formats))
    names = [f.name for f in formats]
    if len(set(names)) < len(names):
        twice = next(name for name in names if names.count(name) > 1)
        raise InputError("formats", "names that differ", f"two named {twice!r}", "Name it once.")
    parts = [1] * len(formats) if shares is None else list(shares)
    if len(parts) != len(formats) or any(not isinstance(s, int) or not 0 <= s <= MOST_SHARE for s in parts):
        raise InputError("shares", f"a whole number from 0 to {MOST_SHARE:,} for each of {len(formats)} formats", parts)
    cutter = checked_cutter(cutter)
    warm(lambda _: None)
    rows = []
    for paper in papers:
        sheet = replace(paper.sheet, count=1, cost=None, material="folio")
        blanks, books = _kinds(formats, sheet)
        if any(b.lines_meet for b in blanks):
            continue
        wanted = [Book(k, f.folios, s) for k, f, s in zip(books, formats, parts, strict=True)]
        for grain, known in ways(sheet, blanks):
            row = _row(paper, replace(sheet, grain=grain), way(sheet, grain, blanks), known, count, blanks, wanted, cutter)
            if row is not None:
                rows.append(row)
    return tuple(sorted(rows, key=lambda row: (row.waste, row.paper, row.grain)))


def _kinds(formats: Sequence[Format], sheet: Sheet) -> tuple[list[Blank], list[int]]:
    """The different folio blanks, and which each format takes: formats of one size share their sheets' pieces."""
    kinds: dict[tuple[object, ...], int] = {}
    blanks: list[Blank] = []
    books: list[int] = []
    for format in formats:
        folio = on_ruled(format, blank_of(format, "folio"), [sheet])
        ruled = folio.with_rules(folio.grain_along, folio.up)  # a soft rule is told as if hard
        key = (ruled.width, ruled.height, ruled.turns, ruled.grain, ruled.up)
        if key not in kinds:
            kinds[key] = len(blanks)
            blanks.append(ruled)
        books.append(kinds[key])
    return blanks, books


def _row(paper: Paper, sheet: Sheet, grain: GrainWay, known: bool, count: int, blanks: Sequence[Blank], wanted: Sequence[Book],
         cutter: Cutter | None) -> MixRow | None:  # fmt: skip
    from nesting.search.building import build
    from nesting.search.mixing import mix
    from nesting.search.sheet.single import Single

    single = Single(sheet, blanks, cutter, "square")  # a ream is cut square to its edges
    found = mix(single, wanted, count)
    if not any(found.books):
        return None
    small = min(blanks, key=lambda b: b.width * b.height)
    layouts = tuple(build(c.ground, c.tree, cutter, (small.width, small.height), copies=c.copies) for c in found.cuttings)
    used = found.sheets
    in_books = sum(n * b.pieces * 2 * blanks[b.blank].width * blanks[b.blank].height
                   for n, b in zip(found.books, wanted, strict=True))  # fmt: skip
    x0, y0, x1, y1 = sheet.box
    return MixRow(
        paper.name, paper.bought, paper.in_stock, x1 - x0, y1 - y0, grain, known, count, found.rounds, found.books,
        found.rounds_most, found.books_most, used, count - used, found.one_more, 1 - in_books / (used * sheet.area2),
        sum(map(cuts_with_stacking, layouts)), lifts_of(used, paper.caliper, cutter),
        paper.price * used / sum(found.books) if paper.price is not None else None, found.proven, layouts)  # fmt: skip
