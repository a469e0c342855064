"""Whether paper is conserved at a cut: sheet = pieces + offcuts + shavings, in doubled square ticks of one copy.

`rounding` is what is left over because corners of slanted edges lie on whole ticks (design.md section 3, "Area"); it is
0 where every edge and every cut is parallel to the axes.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from inventory.stock import StockSheet
from nesting import InputError
from nesting.layouts import Layout

from . import contents

# Ticks a corner may move: the outward rule of holes (2) and the way to a whole tick (1).
_CORNER = 3


def areas_of(parent: StockSheet, layout: Layout, offcuts: Sequence[Mapping[str, Any]]) -> dict[str, int]:
    """The areas that the entry of a cut records, as the book has them.

    Parts of an offcut that hang together only at a point fall off and are shavings. Raises InputError where more
    comes back than the plan says.
    """
    sheet, pieces, shavings = parent.sheet.area2, layout.areas.pieces, layout.areas.shavings
    kept = sum(contents.doubled_area(d) for d in offcuts)
    rounding = sheet - pieces - kept - shavings
    limit = _slack(contents.document(parent), offcuts, layout.frame_deg)
    if rounding > limit:
        shavings, rounding = shavings + rounding, 0
    if rounding < -limit:
        raise InputError(f"plan, sheet {layout.sheet}, area_mm2", "areas that add up to the sheet in the stock book",
                         "more paper than there is", "Plan again on the stock as it is now.")  # fmt: skip
    return {"sheet": sheet, "pieces": pieces, "offcuts": kept, "shavings": shavings, "rounding": rounding}


def conserved(part: Mapping[str, Any], sheet: Mapping[str, Any]) -> bool:
    """Whether the recorded cut of a sheet adds up, recomputed from what came in and what went out."""
    a = part["areas"]
    whole = contents.doubled_area(sheet)
    kept = sum(contents.doubled_area(offcut) for offcut in part["offcuts"])
    pieces = sum(2 * p["count"] * p["width"] * p["height"] for p in part["pieces"])
    return (
        (a["sheet"], a["pieces"], a["offcuts"]) == (whole, pieces, kept)
        and a["shavings"] >= 0
        and whole == pieces + kept + a["shavings"] + a["rounding"]
        and abs(a["rounding"]) <= _slack(sheet, part["offcuts"], part["frame_deg"])
    )


def _slack(sheet: Mapping[str, Any], offcuts: Sequence[Mapping[str, Any]], frame_deg: float) -> float:
    """The most that rounding can make: every edge moved by `_CORNER` sweeps its length times that, doubled."""
    papers = (sheet, *offcuts)
    if frame_deg == 0 and all(_square(d) for d in papers):
        return 0.0
    edges = sum(len(d["outline"]) + sum(len(h) for h in d["holes"]) for d in papers)
    return 2 * _CORNER * (sum(contents.perimeter(d) for d in papers) + _CORNER * edges)


def _square(d: Mapping[str, Any]) -> bool:
    rings = (d["outline"], *d["holes"])
    return all(a[0] == b[0] or a[1] == b[1] for r in rings for a, b in zip(r, (*r[1:], r[0]), strict=True))
