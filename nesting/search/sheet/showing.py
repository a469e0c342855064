"""The layout of a sheet that shows most of its best areas: a second dynamic program, after the worth is known.

Between grid lines as `placed`, but what a blank gives depends on where it lies: so much for its worth that no best area
makes up for it, and what its front panel shows there. The lines hold those of the layout that is known, so none of its
worth is lost; those where a panel's edges meet a best area's; and what follows from these for pieces side by side.
What lies between the lines is closed by moving each piece within the box it is cut from.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from ...blanks import Blank
from ...geometry import Box
from ...layouts import Axis, Cut, Node, Piece, Shavings, leaves
from ...lengths import TICKS_PER_MM
from ..trees import grown, rebuilt
from .clear import Oriented, trimmed
from .ground import Ground
from .paper_kernels import allowed_points
from .place_table import placed_table
from .placed import SLACK, pair_of
from .shown import PER_MM2, Shown, pieces
from .sizes import reachable

MOST_LINES = 52
MOST_WAYS = 40
EVEN_LINES = 24
MOST_SUMS = 40
NEAR = TICKS_PER_MM // 4  # lines nearer than this to another are left out: moving pieces makes up for it
FINE = 2**22  # parts of all best areas that are told apart
ROOM = 2.0**60
SMALL_STEP, LARGE_STEP = TICKS_PER_MM // 8, 4 * TICKS_PER_MM
PARTS = (1.0, 0.3, 0.1, 0.03, 0.0, -0.4)  # of the most one piece shows, for one piece more


@dataclass(frozen=True)
class Way:
    """A blank as it lies: name, size, and the turns in which it has this size."""

    name: str
    width: int
    height: int
    turns: tuple[int, ...]


def ways_of(shown: Shown, names: Iterable[str]) -> list[Way]:
    """How these blanks may lie on the ground."""
    out = []
    x0, y0, x1, y1 = shown.ground.usable
    for name in names:
        blank = shown.blanks[name]
        sizes: dict[tuple[int, int], list[int]] = {}
        for turn in blank.cheapest_on(shown.ground.sheet, shown.ground.frame_deg):
            sizes.setdefault(blank.size(turn), []).append(turn)
        out += [Way(name, w, h, tuple(turns)) for (w, h), turns in sizes.items() if w <= x1 - x0 and h <= y1 - y0]
    return out


class Showing:
    """The lines, positions and scores for one layout's neighbourhood; worths come later, as in pricing."""

    def __init__(self, shown: Shown, names: Iterable[str], tree: Node | None) -> None:
        """`names`: the blanks that may be used; `tree`: the layout known, None for none."""
        self._shown = shown
        self.ways = ways_of(shown, names)
        if len(self.ways) > MOST_WAYS or shown.fixed:  # so many would take too long; nor does the table know what is fixed
            self.ways = []
        self.holds_tree = tree is not None
        lines = []
        for side in (0, 1):
            needed = _lines_of(tree, side, shown.ground.usable)
            if len(needed) > MOST_LINES:
                needed, self.holds_tree = _lines_of(None, side, shown.ground.usable), False
            lines.append(_filled(needed, _wished(shown, self.ways, side)))
        self.xs, self.ys = lines
        ground = shown.ground
        kept, allowed, scores, turns = [], [], [], []
        for way in self.ways:
            traps = shown.region(way.width, way.height)
            if not len(traps):
                continue
            free = allowed_points(traps, self.xs, self.ys, way.width, way.height, ground.segments, ground.rings,
                                  float(ground.sheet.inset), SLACK)  # fmt: skip
            each = np.array([shown.at(way.name, turn, self.xs, self.ys, free) for turn in way.turns])
            kept.append(way)
            allowed.append(free)
            scores.append(each.max(axis=0))
            turns.append(each.argmax(axis=0))
        self.ways = kept
        self._allowed, self._scores, self._turns = np.array(allowed), np.array(scores), turns
        self._ends_x = np.array([np.searchsorted(self.xs, self.xs + way.width) for way in kept])
        self._ends_y = np.array([np.searchsorted(self.ys, self.ys + way.height) for way in kept])

    def most_of_one(self) -> int:
        """What one piece can show at most here."""
        return int(self._scores.max()) if self.ways else 0

    def best(self, worths: Mapping[str, float], rate: float | None = None) -> Node | None:
        """The layout of most worth + rate x shown; without a rate of most worth, and among these the one that shows most.

        `rate`: the worth of what is counted as 1 by `Shown`. None where no blank of some worth has a place.
        """
        wanted = [k for k, way in enumerate(self.ways) if worths.get(way.name, 0) != 0 or rate is not None]
        if not wanted:
            return None
        x0, y0, x1, y1 = self._shown.ground.usable
        area = (x1 - x0) * (y1 - y0)
        most_shown = self._shown.most()
        most_worth = max(abs(worths.get(w.name, 0)) * area / (w.width * w.height) for w in self.ways) or 1.0
        if rate is None:
            unit = min(1.0, FINE / most_shown)
            # where it is held to ROOM, worths are not told apart to the last: callers look at the tree
            factor = min(most_shown * unit + 1, ROOM / most_worth)
        else:
            factor = ROOM / (most_worth + rate * most_shown)
            unit = factor * rate
        base = np.array([round(worths.get(self.ways[k].name, 0) * factor) for k in wanted], np.int64)
        values = base[:, None, None] + np.floor(self._scores[wanted] * unit).astype(np.int64)
        allowed = self._allowed[wanted] & (values > 0)
        table = placed_table(len(self.xs), len(self.ys), allowed, self._ends_x[wanted], self._ends_y[wanted], values)
        return _Traced(self, wanted, allowed, values, table).tree()


