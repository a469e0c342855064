"""How lengths, sizes and directions are written on paper for the bench."""

from __future__ import annotations

from collections.abc import Sequence

from ..geometry import Ring, area2, bounds
from ..lengths import TICKS_PER_64TH, TICKS_PER_MM, Unit, number, show_short
from ..programme.steps import Part, Step
from ..sheets import Sheet
from . import ink

ARROWS = {"+x": "→", "-x": "←", "+y": "↑", "-y": "↓"}
_SIDES = {"+x": "right", "-x": "left", "+y": "top", "-y": "bottom"}
_HUNDREDTH = TICKS_PER_MM // 100
_EDGE_ARROWS = {"left": "←", "right": "→", "bottom": "↓", "top": "↑"}


def setting(step: Step, unit: Unit) -> tuple[str, str]:
    """A fence setting to dial, and how it is rounded ("up", "down" or "").

    Inches only where exact in 64ths, else mm (with their unit on an inch bench), to 0.01 mm. Rounded so that no piece
    gets smaller: up where a piece stays at the fence, else down.
    """
    ticks = step.setting or 0
    if unit == "in" and ticks % TICKS_PER_64TH == 0:
        return number(ticks, "in"), ""
    more = " mm" if unit == "in" else ""
    over = ticks % _HUNDREDTH
    if over == 0:
        return number(ticks, "mm") + more, ""
    up = bool(step.kept.pieces)
    return number(ticks - over + (_HUNDREDTH if up else 0), "mm") + more, "up" if up else "down"


