"""`quirestock ream`: how many books a ream of every paper gives."""

from __future__ import annotations

import os
from typing import TYPE_CHECKING, Annotated, Any

import typer

from nesting.errors import ImpossibleJob, InputError

from .common import BookOption, JsonOption, columns, emit, emit_json, open_book, say, workshop
from .notebook import FormatArgument, UnitOption, read_format

if TYPE_CHECKING:
    from nesting.lengths import Unit
    from nesting.notebook.formats import Format
    from nesting.notebook.reams import Paper, ReamRow

# The fields of a row, in the order that CSV and JSON have them.
FIELDS = (
    "paper", "bought", "in_stock", "books_in_stock", "width_mm", "height_mm", "grain", "grain_known", "count", "folios_a_sheet",
    "books", "sheets_used", "sheets_over", "folios_over", "waste", "proven", "any_grain_folios_a_sheet", "any_grain_books",
    "any_grain_waste",
)  # fmt: skip


def ream(
    format: FormatArgument,
    count: Annotated[str, typer.Option("--count", metavar="SHEETS", help="How many: 495, 1 ream, 3 reams + 4 quires.")] = "500",
    size: Annotated[
        list[str] | None,
        typer.Option("--size", metavar="SIZE", help="Only this paper: A4, SRA3, 17 x 22 in. May be given more than once."),
    ] = None,
    book: BookOption = None,
    csv: Annotated[bool, typer.Option("--csv", help="As CSV.")] = False,
    unit: UnitOption = None,
    json: JsonOption = False,
) -> None:
    """Books from a ream, for every page paper in the stock book and every standard size, least waste first."""
    from nesting.notebook.paper import read_count
    from nesting.notebook.reams import ream_rows
    from nesting.search.kernels import told_of_compiling

    if csv and json:
        raise InputError("--csv, --json", "one of them", "both")
    found, shown = read_format(format, unit)
    sheets = read_count(count, "--count")
    shop = workshop()
    papers = _named(size, shop.bare_unit if unit is None else shown) if size else _all(book)
    with told_of_compiling(say):
        rows = ream_rows(found, papers, sheets, cutter=shop.cutter)
    if csv:
        _emit_csv(rows)
    elif json:
        emit_json({"format": found.name, "folios": found.folios, "count": sheets, "rows": [_values(row) for row in rows]})
    else:
        _emit_table(found, rows, sheets, shown)


def _named(sizes: list[str], unit: Unit | None) -> list[Paper]:
    from nesting.notebook.reams import Paper
    from nesting.notebook.sizes import read

    return [Paper.of_sides(*read(text, unit, "--size")) for text in sizes]


def _all(book: str | None) -> list[Paper]:
    """The bought page papers of the stock book, then the standard sizes."""
    from nesting.notebook.reams import Paper, bought_standards

    if book is None and not os.environ.get("QUIRESTOCK_BOOK") and not workshop().book.exists():
        say("There is no stock book here: standard sizes only.")
        return list(bought_standards())
    with open_book(book, readonly=True) as stock:
        sheets = stock.sheets(material="folio", kind="parent")
    if not sheets:
        say("The stock book has no bought page paper: standard sizes only.")
    return [*(Paper(s.id, s.sheet, bought=True, in_stock=s.sheet.count) for s in sheets), *bought_standards()]


def _values(row: ReamRow) -> dict[str, Any]:
    from nesting.lengths import mm

    values = (row.paper, row.bought, row.in_stock, row.books_in_stock, mm(row.width), mm(row.height), row.grain,
              row.grain_known, row.count, row.pieces, row.books, row.sheets_used, row.sheets_over, row.folios_over,
              round(row.waste, 6), row.proven, row.pieces_any, row.books_any, round(row.waste_any, 6))  # fmt: skip
    return dict(zip(FIELDS, values, strict=True))


def _emit_csv(rows: tuple[ReamRow, ...]) -> None:
    import csv
    import io

    out = io.StringIO()
    writer = csv.DictWriter(out, FIELDS, lineterminator="\n")
    writer.writeheader()
    writer.writerows(_values(row) for row in rows)
    emit(out.getvalue().rstrip("\n"))


def _emit_table(format: Format, rows: tuple[ReamRow, ...], count: int, unit: Unit) -> None:
    from nesting.lengths import number, show

    folio = format.blanks()[-1]
    size = f"{number(folio.width, unit)} x {show(folio.height, unit)}"
    large = [row for row in rows if row.pieces_any]
    small = sorted({row.paper for row in rows if not row.pieces_any})
    if not large:
        raise ImpossibleJob({folio.name: f"{size} fits on none of these papers: {', '.join(small)}."})
    folio_rule = format.grains.folio[0] if isinstance(format.grains.folio, tuple) else format.grains.folio
    rule = {"spine": "grain along the spine", "across": "grain across the spine", "off": "grain any way"}[folio_rule]
    emit(f"{format.name}: folio {size}, {format.folios} a book, {rule}; {count:,} sheets of each paper")
    emit("")
    ruled = folio_rule != "off"
    bought = any(row.bought for row in large)
    figures = ["a sheet", "books", "sheets over", "waste"]
    table = [["paper", "size", "grain"] + (["in stock"] if bought else []) + figures + (["wrong grain too"] if ruled else [])]
    for row in large:
        cells = [row.paper, f"{number(row.width, unit)} x {show(row.height, unit)}", _grain(row)]
        if bought:
            cells.append("" if row.in_stock is None else f"{row.in_stock:,}, {row.books_in_stock:,} books")
        cells += [f"{row.pieces:,}{'' if row.proven else '+'}", f"{row.books:,}", f"{row.sheets_over:,}", f"{row.waste:.1%}"]
        if ruled:
            cells.append(f"{row.pieces_any:,} a sheet, {row.books_any:,} books" if row.needs_wrong_grain else "")
        table.append(cells)
    widths = [max(len(row[i]) for row in table) for i in range(len(table[0]))]
    right = {i for i, name in enumerate(table[0]) if name in (*figures, "in stock")}
    emit(columns([[cell.rjust(widths[i]) if i in right else cell for i, cell in enumerate(row)] for row in table]))
    emit("")
    for line in _notes(large, small):
        emit(line)


def _grain(row: ReamRow) -> str:
    return row.grain if row.grain_known or not row.bought else f"{row.grain}?"


def _notes(rows: list[ReamRow], small: list[str]) -> list[str]:
    out = []
    ruled = any(row.grain != "any" for row in rows)
    out.append(f"{'Grain: along the long or the short side of the sheet. ' if ruled else ''}Waste: what no folio gets.")
    if any(row.bought and not row.grain_known for row in rows):
        out.append("?: the grain of this paper is not in the stock book. Bend or tear a sheet to find it.")
    if any(not row.proven for row in rows):
        out.append("+: time was short; more may be possible.")
    if small:
        out.append(f"Too small for a folio: {', '.join(small)}.")
    return out
