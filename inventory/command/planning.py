"""`quirestock plan`: a job from the stock book to a checked plan, its drawings and what to do next."""

from __future__ import annotations

import json as jsonlib
import shlex
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from nesting.errors import InputError

from .adding import named
from .common import IMPOSSIBLE, INTERRUPTED, BookOption, JsonOption, emit, emit_json, open_book, say, some, workshop
from .interrupts import Interrupts

if TYPE_CHECKING:
    from inventory.jobs import Job
    from inventory.stock import StockSheet
    from inventory.workshop import Workshop
    from nesting import Plan
    from nesting.explaining import Reason
    from nesting.lengths import Unit

SECONDS = 20.0
FEW_LAYOUTS, FEW_SECONDS, ALL_SECONDS = 12, 3.0, 60.0  # explained unasked, and how long that may take; where asked


def plan(
    job: Annotated[Path, typer.Argument(metavar="JOB", help="The job file (TOML).")],
    out: Annotated[Path | None, typer.Option("--out", metavar="DIR", help="For plan and drawings. Default: JOB-plan.")] = None,
    seconds: Annotated[float | None, typer.Option("--seconds", help="How long to search at most.")] = None,
    seed: Annotated[int, typer.Option("--seed", help="Another number may find another plan of the same worth.")] = 0,
    workers: Annotated[int, typer.Option("--workers", help="Sheets looked at in parallel (at most one a core).")] = 1,
    explain: Annotated[bool, typer.Option("--explain", help="Why each sheet gives no more, of a large pile too.")] = False,
    draw: Annotated[bool, typer.Option("--draw/--no-draw", help="Draw the cut diagrams too.")] = True,
    book: BookOption = None,
    json: JsonOption = False,
) -> None:
    """Plan a job: where every cover, card and folio comes from, what stays short, what could be had at most.

    A piece already chosen, such as a picture for a front, goes into the job file as [[fixed]] with sheet, blank, at (its
    low-left corner: across, up) and turn; the rest is planned around it. exclude = ["w7"] leaves a sheet alone.

    Ctrl-C stops the search and keeps the best plan so far. Exit code 4 where something stays short.
    """
    from inventory.jobs import read_job
    from nesting.draw.because import reason_values

    shop = workshop()
    read = read_job(job, shop.bare_unit, shop.allowances)
    folder = out or job.with_name(f"{job.stem}-plan")
    make_folder(folder)  # before the search: its result must not be lost for want of a place
    with Interrupts() as ctrl_c, open_book(book, readonly=True) as stock:
        at_hand, ever, head = stock.sheets(), stock.sheets(gone=True), stock.head(64)
        for line in left_out(at_hand):
            say(line)
        found = make_plan(read, at_hand, shop, seconds, seed, workers, chosen=ctrl_c.hold)
        ctrl_c.hold()
        if not found.layouts:
            interrupted = ctrl_c.heard or found.bound.stopped_by == "interrupt"
            say("Stopped before any layout was found; nothing was written." if interrupted
                else "No layout was found in the time; nothing was written. Give it more: --seconds 60.")  # fmt: skip
            raise typer.Exit(INTERRUPTED if interrupted else IMPOSSIBLE)
        found = stock.stamp(found, head)
        path = write_document(found, folder)  # before anything else may fail or be stopped
    reasons = () if ctrl_c.heard else explained(found, shop.unit, asked=explain)
    if json:
        emit_json({**found.to_dict(), **({"explained": [reason_values(r, shop.unit) for r in reasons]} if explain else {})})
    else:
        emit(summary(found, read.name, shop.unit))
        emit_reasons(reasons, shop.unit)
        emit(f"  {path}")
    try:
        drawn = write_drawings(found, read.name, shop, folder, captions(at_hand), reasons) if draw and not ctrl_c.heard else []
    except KeyboardInterrupt:
        ctrl_c.heard, drawn = True, []
    if not json:
        for drawing in drawn:
            emit(f"  {drawing}")
        if not ctrl_c.heard and found.bound.stopped_by != "interrupt":  # what must be bought is a search too
            emit(_bill(read, found, ever, shop))
        emit(f"Next: cut, then  quirestock cut {shlex.quote(str(path))}")
    if ctrl_c.heard and draw:
        say(f"Stopped by you: the plan is whole, but not drawn:  quirestock draw {shlex.quote(str(path))}")
    elif found.bound.stopped_by == "interrupt":
        say("Stopped by you: this is the best plan so far, not the best there is.")
    if ctrl_c.heard or found.bound.stopped_by == "interrupt":
        raise typer.Exit(INTERRUPTED)
    if any(n for _, n in found.short):
        raise typer.Exit(IMPOSSIBLE)


