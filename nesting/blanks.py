"""A blank: a rectangle to cut, allowances included, with the rules of how it may lie on a sheet."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from typing import Any

from .errors import InputError, finite
from .geometry import Box
from .lengths import Length, mm, mm2, ticks
from .sheets import Grain, Sheet, Up

_UPS = ("+x", "+y", "-x", "-y")
_TURNED = {d: {0: d, 90: _UPS[(i + 1) % 4], 180: _UPS[(i + 2) % 4], 270: _UPS[(i + 3) % 4]}
           for i, d in enumerate(_UPS)}  # fmt: skip
GRAIN_TOLERANCE_DEG = 10.0  # a frame turned by more lies neither along the grain nor with the print
HIGHEST_PRICE = 1e12


@dataclass(frozen=True)
class Blank:
    """A blank in ticks.

    `quantity`: how many, None for no limit. `turns`: allowed turns in degrees, counter-clockwise.
    `grain`: the axis of the blank, as read before its turn, that must lie along the grain. `up`: where the top of a
    sheet's print must point in the blank, as read before its turn. Each is None (off), a direction (hard), or a pair
    (direction, price) (soft): a piece that breaks the rule costs the price, in the unit of worth and cost (mm2 of area
    unless sheets and blanks are priced). `worth`: of one blank, None for its area in mm2. `material`: cut only from
    sheets of this material.
    `front`: the part that becomes the front panel, (x0, y0, x1, y1) in the blank as read before its turn, face up;
    None for the whole blank. `lines_meet`: on ruled sheets all pieces of it carry the same lines, square to the spine, which
    stands along its height (planned for one sheet at a time: `nesting.notebook.ruled`).
    """

    name: str
    width: int
    height: int
    quantity: int | None = None
    turns: tuple[int, ...] = (0, 90)
    grain: Grain | tuple[Grain, int | float] | None = None
    up: Up | tuple[Up, int | float] | None = None
    worth: int | float | None = None
    material: str | None = None
    front: Box | None = None
    lines_meet: bool = False

    def __init__(self, name: str, width: Length, height: Length, quantity: int | None = None,
                 turns: Any = (0, 90), grain: Any = None, up: Any = None,
                 worth: int | float | None = None, material: str | None = None, front: Any = None,
                 lines_meet: bool = False) -> None:  # fmt: skip
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
        grain = _rule(grain, ("x", "y"), f"{where}, grain")
        up = _rule(up, _UPS, f"{where}, up")
        if material is not None and not (isinstance(material, str) and material.strip()):
            raise InputError(f"{where}, material", "a name or None", material)
        if not isinstance(lines_meet, bool):
            raise InputError(f"{where}, lines_meet", "True or False", lines_meet)
        values = {"name": name, "width": sizes[0], "height": sizes[1], "quantity": quantity,
                  "turns": _turns(turns, where), "grain": grain, "up": up, "worth": worth, "material": material,
                  "front": None if front is None else _front(front, sizes[0], sizes[1], where),
                  "lines_meet": lines_meet}  # fmt: skip
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

    @property
    def grain_along(self) -> Grain | None:
        """The axis of the grain rule, hard or soft; None where it is off."""
        return self.grain[0] if isinstance(self.grain, tuple) else self.grain

    @property
    def prices(self) -> tuple[Fraction, Fraction]:
        """What a piece costs that breaks the grain rule, and the print rule; 0 where a rule has no price."""
        grain, up = (_exact(rule[1]) if isinstance(rule, tuple) else Fraction(0) for rule in (self.grain, self.up))
        return grain, up

    @property
    def priced(self) -> bool:
        """Whether a rule has a price above 0."""
        return any(self.prices)

    def with_rules(self, grain: Any, up: Any) -> Blank:
        """The same blank with other rules of grain and print. Raises InputError."""
        front = None if self.front is None else [mm(v) for v in self.front]
        return Blank(self.name, mm(self.width), mm(self.height), self.quantity, self.turns, grain, up, self.worth, self.material,
                     front, self.lines_meet)  # fmt: skip

    def with_lines_meeting(self, on: bool) -> Blank:
        """The same blank, its lines to meet or not."""
        front = None if self.front is None else [mm(v) for v in self.front]
        return Blank(self.name, mm(self.width), mm(self.height), self.quantity, self.turns, self.grain, self.up, self.worth,
                     self.material, front, on)  # fmt: skip

    def turns_on(self, sheet: Sheet, frame_deg: float = 0.0) -> tuple[int, ...]:
        """The allowed turns that also obey the hard rules of grain and print on this sheet, in a frame turned so far.

        Unknown grain forbids a blank with a hard grain rule; a sheet without print direction allows any. Ruled stock is cut
        square to its lines.
        """
        if (self.material is not None and self.material != sheet.material) or (sheet.ruling is not None and frame_deg):
            return ()
        hard = not isinstance(self.grain, tuple), not isinstance(self.up, tuple)
        broken = ((turn, self.broken_on(sheet, turn, frame_deg)) for turn in self.turns)
        return tuple(turn for turn, rules in broken if not any(h and b for h, b in zip(hard, rules, strict=True)))

    def ways_on(self, sheet: Sheet, frame_deg: float = 0.0) -> tuple[int, ...]:
        """One of these turns for each size it may lie in: that of the least penalty, the smaller turn where equal."""
        ways: dict[tuple[int, int], int] = {}
        for turn in self.turns_on(sheet, frame_deg):
            size = self.size(turn)
            if size not in ways or self.penalty_on(sheet, turn, frame_deg) < self.penalty_on(sheet, ways[size], frame_deg):
                ways[size] = turn
        return tuple(ways.values())

    def cheapest_on(self, sheet: Sheet, frame_deg: float = 0.0) -> tuple[int, ...]:
        """Of these turns all but those that cost more, by rules with a price, than another in which it has the same size."""
        turns = self.turns_on(sheet, frame_deg)
        cost = {turn: self.penalty_on(sheet, turn, frame_deg) for turn in turns}
        least = {self.size(way): cost[way] for way in self.ways_on(sheet, frame_deg)}
        return tuple(turn for turn in turns if cost[turn] == least[self.size(turn)])

    def broken_on(self, sheet: Sheet, turn: int, frame_deg: float = 0.0) -> tuple[bool, bool]:
        """Whether a piece that lies so breaks the rule of grain, and that of print, be they hard or soft."""
        tilted = abs(frame_deg) > GRAIN_TOLERANCE_DEG
        grain = up = False
        if (axis := self.grain_along) is not None:
            along = axis if turn in (0, 180) else {"x": "y", "y": "x"}[axis]
            grain = sheet.grain != along or tilted
        if self.up is not None and sheet.up is not None:
            top = self.up[0] if isinstance(self.up, tuple) else self.up
            up = _TURNED[top][turn] != sheet.up or tilted
        return grain, up

    def penalty_on(self, sheet: Sheet, turn: int, frame_deg: float = 0.0) -> Fraction:
        """The prices of the soft rules that a piece breaks as it lies, added up."""
        broken = zip(self.prices, self.broken_on(sheet, turn, frame_deg), strict=True)
        return sum((price for price, is_broken in broken if is_broken), Fraction(0))


def _exact(price: int | float) -> Fraction:
    """A price as it was written: 0.1 is one tenth."""
    return Fraction(price) if isinstance(price, int) else Fraction(repr(float(price)))


def _rule(rule: Any, directions: tuple[str, ...], where: str) -> Any:
    """A rule as it is kept: None, a direction, or a direction and a price."""
    if rule is None or (isinstance(rule, str) and rule in directions):
        return rule
    if isinstance(rule, tuple | list) and len(rule) == 2 and isinstance(rule[0], str) and rule[0] in directions:
        if not finite(rule[1]) or not 0 <= rule[1] <= HIGHEST_PRICE:
            raise InputError(f"{where}, price", "a number of 0 or more", rule[1])
        return rule[0], rule[1]
    words = ", ".join(directions)
    raise InputError(where, f"{words} or None (off), or one of them with a price, such as ({directions[0]!r}, 500)", rule)


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
