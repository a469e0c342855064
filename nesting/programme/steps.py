"""The cuts of a layout in order, each with its fence setting and the edge that it is measured from.

Rule 6 of design.md section 4: an untrue edge is never measured from. A side of the piece in hand serves where
an earlier cut made it, or where a true edge of the outline lies on it; else the cut is a squaring cut, made by
eye to the drawn line. Bench rules behind it: trade.md section 7 (Gray 1918, "Reference edges").
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from itertools import pairwise
from typing import Literal

from ..cutters import Cutter
from ..geometry import Box, Point, split
from ..geometry import Part as Paper
from ..layouts import Axis, Cut, Layout, Node, Offcut, Piece, Shavings, walk
from ..lengths import TICKS_PER_MM
from ..sheets import Sheet
from .bases import EDGES, Base, BaseKind, Edge, Guide, Held, Part, base, best_base, guide, lying_side, on_scale
from .paper import Span, frame_paper, overlap, spans_on, true_spans
from .stacking import cuts_with_stacking

__all__ = ["EDGES", "Guide", "Part", "Step", "cuts_with_stacking", "settings", "steps"]

Hand = Literal["whole", "left of", "right of", "below", "above"]
_HANDS: dict[Axis, tuple[Hand, Hand]] = {"x": ("left of", "right of"), "y": ("below", "above")}
_LEAST_CROSSING = TICKS_PER_MM // 100  # less paper on the line is rounding, not a cut


@dataclass(frozen=True)
class Step:
    """One cut. Lengths and points in ticks, in the frame of the layout.

    `line`: the cut's two ends on the paper, bottom or left end first. `hand` and `after`: the piece in hand is
    the part `hand` cut number `after` (0: the whole sheet). `base` and `setting`: the edge at the fence and the
    distance from it; None for a squaring cut, which has a `guide` instead. `contact`: how much of that edge there
    is. `length`: how long the knife must be. `blade`: to be done with straight-edge and blade, `why` says why.
    `off_scale`: the setting lies between two marks of the fence's scale. `at_fence`: the side that stays.
    `stacks_on`: the number of an earlier cut that can be made in the same pull, the strips lying on each other.
    """

    number: int
    axis: Axis
    at: int
    box: Box
    line: tuple[Point, Point]
    after: int
    hand: Hand
    base: Edge | None
    base_kind: BaseKind | None
    setting: int | None
    contact: int
    guide: Guide | None
    length: int
    blade: bool
    why: tuple[str, ...]
    off_scale: bool
    low: Part
    high: Part
    at_fence: Literal["low", "high"]
    stacks_on: int | None = None

    @property
    def squaring(self) -> bool:
        """Whether there is no true edge to measure from."""
        return self.setting is None

    @property
    def kept(self) -> Part:
        """What stays between fence and knife."""
        return self.low if self.at_fence == "low" else self.high

    @property
    def falls(self) -> Part:
        """What falls off in front of the knife."""
        return self.high if self.at_fence == "low" else self.low


@dataclass
class _Strip:
    """A part of the tree still to be cut; once done, `first` to `last` are the numbers of its steps."""

    node: Node
    papers: list[Paper]
    after: int
    hand: Hand
    row: int  # strips of one row were parted by cuts of one direction
    first: int = 1
    last: int = 0  # below `first`: no steps


def steps(layout: Layout, sheet: Sheet, cutter: Cutter | None = None) -> tuple[Step, ...]:
    """The cuts of a layout of this sheet in the order to make them, numbered from 1.

    Each comes before what it divides. Cuts of one direction that follow each other in the tree are made first,
    in the order of `layouts.walk`, then each strip between them from low to high, so that the fence moves least.
    A cut of the tree that meets no paper is left out.

    Without a cutter, or with `square_up` 0 (sheets are taken as square already), every edge that the paper
    reaches may be measured from; `base_kind` then still says "edge as it is" where it is not known to be true.
    Of two usable edges the one is taken that is known to be true, then the one within the fence's reach, with a
    setting on its scale, at the distance of a piece's own side, with pieces at the fence (shavings fall in front
    of the knife), and at the larger distance.
    """
    sides, whole = _contents(layout.tree)
    true = true_spans(sheet, layout)
    tolerance = 0 if layout.frame_deg == 0 else 2  # rounding of a turned frame, in ticks
    out: list[Step] = []
    strips = [_Strip(layout.tree, [frame_paper(sheet, layout)], 0, "whole", 0)]
    todo = [(strips[0], False)]
    rows = 0
    while todo:
        strip, done = todo.pop()
        if done:
            strip.last = len(out)
            continue
        strip.first = len(out) + 1
        todo.append((strip, True))
        rows += 1
        found: list[_Strip] = []
        row = [strip]
        axis = strip.node.axis if isinstance(strip.node, Cut) else None
        while row:
            part = row.pop()
            node = part.node
            if not isinstance(node, Cut) or node.axis != axis:
                found.append(replace(part, row=rows))
                continue
            papers, crossed = _parted(node, part.papers)
            number, hands = part.after, (part.hand, part.hand)
            if crossed:
                number, hands = len(out) + 1, _HANDS[node.axis]
                across = node.axis == "y"
                held = Held(node, crossed, (sides[id(node.low)], sides[id(node.high)]),
                            (whole[id(node.low)][across], whole[id(node.high)][across]))  # fmt: skip
                bases = [base(held, high, layout.tree.box, true, tolerance, cutter) for high in (0, 1)]
                out.append(_step(number, part, held, bases, cutter or Cutter()))
            row.append(_Strip(node.high, papers[1], number, hands[1], 0))
            row.append(_Strip(node.low, papers[0], number, hands[0], 0))
        found = [part for part in found if not isinstance(part.node, Shavings)]  # a gutter falls away between two strips
        strips += found
        found = [part for part in found if isinstance(part.node, Cut)]
        todo += [(part, False) for part in reversed(found)]
    return _stacked(out, strips)


def settings(steps: Iterable[Step]) -> tuple[int, ...]:
    """The different fence settings in ticks, in the order of first use (cuts by eye or with a blade have none)."""
    return tuple(dict.fromkeys(step.setting for step in steps if step.setting is not None and not step.blade))


def _parted(node: Cut, papers: list[Paper]) -> tuple[tuple[list[Paper], list[Paper]], tuple[tuple[Paper, tuple[Span, ...]], ...]]:
    """The papers below and above a cut, and those it crosses with the spans where it does."""
    crossed: list[tuple[Paper, tuple[Span, ...]]] = []
    lows: list[Paper] = []
    highs: list[Paper] = []
    for paper in papers:
        low, high = split(paper, node.axis, node.at)
        lows += low
        highs += high
        meeting = overlap(spans_on(low, node.axis, node.at), spans_on(high, node.axis, node.at))
        meeting = [span for span in meeting if span[1] - span[0] >= _LEAST_CROSSING]
        if meeting:
            crossed.append((paper, tuple(meeting)))
    return (lows, highs), tuple(crossed)


def _contents(tree: Node) -> tuple[dict[int, Part], dict[int, tuple[bool, bool]]]:
    """By id of node: what it holds, and whether some piece spans its whole width, its whole height."""
    parts: dict[int, Part] = {}
    whole: dict[int, tuple[bool, bool]] = {}
    for node in reversed(list(walk(tree))):
        if isinstance(node, Cut):
            low, high = parts[id(node.low)], parts[id(node.high)]
            counts = dict(low.pieces)
            for name, count in high.pieces:
                counts[name] = counts.get(name, 0) + count
            parts[id(node)] = Part(tuple(counts.items()), low.offcuts + high.offcuts, low.shavings or high.shavings)
            (wide_low, tall_low), (wide_high, tall_high) = whole[id(node.low)], whole[id(node.high)]
            whole[id(node)] = (False, tall_low or tall_high) if node.axis == "x" else (wide_low or wide_high, False)
        elif isinstance(node, Piece):
            parts[id(node)], whole[id(node)] = Part(pieces=((node.blank, 1),)), (True, True)
        else:
            part = Part(offcuts=(node.id,)) if isinstance(node, Offcut) else Part(shavings=True)
            parts[id(node)], whole[id(node)] = part, (False, False)
    return parts, whole


def _step(number: int, strip: _Strip, held: Held, bases: list[Base], cutter: Cutter) -> Step:
    node = held.node
    usable = [base for base in bases if base.usable]
    chosen = best_base(held, usable, cutter) if usable else None
    high = lying_side(held, cutter) if chosen is None else chosen.high
    size = held.size(high)
    spans = [(spans[0][0], spans[-1][1]) for _, spans in held.crossed]
    start, end = min(a for a, _ in spans), max(b for _, b in spans)
    length = max(b - a for a, b in spans)
    why: list[str] = []
    if cutter.longest_cut is not None and length > cutter.longest_cut:
        why.append("longer than the knife")
    if size < max(cutter.fence_min, cutter.clamp):
        why.append("too narrow for fence and clamp")
    if cutter.fence_max is not None and size > cutter.fence_max:
        why.append("beyond the reach of the fence")
    return Step(
        number, node.axis, node.at, node.box,
        ((node.at, start), (node.at, end)) if node.axis == "x" else ((start, node.at), (end, node.at)),
        strip.after, strip.hand,
        None if chosen is None else EDGES[node.axis][high], None if chosen is None else chosen.kind,
        None if chosen is None else size, 0 if chosen is None else chosen.contact,
        guide(held) if chosen is None else None, length, bool(why), tuple(why),
        chosen is not None and not on_scale(size, cutter), *held.sides, "high" if high else "low")  # fmt: skip


def _stacked(made: list[Step], strips: list[_Strip]) -> tuple[Step, ...]:
    """The steps, with `stacks_on` where a strip of the size of the one before it in its row is cut in the same way."""
    on = list(range(len(made) + 1))
    for before, strip in pairwise(strips):
        (ax0, ay0, ax1, ay1), (bx0, by0, bx1, by1) = before.node.box, strip.node.box
        if (before.row != strip.row or before.last - before.first != strip.last - strip.first
                or (ax1 - ax0, ay1 - ay0) != (bx1 - bx0, by1 - by0)):  # fmt: skip
            continue
        pairs = list(zip(range(before.first, before.last + 1), range(strip.first, strip.last + 1), strict=True))
        if all(_like(made[a - 1], (ax0, ay0)) == _like(made[b - 1], (bx0, by0)) for a, b in pairs):
            for a, b in pairs:
                on[b] = min(on[b], a)
    out = []
    for step in made:
        first = step.number
        while on[first] != first:
            first = on[first]
        out.append(replace(step, stacks_on=None if first == step.number else first))
    return tuple(out)


def _like(step: Step, corner: Point) -> tuple[object, ...]:
    """What must agree for two cuts to be one pull; unlike all others where it cannot be one."""
    if step.squaring or step.blade:
        return ("alone", step.number)
    return (step.axis, step.at - corner[step.axis == "y"], step.base, step.setting)
