"""Money, overs, bill and cost sheet: the one that README works by hand to the cent, through the commands."""

from __future__ import annotations

import json
from decimal import Decimal
from fractions import Fraction
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from inventory.jobs import read_job
from inventory.workshop import Workshop
from nesting.errors import InputError
from nesting.notebook.costs import Consumable, Pieces, Rates, cost_sheet
from nesting.notebook.formats import Format
from nesting.notebook.money import amount, coins
from nesting.notebook.stages import USUAL, Overs, Run
from tests.worked import JOB, WORKSHOP, paper, worked

A6 = Format.make("A6", 105, 148)


# Money


@pytest.mark.parametrize(("text", "currency", "value"), [
    (0.35, "EUR", "35/100"), ("4.90 EUR", "EUR", "49/10"), ("EUR 4.90", "EUR", "49/10"), ("€12", "€", "12"), (0.1, "EUR", "1/10"),
    (1e-7, "EUR", "1/10000000"), (Decimal("2.50"), "EUR", "5/2"), (3, "EUR", "3")])  # fmt: skip
def test_amounts_are_exact(text: object, currency: str, value: str) -> None:
    assert amount(text, currency) == Fraction(value)


@pytest.mark.parametrize(("text", "currency", "match"), [
    (0.35, None, "currency"), ("4.90", None, "currency"), ("4.90 EUR", "USD", "in USD"), ("4.90 EUR", None, "workshop's money"),
    ("4,90 EUR", "EUR", "dot"), (-1, "EUR", "below 0"), (True, "EUR", "a price"), ("EUR", "EUR", "a price"),
    (1e11, "EUR", "at most"),
    (float("nan"), "EUR", "a price"), (float("inf"), "EUR", "a price")])  # fmt: skip
def test_an_amount_that_cannot_be_is_refused(text: object, currency: str | None, match: str) -> None:
    with pytest.raises(InputError, match=match):
        amount(text, currency)


@given(st.integers(0, 10**9), st.integers(1, 10**4))
def test_coins_are_the_nearest(top: int, bottom: int) -> None:
    value = Fraction(top, bottom)
    found = coins(value, "EUR")
    assert abs(Fraction(found) - value) <= Fraction(1, 200) and found.as_tuple().exponent == -2
    assert coins(value + Fraction(1, 100), "EUR") == found + Decimal("0.01")


# Overs


def test_what_a_stage_spoils_has_passed_those_before_it() -> None:
    run = Run.of(A6, 100, {"laminate": Overs(Fraction(5), 1), "fold": Overs(Fraction(3), 4), "cut_pages": Overs(at_least=2)})
    # fold: 3 % of 100 is 3, at least 4: 104 go in. Laminate: 5 % of 104 is 5.2, so 6: 110. Pages: 104 and 2.
    assert [run.copies(key) for key in ("corners", "press", "fold", "staple", "laminate", "cut_card", "count", "cut_pages")] == [
        100, 100, 104, 104, 110, 110, 104, 106]  # fmt: skip
    assert [run.blanks_of(m) for m in ("cover", "card", "folio")] == [110, 110, 106 * 12]
    assert Run.of(A6, 100, flat=2).blanks_of("cover") == 102
    with pytest.raises(InputError, match="overs"):
        Run.of(A6, 10, {"sew": Overs(Fraction(1))})


@given(st.integers(1, 500), st.integers(0, 100), st.integers(0, 20), st.integers(0, 100), st.integers(0, 20))
def test_overs_are_enough_at_every_stage(wanted: int, a: int, b: int, c: int, d: int) -> None:
    overs = {"laminate": Overs(Fraction(a), b), "trim": Overs(Fraction(c), d)}
    run = Run.of(A6, wanted, overs)
    for key, out, spoiled in (("trim", wanted, overs["trim"]), ("laminate", run.copies("staple"), overs["laminate"])):
        lost = run.copies(key) - out
        assert lost >= spoiled.at_least and 100 * lost >= out * spoiled.percent
        assert lost == spoiled.at_least or 100 * (lost - 1) < out * spoiled.percent  # and not one too many
    assert run.copies("cut_pages") == run.copies("staple")


def test_nothing_is_laminated_without_card_and_a_plain_book_has_covers_all_the_same() -> None:
    bare = Run.of(Format.make("A6", 105, 148, cards=0), 10, {"laminate": Overs(at_least=5)})
    assert (bare.copies("laminate"), bare.blanks_of("cover"), bare.blanks_of("folio")) == (0, 10, 120)


