"""Which sheets still give a blank, and what they lose by it: against every place tried, and in words at the command."""

from __future__ import annotations

import json
import random

import pytest

import nesting
from nesting.errors import InputError
from nesting.search.fitting import fitting
from tests.brute import best_around_fixed, best_with_damage


def test_what_is_lost_agrees_with_every_place_tried():
    """Tiny damaged sheets: never less lost than by brute force, nine times in ten just that."""
    rng, same, tried = random.Random(8), 0, 0
    for _ in range(25):
        width, height = rng.randint(5, 8), rng.randint(5, 8)
        x, y = rng.randint(0, width - 2), rng.randint(0, height - 2)
        bad = [(x, y, x + rng.randint(1, 2), y + 1)] if rng.random() < 0.7 else []
        w, h = rng.randint(2, 4), rng.randint(2, 3)
        kinds = [(rng.randint(1, 4), rng.randint(2, 4), rng.randint(2, 7)) for _ in range(rng.randint(1, 2))]
        sheet = nesting.Sheet.from_mm("s", [(0, 0), (width, 0), (width, height), (0, height)],
                                      bad=[[(a, b), (c, b), (c, d), (a, d)] for a, b, c, d in bad])  # fmt: skip
        in_use = [nesting.Blank(f"k{i}", a, b, turns=(0,), worth=v) for i, (a, b, v) in enumerate(kinds)]
        found = fitting([sheet], nesting.Blank("own", w, h, turns=(0,)), in_use, seconds=20)
        rests = [best_around_fixed(width, height, bad, kinds, [(at, up, at + w, up + h)])
                 for at in range(width - w + 1) for up in range(height - h + 1)
                 if not any(a < at + w and c > at and b < up + h and d > up for a, b, c, d in bad)]  # fmt: skip
        if not rests:
            assert found.giving == () and found.most == 0
            continue
        assert found.giving[0].gives == best_with_damage(width, height, bad, [(w, h, 1)])
        lost = best_with_damage(width, height, bad, kinds) - max(rests)
        assert found.giving[0].lost >= lost
        tried, same = tried + 1, same + (found.giving[0].lost == lost)
    assert tried > 15 and same >= 0.9 * tried


def test_least_spoiled_first():
    """A strip that gives no format loses nothing; then the sheet that loses the cheaper one; ties by size, then by id."""
    sheets = [nesting.Sheet.rectangle("big", 300, 200), nesting.Sheet.rectangle("mid", 210, 110),
              nesting.Sheet.rectangle("b2", 120, 60), nesting.Sheet.rectangle("a2", 120, 60),
              nesting.Sheet.rectangle("no", 99, 40), nesting.Sheet.rectangle("strip", 160, 55)]  # fmt: skip
    found = fitting(sheets, nesting.Blank("own", 100, 50), [nesting.Blank("A", 100, 100), nesting.Blank("B", 60, 60, worth=100)])
    assert [g.sheet for g in found.giving] == ["strip", "a2", "b2", "mid", "big"] and found.looked_at == 6
    # beside it on mid one A is lost and one B had: it is 110 high
    assert [g.lost for g in found.giving] == [0, 200, 200, 9_900, 10_000]
    strip, first = found.giving[0], found.giving[1]
    assert strip.now == strip.then == (("A", 0), ("B", 0)) and strip.gives == 1
    assert (first.now, first.then, first.lost) == ((("A", 0), ("B", 2)), (("A", 0), ("B", 0)), 200)
    alone = fitting(sheets, nesting.Blank("own", 100, 50))
    assert [g.sheet for g in alone.giving] == ["a2", "b2", "strip", "mid", "big"]
    assert [(g.gives, g.now, g.then) for g in alone.giving][-1] == (12, (("own", 12),), (("own", 11),))


def test_several_from_one_sheet():
    sheets = [nesting.Sheet.rectangle("big", 300, 200), nesting.Sheet.rectangle("small", 100, 110)]
    found = fitting(sheets, nesting.Blank("own", 100, 50, 3), [nesting.Blank("A", 100, 100)])
    assert [(g.sheet, g.gives) for g in found.giving] == [("big", 12)] and found.most == 12
    assert found.giving[0].now == (("A", 6),) and found.giving[0].then == (("A", 4),)


def test_what_cannot_be_asked():
    sheet, blank = nesting.Sheet.rectangle("s", 300, 200), nesting.Blank("own", 100, 50)
    for change in ({"seconds": 0}, {"sheets": []}, {"in_use": [nesting.Blank("own", 9, 9)]},
                   {"in_use": [nesting.Blank("k", 9, 9, 2)]},
                   {"frames": "all"}):  # fmt: skip
        with pytest.raises(InputError):
            fitting(**({"sheets": [sheet], "blank": blank} | change))