class _Traced:
    """From a table back to the layout it was made of."""

    def __init__(self, showing: Showing, wanted: Sequence[int], allowed: Any, values: Any, table: Any) -> None:
        self._s, self._wanted, self._allowed, self._values, self._table = showing, wanted, allowed, values, table

    def tree(self) -> Node:
        """The layout of the whole."""
        return grown((0, len(self._s.xs) - 1, 0, len(self._s.ys) - 1), self._step)

    def _worth(self, i1: int, i2: int, j1: int, j2: int) -> int:
        return int(self._table[pair_of(len(self._s.xs), i1, i2), j1, j2])

    def _step(self, lines: tuple[int, int, int, int]) -> Node | tuple[Box, Axis, int, Any, Any]:
        i1, i2, j1, j2 = lines
        s, worth = self._s, self._worth(*lines)
        box = int(s.xs[i1]), int(s.ys[j1]), int(s.xs[i2]), int(s.ys[j2])
        if worth == 0:
            return Shavings(box)
        for row, k in enumerate(self._wanted):
            here = self._allowed[row, i1, j1] and self._values[row, i1, j1] == worth
            if here and s._ends_x[k][i1] <= i2 and s._ends_y[k][j1] <= j2:
                way = s.ways[k]
                turn = way.turns[int(s._turns[k][i1, j1])]
                return trimmed(box, Oriented(k, way.name, turn, way.width, way.height), box[0], box[1])
        for k in range(i1 + 1, i2):
            if self._worth(i1, k, j1, j2) + self._worth(k, i2, j1, j2) == worth:
                return box, "x", int(s.xs[k]), (i1, k, j1, j2), (k, i2, j1, j2)
        for k in range(j1 + 1, j2):
            if self._worth(i1, i2, j1, k) + self._worth(i1, i2, k, j2) == worth:
                return box, "y", int(s.ys[k]), (i1, i2, j1, k), (i1, i2, k, j2)
        raise AssertionError("the table has no way to its own worth")


def _lines_of(tree: Node | None, side: int, usable: Box) -> list[int]:
    """The coordinates of a layout's cuts and pieces along one axis, and the ends."""
    low, high = usable[side], usable[side + 2]
    found = {low, high}
    for piece in pieces(tree):
        found |= {piece.box[side], piece.box[side + 2]}
    stack = [tree] if tree is not None else []
    while stack:
        node = stack.pop()
        if isinstance(node, Cut):
            if (node.axis == "x") == (side == 0):
                found.add(node.at)
            stack += [node.low, node.high]
    return sorted(v for v in found if low <= v <= high)


