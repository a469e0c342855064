"""`quirestock notebook survey`: which finished size suits the pile and the papers in the stock book."""

from __future__ import annotations

import re
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from nesting.errors import ImpossibleJob, InputError

from .common import INTERRUPTED, BookOption, JsonOption, columns, emit, emit_json, open_book, say, some, workshop
from .notebook import FormatArgument, UnitOption, read_format

if TYPE_CHECKING:
    from inventory.workshop import Workshop
    from nesting.lengths import Unit
    from nesting.notebook.formats import Format
    from nesting.notebook.surveys import Survey, SurveyRow

SECONDS = 300.0
TOLD_EVERY = 2.0  # seconds between two lines of progress
_AROUND, _STEPS = 0.2, {"mm": "5 mm", "in": "1/4 in"}  # of the format's own sides where no range is given
_NAMES = {"cover": "covers", "card": "card", "folio": "pages"}
FIELDS = ("width_mm", "height_mm", "books", "covers", "covers_at_most", "card", "pages", "runs_out_first", "waste", "evenness",
          "proven", "worth_a_look")  # fmt: skip


def survey(
    format: FormatArgument,
    width: Annotated[
        str | None, typer.Option("--width", metavar="RANGE", help="Finished: 80 to 110. Default: a fifth around FORMAT's.")
    ] = None,
    height: Annotated[str | None, typer.Option("--height", metavar="RANGE", help="Finished: 120 to 160.")] = None,
    step: Annotated[str | None, typer.Option("--step", metavar="LENGTH", help="Between sizes. Default: 5 mm or 1/4 in.")] = None,
    size: Annotated[
        list[str] | None, typer.Option("--size", metavar="SIZE", help="Only this finished size: A6, 3-1/2 x 5-1/2 in. Repeat it.")
    ] = None,
    every: Annotated[bool, typer.Option("--all", help="List every size, not only those worth a look.")] = False,
    out: Annotated[Path | None, typer.Option("--out", metavar="FILE", help="Draw the heat map: .pdf, .png or .svg.")] = None,
    seconds: Annotated[float, typer.Option("--seconds", help="Begin no size after that.")] = SECONDS,
    workers: Annotated[int, typer.Option("--workers", metavar="N", help="Sheets looked at in parallel.", min=1, max=64)] = 2,
    book: BookOption = None,
    csv: Annotated[bool, typer.Option("--csv", help="Every size as CSV.")] = False,
    unit: UnitOption = None,
    json: JsonOption = False,
) -> None:
    """How many books the stock gives at each finished size, all else as in FORMAT; the sizes worth a look come out.

    Covers, card and pages are reckoned each by itself: the one that runs out first decides. Ctrl-C keeps the sizes that are
    done. Grain and print rules that have a price are left out; hard ones hold.
    """
    from concurrent.futures import ThreadPoolExecutor

    from nesting.notebook.surveys import survey as look
    from nesting.notebook.surveys import worth_a_look
    from nesting.search.kernels import warm

    from .ream import ending

    if csv and json:
        raise InputError("--csv, --json", "one of them", "both")
    if not 0 < seconds <= 1e6:
        raise InputError("--seconds", "a time above 0 and at most 1,000,000 s", seconds)
    found, shown = read_format(format, unit)
    shop = workshop()
    sizes = _sizes(found, width, height, step, size, shown)
    ending(out)
    with open_book(book, readonly=True) as stock:
        sheets = [s.sheet for s in stock.sheets()]
    warm(say)
    with ThreadPoolExecutor(workers) as executor:
        done = look(found, sizes, sheets, cutter=shop.cutter, seconds=seconds, executor=executor if workers > 1 else None,
                    progress=_told())  # fmt: skip
        if done.stopped == "user":
            executor.shutdown(wait=True, cancel_futures=True)
    if not done.rows:
        say("Stopped before a size was done.")
        raise typer.Exit(INTERRUPTED)
    if done.stopped:
        why = "Stopped by you" if done.stopped == "user" else "The time is up"
        say(f"{why}: {len(done.rows)} of {some(done.of, 'size')} are done, spread over the range.")
    listed = worth_a_look(done.rows)
    if csv:
        emit(_as_csv(done, listed))
    elif json:
        emit_json(_as_json(done, listed))
    else:
        _emit(done, done.rows if every else listed, shown, every)
    if out is not None:
        _draw(done, listed, out, shown, shop)
    if done.stopped == "user":
        raise typer.Exit(INTERRUPTED)


