"""Random sheets, blanks and plans for hypothesis. A new feature of the data joins here.

Plans come from a small generator of their own: a blank is tried at random places of the part in hand, cut free there by
edge-to-edge cuts in random order, and what is left is filled in the same way. shapely says whether a place is free.
"""

from __future__ import annotations

import math
import random
from collections.abc import Callable
from dataclasses import replace
from typing import Any

from hypothesis import strategies as st
from shapely import Polygon, affinity, prepare
from shapely import box as box_of

from nesting.blanks import Blank
from nesting.cutters import Cutter
from nesting.geometry import Ring
from nesting.lengths import TICKS_PER_MM, ticks
from nesting.plans import Plan
from nesting.ruling import Ruling
from nesting.sheets import Sheet, Zone
from tests.builder import Box, Cuts, as_chosen, in_frame, layout, leftovers, plan, root_box, shown_mm2, with_quantity

KINDS = ("rectangle", "clipped", "torn", "holed", "damaged", "slanted")
FRAMES = (0.0, 0.0, 0.0, 7.5, -12.25, 45.0, 1.0)


def some_sheet(rng: random.Random, id: str, kind: str, **more: Any) -> Sheet:
    """A sheet of a kind: 150 to 450 mm a side, whole mm or odd ticks."""
    fine = rng.random() < 0.3

    def length(low: float, high: float) -> float:
        return rng.randint(int(low * 8000), int(high * 8000)) / 8000 if fine else rng.randint(int(low), int(high))

    w, h = length(150, 450), length(150, 450)
    outline: list[tuple[float, float]] = [(0, 0), (w, 0), (w, h), (0, h)]
    holes: list[list[tuple[float, float]]] = []
    bad: list[list[tuple[float, float]]] = []
    if kind == "clipped":
        a, b = length(10, 60), length(10, 60)
        outline = [(0, 0), (w, 0), (w, h - b), (w - a, h), (0, h)]
        if rng.random() < 0.4:
            outline = [(0, 0), (w, 0), (w, h - b), (w - a, h - b), (w - a, h), (0, h)]
    elif kind == "torn":
        steps = rng.randint(3, 20)
        right = [(w - length(0, 15), h * i / steps) for i in range(steps + 1)]
        outline = [(0, 0), *right, (0, h)]
    elif kind == "holed":
        x, y, r = length(30, 100), length(30, 100), length(3, 25)
        holes = [[(x, y), (x + r, y), (x + r, y + r), (x, y + r)]]
        if rng.random() < 0.5:
            holes = [[(x + r * math.cos(math.tau * k / 7), y + r * math.sin(math.tau * k / 7)) for k in range(7)]]
    elif kind == "damaged":
        for _ in range(rng.randint(1, 3)):
            x, y, r = length(-10, 140), length(-10, 140), length(11, 40)
            bad.append([(x, y), (x + r, y), (x + r, y + length(11, 60)), (x, y + length(11, 60))])
    elif kind == "slanted":
        outline = [(length(0, 30), length(0, 30)), (w + length(0, 30), length(0, 30)), (w, h), (length(0, 30), h + length(0, 30))]
    best = []
    for _ in range(rng.choice([0, 0, 1, 2])):
        x, y, r = length(30, 100), length(30, 100), length(5, 60)
        best.append(([(x, y), (x + r, y), (x + length(0, 40), y + r)], rng.choice([1.0, 0.5, 3.0])))
    return Sheet.from_mm(id, outline, holes=holes, bad=bad, best=best, **more)


