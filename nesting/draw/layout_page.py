"""The page of one layout: the sheet face up with its numbered cuts, and the table of fence settings."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache

from ..blanks import Blank
from ..geometry import bounds
from ..layouts import Layout, Offcut, Piece, Placed
from ..lengths import Unit
from ..programme.paper import leaf_papers, true_spans
from ..programme.steps import Step
from ..sheets import Sheet
from . import arranging, furniture, ink, words
from .arranging import AROUND, Arrangement
from .bearings import draw_bearings
from .chosen import draw_chosen
from .cut_table import MANY, CutTable, cut_table, shown
from .fronts import front_rings
from .furniture import LEFT, RIGHT, TOP
from .ink import Page, Rect
from .keys import draw_key, keys_of
from .markers import Segment, draw_cuts
from .naming import draw_areas, name_all
from .picture import View, draw_sheet, true_edge_marks
from .rules import guess_lines, relies_on_guess
from .ruling import draw_ruling
from .spots import Taken, meets

_SPARE = "room for one more line"
_LEAST_DAMAGE = 1.2  # mm that damage is wide at least in the small picture
_SIZE_OFF = 5.0  # mm from the sheet to the lines of its width and height


@dataclass(frozen=True)
class Job:
    """What a layout's page needs to know."""

    layout: Layout
    sheet: Sheet
    blanks: tuple[Blank, ...]
    unit: Unit
    paper: str
    title: str
    caption: str  # where the sheet comes from
    place: str  # "layout 3 of 12"
    why: str = ""  # why it gives no more
    chosen: tuple[Placed, ...] = ()  # pieces that the maker had chosen before


def layout_pages(job: Job, made: Sequence[Step]) -> list[Page]:
    """The page of a layout with these steps, and pages that go on with its table. Footers are not on them yet."""
    guess = [job.sheet.id] if relies_on_guess(job.sheet, job.layout, job.blanks) else []
    texts = [*guess_lines(guess), *_notes(made, job.unit), *([job.why] if job.why else [])]
    keys = keys_of(job.sheet, job.layout, made, job.blanks, bool(job.chosen))
    heights = lru_cache(maxsize=None)(lambda width: cut_table(made, job.unit, width).height)
    shape = arranging.arrange(job.paper, job.sheet.box, heights, [*texts, _SPARE], keys)
    page, more = _drawn(job, made, shape)
    larger = arranging.arrange(job.paper, job.sheet.box, heights, [*texts, _SPARE], keys, apart=True) if more else shape
    if made and larger.scale > shape.scale:  # names or numbers have no room: rather a larger drawing than the table beside it
        other, fewer = _drawn(job, made, larger)
        if furniture.note_height(fewer, _width(job.paper)) < furniture.note_height(more, _width(job.paper)):
            shape, page, more = larger, other, fewer
    apart = not shape.table
    if len(more) > 1 or (more and furniture.note_height(more, shape.room) > furniture.note_height([_SPARE], shape.room)):
        # the drawing needs more notes than room was kept for: once more, now that they are known
        shape = arranging.arrange(job.paper, job.sheet.box, heights, [*more, *texts, _SPARE], keys, apart)
        page, more = _drawn(job, made, shape)
    table, low = cut_table(made, job.unit, shape.room), shape.top
    if shape.table:
        low, table = table.draw(page, shape.x, shape.top) if table.rows else low, CutTable((), ())
    elif table.rows:
        table = cut_table(made, job.unit, _width(job.paper))
        more = ["The table of the cuts is on the next page.", *more]
    here, later = _parted([*more, *texts], shape.room, low - 0.8 - shape.low)
    furniture.notes(page, shape.x, low - 0.8, shape.room, here)
    draw_key(page, LEFT, furniture.FOOT + 5 + 11.4, page.width - RIGHT - LEFT, keys)
    furniture.check_bar(page, furniture.FOOT + 5.6)
    return [page, *_continued(job, table, later)]


def _width(paper: str) -> float:
    """The room between the margins of an upright page."""
    return ink.papers(paper)[0] - RIGHT - LEFT


def _drawn(job: Job, made: Sequence[Step], shape: Arrangement) -> tuple[Page, list[str]]:
    """A page with head and drawing, and the notes that the drawing needs."""
    page = Page(job.paper, shape.landscape)
    furniture.bound_edge(page)
    _head(page, job, made, shape.scale)
    return page, _drawing(page, job, made, shown(made), shape)


