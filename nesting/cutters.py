"""A cutter: what the bench guillotine can do."""

from __future__ import annotations

from dataclasses import dataclass, fields
from typing import Any

from .errors import InputError
from .lengths import Length, ticks


@dataclass(frozen=True)
class Cutter:
    """The guillotine in ticks; None means no limit.

    `longest_cut`: of the knife. `lift`: the highest stack. `fence_min`, `fence_max`: settings of the back fence.
    `clamp`: the least width it can hold. `true_up`: taken off by the second setting after halving.
    `square_up`: what a squaring cut must take off an untrue edge (0: sheets are taken as square already).
    `gutter`: a gap between pieces. `step`: the division of the fence's scale.
    """

    longest_cut: int | None = None
    lift: int | None = None
    fence_min: int = 0
    fence_max: int | None = None
    clamp: int = 0
    true_up: int = 0
    square_up: int = 0
    gutter: int = 0
    step: int | None = None

    def __init__(self, longest_cut: Length | None = None, lift: Length | None = None, fence_min: Length = 0,
                 fence_max: Length | None = None, clamp: Length = 0, true_up: Length = 0, square_up: Length = 0,
                 gutter: Length = 0, step: Length | None = None) -> None:  # fmt: skip
        """Lengths in mm, or text with a unit. Raises InputError."""
        given: dict[str, Any] = {
            "longest_cut": longest_cut, "lift": lift, "fence_min": fence_min, "fence_max": fence_max, "clamp": clamp,
            "true_up": true_up, "square_up": square_up, "gutter": gutter, "step": step}  # fmt: skip
        for field in fields(self):
            value = given[field.name]
            size = None if value is None and field.default is None else ticks(value, "near", f"cutter, {field.name}")
            if size == 0 and field.default is None:
                raise InputError(f"cutter, {field.name}", "a length above 0, or None for no limit", value)
            object.__setattr__(self, field.name, size)
        if self.fence_max is not None and self.fence_max <= self.fence_min:
            raise InputError("cutter, fence_max", "more than fence_min", fence_max)