def some_blank(rng: random.Random, name: str, plain: bool = False) -> Blank:
    """A blank of 20 to 160 mm a side, with some rules unless `plain`."""
    fine = rng.random() < 0.3
    sides = [rng.randint(ticks(20), ticks(160)) / 8000 if fine else rng.randint(20, 160) for _ in range(2)]
    if plain:
        return Blank(name, *sides)
    return Blank(name, *sides, turns=rng.choice([(0,), (0, 90), (90,), (0, 90, 180, 270)]),
                 grain=rng.choice([None, None, None, "x", "y", ("x", 3), ("y", 0.25)]),
                 up=rng.choice([None, None, None, "+y", "-x", ("+y", 5), ("-x", 1.5)]),
                 worth=rng.choice([None, 1, 2.5, 7]), material=rng.choice([None, None, None, "cover"]),
                 front=rng.choice([None, [sides[0] / 2, 0.5, sides[0] - 0.25, sides[1] - 2]]))  # fmt: skip


def free_place(sheet: Sheet, frame_deg: float, origin: tuple[int, int], cutter: Cutter | None) -> Callable[[Box], bool]:
    """Whether a piece may lie in a box of a frame; in a turned frame with some ticks to spare."""
    paper = in_frame(sheet, frame_deg, origin)
    spare = 0 if frame_deg == 0 else 4
    bad = []
    for ring in sheet.bad:
        zone = Polygon(ring)
        if frame_deg:
            zone = affinity.rotate(affinity.translate(zone, -origin[0], -origin[1]), -frame_deg, origin=(0, 0))
        prepare(zone)
        bad.append(zone)
    prepare(paper)
    x0, y0, x1, y1 = root_box(sheet, frame_deg, origin)
    clear = [0, 0, 0, 0]
    if cutter is not None and cutter.square_up > 0:
        edges = [(sheet.outline[i], sheet.outline[(i + 1) % len(sheet.outline)]) for i in sheet.true_edges]
        for side, line in enumerate((x0, y0, x1, y1)):
            on = frame_deg == 0 and any(a[side % 2] == b[side % 2] == line for a, b in edges)
            clear[side] = 0 if on else cutter.square_up + spare

    def free(box: Box) -> bool:
        a, b, c, d = box
        if a < x0 + clear[0] or b < y0 + clear[1] or c > x1 - clear[2] or d > y1 - clear[3]:
            return False
        piece = box_of(a - spare, b - spare, c + spare, d + spare)
        if not paper.covers(piece) or any(zone.relate_pattern(piece, "T********") for zone in bad):
            return False
        far = sheet.inset + 1
        return sheet.inset == 0 or all(shape.distance(piece) >= far for shape in (paper.boundary, *bad))

    return free


def some_cuts(rng: random.Random, sheet: Sheet, frame_deg: float, origin: tuple[int, int], blanks: list[Blank],
              cutter: Cutter | None, least: tuple[int, int]) -> Cuts:  # fmt: skip
    """A random tree of cuts for a sheet."""
    paper = in_frame(sheet, frame_deg, origin)
    free = free_place(sheet, frame_deg, origin, cutter)
    gutter = cutter.gutter if cutter else 0
    choices = []
    for blank in blanks:
        choices += [(blank, turn) for turn in blank.turns_on(sheet, frame_deg)]

    def fill(box: Box, depth: int) -> Cuts:
        x0, y0, x1, y1 = box
        for _ in range((20 if depth == 0 else 5) if depth < 9 and choices else 0):
            blank, turn = rng.choice(choices)
            w, h = blank.size(turn)
            room_x, room_y = x1 - x0 - w - gutter, y1 - y0 - h - gutter
            if room_x < 0 or room_y < 0:
                continue
            px = x0 + rng.choice([0, 0, room_x, rng.randint(0, room_x), min(room_x, rng.randint(0, 20) * 8000)])
            py = y0 + rng.choice([0, 0, room_y, rng.randint(0, room_y), min(room_y, rng.randint(0, 20) * 8000)])
            if free((px, py, px + w, py + h)):
                return around(box, (px, py, px + w + gutter, py + h + gutter), (blank.name, turn), depth)
        parts = leftovers(paper, box)
        if parts and rng.random() < 0.7:
            ring = parts[0][0]
            sides = sorted(max(p[k] for p in ring) - min(p[k] for p in ring) for k in (0, 1))
            turned_too = sides[0] - 4 >= min(least) and sides[1] - 4 >= max(least)
            if turned_too:
                return "offcut"
        return "shavings"

    def around(box: Box, place: Box, leaf: Any, depth: int) -> Cuts:
        """Cut a place free by cuts in random order, its gutter last."""
        sides = [i for i in range(4) if box[i] != place[i]]
        if not sides:
            if gutter == 0:
                return leaf
            _, _, x1, y1 = place
            return "x", x1 - gutter, ("y", y1 - gutter, leaf, "shavings"), "shavings"
        side = rng.choice(sides)
        at = place[side]
        rest, kept = list(box), list(box)
        rest[(side + 2) % 4], kept[side] = at, at
        outer, inner = fill(tuple(rest), depth + 1), around(tuple(kept), place, leaf, depth)  # type: ignore[arg-type]
        axis = "x" if side % 2 == 0 else "y"
        return (axis, at, outer, inner) if side < 2 else (axis, at, inner, outer)

    return fill(root_box(sheet, frame_deg, origin), 0)


