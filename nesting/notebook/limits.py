"""How bulky a book may get: leg of the staples, throat of the stapler, whether it lies closed, whether its cover cracks.

>>> from nesting.notebook.formats import Format
>>> b6 = Format.make("B6", 90, 140, folio_caliper=0.1, card_caliper=0.3, cover_caliper=0.12, glue_caliper=0.02)
>>> found = limits(b6, Stapler(legs=(46400,)))
>>> found.leg, found.most_by_leg, found.most_closing
(46400, 23, 16)
"""

from __future__ import annotations

from dataclasses import dataclass

from nesting.lengths import TICKS_PER_MM, Unit, mm, show, show_short

from .allowances import Remark, reckon
from .corners import tip
from .folding import pages
from .formats import Format
from .scoring import RULE_MM, Advice, advice, crease
from .stapling import Stapler, leg_needed, marks, most_folios

# Printers stop at 64 pages of usual and 80 to 100 of thin paper, since the book does not lie closed: 16 folios of 0.10 mm and
# 25 of 0.065 mm are both 1.6 mm (derived from printers' guides; sylvialerch).
CLOSES = 16 * TICKS_PER_MM // 10
CLOSES_PAGES = 64
_SPRINGS = 1.15  # a dummy this much thicker than its paper was not pressed: common practice, no source


@dataclass(frozen=True)
class Limits:
    """What bounds the bulk of a book; lengths in ticks, None where a caliper is not given or no staple is on hand.

    `leg`: the shortest on hand that does. `most_by_leg`: folios for the longest leg on hand. `most_closing`: folios
    for a book that lies closed. `reach`: half the flat width as stapled, which the stapler's throat must reach.
    """

    grip: int | None
    closed: int | None
    leg_needed: int | None
    leg: int | None
    most_by_leg: int | None
    most_closing: int | None
    reach: int
    score: Advice | None
    remarks: tuple[Remark, ...]

    @property
    def most(self) -> int | None:
        """Folios a book at most, by whichever limit is known."""
        return min((n for n in (self.most_by_leg, self.most_closing) if n is not None), default=None)


def limits(format: Format, stapler: Stapler | None = None, unit: Unit | None = None) -> Limits:
    """What bounds the bulk of a format's book, and a remark for each bound that it passes. Lengths told in `unit`."""
    unit, stapler = unit or format.unit, stapler or Stapler()
    grip, folio, layers = format.stitch_grip(), format.calipers.folio, format.layers()
    shell = None if layers is None or folio is None else sum(layers) - folio * format.folios
    by_leg = None
    if stapler.legs and shell is not None and folio is not None:
        by_leg = most_folios(max(stapler.legs), shell, folio, stapler.clinch)
    needed = None if grip is None else leg_needed(grip, stapler.clinch)
    leg = None if grip is None else stapler.leg_for(grip)
    reach = -(-max(made.width for made in reckon(format)) // 2)
    score = _score(format)
    out = [*_stapling(format, stapler, grip, leg, reach, by_leg, unit), *_closing(format, folio, unit),
           *_folding(format, score, unit), *_corners(format, unit)]  # fmt: skip
    return Limits(grip, format.closed_thickness(), needed, leg, by_leg, None if folio is None else CLOSES // folio, reach, score,
                  tuple(out))  # fmt: skip


def _warn(text: str) -> Remark:
    return Remark("warning", text)


def _stapling(format: Format, stapler: Stapler, grip: int | None, leg: int | None, reach: int, by_leg: int | None,
              unit: Unit) -> list[Remark]:  # fmt: skip
    out = []
    if stapler.throat is not None and reach > stapler.throat:
        out.append(_warn(f"the stapler's throat, {show(stapler.throat, unit)}, does not reach the fold, which lies "
                         f"{show(reach, unit)} in from the fore-edge"))  # fmt: skip
    if grip is None or not format.staples.count:
        return out
    need = leg_needed(grip, stapler.clinch)
    if stapler.legs and leg is None:
        fewer = f"; the longest on hand does for {by_leg} folios" if by_leg else ""
        out.append(_warn(f"no staple on hand has a leg of {show(need, unit)}{fewer}"))
    if leg is not None and stapler.meets(leg, grip):
        out.append(_warn(f"the bent ends of a leg of {show(leg, unit)} meet under a book so thin: a shorter staple lies flatter"))
    if any(place < stapler.crown // 2 for place in _ends(format)):
        out.append(_warn("a staple would reach past the head or tail of the finished book"))
    between = list(zip(marks(format), marks(format)[1:], strict=False))
    if any(b - a < stapler.crown for a, b in between):
        out.append(_warn("staples would lie over each other"))
    return out


def _ends(format: Format) -> tuple[int, int]:
    """How far the outer staples lie from the finished head and tail."""
    found = marks(format)
    return found[0] - format.trims.head, format.finished_height + format.trims.head - found[-1]


def _closing(format: Format, folio: int | None, unit: Unit) -> list[Remark]:
    out = []
    if folio is not None and folio * format.folios > CLOSES:
        out.append(_warn(f"{format.folios} folios of this paper will not lie closed: {CLOSES // folio} at most, or "
                         "thinner paper"))  # fmt: skip
    elif folio is None and pages(format.folios) > CLOSES_PAGES:
        out.append(_warn(f"{pages(format.folios)} pages lie closed only in thin paper; {CLOSES_PAGES} is usual at most"))
    rule = format.grains.folio
    if (rule[0] if isinstance(rule, tuple) else rule) != "spine":
        out.append(_warn("pages whose grain does not lie along the spine spring open"))
    layers, measured = format.layers(), format.dummy.thickness
    if measured is not None and layers is not None and measured > _SPRINGS * 2 * sum(layers):
        out.append(_warn(f"the dummy is {show_short(measured, unit)} thick, its paper {show_short(2 * sum(layers), unit)}: "
                         "press it overnight and measure again"))  # fmt: skip
    return out


def _shell_mm(format: Format) -> float | None:
    """Caliper in mm of cover paper, glue and card as one."""
    layers = format.layers()
    if layers is None or len(layers) == format.folios:
        return None
    return float(mm(layers[0]))


def _score(format: Format) -> Advice | None:
    grams = [format.grammage(m) for m in ("cover", "card") if format.per_book(m)]
    known = sum(g for g in grams if g is not None)
    if grams and all(g is not None for g in grams):
        return advice(known)
    by_caliper = advice(None, _shell_mm(format))
    return advice(known) if advice(known) == "needed" else by_caliper


def _folding(format: Format, score: Advice | None, unit: Unit) -> list[Remark]:
    if score in (None, "none"):
        return []
    thick = _shell_mm(format)
    channel = ""
    if thick is not None:
        wide, deep = (show_short(round(v * TICKS_PER_MM), unit) for v in crease(thick))
        channel = f": a channel {wide} wide and {deep} deep for a rule of {RULE_MM:g} mm"
    first = "score the cover for its fold" if score == "needed" else "a scored cover folds cleaner"
    return [Remark("note", f"{first}{channel}; only after stapling, or it may crack at the spine")]


def _corners(format: Format, unit: Unit) -> list[Remark]:
    if not format.corner:
        return []
    told = (f"corners of {show(format.corner, unit)} take {show_short(round(tip(format.corner)), unit)} off each tip: keep print "
            f"that matters {show(format.corner, unit)} away")  # fmt: skip
    out = [Remark("note", told)]
    if format.flap or format.turn_in:
        out.append(_warn("a cover with a flap or turn-in keeps its corners square: round those of the pages only"))
    return out
