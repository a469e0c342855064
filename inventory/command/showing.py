"""How a sheet in stock is shown: as a row, as facts in words, as JSON."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from inventory.stock import StockSheet
    from nesting.lengths import Unit

HEADING = ["id", "count", "width", "height", "kind", "material", "grain", "from"]


def row(stock: StockSheet, shown: Unit) -> list[str]:
    """One row under HEADING."""
    return [stock.id, str(stock.sheet.count), *size(stock, shown), stock.kind, stock.sheet.material or "-", grain(stock),
            stock.parent or stock.source or ""]  # fmt: skip


def size(stock: StockSheet, shown: Unit) -> tuple[str, str]:
    """Width and height over all."""
    from nesting.lengths import show_short

    x0, y0, x1, y1 = stock.sheet.box
    return show_short(x1 - x0, shown), show_short(y1 - y0, shown)


def grain(stock: StockSheet) -> str:
    """The grain in words: across is along the width."""
    return {"x": "across", "y": "up", None: "unknown"}[stock.sheet.grain] + (" guessed" if stock.sheet.grain_guessed else "")


def facts(stock: StockSheet, shown: Unit) -> list[tuple[str, str]]:
    """What is known of a sheet, in words; what is not known is left out."""
    from nesting.lengths import show_short

    s = stock.sheet
    ups = {"+y": "up", "-y": "down", "+x": "to the right", "-x": "to the left"}
    found: list[tuple[str, Any]] = [
        ("sheet", f"{s.id}, {' x '.join(size(stock, shown))}"), ("count", s.count), ("kind", stock.kind),
        ("material", s.material), ("grain", grain(stock)), ("print", ups.get(s.up or "")),
        ("ruling", s.ruling.text(shown) if s.ruling else None),
        ("damage", _areas(len(s.bad))), ("best", _areas(len(s.zones) - len(s.bad))), ("holes", len(s.holes) or None),
        ("inset", show_short(s.inset, shown) if s.inset else None),
        ("caliper", f"{stock.caliper / 8000:g} mm" if stock.caliper else None),
        ("grammage", f"{stock.grammage:g} g/m2" if stock.grammage else None),
        ("price", f"{stock.price:.4g}" if stock.price is not None else None),
        ("glue", {True: "takes glue", False: "takes no glue"}.get(stock.takes_glue)),  # type: ignore[arg-type]
        ("fold", {True: "cracks at a fold", False: "folds well"}.get(stock.cracks_at_fold)),  # type: ignore[arg-type]
        ("cut from", stock.parent), ("source", stock.source), ("note", stock.note), ("as typed", stock.description)]  # fmt: skip
    return [(name, str(value)) for name, value in found if value not in (None, "")]


def as_json(stock: StockSheet) -> dict[str, Any]:
    """A sheet as JSON values, lengths in mm."""
    from nesting.lengths import mm

    def ring(points: Any) -> list[list[int | float]]:
        return [[mm(x), mm(y)] for x, y in points]

    s = stock.sheet
    x0, y0, x1, y1 = s.box
    return {
        "id": s.id, "count": s.count, "kind": stock.kind, "material": s.material, "width_mm": mm(x1 - x0),
        "height_mm": mm(y1 - y0), "area_mm2": s.area_mm2, "grain": s.grain, "grain_guessed": s.grain_guessed, "up": s.up,
        "outline_mm": ring(s.outline),
        "holes_mm": [ring(h) for h in s.holes], "bad_mm": [ring(b) for b in s.bad],
        "best_mm": [{"outline": ring(z.outline), "weight": z.weight} for z in s.zones if z.kind == "best"],
        "true_edges": list(s.true_edges), "inset_mm": mm(s.inset), "cost": s.cost, "unit": stock.unit,
        "caliper_mm": None if stock.caliper is None else mm(stock.caliper), "grammage": stock.grammage, "price": stock.price,
        "source": stock.source, "note": stock.note, "takes_glue": stock.takes_glue, "cracks_at_fold": stock.cracks_at_fold,
        "description": stock.description, "parent": stock.parent}  # fmt: skip


def _areas(count: int) -> str | None:
    return f"{count} areas" if count > 1 else "1 area" if count else None
