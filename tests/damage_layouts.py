"""Damages to layouts: pieces, cuts, offcuts, frames, and the sheets and rules under them.

Each takes a document that it may alter and a source of chance, and says whether it found something to damage.
"""

from __future__ import annotations

import random

from tests.damage_tools import TICK, Document, add, blank_of, by, copied, nodes, sheet_of, some_offcut, some_piece, with_pieces


def piece_moved(d: Document, rng: random.Random) -> bool:
    found = some_piece(d, rng)
    if found is None:
        return False
    layout, number, leaf = found
    axis, change, where = rng.randrange(2), rng.choice((by(rng), rng.choice((-4, 4)) * TICK)), rng.randrange(3)
    if where != 0:
        for corner in layout["pieces"][number]["corners"]:
            corner[axis] = add(corner[axis], change)
    if where != 1:
        for k in (axis, axis + 2):
            leaf["box"][k] = add(leaf["box"][k], change)
    return True


def piece_resized(d: Document, rng: random.Random) -> bool:
    found = some_piece(d, rng)
    if found is None:
        return False
    layout, number, leaf = found
    change = by(rng)
    what = rng.randrange(3)
    if what == 0:
        side = rng.choice((2, 3))
        leaf["box"][side] = add(leaf["box"][side], change)
    elif what == 1:
        corners = layout["pieces"][number]["corners"]
        axis = rng.randrange(2)
        top = max(c[axis] for c in corners)
        for c in corners:
            if c[axis] == top:
                c[axis] = add(top, change)
    else:
        blank = blank_of(d, leaf["piece"])
        side_name = rng.choice(("width", "height"))
        blank[side_name] = add(blank[side_name], abs(change))
    return True


def piece_turned(d: Document, rng: random.Random) -> bool:
    """By its label only: the corners tell otherwise."""
    found = some_piece(d, rng)
    if found is None:
        return False
    layout, number, leaf = found
    turn, where = rng.choice((90, 180, 270)), rng.randrange(3)
    if where != 0:
        layout["pieces"][number]["turn"] = (layout["pieces"][number]["turn"] + turn) % 360
    if where != 1:
        leaf["turn"] = (leaf["turn"] + turn) % 360
    return True


def piece_dropped(d: Document, rng: random.Random) -> bool:
    found = some_piece(d, rng)
    if found is None:
        return False
    layout, number, leaf = found
    where = rng.randrange(3)
    if where != 0:
        del layout["pieces"][number]
    if where != 1:
        del leaf["piece"], leaf["turn"]
        leaf["shavings"] = True
    return True


def piece_doubled(d: Document, rng: random.Random) -> bool:
    found = some_piece(d, rng)
    if found is None:
        return False
    layout, number, _ = found
    layout["pieces"].insert(rng.randint(0, len(layout["pieces"])), copied(layout["pieces"][number]))
    return True


def piece_of_another_name(d: Document, rng: random.Random) -> bool:
    found = some_piece(d, rng)
    if found is None:
        return False
    layout, number, leaf = found
    names = [b["name"] for b in d["blanks"] if b["name"] != leaf["piece"]] + ["nobody's"]
    if rng.random() < 0.5:
        leaf["piece"] = rng.choice(names)
    else:
        layout["pieces"][number]["blank"] = rng.choice(names)
    return True


def pieces_swapped(d: Document, rng: random.Random) -> bool:
    layout = with_pieces(d, rng)
    if layout is None or len(layout["pieces"]) < 2:
        return False
    i, j = rng.sample(range(len(layout["pieces"])), 2)
    pieces = layout["pieces"]
    pieces[i], pieces[j] = pieces[j], pieces[i]
    return True


def cut_moved(d: Document, rng: random.Random) -> bool:
    found = [n for x in d["layouts"] for n in nodes(x) if "cut" in n]
    if not found:
        return False
    node = rng.choice(found)
    node["at"] = add(node["at"], by(rng))
    k = 0 if node["cut"] == "x" else 1
    if ("piece" in node["low"] or "piece" in node["high"]) and rng.random() < 0.5:
        node["low"]["box"][k + 2] = node["high"]["box"][k] = node["at"]
    return True


