"""`quirestock sheet add` and `sheet import`: how sheets come into the stock book."""

from __future__ import annotations

import os
import re
import shlex
import sys
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from inventory.errors import StorageError
from nesting.errors import InputError

from . import common
from .common import BookOption, YesOption, ask, emit, now, open_book, say, some, unit_of, workshop

if TYPE_CHECKING:
    from inventory.descriptions import Reading
    from inventory.stock import StockSheet

UnitOption = Annotated[str | None, typer.Option("--unit", metavar="mm|in", help="Of bare numbers. Default: the workshop's.")]
KindOption = Annotated[str, typer.Option("--kind", metavar="KIND", help="salvaged, parent or offcut.")]
MaterialOption = Annotated[str | None, typer.Option("--material", metavar="MATERIAL", help="cover, card or folio.")]

_NUMBERED = re.compile(r"[^:;(]*:|\s*(?:unit|kind|material)\b|\s*#|\s*$", re.IGNORECASE)
TABLES = (".csv", ".tsv", ".xlsx", ".json")
WELCOME = """One sheet a line, face up, print upright, width first: 12: 420 x 297; torn R 15
`undo` takes the last line back. An empty line ends; nothing is saved before you say so."""


def add(
    description: Annotated[
        list[str] | None, typer.Argument(metavar="[DESCRIPTION]...", help="One a sheet, such as '12: 420 x 297; torn R 15'.")
    ] = None,
    file: Annotated[Path | None, typer.Option("--file", metavar="FILE", help="A file of descriptions.")] = None,
    id: Annotated[
        str | None, typer.Option("--id", metavar="ID", help="Number of a sheet described without one. Default: the next free.")
    ] = None,
    unit: UnitOption = None,
    kind: KindOption = "salvaged",
    material: MaterialOption = None,
    book: BookOption = None,
    yes: YesOption = False,
) -> None:
    """Put sheets into stock by describing them; each is drawn at once. Without a description, asks line by line."""
    from inventory.descriptions import parse_text, read_file

    ways = {"stock": stock_of(book), **defaults(unit, kind, material)}
    if description and file:
        raise InputError("sheet add", "descriptions or --file", "both")
    if id is not None and (file or not description):
        raise InputError("--id", "one description to go with it", "none", "Write: sheet add --id 12 '420 x 297'")
    if file is not None:
        reading = read_file(file, **ways)
    elif description:
        reading = parse_text("\n".join(_lines(description, id, [sheet.id for sheet in ways["stock"]])), **ways)
    else:
        sheets = prompted(ways)
        if not sheets:
            say("No sheets, nothing saved.")
            return
        received(sheets, book, yes)
        return
    refuse_faults(reading)
    for sheet in reading.sheets:
        emit(pictured(sheet))
    received(reading.sheets, book, yes)


def _lines(description: list[str], id: str | None, known: list[str]) -> list[str]:
    """One line a description; words that the shell has parted are joined again, a missing number is the next free one."""
    parted = len(description) > 1 and not any(":" in word or " " in word for word in description[1:])
    lines = [" ".join(description)] if parted else description
    if id is None:
        free = max((int(name) for name in known if name.isdecimal() and len(name) < 9), default=0) + 1
        return [line if _NUMBERED.match(line) else f"{free + k}: {line}" for k, line in enumerate(lines)]
    if len(lines) > 1:
        raise InputError("--id", "one description to go with it", f"{len(lines)}", "Write the number and a colon before each.")
    return [f"{id}: {lines[0]}"]


def defaults(unit: str | None, kind: str, material: str | None) -> dict[str, Any]:
    """What holds for every sheet until a line says otherwise. Raises InputError."""
    from inventory.stock import KINDS, MATERIALS

    if kind not in KINDS:
        raise InputError("--kind", " or ".join(KINDS), kind)
    if material is not None and material not in MATERIALS:
        raise InputError("--material", " or ".join(MATERIALS), material)
    return {"unit": workshop().bare_unit if unit is None else unit_of(unit, unit), "kind": kind, "material": material}


def stock_of(book: str | None) -> tuple[StockSheet, ...]:
    """Every sheet that the book has or had; none where there is no book yet."""
    place = common.book_location(book)
    if "://" not in place and not os.path.exists(place):
        return ()
    with open_book(book, readonly=True) as stock:
        return stock.sheets(gone=True)


def prompted(ways: dict[str, Any]) -> tuple[StockSheet, ...]:
    """Sheets typed line by line, from a terminal or a pipe. On a pipe any wrong line stops it all (InputError)."""
    from inventory.descriptions import Message, Reader

    reader = Reader(**ways)
    by_hand = sys.stdin.isatty()
    wrong = 0
    say(WELCOME)
    while True:
        line = ask(f"{len(reader.sheets)}> " if by_hand else "")
        if line is None or (not line.strip() and not reader.waits_for_rows):
            break
        answer = reader.undo() if line.strip().lower() == "undo" else reader.line(line)
        wrong += answered(answer)
    if reader.waits_for_rows:
        answer = reader.line("")
        wrong += answered(answer)
        if isinstance(answer, Message) and answer.wrong and by_hand:
            return reader.sheets
    if wrong and not by_hand:
        raise InputError("sheets", "every line right where none can be asked again", f"{wrong} wrong", "Nothing was saved.")
    return reader.sheets


