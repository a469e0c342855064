"""Sheets in tables: CSV, XLSX and JSON, one row a sheet, read and written with the same columns.

A sheet's shape is given by `description` (the language of `descriptions`; with `width` and `height` given, it may begin
behind the size), or by `outline_mm`, `holes_mm`, `bad_mm`, `best_mm` as `x y; x y; ...` (several areas parted by `|`,
a best area's weight as a last `weight 2`), or by `width` and `height` alone.
"""

from __future__ import annotations

import csv
import io
import json
import re
from collections.abc import Iterable, Sequence
from pathlib import Path
from typing import Any

from nesting.errors import InputError
from nesting.lengths import Unit

from .descriptions.facts import fact
from .descriptions.results import Reading, RowFault
from .descriptions.words import Measure, meant
from .errors import StorageError
from .files import read_bytes, read_text, write_whole
from .rows import COLUMNS, cells_of, sheet_of
from .stock import Kind, StockSheet

DOCUMENT = "quirestock-sheets"
BESIDE = ("row", "reason")  # what `write_bad_rows` adds, so that a mended file can be read as it is
MOST_ROWS = 100_000
_STARTS = ("=", "+", "-", "@", "\t", "\r", "'")


def read_table(path: str | Path, *, unit: Unit | None = None, kind: Kind = "salvaged", material: str | None = None,
               stock: Iterable[StockSheet] = ()) -> Reading:  # fmt: skip
    """The sheets of a CSV, XLSX or JSON table, and a fault for each bad row (row 1 is the header).

    `unit`, `kind` and `material` hold for rows that do not say; the ids of `stock` are in use already.
    Raises InputError for a file that is missing, a folder, no such table, empty, or without rows, and StorageError
    for one that cannot be read.
    """
    fact("kind", kind, Measure(None))
    fact("material", material or "none", Measure(None))
    header, rows = _grid(Path(path))
    faults = _header_faults(header)
    if any(fault.reason.startswith("column id") for fault in faults):
        return Reading((), tuple(faults), "row")
    used = {sheet.id: "the stock book" for sheet in stock}
    sheets: list[StockSheet] = []
    for number, row in enumerate(rows, 2):
        cells = {name: value for name, value in zip(header, row, strict=False) if value}
        if not any(row) or (cells and not cells.keys() - set(BESIDE)):
            continue
        try:
            if len(row) > len(header) and any(row[len(header) :]):
                raise InputError("row", f"{len(header)} cells, as in the header", f"{len(row)}",
                                 "A cell with a comma in it needs quotes.")  # fmt: skip
            for name, value in cells.items():
                if re.fullmatch(r"\d{4}-\d\d-\d\d 00:00:00", value):
                    raise InputError(name, "a length or a text", f"the date {value[:10]}",
                                     "The spreadsheet took a fraction for a date: make that column text.")  # fmt: skip
            made = sheet_of({name: value for name, value in cells.items() if name in COLUMNS}, unit, kind, material)
            if made.id in used:
                raise InputError("id", "an id not yet used", f"{made.id}, used in {used[made.id]}", "Give the sheet another.")
        except InputError as error:
            faults.append(RowFault(number, _csv_line(row), str(error), tuple(cells.items())))
            continue
        used[made.id] = f"row {number}"
        sheets.append(made)
    if not sheets and not faults:
        raise InputError(f"file {path}", "a row for each sheet", "none", "Add the sheets below the header.")
    return Reading(tuple(sheets), tuple(faults), "row")


def write_table(path: str | Path, sheets: Sequence[StockSheet]) -> None:
    """Writes sheets as CSV, XLSX or JSON by the file's ending; `read_table` gives them back.

    Bad areas come back before best ones, and texts without blanks around them.
    Text that a spreadsheet would run as a formula is written behind a ' in CSV and XLSX, which reading takes off.
    Raises InputError for another ending, StorageError where it cannot be written.
    """
    path = Path(path)
    rows = [cells_of(sheet) for sheet in sheets]
    match path.suffix.lower():
        case ".csv":
            table = [COLUMNS, *([_safe(row.get(name, "")) for name in COLUMNS] for row in rows)]
            write_whole(path, _bytes(_csv(table)))
        case ".xlsx":
            write_whole(path, _xlsx([[_safe(row.get(name, "")) for name in COLUMNS] for row in rows]))
        case ".json":
            document = {"document": DOCUMENT, "version": 1, "sheets": [_plain(row) for row in rows]}
            write_whole(path, _bytes(json.dumps(document, ensure_ascii=False, indent=1) + "\n"))
        case ending:
            raise InputError(f"file {path}", "a name that ends in .csv, .xlsx or .json", ending or "no ending")


def write_bad_rows(path: str | Path, reading: Reading) -> None:
    """Writes the faults of a reading as CSV: number and reason, then the row's own cells (or the line's text).

    A table's bad rows can be mended in that file and read from it. Raises StorageError.
    """
    names = [name for name in COLUMNS if any(name in dict(fault.cells) for fault in reading.faults)]
    others = sorted({name for fault in reading.faults for name, _ in fault.cells} - {*COLUMNS, *BESIDE})
    header = [*BESIDE, *names, *others] if names or others else [*BESIDE, "text"]
    table: list[Sequence[Any]] = [header]
    for fault in reading.faults:
        given = {"text": fault.text, **dict(fault.cells), "row": fault.line, "reason": fault.reason}
        table.append([_safe(given.get(name, "")) for name in header])
    write_whole(path, _bytes(_csv(table)))