def left_out(stock: Sequence[StockSheet]) -> list[str]:
    """That sheets whose material is not said cannot be planned with, and how to say it; nothing where all is said."""
    bare = [s.id for s in stock if s.sheet.material is None]
    if not bare:
        return []
    they, verb = some(len(bare), "sheet"), "has" if len(bare) == 1 else "have"
    return [f"{they} {verb} no material and {'is' if len(bare) == 1 else 'are'} left out: {named(bare)}. If it is cover paper:  "
            f"quirestock sheet material {shlex.quote(bare[0])} cover"]  # fmt: skip


def _bill(job: Job, found: Plan, ever: Any, shop: Workshop) -> str:
    import nesting
    from inventory.batches import Batch

    from .making import bill_text

    batch = Batch.of(job, found, ever, shop)
    return bill_text(batch, batch.bill(nesting.plan))


def make_plan(job: Job, stock: Any, shop: Workshop, seconds: float | None = None, seed: int = 0, workers: int = 1,
              chosen: Callable[[], None] = lambda: None) -> Plan:  # fmt: skip
    """The plan of a job from stock, checked. Raises InputError, ImpossibleJob.

    `chosen` is called when the search is over and the plan is put together.
    """
    import os

    import nesting
    from inventory.jobs import AIMS

    sheets = job.sheets(stock)
    if left := job.without_glue(stock):
        say(f"Left out, for they do not take glue: {', '.join(left)}. To use one all the same, name it under [papers].")
    if not sheets:
        raise InputError("stock book", f"sheets of {', '.join(job.materials)}", "none",
                         "Add some first: quirestock sheet add.")  # fmt: skip
    least = job.least_offcut or shop.least_offcut
    blanks = job.blanks(sheets)
    if any(blank.lines_meet for blank in blanks):
        from inventory.meeting import plan_of_meeting

        return _sound(plan_of_meeting(job, sheets, blanks, shop.cutter, least))
    limit = next(s for s in (seconds, job.seconds, shop.seconds, SECONDS) if s is not None)
    from nesting.lengths import mm

    cores = os.cpu_count() or 1
    if workers > cores:
        say(f"--workers: this machine has {cores} core{'s' if cores > 1 else ''}; as many are used.")
        workers = cores
    found = nesting.plan(
        sheets, blanks, aim=AIMS[job.aim], sets=job.sets(), cutter=shop.cutter,  # type: ignore[arg-type]
        seconds=limit, seed=seed, workers=workers, frames=job.frames,
        least_offcut=None if least is None else tuple(mm(v) for v in least),
        fixed=job.fixed, best_rate=job.best_rate,
        exclude=tuple(i for i in job.exclude if any(s.id == i for s in sheets)), progress=told(chosen),
        variety={"cover": job.variety} if job.variety else 0)  # fmt: skip
    return _sound(found)


def _sound(found: Plan) -> Plan:
    import nesting

    faults = nesting.check(found)
    if faults:
        raise AssertionError(f"the search made a plan with a fault: {faults[0]}")
    return found


def explained(found: Plan, unit: Unit, *, asked: bool) -> tuple[Reason, ...]:
    """Why each sheet gives no more; nothing for a plan of many layouts unless asked for, or where the search was stopped."""
    from nesting.explaining import explain

    if any(blank.lines_meet for blank in found.blanks):  # asked of other searches, which know nothing of lines
        return ()
    if found.bound.stopped_by == "interrupt" or (len(found.layouts) > FEW_LAYOUTS and not asked):
        return ()
    try:
        return explain(found, ALL_SECONDS if asked else FEW_SECONDS, unit)
    except KeyboardInterrupt:  # the plan must not be lost for want of a reason
        say("Stopped: the plan is whole, the reasons are left out.")
        return ()


