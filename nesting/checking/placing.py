"""The pieces: size, and by `rules` how they may lie; inside the sheet, clear of damage, apart; true to the cuts."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

from ..blanks import Blank
from ..layouts import Layout, Piece, Placed
from ..lengths import show
from ..sheets import Sheet
from .exact import Box, Point, around, quarter
from .faults import Fault
from .paper import Frame, Paper, touches
from .rules import rule_faults
from .trees import Leaf

LOOSE = 2
"""Ticks allowed in a turned frame: corners are rounded to a tick on the way to the sheet, the outline on the way back."""


def lying(box: Box, turn: int) -> list[Point]:
    """The corners of a blank that lies turned in a box: low-left, low-right, high-right, high-left before its turn."""
    x0, y0, x1, y1 = box
    middle2 = x0 + x1, y0 + y1
    width, height = (y1 - y0, x1 - x0) if turn % 180 else (x1 - x0, y1 - y0)
    out = []
    for sx, sy in ((-1, -1), (1, -1), (1, 1), (-1, 1)):
        dx, dy = quarter(sx * width, sy * height, turn)
        out.append(((middle2[0] + dx) // 2, (middle2[1] + dy) // 2))
    return out


def placed_box(piece: Placed, frame: Frame) -> Box:
    """The box around a piece's corners in the frame, in parts of a tick."""
    return around(frame.ring(piece.corners))


def piece_faults(piece: Placed, blank: Blank, sheet: Sheet, paper: Paper, where: str) -> Iterator[Fault]:
    """Everything about one piece that needs no other piece."""
    frame = paper.frame
    loose = LOOSE * frame.scale if frame.turned else 0
    corners, box = frame.ring(piece.corners), placed_box(piece, frame)
    due = lying(box, piece.turn)
    if any(abs(a - b) > loose for got, want in zip(corners, due, strict=True) for a, b in zip(got, want, strict=True)):
        yield Fault("pieces", where, f"Its corners are not those of a blank turned by {piece.turn} degrees, square to the cuts.")
    width, height = (blank.height, blank.width) if piece.turn % 180 else (blank.width, blank.height)
    across, up = box[2] - box[0], box[3] - box[1]
    if abs(across - width * frame.scale) > loose or abs(up - height * frame.scale) > loose:
        yield Fault("size", where, f"It must measure {show(width)} by {show(height)} as it lies, the plan gives it "
                    f"{show(round(across / frame.scale))} by {show(round(up / frame.scale))}.")  # fmt: skip
    yield from rule_faults(piece, blank, sheet, frame.frame_deg, where)
    inner = box[0] + loose, box[1] + loose, box[2] - loose, box[3] - loose
    if inner[0] < inner[2] and inner[1] < inner[3]:
        for word in touches(paper, inner):
            yield _damage(word, sheet, where)


def _damage(word: str, sheet: Sheet, where: str) -> Fault:
    if word == "outside":
        return Fault("outside", where, f"It reaches over the edge of sheet {sheet.id}.")
    if word == "inset":
        return Fault("inset", where, f"It comes nearer than {show(sheet.inset)} to an edge, a hole or a bad area "
                     f"of sheet {sheet.id}.")  # fmt: skip
    return Fault("damage", where, f"It lies over a {'hole' if word == 'hole' else 'bad area'} of sheet {sheet.id}.")


def apart_faults(boxes: Sequence[tuple[Box, str]], paper: Paper, gutter: int, where: str) -> Iterator[Fault]:
    """No two pieces of a sheet overlap; with a gutter they are that far apart, across or up."""
    loose = 2 * LOOSE * paper.frame.scale if paper.frame.turned else 0
    gap = gutter * paper.frame.scale - loose
    # swept along the axis with more different starts: a column of strips would be all pairs across
    u = 0 if len({box[0] for box, _ in boxes}) >= len({box[1] for box, _ in boxes}) else 1
    v = 1 - u
    order = sorted(boxes, key=lambda entry: entry[0][u])
    for i, (a, first) in enumerate(order):
        for k in range(i + 1, len(order)):
            b, second = order[k]
            if b[u] >= a[u + 2] + gap:
                break
            if b[v] < a[v + 2] + gap and a[v] < b[v + 2] + gap:
                if b[u] < a[u + 2] - loose and b[v] < a[v + 2] - loose and a[v] < b[v + 2] - loose:
                    yield Fault("overlap", where, f"{first} and {second} overlap.")
                elif gutter > 0:
                    yield Fault("gutter", where, f"{first} and {second} lie nearer to each other than {show(gutter)}.")


def agreement_faults(layout: Layout, found: Sequence[Leaf], paper: Paper, where: str) -> Iterator[Fault]:
    """The pieces listed are the leaves of the cuts, in their order: exactly, in a turned frame within a tick."""
    cut = [leaf.node for leaf in found if isinstance(leaf.node, Piece)]
    if len(cut) != len(layout.pieces):
        yield Fault("pieces", where, f"The cuts give {len(cut)} pieces, the plan lists {len(layout.pieces)}.")
        return
    frame = paper.frame
    # a corner half a tick off in both directions of the sheet is 0.71 off in the frame
    loose = frame.scale if frame.turned else 0
    for number, (leaf, piece) in enumerate(zip(cut, layout.pieces, strict=True), 1):
        if (leaf.blank, leaf.turn) != (piece.blank, piece.turn):
            yield Fault("pieces", f"{where}, piece {number}", f"The cuts make {leaf.blank} turned by {leaf.turn}, the plan lists "
                        f"{piece.blank} turned by {piece.turn}.")  # fmt: skip
            continue
        due = lying(frame.box(leaf.box), leaf.turn)
        got = frame.ring(piece.corners)
        if any(abs(a - b) > loose for p, q in zip(due, got, strict=True) for a, b in zip(p, q, strict=True)):
            yield Fault("pieces", f"{where}, piece {number}", f"The corners of {piece.blank} are not where the cuts put them.")


def squaring_faults(boxes: Sequence[tuple[Box, str]], paper: Paper, true_edges: Sequence[int], square_up: int,
                    where: str) -> Iterator[Fault]:  # fmt: skip
    """Pieces stay `square_up` away from every side of the box around the sheet that no true edge lies on."""
    scale = paper.frame.scale
    near = scale + scale // 16
    loose = LOOSE * scale if paper.frame.turned else 0
    true = [paper.edge[i] for i in true_edges]
    for side, name in enumerate(("left", "bottom", "right", "top")):
        line, axis = paper.box[side], side % 2
        if any(abs(s[axis] - line) <= near and abs(s[axis + 2] - line) <= near for s in true):
            continue
        for box, piece in boxes:
            room = box[side] - line if side < 2 else line - box[side]
            if room < square_up * scale - loose:
                yield Fault("untrue", where, f"{piece} lies nearer than {show(square_up)} to the {name} edge, which is not true "
                            "and must be squared up first.")  # fmt: skip


def known(pieces: Sequence[Placed], blanks: Mapping[str, Blank], where: str) -> Iterator[Fault]:
    """Every piece is one of the plan's blanks."""
    for number, piece in enumerate(pieces, 1):
        if piece.blank not in blanks:
            yield Fault("unknown", f"{where}, piece {number}", f"No blank of the plan is called {piece.blank!r}.")
