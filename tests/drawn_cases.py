"""Plans made by hand for the tests of steps and drawings: trees are written down, not searched for."""

from __future__ import annotations

import math
import random
from collections.abc import Callable, Sequence

from nesting import Blank, Cutter, Layout, Plan, Sheet
from nesting.documents import with_id
from nesting.geometry import Box, Part, Ring, area2, bounds, split
from nesting.layouts import Areas, Cut, Node, Offcut, OffcutPiece, Piece, Placed, Shavings, corners_of, leaves, to_frame, to_sheet
from nesting.lengths import ticks
from nesting.plans import Bound, MadeWith, StockMark

Branch = Callable[[Box], Node]


def piece(name: str, turn: int = 0) -> Branch:
    return lambda box: Piece(box, name, turn)


def offcut(id: str) -> Branch:
    return lambda box: Offcut(box, id)


def shavings(box: Box) -> Node:
    return Shavings(box)


def across(at: float | str, left: Branch, right: Branch) -> Branch:
    """A cut along x = at (mm or text, in the frame)."""
    line = ticks(at, signed=True)
    return lambda box: Cut(box, "x", line, left((box[0], box[1], line, box[3])), right((line, box[1], box[2], box[3])))


def up(at: float | str, below: Branch, above: Branch) -> Branch:
    """A cut along y = at (mm or text, in the frame)."""
    line = ticks(at, signed=True)
    return lambda box: Cut(box, "y", line, below((box[0], box[1], box[2], line)), above((box[0], line, box[2], box[3])))


def strips(cut: Callable[..., Branch], ats: Sequence[float | str], branches: Sequence[Branch]) -> Branch:
    """len(ats) cuts of one direction, low first, between len(ats) + 1 branches."""
    return branches[0] if not ats else cut(ats[0], branches[0], strips(cut, ats[1:], branches[1:]))


def framed(sheet: Sheet, frame_deg: float, origin: tuple[int, int]) -> Part:
    def ring(points: Ring) -> Ring:
        return tuple((round(u), round(v)) for u, v in (to_frame(frame_deg, origin, x, y) for x, y in points))

    return Part(ring(sheet.outline), tuple(tuple(reversed(ring(hole))) for hole in sheet.holes))


def layout(sheet: Sheet, branch: Branch, copies: int = 1, frame_deg: float = 0.0, origin: tuple[int, int] = (0, 0)) -> Layout:
    """The layout of a branch on a sheet: pieces, offcuts and areas follow from the tree."""
    paper = framed(sheet, frame_deg, origin)
    if frame_deg == 0:
        box = bounds(paper.outline)
    else:
        points = [to_frame(frame_deg, origin, x, y) for x, y in sheet.outline]
        box = (math.floor(min(u for u, _ in points)), math.floor(min(v for _, v in points)),
               math.ceil(max(u for u, _ in points)), math.ceil(max(v for _, v in points)))  # fmt: skip
    tree = branch(box)
    placed, offcuts, used = [], [], 0

    def back(u: int, v: int) -> tuple[int, int]:
        x, y = to_sheet(frame_deg, origin, u, v)
        return round(x), round(y)

    papers: dict[int, list[Part]] = {id(tree): [paper]}
    todo: list[Node] = [tree]
    while todo:
        node = todo.pop()
        if isinstance(node, Cut):
            papers[id(node.low)], papers[id(node.high)] = [], []
            for part in papers[id(node)]:
                low, high = split(part, node.axis, node.at)
                papers[id(node.low)] += low
                papers[id(node.high)] += high
            todo += (node.high, node.low)
    back_area = 0
    for leaf in leaves(tree):
        if isinstance(leaf, Piece):
            a, b, c, d = (back(u, v) for u, v in corners_of(leaf.box, leaf.turn))
            placed.append(Placed(leaf.blank, leaf.turn, (a, b, c, d)))
            used += 2 * (leaf.box[2] - leaf.box[0]) * (leaf.box[3] - leaf.box[1])
        elif isinstance(leaf, Offcut):
            largest = max(papers[id(leaf)], key=lambda p: p.area2)
            offcuts.append(OffcutPiece(leaf.id, copies, tuple(back(u, v) for u, v in largest.outline)))
            back_area += area2(largest.outline)
    whole = paper.area2
    return Layout(sheet.id, copies, frame_deg, origin, tree, tuple(placed), tuple(offcuts),
                  Areas(whole, used, back_area, whole - used - back_area))  # fmt: skip


