"""The README shows what today's code does: its files are the demo's, its commands give what is printed below them."""

from __future__ import annotations

import doctest
import re
import shlex
import tomllib
from importlib.resources import files
from pathlib import Path

import pytest

from inventory.command.main import status
from inventory.descriptions import parse_text
from inventory.formats import load

README = Path(__file__).parent.parent / "README.md"
TEXT = README.read_text(encoding="utf-8")
FENCED = re.compile(r"^```(\w*)\n(.*?)^```$", re.MULTILINE | re.DOTALL)


def block(starts: str) -> str:
    """The fenced block that begins so."""
    found = [text for _, text in FENCED.findall(TEXT) if text.startswith(starts)]
    assert len(found) == 1, starts
    return found[0]


def scenario(name: str) -> str:
    return files("inventory.scenario").joinpath(name).read_text(encoding="utf-8")


def test_the_files_shown_are_the_demos(tmp_path):
    assert tomllib.loads(block("[bench]")) == tomllib.loads(scenario("workshop.toml"))
    assert tomllib.loads(block('name = "first night batch"')) == tomllib.loads(scenario("job.toml"))
    for name, text in (("shown.toml", block('unit = "mm"\nname = "pocket"')), ("demo.toml", scenario("pocket.toml"))):
        (tmp_path / name).write_text(text)
    assert load(tmp_path / "shown.toml") == load(tmp_path / "demo.toml")
    shown, demo = (parse_text(text).sheets for text in (block("unit mm\nkind parent"), scenario("bought.txt")))
    assert [s.sheet for s in shown] == [s.sheet for s in demo]


@pytest.mark.parametrize("command", [
    "sheet add", "notebook blanks", "notebook paper", "notebook largest", "notebook limits", "ream A6 --count", "ream A6 A7",
    "notebook survey"])
def test_commands_print_what_is_shown(command, tmp_path, monkeypatch, capsys):

    monkeypatch.chdir(tmp_path)
    monkeypatch.delenv("QUIRESTOCK_BOOK", raising=False)
    (tmp_path / "workshop.toml").write_text(block("[bench]"))
    (tmp_path / "pocket.toml").write_text(block('unit = "mm"\nname = "pocket"'))
    line, _, printed = block(f"$ quirestock {command}").partition("\n")
    if command == "notebook survey":
        for name in ("salvage.txt", "bought.txt", "pocket.toml"):
            (tmp_path / name).write_text(scenario(name))
        assert status(["sheet", "import", "salvage.txt"]) == status(["sheet", "import", "bought.txt"]) == 0
        capsys.readouterr()
    assert status(shlex.split(line)[2:]) == 0
    assert capsys.readouterr().out == printed


def test_the_python_example():
    example = doctest.DocTestParser().get_doctest(block(">>> import nesting"), {}, "README", str(README), 0)
    assert doctest.DocTestRunner().run(example) == (0, 4)
