"""Reading a notebook format: a TOML file, or a standard size by name with the workshop's defaults.

A price of a rule is in percent of one blank's paper: a cover that lies against it counts as so much more. A format file,
every key but the size and `folios` optional; a length is text with its unit, or a bare number where the file (or the
workshop) sets `unit`:

    unit = "in"
    name = "pocket"
    width = "3-1/2"                 # or: size = "A6", "half letter", "A6 landscape"
    height = "5-1/4"
    folios = 12
    trim = "1/8"                    # all three edges; [trims] head, tail, fore_edge for single ones
    fold = "round"                  # sharp, round, square
    wrap = false                    # true: from 1 mm; "always"
    slack = 0                       # placement room around the cover paper
    true_up = "1/16"                # second cut after halving; true_up_for = ["card", "folio"]
    creep_room = false
    rules = "across"                # how lines of ruled folios run: across the spine, along it ("spine"), or off
    lines_meet = false              # true: every folio carries the same lines, at the same distance from its head
    print_up = "5 %"                # the print of the cover paper stands upright: off, hard, or a price
    covers = 1
    cards = 1
    corner = "1/4"                  # radius of the rounded corners
    staples = 2                     # or their places from the finished head: staple_at = ["1-5/16", "3-15/16"]
    turn_in = 0                     # cover paper turned in at each fore-edge; flap = 0: cover and card folded in
    [trims]
    head = "3/32"
    [caliper]                       # folio, card, cover, glue; "10 sheets 1.02 mm", "10 pt"
    folio = "0.1 mm"
    [grammage]                      # 80, "80 g/m2", "20 lb bond", "20 lb 17 x 22"; [bulk] likewise: any two give the third
    card = 255
    [dummy]                         # measured on the one book made first: thickness, creep, height
    thickness = "3.1 mm"
    [grain]                         # spine, across (hard), off; with a price: "spine, 2 %"
    cover = "spine, 2 %"
    folio = "spine"
"""

from __future__ import annotations

import difflib
import re
from collections.abc import Iterable, Mapping
from pathlib import Path
from typing import Any, cast

from nesting.errors import InputError
from nesting.lengths import TICKS_PER_MM, Rounding, Unit, exact, rounded
from nesting.notebook.formats import (
    GRAIN_RULES,
    MATERIALS,
    TRIM_IN,
    TRIM_MM,
    Calipers,
    Dummy,
    Format,
    Grains,
    Material,
    Staples,
    Trims,
    chosen,
)
from nesting.notebook.measures import measure, read_caliper
from nesting.notebook.paper import read_grammage
from nesting.notebook.sizes import find

from .files import read_text
from .grain_rules import read_grain, read_print

_LENGTHS = ("slack", "true_up", "least_trim", "corner", "turn_in", "flap")
_WHOLE = ("folios", "covers", "cards", "staples")
_WORDS = ("fold", "wrap", "creep_room", "rules", "lines_meet", "print_up", "true_up_for", "staple_at")
_TABLES = {"trims": ("head", "tail", "fore_edge"), "caliper": ("folio", "card", "cover", "glue"), "bulk": MATERIALS,
           "grammage": MATERIALS, "grain": MATERIALS, "dummy": ("thickness", "creep", "height")}  # fmt: skip
_OWN = ("unit", "name", "size", "width", "height")  # what no default can give
DEFAULT_KEYS = (*_WHOLE, "trim", *_LENGTHS, *_WORDS, *_TABLES)
_EDGES = ("head", "tail", "fore_edge")
_LEAST_TRIM_IN = TRIM_IN // 4
_USUAL_FOLIOS = 12  # 24 leaves, 48 pages: trade.md section 6, common practice, no source


def load(path_or_name: str | Path, unit: Unit | None = None, defaults: Mapping[str, Any] | None = None) -> Format:
    """The format of a TOML file or of a standard size.

    `unit`: the workshop's, for bare numbers where the file sets none. `defaults`: the workshop's own allowances, with
    the keys of a format file but unit, name, size, width and height; the file's own keys come first. A named size
    takes them, or 3 mm (1/8 in) trims and 12 folios. Raises InputError, StorageError.

    >>> load("A6").name
    'A6'
    """
    given = _flat(defaults or {}, unit, "the workshop's format defaults", own=False)
    if isinstance(path_or_name, Path) or _looks_like_file(path_or_name):
        path = Path(path_or_name)
        document = _document(path)
        where = f"format file {path.name}"
        if "books" in document:
            raise InputError(where, "a format: size or width and height, folios, ...", "a job",
                             f"Plan it with:  quirestock plan {path.name}")  # fmt: skip
        file_unit = unit if "unit" not in document else cast(Unit, chosen(document["unit"], ("mm", "in"), f"{where}, unit"))
        own = _flat(document, file_unit, where, own=True)
        if "folios" not in own and "folios" not in given:
            raise InputError(f"{where}, folios", "how many folios a book has", "nothing", "Write: folios = 12")
        own.setdefault("name", path.stem)
        return _format(own, given, file_unit, where)
    name, width, height, size_unit = _named(path_or_name, "format")
    own = {"name": name, "width": width, "height": height}
    return _format(own, {"folios": _USUAL_FOLIOS} | given, unit or size_unit, f"format {name}")