def _parted(texts: Sequence[str], room: float, tall: float) -> tuple[list[str], list[str]]:
    """The notes for this page, `tall` mm of them, and those for the next."""
    if furniture.note_height(texts, room) <= tall + 1e-6:
        return list(texts), []
    on = "More notes on the next page."
    keep = 0
    while keep < len(texts) and furniture.note_height([*texts[: keep + 1], on], room) <= tall + 1e-6:
        keep += 1
    return [*texts[:keep], on], list(texts[keep:])


def _head(page: Page, job: Job, made: Sequence[Step], scale: float) -> None:
    top, right = page.height - TOP, page.width - RIGHT
    page.line([(LEFT, top), (right, top)], ink.WIDE)
    page.text(LEFT, top - 4.2, ink.shortened(job.title, right - LEFT - 45, 9, True), 9, True)
    page.text(right, top - 4.2, job.place, 9, ha="right")
    sheet, layout = job.sheet, job.layout
    thumb = (right - 38, top - 31, right, top - 6)
    _thumbnail(page, sheet, thumb)
    room = 62.0
    page.text(LEFT, top - 10.2, ink.shortened(f"Sheet: {job.caption}" if job.caption else "Sheet", room, ink.SMALL), ink.SMALL)
    size = next((s for s in (36, 32, 28, 24, 20, 17) if ink.width(ink.known(sheet.id), s, True) <= room), 0)
    if size:
        page.text(LEFT, top - 12.2 - ink.height(size) * 0.78, ink.shortened(sheet.id, room, size, True), size, True)
    else:
        for k, line in enumerate(ink.wrapped(words.listed([("", sheet.id)], room, 14, True, 2), room, 14, True)):
            page.text(LEFT, top - 16.3 - 6 * k, line, 14, True)
    furniture.boxed(page, LEFT, top - 31.5, "FACE UP", 12)
    page.text(LEFT + 30, top - 29.9, f"{layout.copies:,} sheet{'s' if layout.copies > 1 else ''}", 12, True)
    x, y = LEFT + room + 6, top - 10.2
    width = thumb[0] - 4 - x
    for text, bold in _facts(job, made, scale, width):
        for line in ink.wrapped(text, width, 9, bold):
            page.text(x, y, line, 9, bold)
            y -= 4.1
    page.line([(LEFT, top - 32.5), (right, top - 32.5)], ink.NARROW)


def _facts(job: Job, made: Sequence[Step], scale: float, room: float) -> list[tuple[str, bool]]:
    """At most six lines of `room` mm."""
    sheet, layout = job.sheet, job.layout
    pulls = sum(step.stacks_on is None for step in made)
    cuts = f"{len(made)} cut{'s' if len(made) > 1 else ''}" if made else "No cut: the sheet as it is"
    if pulls < len(made):
        cuts += f", {pulls} pull{'s' if pulls > 1 else ''} if equal strips are stacked"
    askew = [(_askew(sheet, layout), True)] if layout.frame_deg else []
    gives = [(f"{count} ", name) for name, count in layout.counts().items()] or [("", "no piece")]
    facts = [(f"{words.ring_size(sheet.outline, job.unit)}, width across first", False),
             ("Gives " + words.listed(gives, room - 11, 9, True, 1 if askew else 2), True), (cuts, False),
             ("; ".join(filter(None, (words.grain(sheet), words.print_up(sheet)))), False), *askew]  # fmt: skip
    return [*((ink.shortened(text, room, 9, bold) if k != 1 else text, bold) for k, (text, bold) in enumerate(facts)),
            (ink.shortened(f"Drawn {words.scale(scale)}; {words.true_edges(sheet)}", room, 9), False)]  # fmt: skip


def _askew(sheet: Sheet, layout: Layout) -> str:
    """To which edge a turned layout is square, or how it is turned."""
    true = true_spans(sheet, layout)
    sides = [edge for axis, ends in (("y", ("bottom", "top")), ("x", ("left", "right"))) for edge, spans in
             zip(ends, (true[axis, False], true[axis, True]), strict=True) if spans]  # type: ignore[index]  # fmt: skip
    turn = f"{abs(layout.frame_deg):.4g}° {'anticlockwise' if layout.frame_deg > 0 else 'clockwise'}"
    return f"Square to {sides[0]} edge, {turn}" if sides else f"Cut askew, {turn}"


