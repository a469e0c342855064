"""What a book costs: materials by area, labour by stage, consumables, and the price at a margin.

All is exact (fractions); each line is rounded to the smallest coin once, and the sum is the sum of the lines as printed,
so that a sheet of paper and a pencil give the same.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from typing import Literal

from nesting.errors import InputError
from nesting.layouts import Layout
from nesting.plans import Plan

from .formats import MATERIALS, Format, Material
from .money import coins
from .stages import SOURCE, Run, Stage, stages_of

Waste = Literal["job", "stock"]
WASTES: tuple[Waste, ...] = ("job", "stock")
Measure = Literal["book", "staple", "m2"]
MEASURES: tuple[Measure, ...] = ("book", "staple", "m2")
_MM2_PER_M2 = 1_000_000


@dataclass(frozen=True)
class Consumable:
    """Something used up: `price` of one that lasts for `lasts` books, staples or square metres of adhesive."""

    name: str
    price: Fraction
    lasts: Fraction
    per: Measure

    def used(self, run: Run) -> Fraction:
        """How much of its measure a run takes, spoiled copies included."""
        if self.per == "m2":
            return adhesive_m2(run)
        if self.per == "staple":
            return Fraction(staples_of(run))
        return Fraction(run.wanted)


def staples_of(run: Run) -> int:
    """Staples for every copy that is stapled."""
    return run.copies("staple") * run.format.staples.count


def adhesive_m2(run: Run) -> Fraction:
    """Square metres of card that get adhesive: one side of every card that is laminated."""
    if not run.copies("laminate"):
        return Fraction(0)
    card = next(made for made in run.format.allowances() if made.material == "card")
    return Fraction(card.width * card.height, 8000 * 8000 * _MM2_PER_M2) * run.copies("laminate") * run.format.cards


@dataclass(frozen=True)
class Pieces:
    """What a plan gives of one blank: pieces, their paper in square metres, what that cost, and cutting.

    `area_m2`: of the paper that the cost is for. `cuts`: for each layout the pieces' share of its area, its copies, and how
    many of them are cut at once (0: all).
    """

    count: int
    area_m2: Fraction
    cost: Fraction
    cuts: tuple[tuple[Fraction, int, int], ...] = ()

    def handled(self, times: Fraction) -> Fraction:
        """Lifts for so many times the pieces; a sheet that also gives other blanks is shared."""
        lifts = ((share, -(-copies * times // at_once) if at_once else 1) for share, copies, at_once in self.cuts)
        return sum((share * count for share, count in lifts), Fraction(0))


def pieces_of(plan: Plan, prices: Mapping[str, Fraction], waste: Waste, lifts: Mapping[str, int]) -> dict[str, Pieces]:
    """The pieces of a plan by blank. `prices`: of one sheet by id. `lifts`: sheets in one lift by id; none: all in one.

    An offcut goes back to stock at its share of the sheet's price. Shavings are borne by the job (shared by the pieces
    of their sheet, by area) or, with `waste` "stock", by the stock.
    """
    if waste not in WASTES:
        raise InputError("waste", " or ".join(WASTES), waste)
    size = {blank.name: 2 * blank.width * blank.height for blank in plan.blanks}
    materials = {blank.name: blank.material for blank in plan.blanks}
    out = {blank.name: Pieces(0, Fraction(0), Fraction(0)) for blank in plan.blanks}
    for layout in plan.layouts:
        borne = _borne(layout, waste)
        for name, count in layout.counts().items():
            share = Fraction(size[name] * count, layout.areas.pieces)
            paper = borne * share * layout.copies  # doubled square ticks
            at_once = 1 if materials[name] == "cover" else lifts.get(layout.sheet, 0)  # no two cover sheets are alike
            old = out[name]
            out[name] = Pieces(old.count + count * layout.copies, old.area_m2 + paper / (2 * 8000 * 8000 * _MM2_PER_M2),
                               old.cost + prices[layout.sheet] * paper / layout.areas.sheet,
                               (*old.cuts, (share, layout.copies, at_once)))  # fmt: skip
    return out


def _borne(layout: Layout, waste: Waste) -> int:
    """The doubled area of one copy that the job pays for."""
    return layout.areas.pieces + (layout.areas.shavings if waste == "job" else 0)


@dataclass(frozen=True)
class Line:
    """One line of a cost sheet: what, how much of it, and what it costs the whole run."""

    kind: Literal["material", "labour", "consumable"]
    label: str
    much: str
    cost: Decimal


@dataclass(frozen=True)
class CostSheet:
    """What the books of one format cost in `currency`. `margin`: percent of the price; None where no price is asked for."""

    name: str
    books: int
    currency: str
    lines: tuple[Line, ...]
    margin: Fraction | None = None
    minutes: Fraction = Fraction(0)

    @property
    def total(self) -> Decimal:
        """Of the run: the sum of the lines as printed."""
        return sum((line.cost for line in self.lines), coins(Fraction(0), self.currency))

    def a_book(self, cost: Decimal) -> Decimal:
        """A cost of the run for one book, rounded to the smallest coin."""
        return coins(Fraction(cost) / self.books, self.currency)

    @property
    def price(self) -> Decimal | None:
        """Of one book: its cost / (1 - margin), the margin being a part of the price."""
        if self.margin is None:
            return None
        return coins(Fraction(self.total) / self.books / (1 - self.margin / 100), self.currency)


@dataclass(frozen=True)
class Rates:
    """What a cost sheet is reckoned with. `hour`: of labour, None where it is not paid for."""

    currency: str
    stages: tuple[Stage, ...]
    hour: Fraction | None = None
    consumables: tuple[Consumable, ...] = ()
    margin: Fraction | None = None

    def __post_init__(self) -> None:
        """Raises InputError."""
        if self.margin is not None and not 0 <= self.margin < 100:
            raise InputError("margin", "from 0 to less than 100 percent of the price", str(float(self.margin)))


def cost_sheet(run: Run, pieces: Mapping[str, Pieces], rates: Rates, books_a_lift: int | None = None) -> CostSheet:
    """The cost of a run from what a plan's pieces cost each: a longer run of the same takes more of the same sheets.

    `pieces`: of the run's blanks in the plan. `books_a_lift`: books trimmed at once; None: all. Raises InputError.
    """
    lines = []
    for material in _materials(run.format):
        made, need = pieces.get(f"{run.format.name} {material}"), run.blanks_of(material)
        if made is None:  # the plan leaves this material out
            continue
        if not made.count:
            raise InputError("plan", f"pieces of {run.format.name} {material}", "none", "Plan the job again.")
        times = Fraction(need, made.count)
        lines.append(Line("material", material, f"{need:,} from {float(made.area_m2 * times):.3f} m²",
                          coins(made.cost * times, rates.currency)))  # fmt: skip
    minutes = Fraction(0)
    for stage in stages_of(run.format, rates.stages):
        work = stage.minutes(count_of(stage, run, pieces, books_a_lift))
        minutes += work
        if rates.hour is not None and work:
            lines.append(Line("labour", stage.title, f"{float(work):,.1f} min", coins(work * rates.hour / 60, rates.currency)))
    for one in rates.consumables:
        used = one.used(run)
        if used:
            unit = {"m2": " m²", "staple": " staples", "book": " books"}[one.per]
            lines.append(Line("consumable", one.name, f"{float(used):,.3f}".rstrip("0").rstrip(".") + unit,
                              coins(one.price * used / one.lasts, rates.currency)))  # fmt: skip
    return CostSheet(run.format.name, run.wanted, rates.currency, tuple(lines), rates.margin, minutes)


def _materials(format: Format) -> tuple[Material, ...]:
    return tuple(m for m in MATERIALS if format.per_book(m))


def count_of(stage: Stage, run: Run, pieces: Mapping[str, Pieces], books_a_lift: int | None) -> Fraction:
    """How many of what a stage counts a run brings: books, lifts to trim, or sheets and lifts to cut."""
    copies = run.copies(stage.key)
    if stage.counts == "book":
        return Fraction(copies)
    if not stage.key.startswith("cut_"):
        return Fraction(-(-copies // books_a_lift)) if books_a_lift else Fraction(1)
    out = Fraction(0)
    for material in stage.takes:
        made = pieces.get(f"{run.format.name} {material}")
        out += made.handled(Fraction(run.blanks_of(material), made.count)) if made and made.count else 0
    return out


def guessed(stages: Iterable[Stage]) -> tuple[str, ...]:
    """Titles of the stages whose figures are not the maker's own: `SOURCE`."""
    return tuple(stage.title for stage in stages if not stage.own)


def sums(sheets: Sequence[CostSheet]) -> Decimal:
    """What several runs cost together, in their common currency."""
    return sum((sheet.total for sheet in sheets), Decimal(0))


__all__ = ["MEASURES", "SOURCE", "WASTES", "Consumable", "CostSheet", "Line", "Pieces", "Rates", "adhesive_m2", "cost_sheet",
           "count_of", "guessed", "pieces_of", "staples_of", "sums"]  # fmt: skip
