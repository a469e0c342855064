"""`quirestock --help` loads nothing heavy: it must be there at once (design.md, measure S9)."""

from __future__ import annotations

import subprocess
import sys

import pytest

HEAVY = ("pandas", "matplotlib", "ortools", "numba", "numpy", "shapely", "sqlalchemy", "rectpack", "openpyxl", "rich")
CODE = """
import sys
from inventory.command.main import status
code = status(sys.argv[1:])
print("LOADED", code, *sorted({name.partition(".")[0] for name in sys.modules} & set(HEAVY)))
"""


def loaded(*arguments: str) -> list[str]:
    code = f"HEAVY = {HEAVY!r}\n{CODE}"
    done = subprocess.run([sys.executable, "-c", code, *arguments], capture_output=True, text=True, timeout=60)
    assert done.returncode == 0, done.stderr
    return done.stdout.rsplit("LOADED ", 1)[1].split()


@pytest.mark.parametrize("arguments", [
    ["--help"], ["--version"], ["sheet", "--help"], ["sheet", "add", "--help"], ["book", "--help"], ["cut", "--help"],
])  # fmt: skip
def test_help_loads_nothing_heavy(arguments):
    assert loaded(*arguments) == ["0"]


def test_the_watch_sees_what_is_loaded():
    """The check above can fail: a command that opens a book loads SQLAlchemy."""
    assert "sqlalchemy" in loaded("book", "head", "--book", "none.sqlite")


def test_every_command_has_help(capsys):
    import typer

    from inventory.command.main import app, status

    command = typer.main.get_command(app)
    names = [[name] for name in command.commands]  # type: ignore[attr-defined]
    for name, group in command.commands.items():  # type: ignore[attr-defined]
        names += [[name, sub] for sub in getattr(group, "commands", {})]
    assert len(names) > 15
    for path in names:
        assert status([*path, "--help"]) == 0
        text = capsys.readouterr().out
        assert text.startswith("Usage: quirestock") and len(text.split("\n")[2].strip()) > 20, path
