"""Two tables of a job file: the copies that each stage spoils, and the papers that are bought again."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from nesting.errors import InputError
from nesting.notebook.formats import MATERIALS
from nesting.notebook.stages import KEYS, Overs

from .figures import number, only

_MOST = 100_000


def read_overs(raw: Any, counted: bool, where: str) -> Mapping[str, Overs]:
    """Overs by the key of the stage. `counted`: whether every format says how many are wanted. Raises InputError."""
    if not isinstance(raw, dict):
        raise InputError(where, "a table for each stage: [overs.laminate] percent = 3, at_least = 1", raw,
                         "Books more than wanted go into [[books]]: overs = 2")  # fmt: skip
    only(raw, KEYS, where)
    if raw and not counted:
        raise InputError(where, "a wanted number in every [[books]]", "none", "Overs are reckoned from it.")
    out = {}
    for key, table in raw.items():
        if not isinstance(table, dict):
            raise InputError(f"{where}, {key}", "percent and at_least", table)
        only(table, ("percent", "at_least"), f"{where}, {key}")
        at_least = table.get("at_least", 0)
        if isinstance(at_least, bool) or not isinstance(at_least, int) or not 0 <= at_least <= _MOST:
            raise InputError(f"{where}, {key}, at_least", f"a whole number from 0 to {_MOST:,}", at_least)
        out[key] = Overs(number(table.get("percent", 0), f"{where}, {key}, percent", 0, 100), at_least)
    return out


def read_buy(raw: Any, where: str) -> Mapping[str, str]:
    """Ids of papers by material. Raises InputError."""
    if not isinstance(raw, dict):
        raise InputError(where, "a table: card, folio", raw)
    only(raw, MATERIALS, where)
    for material, name in raw.items():
        if not isinstance(name, str):
            raise InputError(f"{where}, {material}", "the id of a paper in the book", name)
    return dict(raw)
