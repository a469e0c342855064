"""Sheets, piles and jobs for tests and benchmarks, random ones from a seed.

`salvaged` follows the S6 measure: nominal 420 x 297 mm; each edge torn by up to 0, 0, 4 or 15 mm over 4 to 8
points; 40 % with a corner clipped at 45 degrees by 20 to 70 mm; 0 to 3 round holes of radius 4 to 22 mm; 30 % with a
full-height crease 4 mm wide between 30 and 70 % of the width (the larger part kept where it falls apart).

`skewed` follows S7b: each of four straight edges turned by 1 to 6 degrees off square about its middle, to either side;
corners clipped and holes as above, no tears and no crease.

`ODD` are sheets quite unlike: each name with a function of a scale (1: as large as sheets are), not random but for the
torn edge.
"""

from __future__ import annotations

import math
import random
from collections.abc import Callable, Sequence
from typing import Any

import nesting

Points = list[tuple[float, float]]


def salvaged(id: str, rng: random.Random, width: float = 420.0, height: float = 297.0, **more: Any) -> nesting.Sheet:
    """One torn, clipped, holed or creased sheet; `more` goes to `Sheet.from_mm`."""
    from shapely import Polygon, box

    sides = []
    for side in range(4):
        depth = rng.choice([0, 0, 4, 15])
        count = rng.randint(4, 8) if depth else 2
        length = width if side % 2 == 0 else height
        steps = [0.0, *sorted(rng.uniform(0.05, 0.95) for _ in range(count - 2)), 1.0]
        sides.append([(t * length, rng.uniform(0, depth)) for t in steps])
    outline = []
    for side, points in enumerate(sides):
        for along, deep in points[:-1]:
            spots = [(along, deep), (width - deep, along), (width - along, height - deep), (deep, height - along)]
            outline.append(spots[side])
    paper, bad = _damaged(Polygon(outline).buffer(0), rng, width, height)
    if rng.random() < 0.3:
        x = rng.uniform(0.3, 0.7) * width
        paper = paper.difference(box(x, -1, x + 4, height + 1))
    return _sheet(id, paper, bad, **more)


def skewed(id: str, rng: random.Random, width: float = 420.0, height: float = 297.0) -> nesting.Sheet:
    """One sheet with four straight edges, none square to another, clipped and holed at random."""
    from shapely import Polygon

    lines = []  # (a, b, c) with a x + b y = c, from the bottom round
    for side in range(4):
        off = math.radians(rng.choice((-1, 1)) * rng.uniform(1, 6) + 90 * side)
        a, b = -math.sin(off), math.cos(off)
        x, y = [(width / 2, 0.0), (width, height / 2), (width / 2, height), (0.0, height / 2)][side]
        lines.append((a, b, a * x + b * y))
    corners = [_crossing(lines[side - 1], lines[side]) for side in range(4)]
    paper, bad = _damaged(Polygon(corners), rng, width, height, beyond=50)
    return _sheet(id, paper, bad)


def _crossing(one: tuple[float, float, float], other: tuple[float, float, float]) -> tuple[float, float]:
    (a, b, c), (d, e, f) = one, other
    under = a * e - b * d
    return (c * e - b * f) / under, (a * f - c * d) / under


def _damaged(paper: Any, rng: random.Random, width: float, height: float, beyond: float = 1) -> tuple[Any, list[Points]]:
    """The paper with perhaps a corner clipped, and round bad areas; it reaches `beyond` width x height at most."""
    from shapely import Polygon

    if rng.random() < 0.4:
        cut = rng.uniform(20, 70)
        cx, cy = rng.choice([0.0, width]), rng.choice([0.0, height])
        sx, sy = (1 if cx == 0 else -1), (1 if cy == 0 else -1)
        leg = cut + beyond - 1
        corners = [(cx - sx * beyond, cy - sy * beyond), (cx + sx * leg, cy - sy * beyond), (cx - sx * beyond, cy + sy * leg)]
        paper = paper.difference(Polygon(corners))
    bad = []
    for _ in range(rng.randint(0, 3)):
        r, x, y = rng.uniform(4, 22), rng.uniform(0, width), rng.uniform(0, height)
        bad.append(_round(x, y, r))
    return paper, bad


def _round(x: float, y: float, radius: float, corners: int = 24) -> Points:
    turns = [a / corners * 2 * math.pi for a in range(corners)]
    return [(x + radius * math.cos(a), y + radius * math.sin(a)) for a in turns]


