"""What a new maker meets: words where something is left out, misread or asked for twice, and what is silently right."""

from __future__ import annotations

import json
import os
import subprocess
import sys

import pytest

import nesting
from inventory.book import Book
from nesting.errors import InputError

JOB = 'materials = ["cover"]\n[[books]]\nformat = "A6"\nwanted = {wanted}\n'


@pytest.fixture
def bench(bench, tmp_path):
    """A workshop in mm; runs a command and gives (exit code, stdout, stderr)."""
    (tmp_path / "workshop.toml").write_text('[bench]\nunit = "mm"\n')
    return bench


def test_a_sheet_without_a_material_is_told_of_and_can_be_given_one(bench, tmp_path):
    assert bench("sheet", "add", "y: 100 x 140", "--material", "cover", "--yes")[2] == ""
    _, out, err = bench("sheet", "add", "nomat: 400 x 310", "--yes")
    assert out.endswith("Saved 1 sheet in stock.sqlite: nomat.\n")
    assert "nomat" in err and "quirestock sheet material nomat cover" in err
    (tmp_path / "job.toml").write_text(JOB.format(wanted=2))
    code, _, err = bench("plan", "job.toml", "--seconds", "5")
    assert code == 4 and "1 sheet has no material and is left out: nomat" in err and "too long for the nearest, y" in err
    assert bench("sheet", "material", "nomat", "covr")[0] == 3
    code, out, _ = bench("sheet", "material", "nomat", "cover")
    assert (code, out) == (0, "nomat is cover paper now\n")
    assert bench("sheet", "material", "nomat", "cover")[0] == 3  # it is already
    code, out, err = bench("plan", "job.toml", "--seconds", "5", "--no-draw")
    assert code == 0 and "2 A6 cover" in out and "no material" not in err
    with Book.open(tmp_path / "stock.sqlite") as book:
        assert book.verify() == () and book.get("nomat").sheet.material == "cover"
        book.rebuild()
        assert [s.id for s in book.sheets(material="cover")] == ["y", "nomat"]
    assert bench("undo")[0] == 0
    assert json.loads(bench("sheet", "show", "nomat", "--json")[1])["material"] is None
    assert bench("book", "verify")[0] == 0


def test_how_many_books_is_one_rule_with_its_reason(bench, tmp_path):
    job = tmp_path / "job.toml"
    job.write_text(JOB.format(wanted=1_000_001))
    assert "from 1 to 1,000,000" in bench("plan", "job.toml")[2]
    job.write_text(JOB.format(wanted=100_000).replace('"cover"', '"folio"'))
    code, _, err = bench("plan", "job.toml")
    assert code == 3 and "job job.toml, books 1, wanted: expected at most 83,333 books" in err and "takes 12" in err
    from inventory.jobs import read_job

    job.write_text(JOB.format(wanted=100_000))
    assert read_job(job, "mm", {}).blanks()[0].quantity == 100_000


@pytest.mark.parametrize("seconds", [0, 86_401])
def test_how_long_is_one_rule(bench, tmp_path, seconds):
    (tmp_path / "job.toml").write_text(JOB.format(wanted=1))
    bench("sheet", "add", "1: 400 x 310", "--material", "cover", "--yes")
    _, _, by_option = bench("plan", "job.toml", "--seconds", str(seconds))
    (tmp_path / "job.toml").write_text(f"seconds = {seconds}\n" + JOB.format(wanted=1))
    _, _, by_file = bench("plan", "job.toml")
    assert "above 0 and at most 86,400 s, a day" in by_option and "above 0 and at most 86,400 s, a day" in by_file


def test_hints_only_where_they_are_near(bench, tmp_path):
    (tmp_path / "job.toml").write_text(JOB.format(wanted=2).replace("A6", "gone.toml"))
    assert "Did you mean" not in bench("plan", "job.toml")[2]
    bench("sheet", "add", "notepaper: 210 x 297", "--yes")
    assert "Did you mean" not in bench("sheet", "show", "nope")[2]
    assert "Did you mean notepaper?" in bench("sheet", "show", "notpaper")[2]
    assert "Did you mean" not in bench("sheet", "add", "400 x 310; wobble 3", "--yes")[2]


