"""What `fill` and `plan` accept: checked whole before any search, and what comes later refused by name."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import Any

from ..blanks import Blank
from ..cutters import Cutter
from ..errors import InputError, finite
from ..lengths import Length, show, ticks
from ..sheets import Sheet
from .budget import check_search_arguments

MOST_BLANKS = 2_000
MOST_SHEETS = 20_000
MOST_ON_A_SHEET = 20_000


def checked_blanks(blanks: Sequence[Blank]) -> tuple[Blank, ...]:
    """The blanks, each with its worth filled in (its area in mm2). Raises InputError."""
    out = list(blanks)
    if not out:
        raise InputError("blanks", "at least one blank", "none", "Name what is to be cut.")
    if len(out) > MOST_BLANKS:
        raise InputError("blanks", f"at most {MOST_BLANKS:,} different blanks", f"{len(out):,}")
    names: set[str] = set()
    for blank in out:
        if not isinstance(blank, Blank):
            raise InputError("blanks", "Blank values", blank)
        if blank.name in names:
            raise InputError("blanks", "names that differ", f"two named {blank.name!r}", "Rename one, or add up the quantities.")
        if blank.lines_meet:
            raise InputError(f"blank {blank.name}, lines_meet", "no: lines that meet are planned for one ruled paper at a time",
                             "yes", "See nesting.notebook.ruled, or run: quirestock notebook folios.")  # fmt: skip
        names.add(blank.name)
    return tuple(replace_worth(b) for b in out)


def replace_worth(blank: Blank) -> Blank:
    """The blank with its worth filled in."""
    if blank.worth is not None:
        return blank
    from ..lengths import mm

    front = None if blank.front is None else [mm(v) for v in blank.front]
    return Blank(blank.name, mm(blank.width), mm(blank.height), blank.quantity, blank.turns, blank.grain, blank.up,
                 blank.area_mm2, blank.material, front, blank.lines_meet)  # fmt: skip


def checked_sheets(sheets: Sequence[Sheet]) -> tuple[Sheet, ...]:
    """The sheets, each with its cost filled in (its area in mm2 where none carries one). Raises InputError."""
    out = list(sheets)
    if not out:
        raise InputError("sheets", "at least one sheet", "none", "Add sheets to the pile first.")
    if len(out) > MOST_SHEETS:
        raise InputError("sheets", f"at most {MOST_SHEETS:,} sheets", f"{len(out):,}")
    ids: set[str] = set()
    for sheet in out:
        if not isinstance(sheet, Sheet):
            raise InputError("sheets", "Sheet values", sheet)
        if sheet.id in ids:
            raise InputError("sheets", "ids that differ", f"two sheets {sheet.id!r}")
        ids.add(sheet.id)
    priced = [sheet.id for sheet in out if sheet.cost is not None]
    if priced and len(priced) < len(out):
        bare = next(sheet.id for sheet in out if sheet.cost is None)
        raise InputError(f"sheet {bare}, cost", f"a cost, as sheet {priced[0]} carries one", "none",
                         "Give every sheet a cost, or none.")  # fmt: skip
    return tuple(s if s.cost is not None else replace(s, cost=s.area_mm2) for s in out)


def check_room(sheets: Sequence[Sheet], blanks: Sequence[Blank]) -> None:
    """Raises InputError where more pieces could lie on one sheet than a person could cut or a search could place."""
    wanted = [b.quantity for b in blanks]
    total = None if None in wanted else sum(q or 0 for q in wanted)
    for sheet in sheets:
        own = [b for b in blanks if b.material is None or b.material == sheet.material]
        if own:
            small = min(own, key=lambda b: (b.width * b.height, b.name))
            room = sheet.area2 // (2 * small.width * small.height)
            if min(room, room if total is None else total) > MOST_ON_A_SHEET:
                raise InputError(f"sheet {sheet.id}", f"room for at most {MOST_ON_A_SHEET:,} pieces",
                                 f"room for {room:,} of {small.name}",
                                 "Check the units; else plan a part of the sheet, or leave the smallest blanks out.")  # fmt: skip


def checked_cutter(cutter: Any) -> Cutter | None:
    """The cutter; settings that the search does not plan for yet are refused by name. Raises InputError."""
    if cutter is None:
        return None
    if not isinstance(cutter, Cutter):
        raise InputError("cutter", "a Cutter or None", cutter)
    for name in ("gutter", "true_up", "step"):
        value = getattr(cutter, name)
        if value:
            raise InputError(f"cutter, {name}", "0 or none", show(value), "Planning with it comes later: leave it out for now.")
    return cutter


def checked_least(least_offcut: Any, blanks: Sequence[Blank]) -> tuple[int, int]:
    """The smallest useful offcut in ticks: as given, else the smallest blank of the job. Raises InputError."""
    if least_offcut is None:
        small = min(blanks, key=lambda b: (b.width * b.height, b.width, b.name))
        return small.width, small.height
    pair: Sequence[Length]
    try:
        pair = list(least_offcut)
    except TypeError:
        pair = []
    if len(pair) != 2:
        raise InputError("least_offcut", "a width and a height, or None", least_offcut)
    width, height = (ticks(v, "up", "least_offcut") for v in pair)
    if width <= 0 or height <= 0:
        raise InputError("least_offcut", "lengths above 0", least_offcut)
    return width, height


def checked_rest(seconds: Any, steps: Any, seed: Any, workers: Any, best_rate: Any) -> None:
    """Raises InputError for search arguments out of range."""
    check_search_arguments(seconds, steps, seed, workers)
    if not finite(best_rate) or not 0 <= best_rate <= 1e9:
        raise InputError("best_rate", "a number of 0 or more: the worth of one mm2 of best area", best_rate)
