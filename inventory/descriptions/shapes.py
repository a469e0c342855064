"""From the parts of a description to a sheet: outline, true edges, holes, bad and best areas.

The nominal rectangle of a sheet (its size as typed, or what its corners, sides or squares span) lies with its
low left corner at (0, 0). What is gone changes the outline; what is bad, a torn edge included, stays on the paper as
an area: where an edge is torn less than at its worst the paper still reaches out, and is measured from there.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from math import ceil, floor

from nesting import Sheet
from nesting.errors import InputError
from nesting.geometry import Box, Ring, counter_clockwise
from nesting.lengths import Unit, show
from nesting.sheets import Zone

from . import damage
from .areas import areas_of, torn_strip
from .bases import Base, base_of, of
from .exactly import box_ring, within
from .facts import GUESSED, Facts
from .forms import Clip, Corners, Pad, Part, Readings, Said, Size, Torn
from .ruling import ruling_of


@dataclass(frozen=True)
class Built:
    """A sheet with its nominal width and height, and which side each edge of its outline lies on.

    `sides`: L, R, T or B, "-" for another edge given by a corner, "" for an edge torn or made by damage (never true).
    """

    sheet: Sheet
    width: int
    height: int
    sides: tuple[str, ...]

    def true_edges(self, true: str) -> tuple[int, ...]:
        """The outline edges meant by letters of sides, or by "all"."""
        return tuple(i for i, side in enumerate(self.sides) if side and (true == "all" or side in true))


def build(id: str, parts: Sequence[Part], facts: Facts, unit: Unit = "mm") -> Built:
    """The sheet of a description. Raises InputError naming the sheet and the part that cannot be, lengths in `unit`."""
    where = f"sheet {id}"
    base = base_of(id, parts, unit, where)
    ragged, sides = damage.cut_away(base.ring, base.sides, _off_by_readings(base, parts, where), where)
    outline, sides = damage.cut_away(ragged, sides, _clipped_off(base, parts, where), where)
    worked = {part.side for part in parts if isinstance(part, Torn | Readings | Pad)}
    _no_contradiction(parts, worked, where)
    torn = [torn_strip(base, part, where) for part in of(parts, Torn)]
    sides = tuple("" if side in worked or any(within(ends, strip) for strip in torn) else side
                  for side, ends in zip(sides, zip(outline, (*outline[1:], outline[0]), strict=True), strict=True))  # fmt: skip
    bad, best, holes = areas_of(base, ragged, parts, where)
    said = facts.get("grain") or ""
    ruling = ruling_of(base, parts, where)
    if ruling is not None and ruling.up is not None and facts.get("up") not in (None, ruling.up):
        way, print_way = ("across", "up") if ruling.up == "+y" else ("up", "left")
        raise InputError(f"{where}, print", f"{print_way}, as its lines run {way}, or nothing", "another way")
    built = Built(Sheet.from_ticks(id, outline), base.nominal[2], base.nominal[3], sides)
    sheet = Sheet.from_ticks(
        id, outline, holes=tuple(holes), zones=(*(Zone("bad", ring) for ring in bad), *best),
        grain=_grain(said.removesuffix(GUESSED), base.nominal, where), grain_guessed=said.endswith(GUESSED), up=facts.get("up"),
        true_edges=built.true_edges(facts.get("true", "")), inset=show(ceil(facts.get("inset", Fraction(0)))),
        count=facts.get("count", 1), material=facts.get("material"), ruling=ruling)  # fmt: skip
    damage.some_paper_left(sheet, where)
    return Built(sheet, built.width, built.height, sides)


def _off_by_readings(base: Base, parts: Sequence[Part], where: str) -> list[Ring]:
    """What lies beyond the readings along an edge: between two readings the smaller holds, after the last the last."""
    gone: list[Ring] = []
    seen: set[str] = set()
    for part in of(parts, Readings):
        field = f"{where}, edge {part.side}"
        if not of(parts, Size):
            raise InputError(field, "readings only on a sheet given by its size", part.text, "Give it by its corners.")
        if part.side in seen or any(torn.side == part.side for torn in of(parts, Torn)):
            raise InputError(field, "one account of an edge", "two: readings twice, or readings and torn")
        seen.add(part.side)
        width, height = base.nominal[2:]
        across, along = (width, height) if part.side in "LR" else (height, width)
        reached = (len(part.readings) - 1) * part.every
        if reached > along or along - reached >= part.every:
            needed = floor(along / part.every) + 1
            every = f"{show(floor(part.every), base.unit)} of {show(along, base.unit)}"
            raise InputError(field, f"{needed} readings, one at 0 and one every {every}", f"{len(part.readings)}")
        for index, reading in enumerate(part.readings):
            if floor(reading) > across:
                raise InputError(field, f"readings of at most {show(across, base.unit)}", show(floor(reading), base.unit),
                                 "Give the greatest as the size.")  # fmt: skip
            following = part.readings[index + 1 : index + 2]
            kept = floor(min([reading, *following]))
            low, high = floor(index * part.every), min(ceil((index + 1) * part.every), along)
            if kept < across and low < high:
                gone.append(box_ring(damage.at_edge(part.side, base.nominal, across - kept, low, high)))
    return gone


def _clipped_off(base: Base, parts: Sequence[Part], where: str) -> list[Ring]:
    gone = []
    for part in of(parts, Clip):
        field = f"{where}, clip {part.corner}"
        along, down = ceil(part.along), ceil(part.down)
        _, _, width, height = base.nominal
        if along > width or down > height:
            raise InputError(field, f"at most {show(width, base.unit)} along and {show(height, base.unit)} down", part.text,
                             "First along the top or bottom, then up or down the side.")  # fmt: skip
        at = (0 if "L" in part.corner else width, 0 if "B" in part.corner else height)
        if of(parts, Corners) and at not in base.ring:
            raise InputError(field, "a corner of the sheet there", "none", "Give it as one more of the corners.")
        if base.slanted:
            gone.append(damage.off_corner(base.ring, part.corner, along, down))
        else:
            along, down = (along if at[0] == 0 else -along), (down if at[1] == 0 else -down)
            gone.append(counter_clockwise((at, (at[0] + along, at[1]), (at[0], at[1] + down))))
    return gone


def _no_contradiction(parts: Sequence[Part], worked: set[str], where: str) -> None:
    for part in of(parts, Said):
        named = part.facts.get("true", "")
        for side in sorted(worked):
            if named != "all" and side in named:
                raise InputError(f"{where}, true", f"edges that are factory or cut, not {side}", part.text,
                                 f"Edge {side} is torn, measured as ragged, or glued to a pad.")  # fmt: skip


def _grain(grain: str, nominal: Box, where: str) -> str | None:
    if grain not in ("long", "short"):
        return grain or None
    _, _, width, height = nominal
    if width == height:
        raise InputError(f"{where}, grain", "up or across, as both sides are equally long", grain)
    return "x" if (width > height) == (grain == "long") else "y"
