"""How many pulls of the lever a layout takes when equal strips are cut as one stack."""

from __future__ import annotations

from ..geometry import Box
from ..layouts import Cut, Layout, Node, Shavings


def cuts_with_stacking(layout: Layout) -> int:
    """Pulls of the lever for one sheet, equal strips next to each other (or parted by shavings only) being cut as one stack.

    A row of n strips takes n - 1 pulls: (c - 1) + (r - 1) for a grid of r x c (trade.md section 7, "Cuts"; T41).
    Only the tree counts: neither the height of the stack nor a cut that meets no paper.
    """
    if not isinstance(layout.tree, Cut):
        return 0
    heads: list[tuple[Cut, list[Node]]] = []
    todo: list[Cut] = [layout.tree]
    while todo:
        head = todo.pop()
        strips = _strips(head)
        heads.append((head, strips))
        todo += [strip for strip in strips if isinstance(strip, Cut)]
    numbers: dict[object, int] = {}  # equal shapes get equal numbers, so comparing deep trees stays cheap
    pulls: dict[int, int] = {}
    shape: dict[int, int] = {}
    for head, strips in reversed(heads):
        marks = [(_size(strip.box), shape.get(id(strip), -1)) for strip in strips]
        total, before = len(strips) - 1, None
        for strip, mark in zip(strips, marks, strict=True):
            if isinstance(strip, Shavings):
                continue  # a gutter falls away between two strips
            total += pulls.get(id(strip), 0) if mark != before else 0
            before = mark
        pulls[id(head)] = total
        shape[id(head)] = numbers.setdefault((head.axis, tuple(marks)), len(numbers))
    return pulls[id(layout.tree)]


def _size(box: Box) -> tuple[int, int]:
    return box[2] - box[0], box[3] - box[1]


def _strips(head: Cut) -> list[Node]:
    """The strips between cuts of one direction, low first."""
    out: list[Node] = []
    todo: list[Node] = [head]
    while todo:
        part = todo.pop()
        if isinstance(part, Cut) and part.axis == head.axis:
            todo += (part.high, part.low)
        else:
            out.append(part)
    return out
