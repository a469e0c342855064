"""`quirestock notebook folios`: folios from one ruled sheet, lines meeting and not."""

from __future__ import annotations

import json as jsonlib
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from nesting.errors import ImpossibleJob, InputError

from .common import BookOption, JsonOption, columns, emit, emit_json, open_book, workshop
from .notebook import FormatArgument, UnitOption, read_format

if TYPE_CHECKING:
    from inventory.stock import StockSheet
    from inventory.workshop import Workshop
    from nesting import Blank, Plan, Sheet
    from nesting.lengths import Unit
    from nesting.notebook.formats import Format
    from nesting.notebook.ruled import Meeting

SECONDS = 10.0
_UNNAMED = "paper"
SheetArgument = Annotated[
    str, typer.Argument(metavar="SHEET", help='A sheet in stock, or a description: "210 x 297; ruled across 8 first 25".')
]
OutOption = Annotated[Path | None, typer.Option("--out", metavar="DIR", help="Draw both layouts, and write them as plans.")]
DrawnOption = Annotated[str, typer.Option("--format", metavar="pdf|png|svg", help="How to draw them.")]


@dataclass(frozen=True)
class _Way:
    """What one sheet gives one way, and what a count of them makes."""

    name: str
    pieces: int
    proven: bool
    books: int
    over: int
    waste: float


def folios(
    format: FormatArgument,
    sheet: SheetArgument,
    count: Annotated[str, typer.Option("--count", metavar="SHEETS", help="How many: 80, 1 ream. Default: all.")] = "",
    out: OutOption = None,
    drawn: DrawnOption = "pdf",
    book: BookOption = None,
    unit: UnitOption = None,
    json: JsonOption = False,
) -> None:
    """Folios from one ruled sheet: cut anywhere, and so that the lines of all pages meet.

    No folio carries a margin line, a header, a punched hole or a glued edge. Lines run square to the spine (or as the format's
    `rules` says); where they meet, every folio has the same lines at the same distance from its head.
    """
    from nesting.notebook.allowances import blank_of
    from nesting.notebook.paper import read_count
    from nesting.notebook.ruled import most_that_meet, on_ruled

    found, shown = read_format(format, unit)
    shop = workshop()
    stock = _stock(sheet, book, shop.bare_unit if unit is None else shown)
    if stock.sheet.ruling is None:
        raise InputError(f"sheet {stock.id}, ruling", "ruled, dotted or squared stock", "none",
                         "Say how it is ruled: ruled across 8 first 25.")  # fmt: skip
    many = read_count(count, "--count") if count else stock.sheet.count or 1
    paper = replace(stock.sheet, count=1, cost=None, material="folio")
    folio = on_ruled(found, blank_of(replace(found, lines_meet=False), "folio"), [paper])
    paper, guessed = _grained(paper, folio)
    free, free_plan = _anywhere(paper, folio, shop, found, many)
    meeting = None
    if found.rules == "across":
        try:
            meeting = most_that_meet(paper, folio, shop.cutter)
        except ImpossibleJob:
            if not free.pieces:
                raise
    met = _way("lines meet", paper, folio, found, many, meeting.count if meeting else 0, meeting.proven if meeting else True)
    if out is not None:
        _write(out, drawn, shop, shown, found, {"any-place": free_plan, "lines-meet": _plan(paper, folio, meeting, shop)})
    if json:
        emit_json(_document(found, stock, many, free, met, meeting))
        return
    _tell(found, stock, paper, folio, many, shown, free, met, meeting, guessed)


def _stock(text: str, book: str | None, unit: Unit | None) -> StockSheet:
    """The sheet of a description, else the one of that name in the stock book. Raises InputError, StorageError."""
    if text[:1].isdigit() and ";" in text:
        from inventory.descriptions import parse_text

        header = f"unit {unit}\n" if unit else ""
        read = parse_text(f"{header}kind parent\nmaterial folio\n{_UNNAMED}: {text}")
        if read.faults:
            raise InputError("description", "a ruled sheet such as 210 x 297 mm; ruled across 8 mm first 25 mm", text,
                             read.faults[0].reason)  # fmt: skip
        return read.sheets[0]
    with open_book(book, readonly=True) as held:
        at_hand = {s.id: s for s in held.sheets()}
    if text not in at_hand:
        from inventory.descriptions.words import meant

        raise InputError("sheet", "a sheet of the stock book, or a description with its size first", text, meant(text, at_hand))
    return at_hand[text]


def _grained(paper: Sheet, folio: Blank) -> tuple[Sheet, bool]:
    """The paper with the grain that the folio wants, where its own is not known."""
    if paper.grain is not None or not isinstance(folio.grain, str):
        return paper, False
    return next(((replace(paper, grain=g), True) for g in ("y", "x") if folio.turns_on(replace(paper, grain=g))),
                (paper, False))  # fmt: skip


