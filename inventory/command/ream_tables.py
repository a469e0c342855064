"""What `quirestock ream` prints: tables, CSV, JSON, and the words of its picture."""

from __future__ import annotations

import csv
import io
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from nesting.errors import ImpossibleJob
from nesting.lengths import mm, number, show
from nesting.notebook.formats import Format, listed
from nesting.notebook.mixes import MixRow
from nesting.notebook.reams import ReamRow

from .common import columns, some

if TYPE_CHECKING:
    from nesting.draw.ream_page import Choice
    from nesting.lengths import Unit
    from nesting.sheets import Sheet

# The fields of a row, in the order that CSV and JSON have them.
FIELDS = (
    "paper", "bought", "in_stock", "books_in_stock", "width_mm", "height_mm", "grain", "grain_known", "count", "folios_a_sheet",
    "books", "sheets_used", "sheets_over", "folios_over", "waste", "proven", "any_grain_folios_a_sheet", "any_grain_books",
    "any_grain_waste", "sheets_short", "cuts_a_lift", "lifts", "price_a_book",
)  # fmt: skip
MIXED = (
    "paper", "bought", "in_stock", "width_mm", "height_mm", "grain", "grain_known", "count", "rounds", "rounds_at_most", "books",
    "books_at_most", "sheets_used", "sheets_over", "sheets_short", "waste", "layouts", "cuts", "lifts", "price_a_book", "proven",
)  # fmt: skip
Table = list[list[str]]