def _sheet(id: str, paper: Any, bad: Sequence[Points], **more: Any) -> nesting.Sheet:
    """The largest part of the paper with the bad areas that touch it, to a micrometre."""
    from shapely import Polygon

    if paper.geom_type != "Polygon":
        paper = max(paper.geoms, key=lambda part: part.area)
    bad = [ring for ring in bad if paper.intersection(Polygon(ring)).area > 0]
    corners = list(paper.exterior.coords)[:-1]
    return nesting.Sheet.from_mm(id, _near(corners), bad=[_near(ring) for ring in bad], **more)


def _near(ring: Sequence[tuple[float, float]], scale: float = 1.0) -> Points:
    return [(round(scale * x, 3), round(scale * y, 3)) for x, y in ring]


def _odd(name: str, outline: Sequence[tuple[float, float]], holes: Sequence[Sequence[tuple[float, float]]] = (),
         bad: Sequence[Sequence[tuple[float, float]]] = ()) -> Callable[[float], nesting.Sheet]:  # fmt: skip
    def sheet(scale: float = 1.0) -> nesting.Sheet:
        return nesting.Sheet.from_mm(name, _near(outline, scale), holes=[_near(ring, scale) for ring in holes],
                                     bad=[_near(ring, scale) for ring in bad])  # fmt: skip

    return sheet


def _box(x0: float, y0: float, x1: float, y1: float) -> Points:
    return [(x0, y0), (x1, y0), (x1, y1), (x0, y1)]


def _star(points: int, outer: float, inner: float) -> Points:
    turns = [(k / points * math.pi, outer if k % 2 == 0 else inner) for k in range(2 * points)]
    return [(outer + r * math.sin(a), outer + r * math.cos(a)) for a, r in turns]


def _torn(width: float, height: float, points: int, deep: float, seed: int = 0) -> Points:
    """A rectangle whose top is torn: so many points at random depths."""
    rng = random.Random(seed)
    xs = sorted(rng.uniform(0, width) for _ in range(points))
    return [(0, 0), (width, 0), *((x, height - rng.uniform(0, deep)) for x in reversed(xs))]


_RECTANGLE = _box(0, 0, 420, 297)
ODD: dict[str, Callable[[float], nesting.Sheet]] = {
    sheet[0]: _odd(*sheet)
    for sheet in (
        ("long strip", [(0, 0), (1900, 6), (1896, 171), (1200, 166), (700, 172), (4, 165)], (), [_round(815, 90, 30)]),
        ("upright strip", [(0, 0), (160, 3), (166, 900), (90, 1400), (2, 1396)], (), [_box(0, 610, 41, 622)]),
        ("L", [(0, 0), (520, 0), (520, 175), (200, 178), (204, 430), (0, 430)]),
        ("ring", _box(0, 0, 520, 420), [_box(180, 150, 345, 265)]),
        ("round ring", _round(330, 330, 330, 48), [_round(330, 330, 120, 36)]),
        ("two pieces' worth of holes", _RECTANGLE, [_box(196, y, 214, y + 52) for y in (4, 64, 124, 184, 240)]),
        ("circle", _round(240, 240, 240, 64)),
        ("star", _star(5, 330, 165)),
        ("rectangle", _RECTANGLE),
        ("300 points torn", _torn(420, 297, 300, 22)),
    )
}  # fmt: skip


def job(rng: random.Random) -> dict:
    """Arguments of `nesting.plan` for a small random job: a mixed pile, one to three blanks."""
    sheets = []
    for number in range(rng.randint(1, 4)):
        if rng.random() < 0.5:
            sheets.append(salvaged(f"s{number}", rng, rng.uniform(150, 420), rng.uniform(150, 300)))
        else:
            sheets.append(nesting.Sheet.rectangle(
                f"s{number}", rng.randint(100, 500), rng.randint(100, 400), count=rng.choice([1, 2, 5]),
                grain=rng.choice(["x", "y", None]), true_edges=rng.choice([(), "all", (0,), (1, 2)]),
                inset=rng.choice([0, 0, 2])))  # fmt: skip
    blanks = [
        nesting.Blank(f"b{i}", rng.randint(40, 200), rng.randint(40, 150), rng.randint(1, 12),
                      turns=rng.choice([(0,), (0, 90), (0, 90, 180, 270)]),
                      grain=rng.choice(["x", "y", None, None, None]))
        for i in range(rng.randint(1, 3))
    ]  # fmt: skip
    aim = rng.choice(["least-stock", "most-worth"])
    cutters = [None, nesting.Cutter(), nesting.Cutter(square_up=3), nesting.Cutter(square_up=2, lift=20, longest_cut=350)]
    cutter = rng.choice(cutters)
    return {"sheets": sheets, "blanks": blanks, "aim": aim, "cutter": cutter,
            "frames": rng.choice(["auto", "square", [0, 3.5]]), "seconds": 5}  # fmt: skip
