"""Which blanks a format takes, and where each tick of their sides comes from.

All sheets of a book are cut equally wide. Folded into one another, the inner leaves stand out by the creep; the trim
takes that off, so creep adds nothing to a blank. The three-side trim cuts cover paper, card and folios together: the
trims are the overhang, and no overhang is added beside them.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any, Literal

from nesting.blanks import Blank
from nesting.errors import InputError
from nesting.geometry import Box
from nesting.lengths import TICKS_PER_64TH, TICKS_PER_MM, Unit, mm, show, show_short

from . import folding
from .formats import MATERIALS, MOST_OF_A_BLANK, Format, Material, listed
from .paper import mass
from .weighing import SetWeight

TRIM_SOURCE = "Gray 1918, Trimming Books; Roberts & Etherington, trimming"
FLAT_SOURCE = "two panels to a flat sheet: geometry"
CREEP_SOURCE = "folding.KAPPA; trade.md section 4"
WRAP_SOURCE = "geometry; trade.md section 4"
SLACK_SOURCE = "1 to 2 mm a side where wanted: common practice, no source"
TRUE_UP_SOURCE = "second cut after halving: common practice; Palko 2011"
ROOM_SOURCE = FLAP_SOURCE = "asked for by the format"
_OFF = 0.2  # a measured thing further than this from what can be is measured again
_SHOWN_WRAP = TICKS_PER_MM  # under 1 mm the trim swallows it


@dataclass(frozen=True)
class Line:
    """One share of a blank's side, in ticks, and why it is there. 0 where something is named but not added."""

    label: str
    ticks: int
    source: str


@dataclass(frozen=True)
class Reckoning:
    """One blank of a format: the lines of its width and height, which sum to its sides in ticks exactly."""

    material: Material
    name: str
    per_book: int
    width_lines: tuple[Line, ...]
    height_lines: tuple[Line, ...]
    true_up: int

    @property
    def width(self) -> int:
        """Width as cut, in ticks."""
        return sum(line.ticks for line in self.width_lines)

    @property
    def height(self) -> int:
        """Height as first cut, in ticks, room for the true-up included."""
        return sum(line.ticks for line in self.height_lines)

    @property
    def trued_height(self) -> int:
        """Height after the true-up, in ticks."""
        return self.height - self.true_up


@dataclass(frozen=True)
class Remark:
    """Something a maker should know about a format; a warning asks for a change."""

    kind: Literal["note", "warning"]
    text: str


