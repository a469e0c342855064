"""From a bare tree of cuts to a layout: squaring cuts in front, leftovers joined, offcuts or shavings, areas."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from itertools import pairwise
from typing import Any

from .. import geometry
from ..blanks import Blank
from ..cutters import Cutter
from ..geometry import Box, Part
from ..layouts import (
    Areas,
    Cut,
    Layout,
    Node,
    Offcut,
    OffcutPiece,
    Piece,
    Placed,
    Shavings,
    corners_of,
    leaves,
    to_sheet,
)
from .recut import recut
from .rests import Rests
from .sheet.ground import Ground
from .sheet.shown import shown_on
from .tidy import tidied
from .trees import halves, rebuilt


def build(ground: Ground, tree: Node | None, cutter: Cutter | None, least_offcut: tuple[int, int], copies: int = 1,
          skip: Mapping[str, int] | None = None, sheet_id: str | None = None, named: int = 0,
          fixed: frozenset[Box] = frozenset(), blanks: Sequence[Blank] = ()) -> Layout:  # fmt: skip
    """The layout of a tree found on this ground.

    A cutter that squares up puts squaring cuts first where the sheet has no true side to measure from. `least_offcut`:
    the sides of the smallest useful offcut in ticks. `skip`: how many pieces of a name to leave uncut. `sheet_id`:
    of an alike sheet that is cut instead. `named`: how many offcuts of that sheet have their names already. `fixed`:
    places in the frame of pieces that stay where they are. `blanks`: those of the tree; what they show of best areas is
    told in the layout and not lost while tidying.
    """
    shown = shown_on(ground, blanks, fixed) if blanks else None
    gone = None if shown is None or tree is None else shown.least_shown(tree, skip or {})
    bare = _without(tree or Shavings(ground.box), dict(skip or {}), fixed, gone)
    tree = tidied(ground, _within(bare, ground.box), ground.box, fixed, shown)
    tree = recut(tree, cutter.longest_cut if cutter else None, Rests(ground, least_offcut).usefulness)
    pieces = [leaf.box for leaf in leaves(tree) if isinstance(leaf, Piece)]
    if pieces and cutter is not None and cutter.square_up > 0:
        tree = _squared(tree, ground, pieces)
    tree = _joined(tree)
    out = _labelled(ground, tree, least_offcut, copies, sheet_id or ground.sheet.id, named)
    return out if shown is None else replace(out, best_mm2=shown.mm2(out.tree))


def again(layout: Layout, copies: int, sheet_id: str, named: int) -> Layout:
    """The same layout on copies of an alike sheet, its offcuts under names of their own (see `build`)."""
    names = {offcut.id: f"{sheet_id}-{_letters(named + i)}" for i, offcut in enumerate(layout.offcuts)}

    def leaf(node: Node) -> Node:
        return Offcut(node.box, names[node.id]) if isinstance(node, Offcut) else node

    tree = rebuilt(layout.tree, leaf, lambda cut, low, high: Cut(cut.box, cut.axis, cut.at, low, high)) if names else layout.tree
    offcuts = tuple(OffcutPiece(names[o.id], copies, o.outline) for o in layout.offcuts)
    return replace(layout, sheet=sheet_id, copies=copies, tree=tree, offcuts=offcuts)


def _without(tree: Node, skip: dict[str, int], fixed: frozenset[Box], gone: set[Box] | None = None) -> Node:
    """The tree with some pieces left uncut: those in the boxes `gone`; without them the last ones of each name, none fixed."""

    def leaf(node: Node) -> Node:
        if gone is not None:
            return Shavings(node.box) if node.box in gone else node
        if isinstance(node, Piece) and skip.get(node.blank, 0) > 0 and node.box not in fixed:
            skip[node.blank] -= 1
            return Shavings(node.box)
        return node

    return rebuilt(tree, leaf, lambda cut, low, high: Cut(cut.box, cut.axis, cut.at, low, high))


def _within(tree: Node, box: Box) -> Node:
    """The tree grown or cut back to a box that holds all its pieces; cuts outside the box vanish."""
    stack: list[tuple[Any, Box]] = [(tree, box)]
    done: list[Node] = []
    low: Any
    high: Any
    while stack:
        item, here = stack.pop()
        if isinstance(item, str):
            axis, at = item[0], int(item[1:])
            high, low = done.pop(), done.pop()
            done.append(Cut(here, "x" if axis == "x" else "y", at, low, high))
            continue
        if isinstance(item, Cut):
            low_end, high_end = (here[0], here[2]) if item.axis == "x" else (here[1], here[3])
            if item.at <= low_end:
                stack.append((item.high, here))
            elif item.at >= high_end:
                stack.append((item.low, here))
            else:
                low, high = halves(here, item.axis, item.at)
                stack += [(f"{item.axis}{item.at}", here), (item.high, high), (item.low, low)]
        elif isinstance(item, Piece):
            done.append(item)
        else:
            done.append(Shavings(here))
    return done[0]


def _squared(tree: Node, ground: Ground, pieces: list[Box]) -> Node:
    """Squaring cuts at the lowest pieces, first, on each axis on which no side is true: nothing is lost by them."""
    left, bottom, right, top = ground.true_sides
    box = ground.box
    at_x, at_y = min(p[0] for p in pieces), min(p[1] for p in pieces)
    cuts: list[tuple[str, int]] = []
    if not left and not right and at_x > box[0]:
        cuts.append(("x", at_x))
    if not bottom and not top and at_y > box[1]:
        cuts.append(("y", at_y))
    if box[3] - box[1] < box[2] - box[0]:
        cuts.reverse()  # the longer cut first: it is the better line
    frames = []
    rest = box
    for axis, at in cuts:
        frames.append((rest, axis, at))
        rest = halves(rest, axis, at)[1]
    tree = _within(tree, rest)
    for whole, axis, at in reversed(frames):
        tree = Cut(whole, "x" if axis == "x" else "y", at, Shavings(halves(whole, axis, at)[0]), tree)
    return tree


def _joined(tree: Node) -> Node:
    """Leftovers joined: a cut between two leftovers is not made."""

    def cut(node: Cut, low: Node, high: Node) -> Node:
        if isinstance(low, Shavings) and isinstance(high, Shavings):
            return Shavings(node.box)
        return Cut(node.box, node.axis, node.at, low, high)

    return rebuilt(tree, lambda leaf: leaf, cut)


def _useful(ground: Ground, part: Part, least: tuple[int, int]) -> bool:
    """Whether a leftover holds the smallest useful rectangle, one way or the other, clear of damage."""
    x0, y0, x1, y1 = geometry.bounds(part.outline)
    small, large = sorted(least)
    width, height = x1 - x0, y1 - y0
    if min(width, height) < small or max(width, height) < large:
        return False
    if part.area2 == 2 * width * height and _clear_of_bad(ground, (x0, y0, x1, y1)):
        return True
    return any(_holds(ground, part, w, h) for w, h in {(small, large), (large, small)} if w <= width and h <= height)


def _clear_of_bad(ground: Ground, box: Box) -> bool:
    x0, y0, x1, y1 = box
    rings = (*ground.bad, *ground.paper.holes)
    return all(bx1 <= x0 or bx0 >= x1 or by1 <= y0 or by0 >= y1 for bx0, by0, bx1, by1 in map(geometry.bounds, rings))


def _holds(ground: Ground, part: Part, width: int, height: int) -> bool:
    """Whether a clear rectangle of this size lies in the part, by shapely to a tick."""
    import shapely
    from shapely import MultiPoint, Polygon

    free = Polygon(part.outline, part.holes)
    for ring in ground.bad:
        free = free.difference(Polygon(ring))
    room = free
    corners = [(0, 0), (0.5 - width, 0), (0.5 - width, 0.5 - height), (0, 0.5 - height)]
    swept = []
    for polygon in shapely.get_parts(free):
        if polygon.geom_type != "Polygon":
            continue
        for ring in (polygon.exterior, *polygon.interiors):
            points = list(ring.coords)
            for ends in pairwise(points):
                swept.append(MultiPoint([(px + dx, py + dy) for px, py in ends for dx, dy in corners]).convex_hull)
    return bool(room.difference(shapely.union_all(swept)).area > 0)


def _labelled(ground: Ground, tree: Node, least_offcut: tuple[int, int], copies: int, sheet_id: str, named: int) -> Layout:
    """Follow the paper down the cuts; name the offcuts, list pieces in sheet coordinates, add up the areas."""
    frame, origin = ground.frame_deg, ground.origin
    placed: list[Placed] = []
    offcuts: list[OffcutPiece] = []
    pieces2 = offcuts2 = total2 = 0

    def in_sheet(x: int, y: int) -> tuple[int, int]:
        px, py = to_sheet(frame, origin, x, y)
        return round(px), round(py)

    stack: list[tuple[Any, list[Part]]] = [(tree, [ground.paper])]
    done: list[Node] = []
    while stack:
        node, parts = stack.pop()
        if isinstance(node, tuple):
            box, axis, at = node
            high, low = done.pop(), done.pop()
            done.append(Cut(box, axis, at, low, high))
            continue
        if isinstance(node, Cut):
            low_parts: list[Part] = []
            high_parts: list[Part] = []
            for part in parts:
                below, above = geometry.split(part, node.axis, node.at)
                low_parts += below
                high_parts += above
            stack += [((node.box, node.axis, node.at), []), (node.high, high_parts), (node.low, low_parts)]
            continue
        total2 += sum(part.area2 for part in parts)
        if isinstance(node, Piece):
            corners = tuple(in_sheet(x, y) for x, y in corners_of(node.box, node.turn))
            placed.append(Placed(node.blank, node.turn, (corners[0], corners[1], corners[2], corners[3])))
            pieces2 += 2 * (node.box[2] - node.box[0]) * (node.box[3] - node.box[1])
            done.append(node)
            continue
        largest = min(parts, key=lambda p: (-p.area2, geometry.bounds(p.outline)), default=None)
        if largest is not None and _useful(ground, largest, least_offcut):
            name = f"{sheet_id}-{_letters(named + len(offcuts))}"
            offcuts.append(OffcutPiece(name, copies, tuple(in_sheet(x, y) for x, y in largest.outline)))
            offcuts2 += largest.area2
            done.append(Offcut(node.box, name))
        else:
            done.append(Shavings(node.box))
    areas = Areas(total2, pieces2, offcuts2, total2 - pieces2 - offcuts2)
    return Layout(sheet_id, copies, frame, origin, done[0], tuple(placed), tuple(offcuts), areas)


def _letters(number: int) -> str:
    """a, b, ... z, aa, ab, ..."""
    out = ""
    number += 1
    while number > 0:
        number, rest = divmod(number - 1, 26)
        out = chr(ord("a") + rest) + out
    return out