def some_plan(rng: random.Random, kinds: list[str], aim: str, frames: tuple[float, ...] = FRAMES) -> Plan:
    """A random sound plan; the same for the same state of `rng`."""
    cutter = rng.choice([None, None, Cutter(square_up=3), Cutter(gutter=2), Cutter(square_up=2, gutter=1)])
    blanks = [some_blank(rng, f"b{i}", plain=i == 0) for i in range(rng.randint(1, 3))]
    least = rng.choice([None, (0, 0), (30, 50), (80, 80)])
    costs = rng.random() < 0.5
    sheets, layouts = [], []
    for i, kind in enumerate(kinds):
        true = rng.choice([(), "all", (0,), (0, 1)])
        count = rng.choice([1, 1, 3, None])
        grain = rng.choice([None, "x", "y"])
        guessed = grain is not None and rng.random() < 0.3
        sheet = some_sheet(rng, f"s{i}", kind, grain=grain, grain_guessed=guessed, up=rng.choice([None, None, "+y", "+x"]),
                           true_edges=true, inset=rng.choice([0, 0, 1.5]), count=count,
                           cost=rng.choice([1, 2.5, 40]) if costs else None,
                           material=rng.choice([None, "cover", "cover"]))  # fmt: skip
        sheets.append(sheet)
        frame = rng.choice(frames)
        origin = (0, 0) if frame == 0 else (rng.randint(-10**6, 10**6), rng.randint(-10**6, 10**6))
        floor = (0, 0) if least is None else (ticks(least[0]), ticks(least[1]))
        cuts = some_cuts(rng, sheet, frame, origin, blanks, cutter, floor)
        cut = layout(sheet, cuts, rng.randint(1, count or 5), frame, origin)
        if any(zone.kind == "best" for zone in sheet.zones) and rng.random() < 0.8:
            cut = replace(cut, best_mm2=round(shown_mm2(sheet, cut, blanks), 2))
        layouts.append(cut)
    used = [x for x in layouts if x.pieces]
    made = {b.name: sum(x.counts().get(b.name, 0) * x.copies for x in used) for b in blanks}
    wanted = [with_quantity(b, rng.choice([None, max(1, made[b.name] + rng.choice([0, 0, 1, 5]))])) for b in blanks]
    sets = None
    if aim == "most-worth" and rng.random() < 0.4:
        sets = {f"set{k}": {b.name: rng.randint(1, 3)} for k, b in enumerate(blanks)}
    left = [s.id for s in sheets if s.id not in {x.sheet for x in used}]
    return plan(sheets, wanted, used, aim=aim, sets=sets, cutter=cutter, least_offcut=least,
                exclude=left if rng.random() < 0.5 else (), slack=rng.choice([0, 0, 1.5, 1000]),
                fixed=[as_chosen(x, p) for x in used for p in x.pieces if rng.random() < 0.2])  # fmt: skip


