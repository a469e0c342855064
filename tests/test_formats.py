"""Formats: fields checked against each other, and format files read or refused with a sentence."""

from __future__ import annotations

import dataclasses
import json
import re
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from inventory.errors import StorageError
from inventory.formats import load
from nesting.errors import InputError
from nesting.lengths import TICKS_PER_MM, parse, ticks
from nesting.notebook.formats import Calipers, Dummy, Format, Grains, Staples, Trims
from tests.commands import run


@pytest.mark.parametrize(("fields", "match"), [
    ({"folios": 0}, "folios"), ({"folios": True}, "folios"), ({"folios": 10**9}, "folios"), ({"fold": "sqare"}, "square"),
    ({"wrap": "alwys"}, "always"), ({"fore_edge": 120}, "fore_edge"), ({"head": 200}, "head"), ({"slack": 500}, "slack"),
    ({"true_up": 200}, "true_up"), ({"grains": Grains(folio="spnie")}, "Did you mean spine"),
    ({"grains": Grains(cover=("spine", -1.0))}, "percent"), ({"cover_up": 101.0}, "percent"),  # type: ignore[arg-type]
    ({"folio_caliper": 10}, "caliper, folio"), ({"folio_caliper": 0}, "caliper, folio"), ({"trim": -1}, "trims"),
    ({"trim": "3"}, "trims"), ({"trim": float("nan")}, "trims"), ({"covers": 2}, "covers"), ({"unit": "cm"}, "unit"),
])  # fmt: skip
def test_wrong_formats_are_refused_by_field(fields: dict[str, object], match: str) -> None:
    with pytest.raises(InputError, match=match):
        Format.make("x", 105, 148, **fields)  # type: ignore[arg-type]


@pytest.mark.parametrize(("width", "height"), [(0, 148), (105, 0), (3000, 148), (-5, 148)])
def test_wrong_sizes_are_refused(width: float, height: float) -> None:
    with pytest.raises(InputError, match=r"width|height"):
        Format.make("x", width, height)


def test_a_format_is_a_frozen_value() -> None:
    fmt = Format.make("A6", 105, 148)
    assert fmt == Format.make("A6", "105 mm", "14.8 cm") and hash(fmt) == hash(Format.make("A6", 105, 148))
    with pytest.raises(dataclasses.FrozenInstanceError):
        fmt.folios = 3  # type: ignore[misc]


def write(folder: Path, text: str, name: str = "pocket.toml") -> Path:
    path = folder / name
    path.write_text(text, encoding="utf-8")
    return path


B2_FILE = """
unit = "in"
name = "pocket"
width = "3-1/2"
height = "5-1/4"
folios = 12
trim = 0.125
true_up = "1/16"
[trims]
head = "3/32"
tail = "3/32 in"
[caliper]
folio = "0.1 mm"
"""


def test_bench_story_b2_from_a_file(tmp_path: Path) -> None:
    # common practice, no source
    fmt = load(write(tmp_path, B2_FILE), "mm")
    assert fmt == Format.make("pocket", "3-1/2 in", "5-1/4 in", head="3/32 in", tail="3/32 in", fore_edge="1/8 in",
                              true_up="1/16 in", unit="in", folio_caliper=0.1, least_trim="1/32 in")  # fmt: skip
    folio = fmt.blanks(83)[2]
    assert (folio.width, folio.height, folio.quantity) == (parse("7-1/4 in"), parse("5-1/2 in"), 996)


EVERYTHING = """
unit = "mm"
size = "A6 landscape"
folios = 10
trim = 2
fold = "square"
wrap = "always"
slack = 1.5
true_up = 1
true_up_for = "card"
creep_room = true
least_trim = 0.5
print_up = "hard"
covers = 1
cards = 1
trims = { fore_edge = 4 }
caliper = { cover = 0.12, glue = 0.02, card = 0.3 }
grammage = { folio = "20 lb bond" }
grain = { cover = "spine", card = "off", folio = "across" }
"""


def test_every_key(tmp_path: Path) -> None:
    fmt = load(write(tmp_path, EVERYTHING))
    t = TICKS_PER_MM
    assert fmt == Format(
        "pocket", 148 * t, 105 * t, 10, Trims(2 * t, 2 * t, 4 * t), Calipers(752, 2400, 960, 160), "square", "always",
        3 * t // 2, t, ("card",), True, t // 2, Grains("spine", "off", "across"), True, 1, 1, "mm", fmt.folio_grammage,
        ("folio",))  # fmt: skip
    assert fmt.folio_grammage == pytest.approx(75.2, rel=1e-3)  # printwiki; x bulk 1.25 = 0.094 mm = 752 ticks