def test_a_job_says_overs_by_stage(tmp_path: Path) -> None:
    path = tmp_path / "job.toml"

    def read(text: str):
        path.write_text(JOB + text, encoding="utf-8")
        return read_job(path, "mm", {})

    made = {b.name: b.quantity for b in read("overs = 1\n[overs.laminate]\npercent = 10\n").blanks()}
    assert made == {"A6 cover": 28, "A6 card": 28, "A6 folio": 25 * 12}
    for text, match in (("[overs.sow]\npercent = 3", "Did you mean|only"), ("[overs]\nfold = 3", "percent and at_least"),
                        ("[overs.fold]\npercent = 101", "from 0 to 100"), ("[overs.fold]\nat_least = 1.5", "whole number"),
                        ("[overs.fold]\nleast = 1", "at_least"), ("[buy]\nfolio = 3", "id of a paper")):  # fmt: skip
        with pytest.raises(InputError, match=match):
            read(text)
    path.write_text('aim = "most-books"\n[[books]]\nformat = "A6"\n[overs.fold]\npercent = 3\n', encoding="utf-8")
    with pytest.raises(InputError, match="wanted number"):
        read_job(path, "mm", {})


# Costs

SHEETS = {"A6 cover": Pieces(24, Fraction("0.864"), Fraction("3.60"), ((Fraction(1), 3, 1),)),
          "A6 card": Pieces(24, Fraction("0.864"), Fraction("1.80"), ((Fraction(1), 3, 68),)),
          "A6 folio": Pieces(288, Fraction("10.368"), Fraction("6.48"), ((Fraction(1), 36, 200),))}  # fmt: skip


def test_a_cost_sheet_is_the_sum_of_its_lines_and_the_margin_a_part_of_the_price() -> None:
    staples = Consumable("staples", Fraction("4.90"), Fraction(5000), "staple")
    rates = Rates("EUR", USUAL, Fraction(18), (staples,), margin=Fraction(40))
    made = cost_sheet(Run.of(A6, 24), SHEETS, rates, 6)
    assert made.total == sum(line.cost for line in made.lines) == Decimal("82.67")
    assert made.price is not None
    assert abs(Fraction(made.price) * 24 * Fraction(60, 100) - Fraction(made.total)) <= Fraction(24, 200)
    assert cost_sheet(Run.of(A6, 24), SHEETS, Rates("EUR", USUAL), 6).total == Decimal("11.88")  # paper alone
    with pytest.raises(InputError, match="margin"):
        Rates("EUR", USUAL, margin=Fraction(100))


def test_a_run_twice_as_long_pays_each_set_up_once() -> None:
    rates = Rates("EUR", USUAL, Fraction(60))
    once, twice = (cost_sheet(Run.of(A6, n), SHEETS, rates, 6) for n in (24, 48))
    setups = sum(stage.setup for stage in USUAL)
    lifts = 6 + 8  # three sheets of card and six are one lift; so are 36 and 72 of pages
    assert 2 * once.minutes - twice.minutes == setups + lifts
    assert [b.cost - 2 * a.cost for a, b in zip(once.lines[:3], twice.lines[:3], strict=True)] == [0, 0, 0]


def test_the_cost_sheet_of_the_readme_agrees_to_the_cent(bench, tmp_path: Path) -> None:
    # worked by hand in README.md: 24 books, SRA2 papers that give 8 pieces a sheet
    worked(tmp_path)
    code, out, _ = bench("plan", "job.toml", "--no-draw")
    assert code == 0 and "folio-paper   36" in out and "48" in out.split("staples")[1] and "0.80 m²" in out
    found = json.loads(bench("notebook", "cost", "job.toml", "--json")[1])
    books = found["books"][0]
    hand = {"cover": "3.60", "card": "1.80", "folio": "6.48", "cut covers": "5.70", "cut card": "3.30", "laminate": "18.90",
            "cut pages": "3.90", "count pages": "3.60", "staple": "8.70", "fold": "10.80", "press": "2.94", "trim": "7.80",
            "round corners": "5.10", "staples": "0.05", "adhesive": "1.66"}  # fmt: skip
    assert {line["label"]: line["cost"] for line in books["lines"]} == hand
    assert (books["total"], books["a_book"], books["price"], found["currency"]) == ("84.33", "3.51", "5.86", "EUR")
    readme = (Path(__file__).parent.parent / "README.md").read_text(encoding="utf-8")
    table = [row.split("|") for row in readme.split("| | by hand | EUR |")[1].split("\n\n")[0].splitlines()[2:]]
    assert [row[3].strip(" *") for row in table] == [*hand.values(), "84.33", "5.86"]
    other = ("--waste", "stock", "--margin", "0", "--json")
    stock = json.loads(bench("notebook", "cost", "job-plan/plan.json", *other)[1])["books"][0]
    # pieces alone: 24 x 0.216 x 0.154 m² of 0.288 m² a sheet is 2.772 sheets
    assert [line["cost"] for line in stock["lines"][:3]] == ["3.33", "1.66", "5.99"]
    assert stock["price"] == stock["a_book"] == "3.48"
    out = bench("notebook", "cost", "job.toml")[1]
    assert "Common practice, no source" in out and "a book costs" in out and "less" in out