def emit_reasons(reasons: tuple[Reason, ...], unit: Unit) -> None:
    """A line for each sheet, or for sheets of which the same is to be said."""
    from nesting.draw.because import reason_lines

    if reasons:
        emit("Sheet by sheet:")
        for line in reason_lines(reasons, unit):
            emit(f"  {line}")


def told(chosen: Callable[[], None] = lambda: None) -> Any:
    """Progress as lines on stderr: each kind of step once, then at most one line in two seconds.

    `chosen` is called when the search has ended.
    """
    seen: set[str] = set()
    last = [0.0]

    def tell(step: Any) -> None:
        if step.stage == "chosen":
            chosen()
        elif step.text:
            if step.text not in seen:
                seen.add(step.text)
                say(step.text)
        elif step.stage == "sheets" and step.bound >= 20 and step.seconds - last[0] >= 2.0:
            last[0] = step.seconds
            say(f"looked at {step.value} of {step.bound} different sheets")
        elif step.stage == "prices" and step.seconds - last[0] >= 2.0:
            last[0] = step.seconds
            say(f"{step.value} layouts to choose from")

    return tell


def captions(stock: Any) -> dict[str, str]:
    """What to write beside a sheet's number: its source."""
    return {s.id: s.source for s in stock if s.source}


def write_document(found: Plan, folder: Path) -> Path:
    """plan.json in the folder; drawings of an earlier plan do not stay beside it. Raises StorageError."""
    from inventory.files import write_whole

    make_folder(folder)
    path = folder / "plan.json"
    write_whole(path, (jsonlib.dumps(found.to_dict(), indent=1) + "\n").encode())
    for old in (*folder.glob("plan.pdf"), *folder.glob("plan-[0-9]*.svg"), *folder.glob("plan-[0-9]*.png")):
        old.unlink()
    return path


def write_drawings(found: Plan, name: str, shop: Workshop, folder: Path, captions: dict[str, str],
                   reasons: tuple[Reason, ...]) -> list[Path]:  # fmt: skip
    """plan.pdf in the folder. Raises StorageError."""
    from inventory.drawings import write_pages
    from nesting.draw.because import why
    from nesting.draw.diagrams import plan_pages

    head = found.stock.head[:12] if found.stock else None
    said = {number: why(reason, shop.unit) for reason in reasons for number in reason.layouts}
    pages = plan_pages(found, unit=shop.unit, paper=shop.paper, title=name, book_head=head, captions=captions, why=said)
    return write_pages(pages, folder, "plan", "pdf")


def make_folder(folder: Path) -> None:
    """A folder that can be written to. Raises StorageError."""
    import os

    from inventory.errors import StorageError

    if folder.exists() and not folder.is_dir():
        raise StorageError(f"{folder} is a file, a folder is needed. Name another with --out.")
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise StorageError(f"The folder {folder} cannot be made ({error.strerror}). Name another with --out.") from None
    if not os.access(folder, os.W_OK):
        raise StorageError(f"The folder {folder} may not be written to. Name another with --out.")


def summary(found: Plan, name: str, unit: Unit) -> str:
    """What the plan gives, in a few lines."""
    from nesting.draw.fronts import best_lines
    from nesting.draw.limits import limit_lines
    from nesting.draw.rules import rule_lines
    from nesting.search.pile.reasons import shortfall

    made = found.made()
    short = dict(found.short)
    lines = [f"{name}: {_some(len(found.layouts), 'layout')} from {_some(sum(found.sheets_used().values()), 'sheet')}."]
    for blank in found.blanks:
        missing = short.get(blank.name, 0)
        lines.append(f"  {made[blank.name]:>5} {blank.name}" + (f", {missing} short" if missing else ""))
        if missing:
            lines += [f"        {why}" for why in shortfall(blank, found.sheets, made[blank.name], found.cutter, unit)]
    offcuts = sum(o.count for layout in found.layouts for o in layout.offcuts)
    if offcuts:
        lines.append(f"  {offcuts:>5} {'offcut goes' if offcuts == 1 else 'offcuts go'} back to stock")
    lines += [*best_lines(found), *limit_lines(found, unit), *rule_lines(found)]
    return "\n".join(lines)


def _some(count: int, what: str) -> str:
    return f"1 {what}" if count == 1 else f"{count} {what}s"
