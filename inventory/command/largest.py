"""`quirestock notebook largest`: the finished sizes that use up a given paper."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated, Any

import typer

from .common import JsonOption, columns, emit, emit_json, say, some, workshop
from .notebook import FormatArgument, UnitOption, read_format

if TYPE_CHECKING:
    from nesting.lengths import Unit
    from nesting.notebook.formats import Format
    from nesting.notebook.largest import Division

_SHOWN = 8


def largest(
    format: FormatArgument,
    label: Annotated[str, typer.Argument(metavar="PAPER", help="As on its label: SRA2 grain long, 11M x 17 in, A4.")],
    unit: UnitOption = None,
    json: JsonOption = False,
) -> None:
    """As large as the paper gives: the finished sizes that waste least of it."""
    from nesting.notebook.labels import read_label
    from nesting.notebook.largest import largest as sizes

    shop = workshop()
    found, shown = read_format(format, unit)
    paper = read_label(label, shop.bare_unit if unit is None else shown, "PAPER")
    offered = sizes(found, paper.width, paper.height, paper.axis, cutter=shop.cutter)
    if json:
        emit_json({"unit": "mm", "format": found.name, "paper": paper.name, "grain": paper.grain,
                   "own_folios_a_sheet": offered.own,
                   "as_large_as_the_paper_gives": None if offered.best is None else _values(found, offered.best),
                   "others": [_values(found, division) for division in offered.others]})  # fmt: skip
        return
    if paper.grain is None:
        say(f"Grain: both ways are reckoned. {paper.question}")
    emit(f"{found.name} from {paper.name}: its own size gives {some(offered.own, 'folio')} a sheet")
    if offered.best is not None:
        emit(f"As large as the paper gives: {_size(offered.best, shown)}, {offered.best.pieces} a sheet")
    shown_rows = [d for d in (offered.best, *offered.others) if d is not None][:_SHOWN]
    emit("")
    emit(columns([["finished", "a sheet", "cut as", "books a ream", "waste", "wider", "higher"],
                  *(_row(found, division, shown) for division in shown_rows)]))  # fmt: skip


def _size(division: Division, unit: Unit) -> str:
    from nesting.lengths import number, show

    return f"{number(division.width, unit)} x {show(division.height, unit)}"


def _books(format: Format, division: Division) -> int:
    from nesting.notebook.paper import REAM
    from nesting.notebook.reams import books_from

    return books_from(division.pieces, format.folios, REAM)[0]


def _row(format: Format, division: Division, unit: Unit) -> list[str]:
    turned = ", turned" if division.turned else ""
    return [_size(division, unit), str(division.pieces), f"{division.columns} x {division.rows}{turned}",
            f"{_books(format, division):,}", f"{division.waste:.1%}",
            *(f"{change:+.0%}" for change in division.change)]  # fmt: skip


def _values(format: Format, division: Division) -> dict[str, Any]:
    from nesting.lengths import mm

    return {"width": mm(division.width), "height": mm(division.height), "folios_a_sheet": division.pieces,
            "columns": division.columns, "rows": division.rows, "turned": division.turned,
            "books_a_ream": _books(format, division), "waste": round(division.waste, 6)}  # fmt: skip