def test_what_stays_short_is_bought_in_whole_reams_and_sheets(bench, tmp_path: Path) -> None:
    papers = paper("cover", 1, "salvaged"), paper("card", 2), paper("folio", 36)
    shop = WORKSHOP.replace("[press]", "[packs]\nfolio = 500\ncard = 10\n[press]").replace("cover = 1.20\n", "")
    worked(tmp_path, JOB.replace("24", "30"), shop, papers)
    code, out, _ = bench("plan", "job.toml", "--no-draw")
    assert code == 4
    made = json.loads(bench("notebook", "bill", "job.toml", "--json")[1])
    bought = {b["material"]: b for b in made["to_buy"]}
    # 14 cards more at 8 a sheet: 2 sheets, a pack of 10 at 0.60; 72 folios: 9 sheets, a ream at 0.18
    assert [bought["card"][k] for k in ("sheets", "packs", "over", "cost")] == [2, 1, 8, "6"]
    assert [bought["folio"][k] for k in ("sheets", "packs", "over", "cost")] == [9, 1, 491, "90"]
    assert bought["cover"]["paper"] is None and bought["cover"]["area_m2"] == pytest.approx(22 * 0.216 * 0.154)
    assert made["staples"] == 60 and "1 ream" in out and "pack of 10" in out and "no paper in the book" in out
    out = bench("notebook", "cost", "job.toml")[1]
    assert "gives 8 of 30 A6" in out and "counts as nothing: cover-paper" in out


# Wrong input


def test_a_price_without_a_currency_is_refused(bench, tmp_path: Path) -> None:
    with pytest.raises(InputError, match=r"currency.*money ="):
        worked(tmp_path, workshop=WORKSHOP.replace('money = "EUR"\n', ""))
        Workshop.load(tmp_path)
    bare = '[bench]\nunit = "mm"\n'
    for text, match in (("[labour]\nrate = 18", "currency"),
                        ('[consumables.tape]\nprice = 3\nlasts = 1\nper = "m"', "per"),
                        ('[consumables.tape]\nprice = 3\nlasts = 1\nper = "m2"', "currency"),
                        ("[stages.sow]\neach = 1", "stages"),
                        ("[stages.fold]\nech = 1", "each"), ("[stages.fold]\neach = -1", "from 0"), ("[day]\nstart = 9", "9:00"),
                        ("[selling]\nmargin = 100", "margin"), ("[press]\nheight = 0", "above 0")):  # fmt: skip
        (tmp_path / "workshop.toml").write_text(f"{bare}{text}\n", encoding="utf-8")
        with pytest.raises(InputError, match=match):
            Workshop.load(tmp_path)


def test_a_price_in_the_book_needs_the_workshops_money(bench, tmp_path: Path) -> None:
    bare = "\n".join(line for line in WORKSHOP.split("[prices]")[0].splitlines() if "money" not in line) + "\n"
    worked(tmp_path, workshop=bare, papers=(paper("cover", 3, price=1.2), paper("card", 3), paper("folio", 36)))
    code, _, err = bench("notebook", "cost", "job.toml")
    assert code == 3 and "currency" in err and "money" in err


def test_bought_paper_without_a_price_is_no_gift(bench, tmp_path: Path) -> None:
    worked(tmp_path, workshop=WORKSHOP.replace("card = 0.60\n", ""))
    code, _, err = bench("notebook", "cost", "job.toml")
    assert code == 3 and "card-paper, price" in err and "[prices]" in err


def test_a_paper_that_is_not_in_the_book_is_named_with_one_near_it(bench, tmp_path: Path) -> None:
    for wrong, near in (("folio-papr", "Did you mean folio-paper?"), ("zebra", "")):
        folder = tmp_path / wrong
        folder.mkdir()
        path = worked(folder, JOB + f'[papers]\nfolio = ["{wrong}"]\n')
        code, _, err = bench("plan", str(path), "--book", str(folder / "stock.sqlite"))
        assert code == 3 and wrong in err and (near in err if near else "Did you mean" not in err)
    folder = tmp_path / "other"
    folder.mkdir()
    path = worked(folder, JOB + '[papers]\nfolio = ["card-paper"]\n')
    code, _, err = bench("plan", str(path), "--book", str(folder / "stock.sqlite"))
    assert code == 3 and "card-paper, which is card" in err


def test_a_plan_of_another_job_is_refused(bench, tmp_path: Path) -> None:
    worked(tmp_path)
    assert bench("plan", "job.toml", "--no-draw")[0] == 0
    (tmp_path / "job.toml").write_text(JOB.replace("24", "20"), encoding="utf-8")
    code, _, err = bench("notebook", "cost", "job.toml")
    assert code == 3 and "A6 folio" in err and "Plan the job again" in err
