"""Why each sheet of a plan gives what it gives and no more, as findings that a maker can check with a rule.

A finding is only told where it was shown: "would give" by a layout that was found, "the most" by a limit that was met.
Everything is asked of one sheet alone, in the directions that the plan looked in.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from copy import copy
from dataclasses import dataclass, replace
from fractions import Fraction
from typing import TYPE_CHECKING, Any, Literal

from .blanks import Blank
from .cutters import Cutter
from .layouts import Layout
from .lengths import TICKS_PER_64TH, TICKS_PER_MM, Unit
from .plans import Plan
from .sheets import Sheet

if TYPE_CHECKING:
    from .search.budget import Budget
    from .search.sheet.single import Found

Kind = Literal["wanted", "mix", "grain", "print", "rules", "fixed", "damage", "holes", "spoiled", "squaring", "inset", "size",
               "paper", "most", "open", "time"]  # fmt: skip
Side = Literal["width", "height"]
SIDES: tuple[Side, ...] = ("width", "height")
Counts = tuple[tuple[str, int], ...]
MOST_SHORTER = 10 * TICKS_PER_MM  # a blank so much smaller is another blank
CLOSE = 3 * TICKS_PER_MM  # a blank that would do when it is no more than this smaller is told before anything else
STEPS: dict[Unit, int] = {"mm": TICKS_PER_MM // 4, "in": TICKS_PER_64TH}
REFINE_STEPS = 20_000


@dataclass(frozen=True)
class Finding:
    """One reason. `gives`: what the sheet would give instead, by blank, where the reason says so.

    `blank`, `side`, `size`, `less`: the blank that would have to be smaller, its side (width or height), the size of it
    (ticks) that would do, and by how much that is less. `most`: no more pieces are possible. `share`: of the good paper
    that is pieces. `unknown`: the grain of the sheet is.
    """

    kind: Kind
    gives: Counts = ()
    blank: str = ""
    side: Side = "width"
    size: int = 0
    less: int = 0
    most: int = 0
    share: Fraction = Fraction(0)
    unknown: bool = False


@dataclass(frozen=True)
class Reason:
    """What sheets that are alike and cut alike give, and why not more: `layouts` by their numbers from 1."""

    sheets: tuple[str, ...]
    layouts: tuple[int, ...]
    gives: Counts
    findings: tuple[Finding, ...]


def explain(plan: Plan, seconds: float = 5.0, unit: Unit = "mm") -> tuple[Reason, ...]:
    """A reason for each sheet cut, in the plan's order, sheets alike in all together; and for sheets that gave nothing
    while pieces stay short.

    `seconds`: after so long the sheets left get the finding "time". `unit` decides how finely sizes are tried: a quarter
    of a mm, or 1/64 in. Looked for in this order: pieces no longer wanted; a blank a little smaller, where that is nearly
    enough (a cause from the following is added); grain and print rules; damage; squaring cuts; the distance kept from
    edges; a smaller blank; the paper's area; a proof that no more is possible.
    """
    from .search.budget import Budget
    from .search.kernels import warm

    warm(lambda text: None)
    budget = Budget(seconds, None)
    sheets = {s.id: s for s in plan.sheets}
    asked = _Asked(plan, budget, STEPS[unit])
    found: dict[tuple[Sheet, Counts, tuple[float, ...], bool], tuple[list[str], list[int], tuple[Finding, ...]]] = {}
    for number, layout in enumerate(plan.layouts, 1):
        sheet, gives = sheets[layout.sheet], tuple(sorted(layout.counts().items()))
        angles = asked.angles(sheet, layout)
        by_hand = any(f.sheet == layout.sheet for f in plan.fixed)
        key = (replace(sheet, id="-", count=1), gives, angles, by_hand)
        if key not in found:
            found[key] = [], [], (Finding("fixed"),) if by_hand else asked.findings(sheet, gives, angles)
        found[key][0].append(layout.sheet)
        found[key][1].append(number)
    out = [Reason(tuple(dict.fromkeys(ids)), tuple(numbers), key[1], findings) for key, (ids, numbers, findings) in found.items()]
    return (*out, *_untouched(plan, asked))


def _untouched(plan: Plan, asked: _Asked) -> Iterator[Reason]:
    """Sheets that give nothing, while blanks that may be cut from them stay short."""
    used = {layout.sheet for layout in plan.layouts} | set(plan.exclude)
    alike: dict[Sheet, list[str]] = {}
    for sheet in plan.sheets:
        if sheet.id not in used and asked.short_on(sheet):
            alike.setdefault(replace(sheet, id="-", count=1), []).append(sheet.id)
    for sheet, ids in alike.items():
        yield Reason(tuple(ids), (), (), asked.findings(sheet, (), asked.angles(sheet, None)))


class _Asked:
    """The questions put to single sheets of one plan."""

    def __init__(self, plan: Plan, budget: Budget, step: int) -> None:
        from .search.sheet.ground import frames_for
        from .search.sheet.single import only_along

        self._plan, self._budget, self._step = plan, budget, step
        self._short = dict(plan.short)
        self._auto = {s.id: frames_for(s, "auto", only_along(s, plan.blanks)) for s in plan.sheets if s.id not in plan.exclude}
        listed = set(plan.bound.frames_deg)
        self._own = {a for angles in self._auto.values() for a in angles} == listed  # each sheet has directions of its own

    def angles(self, sheet: Sheet, layout: Layout | None) -> tuple[float, ...]:
        """The directions that the plan looked in on a sheet."""
        listed = self._plan.bound.frames_deg
        own = [a for a in self._auto.get(sheet.id, (0.0,)) if a in listed] if self._own else list(listed)
        return tuple(dict.fromkeys([*own, *([layout.frame_deg] if layout is not None else [])])) or (0.0,)

    def blanks_on(self, sheet: Sheet) -> list[Blank]:
        """The blanks that may be cut from the material of a sheet."""
        return [b for b in self._plan.blanks if b.material is None or b.material == sheet.material]

    def short_on(self, sheet: Sheet) -> bool:
        """Whether more pieces of the sheet's material are wanted."""
        return any(self._open(b) for b in self.blanks_on(sheet))

    def _open(self, blank: Blank) -> bool:
        return blank.quantity is None or self._short.get(blank.name, 0) > 0

    def findings(self, sheet: Sheet, gives: Counts, angles: tuple[float, ...]) -> tuple[Finding, ...]:
        """What was found for one sheet: one reason, two where a blank that is a little smaller would do."""
        if self._budget.over():
            return (Finding("time"),)
        blanks, given = self.blanks_on(sheet), dict(gives)
        if self.short_on(sheet):  # what is made in full and not cut here is no reason
            blanks = [b for b in blanks if self._open(b) or b.name in given]
        question = _Question(sheet, blanks, self._plan.cutter, angles, self._budget)
        now, made = question.best(), question.worth(gives)
        if now.value > made:
            return (Finding("mix" if self.short_on(sheet) else "wanted", question.gives(now)),)
        size = question.smaller(now.bound, self._step)
        cause = question.cause(now.bound)
        if size is not None and (size.less <= CLOSE or cause is None):
            return (size,) if cause is None else (size, cause)
        if cause is not None:
            return (cause,)
        last = question.limit(now, made)
        return (Finding("time"),) if last.kind == "open" and self._budget.over() else (last,)


