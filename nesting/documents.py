"""The plan document: a plan as JSON values and back, every field known and checked (design.md section 3)."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Mapping, Sequence
from dataclasses import fields, replace
from typing import Any

from .blanks import Blank
from .cutters import Cutter
from .errors import InputError, finite
from .fixed import Fixed
from .geometry import Point, Ring
from .layouts import Areas, Cut, Layout, Node, Offcut, OffcutPiece, Piece, Placed, Shavings
from .lengths import doubled_area, mm, mm2, ticks
from .plans import AIMS, Bound, MadeWith, Plan, StockMark
from .ruling import KINDS as RULINGS
from .ruling import Lines, Ruling
from .sheets import Sheet, Zone

VERSION = 1
DEEPEST = 100_000
_TOP = ("document", "version", "unit", "stock", "cutter", "sets", "fixed", "exclude", "least_offcut", "sheets",
        "blanks", "layouts", "short", "bound", "made_with")  # fmt: skip


def to_dict(plan: Plan) -> dict[str, Any]:
    """See `Plan.to_dict`."""
    out: dict[str, Any] = {"document": "quirestock-plan", "version": VERSION, "unit": "mm"}
    if plan.id is not None:
        out["id"] = plan.id
    out["stock"] = None if plan.stock is None else {"book": plan.stock.book, "head": plan.stock.head}
    out["cutter"] = None if plan.cutter is None else _cutter_out(plan.cutter)
    out["sets"] = None if plan.sets is None else {name: dict(needs) for name, needs in plan.sets}
    out["fixed"] = [{"sheet": f.sheet, "blank": f.blank, "at": [mm(v) for v in f.at], "turn": f.turn, "angle": f.angle}
                    for f in plan.fixed]  # fmt: skip
    out["exclude"] = list(plan.exclude)
    out["least_offcut"] = None if plan.least_offcut is None else [mm(v) for v in plan.least_offcut]
    out["sheets"] = [_sheet_out(sheet) for sheet in plan.sheets]
    out["blanks"] = [_blank_out(blank) for blank in plan.blanks]
    out["layouts"] = [_layout_out(layout) for layout in plan.layouts]
    out["short"] = dict(plan.short)
    b = plan.bound
    out["bound"] = {"sense": b.sense, "measure": b.measure, "achieved": b.achieved, "limit": b.limit, "proven": b.proven,
                    "scope": b.scope, "frames_deg": list(b.frames_deg), "stopped_by": b.stopped_by}  # fmt: skip
    if b.penalty:
        out["bound"]["penalty"] = b.penalty
    m = plan.made_with
    out["made_with"] = {"version": m.version, "aim": m.aim, "seed": m.seed, "seconds": m.seconds, "steps": m.steps}
    if m.variety:
        out["made_with"]["variety"] = dict(m.variety) if isinstance(m.variety, tuple) else m.variety
    if m.best_rate:
        out["made_with"]["best_rate"] = m.best_rate
    return out


def digest(plan: Plan) -> str:
    """The id of a plan: the first 16 hex digits of the SHA-256 of its document without the id."""
    document = to_dict(plan)
    document.pop("id", None)
    text = json.dumps(document, sort_keys=True, separators=(",", ":"))
    return hashlib.sha256(text.encode()).hexdigest()[:16]


def with_id(plan: Plan) -> Plan:
    """The plan under the id that belongs to its content."""
    return replace(plan, id=digest(plan))


def _cutter_out(cutter: Cutter) -> dict[str, Any]:
    values = ((f.name, getattr(cutter, f.name)) for f in fields(cutter))
    return {name: None if value is None else mm(value) for name, value in values}


def _ring_out(ring: Ring) -> list[list[int | float]]:
    return [[mm(x), mm(y)] for x, y in ring]


def _sheet_out(s: Sheet) -> dict[str, Any]:
    zones: list[dict[str, Any]] = []
    for zone in s.zones:
        entry: dict[str, Any] = {"kind": zone.kind, "outline": _ring_out(zone.outline)}
        if zone.kind == "best":
            entry["weight"] = zone.weight
        zones.append(entry)
    out: dict[str, Any] = {
        "id": s.id, "outline": _ring_out(s.outline), "holes": [_ring_out(h) for h in s.holes], "zones": zones,
        "count": s.count, "grain": s.grain, "up": s.up, "true_edges": list(s.true_edges), "inset": mm(s.inset),
        "cost": s.cost}  # fmt: skip
    if s.material is not None:
        out["material"] = s.material
    if s.grain_guessed:
        out["grain_guessed"] = True
    if s.ruling is not None:
        out["ruling"] = {"kind": s.ruling.kind, "rows": _lines_out(s.ruling.rows), "columns": _lines_out(s.ruling.columns)}
    return out


def _lines_out(lines: Lines | None) -> dict[str, Any] | None:
    return None if lines is None else {"low": mm(lines.low), "pitch": mm(lines.pitch), "count": lines.count}


def _blank_out(b: Blank) -> dict[str, Any]:
    out: dict[str, Any] = {
        "name": b.name, "width": mm(b.width), "height": mm(b.height), "quantity": b.quantity, "turns": list(b.turns),
        "grain": _rule_out(b.grain), "up": _rule_out(b.up), "worth": b.worth}  # fmt: skip
    if b.material is not None:
        out["material"] = b.material
    if b.front is not None:
        out["front"] = [mm(v) for v in b.front]
    if b.lines_meet:
        out["lines_meet"] = True
    return out


def _rule_out(rule: Any) -> Any:
    """A rule of grain or print: null, a direction, or a direction and its price."""
    return list(rule) if isinstance(rule, tuple) else rule


def _layout_out(layout: Layout) -> dict[str, Any]:
    a = layout.areas
    best = {} if layout.best_mm2 is None else {"best_mm2": layout.best_mm2}
    return {
        "sheet": layout.sheet, "copies": layout.copies, "frame_deg": layout.frame_deg,
        "origin": [mm(v) for v in layout.origin], "tree": _tree_out(layout.tree),
        "pieces": [{"blank": p.blank, "turn": p.turn, "corners": _ring_out(p.corners)} for p in layout.pieces],
        "offcuts": [{"id": o.id, "count": o.count, "outline": _ring_out(o.outline)} for o in layout.offcuts],
        "area_mm2": {"sheet": mm2(a.sheet), "pieces": mm2(a.pieces), "offcuts": mm2(a.offcuts),
                     "shavings": mm2(a.shavings)}, **best}  # fmt: skip


def _tree_out(tree: Node) -> dict[str, Any]:
    root: dict[str, Any] = {}
    stack: list[tuple[Node, dict[str, Any]]] = [(tree, root)]
    while stack:
        node, out = stack.pop()
        out["box"] = [mm(v) for v in node.box]
        if isinstance(node, Cut):
            out.update(cut=node.axis, at=mm(node.at), low={}, high={})
            stack += ((node.low, out["low"]), (node.high, out["high"]))
        elif isinstance(node, Piece):
            out.update(piece=node.blank, turn=node.turn)
        elif isinstance(node, Offcut):
            out["offcut"] = node.id
        else:
            out["shavings"] = True
    return root


def from_dict(document: Mapping[str, Any]) -> Plan:
    """See `Plan.from_dict`."""
    d = _fields(document, "plan document", _TOP, ("id",))
    _one_of(d["document"], ("quirestock-plan",), "document")
    _one_of(d["version"], (VERSION,), "version", "A newer quirestock may have written it: update.")
    _one_of(d["unit"], ("mm",), "unit")
    plan_id = d.get("id")
    if plan_id is not None and not isinstance(plan_id, str):
        raise InputError("id", "a text", plan_id)
    stock = None
    if d["stock"] is not None:
        s = _fields(d["stock"], "stock", ("book", "head"))
        stock = StockMark(_text(s["book"], "stock, book"), _text(s["head"], "stock, head"))
    least = d["least_offcut"]
    m = _fields(d["made_with"], "made_with", ("version", "aim", "seed", "seconds", "steps"), ("variety", "best_rate"))
    _one_of(m["aim"], AIMS, "made_with, aim")
    made_with = MadeWith(_text(m["version"], "made_with, version"), m["aim"], _whole(m["seed"], "made_with, seed"),
                         _amount(m["seconds"], "made_with, seconds"),
                         None if m["steps"] is None else _whole(m["steps"], "made_with, steps"),
                         _variety_in(m.get("variety", 0)),
                         _amount(m.get("best_rate", 0), "made_with, best_rate"))  # fmt: skip
    return Plan(
        tuple(_sheet_in(s, i) for i, s in enumerate(_list(d["sheets"], "sheets"))),
        tuple(_blank_in(b, i) for i, b in enumerate(_list(d["blanks"], "blanks"))),
        tuple(_layout_in(x, f"layouts[{i}]") for i, x in enumerate(_list(d["layouts"], "layouts"))),
        tuple((str(k), _whole(v, f"short, {k}")) for k, v in _mapping(d["short"], "short").items()),
        _bound_in(d["bound"]), made_with,
        None if d["cutter"] is None else _cutter_in(d["cutter"]),
        None if d["sets"] is None else _sets_in(d["sets"]),
        tuple(_fixed_in(f, f"fixed[{i}]") for i, f in enumerate(_list(d["fixed"], "fixed"))),
        tuple(_text(e, "exclude") for e in _list(d["exclude"], "exclude")),
        None if least is None else _pair(least, "least_offcut"), stock, plan_id)  # fmt: skip


def _variety_in(value: Any) -> int | float | tuple[tuple[str, int | float], ...]:
    if isinstance(value, Mapping):
        return tuple(sorted((_text(k, "made_with, variety"), _amount(v, f"made_with, variety, {k}")) for k, v in value.items()))
    return _amount(value, "made_with, variety")


def _fields(value: Any, where: str, needed: Sequence[str], optional: Sequence[str] = ()) -> Mapping[str, Any]:
    given = _mapping(value, where)
    for key in given:
        if key not in needed and key not in optional:
            raise InputError(where, f"only the fields {', '.join((*needed, *optional))}", f"the unknown field {key!r}")
    for key in needed:
        if key not in given:
            raise InputError(where, f"a field {key!r}", "none")
    return given


def _mapping(value: Any, where: str) -> Mapping[str, Any]:
    if not isinstance(value, Mapping):
        raise InputError(where, "a table of named fields", value)
    return value


def _list(value: Any, where: str) -> Sequence[Any]:
    if isinstance(value, str) or not isinstance(value, Sequence):
        raise InputError(where, "a list", value)
    return value


def _one_of(value: Any, allowed: Sequence[Any], where: str, hint: str = "") -> None:
    if isinstance(value, bool) or value not in allowed:
        raise InputError(where, " or ".join(str(a) for a in allowed), value, hint)


def _text(value: Any, where: str) -> str:
    if not isinstance(value, str):
        raise InputError(where, "a text", value)
    return value


def _whole(value: Any, where: str) -> int:
    if isinstance(value, bool) or not isinstance(value, int) or abs(value) > 2**63:
        raise InputError(where, "a whole number", value)
    return value


def _amount(value: Any, where: str) -> int | float:
    if not finite(value):
        raise InputError(where, "a finite number", value)
    return value  # type: ignore[no-any-return]


def _length(value: Any, where: str) -> int:
    """Ticks of a number that must be exact to a tick, as `mm` writes it."""
    number = _amount(value, where)
    out = ticks(number, "near", where, signed=True)
    if mm(out) != number:
        raise InputError(where, "a length of whole ticks (1/8000 mm)", value)
    return out


def _pair(value: Any, where: str) -> Point:
    items = _list(value, where)
    if len(items) != 2:
        raise InputError(where, "a pair of lengths", value)
    return _length(items[0], where), _length(items[1], where)


def _ring_in(value: Any, where: str) -> Ring:
    return tuple(_pair(p, where) for p in _list(value, where))


def _sheet_in(value: Any, index: int) -> Sheet:
    s = _fields(value, f"sheets[{index}]", ("id", "outline", "holes", "zones", "count", "grain", "up", "true_edges",
                                            "inset", "cost"), ("material", "grain_guessed", "ruling"))  # fmt: skip
    where = f"sheet {_text(s['id'], 'sheet id')}"
    zones = []
    for i, entry in enumerate(_list(s["zones"], f"{where}, zones")):
        kind = _mapping(entry, f"{where}, zones[{i}]").get("kind")
        _one_of(kind, ("bad", "best"), f"{where}, zones[{i}], kind")
        z = _fields(entry, f"{where}, zones[{i}]", ("kind", "outline", *(("weight",) if kind == "best" else ())))
        weight = _amount(z.get("weight", 1.0), f"{where}, zones[{i}], weight")
        zones.append(Zone(z["kind"], _ring_in(z["outline"], f"{where}, zones[{i}]"), float(weight)))
    outline = _ring_in(s["outline"], f"{where}, outline")
    return Sheet.from_ticks(
        s["id"], outline,
        holes=tuple(_ring_in(h, f"{where}, holes") for h in _list(s["holes"], f"{where}, holes")),
        zones=tuple(zones), grain=s["grain"], up=s["up"], true_edges=tuple(_list(s["true_edges"], f"{where}, true_edges")),
        inset=_amount(s["inset"], f"{where}, inset"), count=s["count"], cost=s["cost"], material=s.get("material"),
        grain_guessed=s.get("grain_guessed", False), ruling=_ruling_in(s.get("ruling"), f"{where}, ruling"))  # fmt: skip


def _ruling_in(value: Any, where: str) -> Ruling | None:
    if value is None:
        return None
    r = _fields(value, where, ("kind", "rows", "columns"))
    _one_of(r["kind"], RULINGS, f"{where}, kind")
    return Ruling(r["kind"], _lines_in(r["rows"], f"{where}, rows"), _lines_in(r["columns"], f"{where}, columns"))


def _lines_in(value: Any, where: str) -> Lines | None:
    if value is None:
        return None
    lines = _fields(value, where, ("low", "pitch", "count"))
    return Lines(_length(lines["low"], f"{where}, low"), _length(lines["pitch"], f"{where}, pitch"),
                 _whole(lines["count"], f"{where}, count"))  # fmt: skip


def _blank_in(value: Any, index: int) -> Blank:
    b = _fields(value, f"blanks[{index}]", ("name", "width", "height", "quantity", "turns", "grain", "up", "worth"),
                ("material", "front", "lines_meet"))  # fmt: skip
    for side in ("width", "height"):
        _length(b[side], f"blanks[{index}], {side}")
    front = b.get("front")
    for value in () if front is None else _list(front, f"blanks[{index}], front"):
        _length(value, f"blanks[{index}], front")
    return Blank(b["name"], b["width"], b["height"], b["quantity"], tuple(_list(b["turns"], f"blanks[{index}], turns")),
                 b["grain"], b["up"], b["worth"], b.get("material"), front, b.get("lines_meet", False))  # fmt: skip


def _fixed_in(value: Any, where: str) -> Fixed:
    f = _fields(value, where, ("sheet", "blank", "at", "turn"), ("angle",))
    x, y = _pair(f["at"], f"{where}, at")
    return Fixed.read({**f, "at": (mm(x), mm(y))}, where)


def _cutter_in(value: Any) -> Cutter:
    names = [f.name for f in fields(Cutter)]
    given = _fields(value, "cutter", names)
    settings: dict[str, Any] = {name: None if given[name] is None else _amount(given[name], f"cutter, {name}") for name in names}
    return Cutter(**settings)


def _sets_in(value: Any) -> tuple[tuple[str, tuple[tuple[str, int], ...]], ...]:
    return tuple(
        (name, tuple((blank, _whole(count, f"sets, {name}, {blank}")) for blank, count in
                     _mapping(needs, f"sets, {name}").items()))
        for name, needs in _mapping(value, "sets").items())  # fmt: skip


def _bound_in(value: Any) -> Bound:
    b = _fields(value, "bound", ("sense", "measure", "achieved", "limit", "proven", "scope", "frames_deg", "stopped_by"),
                ("penalty",))  # fmt: skip
    _one_of(b["sense"], ("least", "most"), "bound, sense")
    _one_of(b["measure"], ("stock cost", "unmade worth", "worth", "sets"), "bound, measure")
    _one_of(b["scope"], ("frames", "any angle"), "bound, scope")
    if not isinstance(b["proven"], bool):
        raise InputError("bound, proven", "true or false", b["proven"])
    frames = tuple(float(_amount(a, "bound, frames_deg")) for a in _list(b["frames_deg"], "bound, frames_deg"))
    return Bound(b["sense"], b["measure"], _amount(b["achieved"], "bound, achieved"), _amount(b["limit"], "bound, limit"),
                 b["proven"], b["scope"], frames, _text(b["stopped_by"], "bound, stopped_by"),
                 _amount(b.get("penalty", 0), "bound, penalty"))  # fmt: skip


def _layout_in(value: Any, where: str) -> Layout:
    x = _fields(value, where, ("sheet", "copies", "frame_deg", "origin", "tree", "pieces", "offcuts", "area_mm2"), ("best_mm2",))
    pieces = []
    for i, entry in enumerate(_list(x["pieces"], f"{where}, pieces")):
        p = _fields(entry, f"{where}, pieces[{i}]", ("blank", "turn", "corners"))
        corners = _ring_in(p["corners"], f"{where}, pieces[{i}], corners")
        if len(corners) != 4:
            raise InputError(f"{where}, pieces[{i}], corners", "4 corners", f"{len(corners)}")
        pieces.append(Placed(_text(p["blank"], f"{where}, pieces[{i}]"), _turn(p["turn"], f"{where}, pieces[{i}]"),
                             (corners[0], corners[1], corners[2], corners[3])))  # fmt: skip
    offcuts = []
    for i, entry in enumerate(_list(x["offcuts"], f"{where}, offcuts")):
        o = _fields(entry, f"{where}, offcuts[{i}]", ("id", "count", "outline"))
        offcuts.append(OffcutPiece(_text(o["id"], f"{where}, offcuts[{i}]"), _whole(o["count"], f"{where}, offcuts[{i}]"),
                                   _ring_in(o["outline"], f"{where}, offcuts[{i}]")))  # fmt: skip
    a = _fields(x["area_mm2"], f"{where}, area_mm2", ("sheet", "pieces", "offcuts", "shavings"))
    areas = Areas(*(_area(a[n], f"{where}, area_mm2, {n}") for n in ("sheet", "pieces", "offcuts", "shavings")))
    return Layout(_text(x["sheet"], f"{where}, sheet"), _whole(x["copies"], f"{where}, copies"),
                  float(_amount(x["frame_deg"], f"{where}, frame_deg")), _pair(x["origin"], f"{where}, origin"),
                  _tree_in(x["tree"], f"{where}, tree"), tuple(pieces), tuple(offcuts), areas,
                  None if x.get("best_mm2") is None else _amount(x["best_mm2"], f"{where}, best_mm2"))  # fmt: skip


def _area(value: Any, where: str) -> int:
    number = _amount(value, where)
    out = doubled_area(number)
    if mm2(out) != number:
        raise InputError(where, "an area of whole square ticks", value)
    return out


def _turn(value: Any, where: str) -> int:
    _one_of(value, (0, 90, 180, 270), f"{where}, turn")
    return int(value)


def _tree_in(value: Any, where: str) -> Node:
    """Nodes from the leaves up, without recursion: a long strip makes a deep tree."""
    order: list[tuple[Mapping[str, Any], tuple[int, int, int, int]]] = []
    stack = [_mapping(value, where)]
    while stack:
        entry = stack.pop()
        kind = next((k for k in ("cut", "piece", "offcut", "shavings") if k in entry), None)
        if kind is None:
            raise InputError(where, "a node with cut, piece, offcut or shavings", dict(entry))
        more = {"cut": ("cut", "at", "low", "high"), "piece": ("piece", "turn"), "offcut": ("offcut",), "shavings": ("shavings",)}
        _fields(entry, where, ("box", *more[kind]))
        corners = _list(entry["box"], f"{where}, box")
        if len(corners) != 4:
            raise InputError(f"{where}, box", "[x0, y0, x1, y1]", entry["box"])
        x0, y0, x1, y1 = (_length(v, f"{where}, box") for v in corners)
        order.append((entry, (x0, y0, x1, y1)))
        if len(order) > DEEPEST:
            raise InputError(where, f"at most {DEEPEST:,} nodes", "more")
        if kind == "cut":
            _one_of(entry["cut"], ("x", "y"), f"{where}, cut")
            stack += (_mapping(entry["high"], where), _mapping(entry["low"], where))
    done: list[Node] = []
    for entry, box in reversed(order):
        if "cut" in entry:
            low, high = done.pop(), done.pop()
            done.append(Cut(box, entry["cut"], _length(entry["at"], f"{where}, at"), low, high))
        elif "piece" in entry:
            done.append(Piece(box, _text(entry["piece"], where), _turn(entry["turn"], where)))
        elif "offcut" in entry:
            done.append(Offcut(box, _text(entry["offcut"], where)))
        else:
            if entry["shavings"] is not True:
                raise InputError(f"{where}, shavings", "true", entry["shavings"])
            done.append(Shavings(box))
    return done[0]
