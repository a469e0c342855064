"""The maker's own figures in workshop.toml: minutes of each stage, labour, consumables, margin, press and packs.

    [labour]
    rate = 18                       # of an hour; with [bench] money = "EUR"
    [selling]
    margin = 40                     # percent of the price
    [stages.staple]                 # minutes: once for a run, for each book (sheet or lift cut), waiting
    setup = 5
    each = 1
    [stages.press]
    wait = 720
    [consumables.adhesive]
    price = "12.50 EUR"
    lasts = 6                       # of what `per` says
    per = "m2"                      # book, staple or m2 of card that gets adhesive
    [press]
    height = "120 mm"               # how high a stack it takes
    stacks = 2                      # side by side
    [weights]
    books = 20                      # folded books under the weights at a time
    [packs]
    folio = 500                     # sheets in what is bought at once: a ream
    [day]
    start = "9:00"
    hours = 6                       # at the bench
"""

from __future__ import annotations

import math
import re
from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from fractions import Fraction
from types import MappingProxyType
from typing import Any

from nesting.errors import InputError
from nesting.lengths import Unit, parse
from nesting.notebook.costs import MEASURES, Consumable
from nesting.notebook.money import amount
from nesting.notebook.paper import REAM
from nesting.notebook.stages import KEYS, USUAL, Stage

from .descriptions.words import meant

SECTIONS = ("labour", "selling", "stages", "consumables", "press", "weights", "packs", "day")
_MOST_MINUTES = 100_000


@dataclass(frozen=True)
class Figures:
    """What `SECTIONS` of a workshop.toml say. Money is exact and in the workshop's currency.

    `rate`: of an hour's labour. `press_height` in ticks. None: no limit, or not given. `packs`: sheets bought at once, by
    material. `day_start` in minutes from midnight, `day_minutes` at the bench.
    """

    rate: Fraction | None = None
    margin: Fraction | None = None
    stages: tuple[Stage, ...] = USUAL
    consumables: tuple[Consumable, ...] = ()
    press_height: int | None = None
    press_stacks: int = 1
    weights: int | None = None
    packs: Mapping[str, int] = field(default_factory=lambda: MappingProxyType({"folio": REAM, "card": 1, "cover": 1}))
    day_start: int = 9 * 60
    day_minutes: int = 6 * 60


def read_figures(sections: Mapping[str, Mapping[str, Any]], money: str, unit: Unit, path: object) -> Figures:
    """The figures of the sections of a workshop.toml, those left out as usual. Raises InputError."""
    keys = {"labour": ("rate",), "selling": ("margin",), "stages": KEYS, "press": ("height", "stacks"),
            "weights": ("books",), "packs": ("cover", "card", "folio"), "day": ("start", "hours")}  # fmt: skip
    for name, known in keys.items():
        only(sections[name], known, f"{path}, [{name}]")

    def at(section: str, key: str) -> tuple[Any, str]:
        return sections[section].get(key), f"{path}, [{section}], {key}"

    out = Figures()
    rate, where = at("labour", "rate")
    margin, margin_where = at("selling", "margin")
    height, height_where = at("press", "height")
    start, start_where = at("day", "start")
    hours, hours_where = at("day", "hours")
    share = None if margin is None else number(margin, margin_where, 0, 99)
    return replace(
        out, rate=None if rate is None else amount(rate, money or None, where), margin=share,
        stages=tuple(_stage(stage, sections["stages"].get(stage.key), f"{path}, [stages.{stage.key}]") for stage in USUAL),
        consumables=tuple(_consumable(name, raw, money, f"{path}, [consumables.{name}]")
                          for name, raw in sections["consumables"].items()),
        press_height=None if height is None else _height(height, unit, height_where),
        press_stacks=_whole(*at("press", "stacks"), 1, 1, 1000),
        weights=_whole(*at("weights", "books"), 0, 1, 100_000) or None,
        packs=MappingProxyType({m: _whole(*at("packs", m), usual, 1, 100_000) for m, usual in out.packs.items()}),
        day_start=out.day_start if start is None else _clock(start, start_where),
        day_minutes=out.day_minutes if hours is None else round(number(hours, hours_where, 1, 24) * 60))  # fmt: skip


def number(value: object, where: str, least: int, most: int) -> Fraction:
    """A plain number, as typed. Raises InputError."""
    if isinstance(value, bool) or not isinstance(value, int | float) or not math.isfinite(value) or not least <= value <= most:
        raise InputError(where, f"a number from {least:,} to {most:,}", value)
    return Fraction(str(value))


def _whole(value: object, where: str, usual: int, least: int, most: int) -> int:
    if value is None:
        return usual
    if isinstance(value, bool) or not isinstance(value, int) or not least <= value <= most:
        raise InputError(where, f"a whole number from {least:,} to {most:,}", value)
    return value


def _height(value: object, unit: Unit, where: str) -> int:
    if isinstance(value, bool) or not isinstance(value, str | int | float):
        raise InputError(where, 'a length such as "120 mm"', value)
    height = parse(str(value), unit, "down", where)
    if not height:
        raise InputError(where, "a length above 0", value, "Leave the key out for no limit.")
    return height


def _clock(value: object, where: str) -> int:
    found = re.fullmatch(r"(\d{1,2}):(\d\d)", value, re.ASCII) if isinstance(value, str) else None
    if not found or int(found.group(1)) > 23 or int(found.group(2)) > 59:
        raise InputError(where, 'a time such as "9:00"', value)
    return int(found.group(1)) * 60 + int(found.group(2))


def _stage(usual: Stage, raw: object, where: str) -> Stage:
    if raw is None:
        return usual
    if not isinstance(raw, dict):
        raise InputError(where, "a table with setup, each and wait, in minutes", raw)
    only(raw, ("setup", "each", "wait"), where)
    given = {key: number(value, f"{where}, {key}", 0, _MOST_MINUTES) for key, value in raw.items()}
    return replace(usual, **given, own=True)  # type: ignore[arg-type]


def _consumable(name: str, raw: object, money: str, where: str) -> Consumable:
    if not isinstance(raw, dict):
        raise InputError(where, "a table with price, lasts and per", raw)
    only(raw, ("price", "lasts", "per"), where)
    for key in ("price", "lasts", "per"):
        if key not in raw:
            raise InputError(f"{where}, {key}", "price, lasts and per", "nothing", 'Such as: lasts = 5000, per = "staple".')
    if raw["per"] not in MEASURES:
        raise InputError(f"{where}, per", " or ".join(MEASURES), raw["per"])
    lasts = number(raw["lasts"], f"{where}, lasts", 0, 1_000_000_000)
    if not lasts:
        raise InputError(f"{where}, lasts", "a number above 0", raw["lasts"])
    return Consumable(name, amount(raw["price"], money or None, f"{where}, price"), lasts, raw["per"])


def only(found: Mapping[str, Any], allowed: tuple[str, ...], where: str) -> None:
    """Refuse keys that are not known. Raises InputError with the nearest right one."""
    for key in found:
        if key not in allowed:
            raise InputError(where, f"only {', '.join(allowed)}", key, meant(key, allowed))
