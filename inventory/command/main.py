"""The command `quirestock`: which commands there are, and what its errors mean outside (exit codes)."""

from __future__ import annotations

import os
import sys
from collections.abc import Sequence
from typing import Annotated, Any

import typer
from typer.core import TyperGroup

from inventory.errors import StockChanged, StorageError
from nesting.errors import ImpossibleJob, InputError

from . import (
    book,
    checking,
    cutting,
    demonstration,
    drawing,
    folios,
    largest,
    limits,
    making,
    measuring,
    notebook,
    planning,
    ream,
    sheet,
    survey,
    working,
)
from .common import BAD_INPUT, CHANGED, DONE, IMPOSSIBLE, INTERRUPTED, STORAGE, say, version

_UsageError: Any = typer.BadParameter.__mro__[1]  # its home differs between releases of typer
ORDER = ("sheet", "notebook", "ream", "plan", "check", "draw", "cut", "undo", "book", "demo")


class _Stopped(Exception):
    """Ctrl-C or a closed pipe, carried past typer, which has its own codes for them."""


class _Shell(TyperGroup):
    def list_commands(self, ctx: Any) -> list[str]:
        """In the order of the work, as far as ORDER knows them."""
        return sorted(super().list_commands(ctx), key=lambda name: ORDER.index(name) if name in ORDER else len(ORDER))

    def invoke(self, ctx: Any) -> Any:
        try:
            return super().invoke(ctx)
        except (KeyboardInterrupt, BrokenPipeError) as stop:
            raise _Stopped from stop


app = typer.Typer(
    cls=_Shell, add_completion=False, rich_markup_mode=None, pretty_exceptions_enable=False, no_args_is_help=True,
    context_settings={"help_option_names": ["-h", "--help"]},
)  # fmt: skip


@app.callback()
def _about(
    _version: Annotated[bool, typer.Option("--version", callback=version, is_eager=True, help="Show the version.")] = False,
) -> None:
    """From a pile of salvaged paper to a batch of stapled pocket notebooks.

    Say what is in the pile (sheet), what you want to make (notebook, ream), plan the cuts (plan), look at them
    (check, draw), cut at the bench and record it (cut). The stock book keeps count.
    """


app.add_typer(sheet.app, name="sheet")
notebook.app.command("paper")(measuring.paper)
notebook.app.command("limits")(limits.limits)
notebook.app.command("largest")(largest.largest)
notebook.app.command("folios")(folios.folios)
for made in (making.bill, making.cost, working.work, working.glue):
    notebook.app.command()(made)
notebook.app.command("survey")(survey.survey)
app.add_typer(notebook.app, name="notebook")
app.command("ream")(ream.ream)
app.command("plan")(planning.plan)
app.command("check")(checking.check)
app.command("draw")(drawing.draw)
app.command("cut")(cutting.cut)
app.command("undo")(cutting.undo)
app.add_typer(book.app, name="book")
app.command("demo")(demonstration.demo)


def status(arguments: Sequence[str]) -> int:
    """Run one command and return its exit code; what went wrong is said on stderr in a sentence."""
    try:
        code = typer.main.get_command(app).main(args=list(arguments), prog_name="quirestock", standalone_mode=False)
        if sys.stdout is not None:
            sys.stdout.flush()
        return code if isinstance(code, int) else DONE
    except _UsageError as error:
        error.show()
        if (getattr(error, "option_name", None) or "")[1:2].isdigit():  # -3 reads like an option
            say("A number below 0 cannot be given here.")
        return int(error.exit_code)
    except InputError as error:
        return _said(error, BAD_INPUT)
    except ImpossibleJob as error:
        return _said(error, IMPOSSIBLE)
    except StockChanged as error:
        return _said(error, CHANGED)
    except StorageError as error:
        return _said(error, STORAGE)
    except _Stopped as stop:
        return _closed_pipe() if isinstance(stop.__cause__, BrokenPipeError) else _said("Stopped.", INTERRUPTED)
    except BrokenPipeError:
        return _closed_pipe()
    except (KeyboardInterrupt, typer.Abort):
        return _said("Stopped.", INTERRUPTED)
    except OSError as error:
        where = f"{error.filename}: " if error.filename else ""
        _drop_what_cannot_be_written()
        return _said(f"{where}the file cannot be read or written ({error.strerror or error}).", STORAGE)


def _said(what: object, code: int) -> int:
    say(str(what))
    return code


def _closed_pipe() -> int:
    """The reader of our output has gone: nothing more to say, and no complaint when Python closes stdout."""
    _drop_what_cannot_be_written()
    return DONE


def _drop_what_cannot_be_written() -> None:
    """Let Python close stdout without a second complaint, where the first was ours."""
    try:
        sys.stdout.flush()
    except (OSError, ValueError):
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())


def run() -> None:
    """The console script."""
    for stream in (sys.stdout, sys.stderr):
        if hasattr(stream, "reconfigure"):
            stream.reconfigure(errors="replace")  # a terminal without block characters shows ? instead
    if hasattr(sys.stdin, "reconfigure"):
        sys.stdin.reconfigure(errors="strict")
    sys.exit(status(sys.argv[1:]))


if __name__ == "__main__":
    run()