THE_REST = """
unit = "mm"
size = "A6"
folios = 12
corner = 6.35
staple_at = [30, 74, 118]
turn_in = 15
flap = 60
[caliper]
folio = "10 sheets 1.02 mm"
card = "12 pt"
[grammage]
card = 255
[bulk]
cover = 0.95
folio = 1.25
[dummy]
thickness = 3.1
creep = "1.9 mm"
height = 146
"""


def test_every_other_key(tmp_path: Path) -> None:
    fmt = load(write(tmp_path, THE_REST.replace("cover = 0.95", "")))
    t = TICKS_PER_MM
    assert (fmt.corner, fmt.turn_in, fmt.flap) == (50800, 15 * t, 60 * t)
    assert fmt.staples == Staples(3, (30 * t, 74 * t, 118 * t))
    assert fmt.dummy == Dummy(24800, 15200, 146 * t) and fmt.finished_height == 146 * t
    assert fmt.calipers == Calipers(816, round(12 * 203.2)) and fmt.estimated == ()
    assert (fmt.card_grammage, fmt.cover_grammage) == (255, None)
    assert fmt.folio_grammage == pytest.approx(81.6)  # 0.102 mm of bulk 1.25
    with pytest.raises(InputError, match=r"cover: .*bulk 0.95 alone"):
        load(write(tmp_path, THE_REST))


def test_named_sizes_take_the_workshops_unit_and_defaults() -> None:
    assert load("A6") == Format.make("A6", 105, 148)
    assert load("half-letter", "in") == Format.make("half letter", "5-1/2 in", "8-1/2 in", trim="1/8 in", unit="in",
                                                    least_trim="1/32 in")  # fmt: skip
    given = {"folios": 8, "trim": "2 mm", "trims": {"head": 5}, "caliper": {"card": 0.3}, "grain": {"cover": "spine"}}
    assert load("jis b6", "mm", given) == Format.make("JIS B6", 128, 182, 8, trim=2, head=5, card_caliper=0.3,
                                                      grains=Grains(cover="spine"))  # fmt: skip


@pytest.mark.parametrize(("cover", "rule"), [("spine, 2 %", ("spine", 2.0)), ("across,0.5%", ("across", 0.5)), ("off", "off"),
                                             ("spine", "spine"), ("spine , 12,5 %", ("spine", 12.5))])  # fmt: skip
def test_a_grain_rule_may_have_a_price(tmp_path: Path, cover: str, rule: object) -> None:
    assert load(write(tmp_path, f'size = "A6"\nfolios = 12\n[grain]\ncover = "{cover}"')).grains == Grains(cover=rule)


@pytest.mark.parametrize(("text", "rule"), [("off", False), ("hard", True), ("5 %", 5.0), ("1%", 1.0)])
def test_a_print_rule_may_have_a_price(tmp_path: Path, text: str, rule: object) -> None:
    made = load(write(tmp_path, f'size = "A6"\nfolios = 12\nprint_up = "{text}"'))
    assert made.cover_up == rule and isinstance(made.cover_up, bool) == isinstance(rule, bool)


def test_a_file_comes_before_the_defaults(tmp_path: Path) -> None:
    given = {"folios": 8, "trims": {"head": 5}, "caliper": {"folio": 0.2, "card": 0.3}, "slack": "1/16 in"}
    path = write(tmp_path, 'unit = "mm"\nsize = "A6"\ntrim = 4\ngrammage = { folio = 80 }')
    fmt = load(str(path), "in", {**given, "trims": {"head": "5 mm"}, "caliper": {"folio": "0.2 mm", "card": "0.3 mm"}})
    assert fmt.folios == 8 and fmt.trims == Trims(*[4 * TICKS_PER_MM] * 3) and fmt.slack == parse("1/16 in")
    # The file's grammage replaces the workshop's measured caliper of another paper.
    assert fmt.calipers == Calipers(800, 2400) and fmt.estimated == ("folio",)


def test_bare_numbers_of_a_file_without_unit_are_the_workshops(tmp_path: Path) -> None:
    path = write(tmp_path, "width = 3.5\nheight = 5.5\nfolios = 12")
    assert load(path, "in").width == parse("3-1/2 in")
    with pytest.raises(InputError, match=r"pocket.toml, width.*unit"):
        load(path)


