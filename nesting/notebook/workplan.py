"""The work plan of a batch: which stage when, in which loads, with how much work and how much waiting.

One maker works at a time. What waits in the press needs nobody, and the next load of the press waits for it. A load is as
many books as the lift of the cutter, the press or the weights take.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction

from .formats import Material
from .stages import Holder, Run, Stage, stages_of

_DAY = 24 * 60  # minutes


@dataclass(frozen=True)
class Capacity:
    """Books in one load: of the press flat after laminating, of the press folded, under the weights, in a lift; None: all."""

    flat: int | None = None
    folded: int | None = None
    weights: int | None = None
    lift: int | None = None

    def of(self, stage: Stage) -> tuple[int | None, str]:
        """Books in one load of a stage, and what limits it."""
        if stage.key == "laminate":
            return self.flat, "press"
        if stage.holder == "press":
            return self.folded, "press"
        if stage.holder == "weights":
            return self.weights, "weights"
        if stage.counts == "lift" and not stage.key.startswith("cut_"):
            return self.lift, "lift"
        return None, ""


def in_press(height: int | None, stacks: int, each: int | None) -> int | None:
    """How many things `each` ticks thick a press `height` ticks high takes in so many stacks; None where not known."""
    return None if height is None or not each else max(1, height // each) * stacks


@dataclass(frozen=True)
class Task:
    """One load of a stage: books `first` to `last` (counted from 0, last not included) of a run; minutes of work and waiting."""

    run: int
    stage: Stage
    load: int
    first: int
    last: int
    work: Fraction
    wait: Fraction

    @property
    def holder(self) -> Holder | None:
        """The press, where the load waits in it."""
        return self.stage.holder if self.wait else None


@dataclass(frozen=True)
class Row:
    """A stage of a run as a whole: so many loads of at most `most` books, limited by `by` (nothing: one load)."""

    run: str
    stage: Stage
    copies: int
    loads: int
    most: int
    by: str
    work: Fraction
    wait: Fraction


@dataclass(frozen=True)
class Block:
    """Work from `start` to `end` minutes after the start of `day` (from 0) on a task."""

    task: int
    day: int
    start: Fraction
    end: Fraction


@dataclass(frozen=True)
class WorkPlan:
    """`blocks`: the maker's time in order. `waits`: for each waiting task its start and end, in minutes since the first start."""

    rows: tuple[Row, ...]
    tasks: tuple[Task, ...]
    blocks: tuple[Block, ...]
    waits: tuple[tuple[int, Fraction, Fraction], ...]
    names: tuple[str, ...]

    @property
    def days(self) -> int:
        """Days on which there is work."""
        return len({block.day for block in self.blocks})

    @property
    def work(self) -> Fraction:
        """Minutes of work, all together."""
        return sum((task.work for task in self.tasks), Fraction(0))