def test_a_format_is_no_job_and_a_job_no_format(bench, tmp_path):
    (tmp_path / "mini.toml").write_text('unit = "mm"\nwidth = 70\nheight = 100\nfolios = 6\n')
    code, _, err = bench("plan", "mini.toml")
    assert code == 3 and "a notebook format" in err and 'format = "mini.toml"' in err
    (tmp_path / "job.toml").write_text(JOB.format(wanted=2))
    code, _, err = bench("notebook", "blanks", "job.toml")
    assert code == 3 and "found a job" in err and "quirestock plan job.toml" in err


def test_two_formats_of_one_name_are_not_added_up(bench, tmp_path):
    (tmp_path / "other.toml").write_text('name = "A6"\nunit = "mm"\nwidth = 70\nheight = 100\nfolios = 6\n')
    twice = '[[books]]\nformat = "A6"\nwanted = 2\n[[books]]\nformat = "{}"\nwanted = 3\n'
    (tmp_path / "job.toml").write_text(twice.format("other.toml"))
    _, _, err = bench("plan", "job.toml")
    assert "two formats of the name A6" in err and "another name" in err and "Add" not in err
    (tmp_path / "job.toml").write_text(twice.format("A6"))
    assert "Add the numbers up" in bench("plan", "job.toml")[2]


def test_crossing_corners_without_area_are_said_to_cross():
    with pytest.raises(InputError, match="cross"):
        nesting.Sheet.from_mm("x", [(0, 0), (100, 100), (100, 0), (0, 100)])
    with pytest.raises(InputError, match="on one line"):
        nesting.Sheet.from_mm("x", [(0, 0), (100, 100), (50, 50)])


@pytest.mark.parametrize(("described", "sides"), [
    ("A4; grain up", (210, 297)), ("A4 landscape", (297, 210)), ("SRA3", (320, 450)), ("b5 portrait; torn R 5", (176, 250)),
    ("half letter", (139.7, 215.9)), ("letter-landscape; count 3", (279.4, 215.9)),
])  # fmt: skip
def test_standard_sizes_by_name(bench, described, sides):
    assert bench("sheet", "add", f"s: {described}", "--material", "cover", "--yes")[0] == 0
    assert bench("sheet", "add", "t: like s", "--material", "cover", "--yes")[0] == 0
    for name in "st":
        shown = json.loads(bench("sheet", "show", name, "--json")[1])
        assert (shown["width_mm"], shown["height_mm"]) == sides


def test_a_size_that_there_is_not(bench):
    code, _, err = bench("sheet", "add", "A44; grain up", "--yes")
    assert code == 3 and "420 x 297, A4" in err and "Did you mean A4?" in err


def test_a_demo_in_a_workshop_that_exists_changes_nothing_and_says_so(bench, tmp_path):
    (tmp_path / "job.toml").write_text(JOB.format(wanted=2))
    code, out, err = bench("demo", str(tmp_path))
    assert code == 0 and out == "" and "holds a workshop already" in err and "name another folder" in err


def test_more_workers_than_cores_are_said(bench, tmp_path):
    bench("sheet", "add", "1: 400 x 310", "--material", "cover", "--yes")
    (tmp_path / "job.toml").write_text(JOB.format(wanted=1))
    code, _, err = bench("plan", "job.toml", "--workers", "9999", "--no-draw")
    cores = os.cpu_count() or 1
    assert code == 0 and f"this machine has {cores} core" in err


def test_the_public_names_are_listed_without_loading_them():
    code = "import nesting, sys; print(sorted(set(nesting.__all__) - set(dir(nesting)))); print('numpy' in sys.modules)"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout == "[]\nFalse\n"
