"""Judges a plan: every fault in a sentence, none when it is sound.

The checker imports the data types and the plan document, and shares nothing with the search: its predicates work on
whole numbers (`nesting.checking.exact`), and it finds what the cuts leave of a sheet in its own way
(`nesting.checking.paper`). In unturned frames everything is exact; in turned ones coordinates agree within a tick or two.

It judges inside, apart, sizes, turns, grain, print, material; lines that must meet; the cuts, pieces and offcuts they give;
areas, best areas shown; names, stock and numbers; the pieces chosen beforehand; squaring up and gutters; the bound's
arithmetic. Not judged: whether the bound's limit is as good as it could be, and what of the cutter concerns single settings
of the fence (longest cut, lift, clamp, fence, true-up, scale).
"""

from __future__ import annotations

from collections.abc import Iterator

from .blanks import Blank
from .checking.best import best_faults
from .checking.bounds import bound_faults
from .checking.chosen import chosen_faults
from .checking.counting import id_faults, made, name_faults, number_faults, stock_faults
from .checking.faults import Fault
from .checking.offcuts import area_faults, offcut_faults
from .checking.paper import Paper, lay
from .checking.placing import agreement_faults, apart_faults, known, piece_faults, placed_box, squaring_faults
from .checking.ruled import ruling_faults
from .checking.trees import leaves, root_faults, tree_faults
from .layouts import Layout
from .plans import Plan
from .sheets import Sheet

__all__ = ["Fault", "check"]


def check(plan: Plan) -> tuple[Fault, ...]:
    """Everything that is wrong with a plan, in the order of the plan; empty when it is sound.

    Never raises for a plan that `Plan.from_dict` accepts.
    """
    names = tuple(name_faults(plan))
    stock = tuple(stock_faults(plan))
    sheets = {sheet.id: sheet for sheet in plan.sheets}
    blanks = {blank.name: blank for blank in plan.blanks}
    faults = [*id_faults(plan), *names, *stock]
    papers: dict[tuple[str, float, tuple[int, int]], Paper] = {}
    for number, layout in enumerate(plan.layouts, 1):
        sheet = sheets.get(layout.sheet)
        where = f"layout {number} (sheet {layout.sheet})"
        faults += known(layout.pieces, blanks, where)
        faults += tree_faults(layout.tree, where)
        if not -45 < layout.frame_deg <= 45:
            faults.append(Fault("frame", where, "A frame is turned by more than -45 and at most 45 degrees; this one by "
                                f"{layout.frame_deg:g}."))  # fmt: skip
        elif sheet is not None:
            key = sheet.id, layout.frame_deg, layout.origin
            if key not in papers:
                papers[key] = lay(sheet, layout.frame_deg, layout.origin)
            faults += _layout_faults(plan, layout, sheet, blanks, papers[key], where)
    got = made(plan)
    faults += number_faults(plan, got)
    faults += chosen_faults(plan)
    faults += ruling_faults(plan)
    wrong = {"unknown", "sets", "duplicate"}
    faults += bound_faults(plan, got, not any(fault.code in wrong for fault in (*names, *stock)))
    return tuple(faults)


def _layout_faults(plan: Plan, layout: Layout, sheet: Sheet, blanks: dict[str, Blank], paper: Paper,
                   where: str) -> Iterator[Fault]:  # fmt: skip
    """All that can be said of one layout of a known sheet."""
    if layout.frame_deg == 0 and layout.origin != (0, 0):
        yield Fault("frame", where, "The frame is not turned, so its zero must be that of the sheet.")
    yield from root_faults(layout.tree, paper, where)
    ends = leaves(layout.tree)
    yield from agreement_faults(layout, ends, paper, where)
    pieces: int | None = 0
    boxes = []
    for number, piece in enumerate(layout.pieces, 1):
        boxes.append((placed_box(piece, paper.frame), f"piece {number} ({piece.blank})"))
        blank = blanks.get(piece.blank)
        if blank is None:
            pieces = None
            continue
        if pieces is not None:
            pieces += 2 * blank.width * blank.height
        yield from piece_faults(piece, blank, sheet, paper, f"{where}, piece {number} ({piece.blank})")
    cutter = plan.cutter
    yield from apart_faults(boxes, paper, cutter.gutter if cutter else 0, where)
    if cutter is not None and cutter.square_up > 0:
        yield from squaring_faults(boxes, paper, sheet.true_edges, cutter.square_up, where)
    found, offcuts, loose = offcut_faults(layout, ends, paper, plan.least_offcut, where)
    yield from found
    yield from area_faults(layout, ends, paper, pieces, offcuts, loose, where)
    yield from best_faults(layout, sheet, blanks, paper, where)
