"""All pages of a plan as figures, ready to be printed at true size."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING

from ..errors import InputError
from ..lengths import Unit
from ..plans import Plan
from ..programme.steps import steps
from .chosen import chosen_pieces
from .furniture import footer
from .ink import papers
from .layout_page import Job, layout_pages
from .summary import Use, summary_count, summary_pages

if TYPE_CHECKING:
    from matplotlib.figure import Figure


def plan_pages(plan: Plan, *, unit: Unit = "mm", paper: str = "A4", title: str = "Cutting plan",
               notes: Sequence[str] = (), book_head: str | None = None,
               captions: Mapping[str, str] | None = None, why: Mapping[int, str] | None = None) -> list[Figure]:  # fmt: skip
    """Cut diagrams of a plan: a summary, then each layout on a page of its own (more where its table is long).

    `unit` is the bench's, `paper` A4 or Letter, `notes` go on the summary, `book_head` into the footer (else the
    plan's own), `captions` beside the numbers of sheets (by id: where a sheet comes from), `why` on the page of a layout (by its
    number from 1: why it gives no more). Figures are in the paper's
    true size, to be saved without hinting of text (`inventory.drawings`). Raises InputError for an unknown paper, or
    a layout whose sheet or blank the plan does not hold.
    """
    papers(paper)
    sheets = {sheet.id: sheet for sheet in plan.sheets}
    names = {blank.name for blank in plan.blanks}
    for number, layout in enumerate(plan.layouts, 1):
        if layout.sheet not in sheets:
            raise InputError(f"layout {number}, sheet", "a sheet of the plan", layout.sheet, "Make the plan anew.")
        for piece in layout.pieces:
            if piece.blank not in names:
                raise InputError(f"layout {number}, piece", "a blank of the plan", piece.blank, "Make the plan anew.")
    count = len(plan.layouts)
    made = [steps(layout, sheets[layout.sheet], plan.cutter) for layout in plan.layouts]
    chosen = chosen_pieces(plan)
    drawn = []
    for number, (layout, done) in enumerate(zip(plan.layouts, made, strict=True), 1):
        caption = (captions or {}).get(layout.sheet, "")
        job = Job(layout, sheets[layout.sheet], plan.blanks, unit, paper, title, caption, f"layout {number} of {count}",
                  (why or {}).get(number, ""), chosen.get(number, ()))  # fmt: skip
        drawn.append(layout_pages(job, done))
    before = summary_count(plan, [Use(0, done) for done in made], unit=unit, paper=paper, notes=notes)
    uses, at = [], before + 1
    for pages, done in zip(drawn, made, strict=True):
        uses.append(Use(at, done))
        at += len(pages)
    every = summary_pages(plan, uses, unit=unit, paper=paper, title=title, notes=notes)
    every += [page for pages in drawn for page in pages]
    head = book_head if book_head is not None else plan.stock.head if plan.stock is not None else None
    for number, page in enumerate(every, 1):
        marks = [f"plan {plan.id[:8]}"] if plan.id else []
        footer(page, "   ".join([*marks, *([f"stock book {head[:12]}"] if head else [])]), number, len(every))
    return [page.figure for page in every]
