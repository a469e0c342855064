"""The stock book against plain values, over long random histories (hypothesis stateful)."""

from __future__ import annotations

import tempfile
from dataclasses import dataclass
from pathlib import Path

import pytest
from hypothesis import settings
from hypothesis import strategies as st
from hypothesis.stateful import Bundle, RuleBasedStateMachine, initialize, invariant, rule

from inventory import StockChanged
from inventory.book import Book
from nesting import InputError, Plan
from nesting.lengths import TICKS_PER_MM as MM
from tests.stock_cases import TIME, corner_plan, stock

NAMES = st.sampled_from(["s1", "s2", "s3", "s4", "s5"])


@dataclass(frozen=True)
class Happened:
    """One thing that was done and not undone: the counts before it, which sheets it changed, the plan it cut."""

    number: int
    before: dict[str, int]
    changed: frozenset[str]
    plan: str | None = None


class BookAndDict(RuleBasedStateMachine):
    """`counts`: how many of each id. `past`: what was done and not undone. A plan remembers the past it was made in."""

    plans = Bundle("plans")

    def __init__(self) -> None:
        super().__init__()
        self.folder = tempfile.TemporaryDirectory()
        self.path = Path(self.folder.name) / "stock.sqlite"
        self.book = Book.open(self.path, create=True, identity="model")
        self.counts: dict[str, int] = {}
        self.past: list[Happened] = []
        self.entries = 0

    def teardown(self) -> None:
        self.book.close()
        self.folder.cleanup()

    def done(self, changed: set[str], plan: str | None = None, **counts: int) -> None:
        self.entries += 1
        self.past.append(Happened(self.entries, dict(self.counts), frozenset(changed), plan))
        self.counts.update(counts)

    @initialize()
    def start(self) -> None:
        self.receive(["s1", "s2"], 5)

    @rule(ids=st.lists(NAMES, min_size=1, max_size=3), count=st.integers(1, 9))
    def receive(self, ids: list[str], count: int) -> None:
        sheets = [stock(id, count=count) for id in ids]
        if len(set(ids)) < len(ids) or set(ids) & self.counts.keys():
            with pytest.raises(InputError):
                self.book.receive(sheets, TIME)
            return
        self.book.receive(sheets, TIME)
        self.done(set(ids), **dict.fromkeys(ids, count))

    @rule(id=NAMES, now=st.integers(0, 9))
    def count(self, id: str, now: int) -> None:
        if id not in self.counts:
            with pytest.raises(InputError):
                self.book.count(id, now, "counted", TIME)
            return
        self.book.count(id, now, "counted", TIME)
        self.done({id} if self.counts[id] != now else set(), **{id: now})

    @rule(id=NAMES)
    def retire(self, id: str) -> None:
        if not self.counts.get(id):
            with pytest.raises(InputError):
                self.book.retire(id, "gone", TIME)
            return
        self.book.retire(id, "gone", TIME)
        self.done({id}, **{id: 0})

    @rule(id=NAMES, now=st.sampled_from(["cover", "card", "folio"]))
    def material(self, id: str, now: str) -> None:
        known = {s.id: s.sheet.material for s in self.book.sheets(gone=True)}
        if known.get(id, now) == now:
            with pytest.raises(InputError):
                self.book.set_material(id, now, TIME)
            return
        self.book.set_material(id, now, TIME)
        assert self.book.get(id).sheet.material == now
        self.done({id})

    @rule(target=plans, which=st.integers(0, 99), copies=st.integers(1, 3), width=st.integers(20, 200))
    def plan(self, which: int, copies: int, width: int) -> tuple[Plan, tuple[Happened, ...]] | None:
        """A plan of any sheet there is, offcuts too, where piece and copies go in."""
        fit = [s.id for s in self.book.sheets() if (s.sheet.count or 0) >= copies
               and s.sheet.box[2] > width * MM and s.sheet.box[3] > 30 * MM]  # fmt: skip
        if not fit:
            return None
        return corner_plan(self.book, [fit[which % len(fit)]], copies, width * MM, 30 * MM), tuple(self.past)

    @rule(made=plans)
    def cut(self, made: tuple[Plan, tuple[Happened, ...]] | None) -> None:
        if made is None:
            return
        plan, then = made
        id, copies = plan.layouts[0].sheet, plan.layouts[0].copies
        if any(h.plan == plan.id for h in self.past):
            assert self.book.cut(plan, TIME).already
            return
        since = {h.number: h for h in (*then, *self.past)}
        same = {h.number for h in then} & {h.number for h in self.past}
        if any(id in h.changed for number, h in since.items() if number not in same and h.plan != plan.id):
            with pytest.raises(StockChanged, match=id):
                self.book.cut(plan, TIME)
            return
        result = self.book.cut(plan, TIME)
        new = {s.id for s in result.offcuts}
        assert result.taken == ((id, copies),) and not result.already and len(new) == 2 and not new & self.counts.keys()
        self.done({id, *new}, plan.id, **{id: self.counts[id] - copies, **dict.fromkeys(new, copies)})

    @rule()
    def undo(self) -> None:
        if not self.past:
            with pytest.raises(InputError):
                self.book.undo(TIME)
            return
        self.book.undo(TIME)
        self.counts = dict(self.past.pop().before)
        self.entries += 1

    @rule()
    def reopen(self) -> None:
        self.book.close()
        self.book = Book.open(self.path)

    @rule()
    def rebuild(self) -> None:
        self.book.rebuild()

    @invariant()
    def same(self) -> None:
        assert {s.id: s.sheet.count for s in self.book.sheets(gone=True)} == self.counts
        assert {s.id for s in self.book.sheets()} == {id for id, count in self.counts.items() if count}
        assert len(self.book.entries()) == self.entries
        assert self.book.verify() == ()


TestBookAndDict = BookAndDict.TestCase
TestBookAndDict.settings = settings(max_examples=25, stateful_step_count=25, deadline=None)
