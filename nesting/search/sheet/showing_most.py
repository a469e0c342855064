"""A layout of no less worth, or of the same pieces, that shows as much of the best areas as can be found."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence

from ...blanks import Blank
from ...layouts import Cut, Node, Piece, Shavings, leaves
from ..trees import rebuilt
from .ground import Ground
from .showing import Showing
from .shown import Shown, pieces
from .sliding import slid

PARTS = (1.0, 0.3, 0.1, 0.03, 0.0, -0.4)  # of the most one piece shows, for one piece more


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
