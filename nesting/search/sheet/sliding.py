"""Pieces moved within the box they are cut from, to where they show most of the best areas."""

from __future__ import annotations

from typing import Any

import numpy as np

from ...geometry import Box
from ...layouts import Axis, Cut, Node, Piece
from ...lengths import TICKS_PER_MM
from ..trees import grown
from .clear import Oriented, trimmed
from .showing_lines import Way, meeting
from .shown import Shown

SMALL_STEP, LARGE_STEP = TICKS_PER_MM // 8, 4 * TICKS_PER_MM


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
