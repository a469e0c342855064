"""How many folios of one ruled sheet carry the same lines, so that lines meet across all pages of a batch.

Lines meet where every folio has the same lines at the same distances from its head, and on squared and dotted stock also
from its spine, alike to both sides of it. The sheet's lines count as they are printed: above its first line there are none.
Lines stand square to the spine and run across it, so both halves of a folded leaf agree by themselves. All heads lie one
way (a folio turned end for end is a folio that someone will bind upside down); on squared and dotted stock all folios also
lie one way, and both ways are tried. Within that the layouts are searched exactly: every place in the pitch that can matter
is tried (`_phases`), each by `nesting.search.phased`.

When cutting ruled stock keep a whole number of pitches from the head: trade.md section 5, common practice, no source.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from typing import Literal

from nesting.blanks import Blank
from nesting.cutters import Cutter
from nesting.errors import ImpossibleJob, InputError
from nesting.geometry import Box, Ring, bounds
from nesting.lengths import mm, show
from nesting.ruling import Lines
from nesting.search.phased import STEPS, Packing, packed, pushed_starts
from nesting.sheets import Sheet

from .formats import Format

Way = Literal[0, 90]
NEAR = 1  # tick: half a pitch or half a folio need not be whole


@dataclass(frozen=True)
class Meeting:
    """The most folios of one sheet whose lines meet: their boxes in sheet coordinates, all with this turn.

    `lines`: how many each carries, the first `head_margin` below its head. `limit`: no layout has more; `proven` where
    it is reached. Lengths in ticks.
    """

    boxes: tuple[Box, ...]
    turn: Way
    lines: int
    head_margin: int
    limit: int

    @property
    def count(self) -> int:
        """How many folios."""
        return len(self.boxes)

    @property
    def proven(self) -> bool:
        """Whether no layout has more."""
        return self.count >= self.limit


@dataclass(frozen=True)
class _View:
    """A sheet seen from its head: u along the head edge, v down from it; `across` and `along` are the lines on each axis."""

    way: Way
    top: int
    usable: Box
    bad: tuple[Box, ...]
    meeting: Lines
    beside: Lines | None

    def back(self, box: Box) -> Box:
        """A box of the view in sheet coordinates."""
        u0, v0, u1, v1 = box
        return (u0, self.top - v1, u1, self.top - v0) if self.way == 0 else (v0, u0, v1, u1)


def most_that_meet(sheet: Sheet, blank: Blank, cutter: Cutter | None = None, steps: int = STEPS) -> Meeting:
    """The most folios of one ruled sheet whose lines meet; the spine stands along the height of `blank`.

    Of layouts with as many folios the one whose heads lie on a line, else the one with most lines a page. `steps`: cuts
    tried at most for one place in the pitch. Raises InputError for a sheet that is not ruled, not a rectangle, or whose
    columns are not known; ImpossibleJob where no folio can lie on it.
    """
    best: Meeting | None = None
    limit = 0
    for way in _ways(sheet, blank):
        view, exact = _seen(sheet, way, cutter)
        for found, lines, margin in _packings(view, blank, 0 if best is None else best.count, steps):
            limit = max(limit, found.limit if exact else max(found.limit, sheet.area2 // (2 * blank.width * blank.height)))
            boxes = tuple(sorted(view.back(box) for box in found.pieces))
            made = Meeting(boxes, way, lines, margin, 0)
            if boxes and (best is None or _rank(made, view) > _rank(best, view)):
                best = made
    if best is None:
        raise ImpossibleJob({blank.name: f"no folio of {show(blank.width)} x {show(blank.height)} with lines on it lies clear of "
                             f"margin line, header and holes of sheet {sheet.id}"})  # fmt: skip
    return replace(best, limit=max(limit, best.count))


def _rank(made: Meeting, view: _View) -> tuple[int, bool, int]:
    return made.count, made.head_margin == view.meeting.pitch, made.lines


def _ways(sheet: Sheet, blank: Blank) -> list[Way]:
    """How a folio may lie so that the lines run square to its spine, grain obeyed. Raises InputError, ImpossibleJob."""
    ruling, where = sheet.ruling, f"sheet {sheet.id}, ruling"
    if ruling is None:
        raise InputError(where, "ruled, dotted or squared stock", "none", "Say how it is ruled: ruled across 8 first 25.")
    if ruling.kind != "ruled" and ruling.columns is None:
        raise InputError(where, "where its first column is", "nothing", f"Write: {ruling.kind} 5 first 10 left 8.")
    ways: dict[Way, bool] = {0: ruling.rows is not None, 90: ruling.columns is not None}
    square = [way for way, there in ways.items() if there]
    allowed = [way for way in square if way in blank.turns_on(sheet)]
    if not allowed:
        raise ImpossibleJob({blank.name: f"on sheet {sheet.id} its lines would not run square to the spine where the grain "
                             "runs as the format wants it"})  # fmt: skip
    return allowed


def _seen(sheet: Sheet, way: Way, cutter: Cutter | None) -> tuple[_View, bool]:
    """The sheet seen from its head, and whether its damage is just the boxes given. Raises InputError."""
    if not _is_box(sheet.outline):
        raise InputError(f"sheet {sheet.id}, outline", "a rectangle, where lines are to meet", "another shape",
                         "Square it up first, or plan it without lines_meet.")  # fmt: skip
    from nesting.search.sheet.ground import ground

    x0, y0, x1, y1 = ground(sheet, 0.0, cutter).usable
    inset, top = sheet.inset, sheet.box[3]
    edge = sheet.box
    x0, y0, x1, y1 = max(x0, edge[0] + inset), max(y0, edge[1] + inset), min(x1, edge[2] - inset), min(y1, edge[3] - inset)
    rings = (*sheet.bad, *sheet.holes)
    boxes = [(a - inset, b - inset, c + inset, d + inset) for a, b, c, d in map(bounds, rings)]

    def seen(box: Box) -> Box:
        a, b, c, d = box
        return (a, top - d, c, top - b) if way == 0 else (b, a, d, c)

    ruling = sheet.ruling
    assert ruling is not None
    rows, columns = ruling.rows, ruling.columns
    if way == 0:
        assert rows is not None
        meeting: Lines = Lines(top - rows.high, rows.pitch, rows.count)
        beside = columns
    else:
        assert columns is not None
        meeting, beside = columns, rows
    exact = all(map(_is_box, rings)) and (inset == 0 or not rings)
    return _View(way, top, seen((x0, y0, x1, y1)), tuple(seen(box) for box in boxes), meeting, beside), exact


def _is_box(ring: Ring) -> bool:
    x0, y0, x1, y1 = bounds(ring)
    return all(x in (x0, x1) and y in (y0, y1) for x, y in ring) and len(ring) == 4


def _packings(view: _View, blank: Blank, at_least: int, steps: int) -> Iterator[tuple[Packing, int, int]]:
    """For every choice of starts whose folios carry the same lines: the best layout, lines a page, first line from the head.

    Choices that cannot give `at_least`, or what one before has given, are told with their limit only.
    """
    u0, _, u1, _ = view.usable
    width, height = blank.width, blank.height
    if view.beside is None:
        beside = [pushed_starts(u0, u1, [box[2] for box in view.bad], width)]
    else:
        beside = list(_alike_beside(view.beside, width, u0, u1))
    for pattern, along in sorted(_alike_along(view, height).items()):
        for across in beside:
            found = packed(view.bad, width, height, across, along, max(at_least - 1, 0), steps)
            at_least = max(at_least, len(found.pieces))
            yield found, len(pattern), pattern[0]


def _alike_along(view: _View, height: int) -> dict[tuple[int, ...], list[int]]:
    """Starts whose folios carry the same lines, by these (distances from the head); folios without a line are none."""
    _, v0, _, v1 = view.usable
    out: dict[tuple[int, ...], list[int]] = {}
    for phase in sorted(_phases(view.meeting, height, (v0, *(box[3] for box in view.bad)))):
        pitch = view.meeting.pitch
        for start in range(v0 + (phase - v0) % pitch, v1 - height + 1, pitch):
            pattern = tuple(line - start for line in view.meeting.between(start, start + height))
            if pattern:
                out.setdefault(pattern, []).append(start)
    return out


def _phases(lines: Lines, height: int, edges: Iterable[int]) -> set[int]:
    """The places in the pitch that can matter.

    Move all folios of a layout together towards the head: nothing changes until one comes to an edge, or its head to a
    line (which would be one more), or its tail to a line (which may be its only one). Then it lies at one of these places,
    with as many folios as before.
    """
    return {at % lines.pitch for at in (lines.low, lines.low - height + 1, *edges)}


def _alike_beside(lines: Lines, width: int, low: int, high: int) -> Iterator[list[int]]:
    """Starts along the head whose folios carry the same columns, alike to both sides of the spine in their middle."""
    out: dict[tuple[int, ...], list[int]] = {}
    for half in (0, 1):  # the spine on a column, or half-way between two
        first = lines.low + (half * lines.pitch - width) // 2
        for start in range(low + (first - low) % lines.pitch, high - width + 1, lines.pitch):
            pattern = tuple(line - start for line in lines.between(start, start + width))
            mirrored = tuple(width - at for at in reversed(pattern))
            if all(abs(a - b) <= NEAR for a, b in zip(pattern, mirrored, strict=True)):
                out.setdefault(pattern, []).append(start)
    yield from (starts for _, starts in sorted(out.items()))


def on_ruled(format: Format, folio: Blank, sheets: Iterable[Sheet]) -> Blank:
    """The folio blank of a format with the rule of its lines, where any of these sheets is ruled; else as it is.

    The rule is one of print: the top of ruled stock is where its lines are read from. Lines of squared and dotted stock lie
    any way. On sheets that are not ruled nothing is to meet.
    """
    sheets = tuple(sheets)
    if not any(sheet.ruling for sheet in sheets):
        return folio.with_lines_meeting(False)
    if not any(sheet.ruling and sheet.ruling.up for sheet in sheets) or format.rules == "off":
        return folio
    if format.rules == "across":
        return folio.with_rules(folio.grain, "+y")
    return Blank(folio.name, mm(folio.width), mm(folio.height), folio.quantity, (0, 90, 180, 270), folio.grain, "+x", folio.worth,
                 folio.material)  # fmt: skip


def pieces_that_meet(sheet: Sheet, blank: Blank, cutter: Cutter | None = None) -> tuple[int, bool]:
    """How many folios of one sheet meet, and whether that is proven; none where none can lie on it. Raises InputError."""
    try:
        found = most_that_meet(sheet, blank, cutter)
    except ImpossibleJob:
        return 0, True
    return found.count, found.proven
