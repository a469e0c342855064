"""Short ways to a described sheet, and the lines of design.md section 3, for the tests of sheet descriptions."""

from __future__ import annotations

from typing import Any

from inventory.descriptions import parse_text
from inventory.stock import StockSheet
from nesting.lengths import mm

DESIGN = """unit mm
1: 420 x 297
3: 400 x 310; torn R 15; torn T 4
4: 400 x 310; clip TR 30 by 40
5: 400 x 310; bad L 200 to 260 deep 11
6: 400 x 310; bad across 90 to 130 up 60 to 95
8: bottom 420; top 412; left 297; right 294; square BL
9: 400 x 310; edge R every 50: 400 392 388 395 397 400 400
11 to 18: like 4
19: like 4; bad R 0 to 50 deep 20
20: like 4; no clip
22: squares 20
....#
*....
unit in
2: 16 1/2 x 11 3/4; grain up
7: 12 x 18; crease T 5 1/4 to B 4 7/8 wide 1/8
10: 12 x 18; best across 3 to 9 up 6 to 14
21: corners (0; 0) (16 1/2; 0) (16 1/2; 9) (14; 11 3/4) (0; 11 3/4)
"""


def one(text: str, **more: Any) -> StockSheet:
    """The one sheet of a description without its number, in mm unless said."""
    reading = parse_text(f"s: {text}", **{"unit": "mm", **more})
    assert not reading.faults, reading.sentences
    return reading.sheets[0]


def fault(text: str, **more: Any) -> str:
    """The one sentence that a line gives instead of a sheet."""
    reading = parse_text(text, **{"unit": "mm", **more})
    assert len(reading.faults) == 1, (reading.sheets, reading.faults)
    return reading.faults[0].reason


def points(ring: Any) -> list[tuple[float, float]]:
    return [(mm(x), mm(y)) for x, y in ring]


def box(x0: float, y0: float, x1: float, y1: float) -> list[tuple[float, float]]:
    return [(x0, y0), (x1, y0), (x1, y1), (x0, y1)]
