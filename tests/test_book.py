"""The stock book: what comes in, what goes out, what is refused. Areas are computed here by hand or by shapely."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from inventory import StockChanged
from inventory.book import Book, cutting, fold
from inventory.stock import StockSheet
from nesting import InputError, Sheet
from nesting.lengths import TICKS_PER_MM as MM
from tests.stock_cases import TIME, corner_layout, corner_plan, filled, plan_of, stock, whole_layout

LATER = "2026-03-02T09:00:00+00:00"


@pytest.fixture
def book(tmp_path: Path):
    with Book.open(tmp_path / "stock.sqlite", create=True, identity="bench") as opened:
        yield opened


def counts(book: Book) -> dict[str, int | None]:
    return {s.id: s.sheet.count for s in book.sheets(gone=True)}


# What comes in


def test_sheets_come_back_as_they_went_in(book):
    sheet = Sheet.from_mm("s1", [(0, 0), (400, 1.5), (390, 300), (0, 297.3)], holes=[[(20, 20), (30, 20), (30, 30)]],
                          bad=[[(100, 100), (110, 100), (105, 120)]], best=[([(200, 100), (300, 100), (300, 200)], 2.5)],
                          grain="y", grain_guessed=True, up="+y", true_edges=(1, 3), inset=1.5, count=2, cost=0.75,
                          material="cover")  # fmt: skip
    one = StockSheet(sheet, "salvaged", "in", 1016, 95.5, 0.4, "theatre bills", "red, \"torn\" – ½", True, False, "400 x 300; …")
    book.receive([one, stock("s2")], TIME)
    assert book.sheets() == (one, stock("s2"))
    assert book.get("s1") == one


def test_sheets_are_told_apart_by_material_and_kind(book):
    card = StockSheet(Sheet.rectangle("c1", 500, 700, count=20, material="card"), "parent")
    book.receive([stock("s1"), card], TIME)
    assert [s.id for s in book.sheets(material="card")] == ["c1"]
    assert [s.id for s in book.sheets(kind="salvaged")] == ["s1"]
    with pytest.raises(InputError, match="cover or card or folio"):
        book.sheets(material="cloth")


@pytest.mark.parametrize("batch", [["s1"], ["s2", "s2"], ["s2", "s1"]])
def test_an_id_in_use_is_refused_and_nothing_of_the_batch_is_kept(book, batch):
    book.receive([stock("s1")], TIME)
    with pytest.raises(InputError, match=r"found s[12]\."):
        book.receive([stock(id) for id in batch], TIME)
    assert counts(book) == {"s1": 1}


def test_a_sheet_that_may_not_enter_is_named_with_its_field(book):
    endless = StockSheet(Sheet.rectangle("p1", 100, 100, count=None))
    with pytest.raises(InputError, match="sheet p1, count"):
        book.receive([stock("s1"), endless], TIME)
    with pytest.raises(InputError, match="sheet s1, grammage"):
        book.receive([replace(stock("s1"), grammage=float("nan"))], TIME)
    with pytest.raises(InputError, match="sheet s1, kind"):
        book.receive([replace(stock("s1"), kind="borrowed")], TIME)
    with pytest.raises(InputError, match="ISO time"):
        book.receive([stock("s1")], "yesterday")
    with pytest.raises(InputError, match="at least one sheet"):
        book.receive([], TIME)
    assert book.sheets() == () and book.verify() == ()


def test_counting_and_retiring_are_told_in_the_history(book):
    book.receive([stock("s1", count=5)], TIME)
    book.count("s1", 3, "two spoiled", LATER)
    book.retire("s1", "mould", LATER)
    assert book.sheets() == () and book.get("s1").sheet.count == 0
    assert [book.told(e, "s1") for e in book.history("s1")] == [
        "received: 5", "counted: 5 became 3 (two spoiled)", "retired: 3 taken out (mould)"]  # fmt: skip
    with pytest.raises(InputError, match="none is left"):
        book.retire("s1", "again", LATER)
    with pytest.raises(InputError, match="Did you mean s1"):
        book.get("s11")
    with pytest.raises(InputError, match="reason"):
        book.count("s1", 3, "  ", LATER)
    for wrong in (-1, 10**9, 2.5, True):
        with pytest.raises(InputError, match="sheet s1, count"):
            book.count("s1", wrong, "odd", LATER)


# What is cut


def test_cut_takes_sheets_out_and_puts_offcuts_in(book):
    parent = replace(stock("s1", count=3), unit="in", caliper=1016, grammage=95.0, price=1.0, source="bills", takes_glue=True)
    book.receive([parent], TIME)
    result = book.cut(corner_plan(book, ["s1"], copies=2), LATER)
    assert (result.taken, result.layouts, result.skipped, result.already) == ((("s1", 2),), (0,), (), False)
    assert counts(book) == {"s1": 1, "s1-a": 2, "s1-b": 2}
    a, b = result.offcuts
    assert (a, b) == book.sheets(kind="offcut")
    assert a.sheet.outline == ((0, 0), (100 * MM, 0), (100 * MM, 207 * MM), (0, 207 * MM))  # 297 - 90
    assert b.sheet.outline == ((0, 0), (320 * MM, 0), (320 * MM, 297 * MM), (0, 297 * MM))  # 420 - 100
    assert (a.parent, a.unit, a.caliper, a.grammage, a.source, a.takes_glue) == ("s1", "in", 1016, 95.0, "bills", True)
    assert (a.sheet.grain, a.sheet.material, a.sheet.cost) == ("x", "cover", None)
    assert a.price == pytest.approx(100 * 207 / (420 * 297))
    # knife at the right (edge 1) and below (edge 0) of a; at the left (edge 3) of b; the torn edges stay untrue
    assert (a.sheet.true_edges, b.sheet.true_edges) == ((0, 1), (3,))
    assert book.verify() == ()


def test_true_edges_of_the_sheet_stay_true(book):
    sheet = Sheet.rectangle("s1", 420, 297, true_edges=(1, 2), material="cover")  # right and top
    book.receive([StockSheet(sheet)], TIME)
    a, b = book.cut(corner_plan(book, ["s1"]), LATER).offcuts
    assert (a.sheet.true_edges, b.sheet.true_edges) == ((0, 1, 2), (1, 2, 3))


def test_a_second_cut_changes_nothing_and_says_so(book):
    book.receive([stock("s1", count=2)], TIME)
    plan = corner_plan(book, ["s1"])
    book.cut(plan, LATER)
    head = book.head(64)
    again = book.cut(plan, LATER)
    assert again.already and again.skipped == (0,) and not again.taken and not again.offcuts
    assert book.head(64) == head
    book.count("s1", 7, "found more", LATER)  # stock has changed since, yet what is recorded is not stale
    assert book.cut(plan, LATER).already


def test_layouts_can_be_recorded_one_by_one(book):
    book.receive([stock("s1"), stock("s2"), stock("s3")], TIME)
    plan = corner_plan(book, ["s1", "s2", "s3"])
    assert book.cut(plan, LATER, [1]).taken == (("s2", 1),)
    rest = book.cut(plan, LATER)
    assert (rest.layouts, rest.skipped, rest.already) == ((0, 2), (1,), False)
    assert book.cut(plan, LATER, [2, 0]).already
    for wrong in ([3], [-1], [True]):
        with pytest.raises(InputError, match="numbers from 1 to 3"):
            book.cut(plan, LATER, wrong)
    assert book.verify() == ()


def test_two_layouts_of_one_sheet_take_from_one_heap(book):
    book.receive([stock("s1", count=5)], TIME)
    sheet = book.get("s1").sheet
    plan = book.stamp(plan_of([sheet], [whole_layout(sheet, 2), corner_layout(sheet, 100 * MM, 90 * MM, 3)]))
    assert book.cut(plan, LATER).taken == (("s1", 5),)
    assert counts(book) == {"s1": 0, "s1-a": 3, "s1-b": 3}
    book.undo(LATER)
    assert counts(book) == {"s1": 5}


@pytest.mark.parametrize(("change", "told"), [
    (lambda b: b.count("s1", 1, "one spoiled", LATER), r"Sheet s1 has changed.*counted: 2 became 1 \(one spoiled\)"),
    (lambda b: b.retire("s1", "wet", LATER), r"Sheet s1 has changed.*retired: 2 taken out"),
    (lambda b: b.cut(corner_plan(b, ["s1"], width=55 * MM), LATER), r"Sheet s1 has changed.*cut: 1 by plan"),
    (lambda b: b.undo(LATER), r"Sheet s1 has changed.*undone: entry 2, counted: 9 became 2"),
])  # fmt: skip
def test_stock_changed_since_names_the_sheet_and_what_happened(book, change, told):
    book.receive([stock("s1", count=9), stock("s2")], TIME)
    book.count("s1", 2, "miscounted", TIME)
    plan = corner_plan(book, ["s1", "s2"])
    change(book)
    head = book.head(64)
    with pytest.raises(StockChanged, match=told):
        book.cut(plan, LATER)
    assert book.head(64) == head
    assert book.cut(plan, LATER, [1]).taken == (("s2", 1),)  # the other sheet is as it was


@pytest.mark.parametrize("change", [
    lambda b: b.receive([stock("s9")], LATER),
    lambda b: b.count("s2", 4, "found", LATER),
    lambda b: b.count("s1", 2, "as it was", LATER),
    lambda b: (b.retire("s1", "by mistake", LATER), b.undo(LATER)),
])  # fmt: skip
def test_what_does_not_change_the_sheet_does_not_stop_the_cut(book, change):
    book.receive([stock("s1", count=2), stock("s2")], TIME)
    plan = corner_plan(book, ["s1"])
    change(book)
    assert book.cut(plan, LATER).taken == (("s1", 1),)


def test_a_sheet_received_anew_under_its_old_number_is_a_change(book):
    book.receive([stock("s1")], TIME)
    plan = corner_plan(book, ["s1"])
    book.undo(LATER)
    book.receive([stock("s1", 500, 400)], LATER)
    with pytest.raises(StockChanged, match="s1"):
        book.cut(plan, LATER)


def test_plans_that_are_not_of_this_book_are_refused(book, tmp_path):
    book.receive([stock("s1")], TIME)
    plan = corner_plan(book, ["s1"])
    with Book.open(filled(tmp_path / "other.sqlite", stock("s1"))) as other, pytest.raises(InputError, match=r"another .bench"):
        other.cut(plan, LATER)
    unstamped = plan_of(plan.sheets, [corner_layout(plan.sheets[0], 100 * MM, 90 * MM, 1)])
    with pytest.raises(InputError, match="plan, stock"):
        book.cut(unstamped, LATER)
    with pytest.raises(StockChanged, match="no longer has the state"):
        book.cut(book.stamp(unstamped, "0123456789ab"), LATER)
    elsewhere = Sheet.rectangle("s7", 420, 297)
    with pytest.raises(InputError, match="sheet s7"):
        book.cut(book.stamp(plan_of([elsewhere], [whole_layout(elsewhere, 1)])), LATER)
    larger = Sheet.rectangle("s1", 421, 297)
    with pytest.raises(InputError, match=r"sheet s1.*outline"):
        book.cut(book.stamp(plan_of([larger], [whole_layout(larger, 1)])), LATER)
    more = replace(plan.sheets[0], count=9)
    with pytest.raises(StockChanged, match="layout 1 cuts 2, the stock book has 1"):
        book.cut(book.stamp(plan_of([more], [whole_layout(more, 2)])), LATER)
    assert counts(book) == {"s1": 1}


def test_a_plan_with_a_fault_is_not_recorded(book):
    book.receive([stock("s1")], TIME)
    plan = corner_plan(book, ["s1"])
    with pytest.raises(InputError, match="without faults"):
        book.cut(replace(plan, layouts=(replace(plan.layouts[0], copies=2),)), LATER)
    assert counts(book) == {"s1": 1}


def test_an_offcut_number_in_use_gets_another(book):
    book.receive([stock("s1"), stock("s1-a"), stock("s1-a-2")], TIME)
    assert [s.id for s in book.cut(corner_plan(book, ["s1"]), LATER).offcuts] == ["s1-a-3", "s1-b"]


def test_undo_goes_back_step_by_step_and_a_plan_can_be_cut_again(book):
    book.receive([stock("s1", count=4)], TIME)
    plan = corner_plan(book, ["s1"], copies=2)
    book.cut(plan, LATER)
    book.count("s1-a", 1, "one torn", LATER)
    assert book.undo(LATER).kind == "counted"
    assert counts(book) == {"s1": 2, "s1-a": 2, "s1-b": 2}
    assert book.undo(LATER).kind == "cut"
    assert counts(book) == {"s1": 4}
    result = book.cut(plan, LATER)
    assert not result.already and [s.id for s in result.offcuts] == ["s1-a", "s1-b"]
    assert [book.undo(LATER).kind for _ in range(2)] == ["cut", "received"]
    with pytest.raises(InputError, match="nothing to undo"):
        book.undo(LATER)
    assert counts(book) == {} and book.verify() == ()
    assert [e.kind for e in book.history("s1")] == ["received", "cut", "undone", "cut", "undone", "undone"]


def test_an_interruption_leaves_nothing_half_done(book, monkeypatch):
    book.receive([stock("s1", count=2)], TIME)
    plan, head = corner_plan(book, ["s1"]), book.head(64)

    def interrupted(*_):
        raise KeyboardInterrupt

    for step in ("put", "set_count", "record", "touch"):
        with monkeypatch.context() as m:
            m.setattr(fold.InBook, step, interrupted)
            with pytest.raises(KeyboardInterrupt):
                book.cut(plan, LATER)
        assert (book.head(64), counts(book), book.verify()) == (head, {"s1": 2}, ())
    assert book.cut(plan, LATER).taken == (("s1", 1),)


def test_numbers_of_layouts_are_those_of_the_plan(book):
    assert cutting.which(plan_of([], []), None) == ()
    with pytest.raises(InputError, match="the plan has no layouts"):
        cutting.which(plan_of([], []), [0])
