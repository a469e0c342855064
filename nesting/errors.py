"""What can go wrong inside `nesting`: wrong input, and jobs that cannot be done."""

from __future__ import annotations

import math
from collections.abc import Mapping


class InputError(ValueError):
    """A value that cannot be used: which field, what was expected, what was found, what to do next."""

    def __init__(self, field: str, expected: str, found: object, hint: str = "") -> None:
        self.field = field
        self.expected = expected
        self.found = found
        self.hint = hint
        shown = found if isinstance(found, str) else repr(found)
        if len(shown) > 120:
            shown = shown[:117] + "..."
        text = f"{field}: expected {expected}, found {shown or 'nothing'}."
        super().__init__(f"{text} {hint}".rstrip())


def finite(value: object) -> bool:
    """Whether a value is a plain finite number that floating point can hold."""
    if isinstance(value, bool) or not isinstance(value, int | float):
        return False
    try:
        return math.isfinite(value)
    except OverflowError:
        return False


class ImpossibleJob(Exception):
    """A job of which nothing can be made; `reasons` says why for each blank by name."""

    def __init__(self, reasons: Mapping[str, str]) -> None:
        self.reasons = dict(reasons)
        super().__init__("; ".join(f"{name}: {why}" for name, why in self.reasons.items()))
