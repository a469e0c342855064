"""What the tests of the checker have in common."""

from __future__ import annotations

import nesting
from nesting.blanks import Blank
from nesting.plans import Plan
from nesting.sheets import Sheet
from tests.builder import across, layout, plan, up

TICK = 1 / 8000


def codes(found: tuple[nesting.Fault, ...]) -> set[str]:
    """The words of faults."""
    return {fault.code for fault in found}


def says(found: tuple[nesting.Fault, ...], words: str) -> bool:
    """Whether one of the sentences holds these words."""
    return any(words in fault.text for fault in found)


def slanted(tick_off: int = 0) -> Plan:
    """A piece whose free corner lies on the slanted edge from (100, 0) to (60, 80); one end of the edge moved by ticks."""
    sheet = Sheet.from_mm("s", [(0, 0), (100 - tick_off * TICK, 0), (60, 80), (0, 80)])
    cuts = across(80, up(40, ("cover", 0), "offcut"), "shavings")
    return plan([sheet], [Blank("cover", 80, 40)], [layout(sheet, cuts)])
