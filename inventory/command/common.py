"""What every command needs: where the stock book is, how to speak, and the one look at the clock."""

from __future__ import annotations

import json
import os
import sys
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from nesting.errors import InputError

if TYPE_CHECKING:
    from inventory.book import Book
    from inventory.workshop import Workshop
    from nesting import Plan

DONE, FAULTS, USAGE, BAD_INPUT, IMPOSSIBLE, CHANGED, STORAGE, INTERRUPTED = 0, 1, 2, 3, 4, 5, 6, 130

BookOption = Annotated[str | None, typer.Option("--book", metavar="PATH|URL", help="The stock book, if not the workshop's.")]
JsonOption = Annotated[bool, typer.Option("--json", help="As JSON.")]
YesOption = Annotated[bool, typer.Option("--yes", help="Ask no question.")]


def say(text: str) -> None:
    """A message to the maker, on stderr."""
    print(text, file=sys.stderr, flush=True)


def emit(text: str) -> None:
    """A result, on stdout."""
    print(text)


def emit_json(value: Any) -> None:
    """A result as JSON, on stdout."""
    print(json.dumps(value, indent=2, ensure_ascii=False))


def now() -> str:
    """The time as the stock book keeps it: ISO, whole seconds, UTC. The only look at the wall clock."""
    from datetime import UTC, datetime

    return datetime.now(UTC).isoformat(timespec="seconds")


def workshop() -> Workshop:
    """The workshop that the current folder lies in, else one of defaults. Raises InputError for a faulty file."""
    from inventory.workshop import Workshop

    return Workshop.find(Path.cwd())


def book_location(option: str | None) -> str:
    """Where the stock book is: the option, QUIRESTOCK_BOOK, beside workshop.toml, else stock.sqlite here."""
    named = option or os.environ.get("QUIRESTOCK_BOOK")
    if named:
        return named
    return str(workshop().book)


def open_book(option: str | None, *, readonly: bool = False, create: bool = False) -> Book:
    """The stock book, open. Raises StorageError."""
    from inventory.book import Book

    return Book.open(book_location(option), readonly=readonly, create=create)


def read_plan(path: Path) -> Plan:
    """The plan in a file. Raises InputError, StorageError."""
    from inventory.files import read_text
    from nesting import Plan

    text = read_text(path)
    if not text.strip():
        raise InputError("plan", "a plan that `quirestock plan` wrote", f"{path}, which is empty")
    try:
        document = json.loads(text, parse_constant=_no_number)
    except ValueError as error:
        raise InputError("plan", "a plan that `quirestock plan` wrote (JSON)", f"{path}, which is not",
                         f"It goes wrong here: {error}.") from None  # fmt: skip
    except RecursionError:
        raise InputError("plan", "a plan that `quirestock plan` wrote", f"{path}, nested too deep to read") from None
    return Plan.from_dict(document)


def _no_number(text: str) -> None:
    raise ValueError(f"{text} is no number")


def ask(question: str) -> str | None:
    """One line of answer to a question put on stderr, from a terminal or a pipe; None where the input has ended.

    Raises InputError where the answer is not UTF-8.
    """
    print(question, end="", file=sys.stderr, flush=True)
    try:
        line = sys.stdin.readline()
    except UnicodeDecodeError:
        raise InputError("standard input", "text in UTF-8", "other bytes") from None
    return line.rstrip("\r\n") if line else None


def some(count: int, noun: str) -> str:
    """A number with its noun, which takes an s where there are more."""
    return f"{count:,} {noun}" if count == 1 else f"{count:,} {noun}s"


def columns(rows: list[list[str]]) -> str:
    """Rows as columns that line up; the first row is the heading."""
    widths = [max(len(row[i]) for row in rows) for i in range(len(rows[0]))]
    return "\n".join("  ".join(cell.ljust(w) for cell, w in zip(row, widths, strict=True)).rstrip() for row in rows)


def unit_of(option: str | None, default: str) -> Any:
    """The unit asked for, mm or in. Raises InputError."""
    unit = default if option is None else option
    if unit not in ("mm", "in"):
        raise InputError("--unit", "mm or in", unit)
    return unit


def version(asked: bool) -> None:
    """Print the version and stop, where asked for."""
    if asked:
        from nesting import __version__

        emit(f"quirestock {__version__}")
        raise typer.Exit(DONE)
