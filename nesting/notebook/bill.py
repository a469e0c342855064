"""The bill of a job: what its plan takes from stock, what must be bought, and what is used up."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from typing import Any

from nesting.blanks import Blank
from nesting.cutters import Cutter
from nesting.errors import ImpossibleJob
from nesting.lengths import TICKS_PER_MM, mm
from nesting.plans import Plan
from nesting.sheets import Sheet

from .costs import adhesive_m2, staples_of
from .stages import Run

PlanCall = Callable[..., Any]  # as nesting.plan
_M2 = 2 * (1000 * TICKS_PER_MM) ** 2  # doubled square ticks of a square metre


@dataclass(frozen=True)
class Taken:
    """So many sheets of one id from stock. `price`: of one, None where it has none."""

    sheet: str
    material: str
    count: int
    area_m2: Fraction
    price: Fraction | None


@dataclass(frozen=True)
class Bought:
    """What must be bought of one material for the blanks that stay short.

    `short`: blanks and how many. `area_m2`: their own area, the least that any paper must have. `paper`: the id of the
    paper reckoned with, None where there is none to go by. `sheets` of it are cut, `packs` of `pack` sheets are bought.
    `proven`: no fewer sheets do.
    """

    material: str
    short: tuple[tuple[str, int], ...]
    area_m2: Fraction
    paper: str | None = None
    sheets: int = 0
    pack: int = 1
    price: Fraction | None = None
    proven: bool = False

    @property
    def packs(self) -> int:
        """Whole packs (reams) to buy."""
        return -(-self.sheets // self.pack)

    @property
    def over(self) -> int:
        """Sheets of the packs that stay."""
        return self.packs * self.pack - self.sheets

    @property
    def cost(self) -> Fraction | None:
        """Of the packs, None where the paper has no price."""
        return None if self.price is None else self.price * self.packs * self.pack


@dataclass(frozen=True)
class Bill:
    """All that a job takes. `staples`: for every copy that is stapled; `adhesive_m2`: of card that gets adhesive."""

    taken: tuple[Taken, ...]
    bought: tuple[Bought, ...]
    staples: int
    adhesive_m2: Fraction

    def from_stock(self, material: str) -> tuple[int, Fraction]:
        """Sheets of a material and their square metres."""
        own = [t for t in self.taken if t.material == material]
        return sum(t.count for t in own), sum((t.area_m2 for t in own), Fraction(0))


def bill_of(plan: Plan, runs: Sequence[Run], prices: Mapping[str, Fraction | None],
            papers: Mapping[str, Sequence[Sheet]], packs: Mapping[str, int], search: PlanCall, *, cutter: Cutter | None = None,
            seconds: float = 3.0) -> Bill:  # fmt: skip
    """The bill of a plan.

    `prices`: of one sheet by id. `papers`: those that may be bought, by material; of several the cheapest for what is
    short, or where one has no price the least paper. `packs`: sheets bought at once. `search` stands for `nesting.plan`,
    `seconds` for one of its calls.
    """
    sheets = {sheet.id: sheet for sheet in plan.sheets}
    taken = tuple(Taken(id, sheets[id].material or "", count, Fraction(sheets[id].area2, _M2) * count, prices.get(id))
                  for id, count in plan.sheets_used().items())  # fmt: skip
    missing = {name: count for name, count in plan.short if count}
    short: dict[str, list[Blank]] = {}
    for blank in plan.blanks:
        if blank.name in missing:
            short.setdefault(blank.material or "", []).append(blank)
    bought = []
    for material, blanks in short.items():
        wanted = [_of(blank, missing[blank.name]) for blank in blanks]
        offers = [_offer(material, wanted, paper, packs.get(material, 1), prices.get(paper.id), search, cutter, seconds)
                  for paper in papers.get(material, ())]  # fmt: skip
        got = [(offer, paper) for offer, paper in zip(offers, papers.get(material, ()), strict=True) if offer is not None]
        if not got:
            bought.append(_without(material, wanted))
            continue
        priced = all(offer.price is not None for offer, _ in got)
        bought.append(min(got, key=lambda pair: ((pair[0].cost if priced else None) or Fraction(0),
                                                 pair[0].sheets * pair[1].area2, pair[1].id))[0])  # fmt: skip
    return Bill(taken, tuple(bought), sum(staples_of(run) for run in runs),
                sum((adhesive_m2(run) for run in runs), Fraction(0)))  # fmt: skip


def _of(blank: Blank, quantity: int) -> Blank:
    return Blank(blank.name, mm(blank.width), mm(blank.height), quantity, blank.turns, blank.grain, blank.up,
                 material=blank.material)  # fmt: skip


def _without(material: str, wanted: Sequence[Blank]) -> Bought:
    area = sum((Fraction(2 * b.width * b.height * (b.quantity or 0), _M2) for b in wanted), Fraction(0))
    return Bought(material, tuple((b.name, b.quantity or 0) for b in wanted), area)


def _offer(material: str, wanted: Sequence[Blank], paper: Sheet, pack: int, price: Fraction | None, search: PlanCall,
           cutter: Cutter | None, seconds: float) -> Bought | None:  # fmt: skip
    """What must be bought of one paper, None where it does not give all that is short."""
    sheet = replace(paper, count=None, cost=None, material=material)
    try:
        found = search([sheet], list(wanted), cutter=cutter, seconds=seconds)
    except ImpossibleJob:
        return None
    if any(count for _, count in found.short):
        return None
    used = sum(found.sheets_used().values())
    return replace(_without(material, wanted), paper=paper.id, sheets=used, pack=pack, price=price, proven=found.bound.proven)
