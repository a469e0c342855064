"""Pieces chosen beforehand (`fixed`): may they lie where the maker wants them, and can a knife part them?"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from ..blanks import GRAIN_TOLERANCE_DEG, Blank
from ..cutters import Cutter
from ..errors import ImpossibleJob, InputError
from ..fixed import Fixed
from ..geometry import Box
from ..layouts import Axis, Cut, Node, Piece, Shavings, to_frame
from ..lengths import show
from ..sheets import Sheet
from .sheet.ground import TURNED_SLACK, Ground, ground
from .sheet.paper_kernels import fits
from .tidy import boxed
from .trees import halves

MOST_FIXED = 200
_NEAR = sorted(((x, y) for x in range(-TURNED_SLACK, TURNED_SLACK + 1) for y in range(-TURNED_SLACK, TURNED_SLACK + 1)),
               key=lambda p: (p[0] ** 2 + p[1] ** 2, p))  # fmt: skip


def checked_fixed(fixed: Any, sheets: Sequence[Sheet], blanks: Sequence[Blank], exclude: Sequence[str],
                  cutter: Cutter | None) -> tuple[Fixed, ...]:  # fmt: skip
    """The chosen pieces, each where it may lie. Raises InputError, and ImpossibleJob where no knife can part them."""
    if isinstance(fixed, str | Mapping) or not hasattr(fixed, "__len__"):
        raise InputError("fixed", "a list of chosen pieces", fixed)
    if len(fixed) > MOST_FIXED:
        raise InputError("fixed", f"at most {MOST_FIXED} chosen pieces", f"{len(fixed):,}")
    by_id, by_name = {s.id: s for s in sheets}, {b.name: b for b in blanks}
    out: list[Fixed] = []
    for number, entry in enumerate(fixed, 1):
        where = f"fixed {number}"
        piece = Fixed.read(entry, where)
        if piece.sheet not in by_id:
            raise InputError(f"{where}, sheet", "the id of a sheet in the pile", piece.sheet)
        if piece.sheet in exclude:
            raise InputError(f"{where}, sheet", "a sheet that may be cut", f"{piece.sheet}, which is excluded",
                             "Take it off one of the two lists.")  # fmt: skip
        if piece.blank not in by_name:
            raise InputError(f"{where}, blank", f"the name of a blank ({', '.join(by_name)})", piece.blank)
        _check_rules(piece, by_name[piece.blank], by_id[piece.sheet], where)
        other = next((f for f in out if f.sheet == piece.sheet and f.angle != piece.angle), None)
        if other is not None:
            raise InputError(f"{where}, angle", f"{other.angle:g}, as that of the others on sheet {piece.sheet}", piece.angle,
                             "All chosen pieces of a sheet are cut in one frame.")  # fmt: skip
        out.append(piece)
    for blank in blanks:
        count = sum(f.blank == blank.name for f in out)
        if blank.quantity is not None and count > blank.quantity:
            raise InputError("fixed", f"at most {blank.quantity} of {blank.name}, its quantity", f"{count}")
    for name in dict.fromkeys(f.sheet for f in out):
        _check_places([(number, f) for number, f in enumerate(out, 1) if f.sheet == name], by_id[name], by_name, cutter)
    return tuple(out)


def _check_rules(piece: Fixed, blank: Blank, sheet: Sheet, where: str) -> None:
    """Turn, grain, print direction and material."""
    if piece.turn not in blank.turns:
        raise InputError(f"{where}, turn", f"a turn that {blank.name} allows ({', '.join(map(str, blank.turns))})", piece.turn)
    if blank.material is not None and blank.material != sheet.material:
        raise InputError(f"{where}, sheet", f"a sheet of {blank.material}", f"{sheet.id}, of {sheet.material or 'no material'}")
    if piece.turn not in blank.turns_on(sheet):
        if isinstance(blank.grain, str) and sheet.grain is None:
            raise InputError(where, f"a sheet whose grain is known, as {blank.name} has a grain rule",
                             f"{sheet.id}, grain unknown", "Find the grain, give the rule a price, or turn it off.")  # fmt: skip
        raise InputError(f"{where}, turn", "one with which grain and print lie right", piece.turn,
                         f"On sheet {sheet.id} these do: {', '.join(map(str, blank.turns_on(sheet))) or 'none'}.")  # fmt: skip
    if piece.turn not in blank.turns_on(sheet, piece.angle):
        raise InputError(f"{where}, angle", f"at most {GRAIN_TOLERANCE_DEG:g} degrees, for grain and print", piece.angle)


def _check_places(numbered: Sequence[tuple[int, Fixed]], sheet: Sheet, blanks: Mapping[str, Blank],
                  cutter: Cutter | None) -> None:  # fmt: skip
    """All chosen pieces of one sheet: on good paper, apart, and to be parted by cuts from edge to edge."""
    place = ground(sheet, numbered[0][1].angle, cutter)
    pieces: list[Piece] = []
    for number, fixed in numbered:
        blank = blanks[fixed.blank]
        box = lain(place, fixed, blank, pieces)
        if box is None:
            wanted = _box(place, fixed, blank)
            alone = lain(place, fixed, blank, ())
            other = next((n for (n, _), p in zip(numbered, pieces, strict=False) if _overlap(wanted, p.box)), None)
            found = f"one that overlaps fixed {other}" if alone is not None and other else _where(place, wanted)
            raise InputError(f"fixed {number}, at", f"a place for {blank.name} on good paper of sheet {sheet.id}", found)
        pieces.append(Piece(box, blank.name, fixed.turn))
    if parted(pieces, place.box) is None:
        why = f"no knife can part the pieces chosen on sheet {sheet.id}: every cut from edge to edge goes through one of them"
        raise ImpossibleJob(dict.fromkeys((p.blank for p in pieces), why))


def _where(place: Ground, box: Box) -> str:
    """Why a piece may not lie in a box of a sheet."""
    segments, rings, inset = place.segments, place.rings, place.sheet.inset
    if not fits(*box, segments[segments[:, 4] == 0], rings[:1], 0.0):
        return "one that reaches over the edge"
    if not fits(*box, segments, rings, 0.0):
        return "one on damage"
    if not fits(*box, segments, rings, float(inset)):
        return f"one nearer than {show(inset)} to an edge or to damage"
    return "one in the strip that a squaring cut takes off"


def lain(place: Ground, fixed: Fixed, blank: Blank, taken: Sequence[Piece]) -> Box | None:
    """The box of a chosen piece in the frame, clear of those taken; in a turned frame, where corners are rounded, the nearest
    good one within two ticks. None where there is none."""
    x0, y0, x1, y1 = _box(place, fixed, blank)
    for x, y in _NEAR if place.frame_deg != 0 else _NEAR[:1]:
        box = x0 + x, y0 + y, x1 + x, y1 + y
        if place.fits(box) and not any(_overlap(box, other.box) for other in taken):
            return box
    return None


def _box(place: Ground, fixed: Fixed, blank: Blank) -> Box:
    x, y = to_frame(place.frame_deg, place.origin, *fixed.at)
    width, height = blank.size(fixed.turn)
    return round(x), round(y), round(x) + width, round(y) + height


def _overlap(a: Box, b: Box) -> bool:
    return a[0] < b[2] and b[0] < a[2] and a[1] < b[3] and b[1] < a[3]


def parted(pieces: Sequence[Piece], box: Box) -> Node | None:
    """Cuts that free every piece, in a box that holds them; None where no cut from edge to edge misses all pieces.

    A cut that misses all pieces does no harm, so the first one found may be made.
    """
    if not pieces:
        return Shavings(box)
    if len(pieces) == 1:
        return boxed(pieces[0], box)
    axes: tuple[tuple[Axis, int], ...] = (("x", 0), ("y", 1))
    for axis, side in axes:
        order = sorted(pieces, key=lambda p: (p.box[side], p.box))
        reach = order[0].box[side + 2]
        for count, piece in enumerate(order[1:], 1):
            if piece.box[side] >= reach:
                low_box, high_box = halves(box, axis, reach)
                low, high = parted(order[:count], low_box), parted(order[count:], high_box)
                return None if low is None or high is None else Cut(box, axis, reach, low, high)
            reach = max(reach, piece.box[side + 2])
    return None
