"""A job file: which notebooks are wanted, how many, from which papers.

    name = "spring batch"
    aim = "least-stock"             # or "most-books": as many complete books as the stock gives
    materials = ["cover", "card", "folio"]   # what to plan; all three if left out
    exclude = ["bill-7"]            # sheets not to touch
    least_offcut = ["80 mm", "80 mm"]
    variety = 2000                  # what a cover sheet more, and so another picture, may cost; below 0: as alike as can be
    seconds = 20
    best_rate = 0                   # what 1 mm2 of best area on a front cover may cost: in mm2 of paper, or in the money
                                    # that sheets carry; as many books are made all the same

    [[books]]
    format = "A6"                   # a standard size, or a format file beside this one
    wanted = 40
    overs = 2                       # extra copies against spoilage

    [overs.laminate]                # copies that a stage spoils: percent, and at least so many; the materials that have
    percent = 3                     # come that far are cut for them too
    at_least = 1

    [papers]                        # ids, where not all sheets of a material may be used
    folio = ["ream-1"]

    [buy]                           # the paper in the book that is bought again, where there is not enough
    folio = "ream-1"

    [[fixed]]                       # a piece already chosen: this picture on the front, plan the rest
    sheet = "w7"
    blank = "A6 cover"              # as the plan names it: format and material
    at = [120, 80]                  # its low-left corner as it lies after its turn: across, up
    turn = 0                        # 90, 180, 270: counter-clockwise; angle = 2.5 where its sheet is cut off square

    [rules]                         # instead of what the formats say, as in a format file
    print_up = "hard"               # off, hard, or a price in percent of a cover's paper: "5 %"
    cover = "spine, 2 %"            # grain: spine, across, off; with a price it may lie otherwise at that price
"""

from __future__ import annotations

import difflib
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Any

from nesting import Blank, Sheet
from nesting.errors import InputError, finite
from nesting.fixed import Fixed
from nesting.lengths import Unit, mm, parse
from nesting.notebook.allowances import blank_of
from nesting.notebook.formats import MATERIALS, MOST_OF_A_BLANK, Format
from nesting.notebook.ruled import on_ruled
from nesting.notebook.stages import Overs, Run
from nesting.search.budget import LONGEST_SECONDS

from .files import read_text
from .formats import load
from .grain_rules import read_grain, read_print
from .overs import read_buy, read_overs
from .stock import StockSheet

AIMS = {"least-stock": "least-stock", "most-books": "most-worth"}
_KEYS = ("name", "unit", "aim", "materials", "exclude", "least_offcut", "seconds", "frames", "variety", "books", "papers",
         "fixed", "best_rate", "rules", "overs", "buy")  # fmt: skip


@dataclass(frozen=True)
class Books:
    """So many books of one format; `wanted` None where the aim is as many as the stock gives."""

    format: Format
    wanted: int | None
    overs: int = 0

    @property
    def copies(self) -> int | None:
        """Wanted and overs together, without what the stages spoil."""
        return None if self.wanted is None else self.wanted + self.overs