def _round_up(length: float, unit: Unit) -> int:
    """Up to what a bench can set: 0.1 mm or 1/64 in, in ticks."""
    step = TICKS_PER_64TH if unit == "in" else TICKS_PER_MM // 10
    return -int(-(length - 1e-6) // step) * step


def creep_range(format: Format) -> tuple[float, float, float] | None:
    """Creep in ticks: least (sharp fold), expected, most (square); None without calipers or dummy.

    Expected: as measured on the dummy, else by the format's own fold.
    """
    layers, measured = format.layers(), format.dummy.creep
    if layers is None:
        return None if measured is None else (measured, measured, measured)
    least, most = folding.creep(layers, "sharp"), folding.creep(layers, "square")
    return least, folding.creep(layers, format.fold) if measured is None else measured, most


def wrap_of(format: Format) -> int | None:
    """The wrap at the spine in ticks by the format's fold, rounded up to a setting; None without calipers."""
    layers = format.layers()
    return None if layers is None else _round_up(folding.wrap(layers, format.shape()), format.unit)


def wrap_range(format: Format) -> tuple[float, float, float] | None:
    """The wrap in ticks, unrounded: least (sharp fold), expected, most (square), as `creep_range`; None without calipers."""
    layers = format.layers()
    if layers is None:
        return None
    least, expected, most = (folding.wrap(layers, fold) for fold in ("sharp", format.shape(), "square"))
    return least, expected, most


def wrap_added(format: Format) -> int:
    """The wrap that cover and card get: nothing unless wanted, nor below 1 mm unless always wanted."""
    wrap = wrap_of(format) or 0
    wanted = format.wrap == "always" or (format.wrap == "yes" and wrap >= _SHOWN_WRAP)
    return wrap if wanted else 0


def reckon(format: Format) -> tuple[Reckoning, ...]:
    """The blanks of one book, cover paper, card, folio, each side as lines that sum to it exactly."""
    return tuple(_reckon(format, material) for material in MATERIALS if format.per_book(material))


def _reckon(format: Format, material: Material) -> Reckoning:
    trims = format.trims
    width = [Line("2 x finished width", 2 * format.width, FLAT_SOURCE)]
    turned = material != "folio" and bool(format.turn_in or format.flap)  # no knife comes to its fore-edge
    if not turned:
        width.append(Line("fore-edge trim, both sides", 2 * trims.fore_edge, TRIM_SOURCE))
    if material != "folio" and format.flap:
        width.append(Line("flaps, both sides", 2 * format.flap, FLAP_SOURCE))
    if material == "cover" and format.turn_in:
        width.append(Line("turn-ins, both sides", 2 * format.turn_in, FLAP_SOURCE))
    measured = format.dummy.height is not None
    height = [Line("finished height" + (", measured on the dummy" if measured else ""), format.finished_height,
                   "the dummy" if measured else "the format"),
              Line("head trim", trims.head, TRIM_SOURCE),
              Line("tail trim", trims.tail, TRIM_SOURCE)]  # fmt: skip
    creep = creep_range(format)
    if format.creep_room and creep is not None and not turned:
        width.append(Line("creep room, both sides", 2 * _round_up(creep[1], format.unit), ROOM_SOURCE))
    elif material == "folio":
        width.append(Line("creep: not added, comes off with the fore-edge trim", 0, CREEP_SOURCE))
    wrap = wrap_added(format)
    if material != "folio" and wrap:
        width.append(Line("wrap at the spine", wrap, WRAP_SOURCE))
    if material == "cover" and format.slack:
        width.append(Line("placement slack, left and right", 2 * format.slack, SLACK_SOURCE))
        height.append(Line("placement slack, head and tail", 2 * format.slack, SLACK_SOURCE))
    true_up = format.true_up if material in format.true_up_for else 0
    if true_up:
        height.append(Line("room for the true-up after halving", true_up, TRUE_UP_SOURCE))
    return Reckoning(material, f"{format.name} {material}", format.per_book(material), tuple(width), tuple(height), true_up)


def front_of(format: Format) -> Box:
    """The front panel in the cover blank, in ticks: opened flat, outside up and print upright, it is right of the spine.

    The spine takes its wrap, half to each side (geometry, `folding.wrap`); next to it lies the finished width. Beyond are the
    fore-edge trim, creep room and placement slack, below and above the tail's and head's; room for a true-up is on top.
    """
    made = _reckon(format, "cover")
    left = -(-(made.width + (wrap_of(format) or 0)) // 2)
    low = format.trims.tail + format.slack
    return left, low, min(left + format.width, made.width - format.slack), low + format.finished_height


def blank_of(format: Format, material: Material, quantity: int | None = None) -> Blank:
    """One blank as the planner gets it, room for the true-up included. The spine stands along its height.

    A cover may also be turned by half: its front panel is but one half of it.
    """
    made = _reckon(format, material)
    upright = format.cover_up if material == "cover" else False
    up = "+y" if upright is not False else None
    cover = material == "cover"
    blank = Blank(made.name, mm(made.width), mm(made.height), quantity, (0, 90, 180, 270) if cover else (0, 90),
                  material=material, front=[mm(v) for v in front_of(format)] if cover else None,
                  lines_meet=material == "folio" and format.lines_meet)  # fmt: skip
    rule = getattr(format.grains, material)
    along, price = rule if isinstance(rule, tuple) else (rule, None)
    axis = {"spine": "y", "across": "x", "off": None}[along]
    return blank.with_rules(_ruled(blank, axis, price), _ruled(blank, up, None if isinstance(upright, bool) else upright))


def _ruled(blank: Blank, direction: str | None, percent: float | None) -> Any:
    """A rule of grain or print as a blank has it: off, hard, or with its price in mm2 of paper."""
    if direction is None or percent is None:
        return direction
    return direction, round(blank.area_mm2 * percent / 100)


def blanks_of(format: Format, books: int | None = None, materials: Sequence[str] = MATERIALS) -> tuple[Blank, ...]:
    """The cover, card and folio blanks of so many books (None: no limit), of these materials. Raises InputError."""
    if books is not None:
        most = format.most_books(materials)
        if isinstance(books, bool) or not isinstance(books, int) or not 1 <= books <= most:
            raise InputError("books", f"a whole number from 1 to {most:,}", books,
                             f"Of one blank at most {MOST_OF_A_BLANK:,} can be planned at once.")  # fmt: skip
    return tuple(blank_of(format, material, None if books is None else books * format.per_book(material))
                 for material in MATERIALS if format.per_book(material) and material in materials)  # fmt: skip


def set_weight(format: Format) -> SetWeight | None:
    """What the folios of one book weigh as cut, for counting by weight; None where their grammage is not known."""
    if format.folio_grammage is None:
        return None
    folio = _reckon(format, "folio")
    return SetWeight(format.folios, mass(mm(folio.width), mm(folio.trued_height), format.folio_grammage))


def remarks(format: Format, unit: Unit | None = None) -> tuple[Remark, ...]:
    """What a maker should know: true-up settings, creep, wrap, and whether the trims reach every leaf.

    Lengths are told in `unit`, by default the format's own.
    """
    unit, out = unit or format.unit, []
    for made in reckon(format):
        if made.true_up:
            out.append(Remark("note", f"{made.material}: cut at {show(made.height, unit)}, "
                                      f"then true up at {show(made.trued_height, unit)}"))  # fmt: skip
    layers, creep = format.layers(), creep_range(format)
    if creep is None:
        out.append(Remark("note", f"creep is not reckoned: no caliper of {listed(format.unmeasured())} is given; "
                                  "measure ten sheets together and divide by ten"))  # fmt: skip
    else:
        out.append(_creep_remark(format, creep, unit))
    if format.estimated:
        out.append(Remark("note", f"caliper of {listed(format.estimated)} reckoned from the grammage: "
                                  "measure ten sheets together and divide by ten"))  # fmt: skip
    if layers is not None:
        out += _reach_remarks(format, layers, unit)
    if format.turn_in or format.flap:
        out.append(Remark("note", "the fore-edges of the pages are trimmed before the cover goes on: no knife may come to its "
                                  "folded edge"))  # fmt: skip
    if (weight := set_weight(format)) is not None:
        out.append(Remark("note", weight.text()))
    return tuple(out)


def _creep_remark(format: Format, creep: tuple[float, float, float], unit: Unit) -> Remark:
    least, expected, most = (show_short(round(c), unit) for c in creep)
    if format.dummy.creep is not None:
        others = "measured on the dummy" + (f"; {least} to {most} by the calipers" if least != most else "")
        if creep[0] < creep[2] and not creep[0] * (1 - _OFF) <= creep[1] <= creep[2] * (1 + _OFF):
            return Remark("warning", f"creep {expected} ({others}): measure the dummy and the ten sheets again")
    else:
        others = {"sharp": f"{most} if pressed flat", "round": f"{least} if folded sharp, {most} if pressed flat",
                  "square": f"{least} if folded sharp"}[format.fold]  # fmt: skip
    return Remark("note", f"creep: the middle leaves stand out {expected} ({others}); the trim takes it off, "
                          "and their pages are narrower by it")  # fmt: skip


def losses(format: Format, layers: tuple[int, ...]) -> list[float]:
    """By how much (ticks) each layer, outermost first, falls short of half its flat width, measured from the spine.

    Round the spine the outermost loses half its wrap; each sheet inside it loses less, by its push-out; wrap gives
    half of itself back to cover and card. Below 0: it stands out further (geometry, trade.md section 4).
    """
    outermost = folding.wrap(layers, format.shape()) / 2
    out = [outermost - pushed for pushed in folding.push_out(layers, format.shape())]
    if len(layers) > format.folios:
        out[0] -= wrap_added(format) / 2
    return out


def _reach_remarks(format: Format, layers: tuple[int, ...], unit: Unit) -> list[Remark]:
    """Whether the fore-edge trim can reach every leaf: taken off the longest leaf, and measured from the spine."""
    lost, out = losses(format, layers), []
    if format.turn_in or format.flap:
        short = lost.pop(0) if len(layers) > format.folios else 0.0  # its fore-edge is folded, not trimmed
        if short > TICKS_PER_MM // 2:
            out.append(Remark("warning", f"round the spine the cover loses {show_short(round(short), unit)} of its width, and no "
                                         'trim evens that out: ask for wrap = "always"'))  # fmt: skip
    made = _reckon(format, "folio").width  # creep room included
    trim = made // 2 - format.width
    steps, left = max(lost) - min(lost), trim - max(lost)
    if steps > trim - format.least_trim:
        reach = "miss the outer ones" if steps > trim else f"take less than {show(format.least_trim, unit)} off the outer ones"
        text = (f"the fore-edge steps by {show_short(round(steps), unit)}, the trim is {show(trim, unit)}: taken off the "
                f"longest leaf, it would {reach}. Set the fence to the finished width, {show(format.width, unit)}, "
                "spines at the fence, or ask for creep_room")  # fmt: skip
        out.append(Remark("warning", text))
    if left < format.least_trim:
        out.append(Remark("warning", f"round the spine the outer sheets lose {show_short(round(max(lost)), unit)} of their "
                                     f"{show(trim, unit)} trim, and less than {show(format.least_trim, unit)} is left to "
                                     "cut: give a wider fore-edge trim, or wrap"))  # fmt: skip
    elif format.wrap == "no" and (wrap := wrap_of(format) or 0) >= _SHOWN_WRAP:
        out.append(Remark("note", f"wrap at the spine, {show(wrap, unit)}, is not added: the cover still reaches "
                                  f"{show_short(round(left), unit)} past the finished width"))  # fmt: skip
    return out
