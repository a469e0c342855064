"""`quirestock notebook limits`: how bulky the book is, which staple it takes, and how the batch is trimmed."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated, Any

import typer

from nesting.errors import InputError

from .common import JsonOption, emit, emit_json, some, workshop
from .notebook import FormatArgument, UnitOption, read_format

if TYPE_CHECKING:
    from nesting.lengths import Unit
    from nesting.notebook.allowances import Remark
    from nesting.notebook.formats import Format
    from nesting.notebook.limits import Limits
    from nesting.notebook.trimming import Trimming


def limits(
    format: FormatArgument,
    books: Annotated[int | None, typer.Option("--books", metavar="N", help="Also how so many bound books are trimmed.")] = None,
    shortest: Annotated[
        str | None, typer.Option("--shortest", metavar="LENGTH", help="With --books: the height of the lowest flat book.")
    ] = None,
    unit: UnitOption = None,
    json: JsonOption = False,
) -> None:
    """How thick the book is, which staple it takes, how the batch is trimmed."""
    from nesting.lengths import parse
    from nesting.notebook.allowances import remarks
    from nesting.notebook.limits import limits as bounds
    from nesting.notebook.trimming import trimming

    shop = workshop()
    found, shown = read_format(format, unit)
    told = bounds(found, shop.stapler, shown)
    trimmed = None
    if shortest is not None and books is None:
        raise InputError("--shortest", "--books beside it", "no --books")
    if books is not None:
        low = None if shortest is None else parse(shortest, shop.bare_unit if unit is None else shown, "down", "--shortest")
        trimmed = trimming(found, books, shop.cutter.lift, low)
    notes = (*told.remarks, *remarks(found, shown))
    if json:
        emit_json(_document(found, told, trimmed, notes))
        return
    emit(_text(found, told, shown))
    if trimmed is not None:
        emit("")
        emit(_trimmed(trimmed, shown))
    if notes:
        emit("")
    for remark in sorted(notes, key=lambda r: r.kind == "note"):
        emit(f"{'LOOK: ' if remark.kind == 'warning' else '- '}{remark.text}.")


def _text(format: Format, told: Limits, unit: Unit) -> str:
    from nesting.lengths import show
    from nesting.notebook.allowances import creep_range, wrap_range
    from nesting.notebook.stapling import marks, places

    rows: list[tuple[str, str]] = []
    if told.closed is not None and told.grip is not None and told.leg_needed is not None:
        measured = ", measured on the dummy" if format.dummy.thickness is not None else ""
        rows += [("closed", f"{show(told.closed, unit)} thick{measured}"), ("a staple passes", show(told.grip, unit))]
        on_hand = "" if told.leg is None else f"; on hand: {show(told.leg, unit)}"
        if format.staples.count:
            rows.append(("leg needed", f"{show(told.leg_needed, unit)}{on_hand}"))
    for name, spread in (("creep", creep_range(format)), ("wrap", wrap_range(format))):
        if spread is not None:
            rows.append((name, _spread(spread, format, unit)))
    bounds = [text for most, text in ((told.most_closing, "to lie closed"), (told.most_by_leg, "for the longest leg on hand"))
              if most is not None and most == told.most]  # fmt: skip
    if told.most is not None:
        rows.append(("folios at most", f"{told.most} {' and '.join(bounds)}; this book has {format.folios}"))
    if format.staples.count:
        rows.append(("staples", f"{_lengths(places(format), unit)} from the finished head"))
        rows.append(("", f"{_lengths(marks(format), unit)} from the head of the flat book"))
        rows.append(("stapler", f"must reach {show(told.reach, unit)} in from the fore-edge"))
    wide = max((len(name) for name, _ in rows), default=0) + 2
    head = f"{format.name}: {some(format.folios, 'folio')} a book"
    return "\n".join((head, *(f"  {name:<{wide}}{text}" for name, text in rows)))


def _spread(spread: tuple[float, float, float], format: Format, unit: Unit) -> str:
    """A range of the fold and what is expected of it."""
    from nesting.lengths import show_short

    least, expected, most = (show_short(round(v), unit) for v in spread)
    by = "the dummy" if format.dummy.creep is not None else f"a {format.fold} fold"
    return f"{least} to {most}, by {by} {expected}"


def _lengths(lengths: tuple[int, ...], unit: Unit) -> str:
    from nesting.lengths import number, show

    return ", ".join((*(number(v, unit) for v in lengths[:-1]), show(lengths[-1], unit)))


def _trimmed(made: Trimming, unit: Unit) -> str:
    from nesting.lengths import show

    lifts = "one lift: no lift is set for the cutter"
    if made.a_lift is not None:
        lifts = f"{made.a_lift} a lift, {some(made.lifts, 'lift')}"
    out = [f"Trimming {some(made.books, 'book')}: {lifts}, {some(made.cuts, 'cut')}",
           f"  head off at    {show(made.first, unit)}"]  # fmt: skip
    if made.short_first is not None:
        out.append(f"  lowest book at {show(made.short_first, unit)}, or keep it apart as a second")
    out.append(f"  height at      {show(made.height, unit)}")
    out.append("  fore-edge      not trimmed" if made.fore_edge is None else f"  fore-edge at   {show(made.fore_edge, unit)}")
    return "\n".join(out)


def _document(format: Format, told: Limits, trimmed: Trimming | None, notes: tuple[Remark, ...]) -> dict[str, Any]:
    from nesting.lengths import mm
    from nesting.notebook.allowances import creep_range, set_weight, wrap_range
    from nesting.notebook.stapling import marks, places

    def length(ticks: int | None) -> float | None:
        return None if ticks is None else mm(ticks)

    def spread(found: tuple[float, float, float] | None) -> dict[str, float] | None:
        names = ("least", "expected", "most")
        return None if found is None else {name: mm(round(v)) for name, v in zip(names, found, strict=True)}

    weight = set_weight(format)
    return {
        "unit": "mm", "format": format.name, "folios": format.folios,
        "closed": length(told.closed), "stitch_grip": length(told.grip), "leg_needed": length(told.leg_needed),
        "creep": spread(creep_range(format)), "wrap": spread(wrap_range(format)),
        "leg_on_hand": length(told.leg), "folios_for_legs": told.most_by_leg,
        "folios_to_lie_closed": told.most_closing, "reach": length(told.reach), "score": told.score,
        "staples": [mm(v) for v in places(format)],
        "staples_on_the_flat_book": [mm(v) for v in marks(format)],
        "folios_g": None if weight is None else round(weight.total, 2),
        "folio_g": None if weight is None else round(weight.one, 2),
        "trimming": None if trimmed is None else {
            "books": trimmed.books, "books_a_lift": trimmed.a_lift, "lifts": trimmed.lifts, "cuts": trimmed.cuts,
            "settings": [mm(v) for v in trimmed.settings], "lowest_book_first": length(trimmed.short_first)},
        "remarks": [{"kind": remark.kind, "text": remark.text} for remark in notes],
    }  # fmt: skip
