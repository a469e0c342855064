"""`quirestock sheet fits`: which sheets still give a blank of this size, least spoiled first."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated, Any

import typer

from nesting.errors import InputError

from .common import IMPOSSIBLE, BookOption, JsonOption, columns, emit, emit_json, open_book, say, some, workshop

if TYPE_CHECKING:
    from inventory.stock import StockSheet
    from inventory.workshop import Workshop
    from nesting import Blank
    from nesting.lengths import Unit
    from nesting.search.fitting import Giving

SizeArgument = Annotated[list[str], typer.Argument(metavar="W H | FORMAT", help="Across and up, or a format: its cover.")]
FormatOption = Annotated[list[str] | None, typer.Option("--in-use", metavar="FORMAT", help="What else you make. Repeat it.")]
MaterialOption = Annotated[str | None, typer.Option("--material", metavar="MATERIAL", help="Only cover, card or folio.")]


def fits(
    size: SizeArgument,
    turn: Annotated[bool, typer.Option("--turn/--no-turn", help="It may lie turned by a quarter.")] = True,
    count: Annotated[int, typer.Option("--count", metavar="N", min=1, max=10_000, help="So many from one sheet.")] = 1,
    in_use: FormatOption = None,
    material: MaterialOption = None,
    seconds: Annotated[float, typer.Option("--seconds", help="How long to look at most.")] = 20.0,
    book: BookOption = None,
    json: JsonOption = False,
) -> None:
    """Which sheets still give a blank of this size, least spoiled first.

    Spoiled least is what loses least of the formats in use (--in-use; without it: of this size), then the smaller sheet.
    Exit code 4 where no sheet gives it.
    """
    from nesting.search.fitting import fitting
    from nesting.search.pile.reasons import why_not

    from .planning import told

    shop = workshop()
    blank = _blank(size, turn, count, material, shop)
    others = [b.with_lines_meeting(False) for name in dict.fromkeys(in_use or ()) for b in _format(name, shop).blanks(None)]
    with open_book(book, readonly=True) as stock:
        at_hand = {s.id: s for s in stock.sheets(material=material or blank.material)}
    if not at_hand:
        raise InputError("stock book", "sheets" + (f" of {material}" if material else ""), "none",
                         "Add some first: quirestock sheet add.")  # fmt: skip
    sheets = [_uncosted(s) for s in at_hand.values()]
    found = fitting(sheets, blank, others, shop.cutter, seconds, progress=told())
    if found.looked_at < len(sheets):
        say(f"Looked at {found.looked_at} of {some(len(sheets), 'sheet')} in the time. Give it more: --seconds {seconds * 4:g}.")
    reason = None
    if not found.giving:
        reason = f"no sheet gives {count}; the most that one gives is {found.most}" if found.most else ""
        reason = reason or f"no sheet gives it: {why_not(blank, sheets[: found.looked_at], shop.cutter, shop.unit)}"
    if json:
        emit_json(_as_json(blank, found, at_hand, reason))
    elif found.giving:
        emit(_listed(blank, found.giving, at_hand, bool(others), shop.unit))
    else:
        emit(f"{_measured(blank, shop.unit)}: {reason}.")
    if reason:
        raise typer.Exit(IMPOSSIBLE)


def _blank(size: list[str], turn: bool, count: int, material: str | None, shop: Workshop) -> Blank:
    """The blank asked for: two lengths, or a format's cover (with --material its card or folio)."""
    from nesting import Blank
    from nesting.lengths import mm, parse

    words = [w for w in size if w.lower() not in ("x", "by")]
    turns = (0, 90) if turn else (0,)
    if len(words) == 2:
        width, height = (parse(w, shop.bare_unit, "up", side) for w, side in zip(words, ("width", "height"), strict=True))
        return Blank("this size", mm(width), mm(height), count, turns)
    if len(words) != 1:
        raise InputError("size", "two lengths, across and up, or a format's name", " ".join(size), "Such as: 216 154, or A6.")
    own = [b.with_lines_meeting(False) for b in _format(words[0], shop).blanks(None) if b.material == (material or "cover")]
    if not own:
        raise InputError("--material", "cover, card or folio", material)
    b = own[0]
    return Blank("this size", mm(b.width), mm(b.height), count, turns if b.grain is None else b.turns, b.grain, b.up, None,
                 b.material)  # fmt: skip


def _format(name: str, shop: Workshop) -> Any:
    from inventory.formats import load

    return load(name, shop.bare_unit, shop.allowances)


def _uncosted(stock: StockSheet) -> Any:
    from dataclasses import replace

    return replace(stock.sheet, cost=None)  # what a sheet cost does not say how much is spoiled


def _measured(blank: Blank, unit: Unit) -> str:
    from nesting.lengths import show_short

    return f"{show_short(blank.width, unit)} x {show_short(blank.height, unit)}"


def _listed(blank: Blank, giving: tuple[Giving, ...], at_hand: dict[str, StockSheet], formats: bool, unit: Unit) -> str:
    from . import showing

    count = blank.quantity or 1
    times = f", {count} of it" if count > 1 else ""
    heading = f"{_measured(blank, unit)}{times}: {some(len(giving), 'sheet')}, least spoiled first."
    rows = [["id", "width", "height", "gives", "no longer gives"]]
    for g in giving:
        rows.append([g.sheet, *showing.size(at_hand[g.sheet], unit), str(g.gives),
                     _lost(g) if formats else f"{count} of {g.gives}"])  # fmt: skip
    return f"{heading}\n\n{columns(rows)}"


def _lost(g: Giving) -> str:
    """What a sheet no longer gives, in words; and what it gives instead."""
    pairs = [(name, now - then) for (name, now), (_, then) in zip(g.now, g.then, strict=True)]
    less = ", ".join(f"{n} {name}" for name, n in pairs if n > 0)
    more = ", ".join(f"{-n} {name}" for name, n in pairs if n < 0)
    return (less or "nothing") + (f", but {more} more" if more else "")


def _as_json(blank: Blank, found: Any, at_hand: dict[str, StockSheet], reason: str | None) -> dict[str, Any]:
    from nesting.lengths import mm

    rows = []
    for g in found.giving:
        x0, y0, x1, y1 = at_hand[g.sheet].sheet.box
        rows.append({"id": g.sheet, "width_mm": mm(x1 - x0), "height_mm": mm(y1 - y0), "gives": g.gives, "now": dict(g.now),
                     "then": dict(g.then), "lost": g.lost})  # fmt: skip
    return {"width_mm": mm(blank.width), "height_mm": mm(blank.height), "count": blank.quantity or 1, "sheets": rows,
            "looked_at": found.looked_at, "of": len(at_hand), "reason": reason}  # fmt: skip
