"""Several kinds of books from alike sheets: which layouts to cut how often, an integer program over the layouts of one sheet.

Layouts are found at the prices of a linear program (Gilmore & Gomory 1961), each by the exact search of one sheet, and chosen
by CP-SAT. The limit is the Lagrangian one: at any prices no sheet holds more than its best layout is worth. Where limit
and choice do not meet, all unbeaten layouts are listed if they are few: then the choice is the best there is.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from typing import Any, Literal

from ..layouts import Node
from .budget import Budget
from .pile.solver import new_solver, solved
from .sheet.every_layout import every_layout
from .sheet.filling import counted
from .sheet.ground import Ground
from .sheet.single import Single

SCALE = 1_000_000
ROUNDS = 30
REFINE_STEPS = 20_000
NEARBY = (0.96, 1.04, 0.9, 1.1)
CHOICE_SECONDS = 0.1  # of the solver's own count, which is the same on every machine
NO_CLOCK = 1e6
Counts = tuple[int, ...]
Aim = Literal["rounds", "books", "sheets", "layouts"]


@dataclass(frozen=True)
class Book:
    """One kind of book: the blank of its pages (by index), how many of it a book takes, and its part in a round.

    `share` 0: as many as there are.
    """

    blank: int
    pieces: int
    share: int


@dataclass(frozen=True)
class Cutting:
    """A layout that is cut: on how many sheets, how many of each blank one gives, its bare tree on the ground."""

    copies: int
    counts: Counts
    tree: Node
    ground: Ground


@dataclass(frozen=True)
class Mixture:
    """`rounds`: of the shares, made whole. `books`: of each kind. `rounds_most`, `books_most`: no cutting gives more (the second
    of those that give the rounds). `one_more`: sheets that are enough for one round more, or one book more without shares.
    """

    rounds: int
    books: tuple[int, ...]
    cuttings: tuple[Cutting, ...]
    rounds_most: int
    books_most: int
    one_more: int | None

    @property
    def proven(self) -> bool:
        """Whether no cutting gives more rounds, or as many and more books."""
        return self.rounds == self.rounds_most and sum(self.books) == self.books_most

    @property
    def sheets(self) -> int:
        """How many are cut."""
        return sum(c.copies for c in self.cuttings)


class _Program:
    """The layouts met of one sheet, and what is asked of them."""

    def __init__(self, single: Single, books: Sequence[Book], count: int) -> None:
        self.single, self.books, self.count = single, list(books), count
        self.layouts: dict[Counts, tuple[Node, Ground]] = {}
        self.whole = False  # every unbeaten layout is among them
        self._budget = Budget(NO_CLOCK, None)

    def ask(self, values: Sequence[int]) -> tuple[int, bool]:
        """No layout is worth more at these values; whether a layout was met that is new."""
        found = self.single.best(values, self._budget, REFINE_STEPS)
        if found.tree is None or found.ground is None:
            return found.bound, False
        counts = tuple(counted(found.tree, self.single.blanks))
        new = any(counts) and counts not in self.layouts
        if new:
            self.layouts[counts] = (found.tree, found.ground)
        return found.bound, new

    def list_all(self, _: int | None = None) -> None:
        """Take in every unbeaten layout, where the sheet is clear and they are few."""
        ground = self.single.clear_ground()
        if self.whole or ground is None or len(self.single.frames_deg) > 1:
            return
        every = every_layout(ground.usable, self.single.oriented(), len(self.single.blanks))
        if every is not None:
            self.whole = True
            self.layouts |= {c: (tree, ground) for c, tree in every.items() if any(c) and c not in self.layouts}

    def prices(self, rounds: int | None) -> list[float] | None:
        """The linear program's prices of the blanks: for most rounds (None), or most books beside so many rounds."""
        from ortools.linear_solver import pywraplp

        solver: Any = pywraplp.Solver.CreateSolver("GLOP")
        infinity = solver.infinity()
        total = solver.Constraint(-infinity, self.count)
        rows = [solver.Constraint(0, infinity) for _ in self.single.blanks]
        for counts in self.layouts:
            var = solver.NumVar(0, infinity, "")
            total.SetCoefficient(var, 1)
            for row, n in zip(rows, counts, strict=True):
                row.SetCoefficient(var, n)
        goal = solver.Objective()
        if rounds is None:
            var = solver.NumVar(0, infinity, "")
            goal.SetCoefficient(var, 1)
            for k, row in enumerate(rows):
                row.SetCoefficient(var, -sum(b.share * b.pieces for b in self.books if b.blank == k))
        else:
            for b in self.books:
                var = solver.NumVar(b.share * rounds, infinity, "")
                goal.SetCoefficient(var, 1)
                rows[b.blank].SetCoefficient(var, -b.pieces)
        goal.SetMaximization()
        if solver.Solve() != pywraplp.Solver.OPTIMAL:
            return None
        return [abs(row.dual_value()) for row in rows]

    def limit(self, rounds: int | None) -> int:
        """Layouts at the program's prices until none is new; no cutting gives more rounds (None), or books beside `rounds`."""
        best: Fraction | None = None
        for _ in range(ROUNDS):
            prices = self.prices(rounds)
            if prices is None:
                break
            values, most = self._bound_values(prices, rounds)
            bound, new = self.ask(values)
            value = most(bound)
            best = value if best is None else min(best, value)
            if not new:
                break
        return int(best // 1) if best is not None else 0

    def _bound_values(self, prices: Sequence[float], rounds: int | None) -> tuple[list[int], Any]:
        """Whole prices, and the limit that they prove by what one sheet can hold at them.

        Rounds: r rounds take pieces worth r x sum(share x pieces x price), all from the sheets. Books: with pieces x price
        of 1 or more for each, books are at most what the sheets hold less what the rounds' books cost above 1.
        """
        if rounds is None:
            top = max(prices) or 1.0
            values = [round(p / top * SCALE) for p in prices]
            wanted = sum(b.share * b.pieces * values[b.blank] for b in self.books)
            return values, lambda held: Fraction(self.count * held, wanted)
        values = [max(round(p * SCALE), *(-(-SCALE // b.pieces) for b in self.books if b.blank == k), 0)
                  for k, p in enumerate(prices)]  # fmt: skip
        over = sum(b.share * rounds * (b.pieces * values[b.blank] - SCALE) for b in self.books)
        return values, lambda held: Fraction(self.count * held - over, SCALE)

    def nearby(self, rounds: int | None) -> None:
        """Layouts that are best at prices a little beside the program's: whole copies often want them."""
        prices = self.prices(rounds) or []
        values = [round(p / (max(prices) or 1.0) * SCALE) for p in prices]
        for k, share in ((k, share) for share in NEARBY for k, v in enumerate(values) if v):
            self.ask([round(v * share) if i == k else v for i, v in enumerate(values)])

    def _unbeaten(self) -> list[Counts]:
        """The counts met that no other has all of."""
        some = list(self.layouts)
        return [c for c in some if not any(o != c and all(a >= b for a, b in zip(o, c, strict=True)) for o in some)]

    def choose(self, aim: Aim, rounds: int = 0, total: int = 0, most: int | None = None) -> Chosen:
        """The integer program: the most rounds, or books, fewest sheets or layouts, with at least so many rounds and books.

        `most`: no more rounds, books or sheets than that: where a limit is known the solver need not find it again.
        """
        from ortools.sat.python import cp_model

        model: Any = cp_model.CpModel()
        layouts = self._unbeaten()
        room = self.count if aim != "layouts" or most is None else most
        copies = [model.new_int_var(0, room, f"x{i}") for i in range(len(layouts))]
        model.add(sum(copies) <= room)
        top = room * max(max(c) for c in layouts)
        made = [model.new_int_var(0, top // b.pieces, f"b{i}") for i, b in enumerate(self.books)]
        for k in range(len(self.single.blanks)):
            used = [b.pieces * var for b, var in zip(self.books, made, strict=True) if b.blank == k]
            if used:
                model.add(sum(used) <= sum(c[k] * x for c, x in zip(layouts, copies, strict=True) if c[k]))
        whole: Any = rounds
        if aim == "rounds":
            whole = model.new_int_var(rounds, top if most is None else max(rounds, most), "rounds")
        for b, var in zip(self.books, made, strict=True):
            if b.share:
                model.add(var >= b.share * whole)
        if total:
            model.add(sum(made) >= total)
        if aim == "rounds":
            model.maximize(whole)
        elif aim == "books":
            if most is not None:
                model.add(sum(made) <= most)
            model.maximize(sum(made))
        elif aim == "sheets":
            model.minimize(sum(copies))
        else:
            taken = [model.new_bool_var(f"t{i}") for i in range(len(layouts))]
            for x, t in zip(copies, taken, strict=True):
                model.add(x <= room * t)
            model.minimize(sum(taken))
        solver = new_solver(0)
        solver.parameters.max_deterministic_time = CHOICE_SECONDS
        status = solved(solver, model)
        if status not in (cp_model.OPTIMAL, cp_model.FEASIBLE):
            return Chosen(0, (), (), False)
        books = tuple(int(solver.value(v)) for v in made)
        each = [n // b.share for n, b in zip(books, self.books, strict=True) if b.share]
        cut = tuple((counts, int(solver.value(x))) for counts, x in zip(layouts, copies, strict=True) if solver.value(x))
        return Chosen(min(each, default=0), books, cut, status == cp_model.OPTIMAL)


@dataclass(frozen=True)
class Chosen:
    """Rounds, books of each kind, layouts with their copies; `best`: none of the layouts met give more. No books: no choice."""

    rounds: int
    books: tuple[int, ...]
    cut: tuple[tuple[Counts, int], ...]
    best: bool

    @property
    def sheets(self) -> int:
        """How many are cut."""
        return sum(n for _, n in self.cut)


def mix(single: Single, books: Sequence[Book], count: int) -> Mixture:
    """The most rounds of the shares from `count` copies of a sheet, then the most books beside them.

    Ties: fewer sheets, then fewer layouts. `single` is prepared for the blanks of the books, without soft rules; blanks that
    may lie in the same sizes are given as one, with a book for each: apart they seldom meet on one sheet. Where a book that has
    a share has no place on the sheet there are no rounds, and nothing is cut.
    """
    placed = single.placed()
    if any(b.share and b.blank not in placed for b in books) or not any(b.blank in placed for b in books):
        return Mixture(0, (0,) * len(books), (), 0, 0, None)
    program = _Program(single, books, count)
    for k in sorted(placed):
        program.ask([SCALE if i == k else 0 for i in range(len(single.blanks))])
    rounds = most_rounds = 0
    if any(b.share for b in books):
        rounds, most_rounds = _closed(program, "rounds", None)
    total, most_books = _closed(program, "books", rounds)
    few = program.choose("sheets", rounds, total)
    least = program.choose("layouts", rounds, total, few.sheets)
    chosen = least if least.books else few
    cuttings = [Cutting(n, counts, *program.layouts[counts]) for counts, n in chosen.cut]
    cuttings.sort(key=lambda c: (-c.copies, c.counts))
    return Mixture(rounds, chosen.books, tuple(cuttings), most_rounds, most_books, _one_more(program, rounds, total))


def _closed(program: _Program, aim: Aim, rounds: int | None) -> tuple[int, int]:
    """The most rounds (None), or books beside so many, and their limit; more layouts are met where the two differ."""
    limit = program.limit(rounds)
    value = 0
    best = False
    for more in (None, program.nearby, program.list_all):
        if more is not None:
            more(rounds)
        chosen = program.choose(aim, rounds or 0, 0, limit)
        if chosen.books:
            value, best = max(value, chosen.rounds if rounds is None else sum(chosen.books)), chosen.best
        if value >= limit:
            break
    return value, value if program.whole and best else max(value, limit)


def _one_more(program: _Program, rounds: int, total: int) -> int | None:
    """Sheets beside those there are that are enough for one round more (one book more without shares)."""
    before = program.count
    program.count += sum(b.pieces * max(1, b.share) for b in program.books)  # one piece a sheet is enough
    shared = any(b.share for b in program.books)
    chosen = program.choose("sheets", rounds + 1) if shared else program.choose("sheets", 0, total + 1)
    program.count = before
    return max(0, chosen.sheets - before) if chosen.books else None