def _looks_like_file(text: str) -> bool:
    if text.lower().endswith(".toml") or "/" in text or "\\" in text:
        return True
    try:
        _named(text, "format")
    except InputError:
        return len(text) < 250 and Path(text).exists()
    return False


def _named(text: str, field: str) -> tuple[str, int, int, Unit]:
    """Name, width, height and unit of a standard size, portrait unless it says landscape."""
    found = re.fullmatch(r"(.*?)[\s-]+(portrait|landscape)", text.strip(), re.IGNORECASE)
    try:
        size = find(found.group(1) if found else text, field)
    except InputError as error:
        expected = "a standard size such as A6, B6, JIS B6, half letter, or a format file (.toml)"
        raise InputError(field, expected, text, error.hint) from None
    if found and found.group(2).lower() == "landscape":
        return f"{size.name} landscape", size.height, size.width, size.unit
    return size.name, size.width, size.height, size.unit


def _document(path: Path) -> dict[str, Any]:
    import tomllib

    field = f"format file {path}"
    try:
        folder, there = path.is_dir(), path.exists()
    except OSError:
        folder, there = False, True  # a name that no disk takes: reading says so
    if folder:
        raise InputError(field, "a file", "a folder", "Name the .toml file in it.")
    if not there:
        beside = [p.stem for p in sorted(path.parent.glob("*.toml"))] if path.parent.is_dir() else []
        near = difflib.get_close_matches(path.stem.lower(), beside, n=1, cutoff=0.7)
        raise InputError(field, "a file that is there", "none",
                         f"Did you mean {near[0]}.toml?" if near else "A standard size needs no file: A6, half letter.")
    text = read_text(path)
    if not text.strip():
        raise InputError(field, "a format", "an empty file", 'Write at least: size = "A6" and folios = 12')
    try:
        return tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        raise InputError(field, "TOML, one key = value a line", str(error), 'Text needs quotes: trim = "1/8 in"') from None


def _near(word: str, words: Iterable[str]) -> str:
    near = difflib.get_close_matches(word.lower(), tuple(words), n=1, cutoff=0.7)
    return f"Did you mean {near[0]}?" if near else ""


def _known(found: Iterable[str], allowed: tuple[str, ...], where: str) -> None:
    for key in found:
        if key not in allowed:
            inner = {name: table for table, names in _TABLES.items() if table in allowed for name in names}
            near = difflib.get_close_matches(key.lower(), (*allowed, *inner), n=1, cutoff=0.7)
            place = f" in [{inner[near[0]]}]" if near and near[0] not in allowed else ""
            hint = f"Did you mean {near[0]}{place}?" if near else f"Known keys: {', '.join(allowed)}."
            raise InputError(where, "known keys only", f'"{key}"', hint)


def _length(value: object, unit: Unit | None, field: str, rounding: Rounding = "up") -> int:
    if isinstance(value, bool) or not isinstance(value, str | int | float):
        raise InputError(field, 'a length such as "3 mm", or a number where unit is set', value)
    return rounded(exact(str(value), unit, field), rounding)


def _flat(raw: Mapping[str, Any], unit: Unit | None, where: str, *, own: bool) -> dict[str, Any]:
    """The keys of a format file, checked and in ticks, tables as "table.key", `trim` as its three edges."""
    _known(raw, (*_OWN, *DEFAULT_KEYS) if own else DEFAULT_KEYS, where)
    out: dict[str, Any] = {}
    if "trim" in raw:
        out |= dict.fromkeys((f"trims.{edge}" for edge in _EDGES), _length(raw["trim"], unit, f"{where}, trim"))
    for table, keys in _TABLES.items():
        entries = raw.get(table, {})
        if not isinstance(entries, Mapping):
            raise InputError(f"{where}, {table}", f"a table [{table}] with {', '.join(keys)}", entries)
        _known(entries, keys, f"{where}, [{table}]")
        for key, value in entries.items():
            out[f"{table}.{key}"] = _entry(table, value, unit, f"{where}, {table}, {key}")
    for key in _LENGTHS:
        if key in raw:
            out[key] = _length(raw[key], unit, f"{where}, {key}")
    for key in (*_WHOLE, *_WORDS):
        if key in raw:
            out[key] = _word(key, raw[key], unit, f"{where}, {key}")
    if own:
        out |= _size(raw, unit, where)
    return out


def _entry(table: str, value: object, unit: Unit | None, field: str) -> object:
    if table in ("trims", "dummy"):
        return _length(value, unit, field, "up" if table == "trims" else "near")
    if table == "caliper":
        return read_caliper(value, unit, field)
    if table == "bulk":
        if isinstance(value, bool) or not isinstance(value, int | float):
            raise InputError(field, "a number of cm3/g, such as 1.25", value)
        return float(value)
    if table == "grammage":
        return read_grammage(value, field)
    return read_grain(value, field)


