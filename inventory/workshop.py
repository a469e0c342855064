"""The workshop: a folder with `workshop.toml`, which says what holds for everything done in it.

    [bench]
    unit = "mm"             # of bare numbers, and of what is shown
    paper = "A4"            # for printing: A4 or Letter
    money = "EUR"           # the currency of every price
    [cutter]                # lengths as text with a unit, or bare numbers in the unit; a key left out means no limit
    longest_cut = 430
    square_up = "3 mm"
    [stapler]               # legs on hand by length or name; throat: how far in it reaches; clinch, crown
    legs = ["24/6", "8 mm"]
    [allowances]            # defaults for notebook formats, with the keys of a format file
    trim = "3 mm"
    [prices]                # of one sheet, where the sheet itself carries none
    card = 0.35
    [plan]
    seconds = 10
    least_offcut = ["80 mm", "80 mm"]

The maker's own figures (minutes, labour, consumables, margin, press, packs) are read by `figures`.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, fields
from pathlib import Path
from types import MappingProxyType
from typing import Any, Literal

from nesting import Cutter
from nesting.errors import InputError
from nesting.lengths import Unit, parse, show
from nesting.notebook.money import amount
from nesting.notebook.stages import KEYS
from nesting.notebook.stapling import Stapler, read_leg
from nesting.search.budget import LONGEST_SECONDS

from .descriptions.words import meant
from .errors import StorageError
from .figures import SECTIONS as FIGURES
from .figures import Figures, read_figures
from .files import read_text, write_whole
from .stock import MATERIALS

FILE = "workshop.toml"
BOOK = "stock.sqlite"
Paper = Literal["A4", "Letter"]
_BENCH = ("unit", "paper", "money")
_CUTTER = tuple(f.name for f in fields(Cutter))
_PLAN = ("seconds", "least_offcut")
_STAPLER = ("legs", "throat", "clinch", "crown")
_SECTIONS = ("bench", "cutter", "stapler", "allowances", "prices", "plan", *FIGURES)
# about 1/8 in over the finished size for the first two trims (Gray, Paper-Cutting Machines, 1918); 3 mm the metric habit
SQUARE_UP: Mapping[Unit, str] = MappingProxyType({"mm": "3 mm", "in": "1/8 in"})


@dataclass(frozen=True)
class Workshop:
    """What holds in a workshop.

    `folder`: where it is. `unit`: shown, and of bare numbers where `is_set`. `paper`: printed on. `cutter`: used
    by every plan. `allowances`: defaults for notebook formats, keys of a format file. `prices`: of one sheet by
    material. `money`: the currency of every price; empty where there is none. `least_offcut`: width and height in
    ticks, None where the blanks in use decide. `seconds`: for a plan, None where the job or the command decides.
    `figures`: the maker's own minutes, rates and limits. `is_set`: whether a workshop.toml says all this; without one
    these are defaults, and a bare number has no unit. `stapler`: with the staples on hand.
    """

    folder: Path
    unit: Unit = "mm"
    paper: Paper = "A4"
    cutter: Cutter = field(default_factory=Cutter)
    allowances: Mapping[str, Any] = field(default_factory=lambda: MappingProxyType({}))
    prices: Mapping[str, float] = field(default_factory=lambda: MappingProxyType({}))
    money: str = ""
    least_offcut: tuple[int, int] | None = None
    seconds: float | None = None
    is_set: bool = False
    stapler: Stapler = field(default_factory=Stapler)
    figures: Figures = field(default_factory=Figures)

    @property
    def book(self) -> Path:
        """Where the workshop's stock book is."""
        return self.folder / BOOK

    @property
    def bare_unit(self) -> Unit | None:
        """The unit of a bare number: the workshop's, or none where no workshop.toml sets it."""
        return self.unit if self.is_set else None

    @classmethod
    def default(cls, folder: str | Path = ".", unit: Unit = "mm") -> Workshop:
        """A workshop that nobody has written down: no limits but squaring, printing on A4 (inches: Letter)."""
        return cls(Path(folder), unit, "A4" if unit == "mm" else "Letter", Cutter(square_up=SQUARE_UP[unit]))

    @classmethod
    def find(cls, start: str | Path = ".") -> Workshop:
        """The workshop that a folder lies in: the nearest folder upward with workshop.toml, else defaults here.

        Raises InputError and StorageError as `load`.
        """
        here = Path(start).absolute()
        for folder in (here, *here.parents):
            if (folder / FILE).is_file():
                return cls.load(folder)
        return cls.default(here)

    @classmethod
    def load(cls, folder: str | Path) -> Workshop:
        """The workshop of a folder's workshop.toml.

        Raises InputError where the file is missing or says what cannot be, naming section and key with the nearest
        right one, and StorageError where it cannot be read.
        """
        import tomllib

        path = Path(folder) / FILE
        text = read_text(path)
        try:
            raw = tomllib.loads(text)
        except (tomllib.TOMLDecodeError, RecursionError) as error:
            raise InputError(str(path), "TOML, key = value, texts in quotes", str(error)) from None
        _known(raw, _SECTIONS, str(path), "section")
        return _workshop(Path(folder), {name: _section(raw, name, path) for name in _SECTIONS}, path)


