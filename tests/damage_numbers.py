"""Damages to names, numbers, areas, bound and proof, and to the keys of the document; see `damage_layouts`."""

from __future__ import annotations

import random

from tests.damage_tools import Document, blank_of, copied, nodes, sheet_of, used


def copies_altered(d: Document, rng: random.Random) -> bool:
    """More copies than before need other numbers short, where a blank of the layout has a quantity."""
    if not d["layouts"]:
        return False
    layout = rng.choice(d["layouts"])
    counted = any(blank_of(d, p["blank"])["quantity"] is not None for p in layout["pieces"])
    if (counted or layout["offcuts"]) and rng.random() < 0.7:
        layout["copies"] += rng.randint(1, 3)
    else:
        layout["copies"] = -rng.randint(0, 2)
    return True


def sheet_used_too_often(d: Document, rng: random.Random) -> bool:
    if not d["layouts"]:
        return False
    layout = rng.choice(d["layouts"])
    sheet = sheet_of(d, layout["sheet"])
    if sheet["count"] is not None and rng.random() < 0.3:
        sheet["count"] = used(d, sheet["id"]) - 1
        return True
    have = sheet["count"] = sheet["count"] or used(d, sheet["id"])
    if rng.random() < 0.5:
        layout["copies"] += have - used(d, sheet["id"]) + 1
    else:
        again = copied(layout)
        again["copies"] = have - used(d, sheet["id"]) + 1
        d["layouts"].insert(rng.randint(0, len(d["layouts"])), again)
    return True


def excluded_sheet_used(d: Document, rng: random.Random) -> bool:
    if not d["layouts"]:
        return False
    d["exclude"].append(rng.choice(d["layouts"])["sheet"])
    return True


def unknown_sheet(d: Document, rng: random.Random) -> bool:
    if not d["layouts"]:
        return False
    rng.choice(d["layouts"])["sheet"] += "?"
    return True


def quantity_altered(d: Document, rng: random.Random) -> bool:
    blank = rng.choice(d["blanks"])
    if blank["quantity"] is None:
        blank["quantity"] = rng.randint(1, 99)
    elif rng.random() < 0.2:
        blank["quantity"] = None
    else:
        blank["quantity"] += rng.choice((-2, -1, 1, 2))
    return True


def shortfall_altered(d: Document, rng: random.Random) -> bool:
    names = list(d["short"])
    if not names or rng.random() < 0.1:
        d["short"]["nobody's"] = 0
    elif rng.random() < 0.2:
        del d["short"][rng.choice(names)]
    else:
        d["short"][rng.choice(names)] += rng.choice((-3, -1, 1, 3))
    return True


def area_altered(d: Document, rng: random.Random) -> bool:
    if not d["layouts"]:
        return False
    area = rng.choice(d["layouts"])["area_mm2"]
    if rng.random() < 0.5:
        area[rng.choice(list(area))] += rng.choice((-1, 1)) * rng.randint(1, 500)
        return True
    # the sum kept: from one to another, by more than all rounding
    change = rng.choice((-1, 1)) * max(50, round(area["sheet"] * rng.uniform(0.01, 0.1)))
    first, second = rng.choice((("pieces", "shavings"), ("offcuts", "shavings"), ("pieces", "offcuts"), ("sheet", "shavings")))
    area[first] += change
    area[second] += change if first == "sheet" else -change
    return True


def best_altered(d: Document, rng: random.Random) -> bool:
    said = [x for x in d["layouts"] if "best_mm2" in x]
    if not said:
        return False
    x = rng.choice(said)
    x["best_mm2"] += rng.choice((-1, 1)) * max(50, x["best_mm2"] * rng.uniform(0.1, 1))
    return True


def achieved_altered(d: Document, rng: random.Random) -> bool:
    b = d["bound"]
    step = rng.choice((-1, 1)) * rng.choice((1, max(1, round(abs(b["achieved"]) * 0.05))))
    b["achieved"] += step
    if rng.random() < 0.5:
        b["limit"] += step
    return True


