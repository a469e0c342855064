"""Ctrl-C after the search: the plan is written first, whatever it falls into."""

from __future__ import annotations

import json
import os
import signal

import pytest

import nesting
from inventory.command.main import status

JOB = 'name = "two"\nseconds = 20\nmaterials = ["cover"]\n[[books]]\nformat = "A6"\nwanted = 2\n'


@pytest.fixture
def planned(tmp_path, monkeypatch, capsys):
    """A workshop with one sheet and a job; runs `plan` and gives (exit code, the plan or None, stdout, stderr)."""
    monkeypatch.chdir(tmp_path)
    monkeypatch.delenv("QUIRESTOCK_BOOK", raising=False)
    (tmp_path / "workshop.toml").write_text('[bench]\nunit = "mm"\n')
    (tmp_path / "job.toml").write_text(JOB)
    assert status(["sheet", "add", "1: 500 x 400; true all", "--material", "cover", "--yes"]) == 0

    def run(*more):
        capsys.readouterr()
        code = status(["plan", "job.toml", *more])
        out, err = capsys.readouterr()
        path = tmp_path / "job-plan" / "plan.json"
        return code, nesting.Plan.from_dict(json.loads(path.read_text())) if path.exists() else None, out, err

    return run


def interrupting(monkeypatch, owner, name):
    """The function does its work, and Ctrl-C is pressed within it."""
    own = getattr(owner, name)

    def pressed(*arguments, **more):
        os.kill(os.getpid(), signal.SIGINT)
        return own(*arguments, **more)

    monkeypatch.setattr(owner, name, pressed)


def test_while_the_plan_is_made_checked_stamped_and_written(planned, monkeypatch):
    from inventory import files
    from inventory.book import Book
    from nesting.search.pile import planning

    for owner, name in ((planning, "dealt_layouts"), (nesting, "check"), (Book, "stamp"), (files, "write_whole")):
        with monkeypatch.context() as patch:
            interrupting(patch, owner, name)
            code, plan, out, err = planned()
        assert code == 130 and plan is not None and plan.made() == {"A6 cover": 2} and nesting.check(plan) == (), name
        assert "2 A6 cover" in out and "not drawn:  quirestock draw job-plan/plan.json" in err
        os.remove("job-plan/plan.json")
    assert signal.getsignal(signal.SIGINT) is signal.default_int_handler
    assert planned()[0] == 0 and os.path.exists("job-plan/plan.pdf")


def test_while_it_is_explained_or_drawn(planned, monkeypatch):
    from nesting import explaining
    from nesting.draw import diagrams

    with monkeypatch.context() as patch:
        interrupting(patch, diagrams, "plan_pages")
        code, plan, _, err = planned()
    assert code == 130 and plan is not None and "not drawn" in err and not os.path.exists("job-plan/plan.pdf")
    interrupting(monkeypatch, explaining, "explain")
    code, plan, _, err = planned()
    assert code == 0 and plan is not None and "the reasons are left out" in err and os.path.exists("job-plan/plan.pdf")