@st.composite
def sheets(draw: st.DrawFn, kinds: tuple[str, ...] = KINDS) -> Sheet:
    """A random sheet: rectangle, clipped, torn, holed, damaged or slanted."""
    kind = draw(st.sampled_from(kinds))
    return some_sheet(random.Random(draw(st.integers(0, 2**32))), "s", kind)


@st.composite
def ruled_sheets(draw: st.DrawFn, most: int = 14) -> tuple[Sheet, list[tuple[int, int, int, int]]]:
    """A small ruled sheet on whole mm, rules across, and its bad boxes in mm; the head is the top."""
    width, height = draw(st.integers(3, most)), draw(st.integers(3, most))
    pitch, first = draw(st.integers(1, 5)), draw(st.integers(0, height - 1))
    lines = draw(st.none() | st.integers(1, (height - first) // pitch + 1))
    bad = []
    for _ in range(draw(st.integers(0, 3))):
        x0, y0 = draw(st.integers(0, width - 1)), draw(st.integers(0, height - 1))
        bad.append((x0, y0, draw(st.integers(x0 + 1, width)), draw(st.integers(y0 + 1, height))))
    ruling = Ruling.of("ruled", *(v * TICKS_PER_MM for v in (width, height, pitch, first)), lines=lines)

    def ring(box: tuple[int, int, int, int]) -> Ring:
        x0, y0, x1, y1 = (v * TICKS_PER_MM for v in box)
        return (x0, y0), (x1, y0), (x1, y1), (x0, y1)

    sheet = Sheet.from_ticks("pad", ring((0, 0, width, height)), zones=tuple(Zone("bad", ring(box)) for box in bad), count=None,
                             true_edges="all", material="folio", ruling=ruling)  # fmt: skip
    return sheet, bad


@st.composite
def blanks(draw: st.DrawFn) -> Blank:
    """A random blank with rules."""
    return some_blank(random.Random(draw(st.integers(0, 2**32))), draw(st.sampled_from(("cover", "card", "folio"))))


@st.composite
def plans(draw: st.DrawFn, frames: tuple[float, ...] = FRAMES, cut: bool = False) -> Plan:
    """A random sound plan of one to three sheets; with `cut` one that cuts at least one piece."""
    kinds = draw(st.lists(st.sampled_from(KINDS), min_size=1, max_size=3))
    aim = draw(st.sampled_from(("least-stock", "most-worth")))
    seed = draw(st.integers(0, 2**32))
    for attempt in range(50):
        found = some_plan(random.Random(f"{seed} {attempt}"), kinds, aim, frames)
        if found.layouts or not cut:
            return found
    raise AssertionError("50 random plans without a piece: the generator is wrong")


def traced_sheet(rng: random.Random, id: str, points: int, noise: float, **more: Any) -> Sheet:
    """A star-shaped outline as tracing gives it: very many points, each up to `noise` mm off, and a traced hole or two."""
    waves = [(rng.randint(1, 9), rng.uniform(0, 12), rng.uniform(0, math.tau)) for _ in range(4)]

    def ring(x: float, y: float, radius: float, count: int, rough: float) -> list[tuple[float, float]]:
        out = []
        for k in range(count):
            a = math.tau * k / count
            r = radius * (1 + sum(d / 150 * math.sin(n * a + p) for n, d, p in waves) / 4) + rng.uniform(-rough, rough)
            out.append((x + r * math.cos(a), y + r * math.sin(a)))
        return out

    holes = [ring(*spot, 12, max(40, points // 20), min(noise, 0.2)) for spot in ((-40, -30), (50, 20))[: rng.randint(0, 2)]]
    bad = [ring(0, 60, 9, max(40, points // 20), min(noise, 0.2))] if rng.random() < 0.5 else []
    return Sheet.from_mm(id, ring(0, 0, 150, points, noise), holes=holes, bad=bad, **more)
