"""`quirestock check`: whether a plan is sound."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from .common import FAULTS, JsonOption, emit, emit_json, read_plan, some


def check(
    plan: Annotated[Path, typer.Argument(metavar="PLAN", help="A plan that `quirestock plan` wrote.")],
    json: JsonOption = False,
) -> None:
    """Check a plan: every piece, cut, count and area. Exit code 1 where faults are found."""
    from nesting import check as faults_of

    found = read_plan(plan)
    faults = faults_of(found)
    if json:
        emit_json({"sound": not faults, "faults": [{"code": f.code, "where": f.where, "text": f.text} for f in faults]})
    else:
        for fault in faults:
            emit(f"{fault.where}: {fault.text}")
        made, sheets = sum(found.made().values()), sum(found.sheets_used().values())
        sound = f"Sound: {some(made, 'piece')} from {some(sheets, 'sheet')}, {some(len(found.layouts), 'layout')}."
        emit(f"{some(len(faults), 'fault')}." if faults else sound)
    if faults:
        raise typer.Exit(FAULTS)
