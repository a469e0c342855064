"""How a sheet is written into an entry, read back, and checked at the door."""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import Any

from inventory.stock import KINDS, MATERIALS, StockSheet
from nesting import InputError, Sheet
from nesting.geometry import Ring, area2
from nesting.ruling import Lines, Ruling
from nesting.sheets import Zone

_TEXTS = ("source", "note", "description")


def document(stock: StockSheet) -> dict[str, Any]:
    """A sheet as JSON values; every length in ticks, so that it reads back equal."""
    s = stock.sheet
    return {
        "id": s.id, "outline": _rows(s.outline), "holes": [_rows(h) for h in s.holes],
        "zones": [{"kind": z.kind, "outline": _rows(z.outline), "weight": z.weight} for z in s.zones],
        "grain": s.grain, "up": s.up, "true_edges": list(s.true_edges), "inset": s.inset, "count": s.count,
        "cost": s.cost, "material": s.material, "kind": stock.kind, "unit": stock.unit, "caliper": stock.caliper,
        "grammage": stock.grammage, "price": stock.price, "source": stock.source, "note": stock.note,
        "takes_glue": stock.takes_glue, "cracks_at_fold": stock.cracks_at_fold, "description": stock.description,
        "parent": stock.parent, **({"grain_guessed": True} if s.grain_guessed else {}),
        **({"ruling": _ruling_out(s.ruling)} if s.ruling else {})}  # fmt: skip


def stock_sheet(d: Mapping[str, Any], count: int | None = None) -> StockSheet:
    """The sheet of a document, with another count where one is given.

    It was checked at the door, so it is not checked again.
    """
    sheet = Sheet(
        d["id"], _ring(d["outline"]), tuple(_ring(h) for h in d["holes"]),
        tuple(Zone(z["kind"], _ring(z["outline"]), z["weight"]) for z in d["zones"]), d["grain"], d["up"],
        tuple(d["true_edges"]), d["inset"], d["count"] if count is None else count, d["cost"], d["material"],
        d.get("grain_guessed", False), _ruling_in(d.get("ruling")))  # fmt: skip
    return StockSheet(
        sheet, d["kind"], d["unit"], d["caliper"], d["grammage"], d["price"], d["source"], d["note"], d["takes_glue"],
        d["cracks_at_fold"], d["description"], d["parent"])  # fmt: skip


def doubled_area(d: Mapping[str, Any]) -> int:
    """Doubled area of a document's paper in square ticks, holes taken out (shoelace formula)."""
    return abs(area2(_ring(d["outline"]))) - sum(abs(area2(_ring(h))) for h in d["holes"])


def perimeter(d: Mapping[str, Any]) -> float:
    """Length of all edges of a document's paper in ticks."""
    rings = (_ring(d["outline"]), *(_ring(h) for h in d["holes"]))
    return sum(math.dist(a, b) for ring in rings for a, b in zip(ring, (*ring[1:], ring[0]), strict=True))


def checked(stock: StockSheet) -> StockSheet:
    """The sheet, if it may enter the book. Raises InputError naming the sheet and the field."""
    s = stock.sheet
    where = f"sheet {s.id}"
    if s.count is None:
        raise InputError(f"{where}, count", "a whole number", "no limit", "A stock book counts what is there.")
    again = Sheet.from_ticks(s.id, s.outline, holes=s.holes, zones=s.zones, grain=s.grain, up=s.up, count=s.count,
                             true_edges=s.true_edges, cost=s.cost, material=s.material,
                             grain_guessed=s.grain_guessed, ruling=s.ruling)  # fmt: skip
    if (again.outline, again.holes, again.true_edges) != (s.outline, s.holes, s.true_edges):
        raise InputError(f"{where}, outline", "corner points counter-clockwise, none twice", "others",
                         "Make the sheet with Sheet.from_mm or Sheet.from_ticks.")  # fmt: skip
    if isinstance(s.inset, bool) or not isinstance(s.inset, int) or s.inset < 0:
        raise InputError(f"{where}, inset", "ticks, 0 or more", s.inset)
    _one_of(stock.kind, KINDS, f"{where}, kind")
    _one_of(stock.unit, ("mm", "in"), f"{where}, unit")
    if s.material is not None:
        _one_of(s.material, MATERIALS, f"{where}, material")
    for name in _TEXTS:
        if not isinstance(getattr(stock, name), str):
            raise InputError(f"{where}, {name}", "a text", getattr(stock, name))
    if not (stock.parent is None or isinstance(stock.parent, str)):
        raise InputError(f"{where}, parent", "the id of a sheet, or nothing", stock.parent)
    for name in ("caliper", "grammage", "price"):
        _amount(getattr(stock, name), f"{where}, {name}", least=0 if name == "price" else None)
    for name in ("takes_glue", "cracks_at_fold"):
        if getattr(stock, name) not in (None, True, False):
            raise InputError(f"{where}, {name}", "yes, no or nothing", getattr(stock, name))
    return stock


def _ruling_out(ruling: Ruling) -> dict[str, Any]:
    def lines(found: Lines | None) -> list[int] | None:
        return None if found is None else [found.low, found.pitch, found.count]

    return {"kind": ruling.kind, "rows": lines(ruling.rows), "columns": lines(ruling.columns)}


def _ruling_in(d: Mapping[str, Any] | None) -> Ruling | None:
    if d is None:
        return None
    rows, columns = (None if d[key] is None else Lines(*d[key]) for key in ("rows", "columns"))
    return Ruling(d["kind"], rows, columns)


def _one_of(value: object, allowed: tuple[str, ...], field: str) -> None:
    if value not in allowed:
        raise InputError(field, " or ".join(allowed), value)


def _amount(value: object, field: str, least: float | None) -> None:
    if value is None:
        return
    usable = isinstance(value, int | float) and not isinstance(value, bool) and math.isfinite(value)
    if not usable or (value < 0 if least is not None else value <= 0):  # type: ignore[operator]
        raise InputError(field, "a number of 0 or more" if least is not None else "a number above 0", value)


def _rows(ring: Ring) -> list[list[int]]:
    return [[x, y] for x, y in ring]


def _ring(rows: Any) -> Ring:
    return tuple((x, y) for x, y in rows)
