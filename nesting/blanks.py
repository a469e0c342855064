"""A blank: a rectangle to cut, allowances included, with the rules of how it may lie on a sheet."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from .errors import InputError, finite
from .geometry import Box
from .lengths import Length, mm2, ticks
from .sheets import Grain, Sheet, Up

_UPS = ("+x", "+y", "-x", "-y")
_TURNED = {d: {0: d, 90: _UPS[(i + 1) % 4], 180: _UPS[(i + 2) % 4], 270: _UPS[(i + 3) % 4]}
           for i, d in enumerate(_UPS)}  # fmt: skip


@dataclass(frozen=True)
class Blank:
    """A blank in ticks.

    `quantity`: how many, None for no limit. `turns`: allowed turns in degrees, counter-clockwise.
    `grain`: the axis of the blank, as read before its turn, that must lie along the grain (hard), or None (off).
    `up`: where the top of a sheet's print must point in the blank, as read before its turn, or None (off).
    `worth`: of one blank, None for its area in mm2. `material`: cut only from sheets of this material.
    `front`: the part that becomes the front panel, (x0, y0, x1, y1) in the blank as read before its turn, face up;
    None for the whole blank.
    """

    name: str
    width: int
    height: int
    quantity: int | None = None
    turns: tuple[int, ...] = (0, 90)
    grain: Grain | None = None
    up: Up | None = None
    worth: int | float | None = None
    material: str | None = None
    front: Box | None = None

    def __init__(self, name: str, width: Length, height: Length, quantity: int | None = None,
                 turns: Any = (0, 90), grain: str | None = None, up: str | None = None,
                 worth: int | float | None = None, material: str | None = None, front: Any = None) -> None:  # fmt: skip
        """Lengths in mm, or text with a unit; rounded up to whole ticks, the front panel inward. Raises InputError."""
        if not isinstance(name, str) or not name.strip() or len(name) > 80 or not name.isprintable():
            raise InputError("blank name", "a short printable name", name)
        where = f"blank {name}"
        sizes = []
        sides: tuple[tuple[Length, str], ...] = ((width, "width"), (height, "height"))
        for value, side in sides:
            size = ticks(value, "up", f"{where}, {side}")
            if size <= 0:
                raise InputError(f"{where}, {side}", "a length above 0", value)
            sizes.append(size)
        if quantity is not None and (isinstance(quantity, bool) or not isinstance(quantity, int)
                                     or not 1 <= quantity <= 1_000_000):  # fmt: skip
            raise InputError(f"{where}, quantity", "a whole number from 1 to 1,000,000, or None for no limit", quantity)
        if worth is not None and (not finite(worth) or not 0 < worth <= 1e12):
            raise InputError(f"{where}, worth", "a number above 0, or None for the area in mm2", worth)
        if grain is not None and grain not in ("x", "y"):
            raise InputError(f"{where}, grain", "x, y or None (off)", grain,
                             "A grain rule with a price comes later; today it is hard or off.")  # fmt: skip
        if up is not None and up not in _UPS:
            raise InputError(f"{where}, up", "+x, +y, -x, -y or None (off)", up,
                             "A print rule with a price comes later; today it is hard or off.")  # fmt: skip
        if material is not None and not (isinstance(material, str) and material.strip()):
            raise InputError(f"{where}, material", "a name or None", material)
        values = {"name": name, "width": sizes[0], "height": sizes[1], "quantity": quantity,
                  "turns": _turns(turns, where), "grain": grain, "up": up, "worth": worth, "material": material,
                  "front": None if front is None else _front(front, sizes[0], sizes[1], where)}  # fmt: skip
        for field, setting in values.items():
            object.__setattr__(self, field, setting)

    @property
    def area_mm2(self) -> int | float:
        """Area in mm2."""
        return mm2(2 * self.width * self.height)

    def size(self, turn: int) -> tuple[int, int]:
        """Width and height in ticks as it lies after a turn."""
        return (self.height, self.width) if turn in (90, 270) else (self.width, self.height)

    def front_at(self, turn: int) -> Box:
        """The front panel in the blank as it lies after a turn, from its low-left corner there."""
        w, h = self.width, self.height
        x0, y0, x1, y1 = self.front or (0, 0, w, h)
        return {0: (x0, y0, x1, y1), 90: (h - y1, x0, h - y0, x1), 180: (w - x1, h - y1, w - x0, h - y0),
                270: (y0, w - x1, y1, w - x0)}[turn]  # fmt: skip

    def turns_on(self, sheet: Sheet) -> tuple[int, ...]:
        """The allowed turns that also obey grain and print direction on this sheet.

        Unknown grain forbids a blank with a grain rule; a sheet without print direction allows any.
        """
        if self.material is not None and self.material != sheet.material:
            return ()
        return tuple(turn for turn in self.turns if self._grain_ok(sheet, turn) and self._up_ok(sheet, turn))

    def _grain_ok(self, sheet: Sheet, turn: int) -> bool:
        if self.grain is None:
            return True
        along = self.grain if turn in (0, 180) else {"x": "y", "y": "x"}[self.grain]
        return sheet.grain == along

    def _up_ok(self, sheet: Sheet, turn: int) -> bool:
        return self.up is None or sheet.up is None or _TURNED[self.up][turn] == sheet.up


def _front(front: Any, width: int, height: int, where: str) -> Box:
    expected = "a box [x0, y0, x1, y1] inside the blank, or None for the whole blank"
    if isinstance(front, str) or not hasattr(front, "__len__") or len(front) != 4:
        raise InputError(f"{where}, front", expected, front)
    x0, y0 = (ticks(v, "up", f"{where}, front") for v in front[:2])
    x1, y1 = (ticks(v, "down", f"{where}, front") for v in front[2:])
    if not 0 <= x0 < x1 <= width or not 0 <= y0 < y1 <= height:
        raise InputError(f"{where}, front", expected, front)
    return x0, y0, x1, y1


def _turns(turns: Any, where: str) -> tuple[int, ...]:
    try:
        given = list(turns)
    except TypeError:
        raise InputError(f"{where}, turns", "some of 0, 90, 180, 270", turns) from None
    if not given or any(isinstance(t, bool) or t not in (0, 90, 180, 270) for t in given):
        raise InputError(f"{where}, turns", "some of 0, 90, 180, 270", turns)
    return tuple(sorted({int(t) for t in given}))