def tasks_of(runs: Sequence[Run], stages: Sequence[Stage], counts: Mapping[tuple[int, str], Fraction],
             capacities: Sequence[Capacity]) -> tuple[tuple[Task, ...], tuple[Row, ...]]:  # fmt: skip
    """The loads of every stage of every run, and a row for each stage.

    `counts`: sheets or lifts cut, by run and key of stage, for the stages that count them. The setup belongs to the
    first load.
    """
    tasks, rows = [], []
    for number, (run, capacity) in enumerate(zip(runs, capacities, strict=True)):
        for stage in stages_of(run.format, tuple(stages)):
            copies = run.copies(stage.key)
            most, by = capacity.of(stage)
            most = copies if most is None else min(most, copies)
            loads = -(-copies // most)
            for load in range(loads):
                first, last = load * most, min(copies, (load + 1) * most)
                count = counts.get((number, stage.key), Fraction(1)) if stage.counts != "book" else Fraction(last - first)
                if stage.counts == "lift" and not stage.key.startswith("cut_"):
                    count = Fraction(1)
                work = stage.each * count + (0 if load else stage.setup)
                tasks.append(Task(number, stage, load, first, last, work, stage.wait))
            done = tasks[-loads:]
            rows.append(Row(run.format.name, stage, copies, loads, most, by if loads > 1 else "",
                            sum((t.work for t in done), Fraction(0)), stage.wait))  # fmt: skip
    return tuple(tasks), tuple(rows)


def work_plan(runs: Sequence[Run], stages: Sequence[Stage], counts: Mapping[tuple[int, str], Fraction],
              capacities: Sequence[Capacity], day_minutes: int) -> WorkPlan:  # fmt: skip
    """The tasks in a maker's days of `day_minutes`, each as soon as it can be: the earliest run and stage first.

    A load starts when all that goes into it is done and has waited; work that a day has no room for goes on the next.
    What needs the press begins where the press is free for it. No claim is made that no order is shorter.
    """
    tasks, rows = tasks_of(runs, stages, counts, capacities)
    before = _before(runs, tasks)
    ready: dict[int, Fraction] = {}  # when a task's load is out of it, waited for, in minutes since the first start
    press_free, now = Fraction(0), Fraction(0)
    blocks: list[Block] = []
    waits: list[tuple[int, Fraction, Fraction]] = []
    queues: dict[tuple[int, str], list[int]] = {}  # loads of a stage keep their order
    for k in reversed(range(len(tasks))):
        queues.setdefault((tasks[k].run, tasks[k].stage.key), []).append(k)
    while queues:
        starts = {}
        for queue in queues.values():
            k = queue[-1]
            if all(b in ready for b in before[k]):
                start = max((ready[b] for b in before[k]), default=Fraction(0))
                if tasks[k].holder == "press":  # it goes in when its work is done
                    start = max(start, press_free - tasks[k].work)
                starts[k] = max(start, now)
        at = _working(min(starts.values()), day_minutes)
        chosen = min(k for k, start in starts.items() if start <= at)
        now = _do(chosen, tasks[chosen].work, at, day_minutes, blocks)
        ready[chosen] = now + tasks[chosen].wait
        if tasks[chosen].wait:
            waits.append((chosen, now, ready[chosen]))
        if tasks[chosen].holder == "press":
            press_free = ready[chosen]
        key = tasks[chosen].run, tasks[chosen].stage.key
        queues[key].pop()
        if not queues[key]:
            del queues[key]
    return WorkPlan(rows, tasks, tuple(blocks), tuple(waits), tuple(run.format.name for run in runs))



def _working(at: Fraction, day_minutes: int) -> Fraction:
    """The next minute at the bench."""
    day, minute = divmod(at, _DAY)
    return at if minute < day_minutes else (day + 1) * Fraction(_DAY)


def _do(task: int, work: Fraction, at: Fraction, day_minutes: int, blocks: list[Block]) -> Fraction:
    """Work from `at` on, parted over days; returns when it is done."""
    while work > 0:
        at = _working(at, day_minutes)
        day, minute = divmod(at, _DAY)
        part = min(work, day_minutes - minute)
        blocks.append(Block(task, int(day), minute, minute + part))
        at, work = at + part, work - part
    return at


def _before(runs: Sequence[Run], tasks: Sequence[Task]) -> list[list[int]]:
    """For each task those whose books go into it: loads of the last stage before it of each of its materials."""
    loads: dict[tuple[int, str], list[int]] = {}
    for k, task in enumerate(tasks):
        loads.setdefault((task.run, task.stage.key), []).append(k)
    out = []
    last: dict[tuple[int, Material], str] = {}
    stage_before: dict[Material, str | None] = {}
    for task in tasks:
        found: set[int] = set()
        materials = [m for m in task.stage.takes if runs[task.run].format.per_book(m)]
        if not task.load:
            stage_before = {m: last.get((task.run, m)) for m in materials}
            last |= {(task.run, m): task.stage.key for m in materials}
        here = runs[task.run].copies(task.stage.key)
        for key in {key for key in stage_before.values() if key is not None}:
            # what is spoiled on the way is spread evenly: book i here needs the first (i + 1) x there / here of before
            need = -(-task.last * runs[task.run].copies(key) // here)
            found |= {j for j in loads[task.run, key] if tasks[j].first < need}
        out.append(sorted(found))
    return out