def _thumbnail(page: Page, sheet: Sheet, room: Rect) -> None:
    box = sheet.box
    factor = min((room[2] - room[0]) / (box[2] - box[0]), (room[3] - room[1]) / (box[3] - box[1])) * 8000
    view = View.centred(box, factor, (room[0] + room[2]) / 2, (room[1] + room[3]) / 2)
    draw_sheet(page, view, sheet, edge=ink.WIDE, pitch=1.0, least=_LEAST_DAMAGE)
    draw_bearings(page, view, sheet, _LEAST_DAMAGE, grain=False)


def _drawing(page: Page, job: Job, made: Sequence[Step], marked: Sequence[Step], shape: Arrangement) -> list[str]:
    """The sheet with its cuts, some of them marked; returns the notes that explain letters and missing marks."""
    sheet, layout = job.sheet, job.layout
    a, b, c, d = shape.drawing
    x, y = (a + AROUND[0] + c - AROUND[2]) / 2, (b + AROUND[1] + d - AROUND[3]) / 2
    view = View.centred(sheet.box, shape.scale, x, y)
    draw_sheet(page, view, sheet)
    draw_ruling(page, view, sheet)
    draw_areas(page, view, layout, job.blanks)
    for ring in front_rings(view, layout, sheet, job.blanks):
        page.area([ring], edge=ink.BLACK, kind=ink.DOTTED, thick=ink.NARROW * 1.4, zorder=2)
    for leaf, parts in leaf_papers(sheet, layout):
        if isinstance(leaf, Piece):
            continue
        back = min(parts, key=lambda p: (-p.area2, bounds(p.outline)), default=None) if isinstance(leaf, Offcut) else None
        for part in parts:
            if part is not back:
                page.dots([[view.framed(layout, u, v) for u, v in ring] for ring in (part.outline, *part.holes)])
    true_edge_marks(page, view, sheet)
    taken = Taken()
    for line in _size_lines(page, view, sheet):
        taken.add(line, thin=True)
    stems, unmarked = draw_cuts(page, view, layout, made, marked, view.ring(sheet.outline), taken, (a, b, c, d))
    _sizes(page, view, sheet, job.unit, taken, stems)
    unsigned = draw_chosen(page, view, job.chosen, taken)
    notes = name_all(page, view, layout, sheet, job.blanks, job.unit, taken, (a, b, c, d)).notes()
    if unsigned:
        notes.append(f"Chosen beforehand, with no room for the sign: {', '.join(unsigned)}.")
    if unmarked:
        notes.append(f"No room in the drawing for the numbers {words.numbers(unmarked)}: the table tells where they are.")
    return notes


def _size_lines(page: Page, view: View, sheet: Sheet) -> tuple[Rect, Rect]:
    """The lines for the width below and the height at the left; returns where they are."""
    (a, b), (c, d) = view.place(*sheet.box[:2]), view.place(*sheet.box[2:])
    low, left = b - _SIZE_OFF, a - _SIZE_OFF
    page.lines([((a, low), (c, low)), ((left, b), (left, d)), ((a, low - 1.2), (a, b - 1.8)), ((c, low - 1.2), (c, b - 1.8)),
                ((left - 1.2, b), (a - 1.8, b)), ((left - 1.2, d), (a - 1.8, d))], ink.NARROW * 0.8)  # fmt: skip
    return (a, low - 0.3, c, low + 0.3), (left - 0.3, b, left + 0.3, d)


