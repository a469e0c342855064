"""A plan of folios whose lines meet, from one ruled paper: whole sheets alike, and one cut for the rest."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from nesting import __version__
from nesting.blanks import Blank
from nesting.cutters import Cutter
from nesting.errors import InputError
from nesting.geometry import Box
from nesting.layouts import Cut, Layout, Node, Piece, Shavings
from nesting.plans import Bound, MadeWith, Plan
from nesting.search.arguments import checked_cutter, checked_least, checked_sheets, replace_worth
from nesting.sheets import Sheet

from .ruled import Meeting, most_that_meet


def plan_that_meets(sheet: Sheet, blank: Blank, cutter: Cutter | None = None, least_offcut: Any = None) -> Plan:
    """The blank's quantity from as few copies of one ruled sheet as can be, every folio with the same lines.

    `sheet`: with its count (None: no limit). `least_offcut`: as for `nesting.plan`. What the sheets do not give stays short.
    Raises InputError, ImpossibleJob.
    """
    if not blank.lines_meet:
        raise InputError(f"blank {blank.name}, lines_meet", "yes", "no", "Plan it with nesting.plan.")
    if blank.quantity is None:
        raise InputError(f"blank {blank.name}, quantity", "how many folios", "no limit")
    wanted = blank.quantity
    (sheet,), blank, cutter = checked_sheets([sheet]), replace_worth(blank), checked_cutter(cutter)
    least = checked_least(least_offcut, [blank])
    found = most_that_meet(sheet, blank, cutter)
    room = sheet.count
    whole = wanted // found.count if room is None else min(wanted // found.count, room)
    rest = 0 if whole == room else wanted - whole * found.count
    layouts: list[Layout] = []
    for copies, pieces in ((whole, found.count), (1, rest)):
        if copies and pieces:
            named = sum(len(layout.offcuts) for layout in layouts)
            layouts.append(_layout(sheet, blank, found, pieces, cutter, least, copies, named))
    made = sum(len(layout.pieces) * layout.copies for layout in layouts)
    bound = _bound(sheet, blank, found, made, sum(layout.copies for layout in layouts))
    return Plan((sheet,), (blank,), tuple(layouts), ((blank.name, wanted - made),), bound,
                MadeWith(__version__, "least-stock", 0, 0, None), cutter, least_offcut=least)  # fmt: skip


def _bound(sheet: Sheet, blank: Blank, found: Meeting, made: int, sheets: int) -> Bound:
    assert blank.quantity is not None and blank.worth is not None and sheet.cost is not None
    short = blank.quantity - made
    if short:
        most = found.limit * (sheet.count or 0)
        achieved, limit = short * blank.worth, max(0, blank.quantity - most) * blank.worth
    else:
        achieved, limit = sheets * sheet.cost, -(-blank.quantity // found.limit) * sheet.cost
    measure = "unmade worth" if short else "stock cost"
    proven = achieved == limit
    return Bound("least", measure, achieved, limit, proven, "frames", (0.0,), "proof" if proven else "steps")  # type: ignore[arg-type]


def _layout(sheet: Sheet, blank: Blank, found: Meeting, pieces: int, cutter: Cutter | None, least: tuple[int, int], copies: int,
            named: int) -> Layout:  # fmt: skip
    """The sheet with the first of the folios, heads first."""
    from nesting.search.building import build
    from nesting.search.sheet.ground import ground

    boxes = sorted(found.boxes, key=lambda box: (-box[3], box[0]) if found.turn == 0 else (box[0], box[1]))[:pieces]
    where = ground(sheet, 0.0, cutter)
    tree = tree_of(where.box, [(box, Piece(box, blank.name, found.turn)) for box in boxes])
    return build(where, tree, cutter, least, copies, named=named, fixed=frozenset(boxes))


def tree_of(box: Box, pieces: Sequence[tuple[Box, Node]]) -> Node:
    """Edge-to-edge cuts that part these pieces; they must be such that cuts can part them.

    Paper around them all is cut off first, the wider strip first; then the cut that parts them most evenly.
    """
    if not pieces:
        return Shavings(box)
    if len(pieces) == 1 and pieces[0][0] == box:
        return pieces[0][1]
    around = tuple(f(p[0][i] for p in pieces) for i, f in enumerate((min, min, max, max)))
    waste = max(range(4), key=lambda side: (abs(around[side] - box[side]), -side))
    if around[waste] != box[waste]:
        return _cut(box, waste % 2, around[waste], pieces)
    places = [(axis, piece[0][axis + 2]) for axis in (0, 1) for piece in pieces if piece[0][axis + 2] < box[axis + 2]]
    able = [(axis, at) for axis, at in places if all(p[0][axis] >= at or p[0][axis + 2] <= at for p in pieces)]
    if not able:
        raise AssertionError("these pieces cannot be parted by cuts")

    def uneven(place: tuple[int, int]) -> tuple[int, tuple[int, int]]:
        axis, at = place
        return abs(2 * sum(p[0][axis] >= at for p in pieces) - len(pieces)), place

    axis, at = min(able, key=uneven)
    return _cut(box, axis, at, pieces)


def _cut(box: Box, axis: int, at: int, pieces: Sequence[tuple[Box, Node]]) -> Cut:
    x0, y0, x1, y1 = box
    low, high = ((x0, y0, at, y1), (at, y0, x1, y1)) if axis == 0 else ((x0, y0, x1, at), (x0, at, x1, y1))
    below = [p for p in pieces if p[0][axis + 2] <= at]
    return Cut(box, "x" if axis == 0 else "y", at, tree_of(low, below), tree_of(high, [p for p in pieces if p not in below]))