def plan(sheets: Sequence[Sheet], blanks: Sequence[Blank], layouts: Sequence[Layout], *, cutter: Cutter | None = None,
         bound: Bound | None = None) -> Plan:  # fmt: skip
    """A plan of these layouts, with the bound of a proven worth unless another is given."""
    made: dict[str, int] = {}
    for lay in layouts:
        for name, count in lay.counts().items():
            made[name] = made.get(name, 0) + count * lay.copies
    short = tuple((b.name, max(0, b.quantity - made.get(b.name, 0))) for b in blanks if b.quantity is not None)
    worth = sum(made.get(b.name, 0) * (b.worth if b.worth is not None else b.area_mm2) for b in blanks)
    if bound is None:
        bound = Bound("most", "worth", worth, worth, True, "frames", (0.0,), "proof")
    made_with = MadeWith("0.1.0", "least-stock" if bound.sense == "least" else "most-worth", 0, 10.0, None)
    return with_id(Plan(tuple(sheets), tuple(blanks), tuple(layouts), short, bound, made_with, cutter,
                        stock=StockMark("stock.sqlite", "9b1f44aa02c7")))  # fmt: skip


def b3(deep: float = 11, cutter: Cutter | None = None) -> Plan:
    """Bench story B3 of trade.md section 14: clip TR 30 by 40, bad L 200 to 260 deep 11, four covers."""
    outline = [(0, 0), (400, 0), (400, 270), (370, 310), (0, 310)]
    bad = [(0, 200), (deep, 200), (deep, 260), (0, 260)]
    sheet = Sheet.from_mm("b3", outline, bad=[bad], true_edges=(0, 1, 3, 4), grain="y", up="+y")
    column = strips(up, [146, 292], [piece("cover"), piece("cover"), shavings])
    tree = strips(across, [deep, deep + 186, deep + 372], [shavings, column, column, shavings])
    return plan([sheet], [Blank("cover", 186, 146, 4, turns=(0,), material=None)], [layout(sheet, tree)], cutter=cutter)


def many_cuts() -> Plan:
    """25 cuts on one sheet: five columns of five different blanks with trims between."""
    sheet = Sheet.rectangle("p1", 500, 420, true_edges="all", grain="x", count=40)
    column = strips(up, [80, 160, 240, 400], [piece("label"), piece("label"), piece("label"), piece("flap", 90), shavings])
    tree = strips(across, [96, 192, 288, 384, 480], [column, column, column, column, column, shavings])
    return plan([sheet], [Blank("label", 96, 80), Blank("flap", 160, 96)], [layout(sheet, tree, copies=40)])


def tiny() -> Plan:
    """A sheet of 60 x 40 mm and one piece."""
    sheet = Sheet.rectangle("t", 60, 40)
    tree = across(50, up(30, piece("tag"), shavings), shavings)
    return plan([sheet], [Blank("tag", 50, 30, 1)], [layout(sheet, tree)])


def long_strip() -> Plan:
    """A strip of 1500 x 80 mm with 13 pieces and a knife that is too short for nothing but a fence that is."""
    sheet = Sheet.rectangle("roll-end 7", 1500, 80, true_edges="all", grain="x", up="+y")
    tree = up(76, strips(across, [110 * (k + 1) for k in range(13)], [*[piece("bookmark", 90)] * 13, shavings]), shavings)
    return plan([sheet], [Blank("bookmark", 76, 110, turns=(0, 90))], [layout(sheet, tree)],
                cutter=Cutter(longest_cut=430, fence_max=430, square_up=3))  # fmt: skip


TORN = [(4, 9), (60, 2), (150, 6), (240, 0), (330, 5), (392, 3), (398, 80), (389, 150), (400, 220), (394, 296), (310, 306),
        (220, 298), (120, 310), (40, 303), (8, 300), (0, 220), (9, 140), (2, 70)]  # fmt: skip


def torn() -> Plan:
    """A torn outline with damage, a hole and a best area: squaring cuts first."""
    sheet = Sheet.from_mm("s17", outline=TORN, holes=[[(352, 60), (366, 64), (364, 78), (350, 76)]],
                          bad=[[(0, 160), (26, 166), (22, 204), (0, 210)], [(200, 240), (236, 250), (240, 310), (196, 310)]],
                          best=[([(60, 40), (170, 40), (170, 130), (60, 130)], 2.0)], up="+y")  # fmt: skip
    column = strips(up, [146 + 12], [piece("cover"), offcut("s17-b")])
    right = up(158, across(335, offcut("s17-c"), shavings), shavings)
    tree = up(12, shavings, across(28, offcut("s17-a"), across(214, column, right)))
    bound = Bound("least", "unmade worth", 4 * 186 * 146, 3 * 186 * 146, False, "frames", (0.0, 2.0), "time")
    cutter = Cutter(square_up=3, longest_cut=600)
    return plan([sheet], [Blank("cover", 186, 146, 5)], [layout(sheet, tree)], cutter=cutter, bound=bound)


