"""Whole texts and files of description lines."""

from __future__ import annotations

from collections.abc import Iterable
from pathlib import Path

from nesting.errors import InputError
from nesting.lengths import Unit

from ..files import read_text
from ..stock import Kind, StockSheet
from .facts import Facts
from .lines import is_row, is_silent, read, start, wants_rows
from .results import Reading, RowFault


def parse_text(text: str, *, unit: Unit | None = None, kind: Kind = "salvaged", material: str | None = None,
               first_line: int = 1, stock: Iterable[StockSheet] = ()) -> Reading:  # fmt: skip
    """The sheets that a text describes, line by line (design.md section 3), and a fault for each line that fails.

    `unit`, `kind` and `material` hold until a header line says otherwise; `first_line` is the number of the first
    line. The ids of `stock` are in use already, and `like` may name them. One bad line never stops the others.

    >>> reading = parse_text("4: 400 x 310; clip TR 30 by 40", unit="mm")
    >>> reading.sheets[0].sheet.area_mm2
    123400
    """
    header: Facts = {"kind": kind, "material": material}
    state = start(unit, header, stock)
    faults: list[RowFault] = []
    lines = text.splitlines()
    at = 0
    while at < len(lines):
        line, number = lines[at], at + first_line
        at += 1
        if is_silent(line):
            continue
        rows: list[str] = []
        while wants_rows(line) and at < len(lines) and is_row(lines[at]):
            rows.append(lines[at])
            at += 1
        try:
            if is_row(line):
                raise InputError("line", "rows of squares under a line such as 22: squares 20", line)
            state, _ = read(state, line, rows, f"line {number}")
        except InputError as error:
            faults.append(RowFault(number, "\n".join([line, *rows]), str(error)))
    return Reading(state.sheets, tuple(faults))


def read_file(path: str | Path, *, unit: Unit | None = None, kind: Kind = "salvaged", material: str | None = None,
              stock: Iterable[StockSheet] = ()) -> Reading:  # fmt: skip
    """The sheets that a text file describes; see `parse_text`.

    Raises InputError for a file that is missing, a folder, not UTF-8 text, empty, or without a sheet in it, and
    StorageError for one that cannot be read.
    """
    text = read_text(path)
    if not text.strip():
        raise InputError(f"file {path}", "a line for each sheet", "an empty file", "Begin with unit mm, then 1: 420 x 297.")
    reading = parse_text(text, unit=unit, kind=kind, material=material, stock=stock)
    if not reading.sheets and not reading.faults:
        raise InputError(f"file {path}", "a line for each sheet", "header lines only", "Add lines such as 1: 420 x 297.")
    return reading
