"""Drawings written to files, and the command that does it."""

from __future__ import annotations

import io
import json

import pytest

from inventory import StorageError
from inventory.command.main import status
from inventory.drawings import page_bytes, pdf_bytes, write_pages
from nesting import InputError
from nesting.draw.diagrams import plan_pages

from .drawn_cases import b3


def test_files_are_the_same_every_time_and_whole():
    pypdf = pytest.importorskip("pypdf")
    data = pdf_bytes(plan_pages(b3(), paper="Letter"))
    assert data == pdf_bytes(plan_pages(b3(), paper="Letter"))
    reader = pypdf.PdfReader(io.BytesIO(data))
    assert len(reader.pages) == 2
    assert [float(v) / 72 * 25.4 for v in reader.pages[1].mediabox[2:]] == pytest.approx([215.9, 279.4], abs=0.1)
    assert "FACE UP" in reader.pages[1].extract_text() and "CreationDate" not in (reader.metadata or {})
    page = plan_pages(b3())[1]
    svg = page_bytes(page, "svg")
    assert svg == page_bytes(plan_pages(b3())[1], "svg") and b"<dc:date>" not in svg
    assert page_bytes(page, "png") == page_bytes(plan_pages(b3())[1], "png")


def test_pages_are_written_one_pdf_or_a_file_each(tmp_path):
    pages = plan_pages(b3())
    assert write_pages(pages, tmp_path / "new" / "folder", "plan") == [tmp_path / "new" / "folder" / "plan.pdf"]
    for kind, start in (("svg", b"<?xml"), ("PNG", b"\x89PNG")):
        paths = write_pages(pages, tmp_path, "plan", kind)
        assert [path.name for path in paths] == [f"plan-{n}.{kind.lower()}" for n in (1, 2)]
        assert all(path.read_bytes().startswith(start) for path in paths)
    assert write_pages(pages * 5, tmp_path, "long", "svg")[0].name == "long-01.svg"


def test_pages_of_a_longer_earlier_run_are_removed_and_nothing_else(tmp_path):
    pages = plan_pages(b3())
    others = ("plan.pdf", "plan-a.svg", "plan-03.png", "plan-long-03.svg", "my-plan-03.svg", "plan-03.svg.old")
    for name in (*others, "plan-01.svg", "plan-03.svg", "plan-12.svg"):
        (tmp_path / name).write_text("of an earlier run")
    (tmp_path / "plan-9.svg").mkdir()
    paths = write_pages(pages, tmp_path, "plan", "svg")
    assert {path.name for path in tmp_path.iterdir()} == {*others, "plan-9.svg", *(path.name for path in paths)}


def test_a_folder_that_cannot_be_made_is_said_so(tmp_path):
    pages = plan_pages(b3())
    (tmp_path / "taken").write_text("a file")
    with pytest.raises(StorageError, match="is a file, a folder is needed"):
        write_pages(pages, tmp_path / "taken", "plan")
    with pytest.raises(StorageError, match="cannot be made"):
        write_pages(pages, tmp_path / "taken" / "below", "plan")
    with pytest.raises(InputError, match="pdf, svg or png"):
        write_pages(pages, tmp_path, "plan", "gif")


def test_a_read_only_folder_is_said_so(tmp_path, monkeypatch):
    from pathlib import Path

    def refuse(self, *args, **kwargs):
        raise PermissionError(13, "Permission denied")

    monkeypatch.setattr(Path, "mkdir", refuse)
    with pytest.raises(StorageError, match="may not be made"):
        write_pages(plan_pages(b3()), tmp_path / "new", "plan")


def test_the_command_draws_a_plan(tmp_path, monkeypatch, capsys):
    monkeypatch.chdir(tmp_path)
    (tmp_path / "plan.json").write_text(json.dumps(b3().to_dict()))
    assert status(["draw", "plan.json"]) == 0
    assert capsys.readouterr().out.strip() == "plan.pdf" and (tmp_path / "plan.pdf").read_bytes().startswith(b"%PDF")
    assert status(["draw", "plan.json", "--out", "pages", "--format", "svg", "--paper", "Letter", "--unit", "in"]) == 0
    assert (tmp_path / "pages" / "plan-2.svg").is_file()
    assert status(["draw", "plan.json", "--format", "gif"]) == 3
    assert status(["draw", "plan.json", "--paper", "A3"]) == 3
    assert status(["draw", "missing.json"]) == 3
    (tmp_path / "file").write_text("")
    assert status(["draw", "plan.json", "--out", "file"]) == 6
    broken = b3().to_dict()
    broken["layouts"][0]["copies"] = 2
    (tmp_path / "broken.json").write_text(json.dumps(broken))
    capsys.readouterr()
    assert status(["draw", "broken.json"]) == 1
    assert "is not drawn" in capsys.readouterr().err
