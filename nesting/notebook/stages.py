"""The stages of a batch in their order: minutes of work, waiting, what holds them, and the copies that each spoils.

The order is that of a stapled batch (trade.md section 6, common practice, no source). All figures of `USUAL` are to be
replaced by the maker's own.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from fractions import Fraction
from types import MappingProxyType
from typing import Literal

from nesting.errors import InputError

from .formats import MATERIALS, Format, Material

Unit = Literal["sheet", "lift", "book"]
Holder = Literal["press", "weights"]
SOURCE = "common practice, no source"


@dataclass(frozen=True)
class Stage:
    """One stage. Minutes are exact.

    `counts`: what `each` is the minutes of: a sheet or a lift cut, or a book. `setup`: minutes once for a format's run.
    `wait`: minutes nobody need stand by, after each load. `holder`: what limits a load. `takes`: the materials that
    go into it. `own`: whether the figures are the maker's; else they are `SOURCE`.
    """

    key: str
    title: str
    counts: Unit
    setup: Fraction
    each: Fraction
    takes: tuple[Material, ...] = MATERIALS
    wait: Fraction = Fraction(0)
    holder: Holder | None = None
    own: bool = False

    def minutes(self, count: Fraction | int) -> Fraction:
        """Work on so many of what it counts."""
        return self.setup + self.each * count


def _usual(key: str, title: str, counts: Unit, setup: str, each: str, takes: tuple[Material, ...] = MATERIALS,
           wait: int = 0, holder: Holder | None = None) -> Stage:  # fmt: skip
    return Stage(key, title, counts, Fraction(setup), Fraction(each), takes, Fraction(wait), holder)


# Common practice, no source: about an hour in the press after laminating, about a night after folding; the minutes of
# work are a first guess, for the maker to time.
USUAL: tuple[Stage, ...] = (
    _usual("cut_covers", "cut covers", "sheet", "10", "3", ("cover",)),
    _usual("cut_card", "cut card", "lift", "5", "6", ("card",)),
    _usual("laminate", "laminate", "book", "15", "2", ("cover", "card"), 60, "press"),
    _usual("cut_pages", "cut pages", "lift", "5", "8", ("folio",)),
    _usual("count", "count pages", "book", "0", "0.5", ("folio",)),
    _usual("staple", "staple", "book", "5", "1"),
    _usual("fold", "fold", "book", "0", "1.5", holder="weights"),
    _usual("press", "press", "book", "5", "0.2", wait=720, holder="press"),
    _usual("trim", "trim", "lift", "10", "4"),
    _usual("corners", "round corners", "book", "5", "0.5"),
)
KEYS = tuple(stage.key for stage in USUAL)


def stages_of(format: Format, stages: tuple[Stage, ...] = USUAL) -> tuple[Stage, ...]:
    """The stages that a format goes through: nothing is laminated without both cover paper and card."""
    there = {m for m in MATERIALS if format.per_book(m)}
    return tuple(stage for stage in stages if set(stage.takes) & there and (stage.key != "laminate" or set(stage.takes) <= there))


@dataclass(frozen=True)
class Overs:
    """Copies that a stage spoils: percent of those that must come out of it, and at least so many.

    >>> [Overs(Fraction(3), 2).extra(n) for n in (10, 100, 101)]
    [2, 3, 4]
    """

    percent: Fraction = Fraction(0)
    at_least: int = 0

    def __post_init__(self) -> None:
        """Raises InputError."""
        if not 0 <= self.percent <= 100:
            raise InputError("overs, percent", "from 0 to 100", str(float(self.percent)))
        if isinstance(self.at_least, bool) or not isinstance(self.at_least, int) or not 0 <= self.at_least <= 100_000:
            raise InputError("overs, at_least", "a whole number from 0 to 100,000", self.at_least)

    def extra(self, copies: int) -> int:
        """Copies more that go in, for so many to come out."""
        return max(self.at_least, -int(-(copies * self.percent / 100) // 1))


@dataclass(frozen=True)
class Run:
    """Books of one format on their way through the stages.

    `entering`: copies that go into each stage, in order; what is spoiled at a stage must have passed those before it.
    """

    format: Format
    wanted: int
    entering: tuple[tuple[str, int], ...]

    @classmethod
    def of(cls, format: Format, wanted: int, overs: Mapping[str, Overs] = MappingProxyType({}), flat: int = 0) -> Run:
        """Reckoned from the last stage back. `flat`: whole books more than wanted, whatever spoils them. Raises InputError."""
        for key in overs:
            if key not in KEYS:
                raise InputError("overs", " or ".join(KEYS), key)
        out: list[tuple[str, int]] = []
        after = dict.fromkeys(MATERIALS, wanted + flat)  # copies of each material that must come out
        for stage in reversed(stages_of(format)):
            need = max(after[m] for m in stage.takes if format.per_book(m))
            need += overs.get(stage.key, Overs()).extra(need)
            after |= dict.fromkeys(stage.takes, need)
            out.append((stage.key, need))
        return cls(format, wanted, tuple(reversed(out)))

    def copies(self, key: str) -> int:
        """Copies that go into a stage, 0 where the format has no such stage."""
        return dict(self.entering).get(key, 0)

    def blanks_of(self, material: Material) -> int:
        """How many blanks of a material the run takes, spoiled ones included."""
        first = next(s.key for s in stages_of(self.format) if material in s.takes)
        return self.copies(first) * self.format.per_book(material)
