"""One row of a table to one sheet, and back; the columns and what their cells hold."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import replace
from fractions import Fraction
from math import ceil, floor
from typing import Any, cast

from nesting import Sheet
from nesting.errors import InputError
from nesting.geometry import Ring, bounds
from nesting.lengths import TICKS_PER_64TH, TICKS_PER_INCH, TICKS_PER_MM, Unit, exact, number
from nesting.ruling import Ruling
from nesting.sheets import Up, Zone

from .descriptions.damage import some_paper_left
from .descriptions.entries import Entry, parse_parts, resolved, stock_sheet, true_letters
from .descriptions.exactly import to_ticks
from .descriptions.facts import GUESSED, UPS, Facts, amount, fact, grain_said
from .descriptions.forms import Like, Shape, SideLength, SquareCorner
from .descriptions.shapes import Built
from .descriptions.words import Measure, one_of
from .ruling_cells import read_ruling, ruling_cell
from .stock import Kind, StockSheet

GEOMETRY = ("outline_mm", "holes_mm", "bad_mm", "best_mm", "ruling_mm")
COLUMNS = (
    "id", "width", "height", "unit", "kind", "material", "grain", "up", "true_edges", "inset", "count", "cost", "price",
    "caliper", "grammage", "glue", "cracks", "source", "parent", "note", "description", *GEOMETRY,
)  # fmt: skip
# column -> the word of a description that reads the same; true_edges may also hold edge numbers
_FACTS = {
    "kind": "kind", "material": "material", "grain": "grain", "up": "print", "true_edges": "true", "inset": "inset",
    "count": "count", "price": "price", "caliper": "caliper", "grammage": "grammage", "glue": "glue", "cracks": "cracks",
}  # fmt: skip
_UP_WORDS: dict[Up, str] = {value: word for word, value in UPS.items() if value is not None}
_RING_NUMBER = re.compile(r"([-−]?)(\d+(?:[.,]\d*)?|[.,]\d+)", re.ASCII)


def sheet_of(cells: Mapping[str, str], unit: Unit | None, kind: Kind, material: str | None) -> StockSheet:
    """The sheet of a row: its filled cells by column. Raises InputError naming the column."""
    id = cells.get("id", "")
    if not id:
        raise InputError("id", "the sheet's number or name", "nothing")
    own = cast(Unit, one_of(cells["unit"], ("mm", "in"), "unit")) if "unit" in cells else unit
    edges = cells.get("true_edges", "")
    numbered = bool(re.fullmatch(r"\d{1,4}([\s,]+\d{1,4})*", edges, re.ASCII))
    facts = _facts(cells, own, {"kind": kind, "material": material}, numbered)
    if numbered and "outline_mm" not in cells:
        raise InputError("true_edges", "edges by letter (L R T B), all or none", edges, "Numbers need outline_mm.")
    if "outline_mm" in cells:
        made = _outlined(id, cells, facts, own, tuple(int(i) for i in re.split(r"[\s,]+", edges)) if numbered else ())
    else:
        made = _described(id, cells, facts, own)
    if "cost" in cells:
        made = replace(made, sheet=replace(made.sheet, cost=_cost(cells["cost"])))
    return replace(made, source=cells.get("source", made.source), note=cells.get("note", made.note), parent=cells.get("parent"))


def _facts(cells: Mapping[str, str], unit: Unit | None, usual: Facts, numbered: bool) -> Facts:
    facts = usual
    for column, word in _FACTS.items():
        if column in cells and not (numbered and column == "true_edges"):
            cell = cells[column]
            if column == "up":
                cell = _UP_WORDS.get(cast(Up, cell), cell)
            try:
                facts = {**facts, **fact(word, cell, Measure(unit))}
            except InputError as error:
                raise InputError(column, error.expected, error.found, error.hint) from None
    return facts


def _cost(text: str) -> int | float:
    value = amount(text, "cost")
    return int(value) if re.fullmatch(r"\d{1,15}", text) else value


def _described(id: str, cells: Mapping[str, str], facts: Facts, unit: Unit | None) -> StockSheet:
    """A sheet from its description, its width and height, or both."""
    for name in GEOMETRY:
        if name in cells:
            raise InputError(name, "outline_mm beside it", "none", "Give the outline too, or say it in description.")
    text = cells.get("description", "")
    parts = parse_parts(text, unit)
    if any(isinstance(part, Like) for part in parts):
        _no_other(text)
    shaped = any(isinstance(part, Shape | SideLength | SquareCorner) for part in parts)
    sizes = [name for name in ("width", "height") if name in cells]
    if len(sizes) == 1 or (not sizes and not shaped):
        missing = "height" if sizes == ["width"] else "width"
        raise InputError(missing, "the size in width and height, or at the start of description", "nothing")
    if sizes and not shaped:
        parts = (*parse_parts(" x ".join(_with_unit(cells[name], unit, name) for name in sizes), unit), *parts)
    entry = resolved(parts, facts, unit, _no_other)
    made, built = stock_sheet(id, entry)
    _same_facts(cells, facts, entry.facts, built)
    if sizes and shaped:
        _agrees(cells, unit, built.width, built.height, "description")
    return replace(made, description=made.description if text else "")


def _same_facts(cells: Mapping[str, str], columns: Facts, said: Facts, built: Built) -> None:
    """Raises InputError where a description says otherwise than a column of its row."""
    for name, value in columns.items():
        column = {"true": "true_edges"}.get(name, name)
        if column not in cells or name not in said:
            continue
        match name:
            case "true":
                same = built.true_edges(cast(str, value)) == built.true_edges(said["true"])
            case "grain":
                guess = GUESSED if built.sheet.grain_guessed else ""
                same = value in (said["grain"], grain_said(built.sheet), f"long{guess}", f"short{guess}")
            case "inset":
                same = ceil(cast(Fraction, value)) == ceil(said["inset"])
            case _:
                same = value == said[name]  # type: ignore[literal-required]
        if not same:
            raise InputError("description", f"what column {column} says, {cells[column]}", cells["description"],
                             "Empty one of the two.")  # fmt: skip


def _no_other(id: str) -> Entry:
    raise InputError("description", "the sheet itself, not like another", id, "Write the line out.")


def _with_unit(cell: str, unit: Unit | None, name: str) -> str:
    """A size cell, its unit written out, so that the two cells of a row need not share one."""
    if unit is None and not re.search(r"[a-zA-Z\"″']\.?$", cell):
        raise InputError(name, "a length with its unit", cell, "Fill the column unit with mm or in.")
    exact(cell, unit, name)
    return cell if unit is None or re.search(r"[a-zA-Z\"″']\.?$", cell) else f"{cell} {unit}"


def _agrees(cells: Mapping[str, str], unit: Unit | None, width: int, height: int, whose: str) -> None:
    for name, size in (("width", width), ("height", height)):
        if name in cells and abs(exact(_with_unit(cells[name], unit, name), unit, name) - size) > 1:
            raise InputError(name, f"{number(size, unit or 'mm')}, the {name} by {whose}", cells[name], "Mend one of the two.")


def _outlined(id: str, cells: Mapping[str, str], facts: Facts, unit: Unit | None, edges: tuple[int, ...]) -> StockSheet:
    """A sheet from its outline and areas in mm; a description, if there is one, is kept and must not contradict."""
    outline = to_ticks(_rings(cells["outline_mm"], "outline_mm")[0][0], inward=True)
    holes = tuple(to_ticks(ring, inward=False) for ring, _ in _rings(cells.get("holes_mm", ""), "holes_mm"))
    bad = [Zone("bad", to_ticks(ring, inward=False)) for ring, _ in _rings(cells.get("bad_mm", ""), "bad_mm")]
    best = [Zone("best", to_ticks(ring, inward=True), weight) for ring, weight in _rings(cells.get("best_mm", ""), "best_mm")]
    said, kind = facts.get("grain") or "", facts.get("kind", "salvaged")
    grain = said.removesuffix(GUESSED) or None
    if grain in ("long", "short"):
        raise InputError("grain", "x, y, up or across beside outline_mm", str(grain))
    true = edges or _by_letter(outline, facts.get("true", "all" if kind == "parent" else ""))
    sheet = Sheet.from_ticks(
        id, outline, holes=holes, zones=(*bad, *best), grain=grain, up=facts.get("up"), true_edges=true,
        grain_guessed=said.endswith(GUESSED), ruling=read_ruling(cells.get("ruling_mm", "")),
        inset=f"{number(ceil(facts.get('inset', Fraction(0))))} mm", count=facts.get("count", 1),
        material=facts.get("material"))  # fmt: skip
    some_paper_left(sheet, f"sheet {id}")
    if not _description_agrees(cells, facts, unit, sheet):
        x0, y0, x1, y1 = sheet.box
        _agrees(cells, unit, x1 - x0, y1 - y0, "outline_mm")
    caliper = facts.get("caliper")
    return StockSheet(
        sheet, kind, unit or "mm", None if caliper is None else floor(caliper + Fraction(1, 2)), facts.get("grammage"),
        facts.get("price"), "", "", facts.get("glue"), facts.get("cracks"), cells.get("description", ""))  # fmt: skip


def _by_letter(outline: Ring, letters: str) -> tuple[int, ...]:
    x0, y0, x1, y1 = bounds(outline)
    sides = {"L": (0, x0), "R": (0, x1), "B": (1, y0), "T": (1, y1)}
    return tuple(
        i for i, start in enumerate(outline) if letters == "all" or any(
            start[sides[letter][0]] == outline[(i + 1) % len(outline)][sides[letter][0]] == sides[letter][1]
            for letter in letters))  # fmt: skip


def _description_agrees(cells: Mapping[str, str], facts: Facts, unit: Unit | None, sheet: Sheet) -> bool:
    """Whether an outlined sheet has a description that makes a sheet. Raises InputError where that is another one."""
    try:
        entry = resolved(parse_parts(cells.get("description", ""), unit), {}, unit, _no_other)
        built = stock_sheet(sheet.id, entry)[1]
    except InputError:
        return False  # a text of the maker's own; the outline says all
    if _shape(built.sheet) != _shape(sheet):
        raise InputError("description", "the shape that outline_mm gives", cells["description"], "Empty one of the two.")
    _same_facts(cells, facts, entry.facts, built)
    _agrees(cells, unit, built.width, built.height, "description")
    return True


def _shape(sheet: Sheet) -> tuple[Ring, tuple[Ring, ...], tuple[Zone, ...], Ruling | None]:
    return sheet.outline, sheet.holes, sheet.zones, sheet.ruling


def _rings(cell: Any, column: str) -> list[tuple[list[tuple[Fraction, Fraction]], float]]:
    """Rings in exact ticks with their weights, of `x y; x y; ... | ...`."""
    text = str(cell).strip()
    found = []
    for index, ring in enumerate(text.split("|") if text else [], 1):
        field = f"{column}, area {index}" if "|" in text else column
        points, weight = [], 1.0
        corners = [corner.strip() for corner in ring.split(";") if corner.strip()]
        if column == "best_mm" and corners and corners[-1].startswith("weight"):
            weight = amount(corners.pop().removeprefix("weight"), f"{field}, weight")
            if weight <= 0:
                raise InputError(f"{field}, weight", "a number above 0", ring)
        for corner in corners:
            values = corner.split()
            if len(values) != 2:
                raise InputError(field, "points as x y; x y; ... in mm", corner)
            points.append((_signed(values[0], field), _signed(values[1], field)))
        if len(points) < 3:
            raise InputError(field, "at least 3 points as x y; x y; ... in mm", ring.strip() or "none")
        found.append((points, weight))
    if column == "outline_mm" and len(found) > 1:
        raise InputError(column, "one outline", f"{len(found)}")
    return found


def _signed(text: str, field: str) -> Fraction:
    match = _RING_NUMBER.fullmatch(text)
    if not match:
        raise InputError(field, "a plain number of mm", text)
    size = exact(match.group(2), "mm", field)
    return -size if match.group(1) else size


def cells_of(stock: StockSheet) -> dict[str, Any]:
    """A sheet's cells by column, empty ones left out; lengths as numbers where they are plain ones in its unit."""
    sheet, unit = stock.sheet, stock.unit
    x0, y0, x1, y1 = sheet.box
    built = _said_by(stock)
    width, height = (built.width, built.height) if built else (x1 - x0, y1 - y0)
    letters = true_letters(built, sheet.true_edges) if built else None
    true = " ".join(map(str, sheet.true_edges)) if letters is None else letters if letters == "all" else " ".join(letters)
    cells: dict[str, Any] = {
        "id": sheet.id, "width": _length(width, unit), "height": _length(height, unit), "unit": unit, "kind": stock.kind,
        "material": sheet.material, "grain": grain_said(sheet), "up": None if sheet.up is None else _UP_WORDS[sheet.up],
        "true_edges": true or "none", "inset": _length(sheet.inset, unit) if sheet.inset else None,
        "count": "no limit" if sheet.count is None else sheet.count, "cost": sheet.cost, "price": stock.price,
        "caliper": None if stock.caliper is None else _length(stock.caliper, unit), "grammage": stock.grammage,
        "glue": _yes(stock.takes_glue), "cracks": _yes(stock.cracks_at_fold), "source": stock.source,
        "parent": stock.parent, "note": stock.note, "description": stock.description,
    }  # fmt: skip
    if letters is None:
        cells["ruling_mm"] = None if sheet.ruling is None else ruling_cell(sheet.ruling)
        cells["outline_mm"] = _ring_text(sheet.outline)
        cells["holes_mm"] = " | ".join(_ring_text(hole) for hole in sheet.holes)
        cells["bad_mm"] = " | ".join(_ring_text(ring) for ring in sheet.bad)
        cells["best_mm"] = " | ".join(
            _ring_text(zone.outline) + ("" if zone.weight == 1 else f"; weight {zone.weight!r}")
            for zone in sheet.zones if zone.kind == "best")  # fmt: skip
    return {name: value for name, value in cells.items() if value is not None and value != ""}


