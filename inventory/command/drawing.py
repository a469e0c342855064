"""`quirestock draw`: the cut diagrams of a plan on paper."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from .common import FAULTS, emit, read_plan, say, unit_of, workshop


def draw(
    plan: Annotated[Path, typer.Argument(metavar="PLAN", help="A plan that `quirestock plan` wrote.")],
    out: Annotated[Path | None, typer.Option("--out", metavar="DIR", help="Default: the folder of the plan.")] = None,
    format: Annotated[str, typer.Option("--format", metavar="pdf|svg|png", help="One PDF, or a file for each page.")] = "pdf",
    paper: Annotated[str | None, typer.Option("--paper", metavar="A4|Letter", help="Default: the workshop's.")] = None,
    unit: Annotated[str | None, typer.Option("--unit", metavar="mm|in", help="Default: the workshop's.")] = None,
) -> None:
    """Draw a plan: a summary, then every layout face up with its numbered cuts and fence settings.

    Print at 100 % and measure the bar. A plan with faults is not drawn (exit code 1).
    """
    from inventory.command.planning import explained
    from inventory.drawings import FORMATS, write_pages
    from nesting import check
    from nesting.draw.because import why
    from nesting.draw.diagrams import plan_pages
    from nesting.draw.ink import papers
    from nesting.errors import InputError

    shop = workshop()
    shown, sheet = unit_of(unit, shop.unit), paper or shop.paper
    papers(sheet)
    if format.lower() not in FORMATS:
        raise InputError("--format", "pdf, svg or png", format)
    found = read_plan(plan)
    faults = check(found)
    if faults:
        for fault in faults[:10]:
            say(f"{fault.where}: {fault.text}")
        say(f"{len(faults)} fault{'s' if len(faults) > 1 else ''}: {plan} is not drawn. Plan the job again.")
        raise typer.Exit(FAULTS)
    folder = out if out is not None else plan.parent
    name = plan.stem if plan.stem != "plan" or not plan.absolute().parent.name else plan.absolute().parent.name
    head = found.stock.head[:12] if found.stock is not None else None
    said = {number: why(reason, shown) for reason in explained(found, shown, asked=False) for number in reason.layouts}
    pages = plan_pages(found, unit=shown, paper=sheet, title=name, book_head=head, why=said)
    for path in write_pages(pages, folder, plan.stem, format):
        emit(str(path))
