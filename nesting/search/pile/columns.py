"""The pile as a choice among layouts of single sheets: alike sheets in classes, layouts as columns.

The linear program over columns (solved by GLOP) prices the blanks; sheets are asked for better layouts at those
prices; what no sheet can better is the limit (Gilmore & Gomory 1961; the bound that holds at any prices is the
Lagrangian one).
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from concurrent.futures import Executor
from dataclasses import dataclass, field, replace
from fractions import Fraction

from ...blanks import Blank
from ...cutters import Cutter
from ...fixed import Fixed
from ...layouts import Node, Piece, leaves
from ...sheets import Sheet
from ..budget import Budget
from ..recreate.as_cuts import largest_leftover
from ..sheet import simpler
from ..sheet.filling import counted, limited
from ..sheet.fines import priced_rules, whole_values
from ..sheet.ground import Ground
from ..sheet.shown import Shown, shown_on
from ..sheet.single import Found, Single
from ..worths import exact

PRICE_SCALE = 10**6
KEPT_LIMITS = 8
Broken = tuple[int, int, Fraction, int]


@dataclass(frozen=True, eq=False)
class SheetClass:
    """Sheets that are alike in all that planning sees: their ids with counts, prepared once."""

    single: Single
    members: tuple[tuple[str, int | None], ...]
    cost: Fraction

    @property
    def count(self) -> int | None:
        """How many sheets in all; None for no limit."""
        return None if any(c is None for _, c in self.members) else sum(c or 0 for _, c in self.members)

    @property
    def must_be_cut(self) -> bool:
        """Whether it is the one copy of a sheet that pieces were chosen on beforehand."""
        return bool(self.single.fixed)


@dataclass(frozen=True, eq=False)
class Column:
    """One layout of a class: how many of each blank it gives, and the tree.

    `broken`: its pieces that break rules with a price, as (blank, turn, penalty of one, how many). `chosen`: how many of
    each blank were chosen beforehand and stay; `forced`: what these cost by rules, and no part of `broken`.
    """

    group: int
    counts: tuple[int, ...]
    tree: Node
    ground: Ground
    broken: tuple[Broken, ...] = ()
    chosen: tuple[int, ...] = ()
    forced: Fraction = Fraction(0)

    shown: tuple[tuple[int, ...], ...] = ()  # of best areas (as `Shown` counts them), each piece of each blank; none: ()

    def total_shown(self) -> int:
        """What all pieces show together."""
        return sum(map(sum, self.shown))

    @property
    def penalty(self) -> Fraction:
        """What its pieces cost all together by the rules they break."""
        return sum((each * count for _, _, each, count in self.broken), self.forced)

    @property
    def free(self) -> tuple[int, ...]:
        """How many of each blank may stay uncut."""
        return tuple(n - c for n, c in zip(self.counts, self.chosen, strict=True)) if self.chosen else self.counts


@dataclass
class Pool:
    """All layouts met so far, in the order they were met: one for each class and counts.

    It is the one of the least penalty, then the one that shows most of the best areas; of these the one with the largest
    leftover.
    """

    blanks: Sequence[Blank]
    classes: Sequence[SheetClass]
    columns: dict[tuple[int, tuple[int, ...]], Column] = field(default_factory=dict)
    variety: tuple[Fraction, ...] = ()  # of each class, what one more different sheet may cost (see `variety`); () for nothing
    _shown: dict[tuple[int, float], Shown | None] = field(default_factory=dict)
    _limits: dict[int, list[tuple[tuple[Fraction, ...], Fraction]]] = field(default_factory=dict)

    def learn(self, group: int, prices: Sequence[Fraction], most: Fraction) -> None:
        """Keep that no layout of a class is worth more at these prices; the latest are kept."""
        self._limits.setdefault(group, []).append((tuple(prices), most))
        del self._limits[group][:-KEPT_LIMITS]

    def known_limit(self, group: int, prices: Sequence[Fraction]) -> Fraction | None:
        """What no layout of a class can pass at other prices: at f times the old prices or less, f times the old limit."""
        out: Fraction | None = None
        placed = self.classes[group].single.placed()
        for old, most in self._limits.get(group, ()):
            if all(old[i] > 0 or prices[i] == 0 for i in placed):
                factor = max((prices[i] / old[i] for i in placed if prices[i] > 0), default=Fraction(0))
                out = factor * most if out is None else min(out, factor * most)
        return out

    def chosen(self) -> list[int]:
        """How many pieces of each blank were chosen beforehand."""
        names = [piece.blank for c in self.classes for piece in c.single.fixed]
        return [names.count(b.name) for b in self.blanks]

    def add(self, group: int, found: Found) -> bool:
        """Take a layout in; whether it is new, or cheaper than one of the same counts."""
        if found.tree is None or found.ground is None:
            return False
        counts = tuple(counted(found.tree, self.blanks))
        if not any(counts):
            return False
        new = self._with_penalty(Column(group, counts, found.tree, found.ground))
        shown = self.shown_of(new)
        if shown is not None:
            tree = shown.turned(found.tree)
            each = shown.each(tree)
            new = replace(new, tree=tree, shown=tuple(tuple(each.get(b.name, ())) for b in self.blanks))
            new = self._with_penalty(new)
        old = self.columns.get((group, counts))
        if old is not None and _rank(old) >= _rank(new):
            return False
        self.columns[group, counts] = new
        return old is None or new.penalty < old.penalty

    def _with_penalty(self, column: Column) -> Column:
        own = self.classes[column.group].single.fixed
        chosen = tuple(sum(p.blank == b.name for p in own) for b in self.blanks) if own else ()
        forced = sum((each * n for _, _, each, n in broken_by(own, column.ground, self.blanks)), Fraction(0))
        free = [leaf for leaf in leaves(column.tree) if isinstance(leaf, Piece) and leaf not in own]
        return replace(column, broken=broken_by(free, column.ground, self.blanks), chosen=chosen, forced=forced)

    def fined(self) -> bool:
        """Whether on some sheet a blank can lie so that a rule with a price is broken."""
        return priced_rules(self.blanks) and any(c.single.fined() for c in self.classes)

    def shown_of(self, column: Column) -> Shown | None:
        """How to reckon what layouts on the ground of this one show; None where the sheet has no best areas."""
        key = column.group, column.ground.frame_deg
        if key not in self._shown:
            fixed = frozenset(piece.box for piece in self.classes[column.group].single.fixed)
            self._shown[key] = shown_on(column.ground, self.blanks, fixed)
        return self._shown[key]

    def shown_on(self, group: int, found: Found) -> Shown | None:
        """The same for a layout found of a class."""
        if found.tree is None or found.ground is None:
            return None
        return self.shown_of(Column(group, (), found.tree, found.ground))


def broken_by(pieces: Sequence[Piece], ground: Ground, blanks: Sequence[Blank]) -> tuple[Broken, ...]:
    """Those of some pieces that break rules with a price: by blank and turn."""
    if not priced_rules(blanks):
        return ()
    index = {b.name: i for i, b in enumerate(blanks)}
    kinds = Counter((index[piece.blank], piece.turn) for piece in pieces)
    priced = ((i, turn, blanks[i].penalty_on(ground.sheet, turn, ground.frame_deg), n) for (i, turn), n in sorted(kinds.items()))
    return tuple(entry for entry in priced if entry[2])


def _rank(column: Column) -> tuple[Fraction, int, int]:
    return -column.penalty, column.total_shown(), largest_leftover([column.tree])


def chosen_on(sheets: Sequence[Sheet], blanks: Sequence[Blank], cutter: Cutter | None,
              fixed: Sequence[Fixed]) -> list[SheetClass]:  # fmt: skip
    """A class of one copy for each sheet that pieces were chosen on beforehand."""
    out = []
    for sheet in sheets:
        own = [f for f in fixed if f.sheet == sheet.id]
        if own:
            single = Single(sheet, blanks, cutter, (own[0].angle,), fixed=own)
            out.append(SheetClass(single, ((sheet.id, 1),), exact(sheet.cost or 0)))
    return out


def without_copy(sheets: Sequence[Sheet], fixed: Sequence[Fixed]) -> list[Sheet]:
    """The sheets less one copy of each that pieces were chosen on."""
    taken = {f.sheet for f in fixed}
    rest = [replace(s, count=s.count - 1) if s.id in taken and s.count is not None else s for s in sheets]
    return [s for s in rest if s.count != 0]


def classes_of(sheets: Sequence[Sheet], blanks: Sequence[Blank], cutter: Cutter | None, frames: object, seconds: float,
               budget: Budget) -> list[SheetClass]:  # fmt: skip
    """Sheets in classes, in the order of the first of each; sheets that take no blank are left out.

    Raises TimeUp where the budget ends first: a limit must know every sheet.
    """
    groups = alike_groups(sheets)
    out = []
    for number, alike in enumerate(groups):
        if budget.over():
            raise TimeUp
        found = class_of(alike, blanks, cutter, frames, seconds)
        if found is not None:
            out.append(found)
        budget.report("sheets", number + 1, len(groups))
    for text in (_alike(len(sheets), len(groups)), simpler.told(c.single.simple for c in out)):
        if text:
            budget.report("known", text=text)
    return out


def alike_groups(sheets: Sequence[Sheet]) -> list[list[Sheet]]:
    """Sheets that nothing tells apart but their ids and counts together, in the order of the first of each."""
    groups: dict[Sheet, list[Sheet]] = {}
    for sheet in sheets:
        groups.setdefault(replace(sheet, id="-", count=1, grain_guessed=False), []).append(sheet)
    return list(groups.values())


def class_of(alike: Sequence[Sheet], blanks: Sequence[Blank], cutter: Cutter | None, frames: object,
             seconds: float) -> SheetClass | None:  # fmt: skip
    """Alike sheets as a class; None where they take no blank."""
    single = Single(alike[0], blanks, cutter, frames, seconds)
    if not single.possible():
        return None
    return SheetClass(single, tuple((s.id, s.count) for s in alike), exact(alike[0].cost or 0))


def _alike(sheets: int, kinds: int) -> str:
    """That sheets are planned together because nothing tells them apart but their numbers."""
    if kinds == sheets:
        return ""
    if kinds == 1:
        return f"{sheets:,} sheets are alike: planned as one kind."
    return f"{sheets:,} sheets, some of them alike: planned as {kinds:,} kinds."


def price_all(pool: Pool, prices: Sequence[Fraction], budget: Budget, refine_steps: int,
              executor: Executor | None, within: float = 0.0, fined: bool = False,
              near: Fraction | None = None) -> tuple[bool, list[Fraction]]:  # fmt: skip
    """Take the best layout of each class at these prices into the pool; whether any is new, and a bound for each class.

    A bound is what any layout of the class is worth at most at the prices. `within` > 0: layouts with no more of a blank
    than its quantity, each looked for in this share of the time left. `fined`: layouts are best, and bounds hold, with
    what soft rules broken cost taken off. `near`: classes whose limit, from earlier prices, is no more than this share
    above a layout in the pool are not asked again. The classes are independent work, so they may run in any executor; the
    results are taken in order. Raises TimeUp where the budget ends before a bound is known for every class; what was
    found until then is in the pool.
    """
    values, fines, scale = whole_values(list(prices), pool.blanks if fined else (), 10_000)
    plain = not within and not fines  # limits less fines do not grow with the prices
    known = [pool.known_limit(group, prices) if plain else None for group in range(len(pool.classes))]
    settled = _settled(pool, prices, known, near) if plain and near is not None else frozenset()

    def one(group: int) -> Found | None:
        if budget.over() or group in settled:
            return None
        single = pool.classes[group].single
        if not within:
            return single.best(values, budget, refine_steps, fines)
        found, _, stopped = limited(single, pool.blanks, values, budget.part(within), refine_steps, 0, None, fines)
        if stopped == "interrupt":
            raise KeyboardInterrupt
        return found

    groups = range(len(pool.classes))
    found = list(executor.map(one, groups) if executor is not None else map(one, groups))
    new = False
    bounds: list[Fraction] = []
    for group, (layout, limit) in enumerate(zip(found, known, strict=True)):
        if layout is not None:
            new |= pool.add(group, layout)
            most = Fraction(layout.bound) / scale
            if plain:
                pool.learn(group, prices, most)
            limit = most if limit is None else min(limit, most)
        if limit is not None:
            bounds.append(limit)
    if len(bounds) < len(pool.classes):
        raise TimeUp
    return new, bounds


def _settled(pool: Pool, prices: Sequence[Fraction], known: Sequence[Fraction | None], near: Fraction) -> frozenset[int]:
    """Classes that have a layout in the pool whose worth is near the limit."""
    had: dict[int, Fraction] = {}
    for column in pool.columns.values():
        worth = sum((p * n for p, n in zip(prices, column.counts, strict=True) if n), Fraction(0))
        had[column.group] = max(worth, had.get(column.group, Fraction(0)))
    return frozenset(g for g, limit in enumerate(known) if limit is not None and limit <= had.get(g, 0) * (1 + near))


def first_layouts(pool: Pool, budget: Budget) -> None:
    """A quick layout of every class at the blanks' own worths, in its first frame. Raises TimeUp."""
    values, _, _ = whole_values([exact(b.worth or 0) for b in pool.blanks], (), 10_000)
    for group, sheet_class in enumerate(pool.classes):
        if budget.over():
            raise TimeUp
        pool.add(group, sheet_class.single.first(values, budget))


class TimeUp(Exception):
    """The budget ended within a round of pricing."""
