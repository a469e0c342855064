"""Which sheets still give a blank of some size, and what of the formats in use each could then no longer give."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction

from ..blanks import Blank
from ..cutters import Cutter
from ..errors import InputError
from ..fixed import Fixed
from ..geometry import Box
from ..layouts import Piece, leaves, to_sheet
from ..sheets import Sheet
from .arguments import check_room, checked_blanks, checked_cutter, checked_sheets
from .budget import Budget, Report, check_search_arguments
from .chosen import lain, parted
from .kernels import warm
from .sheet.filling import counted
from .sheet.ground import Ground, ground, region
from .sheet.single import Found, Single
from .worths import exact, plain, whole

REFINE_STEPS, TRIAL_STEPS = 20_000, 2_000
_COMPASS = ((1, 1), (-1, 1), (1, -1), (-1, -1), (1, 0), (0, 1), (-1, 0), (0, -1))  # corners of a region: furthest that way
MOST_OTHERS = 16
_ROUND = [(dx, dy) for dx in (0, 1, -1) for dy in (0, 1, -1)]  # regions are a fraction of a tick too large


@dataclass(frozen=True)
class Giving:
    """A sheet that gives the blank as often as asked, and how many of it at most (`gives`: found, maybe not proven).

    `now` and `then`: how many of each format in use it could give, whole, and once the blank is taken out of it.
    `lost`: the worth between the two.
    """

    sheet: str
    gives: int
    now: tuple[tuple[str, int], ...]
    then: tuple[tuple[str, int], ...]
    lost: int | float


@dataclass(frozen=True)
class Fitting:
    """The sheets that give it, least spoiled first; the most that any one gives; how many sheets were looked at in the time."""

    giving: tuple[Giving, ...]
    most: int
    looked_at: int


def fitting(sheets: Sequence[Sheet], blank: Blank, in_use: Sequence[Blank] = (), cutter: Cutter | None = None,
            seconds: float = 10.0, frames: object = "auto", progress: Report | None = None) -> Fitting:  # fmt: skip
    """Which of the sheets give `blank.quantity` (None: 1) of a blank, least spoiled first.

    A sheet is spoiled by the worth that blanks `in_use` (none: this blank) can no longer have from it: what its best layout
    gives now, less the best met beside the blank. Ties: the smaller sheet, then the id. Sheets that the deadline leaves out
    are not told of: `looked_at`. Raises InputError.

    >>> import nesting
    >>> found = fitting([nesting.Sheet.rectangle("a", 300, 200)], nesting.Blank("b", 100, 100))
    >>> found.giving[0].gives, found.giving[0].lost
    (6, 10000)
    """
    check_search_arguments(seconds, None, 0, 1)
    wanted = blank.quantity or 1
    blanks = checked_blanks([blank, *(b for b in in_use)])
    sheets, cutter = checked_sheets(sheets), checked_cutter(cutter)
    check_room(sheets, blanks)
    if any(b.quantity is not None for b in in_use):
        raise InputError("in_use", "blanks without a quantity", "one with a quantity")
    warm(lambda text: Budget(seconds, None, progress).report("compiling", text=text))
    budget = Budget(seconds, None, progress)
    found: list[tuple[Fraction, int, str, Giving]] = []
    most = looked_at = 0
    for sheet in sheets:
        if looked_at and budget.over():
            break
        share = budget.part(1 / (len(sheets) - looked_at))
        giving, gives = _giving(sheet, blanks, wanted, cutter, frames, share)
        looked_at, most = looked_at + 1, max(most, gives)
        if giving is not None:
            found.append((exact(giving.lost), sheet.area2, sheet.id, giving))
        budget.report("sheets", looked_at, len(sheets))
    return Fitting(tuple(entry[3] for entry in sorted(found, key=lambda e: e[:3])), most, looked_at)


def _giving(sheet: Sheet, blanks: Sequence[Blank], wanted: int, cutter: Cutter | None, frames: object,
            budget: Budget) -> tuple[Giving | None, int]:  # fmt: skip
    """What one sheet gives, where it gives enough; and how many."""
    own = blanks[:1]
    single = Single(sheet, own, cutter, frames)
    if not single.possible():
        return None, 0
    alone = single.best([1], budget, REFINE_STEPS)
    if alone.value < wanted:
        return None, alone.value
    gives = alone.value
    if len(blanks) == 1:
        worth = exact(own[0].worth or 0)
        now, then = ((own[0].name, gives),), ((own[0].name, gives - wanted),)
        return Giving(sheet.id, gives, now, then, plain(worth * wanted)), gives
    before, after = _beside(sheet, blanks, wanted, cutter, frames, alone, budget)
    worths = [exact(b.worth or 0) for b in blanks[1:]]
    lost = sum((w * (b - a) for w, b, a in zip(worths, before, after, strict=True)), Fraction(0))
    if lost < 0:  # beside the blank the better layout of the others was found
        before, lost = after, Fraction(0)
    names = [b.name for b in blanks[1:]]
    return Giving(sheet.id, gives, tuple(zip(names, before, strict=True)), tuple(zip(names, after, strict=True)),
                  plain(lost)), gives  # fmt: skip


def _beside(sheet: Sheet, blanks: Sequence[Blank], wanted: int, cutter: Cutter | None, frames: object, alone: Found,
            budget: Budget) -> tuple[list[int], list[int]]:  # fmt: skip
    """How many of the other blanks the sheet gives, whole and beside `wanted` of the first.

    The first is put into corners of the paper it may lie on, and beside those put down already, and the others planned
    around it. On one clear rectangle a corner is as good as any place: the sides of cuts can be exchanged.
    """
    values, _ = whole([exact(b.worth or 0) for b in blanks[1:]], 10_000)
    single = Single(sheet, blanks, cutter, frames)
    full = single.best([0, *values], budget, REFINE_STEPS)
    before = counted(full.tree, blanks)[1:]
    assert alone.tree is not None and alone.ground is not None
    angle = alone.ground.frame_deg
    pieces = [leaf for leaf in leaves(alone.tree) if isinstance(leaf, Piece)]
    ends = [[_fixed(sheet, p.box, p.turn, blanks[0], angle) for p in some] for some in (pieces[:wanted], pieces[-wanted:])]
    ways = [(way, _around(sheet, blanks, cutter, way, values, budget)) for way in ends]
    dear = max((v for v, b in zip(values, blanks[1:], strict=True) if _within(b, blanks[0], sheet)), default=0)
    enough = full.bound - wanted * dear
    for angle in dict.fromkeys(f.ground.frame_deg for f in (full, alone) if f.ground is not None):
        if budget.over() or max(_total(values, after) for _, after in ways) >= enough:
            break
        place, way = ground(sheet, angle, cutter), list[Fixed]()
        mine = full.tree is not None and full.ground is not None and full.ground.frame_deg == angle
        others = [leaf.box for leaf in leaves(full.tree) if isinstance(leaf, Piece)] if mine and full.tree is not None else []
        while len(way) < wanted:
            tried = []
            for fixed in _corners(place, blanks[0], way, others):
                tried.append((fixed, _around(sheet, blanks, cutter, [*way, fixed], values, budget)))
                if budget.over() or _total(values, tried[-1][1]) >= enough:
                    break
            if not tried:
                break
            way.append(max(tried, key=lambda t: _total(values, t[1]))[0])
        else:
            ways.append((way, _around(sheet, blanks, cutter, way, values, budget)))
    return before, max((after for _, after in ways), key=lambda after: _total(values, after))


def _within(small: Blank, large: Blank, sheet: Sheet) -> bool:
    """Whether one could be cut from the other however that lies, so that each of the large costs one of the small at least."""
    sizes = [small.size(turn) for turn in small.turns_on(sheet)]
    return all(any(w <= width and h <= height for w, h in sizes) for width, height in map(large.size, large.turns_on(sheet)))


def _around(sheet: Sheet, blanks: Sequence[Blank], cutter: Cutter | None, fixed: Sequence[Fixed], values: Sequence[int],
            budget: Budget) -> list[int]:  # fmt: skip
    """How many of the other blanks the sheet gives around pieces of the first."""
    found = Single(sheet, blanks, cutter, (fixed[0].angle,), fixed=fixed).best([0, *values], budget, TRIAL_STEPS)
    return counted(found.tree, blanks)[1:]


def _corners(place: Ground, blank: Blank, taken: Sequence[Fixed], others: Sequence[Box]) -> list[Fixed]:
    """Places for one more: corners of the paper it may lie on, each side of those taken, and on a damaged sheet corners of
    `others` in the best layout without it; where cuts can free them all."""
    pieces: list[Piece] = []
    for fixed in taken:
        box = lain(place, fixed, blank, pieces)
        assert box is not None
        pieces.append(Piece(box, blank.name, fixed.turn))
    out: dict[Box, Fixed] = {}
    seen = set()
    for turn in blank.turns_on(place.sheet):
        width, height = blank.size(turn)
        if (width, height) in seen:
            continue
        seen.add((width, height))
        traps = region(place, width, height)
        points = [(t[k], t[m]) for t in traps for k, m in ((0, 2), (0, 4), (1, 3), (1, 5))]
        far = [min(points, key=lambda p: (sx * p[0] + sy * p[1], p)) for sx, sy in _COMPASS] if points else []
        spots = [[(round(x) + dx, round(y) + dy) for dx, dy in _ROUND] for x, y in far[: 1 if place.clear() else None]]
        for x0, y0, x1, y1 in (p.box for p in pieces):
            spots += [[(x1, y0)], [(x0, y1)], [(x0 - width, y0)], [(x0, y0 - height)]]
        if not place.clear():
            spots += [[spot] for x0, y0, x1, y1 in others for spot in ((x0, y0), (x1 - width, y1 - height))][:MOST_OTHERS]
        for near in spots:
            for x, y in near:
                fixed = _fixed(place.sheet, (x, y, x + width, y + height), turn, blank, place.frame_deg)
                there = lain(place, fixed, blank, pieces)
                if there is not None and parted([*pieces, Piece(there, blank.name, turn)], place.box) is not None:
                    out.setdefault(there, fixed)
                    break
    return list(out.values())


def _fixed(sheet: Sheet, box: Box, turn: int, blank: Blank, angle: float) -> Fixed:
    x, y = to_sheet(angle, (0, 0), box[0], box[1])
    return Fixed(sheet.id, blank.name, (round(x), round(y)), turn, angle)


def _total(values: Sequence[int], counts: Sequence[int]) -> int:
    return sum(v * n for v, n in zip(values, counts, strict=True))