def _header_faults(header: list[str]) -> list[RowFault]:
    text = _csv_line(header)
    faults = []
    for index, name in enumerate(header):
        if name in header[:index] and name:
            faults.append(RowFault(1, text, str(InputError("header", "each column once", f"{name} twice"))))
        elif name not in (*COLUMNS, *BESIDE):
            hint = meant(name, COLUMNS) or f"Columns: {', '.join(COLUMNS)}."
            found = name or "one without a name"
            faults.append(RowFault(1, text, str(InputError("header", "known columns only", found, hint))))
    if "id" not in header:
        hint = "Add it: each sheet needs its number."
        faults.append(RowFault(1, text, str(InputError("column id", "a column id", "none", hint))))
    return faults


def _grid(path: Path) -> tuple[list[str], list[list[str]]]:
    """The header's names in small letters, and the rows as text, without the ' of safe cells."""
    ending = path.suffix.lower()
    readers = {".csv": _from_csv, ".tsv": _from_csv, ".xlsx": _from_xlsx, ".json": _from_json}
    if ending not in readers and not path.is_dir():
        raise InputError(f"file {path}", "a table that ends in .csv, .xlsx or .json", ending or "no ending")
    table = readers.get(ending, _from_csv)(path)
    while table and not any(cell.strip() for cell in table[-1]):
        table.pop()
    if not table:
        raise InputError(f"file {path}", "a header line and a row for each sheet", "an empty file",
                         f"Columns: {', '.join(COLUMNS)}.")  # fmt: skip
    if len(table) > MOST_ROWS:
        raise InputError(f"file {path}", f"at most {MOST_ROWS:,} rows", f"{len(table):,}")
    header = [cell.strip().lower() for cell in table[0]]
    while header and not header[-1] and not any(len(row) >= len(header) and row[len(header) - 1].strip() for row in table):
        header.pop()
    if len(table) == 1:
        raise InputError(f"file {path}", "a row for each sheet", "a header only", "Add the sheets below it.")
    return header, [[_unsafe(cell).strip() for cell in row] for row in table[1:]]


def _from_csv(path: Path) -> list[list[str]]:
    text = read_text(path)
    first = text.lstrip("\r\n").split("\n", 1)[0]
    mark = max((",", ";", "\t"), key=first.count)
    try:
        return list(csv.reader(io.StringIO(text, newline=""), delimiter=mark, strict=False))
    except csv.Error as error:
        raise InputError(f"file {path}", "a CSV table", str(error), "Save it again as CSV UTF-8.") from None


def _from_xlsx(path: Path) -> list[list[str]]:
    data = read_bytes(path)
    if not data:
        return []
    import pandas

    try:
        frame = pandas.read_excel(io.BytesIO(data), header=None, dtype=str, keep_default_na=False, na_filter=False)
    except Exception as error:  # openpyxl and zipfile raise many kinds for a file that is no workbook
        raise InputError(f"file {path}", "an XLSX workbook", f"another file ({error})", "Save it again as XLSX.") from None
    return [["" if cell is None else str(cell) for cell in row] for row in frame.itertuples(index=False)]


def _from_json(path: Path) -> list[list[str]]:
    text = read_text(path)
    if not text.strip():
        return []
    try:
        document = json.loads(text)
    except (ValueError, RecursionError) as error:
        raise InputError(f"file {path}", "JSON", str(error)) from None
    rows = document.get("sheets") if isinstance(document, dict) and document.get("document") == DOCUMENT else None
    if not isinstance(rows, list) or not all(isinstance(row, dict) for row in rows):
        raise InputError(f"file {path}", f'a document "{DOCUMENT}" with its sheets', "another document")
    names = list(dict.fromkeys(name for row in rows for name in row))
    return [names, *([_guarded(_text(row.get(name))) for name in names] for row in rows)] if rows else [["id"]]


def _text(value: Any) -> str:
    return "" if value is None else value if isinstance(value, str) else json.dumps(value)


def _plain(row: dict[str, Any]) -> dict[str, Any]:
    return {name: row[name] for name in COLUMNS if row.get(name, "") != ""}


def _guarded(text: str) -> str:
    return f"'{text}" if text.startswith(_STARTS) else text


def _safe(value: Any) -> Any:
    """A cell that no spreadsheet runs as a formula (CSV injection; OWASP names the leading characters)."""
    return _guarded(value) if isinstance(value, str) else value


def _unsafe(cell: str) -> str:
    return cell[1:] if cell.startswith("'") and cell[1:].startswith(_STARTS) else cell


def _bytes(text: str) -> bytes:
    try:
        return text.encode()
    except UnicodeEncodeError as error:
        raise StorageError(f"A text holds a sign that no file keeps: {text[error.start]!r}. Take it out of the note.") from None


def _csv_line(row: Sequence[Any]) -> str:
    return _csv([row]).strip("\r\n")


def _csv(table: Iterable[Sequence[Any]]) -> str:
    out = io.StringIO(newline="")
    csv.writer(out, lineterminator="\n").writerows(table)
    return out.getvalue()


def _xlsx(rows: list[list[Any]]) -> bytes:
    import pandas
    from openpyxl.utils.exceptions import IllegalCharacterError

    out = io.BytesIO()
    try:
        with pandas.ExcelWriter(out, engine="openpyxl") as writer:
            pandas.DataFrame(rows, columns=list(COLUMNS), dtype=object).to_excel(writer, sheet_name="sheets", index=False)
    except IllegalCharacterError as error:
        raise StorageError(f"A text holds a sign that XLSX cannot keep: {error}. Write CSV instead.") from None
    return out.getvalue()


__all__ = ["COLUMNS", "read_table", "write_bad_rows", "write_table"]
