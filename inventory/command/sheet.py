"""`quirestock sheet`: what is in stock, sheet by sheet."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from nesting.errors import InputError

from . import adding, fits, showing
from .common import BookOption, JsonOption, columns, emit, emit_json, now, open_book, say, some, workshop

app = typer.Typer(help="The sheets in stock: add, look, count.", no_args_is_help=True, rich_markup_mode=None)
app.command("add")(adding.add)
app.command("import")(adding.bring)
app.command("fits")(fits.fits)

IdArgument = Annotated[str, typer.Argument(metavar="ID", help="The sheet's number.")]
ReasonOption = Annotated[str, typer.Option("--reason", metavar="WORDS", help="Why.")]
MaterialFilter = Annotated[str | None, typer.Option("--material", metavar="MATERIAL", help="Only cover, card or folio.")]
KindFilter = Annotated[str | None, typer.Option("--kind", metavar="KIND", help="Only salvaged, parent or offcut.")]
GoneOption = Annotated[bool, typer.Option("--gone", help="Also those of which none is left.")]


@app.command("list")
def show_all(
    material: MaterialFilter = None, kind: KindFilter = None, gone: GoneOption = False, book: BookOption = None,
    json: JsonOption = False,
) -> None:  # fmt: skip
    """List the sheets in stock, in the order they came."""
    with open_book(book, readonly=True) as stock:
        sheets = stock.sheets(material=material, kind=kind, gone=gone)
    shown = workshop().unit
    if json:
        emit_json([showing.as_json(sheet) for sheet in sheets])
        return
    if not sheets:
        say("No sheets.")
        return
    emit(columns([showing.HEADING, *(showing.row(sheet, shown) for sheet in sheets)]))


@app.command("show")
def show_one(id: IdArgument, book: BookOption = None, json: JsonOption = False) -> None:
    """Show one sheet: its picture, what is known of it, and what happened to it."""
    with open_book(book, readonly=True) as stock:
        sheet = stock.get(id)
        history = [(entry, stock.told(entry, id)) for entry in stock.history(id)]
        offcuts = [s.id for s in stock.sheets(gone=True) if s.parent == id]
    if json:
        told_of = [{"entry": e.number, "time": e.time, "kind": e.kind, "text": told} for e, told in history]
        emit_json({**showing.as_json(sheet), "offcuts": offcuts, "history": told_of})
        return
    emit(adding.pictured(sheet, 72))
    emit("")
    for name, value in showing.facts(sheet, workshop().unit):
        emit(f"{name + ':':<10} {value}")
    if offcuts:
        emit(f"{'offcuts:':<10} {', '.join(offcuts)}")
    emit("")
    for entry, told in history:
        emit(f"{entry.number:>5}  {entry.time}  {told}")


@app.command()
def picture(
    out: Annotated[Path, typer.Option("--out", metavar="FILE", help="A .pdf, or a .png (a file a page where there are more).")],
    ids: Annotated[list[str] | None, typer.Argument(metavar="[ID]...", help="Only these. Default: all in stock.")] = None,
    book: BookOption = None,
) -> None:
    """Draw sheets on paper, 12 a page, to hold beside the heap."""
    from .contact import write_contact_sheet

    with open_book(book, readonly=True) as stock:
        sheets = [stock.get(id) for id in dict.fromkeys(ids)] if ids else list(stock.sheets())
    if not sheets:
        raise InputError("sheets", "at least one sheet in stock", "none", "`quirestock sheet add` puts one in.")
    for path in write_contact_sheet(sheets, out, workshop()):
        emit(str(path))


@app.command()
def export(
    file: Annotated[Path, typer.Argument(metavar="FILE", help="A .csv, .xlsx or .json file to write.")],
    material: MaterialFilter = None, kind: KindFilter = None, gone: GoneOption = False, book: BookOption = None,
) -> None:  # fmt: skip
    """Write the sheets in stock as a table."""
    from inventory import tables

    with open_book(book, readonly=True) as stock:
        sheets = stock.sheets(material=material, kind=kind, gone=gone)
    tables.write_table(file, sheets)
    emit(f"{some(len(sheets), 'sheet')} in {file}.")


@app.command()
def count(
    id: IdArgument, number: Annotated[int, typer.Argument(metavar="N", help="How many there are.")], reason: ReasonOption,
    book: BookOption = None,
) -> None:  # fmt: skip
    """Correct how many of a sheet there are."""
    with open_book(book) as stock:
        emit(f"{id} {stock.told(stock.count(id, number, reason, now()), id)}")


@app.command()
def material(
    id: IdArgument, serves_as: Annotated[str, typer.Argument(metavar="MATERIAL", help="cover, card or folio.")],
    book: BookOption = None,
) -> None:  # fmt: skip
    """Say what a sheet serves as; one of which it is not said is in no plan."""
    with open_book(book) as stock:
        emit(f"{id} {stock.told(stock.set_material(id, serves_as, now()), id)}")


@app.command()
def retire(id: IdArgument, reason: ReasonOption, book: BookOption = None) -> None:
    """Take a sheet out of stock for good."""
    with open_book(book) as stock:
        emit(f"{id} {stock.told(stock.retire(id, reason, now()), id)}")