def answered(answer: Any) -> int:
    """Show what a line gave; 1 where it was wrong."""
    from inventory.descriptions import Message

    if isinstance(answer, Message):
        if answer.text:
            say(answer.text)
        return int(answer.wrong)
    for sheet in answer:
        emit(pictured(sheet))
    sys.stdout.flush()
    return 0


def pictured(sheet: StockSheet, most: int = 48) -> str:
    """A sheet drawn in characters, no wider than the terminal or `most`."""
    import shutil

    from inventory.terminal import picture

    return picture(sheet, workshop().unit, min(shutil.get_terminal_size().columns, most))


def refuse_faults(reading: Reading) -> None:
    """Say every fault and stop, where there is one."""
    if reading.faults:
        for sentence in reading.sentences:
            say(sentence)
        say("Nothing was saved. Mend these and try again.")
        raise typer.Exit(common.BAD_INPUT)


def received(sheets: tuple[StockSheet, ...], book: str | None, yes: bool) -> None:
    """Ask whether to save, unless `yes`, and save."""
    they = some(len(sheets), "sheet")
    if not yes:
        answer = ask(f"Put {they} into the stock book? [y/n] ")
        if answer is None:
            say("\nNothing was saved. With --yes it is saved without a question.")
            raise typer.Exit(common.USAGE)
        if answer.strip().lower() not in ("y", "yes"):
            say("Nothing was saved.")
            raise typer.Exit(common.DONE)
    with open_book(book, create=True) as stock:
        stock.receive(sheets, now())
        where = stock.path
    emit(f"Saved {they} in {shown_place(where)}: {named([sheet.id for sheet in sheets])}.")
    bare = [sheet.id for sheet in sheets if sheet.sheet.material is None]
    if bare:
        say(f"Of {named(bare)} the material is not said: no plan takes {'it' if len(bare) == 1 else 'them'} before it is. "
            f"If it is cover paper:  quirestock sheet material {shlex.quote(bare[0])} cover")  # fmt: skip


def shown_place(path: Path) -> str:
    """A file in the current folder or below it by its way from there; another by its whole path."""
    try:
        return str(path.resolve().relative_to(Path.cwd().resolve()))
    except ValueError:
        return str(path)


def named(ids: list[str]) -> str:
    """Ids in a line; of many the first and the last."""
    return ", ".join(ids) if len(ids) <= 8 else f"{', '.join(ids[:3])} ... {ids[-1]}"


def _kept_bad_rows(out: Path, reading: Reading) -> str:
    """Writes the bad rows and their reasons to a file; a sentence that says where they are, or why they are not."""
    from inventory import tables

    try:
        tables.write_bad_rows(out, reading)
    except (InputError, StorageError) as error:
        return f"The bad rows could not be written: {error} Name a file for them with --bad."
    return f"The bad rows and their reasons are in {out}."


def bring(
    file: Annotated[Path, typer.Argument(metavar="FILE", help="Descriptions (.txt) or a table (.csv, .xlsx, .json).")],
    bad: Annotated[
        Path | None, typer.Option("--bad", metavar="OUT.csv", help="Where bad rows go. Default: beside FILE, as NAME-bad.csv.")
    ] = None,
    dry_run: Annotated[bool, typer.Option("--dry-run", help="Only look whether it could be loaded.")] = False,
    unit: UnitOption = None,
    kind: KindOption = "salvaged",
    material: MaterialOption = None,
    book: BookOption = None,
) -> None:
    """Load sheets from a file: all of them, or none. Bad rows come back in a file, each beside its reason."""
    from inventory import tables
    from inventory.descriptions import read_file

    ways = {"stock": stock_of(book), **defaults(unit, kind, material)}
    reading = tables.read_table(file, **ways) if file.suffix.lower() in TABLES else read_file(file, **ways)
    if reading.faults:
        out = bad or file.with_name(f"{file.stem}-bad.csv")
        if out.exists() and file.exists() and out.samefile(file):
            raise InputError("--bad", "another file than the one that is read", str(out))
        for sentence in reading.sentences[:10]:
            say(sentence)
        if len(reading.faults) > 10:
            say(f"... and {len(reading.faults) - 10} more.")
        say(f"Nothing was loaded. {_kept_bad_rows(out, reading)}")
        raise typer.Exit(common.BAD_INPUT)
    if dry_run:
        emit(f"{some(len(reading.sheets), 'sheet')} could be loaded; nothing was saved.")
        return
    received(reading.sheets, book, True)
