"""What folding does: leaves and pages, thickness, creep by three shapes of fold, wrap at the spine.

Calipers are given from the outside of the book inwards; results are in the unit that they are given in.

>>> [round(push_out([0.1] * 12, fold)[-1], 3) for fold in FOLDS]
[1.1, 1.728, 2.2]
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Literal

Fold = Literal["sharp", "round", "square"]
FOLDS: tuple[Fold, ...] = ("sharp", "round", "square")

# Push-out in calipers of depth. sharp: one caliper a sheet (printers' rule, 0.005 in a sheet of 70 lb: Color Vision).
# round: each layer outward takes pi x caliper more, half of it a side (Gallivan 2002; Korpal, At Right Angles 4(3) 2015).
# square: spine pressed flat, 1 mm of width lost per 1 mm of thickness (webmartuk: A4, 3 mm thick, centre pages 207 mm).
KAPPA: dict[Fold, float] = {"sharp": 1.0, "round": math.pi / 2, "square": 2.0}


def kappa(fold: Fold | float) -> float:
    """Push-out in calipers of depth for a shape of fold, or that itself where it was measured on a dummy."""
    return KAPPA[fold] if isinstance(fold, str) else fold


def leaves(folios: int) -> int:
    """Leaves of so many folios, each folded once (Roberts & Etherington, "leaf")."""
    return 2 * folios


def pages(folios: int) -> int:
    """Pages of so many folios: a leaf has one on each side (Roberts & Etherington, "leaf")."""
    return 4 * folios


def stitch_grip(calipers: Sequence[float]) -> float:
    """What a staple passes at the fold: every sheet once (geometry; trade.md trap 11)."""
    return sum(calipers)


def closed_thickness(calipers: Sequence[float]) -> float:
    """Thickness of the closed book: every sheet twice (geometry)."""
    return 2 * sum(calipers)


def push_out(calipers: Sequence[float], fold: Fold | float) -> tuple[float, ...]:
    """How far each sheet's fore-edge stands out past the outermost's, all cut equally wide, before trimming.

    c_k = kappa x (d_k - d_1), d_k the depth of the middle of sheet k below the outside of the spine. After trimming
    at one line, the leaves of sheet k are narrower by c_k. (n - 1) intervals, not n (trade.md trap 10).

    >>> push_out([0.5], "round")
    (0.0,)
    """
    out, depth = [], 0.0
    for caliper in calipers:
        out.append(kappa(fold) * (depth + caliper / 2 - calipers[0] / 2))
        depth += caliper
    return tuple(out)


def creep(calipers: Sequence[float], fold: Fold | float) -> float:
    """The push-out of the innermost sheet (see `push_out`)."""
    return push_out(calipers, fold)[-1]


def printers_creep(pages: int, caliper: float) -> float:
    """The printers' rule for creep: one caliper for each sheet (onlineprinters, "Bundzuwachs"); one too many."""
    return pages / 4 * caliper


def wrap(calipers: Sequence[float], fold: Fold | float) -> float:
    """Extra flat width that the outermost sheet needs so that, closed, it still reaches the width it was folded for.

    With R the stitch grip, t the outermost caliper and kappa the push-out of a depth: 2 (kappa (R - t/2) - R), never
    below 0 (geometry; trade.md section 4). So sharp 0; round pi r - 2 R where r = R - t/2; square 2 (R - t).
    """
    grip, outer = stitch_grip(calipers), calipers[0]
    return max(0.0, 2 * (kappa(fold) * (grip - outer / 2) - grip))
