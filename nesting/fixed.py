"""A piece that the maker has chosen before any planning: "this picture on the front, plan the rest"."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from .errors import InputError, finite
from .geometry import Point
from .lengths import mm, ticks

_KEYS = ("sheet", "blank", "at", "turn", "angle")


@dataclass(frozen=True)
class Fixed:
    """A blank at a place of its own on a sheet.

    `at`: its low-left corner in sheet coordinates (ticks) as it lies after its turn. `turn`: counter-clockwise, in the
    frame. `angle`: of the frame, in degrees. All fixed pieces of one sheet lie on one copy of it, in one frame.
    """

    sheet: str
    blank: str
    at: Point
    turn: int = 0
    angle: float = 0.0

    @classmethod
    def read(cls, entry: Any, where: str) -> Fixed:
        """From a mapping with `sheet`, `blank`, `at` (two lengths in mm, or text with units), `turn` and `angle` (both 0 if
        left out). Raises InputError for what is missing, unknown or out of range.

        >>> Fixed.read({"sheet": "s1", "blank": "cover", "at": (10, 20)}, "fixed").at
        (80000, 160000)
        """  # fmt: skip
        if isinstance(entry, cls):
            at = mm(entry.at[0]), mm(entry.at[1])
            entry = {"sheet": entry.sheet, "blank": entry.blank, "at": at, "turn": entry.turn, "angle": entry.angle}
        if not isinstance(entry, Mapping):
            raise InputError(where, "a table with sheet, blank, at and turn", entry)
        for key in entry:
            if key not in _KEYS:
                raise InputError(where, f"only {', '.join(_KEYS)}", f"the unknown field {key!r}")
        for key in ("sheet", "blank"):
            if not isinstance(entry.get(key), str):
                raise InputError(f"{where}, {key}", f"the {'id of a sheet' if key == 'sheet' else 'name of a blank'}",
                                 entry.get(key, "none"))  # fmt: skip
        turn, angle = entry.get("turn", 0), entry.get("angle", 0.0)
        if isinstance(turn, bool) or turn not in (0, 90, 180, 270):
            raise InputError(f"{where}, turn", "0, 90, 180 or 270", turn)
        if not finite(angle) or not -45 < angle <= 45:
            raise InputError(f"{where}, angle", "degrees above -45 and at most 45", angle, "Quarter turns belong in the turn.")
        return cls(entry["sheet"], entry["blank"], _at(entry.get("at"), where), int(turn), round(float(angle), 6) + 0.0)


def _at(value: Any, where: str) -> Point:
    if isinstance(value, str) or not hasattr(value, "__len__") or len(value) != 2:
        raise InputError(f"{where}, at", "two lengths: across, up", "none" if value is None else value)
    x, y = (ticks(v, "near", f"{where}, at", signed=True) for v in value)
    return x, y
