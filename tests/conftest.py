"""One tiny plan, small enough to check by eye, and variants of it that differ in one feature.

    60 +--------+------+---------+     sheet "s", 100 x 60, three of them, grain across, print upright, square;
       | s-aa   |shav. |         |     cut twice like this: a cover 40 x 30 below left, another turned beside it
    40 |        +------+  s-ab   |
    30 +--------+      |         |     5 covers are wanted, so 1 stays short
       | cover  | cover|         |
     0 +--------+------+---------+     sheet "t", 50 x 50, is not touched
       0       40     70       100
"""

from __future__ import annotations

import io
import signal
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from nesting.blanks import Blank
from nesting.checker import Fault, check
from nesting.plans import Plan
from nesting.sheets import Sheet
from tests.builder import Cuts, across, layout, plan, up
from tests.commands import run

signal.signal(signal.SIGINT, signal.default_int_handler)  # where the tests run in the background a shell has it ignored

CUTS: Cuts = across(40, up(30, ("cover", 0), "offcut"), across(70, up(40, ("cover", 90), "shavings"), "offcut"))


def tiny_plan(cuts: Cuts = CUTS, sheet: dict[str, Any] | None = None, blank: dict[str, Any] | None = None,
              lay: dict[str, Any] | None = None, **more: Any) -> Plan:  # fmt: skip
    """The tiny plan, with other cuts or other fields of its sheet, blank, layout or of the whole."""
    outline = [(0, 0), (100, 0), (100, 60), (0, 60)]
    first = Sheet.from_mm("s", **{"outline": outline, "count": 3, "grain": "x", "up": "+y", "true_edges": "all", **(sheet or {})})
    cover = Blank("cover", **{"width": 40, "height": 30, "quantity": 5, "turns": (0, 90), **(blank or {})})
    cut = layout(first, cuts, **{"copies": 2, **(lay or {})})
    return plan([first, Sheet.rectangle("t", 50, 50)], [cover], [cut], **{"slack": 1200, **more})


@pytest.fixture
def bench(tmp_path: Path, monkeypatch: pytest.MonkeyPatch,
          capsys: pytest.CaptureFixture[str]) -> Callable[..., tuple[int, str, str]]:  # fmt: skip
    """A folder without a workshop, and a way to run a command in it: (exit code, stdout, stderr)."""
    monkeypatch.chdir(tmp_path)
    monkeypatch.delenv("QUIRESTOCK_BOOK", raising=False)

    def told(*arguments: str, typed: str = "") -> tuple[int, str, str]:
        monkeypatch.setattr(sys, "stdin", io.StringIO(typed))
        code = run(*arguments)
        out, err = capsys.readouterr()
        assert "Traceback" not in err
        return code, out, err

    return told


@pytest.fixture
def variant() -> Callable[..., Plan]:
    """The tiny plan with one feature changed; see `tiny_plan`."""
    return tiny_plan


@pytest.fixture
def tiny() -> Plan:
    """The tiny plan."""
    return tiny_plan()


@pytest.fixture
def document(tiny: Plan) -> dict[str, Any]:
    """The tiny plan as a document, to be altered."""
    return tiny.to_dict()


@pytest.fixture
def faults() -> Callable[[dict[str, Any]], tuple[Fault, ...]]:
    """The faults of a document."""
    return lambda document: check(Plan.from_dict(document))


def pytest_terminal_summary(terminalreporter: Any) -> None:
    """The trade's check values as a table at the end of the report."""
    from tests.trade_report import table

    lines = table()
    if lines:
        terminalreporter.section("check values of the trade")
        for line in lines:
            terminalreporter.write_line(line)