@dataclass(frozen=True)
class Job:
    """What a job file says, read and checked."""

    name: str
    aim: str
    books: tuple[Books, ...]
    materials: tuple[str, ...] = MATERIALS
    papers: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    exclude: tuple[str, ...] = ()
    fixed: tuple[Fixed, ...] = ()
    least_offcut: tuple[int, int] | None = None
    seconds: float | None = None
    frames: str = "auto"
    variety: int | float = 0
    best_rate: float = 0
    overs: Mapping[str, Overs] = field(default_factory=dict)
    buy: Mapping[str, str] = field(default_factory=dict)

    def runs(self) -> tuple[Run, ...]:
        """The books that are wanted, on their way through the stages; those of no number are left out."""
        return tuple(Run.of(b.format, b.wanted, self.overs, b.overs) for b in self.books if b.wanted is not None)

    def _blanks(self, books: Books) -> tuple[Blank, ...]:
        if books.wanted is None:
            return books.format.blanks(None, self.materials)
        run = Run.of(books.format, books.wanted, self.overs, books.overs)
        return tuple(blank_of(books.format, m, run.blanks_of(m)) for m in MATERIALS
                     if books.format.per_book(m) and m in self.materials)  # fmt: skip

    def blanks(self, sheets: Iterable[Sheet] = ()) -> tuple[Blank, ...]:
        """The blanks of all books, of the materials that are planned.

        Where the aim is the least stock and all `sheets` carry a cost, the prices of soft rules are put in it: paper at
        what that material costs on average.
        """
        sheets = tuple(sheets)
        folio = [s for s in sheets if s.material == "folio"]
        blanks = (on_ruled(books.format, b, folio) if b.material == "folio" and sheets else b
                  for books in self.books for b in self._blanks(books))  # fmt: skip
        if AIMS[self.aim] != "least-stock" or not sheets or any(s.cost is None for s in sheets):
            return tuple(blanks)
        return tuple(_in_money(blank, [s for s in sheets if s.material == blank.material]) for blank in blanks)

    def sets(self) -> dict[str, dict[str, int]] | None:
        """Blanks of one complete book of each format, where the aim is the most books."""
        if self.aim != "most-books":
            return None
        out = {}
        for books in self.books:
            needs = {b.name: b.quantity or 0 for b in books.format.blanks(1, self.materials)}
            out[books.format.name] = needs
        return out

    def without_glue(self, stock: Iterable[StockSheet]) -> tuple[str, ...]:
        """Covers and card that are said not to take glue, where some are glued: left out unless the job names them."""
        if not any(b.format.covers and b.format.cards for b in self.books):
            return ()
        named = {*(id for ids in self.papers.values() for id in ids), *(f.sheet for f in self.fixed)}
        return tuple(s.id for s in stock if s.takes_glue is False and s.sheet.material in ("cover", "card")
                     and s.sheet.material in self.materials and s.sheet.count and s.id not in named)  # fmt: skip

    def sheets(self, stock: Iterable[StockSheet]) -> tuple[Sheet, ...]:
        """The sheets of the stock that the job may use. Raises InputError for an id that is not there."""
        at_hand = {s.id: s for s in stock if s.sheet.count}
        named = tuple(f.sheet for f in self.fixed)
        listed = [(f"papers, {m}", ids) for m, ids in self.papers.items()]
        for field_name, ids in (("exclude", self.exclude), ("fixed", named), *listed):
            for name in ids:
                if name not in at_hand:
                    raise InputError(f"job, {field_name}", "ids of sheets in stock", name, near(name, at_hand))
        for material, ids in self.papers.items():
            for name in ids:
                if at_hand[name].sheet.material != material:
                    raise InputError(f"job, papers, {material}", f"sheets of {material}", f"{name}, which is "
                                     f"{at_hand[name].sheet.material or 'of no material'}")  # fmt: skip
        left = self.without_glue(at_hand.values())
        chosen = [
            s.sheet for s in at_hand.values()
            if s.sheet.material in self.materials and s.id not in left
            and s.id in self.papers.get(s.sheet.material or "", at_hand)
        ]  # fmt: skip
        if not all(s.cost is not None for s in chosen):
            chosen = [replace(s, cost=None) for s in chosen]
        return tuple(chosen)


def _in_money(blank: Blank, sheets: Iterable[Sheet]) -> Blank:
    """The blank with the prices of its rules, so far in mm2, at what these sheets cost."""
    sheets = tuple(sheets)
    paper = sum(s.area_mm2 * (s.count or 1) for s in sheets)
    if not blank.priced or not paper:
        return blank
    rate = sum((s.cost or 0) * (s.count or 1) for s in sheets) / paper
    grain, up = (rule if not isinstance(rule, tuple) else (rule[0], rule[1] * rate) for rule in (blank.grain, blank.up))
    return blank.with_rules(grain, up)


