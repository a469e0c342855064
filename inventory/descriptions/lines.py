"""Line by line: header lines, ids, ranges and rows of squares, as an unchanging state that each line moves on."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from types import MappingProxyType

from nesting.errors import InputError
from nesting.lengths import Unit

from ..stock import StockSheet
from .entries import Entry, entry_of, parse_parts, resolved, stock_sheet
from .facts import HEADER_WORDS, Facts, fact
from .forms import Part, Squares
from .parts import ID, ROW, WORDS, checked_rows
from .words import Measure, cut_parts, meant, nearest, one_of

LONGEST_LINE = 20_000
MOST_IN_RANGE = 1_000
_SHEET_LINE = re.compile(r"\s*([^:;(]*?)\s*:(.*)", re.DOTALL)
_EXAMPLE = "Begin with its number and a colon, such as 12: 420 x 297."


@dataclass(frozen=True)
class State:
    """What the lines so far have set: the unit, the facts for the sheets that follow, the sheets, and their ids."""

    unit: Unit | None = None
    header: Facts = field(default_factory=Facts)
    sheets: tuple[StockSheet, ...] = ()
    entries: Mapping[str, Entry] = field(default_factory=lambda: MappingProxyType({}))
    used: Mapping[str, str] = field(default_factory=lambda: MappingProxyType({}))
    stock: Mapping[str, StockSheet] = field(default_factory=lambda: MappingProxyType({}))

    def find(self, id: str) -> Entry:
        """The entry of a sheet above, or of one in the stock book. Raises InputError with the nearest id."""
        if id in self.entries:
            return self.entries[id]
        if id in self.stock:
            return entry_of(self.stock[id])
        raise InputError("like", "the number of a sheet above", id, meant(id, [*self.entries, *self.stock][:2_000]))


def start(unit: Unit | None, header: Facts, stock: Iterable[StockSheet]) -> State:
    """The state before the first line; the ids of `stock` are in use already, and `like` may name them.

    Raises InputError for a unit, kind or material that there is not.
    """
    if unit is not None:
        one_of(unit, ("mm", "in"), "unit")
    fact("kind", header.get("kind", "salvaged"), Measure(None))
    fact("material", header.get("material") or "none", Measure(None))
    held = {sheet.id: sheet for sheet in stock}
    return State(unit, header, used=MappingProxyType(dict.fromkeys(held, "the stock book")), stock=MappingProxyType(held))


def is_silent(text: str) -> bool:
    """Whether a line says nothing: blank, or a comment."""
    return not text.strip() or text.lstrip().startswith("#")


def is_row(text: str) -> bool:
    """Whether a line is nothing but squares."""
    return ROW.fullmatch(text.strip()) is not None


def wants_rows(text: str) -> bool:
    """Whether rows of squares may follow under this line."""
    found = _SHEET_LINE.fullmatch(text)
    try:
        words = [re.split(r"[\s:]", part)[0].lower() for part in cut_parts(found.group(2))] if found else []
    except InputError:
        return False
    return any(word == "squares" or (word not in WORDS and nearest(word, WORDS) == "squares") for word in words)


def read(state: State, text: str, rows: Sequence[str], place: str) -> tuple[State, tuple[StockSheet, ...]]:
    """The state after a line (with the rows of squares below it), and the sheets it made.

    `place` says where the line is, for a later sheet of the same id. Raises InputError, and then nothing changes.
    """
    if len(text) > LONGEST_LINE:
        raise InputError("line", f"at most {LONGEST_LINE:,} letters", text)
    text = text.strip()
    first = re.match(r"[^\s:;]*", text)
    word = first.group().lower() if first else ""
    if word == "unit" or word in HEADER_WORDS:
        if text[len(word) :].lstrip().startswith(":"):
            raise InputError(word, f"{word} without a colon, or a sheet's number", text,
                             f"Write it like {_header_example(word)}.")  # fmt: skip
        return _header(state, text), ()
    found = _SHEET_LINE.fullmatch(text)
    if not found:
        hint = meant(word, ("unit", *HEADER_WORDS)) if not text[:1].isdigit() else ""
        raise InputError("line", "a sheet, or a header line such as unit mm", text, hint or _EXAMPLE)
    ids = _ids(found.group(1))
    for id in ids:
        if id in state.used:
            raise InputError("number", "a number not yet used", f"{id}, used in {state.used[id]}", "Give the sheet another.")
    parts = _with_rows(parse_parts(found.group(2), state.unit), rows)
    entry = resolved(parts, state.header, state.unit, state.find)
    made = tuple(stock_sheet(id, entry)[0] for id in ids)
    return replace(
        state, sheets=(*state.sheets, *made), entries=MappingProxyType({**state.entries, **dict.fromkeys(ids, entry)}),
        used=MappingProxyType({**state.used, **dict.fromkeys(ids, place)})), made  # fmt: skip


def _header_example(word: str) -> str:
    examples = {"unit": "unit mm", "kind": "kind salvaged", "material": "material cover", "true": "true none"}
    return examples.get(word, f"{word} ...")


def _header(state: State, text: str) -> State:
    for part in cut_parts(text):
        word = part.split()[0].lower()
        rest = part[len(word) :].strip()
        if word == "unit":
            state = replace(state, unit=one_of(rest or "nothing", ("mm", "in"), "unit"))  # type: ignore[arg-type]
        elif word in HEADER_WORDS:
            measure = Measure(state.unit)
            state = replace(state, header={**state.header, **fact(word, rest, measure)})
        else:
            raise InputError("header", f"unit, {', '.join(HEADER_WORDS)}", part, meant(word, ("unit", *HEADER_WORDS)) or _EXAMPLE)
    return state


def _ids(text: str) -> tuple[str, ...]:
    words = text.split()
    if len(words) == 3 and words[1].lower() == "to":
        return _range(words[0], words[2])
    low_high = re.fullmatch(r"(\d{1,9})-(\d{1,9})", text, re.ASCII)
    if low_high and int(low_high.group(1)) < int(low_high.group(2)):
        raise InputError("number", "one number, or a range", text,
                         f"For a range write {low_high.group(1)} to {low_high.group(2)}.")  # fmt: skip
    if not ID.fullmatch(text) or len(text) > 60:
        raise InputError("number", "a sheet's number or name without blanks, or a range like 11 to 18", text, _EXAMPLE)
    return (text,)


def _range(low: str, high: str) -> tuple[str, ...]:
    first, last = (re.fullmatch(r"(.*?)(\d{1,9})", word, re.ASCII) for word in (low, high))
    if not first or not last or first.group(1) != last.group(1) or (first.group(1) and not ID.fullmatch(first.group(1))):
        raise InputError("number", "a range of numbers, like 11 to 18 or bill-7 to bill-9", f"{low} to {high}")
    start, end = int(first.group(2)), int(last.group(2))
    if not start < end or end - start >= MOST_IN_RANGE:
        raise InputError("number", f"a range that goes up, of at most {MOST_IN_RANGE:,}", f"{low} to {high}")
    wide = len(first.group(2)) if first.group(2).startswith("0") else 0
    return tuple(f"{first.group(1)}{number:0{wide}d}" for number in range(start, end + 1))


def _with_rows(parts: tuple[Part, ...], rows: Sequence[str]) -> tuple[Part, ...]:
    """The parts with the rows that were typed below taken into their squares, and into the text kept."""
    if not rows:
        return parts
    out: list[Part] = []
    for part in parts:
        if isinstance(part, Squares):
            joined = checked_rows((*part.rows, *(row.strip() for row in rows)))
            part = replace(part, rows=joined, text=" ".join([part.text, *(row.strip() for row in rows)]))
        out.append(part)
    return tuple(out)