@dataclass(frozen=True)
class Told:
    """The rows of each format alone, and of all together; `shares` as `mix_rows` has them."""

    formats: Sequence[Format]
    count: int
    shares: Sequence[int]
    alone: Sequence[Sequence[ReamRow]]
    mixed: Sequence[MixRow]
    unit: Unit
    money: str

    def as_csv(self) -> str:
        """One line a row; of several formats those of all together, a column for the books of each."""
        if len(self.formats) == 1:
            return _csv(FIELDS, [_values(row) for row in self.alone[0]])
        names = [f"books {f.name}" for f in self.formats]
        rows = []
        for row in self.mixed:
            values = _mixed_values(row, self.formats)
            books = values.pop("books")
            rows.append({**values, "layouts": len(row.layouts), **{f"books {name}": n for name, n in books.items()}})
        return _csv([f for f in MIXED if f != "books"] + names, rows)

    def as_json(self) -> dict[str, Any]:
        """Everything."""
        if len(self.formats) == 1:
            one = self.formats[0]
            return {"format": one.name, "folios": one.folios, "count": self.count, "rows": [_values(r) for r in self.alone[0]]}
        return {"formats": [{"format": f.name, "folios": f.folios, "share": s, "rows": [_values(r) for r in rows]}
                            for f, s, rows in zip(self.formats, self.shares, self.alone, strict=True)],
                "count": self.count, "together": [_mixed_values(row, self.formats) for row in self.mixed]}  # fmt: skip

    def as_text(self) -> str:
        """The table with its heading and notes. Raises ImpossibleJob where no paper gives anything."""
        return self._one() if len(self.formats) == 1 else self._together()

    def _one(self) -> str:
        format, rows = self.formats[0], self.alone[0]
        large = [row for row in rows if row.pieces_any]
        small = sorted({row.paper for row in rows if not row.pieces_any})
        size, rule = _folio(format, self.unit)
        if not large:
            raise ImpossibleJob({format.blanks()[-1].name: f"{size} fits on none of these papers: {', '.join(small)}."})
        ruled = rule != "grain any way"
        bought, priced = any(row.bought for row in large), any(row.price is not None for row in large)
        figures = ["a sheet", "books", "sheets over", "short", "waste", "cuts"]
        table = [["paper", "size", "grain"] + (["in stock"] if bought else []) + figures + (["a book"] if priced else [])
                 + (["wrong grain too"] if ruled else [])]  # fmt: skip
        for row in large:
            cells = [row.paper, self._size(row), _grain(row)]
            if bought:
                cells.append("" if row.in_stock is None else f"{row.in_stock:,}, {row.books_in_stock:,} books")
            cells += [f"{row.pieces:,}{'' if row.proven else '+'}", f"{row.books:,}", f"{row.sheets_over:,}",
                      "" if row.sheets_short is None else f"{row.sheets_short:,}", f"{row.waste:.1%}",
                      f"{row.cuts:,}" if row.pieces else ""]  # fmt: skip
            cells += [self._price(row.price)] if priced else []
            if ruled:
                cells.append(f"{row.pieces_any:,} a sheet, {row.books_any:,} books" if row.needs_wrong_grain else "")
            table.append(cells)
        heading = f"{format.name}: folio {size}, {format.folios} a book, {rule}; {self.count:,} sheets of each paper"
        left = {0, 1, 2, len(table[0]) - 1} if ruled else {0, 1, 2}
        notes = [("Grain: along the long or the short side of the sheet. " if ruled else "") + "Waste: what no folio gets. "
                 "Short: sheets that the next book would take.",
                 f"Cuts: pulls of the lever for one lift, equal strips stacked{_true_up(self.formats)}."
                 + (f" A book: its pages, in {self.money or 'your money'}." if priced else "")]  # fmt: skip
        return "\n".join([heading, "", _aligned(table, left), "", *notes, *_remarks(large),
                          *([f"Too small for a folio: {', '.join(small)}."] if small else [])])  # fmt: skip

    def _together(self) -> str:
        lines = [f"{f.name}: folio {size}, {f.folios} a book, {rule}"
                 for f in self.formats for size, rule in [_folio(f, self.unit)]]  # fmt: skip
        papers = sorted({row.paper for rows in self.alone for row in rows})
        small = [name for name in papers if name not in {row.paper for row in self.mixed}]
        if not self.mixed:
            raise ImpossibleJob({listed(f.name for f in self.formats): f"not all fit on one sheet of: {', '.join(small)}."})
        priced = any(row.price is not None for row in self.mixed)
        heads = ["paper", "size", "grain", *(f.name for f in self.formats), "sheets over", "short", "waste", "layouts", "cuts"]
        table = [heads + (["a book"] if priced else []) + ["or alone"]]
        books = [{(r.paper, r.grain): r.books for r in rows} for rows in self.alone]
        for row in self.mixed:
            alone = " or ".join(f"{by.get((row.paper, row.grain), by.get((row.paper, 'any'), 0)):,}" for by in books)
            table.append([row.paper, self._size(row), _grain(row),
                          *(f"{n:,}{'' if row.proven else '+'}" for n in row.books), f"{row.sheets_over:,}",
                          "" if row.sheets_short is None else f"{row.sheets_short:,}", f"{row.waste:.1%}", str(len(row.layouts)),
                          f"{row.cuts:,}", *([self._price(row.price)] if priced else []), alone])  # fmt: skip
        notes = [f"{self._aim()} Waste: what no book gets of the sheets used.",
                 f"Short: sheets that one more {'of each' if any(self.shares) else 'book'} would take.",
                 f"Cuts: pulls of the lever for one lift of each layout, equal strips stacked{_true_up(self.formats)}."
                 + (f" A book: its pages on average, in {self.money or 'your money'}." if priced else "")]  # fmt: skip
        body = _aligned(table, {0, 1, 2, len(table[0]) - 1})
        lines.append(f"Together from {self.count:,} sheets of each paper:")
        left = [f"Not for all of them (too small, or ruled so that lines must meet): {', '.join(small)}."] if small else []
        return "\n".join([*lines, "", body, "", *notes, *_remarks(self.mixed), *left])

    def _aim(self) -> str:
        if not any(self.shares):
            return "The most books in all, whichever they are."
        if len(set(self.shares)) == 1:
            return "As many of each as can be, then the most books in all."
        return f"In the ratio {':'.join(map(str, self.shares))} as far as can be, then the most books in all."

    def _size(self, row: ReamRow | MixRow) -> str:
        return f"{number(row.width, self.unit)} x {show(row.height, self.unit)}"

    def _price(self, price: float | None) -> str:
        return "" if price is None else f"{price:.2f}"

    def page(self, sheets: dict[str, Sheet]) -> tuple[list[Choice], dict[str, str], str, str]:
        """Choices, key, title and subtitle of the picture."""
        from dataclasses import replace

        from nesting.draw.ream_page import Choice

        rows: list[ReamRow | MixRow] = [r for r in self.alone[0] if r.books] if len(self.formats) == 1 else list(self.mixed)
        choices = []
        for row in rows[:3]:
            sheet = replace(sheets[row.paper], count=1)
            x0, y0, x1, y1 = sheet.box
            if row.grain != "any" and sheet.grain is None:
                sheet = replace(sheet, grain="x" if (row.grain == "long") == (x1 - x0 >= y1 - y0) else "y")
            lines = [f"{self._size(row)}" + (f", grain along the {row.grain} side" if row.grain != "any" else ""),
                     *self._gives(row), f"{row.sheets_used:,} sheets used, {row.sheets_over:,} over",
                     f"{row.waste:.1%} waste, {row.cuts} cuts a lift{f', {row.lifts} lifts' if row.lifts else ''}"]  # fmt: skip
            if row.sheets_short is not None:
                lines.append(f"{some(row.sheets_short, 'sheet')} short for one more")
            if row.price is not None:
                lines.append(f"{row.price:.2f} {self.money} a book (pages)".replace("  ", " "))
            if not row.proven:
                lines.append("time was short; more may be possible")
            layouts = row.layouts if isinstance(row, MixRow) else (row.layout,) if row.layout else ()
            choices.append(Choice(row.paper, tuple(lines), sheet, layouts))
        keys = {}
        for f in self.formats:
            size, _ = _folio(f, self.unit)
            keys[f.blanks()[-1].name] = f"{f.name}: folio {size}, {f.folios} a book"
        subtitle = self._aim() if len(self.formats) > 1 else "Least waste first."
        return choices, keys, f"{listed(f.name for f in self.formats)} from {self.count:,} sheets", subtitle

    def _gives(self, row: ReamRow | MixRow) -> list[str]:
        if isinstance(row, MixRow):
            return [", ".join(f"{n:,} {f.name}" for n, f in zip(row.books, self.formats, strict=True))]
        return [some(row.pieces, "folio") + " a sheet", some(row.books, "book")]