@pytest.fixture
def pile(bench, tmp_path):
    """A workshop with three sheets, and a way to run a command in it: (exit code, stdout)."""
    (tmp_path / "workshop.toml").write_text('[bench]\nunit = "mm"\n[cutter]\nsquare_up = "3 mm"\n')

    def run(*words):
        return bench(*words)[:2]

    run.folder = tmp_path
    lines = ["1: 420 x 297; true all", "2: 230 x 160; true all", "3: 210 x 148; true all"]
    assert run("sheet", "add", "--material", "cover", *lines, "--yes")[0] == 0
    return run


def test_the_command_lists_them(pile):
    code, out = pile("sheet", "fits", "216", "154")
    lines = out.splitlines()
    assert code == 0 and lines[0] == "216 mm x 154 mm: 2 sheets, least spoiled first."
    assert [line.split() for line in lines[3:]] == [["2", "230", "mm", "160", "mm", "1", "1", "of", "1"],
                                                    ["1", "420", "mm", "297", "mm", "2", "1", "of", "2"]]  # fmt: skip
    code, out = pile("sheet", "fits", "A6", "--in-use", "A6", "--in-use", "A7", "--json")
    told = json.loads(out)
    assert code == 0 and told["looked_at"] == told["of"] == 3 and told["reason"] is None
    assert [s["id"] for s in told["sheets"]] == ["2", "1"] and set(told["sheets"][0]["now"]) >= {"A6 cover", "A7 cover"}
    code, out = pile("sheet", "fits", "154", "x", "216", "--no-turn", "--in-use", "A6")
    assert code == 0 and "1 A6 cover" in out and [line.split()[0] for line in out.splitlines()[3:]] == ["1"]


def test_the_command_says_what_is_nearest(pile):
    code, out = pile("sheet", "fits", "300", "310")
    assert code == 4 and "no sheet gives it" in out and "too long for the nearest, 1" in out
    assert "420 mm x 297 mm would fit there" in out
    code, out = pile("sheet", "fits", "216", "154", "--count", "3")
    assert code == 4 and "no sheet gives 3; the most that one gives is 2" in out
    told = json.loads(pile("sheet", "fits", "300", "310", "--json")[1])
    assert told["sheets"] == [] and "nearest" in told["reason"]


@pytest.mark.parametrize("arguments", [
    ("216",), ("A99",), ("216", "-"), ("1", "2", "3"), ("216", "154", "--in-use", "A99"), ("216", "154", "--material", "wood"),
    ("216", "154", "--seconds", "0"), ("216", "154", "--material", "folio"), ("0", "154")])  # fmt: skip
def test_the_command_names_what_is_wrong(pile, arguments):
    assert pile("sheet", "fits", *arguments)[0] == 3


def test_a_chosen_piece_in_a_job(pile):
    """A picture on the front of one cover, and the sheet beside it planned for the rest; the book is cut as planned."""
    job = '[[books]]\nformat = "A6"\nwanted = 2\n[[fixed]]\nsheet = 1\nblank = "A6 cover"\nat = [%s, "100 mm"]\nturn = %s\n'
    (pile.folder / "job.toml").write_text('materials = ["cover"]\n' + job % ("77.5", 0))
    code, out = pile("plan", "job.toml", "--no-draw")
    assert code == 0 and "2 A6 cover" in out
    plan = json.loads((pile.folder / "job-plan" / "plan.json").read_text())
    assert plan["fixed"] == [{"sheet": "1", "blank": "A6 cover", "at": [77.5, 100], "turn": 0, "angle": 0.0}]
    assert [77.5, 100] in [p["corners"][0] for x in plan["layouts"] if x["sheet"] == "1" for p in x["pieces"]]
    assert {x["sheet"] for x in plan["layouts"]} == {"1", "2"}
    assert pile("check", "job-plan/plan.json")[0] == 0 and pile("cut", "job-plan/plan.json")[0] == 0
    for wrong in (job % ('"x"', 0), job % ("77.5", 45), job % ("300", 0), (job % ("77.5", 0)).replace("A6 cover", "cover"),
                  (job % ("77.5", 0)).replace("sheet = 1", 'sheet = "9"'), (job % ("77.5", 0)) + 'colour = "red"\n',
                  (job % ("77.5", 0)).replace("[[fixed]]", "[fixed]")):  # fmt: skip
        (pile.folder / "job.toml").write_text('materials = ["cover"]\n' + wrong)
        assert pile("plan", "job.toml", "--no-draw")[0] == 3, wrong