def rough(ticks: int, unit: Unit) -> str:
    """A length to mark with a pencil, without its unit: to half a mm, or to 1/32 in."""
    step = TICKS_PER_MM // 2 if unit == "mm" else 2 * TICKS_PER_64TH
    return number((ticks + step // 2) // step * step, unit)


def side(ticks: int, unit: Unit) -> str:
    """A length for reading, without the bench's own unit: 530; on an inch bench 12-1/2, or 530 mm where not exact in 64ths."""
    if unit == "in" and ticks % TICKS_PER_64TH:
        return f"{_mm(ticks)} mm"
    return _mm(ticks) if unit == "mm" else number(ticks, "in")


def with_unit(ticks: int, unit: Unit) -> str:
    """A length for reading, with its unit."""
    text = side(ticks, unit)
    return text if text.endswith(" mm") else f"{text} {unit}"


def size(width: int, height: int, unit: Unit) -> str:
    """Width x height with the unit: inches only where both are exact in 64ths, else mm."""
    if unit == "in" and width % TICKS_PER_64TH == height % TICKS_PER_64TH == 0:
        return f"{number(width, 'in')} × {number(height, 'in')} in"
    return f"{_mm(width)} × {_mm(height)} mm"


def _mm(ticks: int) -> str:
    """mm to 0.01, or to 0.1 and ~ where that is not exact: for reading, not for setting."""
    return number(ticks, "mm") if ticks % _HUNDREDTH == 0 else show_short(ticks, "mm").rsplit(" ", 1)[0]


def ring_size(ring: Ring, unit: Unit) -> str:
    """The size of the box around a ring."""
    x0, y0, x1, y1 = bounds(ring)
    return size(x1 - x0, y1 - y0, unit)


def over_all(ring: Ring, unit: Unit) -> str:
    """The size of the box around a ring, and that it is one where the ring does not fill it."""
    x0, y0, x1, y1 = bounds(ring)
    filled = area2(ring) >= 0.97 * 2 * (x1 - x0) * (y1 - y0)
    return ring_size(ring, unit) + ("" if filled else " over all")


def scale(factor: float) -> str:
    """A scale in words, 1 : 2.5 or 2 : 1, from the factor page / paper."""
    return f"{factor:g} : 1" if factor > 1 else f"1 : {1 / factor:.6g}"


def grain(sheet: Sheet) -> str:
    """The grain of a sheet as it lies."""
    if sheet.grain is None:
        return "Grain not known"
    return ("Grain ↔" if sheet.grain == "x" else "Grain ↕") + (" guessed" if sheet.grain_guessed else "")


def print_up(sheet: Sheet) -> str | None:
    """Where the top of a sheet's print points, or None."""
    return None if sheet.up is None else f"print up {ARROWS[sheet.up]} {_SIDES[sheet.up]}"


def true_edges(sheet: Sheet) -> str:
    """Which edges of a sheet are safe to measure from."""
    if not sheet.true_edges:
        return "no edge true: square it first"
    return "all edges true" if len(sheet.true_edges) == len(sheet.outline) else "true edges marked"


def counted(counts: dict[str, int] | tuple[tuple[str, int], ...]) -> str:
    """2 cover, 1 card."""
    pairs = counts.items() if isinstance(counts, dict) else counts
    return ", ".join(f"{count:,} {name}" for name, count in pairs)


def told(part: Part, room: float, size: float, lines: int = 4) -> tuple[str, ...]:
    """What lies on one side of a cut, in lines of `room` mm: whole names, parted between things.

    Only how many there are, where so many different things would take more than so many lines.
    """
    pieces, ids = sum(count for _, count in part.pieces), part.offcuts
    for brief in (False, True):
        things = [f"{count:,} {name}" for name, count in part.pieces] + list(ids)
        if brief:
            things = [f"{pieces:,} pieces of {len(part.pieces)} kinds"] if len(part.pieces) > 2 else things[: len(part.pieces)]
            things += [f"{len(ids)} offcuts"] if len(ids) > 2 else ids
        out: list[str] = []
        for k, thing in enumerate(things or ["shavings"]):
            text = thing + ("," if k < len(things) - 1 else "")
            joined = f"{out[-1]} {text}" if out else text
            if out and ink.width(joined, size) <= room:
                out[-1] = joined
            else:
                out += ink.broken(text, room, size)
        if len(out) <= lines or len(part.pieces) + len(ids) <= 4:
            break
    return tuple(out)


def listed(things: Sequence[tuple[str, str]], room: float, size: float, bold: bool = False, lines: int = 1) -> str:
    """Numbers and names in a row that fits so many lines of `room` mm: long names are shortened, each in its middle."""
    for most in (200, 40, 28, 20, 14, 10, 7):
        row = ", ".join(count + _short(name, most) for count, name in things)
        if len(ink.wrapped(row, room, size, bold)) <= lines:
            return row
    for keep in range(len(things) - 1, 0, -1):
        row = ", ".join(count + _short(name, 14) for count, name in things[:keep]) + ", …"
        if len(ink.wrapped(row, room, size, bold)) <= lines:
            return row
    return ink.shortened(", ".join(count + name for count, name in things), room, size, bold)


def _short(name: str, most: int) -> str:
    if len(name) <= most:
        return name
    tail = (most - 1) // 2
    return f"{name[: most - 1 - tail].rstrip()}…{name[-tail:].lstrip()}"


def hand(step: Step) -> str:
    """Which part to take in hand for a step."""
    return "whole sheet" if step.after == 0 else f"{step.hand} {step.after}"


def edge(step: Step, unit: Unit) -> str:
    """The edge that goes to the fence; for a squaring cut the two distances of its line."""
    if step.guide is not None:
        g = step.guide
        return f"{g.edge} {rough(g.first, unit)} | {rough(g.second, unit)}"
    kind = {"true edge": "edge", "cut edge": "cut", "edge as it is": "edge *"}[step.base_kind or "true edge"]
    return f"{_EDGE_ARROWS[step.base or 'left']} {step.base} {kind}"


def numbers(found: Sequence[int]) -> str:
    """Numbers in rising order, runs of three and more drawn together: 1, 2, 5 to 9."""
    runs: list[list[int]] = []
    for this in found:
        if runs and this == runs[-1][-1] + 1:
            runs[-1].append(this)
        else:
            runs.append([this])
    return ", ".join(f"{run[0]} to {run[-1]}" if len(run) > 2 else ", ".join(map(str, run)) for run in runs)
