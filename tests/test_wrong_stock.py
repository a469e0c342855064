"""Stock from which a job cannot be cut: every command line says why, for each blank, and what would help."""

from __future__ import annotations

import pytest

from inventory.command.main import status

WORKSHOP = '[bench]\nunit = "mm"\n[cutter]\nsquare_up = 3\n[plan]\nseconds = 5\n'
JOB = 'materials = ["cover"]\n[[books]]\nformat = "A6"\nwanted = 4\n'
RING = "2: 300 x 300; hole across 40 to 260 up 40 to 260"


@pytest.fixture
def bench(tmp_path, monkeypatch, capsys):
    """A workshop; returns a function that runs a command and gives (exit code, stdout and stderr)."""
    monkeypatch.chdir(tmp_path)
    monkeypatch.delenv("QUIRESTOCK_BOOK", raising=False)
    (tmp_path / "workshop.toml").write_text(WORKSHOP)
    (tmp_path / "job.toml").write_text(JOB)

    def run(*words):
        code = status(words)
        said = capsys.readouterr()
        return code, said.out + said.err

    return run


def add(bench, *lines, material="cover"):
    assert bench("sheet", "add", "--material", material, *lines, "--yes")[0] == 0


def plan(bench):
    code, said = bench("plan", "job.toml", "--no-draw")
    assert "Traceback" not in said
    return code, said


def test_an_empty_pile(bench):
    add(bench, "9: 400 x 300", material="card")
    code, said = plan(bench)
    assert code == 3
    assert "expected sheets of cover, found none. Add some first: quirestock sheet add." in said


def test_a_sheet_smaller_than_any_blank(bench):
    add(bench, "1: 100 x 80")
    code, said = plan(bench)
    assert code == 4
    assert ("A6 cover: 216 mm x 154 mm is larger than every sheet: 116 mm too long for the nearest, 1 "
            "(squaring takes up to 6 mm more); a blank of 94 mm x 74 mm would fit there") in said  # fmt: skip


def test_a_ring_whose_hole_leaves_no_blank(bench):
    add(bench, "1: 100 x 80", RING)
    code, said = plan(bench)
    assert code == 4
    assert ("A6 cover: 216 mm x 154 mm has no place on any sheet; the nearest is 2: its hole is in the way, "
            "a blank of about 290 mm x 35 mm would fit there") in said  # fmt: skip


def test_zones_covering_all_are_refused_at_the_door(bench):
    code, said = bench("sheet", "add", "--material", "cover", "3: 400 x 300; bad across 0 to 400 up 0 to 300", "--yes")
    assert code == 3
    assert "expected some good paper left, found none" in said


def test_zones_covering_almost_all(bench):
    add(bench, "3: 400 x 300; bad across 2 to 398 up 2 to 298")
    code, said = plan(bench)
    assert code == 4
    assert ("A6 cover: 216 mm x 154 mm has no place on any sheet; on the nearest, 3, nothing is clear: "
            "its damage is in the way") in said  # fmt: skip


def test_the_nearest_sheet_is_the_one_that_lacks_least(bench):
    add(bench, RING, "4: 232 x 200; bad across 100 to 140 up 190 to 200", "5: 230 x 180; bad across 100 to 140 up 60 to 110")
    code, said = plan(bench)
    assert code == 4 and "1 A6 cover, 3 short" in said  # 4 gives one
    assert "2: nothing; without its holes 1 A6 cover" in said


def test_one_blank_of_two_has_no_place(bench, tmp_path):
    (tmp_path / "job.toml").write_text(JOB + '[[books]]\nformat = "A7"\nwanted = 1\n')
    add(bench, "5: 200 x 150", RING)
    code, said = plan(bench)
    assert code == 4
    assert "0 A6 cover, 4 short\n        216 mm x 154 mm has no place on any sheet; the nearest is 2" in said
    assert "1 A7 cover\n" in said


def test_a_job_with_a_price_on_variety(bench, tmp_path):
    (tmp_path / "job.toml").write_text('variety = "much"\n' + JOB)
    code, said = plan(bench)
    assert code == 3 and "variety: expected a price" in said
    (tmp_path / "job.toml").write_text("variety = 1000000\n" + JOB)
    add(bench, *(f"s{k}: 460 x 180; true all" for k in range(4)))  # two covers a sheet
    code, said = plan(bench)
    assert code == 0 and "4 layouts from 4 sheets" in said
    assert "4 different sheets are cut: the job sets a price on that." in said