def _sizes(page: Page, view: View, sheet: Sheet, unit: Unit, taken: Taken, stems: Sequence[Segment]) -> None:
    """Width and height over all, on their lines, where no mark's stem runs."""
    x0, y0, x1, y1 = sheet.box
    (a, b), (c, d) = view.place(x0, y0), view.place(x1, y1)
    for ticks, upright in ((x1 - x0, False), (y1 - y0, True)):
        text = words.side(ticks, unit)
        w, h = ink.width(text, 9) / 2 + 0.8, ink.height(9) / 2
        w, h = (h, w) if upright else (w, h)
        half = ((d - b) if upright else (c - a)) / 2
        for off in (0.0, *(sense * k for k in range(2, int(half), 2) for sense in (-1.0, 1.0)), half + max(w, h)):
            mx, my = (a - _SIZE_OFF, (b + d) / 2 + off) if upright else ((a + c) / 2 + off, b - _SIZE_OFF)
            rect = (mx - w, my - h, mx + w, my + h)
            if taken.free(rect, line=True) and not any(meets(rect, *stem) for stem in stems):
                break
        page.area([ink.corners(rect)], fill="#FFFFFF", zorder=3.3)
        taken.add(page.text(mx, my, text, 9, ha="center", va="center", upright=upright))


def _notes(made: Sequence[Step], unit: Unit) -> list[str]:
    """What the signs in the table mean, each only where it is used."""
    out = []
    by_eye = [step for step in made if step.guide is not None]
    if by_eye:
        inset = words.rough(max(step.guide.inset for step in by_eye if step.guide), unit)
        out.append("by eye: no true edge to measure from. Mark the two distances in from that edge of the paper, "
                   f"about {inset} {unit} from each end of the line (lower | upper, left | right), join them, cut.")  # fmt: skip
    for why in dict.fromkeys(reason for step in made for reason in step.why):
        numbers = words.numbers([step.number for step in made if why in step.why])
        out.append(f"Square number: with straight-edge and blade. Cut {numbers}: {why}.")
    if any(step.base_kind == "edge as it is" for step in made):
        out.append("* not known to be straight and square: check this edge with a square before you measure from it.")
    if any(step.stacks_on for step in made) and len(made) > MANY:
        out.append("at once: so many equal strips are laid on each other and cut in one pull; only the first is numbered.")
    elif any(step.stacks_on for step in made):
        out.append("with: the strips are equal; laid on each other, this cut is done in one pull with the cut of that number.")
    short = [s for s in made if s.setting is not None and s.base_kind != "edge as it is" and s.contact < (s.length / 4)]
    if short:
        numbers = words.numbers([s.number for s in short])
        out.append(f"Cut {numbers}: only a short part of that edge is there; hold a square to it.")
    for how, side in (("up", "stays"), ("down", "falls off")):
        found = [s.number for s in made if s.setting is not None and words.setting(s, unit)[1] == how]
        if found:
            out.append(f"Cut {words.numbers(found)}: fence rounded {how} by less than 0.01 mm, so that nothing that {side} "
                       "gets smaller.")  # fmt: skip
    off = [s.number for s in made if s.off_scale]
    if off:
        out.append(f"Cut {words.numbers(off)}: between two marks of the fence's scale; measure it.")
    return out


def _continued(job: Job, table: CutTable, texts: Sequence[str]) -> list[Page]:
    """Pages with the rest of a long table and of the notes."""
    out = []
    while table.rows or texts:
        page = Page(job.paper)
        furniture.bound_edge(page)
        top, right = page.height - TOP, page.width - RIGHT
        page.line([(LEFT, top), (right, top)], ink.WIDE)
        page.text(LEFT, top - 4.2, ink.shortened(job.title, right - LEFT - 45, 9, True), 9, True)
        page.text(right, top - 4.2, job.place, 9, ha="right")
        page.text(LEFT, top - 14, ink.shortened(f"{job.sheet.id}, continued", right - LEFT - 40, 18, True), 18, True)
        furniture.boxed(page, right - ink.width("FACE UP", 12, True) - 3, top - 15, "FACE UP", 12)
        high, low = top - 18, furniture.FOOT + 6
        below = high
        if table.rows:
            here, table = table.parted(high - low - (furniture.NOTE_ROW + 1))
            below = here.draw(page, LEFT, high)
            if table.rows:
                furniture.notes(page, LEFT, below - 1, right - LEFT,
                                [f"The table goes on with cut {table.rows[0][0].number} on the next page."])  # fmt: skip
        while texts and not table.rows:
            if below - 1 - furniture.note_height(texts[:1], right - LEFT) < low and below < high:
                break
            below = furniture.notes(page, LEFT, below - 1, right - LEFT, texts[:1])
            texts = texts[1:]
        out.append(page)
    return out