def read_job(path: Path, unit: Unit | None, defaults: Mapping[str, Any]) -> Job:
    """The job in a file; formats named in it are looked for beside it. Raises InputError, StorageError."""
    import tomllib

    where = f"job {path.name}"
    text = read_text(path)
    if not text.strip():
        raise InputError(where, "a job", "an empty file", 'Write at least: [[books]], format = "A6", wanted = 20')
    try:
        raw = tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        raise InputError(where, "TOML, one key = value a line", str(error), 'Text needs quotes: format = "A6"') from None
    if "books" not in raw and raw.keys() & {"size", "width", "height", "folios"}:
        raise InputError(where, "a job", "a notebook format",
                         f'Name it in a job file:  [[books]]  format = "{path.name}"  wanted = 20')  # fmt: skip
    _known(raw, _KEYS, where)
    if "unit" in raw:
        unit = _word(raw["unit"], ("mm", "in"), f"{where}, unit")  # type: ignore[assignment]
    aim = _word(raw.get("aim", "least-stock"), tuple(AIMS), f"{where}, aim")
    books = raw.get("books")
    if not isinstance(books, list) or not books:
        raise InputError(f"{where}, books", "at least one [[books]] with format and wanted", books or "none")
    rules = _rules(raw.get("rules", {}), f"{where}, rules")
    read = tuple(_books(b, f"{where}, books {i + 1}", path.parent, unit, defaults, aim, rules) for i, b in enumerate(books))
    _names_differ(read, where)
    papers = raw.get("papers", {})
    if not isinstance(papers, dict):
        raise InputError(f"{where}, papers", "a table: cover, card, folio", papers)
    _known(papers, MATERIALS, f"{where}, papers")
    example = 'a list: ["cover", "card"]'
    if raw.get("materials", MATERIALS) == [] or isinstance(raw.get("materials"), str):
        raise InputError(f"{where}, materials", example, raw["materials"] or "an empty list")
    named = _names(raw.get("materials", MATERIALS), f"{where}, materials")
    materials = tuple(_word(m, MATERIALS, f"{where}, materials") for m in named)
    for number, entry in enumerate(read, 1):
        _not_too_many(entry, materials or MATERIALS, f"{where}, books {number}")
    variety = raw.get("variety", 0)
    if isinstance(variety, bool) or not isinstance(variety, int | float) or not abs(variety) <= 1e12:
        raise InputError(f"{where}, variety", "a price: a number in the sheets' cost, or mm2 of paper where they have none",
                         variety)  # fmt: skip
    seconds = raw.get("seconds")
    if seconds is not None and (isinstance(seconds, bool) or not isinstance(seconds, int | float)
                                or not 0 < seconds <= LONGEST_SECONDS):  # fmt: skip
        raise InputError(f"{where}, seconds", f"a time above 0 and at most {LONGEST_SECONDS:,} s, a day", seconds)
    name = raw.get("name", path.stem)
    if not isinstance(name, str) or not name.strip() or len(name) > 80:
        raise InputError(f"{where}, name", "a short text", name)
    return Job(
        name, aim, read, materials or MATERIALS, {m: _names(ids, f"{where}, papers, {m}") for m, ids in papers.items()},
        _names(raw.get("exclude", ()), f"{where}, exclude"), _all_fixed(raw.get("fixed", []), unit, where),
        _least(raw.get("least_offcut"), unit, where), seconds,
        _word(raw.get("frames", "auto"), ("auto", "square"), f"{where}, frames"), variety,
        _rate(raw.get("best_rate", 0), where), read_overs(raw.get("overs", {}), all(b.wanted for b in read), f"{where}, overs"),
        read_buy(raw.get("buy", {}), f"{where}, buy"))  # fmt: skip


def _rules(raw: Any, where: str) -> Mapping[str, Any]:
    """The job's own rules of grain by material, and of the print."""
    if not isinstance(raw, dict):
        raise InputError(where, "a table: cover, card, folio, print_up", raw)
    _known(raw, (*MATERIALS, "print_up"), where)
    return {key: (read_print if key == "print_up" else read_grain)(value, f"{where}, {key}") for key, value in raw.items()}


def _books(raw: Any, where: str, folder: Path, unit: Unit | None, defaults: Mapping[str, Any], aim: str,
           rules: Mapping[str, Any]) -> Books:  # fmt: skip
    if not isinstance(raw, dict):
        raise InputError(where, "format and wanted", raw)
    _known(raw, ("format", "wanted", "overs"), where)
    name = raw.get("format")
    if not isinstance(name, str) or not name.strip():
        raise InputError(f"{where}, format", 'a size such as "A6", or a format file', name or "none")
    beside = folder / name
    format = load(beside if name.endswith(".toml") or beside.is_file() else name, unit, defaults)
    wanted = raw.get("wanted")
    if wanted is None and aim != "most-books":
        raise InputError(f"{where}, wanted", "how many books", "nothing", "Write: wanted = 40")
    _count(wanted, f"{where}, wanted", 1)
    overs = raw.get("overs", 0)
    _count(overs, f"{where}, overs", 0)
    grains = {material: rule for material, rule in rules.items() if material != "print_up"}
    format = replace(format, grains=replace(format.grains, **grains), cover_up=rules.get("print_up", format.cover_up))
    return Books(format, wanted, overs)


