"""How much of a sheet's best areas lies on the front panels of a layout, each area times its weight.

Amounts are whole hundredths of a square mm, rounded down piece by piece: sums do not depend on their order.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from typing import Any

import numpy as np

from ...blanks import Blank
from ...geometry import Box
from ...layouts import Node, Piece, leaves, to_frame
from ...lengths import TICKS_PER_MM
from ...sheets import Sheet
from ..trees import rebuilt
from .ground import Ground, region
from .shown_kernels import covered, covered_at

PER_MM2 = 100
_UNIT = PER_MM2 / TICKS_PER_MM**2
_NEAR = 1e-6  # of a hundredth: what floating point may lose of a whole number


class Shown:
    """The best areas of one ground, asked for pieces of these blanks."""

    def __init__(self, ground: Ground, blanks: Sequence[Blank], fixed: frozenset[Box] = frozenset()) -> None:
        """`fixed`: places of pieces chosen beforehand, which stay as they are."""
        self.ground, self.fixed = ground, fixed
        self.blanks: Mapping[str, Blank] = {b.name: b for b in blanks}
        zones = [z for z in ground.sheet.zones if z.kind == "best"]
        self.rings = [[to_frame(ground.frame_deg, (0, 0), x, y) for x, y in zone.outline] for zone in zones]
        self.weights = np.array([zone.weight for zone in zones])
        self.boxes = np.array([(*np.min(ring, axis=0), *np.max(ring, axis=0)) for ring in self.rings])
        edges = [(*ring[k - 1], *ring[k]) for ring in self.rings for k in range(len(ring))]
        starts = np.cumsum([0, *(len(ring) for ring in self.rings)]).astype(np.int64)
        self._regions: dict[tuple[int, int], Any] = {}
        self._all = np.array(edges, float), starts, self.weights, self.boxes

    def region(self, width: int, height: int) -> Any:
        """As `ground.region`, found once for each size."""
        if (width, height) not in self._regions:
            self._regions[width, height] = region(self.ground, width, height)
        return self._regions[width, height]

    def of(self, name: str, turn: int, x: int, y: int) -> int:
        """What a piece shows with its low-left corner there."""
        a, b, c, d = self.blanks[name].front_at(turn)
        return int(_counted(covered(*self._all, float(x + a), float(y + b), float(x + c), float(y + d))))

    def at(self, name: str, turn: int, xs: Any, ys: Any, allowed: Any = None) -> Any:
        """What a piece shows with its low-left corner at each pair of lines, where allowed."""
        free = np.ones((len(xs), len(ys)), np.bool_) if allowed is None else allowed
        front = np.array(self.blanks[name].front_at(turn), np.int64)
        return _counted(covered_at(*self._all, free, np.asarray(xs, np.int64), np.asarray(ys, np.int64), front))

    def most(self) -> int:
        """All best areas at their weights: no layout shows more."""
        areas = [abs(sum(ring[k - 1][0] * ring[k][1] - ring[k][0] * ring[k - 1][1] for k in range(len(ring)))) / 2
                 for ring in self.rings]  # fmt: skip
        return int(sum(w * a for w, a in zip(self.weights, areas, strict=True)) * _UNIT) + 1

    def turns(self, name: str, turn: int) -> list[int]:
        """The turns in which a piece fits the same place, its own first: it may be turned by half."""
        half = (turn + 180) % 360
        return [turn, half] if half in self.blanks[name].cheapest_on(self.ground.sheet, self.ground.frame_deg) else [turn]

    def turned(self, tree: Node) -> Node:
        """The tree with each piece turned by half where that is allowed and shows more."""

        def leaf(node: Node) -> Node:
            if not isinstance(node, Piece) or node.box in self.fixed:
                return node
            turns = self.turns(node.blank, node.turn)
            return Piece(node.box, node.blank, max(turns, key=lambda t: self.of(node.blank, t, *node.box[:2])))

        return rebuilt(tree, leaf, lambda cut, low, high: type(cut)(cut.box, cut.axis, cut.at, low, high))

    def each(self, tree: Node | None) -> dict[str, list[int]]:
        """What each piece of a tree shows, by blank, the most first."""
        out: dict[str, list[int]] = {}
        for piece in pieces(tree):
            out.setdefault(piece.blank, []).append(self.of(piece.blank, piece.turn, *piece.box[:2]))
        return {name: sorted(values, reverse=True) for name, values in out.items()}

    def total(self, tree: Node | None) -> int:
        """What all pieces of a tree show together."""
        return sum(self.of(piece.blank, piece.turn, *piece.box[:2]) for piece in pieces(tree))

    def mm2(self, tree: Node | None) -> float:
        """The same in mm2, as the plan document has it."""
        fronts = ((self.blanks[p.blank].front_at(p.turn), p.box) for p in pieces(tree))
        areas = [covered(*self._all, *map(float, (x + a, y + b, x + c, y + d))) for (a, b, c, d), (x, y, _, _) in fronts]
        return round(sum(areas) / TICKS_PER_MM**2, 2)

    def least_shown(self, tree: Node, surplus: Mapping[str, int]) -> set[Box]:
        """The boxes of so many pieces of each name that show least; the last ones of equals."""
        out: set[Box] = set()
        for name, count in surplus.items():
            free = [p for p in pieces(tree) if p.blank == name and p.box not in self.fixed]
            found = [(self.of(name, p.turn, *p.box[:2]), -k, p.box) for k, p in enumerate(free)]
            out |= {box for _, _, box in sorted(found)[:count]}
        return out


def shown_on(ground: Ground, blanks: Sequence[Blank], fixed: frozenset[Box] = frozenset()) -> Shown | None:
    """How to reckon what layouts of this ground show; None where the sheet has no best areas."""
    return Shown(ground, blanks, fixed) if has_best(ground.sheet) else None


def has_best(sheet: Sheet) -> bool:
    """Whether the sheet has best areas."""
    return any(zone.kind == "best" for zone in sheet.zones)


def pieces(tree: Node | None) -> Iterable[Piece]:
    """The pieces of a tree."""
    return () if tree is None else (leaf for leaf in leaves(tree) if isinstance(leaf, Piece))


def _counted(square_ticks: Any) -> Any:
    """Square ticks in whole hundredths of a mm2."""
    return np.floor(np.asarray(square_ticks) * _UNIT + _NEAR).astype(np.int64)
