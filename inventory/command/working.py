"""`quirestock notebook work` and `glue`: a batch at the bench, stage by stage, and which cover goes on which card."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from nesting.errors import InputError

from .common import BookOption, JsonOption, columns, emit, emit_json, say
from .making import JobArgument, JobOption, read_batch

if TYPE_CHECKING:
    from nesting.notebook.workplan import WorkPlan


def work(
    job: JobArgument,
    of: JobOption = None,
    out: Annotated[Path | None, typer.Option("--out", metavar="DIR", help="Draw the chart of the days there.")] = None,
    book: BookOption = None,
    json: JsonOption = False,
) -> None:
    """The stages with their minutes of work and of waiting, in loads that lift, press and weights take, day by day.

    The minutes are those of [stages] in workshop.toml; the usual ones are common practice, no source. [press], [weights]
    and [day] say what the press takes, how many books lie under the weights, and when you are at the bench.
    """
    from nesting.draw.summary import CAUTIONS

    batch = read_batch(job, of, book)
    made = batch.work_plan()
    figures = batch.shop.figures
    if json:
        emit_json(_work_values(made))
    else:
        emit(_work_text(made, figures.day_start))
        emit("")
        for line in (*batch.work_notes(), *(f"- {caution}" for caution in CAUTIONS)):
            emit(line)
    if out is not None:
        from inventory.drawings import write_pages
        from nesting.draw.day_chart import day_pages

        pages = day_pages(made, day_start=figures.day_start, day_minutes=figures.day_minutes, paper=batch.shop.paper,
                          title=batch.job.name)  # fmt: skip
        for path in write_pages(pages, out, "work", "pdf"):
            (say if json else emit)(str(path))


def _work_text(made: WorkPlan, day_start: int) -> str:
    from nesting.draw.day_chart import clock

    rows = [["stage", "copies", "loads", "work", "waits"]]
    several = len(made.names) > 1
    for row in made.rows:
        loads = f"{row.loads} of {row.most} at most, by the {row.by}" if row.loads > 1 else "1"
        rows.append([f"{row.stage.title}, {row.run}" if several else row.stage.title, f"{row.copies:,}", loads,
                     f"{float(row.work):.1f} min", f"{float(row.wait) / 60:g} h a load" if row.wait else ""])  # fmt: skip
    rows.append(["all", "", "", f"{float(made.work) / 60:.1f} h", ""])
    days = [["day", "from", "to", "what", "load"]]
    shown = None
    for block in made.blocks:
        task = made.tasks[block.task]
        whole = next(r for r in made.rows if r.run == made.names[task.run] and r.stage.key == task.stage.key)
        load = f"{task.load + 1} of {whole.loads}, {task.last - task.first} copies" if whole.loads > 1 else ""
        title = f"{task.stage.title}, {made.names[task.run]}" if several else task.stage.title
        days.append([f"{block.day + 1}" if block.day != shown else "", clock(day_start + block.start),
                     clock(day_start + block.end), title, load])  # fmt: skip
        shown = block.day
    return f"{columns(rows)}\n\n{columns(days)}"


def _work_values(made: WorkPlan) -> dict[str, Any]:
    return {
        "stages": [{"format": r.run, "stage": r.stage.key, "copies": r.copies, "loads": r.loads, "most": r.most,
                    "limit": r.by or None, "work_minutes": float(r.work), "wait_minutes": float(r.wait), "own": r.stage.own}
                   for r in made.rows],
        "work_minutes": float(made.work), "days": made.days,
        "blocks": [{"day": b.day + 1, "from_minute": float(b.start), "to_minute": float(b.end),
                    "format": made.names[made.tasks[b.task].run], "stage": made.tasks[b.task].stage.key,
                    "load": made.tasks[b.task].load + 1} for b in made.blocks]}  # fmt: skip


def glue(
    job: JobArgument,
    of: JobOption = None,
    out: Annotated[Path | None, typer.Option("--out", metavar="DIR", help="Draw the lay sheet there.")] = None,
    book: BookOption = None,
    json: JsonOption = False,
) -> None:
    """The lay sheet: which cover paper goes on which card, which way up, with the marks to lay it by.

    What the book says of a paper is told: that it does not take glue, that it cracks at the fold.
    """
    from dataclasses import asdict

    from nesting.draw.lay_page import lay_pages, look
    from nesting.draw.summary import CAUTIONS
    from nesting.notebook.laying import glue_notes, lay_notes

    batch = read_batch(job, of, book)
    unit = batch.shop.unit
    found = batch.lays()
    if not found:
        raise InputError("JOB", "a plan with covers and cards to glue them to", "none")
    told = [(format.name, marks, lays, (*lay_notes(format, marks, unit), *glue_notes(lays))) for format, marks, lays in found]
    if json:
        from nesting.lengths import mm

        emit_json([{"format": name, "cover_mm": [mm(v) for v in marks.cover], "card_mm": [mm(v) for v in marks.card],
                    "side_mm": mm(marks.side), "end_mm": mm(marks.end), "centre_mm": mm(marks.centre),
                    "lays": [asdict(lay) for lay in lays], "notes": notes} for name, marks, lays, notes in told])  # fmt: skip
    else:
        for name, _, lays, notes in told:
            rows = [["no.", "cover paper", "layout", "which way up", "on card", "look"]]
            rows += [[f"{lay.first}" if lay.count == 1 else f"{lay.first}-{lay.first + lay.count - 1}", lay.cover_sheet,
                      f"{lay.layout}", lay.way, lay.card_sheet, look(lay)] for lay in lays]  # fmt: skip
            emit(f"{name}\n{columns(rows)}")
            emit("\n".join(("", *notes, "")))
        for caution in CAUTIONS[2:]:
            emit(f"- {caution}")
    if out is not None:
        from inventory.drawings import write_pages

        for path in write_pages(lay_pages(told, unit=unit, paper=batch.shop.paper, title=batch.job.name), out, "lay", "pdf"):
            (say if json else emit)(str(path))