def cut_turned(d: Document, rng: random.Random) -> bool:
    found = [n for x in d["layouts"] for n in nodes(x) if "cut" in n]
    if not found:
        return False
    node = rng.choice(found)
    node["cut"] = "y" if node["cut"] == "x" else "x"
    return True


def sides_swapped(d: Document, rng: random.Random) -> bool:
    found = [n for x in d["layouts"] for n in nodes(x) if "cut" in n]
    if not found:
        return False
    node = rng.choice(found)
    node["low"], node["high"] = node["high"], node["low"]
    return True


def frames_altered(d: Document, rng: random.Random) -> bool:
    if not d["layouts"] or d["bound"]["scope"] != "frames":
        return False
    layout = rng.choice(d["layouts"])
    if rng.random() < 0.5:
        d["bound"]["frames_deg"] = [a for a in d["bound"]["frames_deg"] if a != layout["frame_deg"]]
    else:
        layout["frame_deg"] += 0.37
    return True


def origin_altered(d: Document, rng: random.Random) -> bool:
    if not d["layouts"]:
        return False
    origin = rng.choice(d["layouts"])["origin"]
    k = rng.randrange(2)
    origin[k] = add(origin[k], by(rng))
    return True


def offcut_altered(d: Document, rng: random.Random) -> bool:
    found = some_offcut(d, rng)
    if found is None:
        return False
    layout, offcut = found
    what = rng.randrange(5)
    if what == 0:
        offcut["count"] += rng.choice((-1, 1))
    elif what == 1:
        offcut["id"] = rng.choice((offcut["id"] + "a", "other-a", layout["sheet"]))
    elif what == 2:
        layout["offcuts"].remove(offcut)
    elif what == 3:
        layout["offcuts"].append(copied(offcut))
    else:
        corner = rng.choice(offcut["outline"])
        corner[0], corner[1] = add(corner[0], by(rng)), add(corner[1], by(rng))
    return True


def least_offcut_raised(d: Document, rng: random.Random) -> bool:
    found = some_offcut(d, rng)
    if found is None:
        return False
    ring = found[1]["outline"]
    spans = [max(p[k] for p in ring) - min(p[k] for p in ring) for k in (0, 1)]
    d["least_offcut"] = [add(sum(spans), 1), 1]
    return True


def tear_where_a_piece_lies(d: Document, rng: random.Random) -> bool:
    found = some_piece(d, rng)
    if found is None:
        return False
    layout, number, _ = found
    corners = layout["pieces"][number]["corners"]
    x, y = (add(sum(c[k] for c in corners) / 4, 0) for k in (0, 1))
    ring = [[add(x, dx), add(y, dy)] for dx, dy in ((-1, -1), (1, -1), (1, 1), (-1, 1))]
    sheet_of(d, layout["sheet"])["zones"].append({"kind": "bad", "outline": ring})
    return True


def rule_broken(d: Document, rng: random.Random) -> bool:
    found = some_piece(d, rng)
    if found is None:
        return False
    layout, _, leaf = found
    blank, sheet = blank_of(d, leaf["piece"]), sheet_of(d, layout["sheet"])
    what = rng.randrange(3)
    if what == 0:
        lengthwise = leaf["turn"] % 180 == 0
        blank["grain"] = "y" if (sheet["grain"] != "y") == lengthwise else "x"
    elif what == 1:
        blank["turns"] = [t for t in (0, 90, 180, 270) if t != leaf["turn"]]
    else:
        blank["material"] = "linoleum"
    return True


DAMAGES = (
    piece_moved, piece_resized, piece_turned, piece_dropped, piece_doubled, piece_of_another_name, pieces_swapped,
    cut_moved, cut_turned, sides_swapped, frames_altered, origin_altered, offcut_altered, least_offcut_raised,
    tear_where_a_piece_lies, rule_broken)  # fmt: skip