def _csv(fields: Sequence[str], rows: list[dict[str, Any]]) -> str:
    out = io.StringIO()
    writer = csv.DictWriter(out, fields, lineterminator="\n")
    writer.writeheader()
    writer.writerows(rows)
    return out.getvalue().rstrip("\n")


def _values(row: ReamRow) -> dict[str, Any]:
    values = (row.paper, row.bought, row.in_stock, row.books_in_stock, mm(row.width), mm(row.height), row.grain,
              row.grain_known, row.count, row.pieces, row.books, row.sheets_used, row.sheets_over, row.folios_over,
              round(row.waste, 6), row.proven, row.pieces_any, row.books_any, round(row.waste_any, 6), row.sheets_short, row.cuts,
              row.lifts, None if row.price is None else round(row.price, 6))  # fmt: skip
    return dict(zip(FIELDS, values, strict=True))


def _mixed_values(row: MixRow, formats: Sequence[Format]) -> dict[str, Any]:
    books = {f.name: n for f, n in zip(formats, row.books, strict=True)}
    layouts = [{"sheets": layout.copies, "folios": layout.counts()} for layout in row.layouts]
    values = (row.paper, row.bought, row.in_stock, mm(row.width), mm(row.height), row.grain, row.grain_known, row.count,
              row.rounds, row.rounds_most, books, row.books_most, row.sheets_used, row.sheets_over, row.sheets_short,
              round(row.waste, 6), layouts, row.cuts, row.lifts, None if row.price is None else round(row.price, 6),
              row.proven)  # fmt: skip
    return dict(zip(MIXED, values, strict=True))


def _folio(format: Format, unit: Unit) -> tuple[str, str]:
    """The folio's size and its grain rule in words."""
    folio = format.blanks()[-1]
    rule = format.grains.folio[0] if isinstance(format.grains.folio, tuple) else format.grains.folio
    words = {"spine": "grain along the spine", "across": "grain across the spine", "off": "grain any way"}
    return f"{number(folio.width, unit)} x {show(folio.height, unit)}", words[rule]


def _true_up(formats: Sequence[Format]) -> str:
    """That the second cut after halving is not counted, where there is one."""
    return ", without the true-up" if any(f.true_up and "folio" in f.true_up_for for f in formats) else ""


def _aligned(table: Table, left: set[int]) -> str:
    widths = [max(len(row[i]) for row in table) for i in range(len(table[0]))]
    return columns([[cell if i in left else cell.rjust(widths[i]) for i, cell in enumerate(row)] for row in table])


def _grain(row: ReamRow | MixRow) -> str:
    return row.grain if row.grain_known or not row.bought else f"{row.grain}?"


def _remarks(rows: Sequence[ReamRow | MixRow]) -> list[str]:
    out = []
    if any(row.bought and not row.grain_known for row in rows):
        out.append("?: the grain of this paper is not in the stock book. Bend or tear a sheet to find it.")
    if any(not row.proven for row in rows):
        out.append("+: time was short; more may be possible.")
    return out
