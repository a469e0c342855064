"""Names on a drawing: pieces with grain and turn, offcuts with id and size, best areas."""

from __future__ import annotations

from collections.abc import Sequence

from ..blanks import Blank
from ..layouts import Layout
from ..lengths import Unit
from ..sheets import Sheet
from . import ink, words
from .blocks import WITH_SIZE, Letters, lead, lettered, wordings, write
from .ink import Page, Place, Rect
from .picture import View, clipped, inside
from .spots import Room, Taken

_MOST_LED = 24  # pieces that are named beside the sheet
_CLEAR = 1.6  # mm that the lettering of a piece stays off its edges, where there is room
_INNER = 1.1  # mm from an offcut's edge to the line inside it


def folds(blank: Blank) -> bool:
    """Whether a blank is a cover, to be folded across the middle of its width."""
    return blank.material == "cover" or "cover" in blank.name.lower()


def draw_areas(page: Page, view: View, layout: Layout, blanks: Sequence[Blank]) -> None:
    """Pieces and offcuts in their tints, and the fold of covers dashed."""
    for piece in layout.pieces:
        page.area([view.ring(piece.corners)], fill=ink.PIECE_TINT, zorder=0.8)
    for offcut in layout.offcuts:
        page.area([view.ring(offcut.outline)], fill=ink.OFFCUT_TINT, zorder=0.8)
        for rings in inside(view.ring(offcut.outline), _INNER):
            page.area(rings, edge=ink.BLACK, zorder=1.5)
    for ends in _folds(view, layout, blanks):
        page.line(ends, ink.NARROW, ink.DASHED, zorder=2)


def name_all(page: Page, view: View, layout: Layout, sheet: Sheet, blanks: Sequence[Blank], unit: Unit, taken: Taken,
             area: Rect) -> Letters:  # fmt: skip
    """Name every piece, offcut and best area; returns the letters that the notes must explain.

    `area`: where names that find no room inside may stand.
    """
    letters, led = Letters(), 0
    sized: set[str] = set()
    by_name = {blank.name: blank for blank in blanks}
    whole = _around(view.ring(sheet.outline))
    bad = [_around(rings[0]) for ring in sheet.bad for rings in clipped(view, sheet, ring)]
    lines = _fold_rects(view, layout, blanks)
    for piece in sorted(layout.pieces, key=lambda p: p.blank):
        blank = by_name[piece.blank]
        room, letter = Room([view.ring(piece.corners)], _CLEAR), letters.next(piece.blank, True)
        more = words.size(blank.width, blank.height, unit)
        texts = wordings(piece.blank, more, piece.turn, room, sheet.grain, letter)
        # rather beside the fold, with all that is to be said, than over it
        done = write(page, room, texts[:WITH_SIZE], taken, lines) or write(page, room, texts[:WITH_SIZE], taken)
        if done is None:
            room = Room([view.ring(piece.corners)])  # a little nearer to the cuts
            done = write(page, room, texts, taken)
        if done is not None and done.sized:
            sized.add(piece.blank)
        if done is None and (led := led + 1) <= _MOST_LED:
            lead(page, room.middle, lettered(letter, piece.turn), taken, area, whole)
        elif done is None:
            letters.missing[letter] = letters.missing.get(letter, 0) + 1
        if done is None or done.letter:
            letters.given[piece.blank] = letter
            letters.turns |= {piece.turn} - {0}
    for piece in layout.pieces:
        if piece.blank not in sized:
            letters.sizes[piece.blank] = words.size(by_name[piece.blank].width, by_name[piece.blank].height, unit)
    for offcut in layout.offcuts:
        room, letter = Room([view.ring(offcut.outline)], _INNER + 1.0), letters.next(offcut.id, False)
        over_all = words.over_all(offcut.outline, unit)
        texts = wordings(offcut.id, over_all, 0, room, None, letter)
        plain = [block for block in texts if not block.letter]
        # rather beside damage than over it, rather over it than as a letter
        done = write(page, room, texts[:WITH_SIZE], taken, bad) or write(page, room, texts[:WITH_SIZE], taken)
        done = done or write(page, room, plain, taken, bad) or write(page, room, texts, taken)
        if done is None or not done.sized:
            letters.sizes[offcut.id] = over_all
        if done is None:
            lead(page, room.middle, letter, taken, area, whole)
        if done is None or done.letter:
            letters.given[offcut.id] = letter
    _name_best(page, view, layout, sheet, blanks, taken)
    return letters


def _name_best(page: Page, view: View, layout: Layout, sheet: Sheet, blanks: Sequence[Blank], taken: Taken) -> None:
    lines = _fold_rects(view, layout, blanks)
    for zone in sheet.zones:
        if zone.kind == "best":
            for rings in clipped(view, sheet, zone.outline):
                rect = Room(rings).spot(ink.width("best", ink.SMALL), ink.height(ink.SMALL), taken.also(lines))
                if rect is not None:
                    page.text((rect[0] + rect[2]) / 2, (rect[1] + rect[3]) / 2, "best", ink.SMALL,
                              ha="center", va="center")  # fmt: skip
                    taken.add(rect)


def _folds(view: View, layout: Layout, blanks: Sequence[Blank]) -> list[list[Place]]:
    """The fold of every cover on the page."""
    folded = {blank.name for blank in blanks if folds(blank)}
    out = []
    for piece in layout.pieces:
        if piece.blank in folded:
            low_left, low_right, high_right, high_left = (view.place(x, y) for x, y in piece.corners)
            out.append([((a[0] + b[0]) / 2, (a[1] + b[1]) / 2) for a, b in ((low_left, low_right), (high_left, high_right))])
    return out


def _fold_rects(view: View, layout: Layout, blanks: Sequence[Blank]) -> list[Rect]:
    """Room around every fold."""
    around = (_around(line) for line in _folds(view, layout, blanks))
    return [(x0 - 0.6, y0 - 0.6, x1 + 0.6, y1 + 0.6) for x0, y0, x1, y1 in around]


def _around(points: Sequence[Place]) -> Rect:
    xs, ys = zip(*points, strict=True)
    return min(xs), min(ys), max(xs), max(ys)
