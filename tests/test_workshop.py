"""workshop.toml: found, read, written, and refused with a sentence that names section and key."""

from __future__ import annotations

import dataclasses
from pathlib import Path

import pytest

from inventory.errors import StorageError
from inventory.formats import load
from inventory.workshop import FILE, Workshop, write_default
from nesting import Cutter
from nesting.errors import InputError
from nesting.lengths import TICKS_PER_INCH, TICKS_PER_MM

BENCH = '[bench]\nunit = "mm"\n'


def shop(folder: Path, text: str) -> Workshop:
    (folder / FILE).write_text(text, encoding="utf-8")
    return Workshop.load(folder)


@pytest.mark.parametrize(("unit", "paper", "square_up"), [("mm", "A4", 3 * TICKS_PER_MM), ("in", "Letter", TICKS_PER_INCH // 8)])
def test_the_file_written_by_default_is_the_default_workshop(tmp_path: Path, unit: str, paper: str, square_up: int) -> None:
    # square_up: about 1/8 in for the first two trims (Gray, Paper-Cutting Machines, 1918)
    path = write_default(tmp_path, unit)  # type: ignore[arg-type]
    assert path == tmp_path / "workshop.toml" and all(line == line.rstrip() for line in path.read_text().splitlines())
    made, usual = Workshop.load(tmp_path), Workshop.default(tmp_path, unit)  # type: ignore[arg-type]
    assert (made.unit, made.paper, made.cutter) == (unit, paper, Cutter(square_up="3 mm" if unit == "mm" else "1/8 in"))
    assert made.cutter.square_up == square_up
    assert (made.unit, made.paper, made.cutter, made.prices, made.money) == (
        usual.unit, usual.paper, usual.cutter, usual.prices, usual.money)  # fmt: skip
    # what this version's search refuses stays out of it
    assert (made.cutter.gutter, made.cutter.true_up, made.cutter.step) == (0, 0, None)
    trims = load("A6", made.unit, made.allowances).trims
    assert {trims.head, trims.tail, trims.fore_edge} == {square_up}
    assert (made.is_set, made.bare_unit, usual.is_set, usual.bare_unit) == (True, unit, False, None)


def test_every_line_offered_in_the_file_may_be_used(tmp_path: Path) -> None:
    for unit in ("mm", "in"):
        folder = tmp_path / unit
        folder.mkdir()
        path = write_default(folder, unit)  # type: ignore[arg-type]
        offered = [line.removeprefix("# ") if line.startswith("# ") and ("=" in line or "[" in line) else line
                   for line in path.read_text(encoding="utf-8").splitlines()]  # fmt: skip
        made = shop(folder, "\n".join(offered))
        assert made.cutter.longest_cut and made.cutter.clamp and made.cutter.fence_max and made.cutter.lift
        assert made.least_offcut and made.allowances["slack"] and made.allowances["caliper"]["glue"] == "0.02 mm"
        assert set(made.prices) == {"cover", "card", "folio"}


def test_a_file_that_is_there_is_never_overwritten(tmp_path: Path) -> None:
    (tmp_path / FILE).write_text(BENCH)
    with pytest.raises(StorageError, match="there already"):
        write_default(tmp_path)
    assert (tmp_path / FILE).read_text() == BENCH
    with pytest.raises(StorageError, match="is not there"):
        write_default(tmp_path / "no")


def test_a_workshop_is_found_upward_and_without_one_there_are_defaults(tmp_path: Path) -> None:
    below = tmp_path / "a" / "b"
    below.mkdir(parents=True)
    shop(tmp_path, BENCH + 'paper = "letter"\n')
    found = Workshop.find(below)
    assert (found.folder, found.paper, found.book) == (tmp_path, "Letter", tmp_path / "stock.sqlite")
    shop(tmp_path / "a", BENCH)
    assert Workshop.find(below).folder == tmp_path / "a"
    (tmp_path / "a" / FILE).unlink()
    (tmp_path / FILE).unlink()
    none = Workshop.find(below)
    assert (none.folder, none.is_set, none.unit, none.cutter.square_up) == (below, False, "mm", 24_000)


def test_every_key_is_read_in_the_unit_of_the_bench(tmp_path: Path) -> None:
    made = shop(tmp_path, """
[bench]
unit = "in"
paper = "A4"
money = "EUR"
[cutter]
longest_cut = 17
lift = "20 mm"
fence_min = "1/2"
fence_max = 16.5
clamp = "1 in"
square_up = 0
gutter = "1/8"
true_up = 0.0625
step = "1/16 in"
[allowances]
trim = "1/8"
fold = "sharp"
[allowances.caliper]
glue = "0.02 mm"
[prices]
card = 0.35
[plan]
seconds = 20
least_offcut = [3, "80 mm"]
""")
    inch = TICKS_PER_INCH
    assert made.cutter == Cutter("17 in", "20 mm", "1/2 in", "16 1/2 in", "1 in", "1/16 in", 0, "1/8 in", "1/16 in")
    assert (made.paper, made.money, made.prices["card"], made.seconds) == ("A4", "EUR", 0.35, 20.0)
    assert made.least_offcut == (3 * inch, 80 * TICKS_PER_MM)
    made_format = load("A6", made.unit, made.allowances)
    assert (made_format.trims.head, made_format.fold, made_format.calipers.glue) == (inch // 8, "sharp", 160)


def test_a_workshop_is_a_frozen_value(tmp_path: Path) -> None:
    made = shop(tmp_path, BENCH)
    assert made == Workshop.load(tmp_path)
    with pytest.raises(dataclasses.FrozenInstanceError):
        made.unit = "in"  # type: ignore[misc]
    with pytest.raises(TypeError):
        made.prices["card"] = 1  # type: ignore[index]


@pytest.mark.parametrize(("text", "match"), [
    ("", r'\[bench\], unit: expected "mm" or "in", found nothing'), ('[bnech]\nunit = "mm"', 'Did you mean "bench"'),
    ('[bench]\nunti = "mm"', 'Did you mean "unit"'), ('[bench]\nunit = "cm"', 'found cm. Did you mean "mm"'),
    ("[bench]\nunit = 3", "found 3"), (BENCH + 'paper = "A3"', '"A4" or "Letter"'), (BENCH + "money = 3", "such as EUR"),
    ("bench = 3", r"a section \[bench\]"), (BENCH + "[cutter]\nlongest = 3", 'Did you mean "longest_cut"'),
    (BENCH + "[cutter]\nlift = 0", "lift: expected a length above 0.*Leave the key out"),
    (BENCH + '[cutter]\nlift = "1,234"', "1234"),
    (BENCH + "[cutter]\nlift = -1", r"\[cutter\], lift: expected a length of 0 or more"),
    (BENCH + "[cutter]\nlift = true", "a length such"), (BENCH + "[cutter]\nlift = inf", "a plain length"),
    (BENCH + "[cutter]\nlift = 1e-9", "a plain length"),
    (BENCH + "[cutter]\nfence_min = 20\nfence_max = 10", "more than fence_min"),
    (BENCH + "[allowances]\ntrin = 3", "Did you mean trim"),
    (BENCH + '[allowances]\nfold = "rund"', r"\[allowances\], fold.*Did you mean round"),
    (BENCH + "[allowances]\nunit = 3", "unit"), (BENCH + '[prices]\ncard = "a"', r"\[prices\], card"),
    (BENCH + "[prices]\ncrd = 1", 'Did you mean "card"'), (BENCH + "[prices]\ncard = -1", "0 or more"),
    (BENCH + "[plan]\nseconds = 0", "above 0"), (BENCH + "[plan]\nsecond = 3", '"seconds"'),
    (BENCH + "[plan]\nseconds = nan", "above 0"), (BENCH + "[plan]\nleast_offcut = 80", "two lengths"),
    (BENCH + "[plan]\nleast_offcut = [80, 0]", "above 0"), ("x =", "TOML"), (BENCH + BENCH, "TOML"),
])  # fmt: skip
def test_each_wrong_line_gives_one_sentence(tmp_path: Path, text: str, match: str) -> None:
    with pytest.raises(InputError, match=match) as caught:
        shop(tmp_path, text)
    assert "workshop.toml" in str(caught.value)


def test_files_that_cannot_be_read_say_why(tmp_path: Path) -> None:
    with pytest.raises(InputError, match="a file that is there"):
        Workshop.load(tmp_path)
    (tmp_path / FILE).write_bytes("unit = '½'".encode("latin-1"))
    with pytest.raises(InputError, match="UTF-8"):
        Workshop.load(tmp_path)
    (tmp_path / FILE).unlink()
    (tmp_path / FILE).mkdir()
    with pytest.raises(InputError, match="found a folder"):
        Workshop.load(tmp_path)