class _Question:
    """One sheet, what may be cut from it, and the same with one thing changed."""

    def __init__(self, sheet: Sheet, blanks: Sequence[Blank], cutter: Cutter | None, angles: tuple[float, ...],
                 budget: Budget) -> None:  # fmt: skip
        from .search.worths import exact, whole

        self._sheet, self._blanks, self._cutter, self._angles, self._budget = sheet, list(blanks), cutter, angles, budget
        x0, y0, x1, y1 = sheet.box
        most = max((x1 - x0) * (y1 - y0) // (b.width * b.height) for b in blanks) if blanks else 1
        worths = [exact(b.area_mm2 if b.worth is None else b.worth) for b in blanks]
        self._values, _ = whole(worths, max(1, most))

    def best(self, **changed: Any) -> Found:
        """The best layout of the sheet, any number of each blank, with a bound; `changed`: sheet, blanks or cutter."""
        from .search.sheet.single import Found, Single

        asked = {"sheet": self._sheet, "blanks": self._blanks, "cutter": self._cutter, **changed}
        single = Single(asked["sheet"], asked["blanks"], asked["cutter"], self._angles)
        if not self._blanks or not single.possible():
            return Found(0, 0, None, None)
        return single.best(self._values, self._budget, REFINE_STEPS)

    def worth(self, gives: Counts) -> int:
        """What pieces are worth here."""
        counts = dict(gives)
        return sum(v * counts.get(b.name, 0) for b, v in zip(self._blanks, self._values, strict=True))

    def gives(self, found: Found) -> Counts:
        """The pieces of a layout by blank."""
        from .search.sheet.filling import counted

        pairs = zip(self._blanks, counted(found.tree, self._blanks), strict=True)
        return tuple(sorted((b.name, n) for b, n in pairs if n))

    def cause(self, bound: int) -> Finding | None:
        """The first thing without which the sheet would give more than the bound that it has with it."""
        for kind, changed in self._without():
            if self._budget.over():
                return None
            found = self.best(**changed)
            if found.value > bound:
                return Finding(kind, self.gives(found), unknown=self._sheet.grain is None)
        return None

    def _without(self) -> Iterator[tuple[Kind, dict[str, Any]]]:
        blanks, sheet = self._blanks, self._sheet
        # a rule with a price keeps no piece from a sheet
        grain = any(isinstance(b.grain, str) for b in blanks)
        up = sheet.up is not None and any(isinstance(b.up, str) for b in blanks)
        if grain:
            yield "grain", {"blanks": [ruled(b, None, b.up) for b in blanks]}
        if up:
            yield "print", {"blanks": [ruled(b, b.grain, None) for b in blanks]}
        if grain and up:
            yield "rules", {"blanks": [ruled(b, None, None) for b in blanks]}
        if sheet.bad:
            yield "damage", {"sheet": replace(sheet, zones=())}
        if sheet.holes:
            yield "holes", {"sheet": replace(sheet, holes=())}
        if sheet.holes and sheet.bad:
            yield "spoiled", {"sheet": replace(sheet, holes=(), zones=())}
        if self._cutter is not None and self._cutter.square_up:
            yield "squaring", {"cutter": replace(self._cutter, square_up=0)}
        if sheet.inset:
            yield "inset", {"sheet": replace(sheet, inset=0)}

    def smaller(self, bound: int, step: int) -> Finding | None:
        """The blank that is least too large: its largest size in whole steps that gives more than the bound now."""
        best: Finding | None = None
        for index, blank in enumerate(self._blanks):
            for side in SIDES:
                length = getattr(blank, side)
                most = min(MOST_SHORTER, length // 4) if best is None else best.less - 1
                low, high = (length - 1) // step, -(-(length - most) // step)  # in steps, the largest size first
                found = self._fitting(index, side, high * step, bound) if low >= high > 0 else None
                size = high
                while found is not None and low > size:  # `size` does, what is above `low` does not
                    middle = (low + size + 1) // 2
                    better = self._fitting(index, side, middle * step, bound)
                    if better is None:
                        low = middle - 1
                    else:
                        found, size = better, middle
                if found is not None and not self._budget.over():
                    best = Finding("size", self.gives(found), blank.name, side, size * step, length - size * step)
        return best

    def _fitting(self, index: int, side: Side, size: int, bound: int) -> Found | None:
        """The layout with one side of one blank at this size, if it is worth more than the bound."""
        if self._budget.over():
            return None
        blanks = list(self._blanks)
        blanks[index] = sized(blanks[index], **{side: size})
        found = self.best(blanks=blanks)
        return found if found.value > bound else None

    def limit(self, now: Found, made: int) -> Finding:
        """What else bounds the sheet: its paper, a proof, or the limit that was found."""
        pieces = sum(n * b.width * b.height for b in self._blanks for name, n in self.gives(now) if name == b.name)
        good = good_area(self._sheet)
        if pieces and good - pieces < min(b.width * b.height for b in self._blanks):
            return Finding("paper", share=Fraction(pieces) / good)
        if now.bound <= made:
            return Finding("most")
        more = (now.bound - made) // min(v for v in self._values if v)
        return Finding("open", most=sum(n for _, n in self.gives(now)) + more)


def ruled(blank: Blank, grain: Any, up: Any) -> Blank:
    """The blank under other rules of grain and print."""
    return _changed(blank, grain=grain, up=up)


def sized(blank: Blank, width: int | None = None, height: int | None = None) -> Blank:
    """The blank in another size (ticks), worth the same."""
    return _changed(blank, width=width or blank.width, height=height or blank.height)


def _changed(blank: Blank, **other: Any) -> Blank:
    out = copy(blank)
    for name, value in other.items():
        object.__setattr__(out, name, value)
    return out


def good_area(sheet: Sheet) -> int:
    """The good paper of a sheet in square ticks, rounded up: within the outline, outside holes and bad areas."""
    from shapely import Polygon, union_all

    if not sheet.bad:
        return -(-sheet.area2 // 2)
    paper = Polygon(sheet.outline, sheet.holes)
    return 1 + math.ceil(float(paper.difference(union_all([Polygon(ring) for ring in sheet.bad])).area))
