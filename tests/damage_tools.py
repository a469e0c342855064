"""What the damages of plan documents have in common: copies, and things chosen at random."""

from __future__ import annotations

import random
from typing import Any

Document = dict[str, Any]
TICK = 1 / 8000


def copied(value: Any) -> Any:
    """A deep copy of JSON values at any depth."""
    root: list[Any] = [value]
    stack: list[Any] = [root]
    while stack:
        holder = stack.pop()
        for key, item in list(holder.items() if isinstance(holder, dict) else enumerate(holder)):
            if isinstance(item, dict | list | tuple):
                holder[key] = dict(item) if isinstance(item, dict) else list(item)
                stack.append(holder[key])
    return root[0]


def nodes(layout: Document) -> list[Document]:
    out, stack = [], [layout["tree"]]
    while stack:
        node = stack.pop()
        out.append(node)
        if "cut" in node:
            stack += (node["high"], node["low"])
    return out


def with_pieces(d: Document, rng: random.Random) -> Document | None:
    found = [x for x in d["layouts"] if x["pieces"]]
    return rng.choice(found) if found else None


def some_piece(d: Document, rng: random.Random) -> tuple[Document, int, Document] | None:
    """A layout, the number of one of its pieces, and the leaf that is that piece."""
    layout = with_pieces(d, rng)
    if layout is None:
        return None
    number = rng.randrange(len(layout["pieces"]))
    return layout, number, [n for n in nodes(layout) if "piece" in n][number]


def some_offcut(d: Document, rng: random.Random) -> tuple[Document, Document] | None:
    found = [(x, o) for x in d["layouts"] for o in x["offcuts"]]
    return rng.choice(found) if found else None


def by(rng: random.Random, low: float = 0.5, high: float = 5.0) -> float:
    """A length in whole ticks, one way or the other."""
    return rng.choice((-1, 1)) * rng.randint(int(low / TICK), int(high / TICK)) * TICK


def add(value: float, change: float) -> float:
    """A sum that is whole ticks again."""
    return round((value + change) / TICK) / 8000


def blank_of(d: Document, name: str) -> Document:
    return next(b for b in d["blanks"] if b["name"] == name)


def sheet_of(d: Document, id: str) -> Document:
    return next(s for s in d["sheets"] if s["id"] == id)


def used(d: Document, id: str) -> int:
    return sum(x["copies"] for x in d["layouts"] if x["sheet"] == id)
