"""`quirestock ream`: how many books a ream of every paper gives, of one format or of several together."""

from __future__ import annotations

import os
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from nesting.errors import InputError

from .common import BookOption, JsonOption, emit, emit_json, open_book, say, workshop
from .notebook import UnitOption, read_format

if TYPE_CHECKING:
    from inventory.workshop import Workshop
    from nesting.lengths import Unit
    from nesting.notebook.reams import Paper

FormatsArgument = Annotated[
    list[str], typer.Argument(metavar="FORMAT...", help="Format files (.toml) or standard sizes such as A6, half letter.")
]


def ream(
    format: FormatsArgument,
    count: Annotated[str, typer.Option("--count", metavar="SHEETS", help="How many: 495, 1 ream, 3 reams + 4 quires.")] = "500",
    size: Annotated[
        list[str] | None,
        typer.Option("--size", metavar="SIZE", help="Only this paper: A4, SRA3, 17 x 22 in. May be given more than once."),
    ] = None,
    mix: Annotated[
        str, typer.Option("--mix", metavar="even|any|2:1", help="Several formats: as many of each, any, or in this ratio.")
    ] = "even",
    out: Annotated[Path | None, typer.Option("--out", metavar="FILE", help="Draw the best three: .pdf, .png or .svg.")] = None,
    book: BookOption = None,
    csv: Annotated[bool, typer.Option("--csv", help="As CSV.")] = False,
    unit: UnitOption = None,
    json: JsonOption = False,
) -> None:
    """Books from a ream, for every page paper in the stock book and every standard size, least waste first.

    Several formats are cut from one ream together: the most of each (--mix even), of all (any) or in a ratio, its sheets dealt
    out to whatever layouts give them. What a table calls sheets over stays whole.
    """
    from nesting.notebook.mixes import mix_rows
    from nesting.notebook.paper import read_count
    from nesting.notebook.reams import ream_rows
    from nesting.search.kernels import told_of_compiling

    from . import ream_tables

    if csv and json:
        raise InputError("--csv, --json", "one of them", "both")
    read = [read_format(name, unit) for name in format]
    formats, shown = [f for f, _ in read], read[0][1]
    shares = _shares(mix, len(formats))
    sheets = read_count(count, "--count")
    shop = workshop()
    ending(out)
    papers = _named(size, shop.bare_unit if unit is None else shown) if size else _all(book, shop)
    with told_of_compiling(say):
        several = len(formats) > 1
        alone = [ream_rows(f, papers, sheets, cutter=shop.cutter, bare=several and not json) for f in formats]
        mixed = mix_rows(formats, papers, sheets, shares, cutter=shop.cutter) if several else ()
    told = ream_tables.Told(formats, sheets, shares, alone, mixed, shown, shop.money)
    if csv:
        emit(told.as_csv())
    elif json:
        emit_json(told.as_json())
    else:
        emit(told.as_text())
    if out is not None:
        _draw(told, papers, out, shop)


def _shares(mix: str, formats: int) -> tuple[int, ...]:
    """Books of each format in a round; 0 for any. Raises InputError."""
    word = mix.strip().lower()
    if word in ("even", "any"):
        return (int(word == "even"),) * formats
    parts = [part.strip() for part in word.split(":")]
    plain = all(part.isascii() and part.isdigit() and len(part) <= 3 for part in parts)
    if not plain or not any(int(part) for part in parts):
        raise InputError("--mix", "even, any, or a ratio such as 2:1", mix)
    if len(parts) != formats:
        raise InputError("--mix", f"a number for each of {formats} format{'s' if formats > 1 else ''}", mix)
    return tuple(int(part) for part in parts)


def _named(sizes: list[str], unit: Unit | None) -> list[Paper]:
    from nesting.notebook.reams import Paper
    from nesting.notebook.sizes import read

    return [Paper.of_sides(*read(text, unit, "--size")) for text in sizes]


def _all(book: str | None, shop: Workshop) -> list[Paper]:
    """The bought page papers of the stock book, then the standard sizes."""
    from nesting.notebook.reams import Paper, bought_standards

    if book is None and not os.environ.get("QUIRESTOCK_BOOK") and not shop.book.exists():
        say("There is no stock book here: standard sizes only.")
        return list(bought_standards())
    with open_book(book, readonly=True) as stock:
        sheets = stock.sheets(material="folio", kind="parent")
    if not sheets:
        say("The stock book has no bought page paper: standard sizes only.")
    price = shop.prices.get("folio")
    return [*(Paper(s.id, s.sheet, bought=True, in_stock=s.sheet.count, price=price if s.price is None else s.price,
                    caliper=s.caliper) for s in sheets), *bought_standards()]  # fmt: skip


def ending(out: Path | None) -> str:
    """The kind of a drawing's file. Raises InputError for one that cannot be written."""
    kind = "" if out is None else out.suffix.lower().lstrip(".")
    if out is not None and kind not in ("pdf", "png", "svg"):
        raise InputError("--out", "a file that ends in .pdf, .png or .svg", str(out))
    return kind


def _draw(told: Any, papers: list[Paper], out: Path, shop: Workshop) -> None:
    """The best three as one page."""
    from inventory.drawings import page_bytes, pdf_bytes
    from inventory.files import write_whole
    from nesting.draw.ream_page import ream_page

    choices, keys, title, subtitle = told.page({p.name: p.sheet for p in papers})
    page = ream_page(choices, keys, title=title, subtitle=subtitle, paper=shop.paper)
    kind = ending(out)
    write_whole(out, pdf_bytes([page]) if kind == "pdf" else page_bytes(page, kind))
    say(f"Drawn: {out}")

