"""A format: all that a maker decides about a notebook before anything is cut.

>>> from nesting.notebook.formats import Format
>>> a6 = Format.make("A6", 105, 148, folios=12)
>>> [(b.name, b.width // 8000, b.height // 8000, b.quantity) for b in a6.blanks(2)]
[('A6 cover', 216, 154, 2), ('A6 card', 216, 154, 2), ('A6 folio', 216, 154, 24)]
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any, Literal

from nesting.errors import InputError, finite
from nesting.lengths import TICKS_PER_MM, Length, Unit, mm, ticks

from . import folding
from .folding import FOLDS, Fold
from .parts import (
    GRAIN_RULES,
    MATERIALS,
    MOST_FOLIOS,
    MOST_OF_A_BLANK,
    TRIM_IN,
    TRIM_IN_SEWN,
    TRIM_MM,
    WRAPS,
    Calipers,
    Dummy,
    GrainRule,
    Grains,
    Material,
    SoftRule,
    Staples,
    Trims,
    Wrap,
    chosen,
    listed,
)

__all__ = [
    "GRAIN_RULES",
    "MATERIALS",
    "MOST_FOLIOS",
    "MOST_OF_A_BLANK",
    "TRIM_IN",
    "TRIM_IN_SEWN",
    "TRIM_MM",
    "Calipers",
    "Dummy",
    "Format",
    "GrainRule",
    "Grains",
    "Material",
    "SoftRule",
    "Staples",
    "Trims",
    "Wrap",
    "chosen",
    "finished_from",
    "listed",
]  # fmt: skip

if TYPE_CHECKING:
    from nesting.blanks import Blank

    from .allowances import Reckoning


@dataclass(frozen=True)
class Format:
    """A notebook format in ticks; `make` builds one from mm or text.

    `width`, `height`: finished, closed; the spine stands at the side, along the height. `folios`: of one book.
    `trims`: taken off the bound book. They cut cover paper, card and folios together, so they are all the overhang
    there is: nothing is added for overhang beside them. `slack`: placement room around the cover paper, each side,
    on top of the trims, where laminating needs it. `wrap`: extra width at the spine for cover and card, glued as one:
    "no", "yes" (left out below 1 mm), "always". `true_up`: room above the height of the materials in `true_up_for`,
    for the second cut after halving. `creep_room`: widen every blank by the creep, where the fore-edge is trimmed by
    so much off the longest leaf and not with the fence at the finished width. `least_trim`: what the knife must be
    able to take off every leaf. `cover_up`: the print of the cover paper stands upright: True (hard), False (off), or a
    price in percent of a cover's paper; firmer than its grain, as it is seen. `covers`, `cards`: of one book.
    `rules`: how the lines of ruled folios run: across the spine, along it ("spine"), or off (any way). `lines_meet`: every
    folio carries the same lines, so that they meet across all pages of the batch (lines across the spine only).
    `folio_grammage`, `card_grammage`, `cover_grammage` in g/m2 where known. `estimated`: materials whose caliper was
    reckoned from a usual bulk. `dummy`: what was measured on the one book made first; it comes before what is
    reckoned. `corner`: radius of the rounded fore-edge corners, 0 for square ones. `turn_in`: cover paper turned in
    over the card at each fore-edge. `flap`: cover and card folded in at each fore-edge. With either the fore-edges of
    cover and card are not trimmed: those of the pages are, before the cover goes on.
    """

    name: str
    width: int
    height: int
    folios: int = 12
    trims: Trims = field(default_factory=Trims)
    calipers: Calipers = field(default_factory=Calipers)
    fold: Fold = "round"
    wrap: Wrap = "no"
    slack: int = 0
    true_up: int = 0
    true_up_for: tuple[Material, ...] = ("card", "folio")
    creep_room: bool = False
    least_trim: int = TICKS_PER_MM
    grains: Grains = field(default_factory=Grains)
    cover_up: bool | float = 5.0
    covers: int = 1
    cards: int = 1
    unit: Unit = "mm"
    folio_grammage: float | None = None
    estimated: tuple[Material, ...] = ()
    card_grammage: float | None = None
    cover_grammage: float | None = None
    dummy: Dummy = field(default_factory=Dummy)
    staples: Staples = field(default_factory=Staples)
    corner: int = 0
    turn_in: int = 0
    flap: int = 0
    rules: GrainRule = "across"
    lines_meet: bool = False

    def __post_init__(self) -> None:
        """Check every field against the others. Raises InputError."""
        if not isinstance(self.name, str) or not self.name.strip() or len(self.name) > 60 or not self.name.isprintable():
            raise InputError("format, name", "a short printable name", self.name)
        self._whole("folios", self.folios, 1, MOST_FOLIOS, "A book needs at least one folio.")
        self._whole("covers", self.covers, 0, 1, "")
        self._whole("cards", self.cards, 0, 1, "")
        for name, choices in (("fold", FOLDS), ("wrap", WRAPS), ("unit", ("mm", "in"))):
            chosen(getattr(self, name), choices, self._field(name))
        for material in MATERIALS:
            rule = getattr(self.grains, material)
            hard, price = rule if isinstance(rule, tuple) and len(rule) == 2 else (rule, 0.0)
            chosen(hard, GRAIN_RULES, self._field(f"grain, {material}"))
            self._percent(f"grain, {material}, price", price)
        if not isinstance(self.cover_up, bool):
            self._percent("cover_up", self.cover_up)
        for material in (*self.true_up_for, *self.estimated):
            chosen(material, MATERIALS, self._field("true_up_for"))
        chosen(self.rules, GRAIN_RULES, self._field("rules"))
        if not isinstance(self.lines_meet, bool):
            raise InputError(self._field("lines_meet"), "true or false", self.lines_meet)
        if self.lines_meet and self.rules != "across":
            raise InputError(self._field("lines_meet"), "lines across the spine, where they are to meet", f"rules = {self.rules}",
                             'Leave lines_meet out, or write rules = "across".')  # fmt: skip
        self._lengths()
        self._staples()
        unknown = self.layers() is None and not (self.wrap == "no" and self.dummy.creep is not None)
        if (self.wrap != "no" or self.creep_room) and unknown:
            raise InputError(self._field("caliper"), f"the caliper of {listed(self.unmeasured())}", "nothing",
                             "Wrap and creep room are reckoned from it: measure ten sheets together, divide by ten.")  # fmt: skip

    def _field(self, name: str) -> str:
        return f"format {self.name}, {name}"

    def _whole(self, name: str, value: object, least: int, most: int, hint: str) -> None:
        if isinstance(value, bool) or not isinstance(value, int) or not least <= value <= most:
            raise InputError(self._field(name), f"a whole number from {least} to {most}", value, hint)

    def _percent(self, name: str, value: object) -> None:
        if not finite(value) or not 0 <= value <= 100:  # type: ignore[operator]
            raise InputError(self._field(name), "a price from 0 to 100 percent of a blank's paper", value)

    def _lengths(self) -> None:
        """Each length is 0 or more, and less than the side that it is taken from or added to."""
        from nesting.lengths import show

        def bounded(name: str, value: int, least: int, below: int, side: str) -> None:
            if not least <= value < below:
                expected = f"{'a length above 0' if least else 'from 0'} and less than {show(below, self.unit)}{side}"
                raise InputError(self._field(name), expected, show(value, self.unit))

        for name, value in (("width", self.width), ("height", self.height)):
            bounded(name, value, 1, 2_000 * TICKS_PER_MM, "")
        tall = ", the finished height"
        bounded("trims, head", self.trims.head, 0, self.height, tall)
        bounded("trims, tail", self.trims.tail, 0, self.height, ", the finished height")
        bounded("trims, fore_edge", self.trims.fore_edge, 0, self.width, ", the finished width")
        bounded("slack", self.slack, 0, min(self.width, self.height), ", the finished size")
        bounded("true_up", self.true_up, 0, self.height, ", the finished height")
        bounded("least_trim", self.least_trim, 0, self.width, ", the finished width")
        bounded("turn_in", self.turn_in, 0, self.width, ", the finished width")
        bounded("flap", self.flap, 0, self.width, ", the finished width")
        half = min(self.width, self.finished_height) // 2
        bounded("corner", self.corner, 0, half + 1, ": half the finished width, or height, is the most a corner can have")
        for name, least, below in (("thickness", 1, self.width), ("creep", 0, self.width), ("height", 1, 2 * self.height)):
            value = getattr(self.dummy, name)
            if value is not None:
                bounded(f"dummy, {name}", value, least, below, ": is it in the right unit?")
        for material in ("folio", "card", "cover", "glue"):
            value = getattr(self.calipers, material)
            if value is not None:
                least = 0 if material == "glue" else 1
                bounded(f"caliper, {material}", value, least, 5 * TICKS_PER_MM, ": is it in the right unit?")

    def _staples(self) -> None:
        """Staples lie on the finished spine, apart, as many as are said. Raises InputError."""
        from nesting.lengths import show

        count, at = self.staples.count, self.staples.at
        self._whole("staples", count, 0, 12, "")
        if at and len(at) != count:
            raise InputError(self._field("staple_at"), f"{count} places, from the head", len(at), "Or say staples = ...")
        last = 0
        for place in at:
            if not last < place < self.finished_height:
                raise InputError(self._field("staple_at"), f"places from the head, in order, less than "
                                 f"{show(self.finished_height, self.unit)}", show(place, self.unit))  # fmt: skip
            last = place

    @classmethod
    def make(cls, name: str, width: Length, height: Length, folios: int = 12, *, trim: Length = 3,
             head: Length | None = None, tail: Length | None = None, fore_edge: Length | None = None,
             folio_caliper: Length | None = None, card_caliper: Length | None = None, cover_caliper: Length | None = None,
             glue_caliper: Length | None = None, slack: Length = 0, true_up: Length = 0, least_trim: Length = 1,
             corner: Length = 0, turn_in: Length = 0, flap: Length = 0, **others: Any) -> Format:  # fmt: skip
        """A format from lengths in mm or text with a unit, rounded up (calipers to the nearest tick). Raises InputError.

        `trim` stands for every edge that is not given. `others`: the fields of the class that are no lengths.
        """
        def up(value: Length, field: str) -> int:
            return ticks(value, "up", f"format {name}, {field}")

        def near(value: Length | None, field: str) -> int | None:
            return None if value is None else ticks(value, "near", f"format {name}, caliper, {field}")

        edges = {"head": head, "tail": tail, "fore_edge": fore_edge}
        return cls(
            name, up(width, "width"), up(height, "height"), folios,
            Trims(**{edge: up(trim if value is None else value, f"trims, {edge}") for edge, value in edges.items()}),
            Calipers(near(folio_caliper, "folio"), near(card_caliper, "card"), near(cover_caliper, "cover"),
                     near(glue_caliper, "glue")),
            slack=up(slack, "slack"), true_up=up(true_up, "true_up"), least_trim=up(least_trim, "least_trim"),
            corner=up(corner, "corner"), turn_in=up(turn_in, "turn_in"), flap=up(flap, "flap"),
            **others)  # fmt: skip

    @property
    def orientation(self) -> Literal["portrait", "landscape", "square"]:
        """How the finished book stands with its spine at the side."""
        return "portrait" if self.width < self.height else "landscape" if self.width > self.height else "square"

    def per_book(self, material: Material) -> int:
        """How many blanks of a material one book takes."""
        return {"cover": self.covers, "card": self.cards, "folio": self.folios}[material]

    @property
    def finished_height(self) -> int:
        """The finished height in ticks: what the dummy could be trimmed to, where one was measured."""
        return self.height if self.dummy.height is None else self.dummy.height

    def grammage(self, material: Material) -> float | None:
        """Grammage of a material in g/m2, None where it is not known."""
        return {"cover": self.cover_grammage, "card": self.card_grammage, "folio": self.folio_grammage}[material]

    def unmeasured(self) -> tuple[Material, ...]:
        """The materials in the book whose caliper is not given (glue not given counts as none)."""
        return tuple(m for m in MATERIALS if self.per_book(m) and getattr(self.calipers, m) is None)

    def layers(self) -> tuple[int, ...] | None:
        """Calipers in ticks from the outside in, cover paper, glue and card as one; None where one is not given."""
        if self.unmeasured():
            return None
        parts = self.calipers
        shell = (parts.cover or 0) * self.covers + (parts.card or 0) * self.cards
        if self.covers and self.cards:
            shell += parts.glue or 0
        return ((shell,) if shell else ()) + (parts.folio or 0,) * self.folios

    def stitch_grip(self) -> int | None:
        """What a staple passes, in ticks: by the calipers, else half the dummy's thickness; None without either.

        The calipers come first: a book is stapled flat, before the press makes it thinner.
        """
        layers = self.layers()
        if layers is not None:
            return round(folding.stitch_grip(layers))
        return None if self.dummy.thickness is None else -(-self.dummy.thickness // 2)

    def closed_thickness(self) -> int | None:
        """Thickness of the closed book in ticks: the dummy's, else by the calipers; None without either."""
        if self.dummy.thickness is not None:
            return self.dummy.thickness
        layers = self.layers()
        return None if layers is None else round(folding.closed_thickness(layers))

    def shape(self) -> Fold | float:
        """The fold for creep and wrap: the format's own, or as a number what the dummy's creep shows (`folding.kappa`)."""
        layers = self.layers()
        if self.dummy.creep is None or layers is None:
            return self.fold
        apart = folding.creep(layers, "sharp")
        return self.dummy.creep / apart if apart else self.fold

    def most_books(self, materials: Sequence[str] = MATERIALS) -> int:
        """How many books may be asked for at once, where only blanks of these materials are wanted."""
        return MOST_OF_A_BLANK // max([self.per_book(m) for m in MATERIALS if m in materials] + [1])

    def blanks(self, books: int | None = None, materials: Sequence[str] = MATERIALS) -> tuple[Blank, ...]:
        """The cover, card and folio blanks of so many books (None: no limit). Raises InputError."""
        from .allowances import blanks_of

        return blanks_of(self, books, materials)

    def allowances(self) -> tuple[Reckoning, ...]:
        """How each blank's two sides come about, line by line."""
        from .allowances import reckon

        return reckon(self)


def finished_from(width: Length, height: Length, trims: Trims) -> tuple[int | float, int | float]:
    """The finished width and height in mm of a book whose flat sheet is given: the size as large as the paper gives.

    Raises InputError where the trims leave nothing.

    >>> finished_from(210, 148.5, Trims())
    (102, 142.5)
    """
    w = ticks(width, "down", "flat width") // 2 - trims.fore_edge
    h = ticks(height, "down", "flat height") - trims.head - trims.tail
    if w <= 0 or h <= 0:
        raise InputError("flat sheet", "more than its trims take off", f"{width} x {height}")
    return mm(w), mm(h)