def _anywhere(paper: Sheet, folio: Blank, shop: Workshop, found: Format, many: int) -> tuple[_Way, Plan | None]:
    import nesting

    try:
        best = nesting.fill(paper, [folio], cutter=shop.cutter, seconds=SECONDS)
    except ImpossibleJob:
        return _way("any place", paper, folio, found, many, 0, True), None
    pieces = best.layout.counts().get(folio.name, 0) if best.layout else 0
    return _way("any place", paper, folio, found, many, pieces, best.proven), best.to_plan() if best.layout else None


def _way(name: str, paper: Sheet, folio: Blank, found: Format, many: int, pieces: int, proven: bool) -> _Way:
    from nesting.notebook.reams import books_from

    books, used, _ = books_from(pieces, found.folios, many)
    return _Way(name, pieces, proven, books, many - used, 1 - pieces * 2 * folio.width * folio.height / paper.area2)


def _plan(paper: Sheet, folio: Blank, meeting: Meeting | None, shop: Workshop) -> Plan | None:
    """One sheet as a plan."""
    if meeting is None:
        return None
    from nesting import Blank
    from nesting.lengths import mm
    from nesting.notebook.ruled_plan import plan_that_meets

    blank = Blank(folio.name, mm(folio.width), mm(folio.height), meeting.count, folio.turns, folio.grain, folio.up,
                  material=folio.material, lines_meet=True)  # fmt: skip
    return plan_that_meets(paper, blank, shop.cutter)


def _write(out: Path, drawn: str, shop: Workshop, unit: Unit, found: Format, plans: dict[str, Plan | None]) -> None:
    """Each layout drawn and as a plan document, under its name. Raises StorageError, InputError."""
    from inventory.drawings import FORMATS, write_pages
    from inventory.files import write_whole
    from nesting.draw.diagrams import plan_pages

    from .planning import make_folder

    if drawn.lower() not in FORMATS:
        raise InputError("--format", ", ".join(FORMATS), drawn)
    make_folder(out)
    for name, plan in plans.items():
        if plan is not None:
            write_whole(out / f"{name}.json", (jsonlib.dumps(plan.to_dict(), indent=1) + "\n").encode())
            title = f"{found.name}: folios, {name.replace('-', ' ')}"
            write_pages(plan_pages(plan, unit=unit, paper=shop.paper, title=title), out, name, drawn)


def _tell(found: Format, stock: StockSheet, paper: Sheet, folio: Blank, many: int, unit: Unit, free: _Way, met: _Way,
          meeting: Meeting | None, guessed: bool) -> None:  # fmt: skip
    from nesting.lengths import number, show

    ruling = paper.ruling
    assert ruling is not None
    x0, y0, x1, y1 = paper.box
    rules = {"across": "lines across the spine", "spine": "lines along the spine", "off": "lines any way"}[found.rules]
    emit(f"{found.name}: folio {number(folio.width, unit)} x {show(folio.height, unit)}, {found.folios} a book, {rules}")
    name = "this paper" if stock.id == _UNNAMED else stock.id
    emit(f"{name}: {number(x1 - x0, unit)} x {show(y1 - y0, unit)}, {ruling.text(unit)}; {many:,} sheets")
    emit("")
    ways = [free, met] if found.rules == "across" else [free]
    rows = [[way.name, f"{way.pieces}{'' if way.proven else '+'}", f"{way.books:,}", f"{way.over:,}", f"{way.waste:.1%}"]
            for way in ways]  # fmt: skip
    emit(columns([["cut", "a sheet", "books", "sheets over", "waste"], *rows]))
    emit("")
    if found.rules != "across":
        emit("Lines are made to meet only where they run across the spine.")
    elif meeting is None:
        emit("No folio carries a line and lies clear where lines are to meet.")
    else:
        cost = free.pieces - met.pieces
        emit(f"Lines that meet cost {cost or 'no'} {'folio' if cost == 1 else 'folios'} a sheet.")
        emit(f"Each folio then carries {meeting.lines} lines, the first {show(meeting.head_margin, unit)} below its head as cut.")
    if not (free.proven and met.proven):
        emit("+: more may be possible.")
    if guessed:
        emit("The grain of this paper is not said; it is reckoned as if it ran as the format wants it. "
             "Bend or tear a sheet to find it.")  # fmt: skip


def _document(found: Format, stock: StockSheet, many: int, free: _Way, met: _Way, meeting: Meeting | None) -> dict[str, Any]:
    from nesting.lengths import mm

    def way(one: _Way) -> dict[str, Any]:
        return {"folios_a_sheet": one.pieces, "proven": one.proven, "books": one.books, "sheets_over": one.over,
                "waste": round(one.waste, 6)}  # fmt: skip

    return {
        "unit": "mm", "format": found.name, "folios": found.folios, "sheet": stock.id, "count": many,
        "any_place": way(free), "lines_meet": way(met) if found.rules == "across" else None,
        "layout": None if meeting is None else {
            "lines": meeting.lines, "head_margin": mm(meeting.head_margin), "turn": meeting.turn,
            "boxes": [[mm(v) for v in box] for box in meeting.boxes]},
    }  # fmt: skip
