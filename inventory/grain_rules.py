"""How rules of grain and print are written, with or without a price: `spine`, `spine, 2 %`, `off`, `hard`, `5 %`."""

from __future__ import annotations

import re
from typing import cast

from nesting.errors import InputError
from nesting.notebook.formats import GRAIN_RULES, GrainRule, SoftRule, chosen


def read_grain(value: object, field: str) -> GrainRule | SoftRule:
    """A grain rule: spine, across or off, or one of the first two with a price, `spine, 2 %`. Raises InputError."""
    word, comma, price = value.partition(",") if isinstance(value, str) else (value, "", "")
    rule = cast(GrainRule, chosen(word.strip() if isinstance(word, str) else word, GRAIN_RULES, field))
    if not comma:
        return rule
    if rule == "off":
        raise InputError(field, "off alone, or a price beside spine or across", value)
    return rule, _percent(price, field)


def read_print(value: object, field: str) -> bool | float:
    """A print rule: off (False), hard (True), or a price, `5 %`. Raises InputError."""
    if isinstance(value, str) and "%" in value:
        return _percent(value, field)
    return chosen(value, ("off", "hard"), field) == "hard"


def _percent(text: str, field: str) -> float:
    found = re.fullmatch(r"\s*(\d{1,3}(?:[.,]\d{1,4})?)\s*%\s*", text, re.ASCII)
    if not found or float(found.group(1).replace(",", ".")) > 100:
        raise InputError(field, "a price such as 2 %, at most 100 % of a blank's paper", text.strip() or "nothing")
    return float(found.group(1).replace(",", "."))
