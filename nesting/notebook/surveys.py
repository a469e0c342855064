"""Which finished size suits the stock: books from covers, card and pages for many sizes of one format.

Every sheet is asked for every size (`search.counting`); soft rules of grain and print are left out, as a maker who looks for
a size may give way on them. Sizes come coarse first, so that a survey stopped early has looked all over the range.

>>> import nesting
>>> from nesting.notebook.formats import Format
>>> stock = [nesting.Sheet.rectangle("c", 400, 300, count=10, material="cover")]
>>> found = survey(Format.make("trial", 90, 140), [(90 * 8000, 140 * 8000), (100 * 8000, 140 * 8000)], stock)
>>> [(row.covers, row.pages, row.books) for row in found.rows]
[(40, None, 40), (30, None, 30)]
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from concurrent.futures import Executor
from dataclasses import dataclass, replace
from itertools import pairwise

from nesting.blanks import Blank
from nesting.cutters import Cutter
from nesting.errors import InputError
from nesting.lengths import show
from nesting.search.budget import Budget
from nesting.search.counting import Count, Counting
from nesting.sheets import Sheet

from .allowances import blank_of
from .formats import MATERIALS, Format, Material
from .ruled import on_ruled, pieces_that_meet

MOST_SIZES = 2_000
MOST_LISTED = 12
Sides = tuple[int, int]
Tell = Callable[[int, int], None]  # sizes done, of all


@dataclass(frozen=True)
class SurveyRow:
    """One finished size in ticks and what the stock gives at it.

    `covers`, `card`, `pages`: books that this material alone would allow; None where it sets no limit. `books`: complete
    ones. `covers_most`: no more covers can be had in the directions tried. `waste`: share of the cover paper's area that
    no cover gets, trims counted as cover. `evenness`: the least limit over the largest: 1 where all run out together. `proven`:
    no more books can be had in these directions.
    """

    width: int
    height: int
    covers: int | None
    covers_most: int
    card: int | None
    pages: int | None
    books: int
    waste: float
    evenness: float
    proven: bool

    @property
    def area(self) -> int:
        """Of the finished page, in square ticks."""
        return self.width * self.height

    @property
    def limited_by(self) -> tuple[Material, ...]:
        """The materials that run out first."""
        limits: dict[Material, int | None] = {"cover": self.covers, "card": self.card, "folio": self.pages}
        return tuple(m for m in MATERIALS if limits[m] == self.books)

    def _merits(self) -> tuple[float, ...]:
        return self.area, self.books, -round(self.waste, 4), round(self.evenness, 4)

    def beats(self, other: SurveyRow) -> bool:
        """Whether it is nowhere worse (page, books, waste, evenness) and somewhere better."""
        pairs = list(zip(self._merits(), other._merits(), strict=True))
        return all(a >= b for a, b in pairs) and any(a > b for a, b in pairs)


@dataclass(frozen=True)
class Survey:
    """The sizes looked at, by height and width; `of`: how many were asked for. `stopped`: "user", "time", or "" when whole.

    `reckoned`: the materials that set a limit. `searched`: sheets searched; `asked`: answers needed, the rest was known from
    other sizes. `no_grain`: ids of sheets that give nothing because their grain is not known.
    """

    format: Format
    rows: tuple[SurveyRow, ...]
    of: int
    stopped: str
    reckoned: tuple[Material, ...]
    searched: int
    asked: int
    no_grain: tuple[str, ...]


def sizes_between(low: Sides, high: Sides, step: int) -> list[Sides]:
    """Every size from low to high, a step apart on each side. Raises InputError where they are too many or none.

    >>> len(sizes_between((80, 120), (100, 140), 10))
    9
    """
    if step <= 0:
        raise InputError("step", "a length above 0", show(step))
    for side, a, b in (("width", low[0], high[0]), ("height", low[1], high[1])):
        if not 0 < a <= b:
            raise InputError(side, "a range from a length above 0 to a larger one", f"{show(a)} to {show(b)}")
    across, up = ((b - a) // step + 1 for a, b in zip(low, high, strict=True))
    if across * up > MOST_SIZES:
        raise InputError("step", f"at most {MOST_SIZES:,} sizes", f"{across * up:,}", "Take a larger step or a narrower range.")
    return [(low[0] + i * step, low[1] + j * step) for j in range(up) for i in range(across)]


def survey(format: Format, sizes: Sequence[Sides], sheets: Sequence[Sheet], *, cutter: Cutter | None = None,
           frames: object = "auto", seconds: float | None = None, executor: Executor | None = None,
           progress: Tell | None = None) -> Survey:  # fmt: skip
    """What the sheets (their counts heeded) give at each finished size in ticks, all else as in the format.

    `executor`: sheets are independent work, the answers are the same with any. `seconds`: no size is begun after them. Ctrl-C
    ends it likewise and keeps the sizes that are whole. Raises InputError for sizes that the format cannot have, and where
    there is no sheet of cover paper.
    """
    wanted = list(dict.fromkeys(sizes))
    if not 1 <= len(wanted) <= MOST_SIZES:
        raise InputError("sizes", f"from 1 to {MOST_SIZES:,} sizes", f"{len(wanted):,}")
    formats = {size: _sized(format, size) for size in wanted}
    used = [m for m in MATERIALS if format.per_book(m)]
    kinds = [_Kind(m, [s for s in sheets if s.material == m], formats[wanted[0]], cutter, frames) for m in used]
    kinds = [k for k in kinds if k.asked]
    if not any(k.material == "cover" for k in kinds):
        raise InputError("stock book", "sheets of cover paper", "none", "Add some first: quirestock sheet add.")
    if all(k.endless for k in kinds):
        raise InputError("stock book", "a count of sheets for one material at least", "no limit on any",
                         "Say how many there are: count 200.")  # fmt: skip
    budget = None if seconds is None else Budget(seconds, None)
    rows: list[SurveyRow] = []
    stopped = ""
    try:
        for size in coarse_first(wanted):
            if rows and budget is not None and budget.over():
                stopped = "time"
                break
            rows.append(_row(formats[size], kinds, executor))
            if progress is not None:
                progress(len(rows), len(wanted))
    except KeyboardInterrupt:
        stopped = "user"
    asked = sum(len(k.askings) for k in kinds) * len(rows)
    searched = sum(a.searched for k in kinds for a in k.askings)
    unknown = tuple(s.id for k in kinds for s in k.ungrained)
    return Survey(format, tuple(sorted(rows, key=lambda r: (r.height, r.width))), len(wanted), stopped,
                  tuple(k.material for k in kinds), searched, asked, unknown)  # fmt: skip


def worth_a_look(rows: Sequence[SurveyRow], most: int | None = MOST_LISTED) -> tuple[SurveyRow, ...]:
    """The sizes that none beats, smallest page first; where they are more than `most`, so many, spread over the page sizes.

    Of each part of the spread the one that turns most paper into finished pages.
    """
    able = [r for r in rows if r.books]
    best = sorted((r for r in able if not any(o.beats(r) for o in able)), key=lambda r: (r.area, r.width))
    if most is None or len(best) <= most:
        return tuple(best)
    cuts = [len(best) * k // most for k in range(most + 1)]
    parts = (best[a:b] for a, b in pairwise(cuts))
    return tuple(max(part, key=lambda r: (r.books * r.area, -r.waste, r.area, r.width)) for part in parts)


def coarse_first(sizes: Sequence[Sides]) -> list[Sides]:
    """The sizes so that every part of the list has looked all over the range: far apart first, then between.

    >>> [w for w, _ in coarse_first([(w, 1) for w in range(1, 10)])]
    [1, 9, 5, 3, 7, 2, 4, 6, 8]
    """
    ranks = []
    for axis in (0, 1):
        sides = sorted({size[axis] for size in sizes})
        ranks.append({side: _depth(i, len(sides) - 1) for i, side in enumerate(sides)})
    both = {size: (ranks[0][size[0]], ranks[1][size[1]]) for size in sizes}
    return sorted(sizes, key=lambda s: (max(both[s]), sum(both[s]), s[1], s[0]))


def _depth(index: int, last: int) -> int:
    """How often a range is halved before this index is met; 0 for both ends."""
    low, high, depth = 0, last, 0
    while index not in (low, high):
        depth += 1
        middle = (low + high) // 2
        if index == middle:
            break
        low, high = (low, middle) if index < middle else (middle, high)
    return depth


def _sized(format: Format, size: Sides) -> Format:
    """The format at another finished size."""
    return replace(format, width=size[0], height=size[1])


def _free(format: Format, material: Material, sheet: Sheet) -> Blank:
    """The blank on a sheet without its soft rules; what a rule with a price wants, may be had otherwise."""
    blank = blank_of(format, material)
    if material == "folio":
        blank = on_ruled(format, blank, [sheet])
    hard = (None if isinstance(rule, tuple) else rule for rule in (blank.grain, blank.up))
    return blank.with_rules(*hard)


class _Kind:
    """The sheets of one material, alike ones as one; a sheet on which no turn is allowed is left out."""

    def __init__(self, material: Material, sheets: Sequence[Sheet], format: Format, cutter: Cutter | None,
                 frames: object) -> None:  # fmt: skip
        self.material: Material = material
        self._cutter = cutter
        groups: dict[Sheet, list[Sheet]] = {}
        self.ungrained: list[Sheet] = []
        for sheet in sheets:
            if _free(format, material, sheet).turns_on(sheet):
                groups.setdefault(replace(sheet, id="-", count=1, cost=None, grain_guessed=False), []).append(sheet)
            elif sheet.grain is None:
                self.ungrained.append(sheet)
        self.askings = [Counting(sheet, cutter, "square" if sheet.is_clear_rectangle else frames) for sheet in groups]
        self.copies = [None if any(s.count is None for s in g) else sum(s.count or 0 for s in g) for g in groups.values()]
        self.paper2 = sum(s.area2 * (s.count or 1) for s in sheets)
        self.asked, self.endless = bool(sheets), any(n is None for n in self.copies)

    def pieces(self, format: Format, executor: Executor | None) -> tuple[int, int]:
        """Pieces found and at most from all sheets, of a sheet without limit those of one copy."""

        def count(asking: Counting) -> Count:
            blank = _free(format, self.material, asking.sheet)
            if not blank.lines_meet:
                return asking.count(blank)
            found, proven = pieces_that_meet(asking.sheet, blank, self._cutter)
            return Count(found, found if proven else asking.by_area(blank))

        run = map if executor is None else executor.map
        pairs = list(zip(run(count, self.askings), self.copies, strict=True))
        return sum(c.found * (n or 1) for c, n in pairs), sum(c.most * (n or 1) for c, n in pairs)


def _row(format: Format, kinds: Sequence[_Kind], executor: Executor | None) -> SurveyRow:
    limits: dict[Material, int | None] = dict.fromkeys(MATERIALS)
    tops: list[int] = []
    most, waste = 0, 1.0
    for kind in kinds:
        a_book = format.per_book(kind.material)
        found, high = kind.pieces(format, executor)
        if not kind.endless or found == 0:
            limits[kind.material] = found // a_book
            tops.append(high // a_book)
        if kind.material == "cover":
            blank = blank_of(format, "cover")
            most, waste = high, 1 - found * 2 * blank.width * blank.height / kind.paper2
    finite = [n for n in limits.values() if n is not None]
    books, top = min(finite, default=0), max(finite, default=0)
    return SurveyRow(format.width, format.height, limits["cover"], most, limits["card"], limits["folio"], books, waste,
                     books / top if top else 0.0, books == min(tops, default=0))  # fmt: skip