def limit_altered(d: Document, rng: random.Random) -> bool:
    """To the wrong side of what is achieved; or away from a proof; or onto it without one."""
    b = d["bound"]
    beyond = (1 if b["sense"] == "least" else -1) * max(1, abs(b["achieved"]) * rng.uniform(0.001, 0.5))
    if rng.random() < 0.5:
        b["limit"] = b["achieved"] + beyond
    else:
        b["limit"] = b["achieved"] - beyond if b["proven"] else b["achieved"]
    return True


def penalty_altered(d: Document, rng: random.Random) -> bool:
    """Something paid that was not, or another sum, or nothing."""
    paid = d["bound"].get("penalty", 0)
    d["bound"]["penalty"] = rng.choice([paid + 1, paid * 1.5 + 0.25, -1 if not paid else 0])
    return True


def proof_altered(d: Document, rng: random.Random) -> bool:
    d["bound"]["proven"] = not d["bound"]["proven"]
    return True


def stop_altered(d: Document, rng: random.Random) -> bool:
    d["bound"]["stopped_by"] = "luck" if d["bound"]["proven"] or rng.random() < 0.5 else "proof"
    return True


def measure_altered(d: Document, rng: random.Random) -> bool:
    b = d["bound"]
    if rng.random() < 0.5:
        b["sense"] = "most" if b["sense"] == "least" else "least"
    else:
        b["measure"] = rng.choice([m for m in ("stock cost", "unmade worth", "worth", "sets") if m != b["measure"]])
    return True


def aim_altered(d: Document, rng: random.Random) -> bool:
    d["made_with"]["aim"] = "least-stock" if d["made_with"]["aim"] == "most-worth" else "most-worth"
    return True


def chosen_piece_moved(d: Document, rng: random.Random) -> bool:
    """By a whole micrometre and more, to another turn, or off its sheet."""
    if not d["fixed"]:
        return False
    entry = rng.choice(d["fixed"])
    kind = rng.randrange(3)
    if kind == 0:
        entry["at"][rng.randrange(2)] += rng.choice((-1, 1)) * rng.choice((0.001, 0.5, 40))
    elif kind == 1:
        entry["turn"] = (entry["turn"] + 90) % 360
    else:
        entry["sheet"] = "gone"
    return True


def entry_doubled(d: Document, rng: random.Random) -> bool:
    entries = d[rng.choice(("sheets", "blanks"))]
    entries.append(copied(rng.choice(entries)))
    return True


def tables(d: Document) -> list[Document]:
    """Every table of the document whose fields are all fixed."""
    out = [d, d["bound"], d["made_with"], *d["sheets"], *d["blanks"], *d["layouts"], *d["fixed"]]
    out += [t for x in d["layouts"] for t in (x["area_mm2"], *x["pieces"], *x["offcuts"], *nodes(x))]
    return out + [z for s in d["sheets"] for z in s["zones"]] + ([d["cutter"]] if d["cutter"] else [])


def unknown_key(d: Document, rng: random.Random) -> bool:
    rng.choice(tables(d))[rng.choice(("colour", "Id", "note", "tree "))] = rng.choice((None, 1, "x"))
    return True


def missing_key(d: Document, rng: random.Random) -> bool:
    table = rng.choice(tables(d))
    more = ("material", "angle", "front", "best_mm2", "grain_guessed")
    optional = more if "outline" in table else ("id", *more)
    del table[rng.choice([key for key in table if key not in optional])]
    return True


DAMAGES = (
    copies_altered, sheet_used_too_often, excluded_sheet_used, unknown_sheet, quantity_altered, shortfall_altered,
    area_altered, best_altered, achieved_altered, limit_altered, penalty_altered, proof_altered, stop_altered, measure_altered,
    aim_altered, entry_doubled, chosen_piece_moved, unknown_key, missing_key)  # fmt: skip
