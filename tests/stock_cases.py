"""Hand-made plans on plain sheets, small enough to check by eye, for the tests of the stock book and the commands."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from inventory.book import Book
from inventory.stock import StockSheet
from nesting import Blank, Plan, Sheet
from nesting.layouts import Areas, Cut, Layout, Offcut, OffcutPiece, Piece, Placed, Shavings
from nesting.lengths import TICKS_PER_MM as MM
from nesting.plans import Bound, MadeWith

TIME = "2026-03-01T18:00:00+00:00"


def stock(id: str, width: float = 420, height: float = 297, count: int = 1, **more: object) -> StockSheet:
    """A plain salvaged sheet of cover paper, mm."""
    return StockSheet(Sheet.rectangle(id, width, height, count=count, grain="x", material="cover"), **more)  # type: ignore[arg-type]


def corner_layout(sheet: Sheet, width: int, height: int, copies: int, blank: str = "card") -> Layout:
    """One piece in the low left corner of a rectangle; above it an offcut, right of it another (or shavings of 0 mm).

    Sizes in ticks; both must be smaller than the sheet.
    """
    x0, y0, x1, y1 = sheet.box
    a, b = f"{sheet.id}-a", f"{sheet.id}-b"
    left = (x0, y0, width, y1)
    tree = Cut(sheet.box, "x", width,
               Cut(left, "y", height, Piece((x0, y0, width, height), blank, 0), Offcut((x0, height, width, y1), a)),
               Offcut((width, y0, x1, y1), b))  # fmt: skip
    outlines = {box.id: _ring(box.box) for box in (tree.low.high, tree.high)}  # type: ignore[union-attr]
    whole, piece = 2 * (x1 - x0) * (y1 - y0), 2 * width * height
    return Layout(sheet.id, copies, 0.0, (0, 0), tree,
                  (Placed(blank, 0, _ring((x0, y0, width, height))),),
                  tuple(OffcutPiece(id, copies, outline) for id, outline in outlines.items()),
                  Areas(whole, piece, whole - piece, 0))  # fmt: skip


def whole_layout(sheet: Sheet, copies: int, blank: str = "card") -> Layout:
    """One piece as large as the sheet less a strip of 1 mm on the right, which is shavings."""
    x0, y0, x1, y1 = sheet.box
    at = x1 - MM
    tree = Cut(sheet.box, "x", at, Piece((x0, y0, at, y1), blank, 0), Shavings((at, y0, x1, y1)))
    whole, piece = 2 * (x1 - x0) * (y1 - y0), 2 * (at - x0) * (y1 - y0)
    return Layout(sheet.id, copies, 0.0, (0, 0), tree, (Placed(blank, 0, _ring((x0, y0, at, y1))),), (),
                  Areas(whole, piece, 0, whole - piece))  # fmt: skip


def plan_of(sheets: Sequence[Sheet], layouts: Sequence[Layout]) -> Plan:
    """A plan that makes just what its layouts give, one size a layout; it is proven, since nothing more is wanted."""
    blanks, named = [], []
    for index, layout in enumerate(layouts):
        placed = layout.pieces[0]
        (x0, y0), _, (x1, y1), _ = placed.corners
        name = f"card {index + 1}"
        blanks.append(Blank(name, (x1 - x0) / MM, (y1 - y0) / MM, layout.copies))
        named.append(_renamed(layout, name))
    worth = sum(blank.area_mm2 * (blank.quantity or 0) for blank in blanks)
    return Plan(tuple(sheets), tuple(blanks), tuple(named), tuple((blank.name, 0) for blank in blanks),
                Bound("most", "worth", worth, worth, True, "frames", (0.0,), "proof"),
                MadeWith("0.1.0", "most-worth", 0, 10.0, None))  # fmt: skip


def corner_plan(book: Book, ids: Sequence[str], copies: int = 1, width: int = 100 * MM, height: int = 90 * MM) -> Plan:
    """A plan of the book as it is now: one corner piece from each of these sheets."""
    sheets = [book.get(id).sheet for id in ids]
    return book.stamp(plan_of(sheets, [corner_layout(sheet, width, height, copies) for sheet in sheets]))


def filled(path: Path, *sheets: StockSheet) -> Path:
    """A book in a file with these sheets, received at TIME."""
    with Book.open(path, create=True) as book:
        book.receive(sheets, TIME)
    return path


def _renamed(layout: Layout, name: str) -> Layout:
    from dataclasses import replace

    def node(n: object) -> object:
        if isinstance(n, Cut):
            return replace(n, low=node(n.low), high=node(n.high))  # type: ignore[arg-type]
        return replace(n, blank=name) if isinstance(n, Piece) else n

    return replace(layout, tree=node(layout.tree), pieces=tuple(replace(p, blank=name) for p in layout.pieces))  # type: ignore[arg-type]


def _ring(box: tuple[int, int, int, int]) -> tuple[tuple[int, int], ...]:
    x0, y0, x1, y1 = box
    return ((x0, y0), (x1, y0), (x1, y1), (x0, y1))
