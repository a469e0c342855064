"""`quirestock notebook paper`, `limits`, `largest`: what a maker reads, and what is refused."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from inventory.command.main import status
from inventory.workshop import Workshop, write_default
from nesting.errors import InputError
from nesting.lengths import TICKS_PER_MM as T
from nesting.notebook.stapling import Stapler


@pytest.fixture
def bench(tmp_path, monkeypatch):
    """A folder without a workshop.toml, as the current one."""
    monkeypatch.delenv("QUIRESTOCK_BOOK", raising=False)
    monkeypatch.chdir(tmp_path)
    return tmp_path


def test_paper_from_label_and_ten_sheets(bench, capsys):
    assert status(["notebook", "paper", "11M x 17 in", "--grammage", "20 lb bond", "--caliper", "10 sheets 0.97 mm"]) == 0
    out = capsys.readouterr().out
    assert "grain   short: in the stock book, grain across" in out
    assert "weight  75.2 g/m2\ncaliper 0.097 mm\nbulk    1.29 cm3/g" in out
    # half of 17 x 22, the basis size of bond: half of 20 lb
    assert "a ream of 500 4.54 kg" in out and "not measured" not in out


def test_an_assumed_bulk_is_said(bench, capsys):
    assert status(["notebook", "paper", "--grammage", "255", "--for", "card"]) == 0
    out = capsys.readouterr().out
    assert "caliper 0.293 mm" in out and "usual one and was not measured: measure ten sheets" in out and "score it first" in out
    assert status(["notebook", "paper", "--grammage", "255", "--for", "card", "--json"]) == 0
    assert json.loads(capsys.readouterr().out)["paper"]["bulk_assumed"] is True


def test_an_underline_is_asked(bench, capsys):
    assert status(["notebook", "paper", "17 x _22_ in"]) == 0
    out = capsys.readouterr().out
    assert "grain   not known\nASK: An underlined figure" in out


@pytest.mark.parametrize(("words", "said"), [
    (["paper"], "a label"), (["paper", "17 x 22"], "unit"), (["paper", "--grammage", "80", "--caliper", "1 mm"], "right unit"),
    (["paper", "--grammage", "80", "--caliper", "0.2 mm", "--bulk", "1.25"], "agree with bulk 2.50"),
    (["paper", "--grammage", "20 lb"], "kind of paper"), (["paper", "--grammage", "80", "--for", "crad"], "Did you mean card"),
    (["limits", "A6", "--books", "3"], "caliper"), (["limits", "A6", "--shortest", "141 mm"], "--books"),
    (["largest", "A6", "A44"], "Did you mean"), (["limits", "A66"], "Did you mean A6"),
])  # fmt: skip
def test_wrong_input_is_a_sentence(bench, capsys, words, said):
    assert status(["notebook", *words]) == 3
    shown = capsys.readouterr()
    assert said in shown.err and "Traceback" not in shown.err and not shown.out


def test_largest_says_what_the_paper_gives(bench, capsys):
    assert status(["notebook", "largest", "A6", "SRA2 grain long"]) == 0
    out = capsys.readouterr().out
    assert "As large as the paper gives: 109.5 x 154 mm, 8 a sheet" in out and "109.5 x 154 mm    8        2 x 4   333" in out
    assert status(["notebook", "largest", "A6", "SRA2", "--json"]) == 0
    shown = capsys.readouterr()
    assert not shown.err
    found = json.loads(shown.out)
    assert found["as_large_as_the_paper_gives"]["waste"] == 0 and found["grain"] is None
    assert status(["notebook", "largest", "A6", "A7"]) == 4


def test_limits_print_the_range_of_the_fold(bench, capsys):
    text = 'unit = "mm"\nname = "b"\nwidth = 90\nheight = 140\nfolios = 12\n'
    calipers = "caliper = { folio = 0.10, card = 0.27, cover = 0.02 }\n"
    (bench / "b.toml").write_text(text + calipers)
    assert status(["notebook", "limits", "b.toml", "--json"]) == 0
    found = json.loads(capsys.readouterr().out)
    # a shell of 0.29 and 12 x 0.100: T29 and T53
    assert list(found["creep"].values()) == pytest.approx([1.295, 2.0342, 2.590], abs=1e-3)
    assert list(found["wrap"].values()) == pytest.approx([0, 1.245, 2.400], abs=1e-3)
    assert status(["notebook", "limits", "b.toml"]) == 0
    out = capsys.readouterr().out
    assert "creep            ~1.3 mm to ~2.6 mm, by a round fold ~2 mm" in out
    (bench / "b.toml").write_text(text + calipers + "dummy = { creep = 1.5, thickness = 2.9 }\n")
    assert status(["notebook", "limits", "b.toml"]) == 0
    out = capsys.readouterr().out
    assert "by the dummy 1.5 mm" in out and "2.9 mm thick, measured on the dummy" in out


def test_stapler_of_the_workshop(tmp_path: Path) -> None:
    text = '[bench]\nunit = "mm"\n[stapler]\nlegs = ["24/6", 8]\nthroat = 250\nclinch = "2.5 mm"\n'
    (tmp_path / "workshop.toml").write_text(text)
    assert Workshop.load(tmp_path).stapler == Stapler((round(5.8 * T), 8 * T), 250 * T, round(2.5 * T))
    (tmp_path / "workshop.toml").write_text('[bench]\nunit = "mm"\n')
    assert Workshop.load(tmp_path).stapler == Stapler()


def test_the_default_workshops_stapler_loads(tmp_path: Path) -> None:
    path = write_default(tmp_path, "in")
    path.write_text(path.read_text().replace("# legs", "legs").replace("# throat", "throat"))
    assert Workshop.load(tmp_path).stapler == Stapler((round(5.8 * T),), 12 * 203_200)


@pytest.mark.parametrize(("line", "match"), [
    ("leg = 6", 'Did you mean "legs"'), ('legs = ["long"]', "stapler.*legs"), ("throat = 0", "above 0"),
    ("legs = [90]", "1 to 40 mm"),
])  # fmt: skip
def test_a_wrong_stapler_is_refused(tmp_path: Path, line: str, match: str) -> None:
    (tmp_path / "workshop.toml").write_text(f'[bench]\nunit = "mm"\n[stapler]\n{line}\n')
    with pytest.raises(InputError, match=match):
        Workshop.load(tmp_path)