@pytest.mark.parametrize(("text", "match"), [
    ('size = "A6"\nfolios = 12\nfore-edge = 3', r"Did you mean fore_edge in \[trims\]"),
    ('size = "A6"\nfolois = 12', "Did you mean folios"),
    ('size = "A6"\nfolios = 12\n[grain]\nfolio = "spnie"', "Did you mean spine"),
    ('size = "A6"\nfolios = 12\n[grain]\nfollio = "spine"', "Did you mean folio"),
    ('size = "A6"\nfolios = 12\n[trims]\nforeedge = "3 mm"', "Did you mean fore_edge"),
    ('size = "A6"\nfolios = 12\nfold = "rund"', "Did you mean round"),
    ('size = "A66"\nfolios = 12', "Did you mean A6"),
    ('size = "A6"\nfolios = 0', "at least one folio"),
    ('size = "A6"\nfolios = 12.5', "folios.*whole number"),
    ('size = "A6"\nfolios = true', "folios.*whole number"),
    ('size = "A6"', "folios = 12"),
    ('size = "A6"\nwidth = "3 mm"\nfolios = 12', "either size, or width and height"),
    ('width = "90 mm"\nfolios = 12', "height"),
    ("folios = 12", "finished size"),
    ('size = 6\nfolios = 12', "standard size"),
    ('size = "A6"\nfolios = 12\ntrim = 3', "trim.*unit"),
    ('unit = "mm"\nsize = "A6"\nfolios = 12\ntrim = -3', "trim"),
    ('unit = "mm"\nsize = "A6"\nfolios = 12\ntrim = inf', "trim"),
    ('unit = "mm"\nsize = "A6"\nfolios = 12\ntrim = true', "trim"),
    ('unit = "mm"\nsize = "A6"\nfolios = 12\ntrim = "1,234"', "thousands"),
    ('unit = "mm"\nsize = "A6"\nfolios = 12\ntrim = 200', "finished"),
    ('unit = "cm"\nsize = "A6"\nfolios = 12', "mm or in"),
    ('size = "A6"\nfolios = 12\ntrims = 3', r"a table \[trims\]"),
    ('size = "A6"\nfolios = 12\ncreep_room = "yes"', "true or false"),
    ('size = "A6"\nfolios = 12\nwrap = true', "measure ten sheets"),
    ('size = "A6"\nfolios = 12\nprint_up = "hrad"', "Did you mean hard"),
    ('size = "A6"\nfolios = 12\nprint_up = "500 %"', "at most 100 %"),
    ('size = "A6"\nfolios = 12\nprint_up = 5', "off or hard"),
    ('size = "A6"\nfolios = 12\n[grain]\ncover = "spine, 2"', "a price such as 2 %"),
    ('size = "A6"\nfolios = 12\n[grain]\ncover = "off, 2 %"', "off alone"),
    ('size = "A6"\nfolios = 12\n[grain]\ncover = "spnie, 2 %"', "Did you mean spine"),
    ('size = "A6"\nfolios = 12\ntrue_up_for = ["crad"]', "Did you mean card"),
    ('size = "A6"\nfolios = 12\ntrue_up_for = 3', "list"),
    ('size = "A6"\nfolios = 12\ngrammage = { folio = "20 lb" }', "kind of paper"),
    ('size = "A6"\nfolios = 12\nname = 6', "name"),
    ('size = "A6"\nfolios = 12\nname = ""', "name"),
    ("size = A6", "quotes"),
    ('size = "A6"\nfolios = 12\ncaliper.folio = "0.2 mm"\ngrammage.folio = 80\nbulk.folio = 1.25', "agree with bulk 2.50"),
    ('size = "A6"\nfolios = 12\n[bulk]\nfolio = 1.25', "bulk 1.25 alone"),
    ('size = "A6"\nfolios = 12\n[bulk]\nfolio = "thick"', "a number of cm3/g"),
    ('size = "A6"\nfolios = 12\ncorner = "60 mm"', "half the finished width"),
    ('size = "A6"\nfolios = 12\nstaples = 3\nstaple_at = ["30 mm", "90 mm"]', "3 places"),
    ('size = "A6"\nfolios = 12\nstaple_at = ["90 mm", "30 mm"]', "in order"),
    ('size = "A6"\nfolios = 12\nstaple_at = ["30 mm", "150 mm"]', "less than 148 mm"),
    ('size = "A6"\nfolios = 12\nstaple_at = "37 mm"', "places from the head"),
    ('size = "A6"\nfolios = 12\nstaples = -1', "staples"),
    ('size = "A6"\nfolios = 12\nflap = "200 mm"', "flap"),
    ('size = "A6"\nfolios = 12\n[dummy]\nheigth = "140 mm"', "Did you mean height"),
    ('size = "A6"\nfolios = 12\n[dummy]\nthickness = "200 mm"', "right unit"),
    ('size = "A6"\nfolios = 12\n[dummy]\nheight = "0 mm"', "dummy, height"),
    ("\n \n", "empty file"),
    ("", "empty file"),
])  # fmt: skip
def test_wrong_files_end_with_a_sentence(tmp_path: Path, text: str, match: str) -> None:
    with pytest.raises(InputError, match=match) as caught:
        load(write(tmp_path, text))
    assert "\n" not in str(caught.value) and len(str(caught.value)) < 400