def _names_differ(books: Sequence[Books], where: str) -> None:
    """Blanks are told apart by their format's name. Raises InputError where two have one."""
    for number, entry in enumerate(books):
        same = [b for b in books[:number] if b.format.name == entry.format.name]
        if same and any(b.format == entry.format for b in same):
            raise InputError(f"{where}, books", "formats that differ", f"{entry.format.name} twice", "Add the numbers up.")
        if same:
            raise InputError(f"{where}, books", "formats whose names differ", f"two formats of the name {entry.format.name}",
                             'Give one another name in its file: name = "..."')  # fmt: skip


def _not_too_many(books: Books, materials: Sequence[str], where: str) -> None:
    """Raises InputError where a blank would be wanted more often than it may be."""
    most = books.format.most_books(materials)
    if books.copies is not None and books.copies > most:
        per_book = max(books.format.per_book(m) for m in MATERIALS if m in materials)
        each = f" and a book takes {per_book} of one" if per_book > 1 else ""
        raise InputError(f"{where}, wanted", f"at most {most:,} books, overs included",
                         f"{books.copies:,}", f"Of one blank at most {MOST_OF_A_BLANK:,} can be planned at once{each}. "
                         "Split the job.")  # fmt: skip


def _all_fixed(raw: Any, unit: Unit | None, where: str) -> tuple[Fixed, ...]:
    if not isinstance(raw, list):
        raise InputError(f"{where}, fixed", "[[fixed]] tables with sheet, blank and at", raw)
    return tuple(_fixed(entry, unit, f"{where}, fixed {i}") for i, entry in enumerate(raw, 1))


def _fixed(raw: Any, unit: Unit | None, where: str) -> Fixed:
    if not isinstance(raw, dict):
        raise InputError(where, "a [[fixed]] table with sheet, blank and at", raw)
    _known(raw, ("sheet", "blank", "at", "turn", "angle"), where)
    at = raw.get("at")
    if not isinstance(at, list) or len(at) != 2 or any(isinstance(v, bool) or not isinstance(v, str | int | float) for v in at):
        raise InputError(f"{where}, at", "two lengths, across and up: [120, 80]", at if at is not None else "none")
    x, y = (mm(parse(str(v), unit, "near", f"{where}, at")) for v in at)
    sheet = raw.get("sheet")
    return Fixed.read({**raw, "sheet": str(sheet) if isinstance(sheet, int) else sheet, "at": (x, y)}, where)


def _count(value: Any, where: str, least: int) -> None:
    if value is not None and (isinstance(value, bool) or not isinstance(value, int) or not least <= value <= MOST_OF_A_BLANK):
        raise InputError(where, f"a whole number from {least} to {MOST_OF_A_BLANK:,}", value)


def _least(raw: Any, unit: Unit | None, where: str) -> tuple[int, int] | None:
    if raw is None:
        return None
    if not isinstance(raw, list) or len(raw) != 2 or not all(isinstance(v, str | int | float) for v in raw):
        raise InputError(f"{where}, least_offcut", 'two lengths: ["80 mm", "80 mm"]', raw)
    width, height = (parse(str(v), unit, "up", f"{where}, least_offcut") for v in raw)
    return width, height


def _rate(raw: Any, where: str) -> float:
    if not finite(raw) or not 0 <= raw <= 1e9:
        raise InputError(f"{where}, best_rate", "a number of 0 or more", raw, "0: never give up a cover or money for best areas.")
    return float(raw) if isinstance(raw, float) else int(raw)


def _names(raw: Any, where: str) -> tuple[str, ...]:
    if isinstance(raw, str) or not isinstance(raw, Iterable):
        raise InputError(where, 'a list: ["1", "2"]', raw)
    out = tuple(str(v) if isinstance(v, int) else v for v in raw)
    if not all(isinstance(v, str) for v in out):
        raise InputError(where, 'a list of texts: ["1", "2"]', raw)
    return out


def _word(value: Any, words: tuple[str, ...], where: str) -> str:
    if value in words and isinstance(value, str):
        return value
    raise InputError(where, " or ".join(words), value, near(str(value), words))


def _known(raw: Mapping[str, Any], keys: tuple[str, ...], where: str) -> None:
    for key in raw:
        if key not in keys:
            raise InputError(where, f"only {', '.join(keys)}", key, near(key, keys))


def near(word: str, words: Iterable[str]) -> str:
    """A hint that names the word most like it, or nothing where none is near."""
    found = difflib.get_close_matches(word, list(words), n=1, cutoff=0.65)
    return f"Did you mean {found[0]}?" if found else ""
