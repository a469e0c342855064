"""The workshop of the cost sheet that README works by hand: plain bought papers, round figures."""

from __future__ import annotations

from pathlib import Path

from inventory.book import Book
from inventory.stock import StockSheet
from nesting import Sheet
from nesting.lengths import TICKS_PER_MM as MM
from tests.stock_cases import TIME

WORKSHOP = """[bench]
unit = "mm"
money = "EUR"
[cutter]
lift = 20
[prices]
cover = 1.20
card = 0.60
folio = 0.18
[labour]
rate = 18
[selling]
margin = 40
[consumables.staples]
price = 4.90
lasts = 5000
per = "staple"
[consumables.adhesive]
price = "12.50 EUR"
lasts = 6
per = "m2"
[press]
height = 60
[allowances.caliper]
cover = 0.12
card = 0.29
folio = 0.1
glue = 0.02
"""
JOB = """name = "two dozen"
[[books]]
format = "A6"
wanted = 24
"""
CALIPERS = {"cover": 0.12, "card": 0.29, "folio": 0.1}


def paper(material: str, count: int, kind: str = "parent", **more: object) -> StockSheet:
    """SRA2 paper of a material, named by it, grain long."""
    sheet = Sheet.rectangle(f"{material}-paper", 450, 640, count=count, grain="y", true_edges="all", material=material)
    return StockSheet(sheet, kind, caliper=round(CALIPERS[material] * MM), **more)  # type: ignore[arg-type]


def worked(folder: Path, job: str = JOB, workshop: str = WORKSHOP, papers: tuple[StockSheet, ...] | None = None) -> Path:
    """The job file in a folder made a workshop, with its stock book: 3, 3 and 36 sheets of paper."""
    (folder / "workshop.toml").write_text(workshop, encoding="utf-8")
    (folder / "job.toml").write_text(job, encoding="utf-8")
    if papers is None:
        papers = paper("cover", 3), paper("card", 3), paper("folio", 36)
    with Book.open(folder / "stock.sqlite", create=True) as book:
        book.receive(papers, TIME)
    return folder / "job.toml"