def _word(key: str, value: object, unit: Unit | None, field: str) -> object:
    if key in _WHOLE:
        if isinstance(value, bool) or not isinstance(value, int):
            raise InputError(field, "a whole number", value)
        return value
    if key == "wrap":
        return {True: "yes", False: "no"}[value] if isinstance(value, bool) else chosen(value, ("no", "yes", "always"), field)
    if key == "fold":
        return chosen(value, ("sharp", "round", "square"), field)
    if key == "print_up":
        return read_print(value, field)
    if key == "rules":
        return chosen(value, GRAIN_RULES, field)
    if key in ("creep_room", "lines_meet"):
        if not isinstance(value, bool):
            raise InputError(field, "true or false", value)
        return value
    if key == "staple_at":
        if not isinstance(value, list | tuple):
            raise InputError(field, 'places from the head, such as ["37 mm", "111 mm"]', value)
        return tuple(_length(place, unit, field, "near") for place in value)
    several = [value] if isinstance(value, str) else value
    if not isinstance(several, list | tuple):
        raise InputError(field, 'a list such as ["card", "folio"]', value)
    return tuple(chosen(material, MATERIALS, field) for material in several)


def _size(raw: Mapping[str, Any], unit: Unit | None, where: str) -> dict[str, Any]:
    out: dict[str, Any] = {}
    if "name" in raw:
        out["name"] = raw["name"]
    sides = [side for side in ("width", "height") if side in raw]
    if "size" in raw:
        if sides:
            raise InputError(f"{where}, size", "either size, or width and height", f"size and {' and '.join(sides)}")
        if not isinstance(raw["size"], str):
            raise InputError(f"{where}, size", 'a standard size such as "A6"', raw["size"])
        _, out["width"], out["height"], _ = _named(raw["size"], f"{where}, size")
    elif len(sides) < 2:
        missing = "height" if sides == ["width"] else "width" if sides else "size"
        raise InputError(f"{where}, {missing}", 'the finished size: size = "A6", or width and height', "nothing")
    else:
        out |= {side: _length(raw[side], unit, f"{where}, {side}") for side in sides}
    return out


def _format(own: dict[str, Any], given: dict[str, Any], unit: Unit | None, where: str) -> Format:
    """The format of a file's own keys over the defaults given."""
    for material in MATERIALS:  # a paper that the file describes is not measured by the workshop's
        known = tuple(f"{table}.{material}" for table in ("caliper", "grammage", "bulk"))
        if any(key in own for key in known):
            given = {key: value for key, value in given.items() if key not in known}
    values = given | own
    inches = unit == "in"
    usual = TRIM_IN if inches else TRIM_MM
    calipers, grammages, estimated = _papers(values, where)
    if not isinstance(values["name"], str):
        raise InputError(f"{where}, name", "a text", values["name"])
    return Format(
        values["name"], values["width"], values["height"], values["folios"],
        Trims(**{edge: values.get(f"trims.{edge}", usual) for edge in _EDGES}), calipers,
        fold=values.get("fold", "round"), wrap=values.get("wrap", "no"), slack=values.get("slack", 0),
        true_up=values.get("true_up", 0), true_up_for=values.get("true_up_for", ("card", "folio")),
        creep_room=values.get("creep_room", False), rules=values.get("rules", "across"),
        lines_meet=values.get("lines_meet", False),
        least_trim=values.get("least_trim", _LEAST_TRIM_IN if inches else TICKS_PER_MM),
        grains=Grains(**{m: values[f"grain.{m}"] for m in MATERIALS if f"grain.{m}" in values}),
        cover_up=values.get("print_up", Format.cover_up), covers=values.get("covers", 1), cards=values.get("cards", 1),
        unit=unit or "mm", estimated=estimated, **grammages,
        dummy=Dummy(**{key: values[f"dummy.{key}"] for key in _TABLES["dummy"] if f"dummy.{key}" in values}),
        staples=Staples(values.get("staples", len(values.get("staple_at", (1, 2)))), values.get("staple_at", ())),
        corner=values.get("corner", 0), turn_in=values.get("turn_in", 0), flap=values.get("flap", 0))  # fmt: skip


def _papers(values: Mapping[str, Any], where: str) -> tuple[Calipers, dict[str, float | None], tuple[Material, ...]]:
    """Calipers, grammages, and whose caliper was not measured, from any two of caliper, grammage and bulk.

    A caliper alone stands as it is: nothing asks for its grammage but the weight, which is then not told.
    """
    calipers: dict[str, int | None] = {"glue": values.get("caliper.glue")}
    grammages: dict[str, float | None] = {}
    estimated: list[Material] = []
    for material in MATERIALS:
        thick, grams, bulk = (values.get(f"{table}.{material}") for table in ("caliper", "grammage", "bulk"))
        if grams is not None or bulk is not None:
            found = measure(grams, None if thick is None else thick / TICKS_PER_MM, bulk, material=material,
                            field=f"{where}, {material}")  # fmt: skip
            grams = found.grammage
            if thick is None:
                thick = round(found.caliper * TICKS_PER_MM)
                estimated += [material] if found.assumed else []
        calipers[material], grammages[f"{material}_grammage"] = thick, grams
    return Calipers(**calipers), grammages, tuple(estimated)
