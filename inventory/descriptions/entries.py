"""One sheet's line as it is remembered: its parts and facts, so that a later line can be `like` it."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from math import floor
from typing import cast

from nesting.errors import InputError
from nesting.lengths import Unit

from ..stock import Kind, StockSheet
from .bases import of
from .facts import Facts, grain_said
from .forms import Drop, Like, Part, Said, Shape, SideLength, SquareCorner, is_shaping, word_of
from .parts import parse_part
from .shapes import Built, build
from .words import cut_parts


@dataclass(frozen=True)
class Entry:
    """A sheet's parts, everything said of it (header lines included), and the unit of its bare lengths."""

    parts: tuple[Part, ...]
    facts: Facts
    unit: Unit | None


def parse_parts(text: str, unit: Unit | None) -> tuple[Part, ...]:
    """The parts of a line behind its id. Raises InputError for the first that is none."""
    return tuple(parse_part(part, unit) for part in cut_parts(text))


def resolved(parts: Sequence[Part], header: Facts, unit: Unit | None, find: Callable[[str], Entry]) -> Entry:
    """The entry that the parts make: `like` copied, `no` dropped, facts gathered. Raises InputError.

    A sheet `like` another takes everything of it, what its header lines had set included, but count and note.
    """
    if not parts:
        raise InputError("description", "a size, such as 420 x 297", "nothing")
    first = parts[0]
    if not isinstance(first, Like | Shape | SideLength | SquareCorner):
        raise InputError("description", "the size first, such as 420 x 297, then the rest", first.text)
    if any(isinstance(part, Like) for part in parts[1:]):
        raise InputError("like", "one like, at the beginning of the line", "; ".join(part.text for part in parts))
    own = [part for part in parts if not isinstance(part, Like | Drop)]
    _said_once(own)
    base = Entry((), header, unit)
    if isinstance(first, Like):
        if any(isinstance(part, Shape | SideLength | SquareCorner) for part in own):
            raise InputError("like", "the size of the other sheet kept", "; ".join(part.text for part in parts),
                             "Write the line out instead.")  # fmt: skip
        base = _copied(find(first.id), first, header, unit)
    for drop in of(parts, Drop):
        base = _without(base, drop, liked=isinstance(first, Like))
    said = [part for part in own if isinstance(part, Said)]
    anew = {name for part in said for name in part.facts}
    kept = [part for part in base.parts if not (isinstance(part, Said) and part.facts.keys() & anew)]
    facts = base.facts
    for part in said:
        facts = {**facts, **part.facts}
    return Entry((*kept, *own), facts, unit)


def _copied(base: Entry, like: Like, header: Facts, unit: Unit | None) -> Entry:
    if base.unit != unit:
        raise InputError("like", f"sheets given in one unit, as {like.id} in {base.unit or 'none'}", unit or "none",
                         "Write the line out instead.")  # fmt: skip
    facts: Facts = {**base.facts}
    facts.pop("count", None)
    facts.pop("note", None)
    if "count" in header:
        facts["count"] = header["count"]
    parts = tuple(part for part in base.parts if not (isinstance(part, Said) and part.facts.keys() & {"count", "note"}))
    return Entry(parts, facts, unit)


def _without(base: Entry, drop: Drop, *, liked: bool) -> Entry:
    """The entry without what a `no` drops: its parts, and the fact of that word if it is one."""
    kept = tuple(part for part in base.parts if not _dropped(part, drop))
    nothing: dict[str, Facts] = {
        "grain": {"grain": None}, "print": {"up": None}, "true": {"true": ""}, "inset": {"inset": Fraction(0)}}  # fmt: skip
    fact: Facts = nothing.get(drop.word, {})
    if not liked or (len(kept) == len(base.parts) and not (fact.keys() & base.facts.keys())):
        raise InputError("no", f"a sheet above with {drop.text.partition(' ')[2]} to drop, named by like", drop.text)
    return Entry(kept, {**base.facts, **fact}, base.unit)


def _dropped(part: Part, drop: Drop) -> bool:
    word, where = word_of(part)
    return word == drop.word and drop.where in (None, where)


def _said_once(parts: Sequence[Part]) -> None:
    seen: dict[str, str] = {}
    for part in parts:
        if isinstance(part, Said):
            if part.word in seen:
                raise InputError(part.word, f"{part.word} once in a line", f"{seen[part.word]} and {part.text}")
            seen[part.word] = part.text


def description(parts: Sequence[Part]) -> str:
    """The text kept with a sheet: its parts as typed, `like` written out, without count, note, price and the like."""
    return "; ".join(part.text for part in parts if is_shaping(part))


def stock_sheet(id: str, entry: Entry) -> tuple[StockSheet, Built]:
    """The sheet of an entry, with what it was built from. Raises InputError naming the sheet."""
    facts = entry.facts
    kind: Kind = facts.get("kind", "salvaged")
    if "true" not in facts:  # bought paper comes trimmed; an old sheet's edges are never assumed
        facts = {**facts, "true": "all" if kind == "parent" else ""}
    built = build(id, entry.parts, facts, entry.unit or "mm")
    caliper = facts.get("caliper")
    return StockSheet(
        built.sheet, kind, entry.unit or "mm", None if caliper is None else floor(caliper + Fraction(1, 2)),
        facts.get("grammage"), facts.get("price"), facts.get("source", ""), facts.get("note", ""), facts.get("glue"),
        facts.get("cracks"), description(entry.parts)), built  # fmt: skip


def true_letters(built: Built, true_edges: Sequence[int]) -> str | None:
    """"all", or the letters, that mean just these edges of a built sheet; None where no letters do."""
    marked = {built.sides[i] for i in true_edges}
    for candidate in ("".join(letter for letter in "LRTB" if letter in marked), "all"):
        if built.true_edges(candidate) == tuple(true_edges):
            return candidate
    return None


def entry_of(stock: StockSheet) -> Entry:
    """The entry of a sheet in the stock book, from its description. Raises InputError where it has none."""
    if not stock.description:
        raise InputError("like", "a sheet with a description", f"sheet {stock.id}, which has none", "Write the line out.")
    parts = parse_parts(stock.description, stock.unit)
    sheet = stock.sheet
    bare = {"grain": grain_said(sheet), "up": sheet.up, "inset": Fraction(sheet.inset)}
    facts = cast(Facts, {
        **bare, "kind": stock.kind, "material": sheet.material, "source": stock.source, "grammage": stock.grammage,
        "caliper": None if stock.caliper is None else Fraction(stock.caliper), "price": stock.price,
        "glue": stock.takes_glue, "cracks": stock.cracks_at_fold, "true": "", "note": stock.note, "count": sheet.count,
    })  # fmt: skip
    entry = Entry(parts, facts, stock.unit)
    built = stock_sheet(stock.id, entry)[1]
    letters = true_letters(built, sheet.true_edges)
    if letters is None or replace(built.sheet, true_edges=sheet.true_edges) != replace(sheet, cost=None):
        raise InputError("like", "a sheet that is as its description says", f"sheet {stock.id}, which is not",
                         "Write the line out.")  # fmt: skip
    return Entry(parts, {**facts, "true": letters}, stock.unit)
