"""Whether a cover must be scored before it is folded, and the crease that suits it.

Two staples go through the flat book first: a cover creased beforehand may crack at the spine (common practice, no source),
so what is advised here is for the fold of the cover alone.
"""

from __future__ import annotations

from typing import Literal

Advice = Literal["none", "advised", "needed"]

# From 150 g/m2 (Condat; 170 D2R, 135 for covers Puget Bindery), from 200 insisted on; any stock of 0.006 in (baliprint).
ADVISED_GRAMMAGE, NEEDED_GRAMMAGE = 150.0, 200.0
ADVISED_CALIPER_MM = 0.1524
RULE_MM = 0.71  # a 2 point rule: from memory


def advice(grammage: float | None = None, caliper_mm: float | None = None) -> Advice | None:
    """Whether to score a stock before folding it; None where neither measure is known.

    >>> advice(120), advice(160), advice(255), advice(None, 0.3)
    ('none', 'advised', 'needed', 'advised')
    """
    if grammage is None:
        return None if caliper_mm is None else "advised" if caliper_mm >= ADVISED_CALIPER_MM else "none"
    return "needed" if grammage >= NEEDED_GRAMMAGE else "advised" if grammage >= ADVISED_GRAMMAGE else "none"


def crease(caliper_mm: float, rule_mm: float = RULE_MM) -> tuple[float, float]:
    """Width and depth in mm of the channel for a crease: 2 t + rule, and t (Condat).

    >>> crease(0.29)
    (1.29, 0.29)
    """
    return 2 * caliper_mm + rule_mm, caliper_mm
