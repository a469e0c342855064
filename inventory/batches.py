"""A batch: a job, its plan, and what the stock book says of the sheets, for bill, costs, work plan and lay sheet."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from fractions import Fraction
from pathlib import Path

from nesting import Plan, Sheet
from nesting.errors import InputError
from nesting.notebook.bill import Bill, PlanCall, bill_of
from nesting.notebook.costs import CostSheet, Pieces, Rates, Waste, cost_sheet, count_of, guessed, pieces_of
from nesting.notebook.formats import MATERIALS, Format
from nesting.notebook.laying import Lay, Marks, lays_of, marks_of
from nesting.notebook.money import amount
from nesting.notebook.stages import Run
from nesting.notebook.workplan import Capacity, WorkPlan, in_press, work_plan

from .jobs import Job
from .stock import StockSheet
from .workshop import Workshop

_PRICE_NEXT = "Write one for its material under [prices] of workshop.toml."


@dataclass(frozen=True)
class Batch:
    """`runs`: the books as wanted. `facts`: every sheet that the book ever had, by id."""

    job: Job
    plan: Plan
    runs: tuple[Run, ...]
    facts: Mapping[str, StockSheet]
    shop: Workshop

    @classmethod
    def of(cls, job: Job, plan: Plan, stock: Iterable[StockSheet], shop: Workshop) -> Batch:
        """Checks that the plan is one of this job. Raises InputError."""
        facts = {s.id: s for s in stock}
        wanted = {b.name: b.quantity for b in job.blanks()}
        planned = {b.name: b.quantity for b in plan.blanks}
        if wanted != planned:
            changed = sorted(name for name in wanted.keys() | planned.keys() if wanted.get(name) != planned.get(name))
            raise InputError("plan", f"a plan of the job {job.name}", f"another number of {', '.join(changed)}",
                             "Plan the job again: quirestock plan.")  # fmt: skip
        for layout in plan.layouts:
            if layout.sheet not in facts:
                raise InputError("plan", "sheets that the stock book knows", layout.sheet, "Name its book with --book.")
        counted = all(b.wanted for b in job.books)
        return cls(job, plan, job.runs() if counted else _as_made(job, plan), facts, shop)

    def _flat(self, run: Run) -> int:
        """Books more than wanted, as the job says."""
        return next(b.overs if b.wanted else 0 for b in self.job.books if b.format.name == run.format.name)

    def made(self) -> tuple[Run, ...]:
        """The books that the plan really gives: fewer than wanted where blanks stay short; those of none left out."""
        got = self.plan.made()
        def enough(run: Run, books: int) -> Run | None:
            fewer = Run.of(run.format, books, self.job.overs, self._flat(run))
            names = {m: f"{run.format.name} {m}" for m in MATERIALS if run.format.per_book(m)}
            return fewer if all(n not in got or got[n] >= fewer.blanks_of(m) for m, n in names.items()) else None

        out = []
        for run in self.runs:
            low, high = 0, run.wanted
            while low < high:
                middle = (low + high + 1) // 2
                low, high = (middle, high) if enough(run, middle) else (low, middle - 1)
            found = enough(run, low) if low else None
            if found:
                out.append(found)
        return tuple(out)

    def price(self, id: str) -> Fraction | None:
        """The price of one sheet: its own, its material's in the workshop, of an offcut its share of its parent's.

        None where there is none. Raises InputError for a price without a currency.
        """
        stock = self.facts[id]
        money, field = self.shop.money.strip() or None, f"sheet {id}, price"
        if stock.price is not None:
            return amount(stock.price, money, field)
        if stock.kind == "offcut":
            parent = self.facts.get(stock.parent or "")
            whole = None if parent is None else self.price(parent.id)
            return None if whole is None or parent is None else whole * Fraction(stock.sheet.area2, parent.sheet.area2)
        of_material = self.shop.prices.get(stock.sheet.material or "")
        return None if of_material is None else amount(of_material, money, field)

    def prices(self) -> tuple[dict[str, Fraction], tuple[str, ...]]:
        """Prices of the plan's sheets for its costs, and the ids of salvaged ones that have none and count as nothing.

        Raises InputError where a bought paper has no price.
        """
        out, free = {}, []
        for id in self.plan.sheets_used():
            price = self.price(id)
            if price is None and self._salvaged(id):
                free.append(id)
            elif price is None:
                raise InputError(f"sheet {id}, price", f"the price of one sheet of {self.facts[id].sheet.material}", "none",
                                 _PRICE_NEXT)  # fmt: skip
            out[id] = price or Fraction(0)
        return out, tuple(free)

    def _salvaged(self, id: str) -> bool:
        stock = self.facts[id]
        while stock.kind == "offcut" and stock.parent is not None and stock.parent in self.facts:
            stock = self.facts[stock.parent]
        return stock.kind == "salvaged"

    def bill(self, search: PlanCall) -> Bill:
        """The bill; `search` is `nesting.plan`. Raises InputError for a paper to buy that the book does not know."""
        from .jobs import near

        short = {b.material for b in self.plan.blanks if dict(self.plan.short).get(b.name)}
        papers: dict[str, list[Sheet]] = {}
        for material, id in self.job.buy.items():
            if id not in self.facts or self.facts[id].sheet.material != material:
                known = [s.id for s in self.facts.values() if s.sheet.material == material]
                raise InputError(f"job, buy, {material}", f"the id of a {material} paper in the book", id, near(id, known))
        for stock in self.facts.values():
            material = stock.sheet.material or ""
            named = self.job.buy.get(material)
            if material in short and (stock.id == named if named else stock.kind == "parent"):
                papers.setdefault(material, []).append(stock.sheet)
        prices = {id: self.price(id) for id in {*self.plan.sheets_used(), *(s.id for p in papers.values() for s in p)}}
        return bill_of(self.plan, self.runs, prices, papers, self.shop.figures.packs, search,
                       cutter=self.shop.cutter)  # fmt: skip

    def sheets_a_lift(self) -> dict[str, int]:
        """How many sheets of an id one lift of the cutter holds, where lift and caliper are known."""
        lift = self.shop.cutter.lift
        thick = {id: self.facts[id].caliper for id in self.plan.sheets_used()}
        return {} if lift is None else {id: max(1, lift // caliper) for id, caliper in thick.items() if caliper}

    def books_a_lift(self, run: Run) -> int | None:
        """How many closed books one lift of the cutter holds; None where lift or a caliper is not known."""
        closed, lift = run.format.closed_thickness(), self.shop.cutter.lift
        return None if lift is None or not closed else max(1, lift // closed)

    def rates(self, margin: Fraction | None = None) -> Rates:
        """What a cost sheet is reckoned with. Raises InputError where the workshop has no money."""
        from nesting.notebook.money import NEXT

        figures, money = self.shop.figures, self.shop.money.strip()
        if not money:
            raise InputError(f"{self.shop.folder / 'workshop.toml'}, [bench], money", "the currency of the costs", "none", NEXT)
        return Rates(money, figures.stages, figures.rate, figures.consumables,
                     figures.margin if margin is None else margin)  # fmt: skip

    def pieces(self, waste: Waste) -> tuple[dict[str, Pieces], tuple[str, ...]]:
        """The plan's pieces with what their paper cost, and the salvaged sheets that count as nothing. Raises InputError."""
        prices, free = self.prices()
        return pieces_of(self.plan, prices, waste, self.sheets_a_lift()), free

    def costs(self, run: Run, pieces: Mapping[str, Pieces], rates: Rates) -> tuple[CostSheet, CostSheet]:
        """The cost sheet of a run, and of one twice as long."""
        double = Run.of(run.format, 2 * run.wanted, self.job.overs, 2 * self._flat(run))
        a_lift = self.books_a_lift(run)
        return cost_sheet(run, pieces, rates, a_lift), cost_sheet(double, pieces, rates, a_lift)

    def capacity(self, run: Run) -> Capacity:
        """Copies of a run in one load of press, weights and lift."""
        figures, parts = self.shop.figures, run.format.calipers
        shell = None if parts.cover is None or parts.card is None else parts.cover + parts.card + (parts.glue or 0)
        height, stacks = figures.press_height, figures.press_stacks
        return Capacity(in_press(height, stacks, shell), in_press(height, stacks, run.format.closed_thickness()),
                        figures.weights, self.books_a_lift(run))  # fmt: skip

    def work_plan(self) -> WorkPlan:
        """The work plan of the books as wanted."""
        names = self.plan.sheets_used()
        pieces = pieces_of(self.plan, dict.fromkeys(names, Fraction(0)), "job", self.sheets_a_lift())
        counts = {(k, stage.key): count_of(stage, run, pieces, None) for k, run in enumerate(self.runs)
                  for stage in self.shop.figures.stages if stage.key.startswith("cut_")}  # fmt: skip
        figures = self.shop.figures
        return work_plan(self.runs, figures.stages, counts, [self.capacity(run) for run in self.runs], figures.day_minutes)

    def lays(self) -> list[tuple[Format, Marks, tuple[Lay, ...]]]:
        """What is glued: each format with its lay marks, and which cover goes on which card."""
        glue = {id: (stock.takes_glue, stock.cracks_at_fold) for id, stock in self.facts.items()}
        found = ((run.format, marks_of(run.format), lays_of(self.plan, run.format, glue)) for run in self.runs)
        return [(format, marks, lays) for format, marks, lays in found if marks is not None and lays]

    def minutes_notes(self) -> list[str]:
        """Whose the minutes are, and which lifts are not known."""
        figures, out = self.shop.figures, []
        usual = guessed(figures.stages)
        if usual:
            what = "all minutes" if len(usual) == len(figures.stages) else f"the minutes of {', '.join(usual)}"
            out.append(f"Common practice, no source, until you time your own: {what}.")
        thin = [run.format.name for run in self.runs if run.format.closed_thickness() is None]
        if thin:
            out.append(f"LOOK: no caliper of cover, card and folio is given for {', '.join(thin)}: loads of lift and press are "
                       "not reckoned.")  # fmt: skip
        if self.shop.cutter.lift is None:
            out.append("LOOK: no lift under [cutter]: all books are taken to be trimmed at once.")
        return out

    def work_notes(self) -> list[str]:
        """What the work plan does not know."""
        figures, out = self.shop.figures, self.minutes_notes()
        if figures.press_height is None:
            out.append("LOOK: no height under [press]: all copies are taken to go in at once.")
        if figures.weights is None:
            out.append("LOOK: no books under [weights]: all are taken to lie under them at once.")
        return out


def _as_made(job: Job, plan: Plan) -> tuple[Run, ...]:
    """Where the job wants as many as the stock gives: as many whole books as the plan has blanks for."""
    got = plan.made()
    out: list[Run] = []
    for books in job.books:
        name = books.format.name
        needs = {m: books.format.per_book(m) for m in MATERIALS if f"{name} {m}" in got}
        least = min((got[f"{name} {m}"] // count for m, count in needs.items() if count), default=0)
        if least:
            out.append(Run.of(books.format, least))
    return tuple(out)


def job_and_plan(path: Path) -> tuple[Path, Path]:
    """The job file and the plan file that belong to the one of them named: JOB.toml and JOB-plan/plan.json.

    Raises InputError where a plan's job is not beside it.
    """
    if path.suffix.lower() != ".json":
        return path, path.with_name(f"{path.stem}-plan") / "plan.json"
    folder = path.absolute().parent
    job = folder.with_name(f"{folder.name.removesuffix('-plan')}.toml")
    if not job.is_file():
        raise InputError("JOB", f"the plan's job file beside its folder, {job.name}", "none", "Name the job file with --job.")
    return job, path



