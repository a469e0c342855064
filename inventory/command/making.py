"""`quirestock notebook bill` and `cost`: what a batch takes from stock, what must be bought, and what a book costs."""

from __future__ import annotations

from decimal import Decimal
from fractions import Fraction
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from nesting.errors import InputError

from .common import IMPOSSIBLE, BookOption, JsonOption, columns, emit, emit_json, open_book, read_plan, say, workshop

if TYPE_CHECKING:
    from inventory.batches import Batch
    from nesting.notebook.bill import Bill
    from nesting.notebook.costs import CostSheet

JobArgument = Annotated[Path, typer.Argument(metavar="JOB|PLAN", help="A job file, or the plan.json made of it.")]
JobOption = Annotated[Path | None, typer.Option("--job", metavar="JOB", help="The job of a plan that lies elsewhere.")]


def read_batch(path: Path, job: Path | None, book: str | None) -> Batch:
    """The batch of a job or of its plan; a job that has no plan yet is planned now. Raises InputError, StorageError."""
    from inventory.batches import Batch, job_and_plan
    from inventory.jobs import read_job

    from .planning import make_plan

    shop = workshop()
    named, planned = (job, path) if job is not None else job_and_plan(path)
    read = read_job(named, shop.bare_unit, shop.allowances)
    with open_book(book, readonly=True) as stock:
        ever, at_hand = stock.sheets(gone=True), stock.sheets()
    if path == planned or planned.is_file():
        return Batch.of(read, read_plan(planned), ever, shop)
    say("There is no plan of this job yet: it is planned now, and not kept.")
    return Batch.of(read, make_plan(read, at_hand, shop), ever, shop)


def bill(job: JobArgument, of: JobOption = None, book: BookOption = None, json: JsonOption = False) -> None:
    """What a job takes from stock, what must be bought (whole reams, whole sheets), staples, adhesive and card."""
    import nesting

    batch = read_batch(job, of, book)
    made = batch.bill(nesting.plan)
    if json:
        emit_json(bill_values(batch, made))
    else:
        emit(bill_text(batch, made))


