"""Where every blank comes from: sheets, blanks, the search for layouts, the checker, the notebook's arithmetic.

Values in, values out: nothing here reads a file, a database or a clock but the deadline of a search.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

__version__ = "0.1.0"

if TYPE_CHECKING:
    from .blanks import Blank
    from .checker import Fault, check
    from .cutters import Cutter
    from .errors import ImpossibleJob, InputError
    from .layouts import Layout
    from .plans import Fill, Plan
    from .search.pile.planning import plan
    from .search.sheet.filling import fill
    from .sheets import Sheet

_HOME = {
    "Blank": "blanks", "Cutter": "cutters", "Fault": "checker", "Fill": "plans", "ImpossibleJob": "errors",
    "InputError": "errors", "Layout": "layouts", "Plan": "plans", "Sheet": "sheets", "check": "checker",
    "fill": "search.sheet.filling", "plan": "search.pile.planning",
}  # fmt: skip

__all__ = [
    "Blank", "Cutter", "Fault", "Fill", "ImpossibleJob", "InputError", "Layout", "Plan", "Sheet", "__version__",
    "check", "fill", "plan",
]  # fmt: skip


def __dir__() -> list[str]:
    """The public names, loaded or not."""
    return sorted({*globals(), *__all__})


def __getattr__(name: str) -> Any:
    """Public names are loaded when first used: `--help` must not wait for a solver."""
    if name in _HOME:
        from importlib import import_module

        value = getattr(import_module(f".{_HOME[name]}", __name__), name)
        globals()[name] = value
        return value
    raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