def write_default(folder: str | Path, unit: Unit = "mm") -> Path:
    """Writes a workshop.toml with the defaults and a word on each, and returns its path.

    Raises StorageError where there is one already, or it cannot be written.
    """
    path = Path(folder) / FILE
    if path.exists() or path.is_symlink():
        raise StorageError(f"{path} is there already and was left as it is. Edit it instead.")
    write_whole(path, _template(unit).encode())
    return path


def _workshop(folder: Path, sections: Mapping[str, Mapping[str, Any]], path: Path) -> Workshop:
    bench, plan = sections["bench"], sections["plan"]
    _known(bench, _BENCH, f"{path}, [bench]", "key")
    _known(plan, _PLAN, f"{path}, [plan]", "key")
    if "unit" not in bench:
        raise InputError(f"{path}, [bench], unit", '"mm" or "in"', "nothing", 'Write unit = "mm" under [bench].')
    unit: Unit = _chosen(bench["unit"], ("mm", "in"), f"{path}, [bench], unit")  # type: ignore[assignment]
    usual = Workshop.default(folder, unit)
    paper: Paper = _chosen(bench.get("paper", usual.paper), ("A4", "Letter"), f"{path}, [bench], paper")  # type: ignore[assignment]
    money = bench.get("money", "")
    if not isinstance(money, str) or len(money) > 8 or not money.isprintable() or set(money) & set("+-.,0123456789"):
        raise InputError(f"{path}, [bench], money", "a short text such as EUR", money)
    return Workshop(
        folder, unit, paper, _cutter(sections["cutter"], unit, path), _allowances(sections["allowances"], unit, path),
        _prices(sections["prices"], money, path), money,
        _least_offcut(plan.get("least_offcut"), unit, f"{path}, [plan], least_offcut"),
        _seconds(plan.get("seconds"), f"{path}, [plan], seconds"), True,
        _stapler(sections["stapler"], unit, path), read_figures(sections, money.strip(), unit, path))  # fmt: skip


def _known(found: Iterable[str], allowed: tuple[str, ...], where: str, what: str) -> None:
    for key in found:
        if key not in allowed:
            hint = meant(key, allowed) or f"Known: {', '.join(allowed)}."
            raise InputError(where, f"known {what}s only", f"the {what} {key}", hint)


def _section(raw: Mapping[str, Any], name: str, path: Path) -> Mapping[str, Any]:
    section = raw.get(name, {})
    if not isinstance(section, dict):
        raise InputError(f"{path}, {name}", f"a section [{name}] with keys below it", section)
    return section