def _told() -> Any:
    """A line of progress every few seconds."""
    from time import monotonic

    last = [monotonic()]

    def tell(done: int, of: int) -> None:
        if monotonic() - last[0] >= TOLD_EVERY and done < of:
            last[0] = monotonic()
            say(f"{done} of {of} sizes; Ctrl-C keeps what is done")

    return tell


def _sizes(format: Format, width: str | None, height: str | None, step: str | None, sizes: list[str] | None,
           unit: Unit) -> list[tuple[int, int]]:  # fmt: skip
    """The finished sizes to look at, in ticks. Raises InputError."""
    from nesting.lengths import parse
    from nesting.notebook.sizes import read
    from nesting.notebook.surveys import sizes_between

    if sizes:
        given = next((name for name, value in (("--width", width), ("--height", height), ("--step", step)) if value), None)
        if given:
            raise InputError(f"--size, {given}", "single sizes or a range", "both")
        return [read(text, unit, "--size")[1:] for text in sizes]
    apart = parse(step or _STEPS[unit], unit, "near", "--step")
    across = _range(width, format.width, apart, unit, "--width")
    up = _range(height, format.height, apart, unit, "--height")
    return sizes_between((across[0], up[0]), (across[1], up[1]), apart)


def _range(text: str | None, own: int, step: int, unit: Unit, field: str) -> tuple[int, int]:
    """Two lengths: `80 to 110`, `80 110`, or one alone; without a text a fifth around the format's own, on the step."""
    from nesting.lengths import parse

    if text is None:
        if step <= 0:
            raise InputError("--step", "a length above 0", step)
        low = max(step, round(own * (1 - _AROUND)) // step * step)
        return low, round(own * (1 + _AROUND)) // step * step
    parts = re.split(r"\s+to\s+|\s*\.\.\s*", text.strip())
    if len(parts) > 2 or not all(parts):
        raise InputError(field, "one length, or two such as 80 to 110", text)
    if len(parts) == 2 and re.search(r"[a-z\"″]$", parts[1].lower()) and not re.search(r"[a-z\"″]$", parts[0].lower()):
        found = re.search(r"[a-zA-Z\"″]+\.?$", parts[1])
        parts[0] += f" {found.group() if found else ''}"
    low, high = (parse(part, unit, "near", field) for part in (parts[0], parts[-1]))
    if not 0 < low <= high:
        raise InputError(field, "a range from a length above 0 to a larger one", text)
    return low, high


def _emit(done: Survey, rows: tuple[SurveyRow, ...], unit: Unit, every: bool) -> None:
    if not any(r.books for r in done.rows):
        raise ImpossibleJob({"any size": _nothing(done)})
    f = done.format
    emit(f"{f.name}'s allowances, {f.folios} folios a book, at {some(len(done.rows), 'finished size')} "
         f"({_span(done, unit)}):")  # fmt: skip
    emit("")
    table = [["size", "books", *(_NAMES[m] for m in done.reckoned), "waste", "even", "runs out first"]]
    for r in rows:
        limits = {"cover": r.covers, "card": r.card, "folio": r.pages}
        table.append([_size(r, unit), f"{r.books:,}{'' if r.proven else '+'}",
                      *("no limit" if limits[m] is None else f"{limits[m]:,}" for m in done.reckoned), f"{r.waste:.0%}",
                      f"{r.evenness:.0%}", ", ".join(_NAMES[m] for m in r.limited_by)])  # fmt: skip
    widths = [max(len(row[i]) for row in table) for i in range(len(table[0]))]
    last = len(table[0]) - 1
    emit(columns([[cell if i in (0, last) else cell.rjust(widths[i]) for i, cell in enumerate(row)] for row in table]))
    emit("")
    for line in _notes(done, every):
        emit(line)


def _notes(done: Survey, every: bool) -> list[str]:
    from nesting.notebook.formats import MATERIALS

    out = [] if every else ["Worth a look: none has a smaller page, fewer books, more waste and a less even end than another "
                            "here. --all lists every size."]  # fmt: skip
    out.append("Waste: of the cover paper. Even: 100% where covers, card and pages run out together.")
    for material in MATERIALS:
        if done.format.per_book(material) and material not in done.reckoned:
            out.append(f"No {'page paper' if material == 'folio' else 'card'} is in the stock book: it sets no limit here.")
    if not all(r.proven for r in done.rows):
        out.append("+: a cover or two more may be possible.")
    if done.no_grain:
        shown = ", ".join(done.no_grain[:6]) + (" ..." if len(done.no_grain) > 6 else "")
        out.append(f"Left out, as the grain is not known and the rule is hard: {shown}. Bend a sheet and note its grain.")
    return out


def _nothing(done: Survey) -> str:
    low = {m: max((getattr(r, {"cover": "covers", "card": "card", "folio": "pages"}[m]) or 0) for r in done.rows)
           for m in done.reckoned}  # fmt: skip
    lacking = [_NAMES[m] for m, n in low.items() if not n]
    end = f" The grain of {', '.join(done.no_grain[:6])} is not known." if done.no_grain else ""
    return f"no complete book at any of these sizes: not enough {' and '.join(lacking) or 'paper'}.{end}"


def _span(done: Survey, unit: Unit) -> str:
    from nesting.lengths import number, show

    rows = done.rows
    sides = [(min(v), max(v)) for v in ([r.width for r in rows], [r.height for r in rows])]
    return " x ".join(show(a, unit) if a == b else f"{number(a, unit)} to {show(b, unit)}" for a, b in sides)


def _size(row: SurveyRow, unit: Unit) -> str:
    from nesting.lengths import number, show

    return f"{number(row.width, unit)} x {show(row.height, unit)}"


def _values(row: SurveyRow, listed: set[tuple[int, int]]) -> dict[str, Any]:
    from nesting.lengths import mm

    values = (mm(row.width), mm(row.height), row.books, row.covers, row.covers_most, row.card, row.pages, list(row.limited_by),
              round(row.waste, 6), round(row.evenness, 6), row.proven, (row.width, row.height) in listed)  # fmt: skip
    return dict(zip(FIELDS, values, strict=True))


def _as_json(done: Survey, listed: tuple[SurveyRow, ...]) -> dict[str, Any]:
    kept = {(r.width, r.height) for r in listed}
    return {"format": done.format.name, "folios": done.format.folios, "sizes": done.of, "stopped": done.stopped or None,
            "reckoned": list(done.reckoned), "grain_not_known": list(done.no_grain),
            "rows": [_values(row, kept) for row in done.rows]}  # fmt: skip


def _as_csv(done: Survey, listed: tuple[SurveyRow, ...]) -> str:
    import csv
    import io

    kept = {(r.width, r.height) for r in listed}
    out = io.StringIO()
    writer = csv.DictWriter(out, FIELDS, lineterminator="\n")
    writer.writeheader()
    for row in done.rows:
        values = _values(row, kept)
        writer.writerow({**values, "runs_out_first": " ".join(values["runs_out_first"])})
    return out.getvalue().rstrip("\n")


def _draw(done: Survey, listed: tuple[SurveyRow, ...], out: Path, unit: Unit, shop: Workshop) -> None:
    """One PDF of all pages; as PNG or SVG a file for each page."""
    from inventory.drawings import pdf_bytes, write_pages
    from inventory.files import write_whole
    from nesting.draw.heat import survey_pages

    pages = survey_pages(done, listed, unit=unit, paper=shop.paper, title=f"Which size for {done.format.name}?")
    kind = out.suffix.lower().lstrip(".")
    if kind == "pdf":
        write_whole(out, pdf_bytes(pages))
        say(f"Drawn: {out}")
        return
    for path in write_pages(pages, out.parent, out.stem, kind):
        say(f"Drawn: {path}")
