"""Job files: the rules of grain and print, and their prices in the money of the stock."""

from __future__ import annotations

from pathlib import Path

import pytest

from inventory.jobs import Job, read_job
from nesting import Sheet
from nesting.errors import InputError

BOOKS = '[[books]]\nformat = "A6"\nwanted = 4\n'
AREA = 216 * 154


def job(folder: Path, text: str) -> Job:
    path = folder / "job.toml"
    path.write_text(BOOKS + text, encoding="utf-8")
    return read_job(path, "mm", {})


def test_a_cover_is_soft_by_default_and_a_jobs_rules_come_before_its_formats(tmp_path: Path) -> None:
    cover, card, folio = job(tmp_path, "").blanks()
    assert (cover.grain, cover.up) == (("y", round(0.02 * AREA)), ("+y", round(0.05 * AREA)))
    assert (card.grain, card.up, folio.grain, folio.up) == ("y", None, "y", None)
    ruled = '[rules]\ncover = "across, 10 %"\ncard = "off"\nprint_up = "hard"\n'
    cover, card, folio = job(tmp_path, ruled).blanks()
    assert (cover.grain, cover.up, card.grain, folio.grain) == (("x", round(0.1 * AREA)), "+y", None, "y")
    assert job(tmp_path, '[rules]\nprint_up = "off"\n').blanks()[0].up is None


def test_prices_are_in_the_money_of_the_stock_where_all_of_it_has_a_cost(tmp_path: Path) -> None:
    read = job(tmp_path, "")
    sheets = [Sheet.rectangle("1", 500, 400, cost=3, material="cover"),
              Sheet.rectangle("2", 500, 400, cost=1, material="cover", count=3),
              Sheet.rectangle("3", 100, 100, cost=900, material="card")]  # fmt: skip
    cover = read.blanks(sheets)[0]
    rate = (3 + 3 * 1) / (4 * 200_000)
    assert cover.grain == ("y", pytest.approx(round(0.02 * AREA) * rate))
    assert cover.up == ("+y", pytest.approx(round(0.05 * AREA) * rate))
    bare = [Sheet.rectangle("1", 500, 400, material="cover")]
    assert read.blanks(bare)[0] == read.blanks()[0]
    most = tmp_path / "most.toml"
    most.write_text('aim = "most-books"\n' + BOOKS, encoding="utf-8")
    assert read_job(most, "mm", {}).blanks(sheets)[0].grain == ("y", round(0.02 * AREA))  # weighed against worth, in mm2


@pytest.mark.parametrize(("text", "match"), [
    ('[rules]\ncovr = "off"', "Did you mean cover"), ('[rules]\ncover = "spine, 2"', "rules, cover.*2 %"),
    ('[rules]\nprint_up = "soft"', "rules, print_up"), ('rules = "off"', "format and wanted|table|only format"),
])  # fmt: skip
def test_wrong_rules_are_refused(tmp_path: Path, text: str, match: str) -> None:
    with pytest.raises(InputError, match=match):
        job(tmp_path, text)