def bill_text(batch: Batch, made: Bill) -> str:
    """The bill as a maker reads it."""
    from nesting.lengths import number, show

    unit, plan = batch.shop.unit, batch.plan
    rows: list[list[str]] = []
    for run in batch.runs:
        for blank in run.format.blanks():
            if any(b.name == blank.name for b in plan.blanks):
                size = f"{number(blank.width, unit)} x {show(blank.height, unit)}"
                rows.append(["blanks" if not rows else "", blank.name, f"{run.blanks_of(blank.material):,}", size,  # type: ignore[arg-type]
                             _for_books(run.wanted, run.blanks_of(blank.material) // run.format.per_book(blank.material))])  # type: ignore[arg-type]
    first = True
    for material in ("cover", "card", "folio"):
        own = [t for t in made.taken if t.material == material]
        bought = [t for t in own if t.count > 1 or batch.facts[t.sheet].kind == "parent"]
        rest = [t for t in own if t not in bought]
        for t in bought:
            rows.append(["from stock" if first else "", t.sheet, f"{t.count:,}", f"{float(t.area_m2):.2f} m²", material])
            first = False
        if rest:
            area = float(sum(t.area_m2 for t in rest))
            rows.append(["from stock" if first else "", f"{len(rest)} single sheets" if len(rest) > 1 else rest[0].sheet,
                         f"{len(rest):,}", f"{area:.2f} m²", material])  # fmt: skip
            first = False
    for k, buy in enumerate(made.bought):
        what = ", ".join(f"{count:,} {name}" for name, count in buy.short)
        if buy.paper is None:
            rows.append(["to buy" if not k else "", f"{buy.material} paper", "", f"{float(buy.area_m2):.2f} m²",
                         f"at least, for {what}: no paper in the book to reckon with"])  # fmt: skip
            continue
        rows.append(["to buy" if not k else "", buy.paper, f"{buy.packs * buy.pack:,}", _packs(buy.packs, buy.pack),
                     f"for {what}: {buy.sheets:,} sheets{'' if buy.proven else ' (perhaps fewer)'}, {buy.over:,} over"
                     + _cost(batch, buy.cost)])  # fmt: skip
    if not made.bought:
        rows.append(["to buy", "no paper", "", "", "all of it is in stock"])
    count, card = made.from_stock("card")
    if count:
        rows.append(["card", "sheets", f"{count:,}", f"{float(card):.2f} m²", "as above"])
    rows.append(["staples", "", f"{made.staples:,}", "", "for every copy stapled"])
    if made.adhesive_m2:
        rows.append(["adhesive", "", "", f"{float(made.adhesive_m2):.2f} m²", "one side of every card laminated"])
    widest = max(len(row[2]) for row in rows)
    return "Bill\n" + columns([[row[0], row[1], row[2].rjust(widest), *row[3:]] for row in rows])


def _for_books(wanted: int, copies: int) -> str:
    return f"for {wanted:,} books" + (f", {copies - wanted:,} over" if copies > wanted else "")


def _packs(packs: int, pack: int) -> str:
    if pack == 1:
        return "single sheets"
    name = "ream" if pack == 500 else f"pack of {pack:,}"
    return f"{packs:,} {name}" + ("s" if packs > 1 and pack == 500 else "")


def _cost(batch: Batch, cost: Fraction | None) -> str:
    from nesting.notebook.money import shown

    return "" if cost is None else f", {shown(cost, batch.shop.money.strip())}"


def bill_values(batch: Batch, made: Bill) -> dict[str, Any]:
    """The bill for JSON; money as text, exact."""
    return {
        "job": batch.job.name, "currency": batch.shop.money.strip() or None,
        "blanks": [{"name": f"{run.format.name} {b.material}", "quantity": run.blanks_of(b.material), "books": run.wanted}  # type: ignore[arg-type]
                   for run in batch.runs for b in run.format.blanks()],
        "from_stock": [{"sheet": t.sheet, "material": t.material, "sheets": t.count, "area_m2": float(t.area_m2),
                        "price": None if t.price is None else str(_decimal(t.price))} for t in made.taken],
        "to_buy": [{"material": b.material, "short": dict(b.short), "area_m2": float(b.area_m2), "paper": b.paper,
                    "sheets": b.sheets, "pack": b.pack, "packs": b.packs, "over": b.over, "proven": b.proven,
                    "cost": None if b.cost is None else str(_decimal(b.cost))} for b in made.bought],
        "staples": made.staples, "adhesive_m2": float(made.adhesive_m2)}  # fmt: skip


def _decimal(value: Fraction) -> Decimal:
    return Decimal(value.numerator) / Decimal(value.denominator)


def cost(
    job: JobArgument,
    of: JobOption = None,
    margin: Annotated[float | None, typer.Option("--margin", metavar="PERCENT", help="Of the price, if not the usual.")] = None,
    waste: Annotated[str, typer.Option("--waste", metavar="job|stock", help="Who bears the shavings.")] = "job",
    book: BookOption = None,
    json: JsonOption = False,
) -> None:
    """What a book costs: paper, labour and what is used up; its price at a margin; and the same for twice the run.

    An offcut goes back to stock at its share of its sheet's price; shavings are borne by the job, or by the stock.
    Prices, rates and minutes are those of workshop.toml ([prices], [labour], [stages], [consumables], [selling]).
    """
    from inventory.figures import number
    from nesting.notebook.costs import WASTES

    if waste not in WASTES:
        raise InputError("--waste", " or ".join(WASTES), waste)
    wanted = None if margin is None else number(margin, "--margin", 0, 99)
    batch = read_batch(job, of, book)
    rates = batch.rates(wanted)
    pieces, free = batch.pieces(waste)
    runs = batch.made()
    if not runs:
        say("No whole book comes of this plan; see what is short:  quirestock notebook bill")
        raise typer.Exit(IMPOSSIBLE)
    sheets = [batch.costs(run, pieces, rates) for run in runs]
    if json:
        emit_json({"job": batch.job.name, "currency": rates.currency, "waste": waste,
                   "books": [{**cost_values(one), "twice": cost_values(two)} for one, two in sheets]})  # fmt: skip
        return
    emit("\n\n".join(cost_text(one, two) for one, two in sheets))
    emit("")
    for line in _cost_notes(batch, waste, free):
        emit(line)


def cost_text(one: CostSheet, two: CostSheet) -> str:
    """A cost sheet beside that of twice the run."""
    from nesting.notebook.money import shown

    head = ["", "", f"{one.books:,} books", "a book", f"{two.books:,} books", "a book"]
    rows = [[line.label, line.much, *_figures(one, line.cost), *_figures(two, two.lines[k].cost)]
            for k, line in enumerate(one.lines)]  # fmt: skip
    rows.append(["cost", f"{float(one.minutes) / 60:,.1f} h of work", *_figures(one, one.total), *_figures(two, two.total)])
    if one.price is not None and two.price is not None and one.margin is not None:
        rows.append([f"price at {float(one.margin):g} % margin", "", "", f"{one.price:,f}", "", f"{two.price:,f}"])
        rows.append(["margin of a book", "", "", f"{one.price - one.a_book(one.total):,f}", "",
                     f"{two.price - two.a_book(two.total):,f}"])  # fmt: skip
    wide = [max(len(row[k]) for row in (head, *rows)) for k in range(6)]
    table = columns([[cell if k < 2 else cell.rjust(wide[k]) for k, cell in enumerate(row)] for row in (head, *rows)])
    moved = two.a_book(two.total) - one.a_book(one.total)
    more = "the same" if not moved else f"{shown(abs(moved), one.currency)} {'less' if moved < 0 else 'more'}"
    return f"{one.name}, all in {one.currency}\n{table}\nOf twice as many, a book costs {more}."


def _figures(sheet: CostSheet, cost: Decimal) -> list[str]:
    return [f"{cost:,f}", f"{sheet.a_book(cost):,f}"]


def _cost_notes(batch: Batch, waste: str, free: tuple[str, ...]) -> list[str]:
    figures = batch.shop.figures
    out = [f"Shavings are borne by the {waste}; offcuts go back to stock at their share of the price.",
           "Each line is rounded once; a book's share of it is rounded again and need not add up."]  # fmt: skip
    made = {run.format.name: run.wanted for run in batch.made()}
    for run in batch.runs:
        if made.get(run.format.name, 0) < run.wanted:
            out.append(f"LOOK: the plan gives {made.get(run.format.name, 0):,} of {run.wanted:,} {run.format.name}; "
                       "what is short is not in these costs.")  # fmt: skip
    left = [m for m in ("cover", "card", "folio") if m not in batch.job.materials]
    if left:
        out.append(f"LOOK: the job leaves out {' and '.join(left)}: not in these costs.")
    if free:
        named = ", ".join(free[:6]) + (f" and {len(free) - 6:,} more" if len(free) > 6 else "")
        out.append(f"LOOK: salvaged paper without a price counts as nothing: {named}.")
    if figures.rate is None:
        out.append("LOOK: labour is not in these costs: write rate under [labour] of workshop.toml.")
    if not figures.consumables:
        out.append("LOOK: staples and adhesive are not in these costs: write [consumables] into workshop.toml.")
    return out if figures.rate is None else out + batch.minutes_notes()


def cost_values(sheet: CostSheet) -> dict[str, Any]:
    """A cost sheet for JSON; money as text, exact."""
    return {"format": sheet.name, "books": sheet.books, "minutes": float(sheet.minutes), "total": str(sheet.total),
            "a_book": str(sheet.a_book(sheet.total)), "margin": None if sheet.margin is None else float(sheet.margin),
            "price": None if sheet.price is None else str(sheet.price),
            "lines": [{"kind": line.kind, "label": line.label, "much": line.much, "cost": str(line.cost)}
                      for line in sheet.lines]}  # fmt: skip
