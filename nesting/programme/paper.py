"""The paper of a sheet in the frame it is cut in: where it meets a line, and which sides of the frame are true.

Spans are (from, to) along a line, in ticks, sorted and apart.
"""

from __future__ import annotations

import math
from collections.abc import Iterable

from ..geometry import Part, Point, Ring, split
from ..layouts import Axis, Cut, Layout, Node, Offcut, Piece, Shavings, to_frame
from ..sheets import Sheet

Span = tuple[int, int]
Leaf = Piece | Offcut | Shavings


def frame_paper(sheet: Sheet, layout: Layout) -> Part:
    """The whole sheet in the frame of a layout, holes taken out, rounded to ticks where the frame is turned."""
    return Part(_framed(sheet.outline, layout), tuple(tuple(reversed(_framed(hole, layout))) for hole in sheet.holes))


def _framed(ring: Ring, layout: Layout) -> Ring:
    if layout.frame_deg == 0:
        return tuple((x - layout.origin[0], y - layout.origin[1]) for x, y in ring)
    points = (to_frame(layout.frame_deg, layout.origin, x, y) for x, y in ring)
    return tuple((round(u), round(v)) for u, v in points)


def spans_on(parts: Iterable[Part], axis: Axis, at: int, tolerance: int = 0) -> list[Span]:
    """Where edges of the parts lie on the line x = at (axis "x") or y = at ("y")."""
    return _joined(_edges_on([ring for part in parts for ring in (part.outline, *part.holes)], axis, at, tolerance))


def _edges_on(rings: Iterable[Ring], axis: Axis, at: float, tolerance: float) -> list[Span]:
    across, along = (0, 1) if axis == "x" else (1, 0)
    out: list[Span] = []
    for ring in rings:
        a = ring[-1]
        for b in ring:
            if abs(a[across] - at) <= tolerance and abs(b[across] - at) <= tolerance and a[along] != b[along]:
                out.append((min(a[along], b[along]), max(a[along], b[along])))
            a = b
    return out


def _joined(spans: Iterable[Span]) -> list[Span]:
    out: list[Span] = []
    for low, high in sorted(spans):
        if out and low <= out[-1][1]:
            out[-1] = (out[-1][0], max(out[-1][1], high))
        else:
            out.append((low, high))
    return out


def overlap(one: Iterable[Span], other: Iterable[Span]) -> list[Span]:
    """Where both have a span of more than a point."""
    found = ((max(a, c), min(b, d)) for a, b in one for c, d in other)
    return _joined((low, high) for low, high in found if low < high)


def total(spans: Iterable[Span]) -> int:
    """The length of all spans together."""
    return sum(high - low for low, high in spans)


def true_spans(sheet: Sheet, layout: Layout) -> dict[tuple[Axis, bool], list[Span]]:
    """The true edges of the outline that lie on each side of the root box: (axis, whether the high side)."""
    paper = frame_paper(sheet, layout)
    count = len(paper.outline)
    edges: list[Ring] = [(paper.outline[i], paper.outline[(i + 1) % count]) for i in sheet.true_edges]
    tolerance = 0 if layout.frame_deg == 0 else 2
    x0, y0, x1, y1 = layout.tree.box
    sides: dict[tuple[Axis, bool], int] = {("x", False): x0, ("x", True): x1, ("y", False): y0, ("y", True): y1}
    return {(axis, high): _joined(_edges_on(edges, axis, at, tolerance)) for (axis, high), at in sides.items()}


def distances(paper: Part, axis: Axis, at: int, level: int) -> tuple[int, int]:
    """From the line at `at` to the nearest edge of the paper on its low and on its high side, at this level.

    `level` runs along the line. Raises ValueError where the paper does not lie on both sides of it.
    """
    across, along = (0, 1) if axis == "x" else (1, 0)
    low, high = -math.inf, math.inf
    for ring in (paper.outline, *paper.holes):
        a: Point = ring[-1]
        for b in ring:
            if (a[along] > level) != (b[along] > level):
                meets = a[across] + (b[across] - a[across]) * (level - a[along]) / (b[along] - a[along])
                if meets <= at:
                    low = max(low, meets)
                if meets >= at:
                    high = min(high, meets)
            a = b
    if math.isinf(low) or math.isinf(high):
        raise ValueError("no paper on both sides of the line at this level")
    return round(at - low), round(high - at)


def leaf_papers(sheet: Sheet, layout: Layout) -> list[tuple[Leaf, list[Part]]]:
    """Every leaf of the tree with the parts of paper in its box, in the order of `layouts.walk`."""
    out: list[tuple[Leaf, list[Part]]] = []
    todo: list[tuple[Node, list[Part]]] = [(layout.tree, [frame_paper(sheet, layout)])]
    while todo:
        node, parts = todo.pop()
        if isinstance(node, Cut):
            halves = [split(part, node.axis, node.at) for part in parts]
            todo.append((node.high, [part for _, high in halves for part in high]))
            todo.append((node.low, [part for low, _ in halves for part in low]))
        else:
            out.append((node, parts))
    return out