def inches() -> Plan:
    """Bench story B5, sheet A: covers 7-1/4 x 5-3/4 in from 12 x 18 in."""
    sheet = Sheet.rectangle("A", "12 in", "18 in", true_edges="all", up="+y")
    column = strips(up, ["5 3/4 in", "11 1/2 in", "17 1/4 in"], [*[piece("cover")] * 3, shavings])
    tree = across("7 1/4 in", column, offcut("A-a"))
    return plan([sheet], [Blank("cover", "7 1/4 in", "5 3/4 in", 11, turns=(0,), up="+y")], [layout(sheet, tree)])


def turned() -> Plan:
    """A frame turned by 4 degrees, square to the only true edge."""
    c, s = math.cos(math.radians(4)), math.sin(math.radians(4))
    outline = [(0.0, 0.0), (380 * c, 380 * s), (388, 150), (370, 300), (180, 318), (-10, 290), (-18, 120)]
    sheet = Sheet.from_mm("s4", outline, true_edges=(0,), grain="x")
    row = strips(across, [6, 192, 378], [shavings, piece("cover"), piece("cover"), shavings])
    tree = strips(up, [146, 270], [row, offcut("s4-a"), shavings])
    bound = Bound("most", "worth", 2 * 186 * 146, 2 * 186 * 146, True, "any angle", (4.0,), "proof")
    made = layout(sheet, tree, frame_deg=4.0)
    return plan([sheet], [Blank("cover", 186, 146, 2)], [made], cutter=Cutter(square_up=3), bound=bound)


def triangle() -> Plan:
    """A sheet with a slanting side: its offcut is a triangle."""
    sheet = Sheet.from_mm("w3", outline=[(0, 0), (300, 0), (200, 240), (0, 240)], true_edges=(0, 3), grain="y")
    tree = across(200, up(150, piece("cover"), offcut("w3-a")), offcut("w3-b"))
    return plan([sheet], [Blank("cover", 200, 150, 1)], [layout(sheet, tree)], cutter=Cutter(square_up=3))


LONG_ID = "closed print shop, wallpaper sample book of the autumn collection, leaf 0117"
LONG_NAME = "cover for the small pocket notebook with the rounded corners, second edition"


def long_names() -> Plan:
    """Ids and names as long as they may be, on pieces of which some are small; a dollar sign and letters of other scripts."""
    sheet = Sheet.rectangle(LONG_ID, 420, 297, true_edges="all", grain="x", up="-x", count=12)
    small = strips(across, [236, 256, 276, 296, 316], [*[piece("$a_1$ тег 札", 90)] * 5, offcut(f"{LONG_ID}-b")])
    tree = across(216, up(154, piece(LONG_NAME), offcut(f"{LONG_ID}-a")), up(60, small, up(160, piece("B"), shavings)))
    blanks = [Blank(LONG_NAME, 216, 154, 30), Blank("$a_1$ тег 札", 60, 20, 100, turns=(90,)), Blank("B", 204, 100, 20)]
    bound = Bound("most", "worth", 12 * 59664, 13 * 59664 + 40000, False, "frames", (0.0,), "interrupt")
    return plan([sheet], blanks, [layout(sheet, tree, copies=12)], bound=bound)


def whole_piece() -> Plan:
    """A sheet that is a piece as it is: no cut at all."""
    sheet = Sheet.rectangle("x", 186, 146)
    return plan([sheet], [Blank("cover", 186, 146, 1)], [layout(sheet, piece("cover"))])


CASES: dict[str, tuple[Callable[[], Plan], str]] = {
    "b3": (b3, "mm"), "many_cuts": (many_cuts, "mm"), "tiny": (tiny, "mm"), "long_strip": (long_strip, "mm"),
    "torn": (torn, "mm"), "inches": (inches, "in"), "turned": (turned, "mm"), "triangle": (triangle, "mm"),
    "long_names": (long_names, "mm"), "whole_piece": (whole_piece, "mm"),
}  # fmt: skip


def grid(columns: int, rows: int, width: float, height: float, gutter: float, trim: float) -> Plan:
    """columns x rows pieces of width x height with gutters between, all edges trimmed."""
    sheet = Sheet.rectangle("g2", 2 * trim + columns * width + (columns - 1) * gutter,
                            2 * trim + rows * height + (rows - 1) * gutter, true_edges="all", count=10)  # fmt: skip

    def lane(count: int, size: float) -> list[float]:
        out = [trim]
        for k in range(count):
            out.append(out[-1] + size)
            if gutter and k < count - 1:
                out.append(out[-1] + gutter)
        return out if trim else out[1:-1]

    def lined(cut: Callable[..., Branch], ats: Sequence[float], branch: Branch) -> Branch:
        kinds: list[Branch] = []
        for k in range(len(ats) + 1 - 2 * bool(trim)):
            kinds.append(shavings if gutter and k % 2 else branch)
        return strips(cut, ats, [shavings, *kinds, shavings] if trim else kinds)

    tree = lined(across, lane(columns, width), lined(up, lane(rows, height), piece("leaf")))
    return plan([sheet], [Blank("leaf", width, height)], [layout(sheet, tree, copies=2)])