def test_files_that_cannot_be_read(tmp_path: Path) -> None:
    write(tmp_path, "folios = 12", "poket.toml")
    with pytest.raises(InputError, match=r"Did you mean poket.toml"):
        load(tmp_path / "pocket.toml")
    with pytest.raises(InputError, match="a folder"):
        load(tmp_path)
    (tmp_path / "latin.toml").write_bytes('name = "Caf\xe9"'.encode("latin-1"))
    with pytest.raises(InputError, match="UTF-8"):
        load(tmp_path / "latin.toml")
    with pytest.raises(StorageError, match="cannot be read"):
        load("x" * 5000 + ".toml")
    with pytest.raises(InputError, match="format file"):
        load("nul\0.toml")


def test_names_that_are_no_size() -> None:
    with pytest.raises(InputError, match=r"Did you mean A6\?"):
        load("A66")
    with pytest.raises(InputError, match="format"):
        load("")
    with pytest.raises(InputError, match=r"defaults.*Did you mean trim"):
        load("A6", "mm", {"triim": 3})
    with pytest.raises(InputError, match="known keys"):
        load("A6", "mm", {"size": "A5"})


KEYS = ["folios", "trim", "bulk", "dummy", "staples", "staple_at", "corner", "turn_in", "flap",
        "trims", "caliper", "grain", "grammage", "wrap", "fold", "slack", "true_up", "true_up_for", "print_up",
        "creep_room", "covers", "cards", "size", "least_trim"]  # fmt: skip
WORDS = st.sampled_from(["", "round", "spine", "card", "3 mm", "80 g", "3", "always", "1/0", "-1 in"])
PARTS = st.sampled_from(["head", "folio", "card", "glue", "thickness", "creep", "height", "x"])
INNER = st.dictionaries(PARTS, st.one_of(WORDS, st.integers(-9, 999)), max_size=2)
ANY = st.one_of(WORDS, st.integers(), st.floats(), st.booleans(), st.none(), st.lists(WORDS, max_size=2), INNER)


@settings(suppress_health_check=[HealthCheck.too_slow], deadline=None)
@given(st.dictionaries(st.sampled_from(KEYS), ANY, max_size=4))
def test_any_defaults_give_a_format_or_a_sentence(values: dict[str, object]) -> None:
    try:
        fmt = load("A6", "mm", values)
    except InputError as error:
        assert str(error)
    else:
        assert fmt.blanks(1)


