"""The README's pictures, from a demo workshop: `quirestock demo DIR`, then `python demos/pictures.py DIR`.

Text stays text in these files, which keeps them small.
"""

from __future__ import annotations

import json
import sys
from dataclasses import replace
from pathlib import Path

import matplotlib

from inventory.book import Book
from nesting import Plan
from nesting.draw.contact import contact_pages
from nesting.draw.diagrams import plan_pages

HERE = Path(__file__).parent
SETTINGS = {"svg.fonttype": "none", "svg.hashsalt": "quirestock"}


def main() -> None:
    """Write layout.svg (the page of sheet w10) and pile.svg (the first twelve sheets)."""
    folder = Path(sys.argv[1])
    plan = Plan.from_dict(json.loads((folder / "job-plan" / "plan.json").read_text()))
    with Book.open(folder / "stock.sqlite", readonly=True) as book:
        sheets = [replace(s.sheet, count=1) for s in book.sheets(gone=True) if s.kind == "salvaged"]
    number = next(i for i, layout in enumerate(plan.layouts) if layout.sheet == "w10")
    page = plan_pages(plan, unit="mm", paper="A4", title="first night batch")[number + 1]
    pile = contact_pages(sheets[:12], unit="mm", paper="A4")[0]
    with matplotlib.rc_context(SETTINGS):
        page.savefig(HERE / "layout.svg", metadata={"Date": None, "Creator": "quirestock"})
        pile.savefig(HERE / "pile.svg", metadata={"Date": None, "Creator": "quirestock"})


if __name__ == "__main__":
    main()