def slivers() -> Plan:
    """Cuts half a millimetre apart, and an offcut too narrow for any lettering."""
    sheet = Sheet.rectangle("sl", 297, 210, true_edges=(0,), grain="y", up="+x")
    column = strips(up, [1, 200, "200.5 mm"], [shavings, piece("cover"), shavings, shavings])
    tree = strips(across, [1, "1.5 mm", 280, 283], [shavings, shavings, column, offcut("sl-a"), offcut("sl-b")])
    return plan([sheet], [Blank("cover", "278.5 mm", 199, 1)], [layout(sheet, tree)])


CASES |= {
    "two_by_four": (lambda: grid(4, 2, 105, 148, 0, 0), "mm"), "gutters": (lambda: grid(3, 3, 100, 140, 3, 2), "mm"),
    "sixty": (lambda: grid(8, 8, 50, 70, 0, 0), "mm"), "tall": (lambda: grid(1, 12, 150, 70, 0, 4), "mm"),
    "slivers": (slivers, "mm"), "dense": (lambda: grid(16, 16, 52, 37, 2, 5), "mm"),
}  # fmt: skip


def chance(seed: int, irregular: bool = False) -> Plan:
    """A plan by chance: a sheet with random cuts, some of its edges true, some damage; the same for the same seed."""
    rng = random.Random(seed)
    w, h = rng.randint(60, 700), rng.randint(60, 500)
    names = ["cover", "card", "a longer name for a label", "folio"]
    blanks: dict[tuple[int, int], Blank] = {}

    def branch(x0: float, y0: float, x1: float, y1: float, depth: int) -> Branch:
        wide, tall = x1 - x0, y1 - y0
        if depth and rng.random() < 0.85 and max(wide, tall) > 12:
            if rng.random() < wide / (wide + tall):
                at = x0 + round(rng.uniform(0.1, 0.9) * wide, rng.choice((0, 0, 2)))
                if x0 < at < x1:
                    return across(at, branch(x0, y0, at, y1, depth - 1), branch(at, y0, x1, y1, depth - 1))
            at = y0 + round(rng.uniform(0.1, 0.9) * tall, rng.choice((0, 0, 2)))
            if y0 < at < y1:
                return up(at, branch(x0, y0, x1, at, depth - 1), branch(x0, at, x1, y1, depth - 1))
        kind = rng.random()
        if kind < 0.6 and not irregular:
            def leaf(box: Box) -> Node:
                size = (box[2] - box[0], box[3] - box[1])
                if size not in blanks:
                    name = f"{names[len(blanks) % 4]} {len(blanks) + 1}"
                    blanks[size] = Blank(name, size[0] / 8000, size[1] / 8000)
                return Piece(box, blanks[size].name, 0)

            return leaf
        in_the_middle = abs((x0 + x1) / 2 - w / 2) < w * 0.25 and abs((y0 + y1) / 2 - h / 2) < h * 0.25
        if kind < 0.85 and (in_the_middle or not irregular):  # there is paper for sure
            count[0] += 1
            return offcut(f"r{seed}-{chr(96 + count[0])}")
        return shavings

    count = [0]
    rows = branch(0, 0, w, h, rng.randint(1, 5))
    ring = [(0, 0), (w, 0), (w, h), (0, h)]
    if irregular:
        ring = [(rng.uniform(0, w * 0.2), 0), (w, rng.uniform(0, h * 0.2)), (w * rng.uniform(0.8, 1), h),
                (0, h * rng.uniform(0.7, 1))]  # fmt: skip
    true = [k for k in range(4) if rng.random() < 0.6]
    bad = [[(w * 0.4, h * 0.4), (w * 0.5, h * 0.4), (w * 0.5, h * 0.55)]] if irregular else []
    grain, print_up = rng.choice((None, "x", "y")), rng.choice((None, "+y"))
    sheet = Sheet.from_mm(f"r{seed}", ring, bad=bad, true_edges=true, grain=grain, up=print_up)
    small = Cutter(square_up=2, longest_cut=300, fence_min=15, fence_max=350, clamp=20)
    cutter = rng.choice((None, Cutter(square_up=2), small))
    made = layout(sheet, rows)
    return plan([sheet], list(blanks.values()) or [Blank("none", 1, 1)], [made], cutter=cutter)