def _said_by(stock: StockSheet) -> Built | None:
    """What the description (or the plain size) makes of a sheet, if that is just this sheet but for its true edges."""
    sheet = stock.sheet
    _, _, x1, y1 = sheet.box
    text = stock.description or f"{number(x1)} mm x {number(y1)} mm"
    try:
        entry = resolved(parse_parts(text, stock.unit), {}, stock.unit, _no_other)
        made, built = stock_sheet(stock.id, entry)
    except InputError:
        return None
    said = entry.facts
    alike = (
        _shape(built.sheet) == _shape(sheet)
        and made.description == text
        and ("grain" not in said or grain_said(built.sheet) == grain_said(sheet))
        and ("up" not in said or built.sheet.up == sheet.up)
        and ("inset" not in said or built.sheet.inset == sheet.inset)
        and ("true" not in said or built.sheet.true_edges == sheet.true_edges)
    )
    return built if alike else None


def _yes(value: bool | None) -> str | None:
    return None if value is None else "yes" if value else "no"


def _length(size: int, unit: Unit) -> int | float | str:
    """A plain number in the unit where that is exact in decimals, else text with its unit."""
    if unit == "in":
        if size % TICKS_PER_64TH:
            return f"{number(size)} mm"
        inches = Fraction(size, TICKS_PER_INCH)
        return int(inches) if inches.denominator == 1 else float(inches)
    return size // TICKS_PER_MM if size % TICKS_PER_MM == 0 else float(number(size))


def _ring_text(ring: Sequence[tuple[int, int]]) -> str:
    return "; ".join(f"{number(x)} {number(y)}" for x, y in ring)
