"""Random salvaged sheets and jobs for tests and benchmarks, from a seed.

`salvaged` follows the S6 measure: nominal 420 x 297 mm; each edge torn by up to 0, 0, 4 or 15 mm over 4 to 8
points; 40 % with a corner clipped at 45 degrees by 20 to 70 mm; 0 to 3 round holes of radius 4 to 22 mm; 30 % with a
full-height crease 4 mm wide between 30 and 70 % of the width.
"""

from __future__ import annotations

import math
import random

import nesting


def salvaged(id: str, rng: random.Random, width: float = 420.0, height: float = 297.0) -> nesting.Sheet:
    """One torn, clipped, holed or creased sheet."""
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
    from shapely import Polygon, box

    paper = Polygon(outline).buffer(0)
    if rng.random() < 0.4:
        cut = rng.uniform(20, 70)
        cx, cy = rng.choice([0.0, width]), rng.choice([0.0, height])
        sx, sy = (1 if cx == 0 else -1), (1 if cy == 0 else -1)
        paper = paper.difference(Polygon([(cx - sx, cy - sy), (cx + sx * cut, cy - sy), (cx - sx, cy + sy * cut)]))
    bad = []
    for _ in range(rng.randint(0, 3)):
        r, x, y = rng.uniform(4, 22), rng.uniform(0, width), rng.uniform(0, height)
        bad.append([(x + r * math.cos(a / 24 * 2 * math.pi), y + r * math.sin(a / 24 * 2 * math.pi)) for a in range(24)])
    if rng.random() < 0.3:
        x = rng.uniform(0.3, 0.7) * width
        paper = paper.difference(box(x, -1, x + 4, height + 1))
    if paper.geom_type != "Polygon":
        paper = max(paper.geoms, key=lambda part: part.area)
    bad = [ring for ring in bad if paper.intersection(Polygon(ring)).area > 0]
    corners = list(paper.exterior.coords)[:-1]
    return nesting.Sheet.from_mm(id, [(round(x, 3), round(y, 3)) for x, y in corners],
                                 bad=[[(round(x, 3), round(y, 3)) for x, y in ring] for ring in bad])  # fmt: skip


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
