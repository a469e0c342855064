"""Several formats from one ream: the integer program against enumeration, and what rows of it say."""

from __future__ import annotations

import itertools
from collections.abc import Sequence
from functools import cache

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from nesting.blanks import Blank
from nesting.cutters import Cutter
from nesting.errors import InputError
from nesting.geometry import Box
from nesting.layouts import Cut, Node, Piece, leaves
from nesting.notebook.formats import Format, Grains
from nesting.notebook.mixes import mix_rows
from nesting.notebook.reams import Paper, ream_rows
from nesting.search.mixing import Book, Mixture, mix
from nesting.search.sheet.every_layout import every_layout
from nesting.search.sheet.single import Single
from nesting.sheets import Sheet

MM = 8000
Shape = tuple[int, int]
Counts = tuple[int, ...]


def all_counts(width: int, height: int, shapes: Sequence[tuple[Shape, bool]]) -> set[Counts]:
    """What a sheet can give, unbeaten: every whole cut of every box, by hand."""

    def best(found: set[Counts]) -> frozenset[Counts]:
        return frozenset(c for c in found if not any(o != c and all(a >= b for a, b in zip(o, c, strict=True)) for o in found))

    @cache
    def of(w: int, h: int) -> frozenset[Counts]:
        found = {(0,) * len(shapes)}
        for k, ((pw, ph), turns) in enumerate(shapes):
            if (pw <= w and ph <= h) or (turns and ph <= w and pw <= h):
                found.add(tuple(int(i == k) for i in range(len(shapes))))
        pairs = [(of(k, h), of(w - k, h)) for k in range(1, w // 2 + 1)]
        pairs += [(of(w, k), of(w, h - k)) for k in range(1, h // 2 + 1)]
        found |= {tuple(m + n for m, n in zip(a, b, strict=True)) for one, other in pairs for a in one for b in other}
        return best(found)

    return set(of(width, height))


def most_by_hand(layouts: set[Counts], books: Sequence[Book], count: int) -> tuple[int, int]:
    """Most rounds, then most books beside them, over every way to deal the layouts out to the sheets."""
    best = (0, 0)
    for chosen in itertools.combinations_with_replacement(sorted(layouts), count):
        have = [sum(c[k] for c in chosen) for k in range(len(chosen[0]))]
        tops = [have[b.blank] // b.pieces for b in books]
        for made in itertools.product(*(range(t + 1) for t in tops)):
            used = [sum(n * b.pieces for n, b in zip(made, books, strict=True) if b.blank == k) for k in range(len(have))]
            if all(u <= h for u, h in zip(used, have, strict=True)):
                shares = [n // b.share for n, b in zip(made, books, strict=True) if b.share]
                best = max(best, (min(shares, default=0), sum(made)))
    return best


sides = st.integers(2, 7)
shapes = st.lists(st.tuples(st.tuples(sides, sides), st.booleans()), min_size=1, max_size=3)


def blanks_of(kinds: Sequence[tuple[Shape, bool]]) -> list[Blank]:
    return [Blank(f"b{i}", w, h, turns=(0, 90) if turns else (0,)) for i, ((w, h), turns) in enumerate(kinds)]


def joined(tree: Node) -> Box:
    """The box of a tree whose parts fill it."""
    if isinstance(tree, Cut):
        low, high = joined(tree.low), joined(tree.high)
        assert tree.box == (min(low[0], high[0]), min(low[1], high[1]), max(low[2], high[2]), max(low[3], high[3]))
        assert low[2:] == ((tree.at, tree.box[3]) if tree.axis == "x" else (tree.box[2], tree.at))
    return tree.box


@settings(deadline=None, max_examples=60)
@given(st.integers(3, 12), st.integers(3, 12), shapes)
def test_every_layout_against_all_whole_cuts(width: int, height: int, kinds: list[tuple[Shape, bool]]) -> None:
    single = Single(Sheet.rectangle("s", width, height), blanks_of(kinds), None, "square")
    box = (0, 0, width * MM, height * MM)
    found = every_layout(box, single.oriented(), len(kinds), 10**7)
    assert found is not None and set(found) == all_counts(width, height, kinds)
    for counts, tree in found.items():
        assert joined(tree) == box
        names = [leaf.blank for leaf in leaves(tree) if isinstance(leaf, Piece)]
        assert tuple(names.count(f"b{i}") for i in range(len(kinds))) == counts
    assert every_layout(box, single.oriented(), len(kinds), 0) is None or not single.oriented()


@settings(deadline=None, max_examples=80)
@given(st.integers(4, 12), st.integers(4, 12), shapes, st.integers(1, 3), st.data())
def test_the_integer_program_against_enumeration(width: int, height: int, kinds: list[tuple[Shape, bool]], count: int,
                                                 data: st.DataObject) -> None:  # fmt: skip
    own = [{shape, shape[::-1]} if turns else {shape} for shape, turns in kinds]
    firsts = [own.index(sizes) for sizes in own]  # alike blanks are one blank to `mix`, with books of its own for each
    kinds = [kinds[k] for k in sorted(set(firsts))]
    blanks = [sorted(set(firsts)).index(k) for k in firsts]
    some = [Book(k, data.draw(st.integers(1, 4)), data.draw(st.integers(0, 2))) for k in blanks]
    if data.draw(st.booleans()):  # two books of one blank
        some.append(Book(0, data.draw(st.integers(1, 4)), data.draw(st.integers(0, 2))))
    layouts = all_counts(width, height, kinds)
    found = mix(Single(Sheet.rectangle("s", width, height), blanks_of(kinds), None, "square"), some, count)
    absent = any(b.share and all(c[b.blank] == 0 for c in layouts) for b in some)
    best = (0, 0) if absent else most_by_hand(layouts, some, count)
    assert (found.rounds, sum(found.books)) == best and found.proven
    assert_made(found, some, count, layouts)


def assert_made(found: Mixture, books: Sequence[Book], count: int, layouts: set[Counts]) -> None:
    """The cuttings give the books, on no more sheets than there are."""
    assert found.sheets <= count
    have = [sum(c.copies * c.counts[k] for c in found.cuttings) for k in range(len(next(iter(layouts))))]
    for k, n in enumerate(have):
        assert sum(m * b.pieces for m, b in zip(found.books, books, strict=True) if b.blank == k) <= n
    for cutting in found.cuttings:
        assert any(all(a <= b for a, b in zip(cutting.counts, c, strict=True)) for c in layouts)
        assert cutting.copies > 0


@settings(deadline=None, max_examples=20)
@given(st.integers(6, 12), st.integers(6, 12), shapes, st.integers(1, 3))
def test_one_more_round_takes_the_sheets_that_are_told(width: int, height: int, kinds: list[tuple[Shape, bool]],
                                                      count: int) -> None:  # fmt: skip
    some = [Book(k, 2, 1) for k in range(len(kinds))]
    single = Single(Sheet.rectangle("s", width, height), blanks_of(kinds), None, "square")
    found = mix(single, some, count)
    if found.one_more is not None:
        assert found.one_more > 0
        assert mix(single, some, count + found.one_more).rounds > found.rounds


A6, A7 = Format.make("A6", 105, 148), Format.make("A7", 74, 105, 10)


def test_mixed_formats_from_one_ream_are_proven() -> None:
    rows = mix_rows([A6, A7], [Paper.standard("SRA3"), Paper.standard("SRA2")], 500)
    assert len(rows) == 4 and all(row.proven for row in rows)
    assert [row.waste for row in rows] == sorted(row.waste for row in rows)
    for row in rows:
        assert sum(layout.copies for layout in row.layouts) == row.sheets_used == row.count - row.sheets_over
        got = [sum(layout.copies * layout.counts().get(f"{f.name} folio", 0) for layout in row.layouts) for f in (A6, A7)]
        assert all(n * f.folios <= g for n, f, g in zip(row.books, (A6, A7), got, strict=True))
        assert min(row.books) == row.rounds > 0
        assert row.sheets_short is not None and row.sheets_short > 0


def test_one_format_alone_is_what_the_ream_says() -> None:
    papers = [Paper.standard(name) for name in ("A4", "SRA3", "SRA2", "letter")]
    alone = {(r.paper, r.grain): r for r in ream_rows(A6, papers, 495) if r.books}
    mixed = {(r.paper, r.grain): r for r in mix_rows([A6], papers, 495)}
    assert set(alone) == set(mixed)
    for key, row in mixed.items():
        assert row.books == (alone[key].books,) and row.sheets_over == alone[key].sheets_over and row.proven
        assert row.sheets_short == alone[key].sheets_short


def test_shares_and_no_shares() -> None:
    paper = [Paper.standard("SRA3")]
    even, double = mix_rows([A6, A7], paper, 100)[0], mix_rows([A6, A7], paper, 100, (2, 1))[0]
    assert double.books[0] >= 2 * double.rounds and double.books[1] >= double.rounds
    most = mix_rows([A6, A7], paper, 100, (0, 0))[0]
    assert sum(most.books) >= max(sum(even.books), sum(double.books)) and most.proven


def test_two_formats_of_one_size_share_their_folios() -> None:
    thick = Format.make("A6 thick", 105, 148, 20)
    row = mix_rows([A6, thick], [Paper.standard("SRA3")], 32)[0]  # 4 a sheet: 128 folios, 32 a round
    assert (row.books, row.rounds, row.sheets_over, row.proven) == ((4, 4), 4, 0, True)


def test_a_price_is_that_of_all_sheets_used() -> None:
    free = Grains(folio="off")
    one = Format.make("one", 105, 148, 10, grains=free)
    paper = Paper("p", Sheet.rectangle("p", 320, 450, material="folio"), price=0.5, caliper=800)
    row = mix_rows([one], [paper], 10, cutter=Cutter(lift=0.5))[0]  # 4 a sheet, 4 books from 10 sheets, a lift of 5 sheets
    assert (row.books, row.price, row.lifts, row.grain) == ((4,), 1.25, 2, "any")
    alone = ream_rows(one, [paper], 10, cutter=Cutter(lift=0.5))[0]
    assert (alone.price, alone.lifts, alone.cuts) == (row.price, row.lifts, row.cuts)


@pytest.mark.parametrize(("formats", "more", "said"), [
    ([], {}, "formats"), ([A6, A6], {}, "names that differ"), ([A6, A7], {"shares": (1,)}, "shares"),
    ([A6], {"shares": (-1,)}, "shares"), ([A6], {"count": 0}, "count"),
])  # fmt: skip
def test_wrong_input(formats: list[Format], more: dict[str, object], said: str) -> None:
    with pytest.raises(InputError, match=said):
        mix_rows(formats, [Paper.standard("A4")], **more)  # type: ignore[arg-type]


def test_a_paper_that_cannot_hold_all_is_left_out() -> None:
    assert mix_rows([A6, A7], [Paper.standard("A5")], 500) == ()