def _chosen(value: object, allowed: tuple[str, ...], where: str) -> str:
    for word in allowed:
        if isinstance(value, str) and value.strip().lower() == word.lower():
            return word
    hint = meant(value, [word.lower() for word in allowed]) if isinstance(value, str) else ""
    raise InputError(where, " or ".join(f'"{word}"' for word in allowed), value, hint)


def _length(value: object, unit: Unit, where: str) -> int:
    """Ticks of a text with its unit, or of a bare number (or bare text) in the workshop's unit."""
    if isinstance(value, bool) or not isinstance(value, str | int | float):
        raise InputError(where, 'a length such as "3 mm", or a number', value)
    if isinstance(value, float) and (not math.isfinite(value) or 0 < abs(value) < 1e-4):
        raise InputError(where, "a plain length", value)
    return parse(str(value), unit, field=where)


def _cutter(section: Mapping[str, Any], unit: Unit, path: Path) -> Cutter:
    where = f"{path}, [cutter]"
    _known(section, _CUTTER, where, "key")
    given = {key: show(_length(value, unit, f"{where}, {key}")) for key, value in section.items()}
    given.setdefault("square_up", SQUARE_UP[unit])
    try:
        return Cutter(**given)
    except InputError as error:
        key = error.field.removeprefix("cutter, ")
        hint = "Leave the key out for no limit." if "above 0" in error.expected else error.hint
        raise InputError(f"{where}, {key}", error.expected.removesuffix(", or None for no limit"), error.found, hint) from None


def _stapler(section: Mapping[str, Any], unit: Unit, path: Path) -> Stapler:
    where = f"{path}, [stapler]"
    _known(section, _STAPLER, where, "key")
    legs = section.get("legs", [])
    legs = legs if isinstance(legs, list) else [legs]
    given: dict[str, Any] = {key: _length(section[key], unit, f"{where}, {key}") for key in _STAPLER[1:] if key in section}
    if given.get("throat") == 0 or given.get("crown") == 0:
        raise InputError(where, "a throat and a crown above 0", 0)
    return Stapler(legs=tuple(sorted({read_leg(leg, unit, f"{where}, legs") for leg in legs})), **given)


def _allowances(section: Mapping[str, Any], unit: Unit, path: Path) -> Mapping[str, Any]:
    """The section as it is, once a format has been made with it."""
    from .formats import load

    try:
        load("A6", unit, section)
    except InputError as error:
        place = error.field.removeprefix("the workshop's format defaults")
        raise InputError(f"{path}, [allowances]{place}", error.expected, error.found, error.hint) from None
    return MappingProxyType(dict(section))


def _prices(section: Mapping[str, Any], money: str, path: Path) -> Mapping[str, float]:
    where = f"{path}, [prices]"
    _known(section, MATERIALS, where, "key")
    for key, value in section.items():
        if isinstance(value, bool) or not isinstance(value, int | float) or not math.isfinite(value) or value < 0:
            raise InputError(f"{where}, {key}", "the price of one sheet, a number of 0 or more", value)
        amount(value, money or None, f"{where}, {key}")
    return MappingProxyType({key: float(value) for key, value in section.items()})


def _least_offcut(value: object, unit: Unit, where: str) -> tuple[int, int] | None:
    if value is None:
        return None
    if not isinstance(value, list) or len(value) != 2:
        raise InputError(where, 'two lengths such as ["80 mm", "80 mm"]', value)
    width, height = (_length(side, unit, where) for side in value)
    if not width or not height:
        raise InputError(where, "two lengths above 0", value)
    return width, height


def _seconds(value: object, where: str) -> float | None:
    if value is None:
        return None
    if isinstance(value, bool) or not isinstance(value, int | float) or not 0 < value <= LONGEST_SECONDS:
        raise InputError(where, f"a number above 0, at most {LONGEST_SECONDS:,}", value)
    return float(value)


