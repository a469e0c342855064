"""`quirestock notebook`: which blanks a format takes, with every allowance on its own line."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated, Any

import typer

from .common import JsonOption, emit, emit_json, unit_of, workshop

if TYPE_CHECKING:
    from nesting.lengths import Unit
    from nesting.notebook.allowances import Line, Reckoning
    from nesting.notebook.formats import Format

app = typer.Typer(help="The notebook's own arithmetic.", no_args_is_help=True, rich_markup_mode=None)

FormatArgument = Annotated[
    str, typer.Argument(metavar="FORMAT", help="A format file (.toml), or a standard size such as A6, JIS B6, half letter.")
]
UnitOption = Annotated[str | None, typer.Option("--unit", metavar="mm|in", help="Show lengths in this unit.")]


@app.callback()
def _group() -> None:
    """The notebook's own arithmetic."""


@app.command()
def blanks(
    format: FormatArgument,
    books: Annotated[int | None, typer.Option("--books", metavar="N", help="How many books; default: one.")] = None,
    unit: UnitOption = None,
    json: JsonOption = False,
) -> None:
    """The cover, card and folio blanks of a format, and where each part of their size comes from."""
    shown, chosen = read_format(format, unit)
    shown.blanks(1 if books is None else books)  # refuses a number of books that cannot be
    if json:
        emit_json(_document(shown, books, chosen))
        return
    from nesting.notebook.allowances import remarks

    emit(_heading(shown, chosen))
    for made in shown.allowances():
        emit("")
        emit(_block(shown, made, books, chosen))
    told = remarks(shown, chosen)
    if told:
        emit("")
    for remark in told:
        emit(f"{'LOOK: ' if remark.kind == 'warning' else '- '}{remark.text}.")


def read_format(name: str, unit: str | None) -> tuple[Format, Unit]:
    """The format of a file or name with the workshop's defaults, and the unit to show it in. Raises InputError."""
    from inventory.formats import load

    shop = workshop()
    asked = None if unit is None else unit_of(unit, shop.unit)
    found = load(name, shop.bare_unit, shop.allowances)
    return found, asked or found.unit


def _heading(format: Format, unit: Unit) -> str:
    from nesting.lengths import number, show, show_short
    from nesting.notebook.folding import leaves, pages

    out = [f"{format.name}: {number(format.width, unit)} x {show(format.height, unit)} finished, {format.orientation}, "
           "spine at the side",
           f"{format.folios} {'folio' if format.folios == 1 else 'folios'} a book: "
           f"{leaves(format.folios)} leaves, {pages(format.folios)} pages"]  # fmt: skip
    closed, grip = format.closed_thickness(), format.stitch_grip()
    if closed is not None and grip is not None:
        out.append(f"closed {show_short(closed, unit)} thick; a staple passes {show_short(grip, unit)}")
    return "\n".join(out)


def _block(format: Format, made: Reckoning, books: int | None, unit: Unit) -> str:
    from nesting.lengths import number, show

    many = made.per_book * (books or 1)
    owner = "a book" if books is None else "for 1 book" if books == 1 else f"for {books:,} books"
    title = f"{made.material}: {number(made.width, unit)} x {show(made.height, unit)}, {many:,} {owner}, {_grain(format, made)}"
    return "\n".join((title, *_lines("width", made.width_lines, made.width, unit),
                      *_lines("height", made.height_lines, made.height, unit)))  # fmt: skip


def _grain(format: Format, made: Reckoning) -> str:
    """The rules of a blank in words; a price in percent of its paper."""
    words = {"spine": "grain along the spine", "across": "grain across the spine", "off": "grain any way"}
    rule = getattr(format.grains, made.material)
    grain = f"{words[rule[0]]} ({rule[1]:g} %)" if isinstance(rule, tuple) else words[rule]
    if made.material != "cover" or format.cover_up is False:
        return grain
    return f"{grain}, print upright" + ("" if format.cover_up is True else f" ({format.cover_up:g} %)")


def _lines(side: str, lines: tuple[Line, ...], total: int, unit: Unit) -> list[str]:
    from nesting.lengths import show

    rows = [(show(line.ticks, unit), line.label) for line in lines]
    wide = max(len(text) for text, _ in (*rows, (show(total, unit), "")))
    out = [f"  {side if i == 0 else '':<8}{text:>{wide}}  {label}" for i, (text, label) in enumerate(rows)]
    return [*out, f"  {'':<6}= {show(total, unit):>{wide}}"]


def _document(format: Format, books: int | None, unit: Unit) -> dict[str, Any]:
    from nesting.lengths import mm
    from nesting.notebook.allowances import creep_range, remarks
    from nesting.notebook.folding import leaves, pages

    def side(lines: tuple[Line, ...]) -> list[dict[str, Any]]:
        return [{"label": line.label, "mm": mm(line.ticks), "source": line.source} for line in lines]

    closed, grip, creep = format.closed_thickness(), format.stitch_grip(), creep_range(format)
    return {
        "unit": "mm",
        "format": {
            "name": format.name, "width": mm(format.width), "height": mm(format.height), "orientation": format.orientation,
            "folios": format.folios, "leaves": leaves(format.folios), "pages": pages(format.folios),
            "closed": None if closed is None else mm(closed), "stitch_grip": None if grip is None else mm(grip),
            "fold": format.fold,
            "creep": None if creep is None else {
                which: mm(round(c)) for which, c in zip(("least", "expected", "most"), creep, strict=True)}},
        "books": books or 1,
        "blanks": [{
            "name": blank.name, "material": blank.material, "width": mm(blank.width), "height": mm(blank.height),
            "height_after_true_up": mm(made.trued_height), "quantity": blank.quantity, "per_book": made.per_book,
            "grain": blank.grain, "up": blank.up, "width_lines": side(made.width_lines),
            "height_lines": side(made.height_lines)}
            for made, blank in zip(format.allowances(), format.blanks(books or 1), strict=True)],
        "remarks": [{"kind": remark.kind, "text": remark.text} for remark in remarks(format, unit)],
    }  # fmt: skip
