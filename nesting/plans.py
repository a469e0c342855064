"""A plan: the layouts for a whole job, what stays unmade, and how close it is to the limit."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any, Literal

from .blanks import Blank
from .cutters import Cutter
from .fixed import Fixed
from .layouts import Layout
from .sheets import Sheet

Aim = Literal["least-stock", "most-worth"]
AIMS: tuple[Aim, ...] = ("least-stock", "most-worth")
Measure = Literal["stock cost", "unmade worth", "worth", "sets"]


@dataclass(frozen=True)
class Bound:
    """What the plan achieves in its measure, and the limit that no plan can pass.

    `limit` is a lower bound where `sense` is "least", an upper one where it is "most". With the scope "frames" it holds for
    the frames listed (degrees); with frames "auto" each sheet is searched unturned and at the listed angles that are those
    of its own long edges or of the least box around it, and the limit holds for these. With the scope "any angle" it holds
    for all frames turned by -45 to 45 degrees (as far as grain and print allow them). `stopped_by` says what ended the
    search: proof, time, steps, search (nothing more to try here) or interrupt. `penalty`: the prices of the soft rules that
    the pieces break, all together. A price trades, so stock cost has it added, and worth has it taken off, in what is achieved
    and in the limit; unmade worth and sets come before it, and it is no part of them.
    """

    sense: Literal["least", "most"]
    measure: Measure
    achieved: int | float
    limit: int | float
    proven: bool
    scope: str
    frames_deg: tuple[float, ...]
    stopped_by: str
    penalty: int | float = 0


@dataclass(frozen=True)
class MadeWith:
    """The arguments of the search that the rest of the document does not hold.

    `best_rate`: the worth (or stock cost) that one mm2 of best area on a front panel may make up for.
    """

    version: str
    aim: Aim
    seed: int
    seconds: int | float
    steps: int | None
    variety: int | float | tuple[tuple[str, int | float], ...] = 0  # one price, or one by material
    best_rate: int | float = 0


@dataclass(frozen=True)
class StockMark:
    """Which stock book a plan was made from, and its head at that time."""

    book: str
    head: str


@dataclass(frozen=True)
class Plan:
    """A whole plan as a value; `to_dict` and `from_dict` are the document of design.md section 3."""

    sheets: tuple[Sheet, ...]
    blanks: tuple[Blank, ...]
    layouts: tuple[Layout, ...]
    short: tuple[tuple[str, int], ...]
    bound: Bound
    made_with: MadeWith
    cutter: Cutter | None = None
    sets: tuple[tuple[str, tuple[tuple[str, int], ...]], ...] | None = None
    fixed: tuple[Fixed, ...] = ()
    exclude: tuple[str, ...] = ()
    least_offcut: tuple[int, int] | None = None
    stock: StockMark | None = None
    id: str | None = None

    def made(self) -> dict[str, int]:
        """How many of each blank the plan gives."""
        out = {blank.name: 0 for blank in self.blanks}
        for layout in self.layouts:
            for name, count in layout.counts().items():
                out[name] = out.get(name, 0) + count * layout.copies
        return out

    def sheets_used(self) -> dict[str, int]:
        """How many sheets of each id the plan cuts."""
        out: dict[str, int] = {}
        for layout in self.layouts:
            out[layout.sheet] = out.get(layout.sheet, 0) + layout.copies
        return out

    def to_dict(self) -> dict[str, Any]:
        """The plan document, ready for JSON; lengths in mm, exact to a tick."""
        from .documents import to_dict

        return to_dict(self)

    @staticmethod
    def from_dict(document: Mapping[str, Any]) -> Plan:
        """The plan of a document. Raises InputError for unknown, missing or unreadable fields."""
        from .documents import from_dict

        return from_dict(document)


@dataclass(frozen=True)
class Fill:
    """The best layout found for one sheet: its worth, and an upper bound on any layout's worth.

    The bound holds for the frames listed, or with the scope "any angle" for all (see `Bound`).
    Worth is less the prices of the soft rules that its pieces break, `penalty` all together.
    """

    layout: Layout | None
    worth: int | float
    upper_bound: int | float
    proven: bool
    stopped_by: str
    frames_deg: tuple[float, ...]
    _sheet: Sheet = field(repr=False)
    _blanks: tuple[Blank, ...] = field(repr=False)
    _cutter: Cutter | None = field(repr=False)
    _made_with: MadeWith = field(repr=False)
    _least_offcut: tuple[int, int] | None = field(repr=False, default=None)
    scope: str = "frames"
    penalty: int | float = 0

    def to_plan(self) -> Plan:
        """The layout as a plan of one sheet with the aim most-worth."""
        made = self.layout.counts() if self.layout else {}
        short = tuple((b.name, b.quantity - made.get(b.name, 0)) for b in self._blanks if b.quantity is not None)
        return Plan(
            (self._sheet,), self._blanks, (self.layout,) if self.layout else (), short,
            Bound("most", "worth", self.worth, self.upper_bound, self.proven, self.scope, self.frames_deg, self.stopped_by,
                  self.penalty),
            self._made_with, self._cutter, least_offcut=self._least_offcut)  # fmt: skip