def _wished(shown: Shown, ways: Sequence[Way], side: int) -> list[int]:
    """Lines that may be good for showing, the most useful first."""
    low, high = shown.ground.usable[side], shown.ground.usable[side + 2]
    sizes = sorted({(w.width, w.height)[side] for w in ways})
    out: list[int] = []
    for place in meeting(shown, ways, side):
        out += _chain(sizes, place, low, high)
    out += _chain(sizes, low, low, high) + _chain(sizes, high, low, high)
    s = shown.ground.segments
    for stop in sorted({int(v) for v in s[s[:, side] == s[:, side + 2], side] if low < v < high}):
        out += _chain(sizes, stop, low, high)
    return out + [low + (high - low) * k // EVEN_LINES for k in range(1, EVEN_LINES)]


def meeting(shown: Shown, ways: Sequence[Way], side: int) -> list[int]:
    """Low sides of pieces whose front panel lies in the middle of a best area or meets its edges, large areas first."""
    low, high = shown.ground.usable[side], shown.ground.usable[side + 2]
    boxes, weights = shown.boxes, shown.weights
    sizes = weights * (boxes[:, 2] - boxes[:, 0]) * (boxes[:, 3] - boxes[:, 1])
    out: dict[int, None] = {}
    for k in np.argsort(-sizes, kind="stable"):
        first, last = shown.boxes[k][side], shown.boxes[k][side + 2]
        for way in ways:
            for turn in way.turns:
                front = shown.blanks[way.name].front_at(turn)
                a, c = front[side], front[side + 2]
                for place in ((first + last - a - c) / 2, first - a, last - c, first - c, last - a):
                    if low <= round(place) <= high - (way.width, way.height)[side]:
                        out.setdefault(round(place))
    return list(out)


def _chain(sizes: Sequence[int], place: int, low: int, high: int) -> list[int]:
    """A line, and where pieces side by side on both sides of it begin and end."""
    after, before = reachable(sizes, [place], high, MOST_SUMS), reachable(sizes, [-place], -low, MOST_SUMS)
    return [place, *(int(v) for v in (() if after is None else after)), *(-int(v) for v in (() if before is None else before))]


def _filled(needed: Sequence[int], wished: Iterable[int]) -> Any:
    """The lines needed, and of those wished as many as may be, none of these close to another."""
    out = set(needed)
    close = {cell for v in out for cell in (v // NEAR - 1, v // NEAR, v // NEAR + 1)}
    for value in wished:
        if len(out) >= MOST_LINES:
            break
        if value // NEAR not in close:
            out.add(value)
            close |= {value // NEAR - 1, value // NEAR, value // NEAR + 1}
    return np.array(sorted(out), np.int64)


def slid(shown: Shown, tree: Node) -> Node:
    """Each piece moved, and turned by half, within the box it is cut from to where it shows most; its place if none does."""
    alone = _alone(tree)

    def grown_at(node: Node) -> Node | tuple[Box, Axis, int, Any, Any]:
        if id(node) in alone and alone[id(node)].box not in shown.fixed:
            return _placed_best(shown, node.box, alone[id(node)])
        if isinstance(node, Cut):
            return node.box, node.axis, node.at, node.low, node.high
        return node

    return grown(tree, grown_at)


def _alone(tree: Node) -> dict[int, Piece]:
    """The largest parts of a tree that hold one piece only, by identity, with that piece."""
    order, stack = [], [tree]
    while stack:
        node = stack.pop()
        order.append(node)
        if isinstance(node, Cut):
            stack += [node.low, node.high]
    counts: dict[int, tuple[int, Piece | None]] = {}
    for node in reversed(order):
        if isinstance(node, Cut):
            (a, first), (b, second) = counts[id(node.low)], counts[id(node.high)]
            counts[id(node)] = a + b, first or second
        else:
            counts[id(node)] = (1, node) if isinstance(node, Piece) else (0, None)
    out: dict[int, Piece] = {}
    stack = [tree]
    while stack:
        node = stack.pop()
        count, piece = counts[id(node)]
        if count == 1 and piece is not None:
            out[id(node)] = piece
        elif isinstance(node, Cut):
            stack += [node.low, node.high]
    return out


def _placed_best(shown: Shown, box: Box, piece: Piece) -> Node:
    """The piece where it shows most in its box: at places that meet the best areas, then in ever smaller steps."""
    ground = shown.ground
    w, h = piece.box[2] - piece.box[0], piece.box[3] - piece.box[1]
    x0, y0 = max(box[0], ground.usable[0]), max(box[1], ground.usable[1])
    x1, y1 = min(box[2], ground.usable[2]) - w, min(box[3], ground.usable[3]) - h
    turns = tuple(shown.turns(piece.blank, piece.turn))
    way = Way(piece.blank, w, h, turns)
    at = piece.box[0], piece.box[1]
    xs = sorted({at[0], x0, x1, *(v for v in meeting(shown, [way], 0) if x0 <= v <= x1)}) if x1 > x0 else [at[0]]
    ys = sorted({at[1], y0, y1, *(v for v in meeting(shown, [way], 1) if y0 <= v <= y1)}) if y1 > y0 else [at[1]]
    best = (shown.of(piece.blank, piece.turn, *at), piece.turn, at)
    for turn in turns:
        scores = shown.at(piece.blank, turn, xs, ys)
        for flat in np.argsort(-scores, axis=None, kind="stable"):
            i, j = divmod(int(flat), len(ys))
            if scores[i, j] <= best[0]:
                break
            if ground.fits((xs[i], ys[j], xs[i] + w, ys[j] + h)):
                best = int(scores[i, j]), turn, (xs[i], ys[j])
                break
    step = LARGE_STEP
    while step >= SMALL_STEP and (x1 > x0 or y1 > y0):
        score, turn, (x, y) = best
        for dx, dy in ((step, 0), (-step, 0), (0, step), (0, -step)):
            place = min(max(x + dx, x0), max(x1, x)), min(max(y + dy, y0), max(y1, y))
            value = shown.of(piece.blank, turn, *place)
            if value > best[0] and ground.fits((*place, place[0] + w, place[1] + h)):
                best = value, turn, place
        if best[0] == score:
            step //= 2
    return trimmed(box, Oriented(0, piece.blank, best[1], w, h), *best[2])


def shows_most(shown: Shown, tree: Node, worths: Mapping[str, float]) -> Node:
    """A layout of no less worth than the tree that shows as much as can be found; worths of the blanks, 0: not wanted."""
    best = slid(shown, tree)
    showing = Showing(shown, [name for name, worth in worths.items() if worth > 0], tree)
    other = showing.best(worths)
    if other is not None and worth_of(other, worths) >= worth_of(tree, worths):
        other = slid(shown, other)
        if (worth_of(other, worths), shown.total(other)) > (worth_of(best, worths), shown.total(best)):
            best = other
    return best


def shows_most_of(shown: Shown, tree: Node, keep: Mapping[str, int], over: Callable[[], bool] | None = None) -> Node:
    """A layout of exactly these numbers of pieces that shows as much as can be found; the tree has no fewer of any.

    `over`: whether to stop looking.
    """
    best = slid(shown, reduced(shown, tree, keep))
    showing = Showing(shown, [name for name, count in keep.items() if count > 0], tree)
    areas = {name: float(shown.blanks[name].width * shown.blanks[name].height) for name in keep}
    largest = max((areas[name] for name, count in keep.items() if count), default=1.0)
    one = showing.most_of_one()
    for part in (None, *PARTS):
        if over is not None and over():
            break
        worths = {name: area / largest if part is None else part * one * area / largest for name, area in areas.items()}
        found = showing.best(worths, None if part is None else 1.0)
        if found is None:
            continue
        counts = {name: sum(p.blank == name for p in pieces(found)) for name in keep}
        if all(counts[name] >= count for name, count in keep.items()):
            other = slid(shown, reduced(shown, found, keep))
            if shown.total(other) > shown.total(best):
                best = other
            if part is None and counts == dict(keep):
                break  # no layout with more of them: every one of most pieces was looked at
    return best


def reduced(shown: Shown, tree: Node, keep: Mapping[str, int]) -> Node:
    """The tree with no more pieces than these: those that show least are left uncut."""
    counts = {name: sum(p.blank == name for p in pieces(tree)) for name in keep}
    gone = shown.least_shown(tree, {name: max(0, counts[name] - keep[name]) for name in keep})
    if not gone:
        return tree

    def leaf(node: Node) -> Node:
        return Shavings(node.box) if node.box in gone else node

    def cut(node: Cut, low: Node, high: Node) -> Node:
        empty = isinstance(low, Shavings) and isinstance(high, Shavings)
        return Shavings(node.box) if empty else Cut(node.box, node.axis, node.at, low, high)

    return rebuilt(tree, leaf, cut)


def worth_of(tree: Node, worths: Mapping[str, float]) -> float:
    """What the pieces of a tree are worth."""
    return sum(worths.get(leaf.blank, 0) for leaf in leaves(tree) if isinstance(leaf, Piece))


def rate_of(best_rate: float) -> float:
    """The worth of what `Shown` counts as 1, from the worth of a mm2."""
    return best_rate / PER_MM2


def filled_showing_most(ground: Ground, blanks: Sequence[Blank], tree: Node, values: Sequence[int],
                        made: Sequence[int], over: Callable[[], bool]) -> Node:  # fmt: skip
    """For one sheet: a layout of the same worth within the quantities that shows as much as can be found.

    `values`: whole worths of the blanks; `made`: how many of each the tree is to give, the rest of it is surplus.
    """
    shown = Shown(ground, blanks)
    keep = {b.name: n for b, n in zip(blanks, made, strict=True)}
    worths = {b.name: v for b, v in zip(blanks, values, strict=True)}
    best = shows_most_of(shown, tree, keep, over)
    if over() or sum(value > 0 for value in values) == 1:
        return best
    other = shows_most(shown, tree, worths)
    counts = {b.name: sum(p.blank == b.name for p in pieces(other)) for b in blanks}
    within = all(b.quantity is None or counts[b.name] <= b.quantity for b in blanks)
    if within and worth_of(other, worths) >= worth_of(best, worths) and shown.total(other) > shown.total(best):
        return other
    return best
