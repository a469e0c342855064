"""`quirestock book`: whether the stock book can be trusted, and how it is kept safe."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from .common import FAULTS, BookOption, JsonOption, book_location, emit, emit_json, open_book, say, some

app = typer.Typer(help="The stock book itself: verify, back up, restore.", no_args_is_help=True, rich_markup_mode=None)


@app.command()
def verify(
    head: Annotated[
        str | None, typer.Option("--head", metavar="HEAD", help="A head printed on an earlier job card: has the book passed it?")
    ] = None,
    book: BookOption = None,
    json: JsonOption = False,
) -> None:
    """Check every entry, the counts and the paper at every cut. Exit code 1 where faults are found."""
    with open_book(book, readonly=True) as stock:
        faults = stock.verify(head)
        present, count = stock.head(), len(stock.entries())
    if json:
        emit_json({"sound": not faults, "faults": list(faults), "entries": count, "head": present})
    else:
        for fault in faults:
            emit(fault)
        if not faults:
            emit(f"Sound: {count} {'entry' if count == 1 else 'entries'}, head {present}.")
    if faults:
        raise typer.Exit(FAULTS)


@app.command()
def rebuild(book: BookOption = None) -> None:
    """Make the counts again from the entries."""
    with open_book(book) as stock:
        stock.rebuild()
        sheets = stock.sheets()
    emit(f"Rebuilt: {some(len(sheets), 'sheet')} in stock.")


@app.command()
def backup(
    path: Annotated[Path, typer.Argument(metavar="PATH", help="A new file, or a folder.")],
    book: BookOption = None,
) -> None:
    """Copy the stock book to another place."""
    with open_book(book, readonly=True) as stock:
        emit(str(stock.backup(path)))


@app.command()
def restore(
    path: Annotated[Path, typer.Argument(metavar="PATH", help="A backup.")],
    book: BookOption = None,
) -> None:
    """Put a backup in place of the stock book; what the backup lacks is kept in a file beside."""
    from inventory.book import Book

    place = book_location(book)
    kept = Book.restore(path, place)
    if kept is not None:
        say(f"The book that was here is kept as {kept}.")
    with Book.open(place, readonly=True) as stock:
        emit(f"Restored: {some(len(stock.sheets()), 'sheet')} in stock, head {stock.head()}.")


@app.command()
def head(book: BookOption = None, json: JsonOption = False) -> None:
    """The head of the book: it stands for everything recorded so far."""
    with open_book(book, readonly=True) as stock:
        if json:
            emit_json({"book": stock.id, "head": stock.head(), "hash": stock.head(64), "entries": len(stock.entries())})
        else:
            emit(stock.head())