@pytest.fixture
def bench(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A workshop in inches, as the current folder."""
    monkeypatch.delenv("QUIRESTOCK_BOOK", raising=False)
    monkeypatch.chdir(tmp_path)
    write(tmp_path, '[bench]\nunit = "in"\n[allowances.caliper]\nfolio = "0.1 mm"\ncard = "0.3 mm"\ncover = "0.12 mm"\n'
                    'glue = "0.02 mm"\n', "workshop.toml")  # fmt: skip
    return tmp_path


def test_blanks_command_shows_each_allowance_and_sums(bench: Path, capsys: pytest.CaptureFixture[str]) -> None:
    # bench story B2: common practice, no source
    write(bench, B2_FILE, "b2.toml")
    assert run("notebook", "blanks", "b2.toml", "--books", "83") == 0
    out = capsys.readouterr().out
    assert "folio: 7-1/4 x 5-1/2 in, 996 for 83 books, grain along the spine" in out
    assert "folio: cut at 5-1/2 in, then true up at 5-7/16 in." in out
    block = out.split("folio: 7-1/4")[1].split("\n\n")[0]
    found = re.findall(r"^ +(width|height|=)? *([-/\d]+ in)", block, re.MULTILINE)
    totals = [parse(text) for mark, text in found if mark == "="]
    starts = [i for i, (mark, _) in enumerate(found) if mark in ("width", "height")]
    ends = [i for i, (mark, _) in enumerate(found) if mark == "="]
    sums = [sum(parse(text) for _, text in found[a:b]) for a, b in zip(starts, ends, strict=True)]
    assert sums == totals == [parse("7-1/4 in"), parse("5-1/2 in")]


def test_blanks_command_as_json_sums_in_ticks(bench: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert run("notebook", "blanks", "A6", "--books", "40", "--json", "--unit", "mm") == 0
    document = json.loads(capsys.readouterr().out)
    assert document["format"]["stitch_grip"] == 1.64 and document["format"]["closed"] == 3.28  # bench story B6
    assert [(b["name"], b["quantity"]) for b in document["blanks"]] == [("A6 cover", 40), ("A6 card", 40), ("A6 folio", 480)]
    for blank in document["blanks"]:
        for side in ("width", "height"):
            lines = blank[f"{side}_lines"]
            assert sum(ticks(line["mm"]) for line in lines) == ticks(blank[side])
            assert all(line["source"] for line in lines)


def test_blanks_command_of_the_named_a6_in_mm(tmp_path: Path, monkeypatch: pytest.MonkeyPatch,
                                             capsys: pytest.CaptureFixture[str]) -> None:  # fmt: skip
    monkeypatch.chdir(tmp_path)  # no workshop.toml
    assert run("notebook", "blanks", "A6") == 0
    assert capsys.readouterr().out.count(": 216 x 154 mm") == 3  # T34


@pytest.mark.parametrize(("arguments", "said"), [
    (("A66",), "Did you mean A6?"), (("A6", "--books", "0"), "books"), (("A6", "--books", "1000000000"), "books"),
    (("A6", "--unit", "cm"), "mm or in"), (("none.toml",), "none.toml"), ((".",), "folder"),
])  # fmt: skip
def test_blanks_command_wrong_input_is_a_sentence(bench: Path, capsys: pytest.CaptureFixture[str], arguments: tuple[str, ...],
                                                  said: str) -> None:  # fmt: skip
    assert run("notebook", "blanks", *arguments) == 3
    shown = capsys.readouterr()
    assert said in shown.err and "Traceback" not in shown.err and not shown.out


def test_a_bare_length_needs_a_unit_somewhere(tmp_path: Path, monkeypatch: pytest.MonkeyPatch,
                                              capsys: pytest.CaptureFixture[str]) -> None:  # fmt: skip
    monkeypatch.chdir(tmp_path)
    write(tmp_path, 'width = "8 1/2"\nheight = 11\nfolios = 12', "bare.toml")
    assert run("notebook", "blanks", "bare.toml") == 3
    assert "unit" in capsys.readouterr().err


def test_the_example_in_the_description_loads(tmp_path: Path) -> None:
    import textwrap

    import inventory.formats

    example = (inventory.formats.__doc__ or "").split("sets `unit`:\n")[1]
    fmt = load(write(tmp_path, textwrap.dedent(example)))
    assert (fmt.name, fmt.trims.head, fmt.trims.tail, fmt.calipers.folio) == ("pocket", parse("3/32 in"), parse("1/8 in"), 800)


@pytest.mark.parametrize("name", ["nesting.notebook.sizes", "nesting.notebook.paper", "nesting.notebook.folding",
                                  "nesting.notebook.formats", "nesting.notebook.reams", "inventory.formats",
                                  "nesting.notebook.parts", "nesting.notebook.measures", "nesting.notebook.labels",
                                  "nesting.notebook.scoring", "nesting.notebook.weighing", "nesting.notebook.stapling",
                                  "nesting.notebook.limits", "nesting.notebook.corners", "nesting.notebook.trimming",
                                  "nesting.notebook.largest"])  # fmt: skip
def test_examples_in_the_text_run(name: str) -> None:
    import doctest
    from importlib import import_module

    found = doctest.testmod(import_module(name))
    assert found.attempted > 0 and found.failed == 0