def _template(unit: Unit) -> str:
    mm = unit == "mm"
    knife, lift, least_setting, clamp, trim, slack, least, throat, press = (
        ("430 mm", "20 mm", "15 mm", "25 mm", "3 mm", "1 mm", "80 mm", "300 mm", "120 mm") if mm
        else ("17 in", "3/4 in", "1/2 in", "1 in", "1/8 in", "1/16 in", "3 in", "12 in", "5 in"))  # fmt: skip
    lines = (
        ("# This folder is a workshop. Lengths: text with a unit, or a bare number in the bench's unit.", ""),
        ("", ""),
        ("[bench]", ""),
        (f'unit = "{unit}"', ""),
        (f'paper = "{Workshop.default(unit=unit).paper}"', "for cut diagrams and cards: A4 or Letter"),
        ('# money = "EUR"', "the currency of every price"),
        ("", ""),
        ("[cutter]", "take the # away from what your guillotine limits"),
        (f'# longest_cut = "{knife}"', ""),
        (f'# lift = "{lift}"', "the highest stack it cuts"),
        (f'# fence_min = "{least_setting}"', ""),
        (f'# fence_max = "{knife}"', ""),
        (f'# clamp = "{clamp}"', "the narrowest strip it still holds"),
        (f'square_up = "{SQUARE_UP[unit]}"', "taken off an edge that is neither factory nor cut, before it is measured from"),
        ("", ""),
        ("[stapler]", "take the # away from what is on hand"),
        ('# legs = ["24/6"]', "by name or length"),
        (f'# throat = "{throat}"', "how far in from the edge it reaches"),
        ("", ""),
        ("[allowances]", "defaults for notebook formats; a format file may say otherwise"),
        (f'trim = "{trim}"', "head, tail and fore-edge; single ones under [allowances.trims]"),
        ('fold = "round"', "sharp, round or square: how far a fold pushes its inner leaves out"),
        ('print_up = "5 %"', "the print of covers upright: off, hard, or what one that is not counts for in paper"),
        (f'# slack = "{slack}"', "room to place the cover paper on its card"),
        ("# [allowances.caliper]", ""),
        ('# glue = "0.02 mm"', "thickness of the glue between cover paper and card"),
        ("[allowances.grain]", "spine, across (hard) or off; with a price in paper: spine, 2 %"),
        ('cover = "spine, 2 %"', "the card governs thin paper on dry adhesive"),
        ('card = "spine"', ""),
        ('folio = "spine"', ""),
        ("", ""),
        ("[prices]", "of one sheet, where the sheet itself carries none"),
        *((f"# {material} = 0.35", "") for material in MATERIALS),
        ("", ""),
        ("[plan]", ""),
        ("seconds = 10", "the longest a plan may take"),
        (f'# least_offcut = ["{least}", "{least}"]', "what is smaller is shavings; else the blanks in use decide"),
        ("", ""),
        ("# What follows is for costs and the work plan: quirestock notebook cost, quirestock notebook work.", ""),
        ("# [labour]", ""),
        ("# rate = 18", "money for an hour"),
        ("# [selling]", ""),
        ("# margin = 40", "percent of the price"),
        ("# [stages.staple]", f"minutes; also {', '.join(KEYS)}"),
        ("# setup = 5", "once for a format"),
        ("# each = 1", "for a book; for a sheet or lift where one is cut"),
        ("# wait = 0", "nobody stands by"),
        ("# [consumables.staples]", ""),
        ('# price = "4.90 EUR"', ""),
        ("# lasts = 5000", "so many of what per says"),
        ('# per = "staple"', "book, staple, or m2 of card that gets adhesive"),
        ("# [press]", ""),
        (f'# height = "{press}"', "the highest stack it takes"),
        ("# stacks = 1", "side by side"),
        ("# [weights]", ""),
        ("# books = 20", "folded books under the weights at a time"),
        ("# [packs]", "sheets that are bought at once"),
        *((f"# {material} = {count}", "") for material, count in Figures().packs.items()),
        ("# [day]", ""),
        ('# start = "9:00"', ""),
        ("# hours = 6", "at the bench"),
    )  # fmt: skip
    return "".join((f"{code:<26}# {note}" if note else code).rstrip() + "\n" for code, note in lines)
