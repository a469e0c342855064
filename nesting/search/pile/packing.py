"""A start for many different pieces: rectpack's guillotine packers, read back into a tree of cuts.

`merge=False` always: with merged free rectangles rectpack can give layouts that no knife can cut. What comes back
is trusted only after a tree of edge-to-edge cuts has been found for it.
"""

from __future__ import annotations

from collections.abc import Sequence

from ...blanks import Blank
from ...geometry import Box
from ...layouts import Axis, Cut, Node, Piece, Shavings
from ..sheet.ground import Ground

MOST_PIECES = 300


def packed(place: Ground, blanks: Sequence[Blank], wanted: Sequence[int]) -> list[Node]:
    """Trees over a clear ground that together take the wanted pieces, one for each sheet used, best packer's.

    Empty where the pieces are too many for a quick start, or none of them fits.
    """
    from rectpack import SORT_AREA, GuillotineBlsfMinas, GuillotineBssfMaxas, GuillotineBssfMinas, PackingMode, newPacker
    from rectpack.packer import PackingBin

    box = place.usable
    width, height = box[2] - box[0], box[3] - box[1]
    ways = [b.ways_on(place.sheet, place.frame_deg) for b in blanks]
    pieces: list[tuple[int, int, int, int]] = []  # width, height, blank, turn
    both_turns = True
    for index, (blank, count) in enumerate(zip(blanks, wanted, strict=True)):
        turns = [t for t in ways[index] if blank.size(t)[0] <= width and blank.size(t)[1] <= height]
        if not turns:
            continue
        both_turns = both_turns and {blank.size(t) for t in turns} >= {blank.size(0), blank.size(90)}
        pieces += [(*blank.size(turns[0]), index, turns[0])] * count
    if not 0 < len(pieces) <= MOST_PIECES:
        return []
    best: list[list[tuple[Box, int, int]]] | None = None
    for algorithm in (GuillotineBssfMinas, GuillotineBlsfMinas, GuillotineBssfMaxas):
        packer = newPacker(mode=PackingMode.Offline, bin_algo=PackingBin.BBF, pack_algo=algorithm, sort_algo=SORT_AREA,
                           rotation=both_turns)  # fmt: skip
        packer.add_bin(width, height, count=float("inf"), merge=False)
        for number, (w, h, _, _) in enumerate(pieces):
            packer.add_rect(w, h, number)
        packer.pack()
        bins: dict[int, list[tuple[Box, int, int]]] = {}
        for at, x, y, w, h, number in packer.rect_list():
            pw, _, index, turn = pieces[number]
            lies = turn if w == pw else next(t for t in ways[index] if blanks[index].size(t) == (w, h))
            spot = (box[0] + x, box[1] + y, box[0] + x + w, box[1] + y + h)
            bins.setdefault(at, []).append((spot, index, lies))
        layouts = [bins[at] for at in sorted(bins)]
        if best is None or len(layouts) < len(best):
            best = layouts
    trees = [cut_tree(layout, box, blanks) for layout in best or []]
    return [tree for tree in trees if tree is not None]


def cut_tree(placed: Sequence[tuple[Box, int, int]], box: Box, blanks: Sequence[Blank]) -> Node | None:
    """A tree of edge-to-edge cuts for placed pieces (box, blank, turn), or None where there is none."""
    if not placed:
        return Shavings(box)
    if len(placed) == 1 and placed[0][0] == box:
        return Piece(box, blanks[placed[0][1]].name, placed[0][2])
    axes: tuple[Axis, Axis] = ("x", "y")
    for axis in axes:
        side = 0 if axis == "x" else 1
        for at in sorted({p[0][side + 2] for p in placed} | {p[0][side] for p in placed}):
            if not box[side] < at < box[side + 2] or any(p[0][side] < at < p[0][side + 2] for p in placed):
                continue
            ends = list(box)
            ends[side + 2] = at
            starts = list(box)
            starts[side] = at
            low = cut_tree([p for p in placed if p[0][side + 2] <= at], (ends[0], ends[1], ends[2], ends[3]), blanks)
            high = cut_tree([p for p in placed if p[0][side] >= at], (starts[0], starts[1], starts[2], starts[3]), blanks)
            if low is None or high is None:
                return None
            return Cut(box, axis, at, low, high)
    return None
