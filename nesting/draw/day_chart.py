"""The work plan as a chart: a panel a day, a row a stage; work in black boxes, waiting hatched."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from typing import TYPE_CHECKING

from ..notebook.workplan import Task, WorkPlan
from . import furniture, ink
from .furniture import FOOT, LEFT, RIGHT, TOP
from .ink import Page
from .summary import CAUTIONS

if TYPE_CHECKING:
    from matplotlib.figure import Figure

_DAY = 24 * 60
_HEAD, _PANEL_HEAD, _ROW, _GAP = 19.0, 12.0, 6.4, 5.0  # mm
_LABEL = 46.0
KEY = "black: your hands are needed, with the number of the load; hatched: it waits in the press, do something else"
ORDER = "Every load goes on as soon as what it needs is there; another order may suit you better."


@dataclass(frozen=True)
class _Bar:
    start: float
    end: float
    text: str
    waits: bool
    on: bool  # goes on beyond the day


@dataclass(frozen=True)
class _Panel:
    day: int
    work: Fraction
    rows: tuple[tuple[str, tuple[_Bar, ...]], ...]

    @property
    def height(self) -> float:
        return _PANEL_HEAD + _ROW * len(self.rows) + _GAP


def clock(minutes: float | Fraction) -> str:
    """Minutes from midnight as on a clock.

    >>> clock(545)
    '9:05'
    """
    whole = round(minutes)
    return f"{whole // 60 % 24}:{whole % 60:02d}"


def day_pages(plan: WorkPlan, *, day_start: int, day_minutes: int, paper: str = "A4", title: str = "Work plan") -> list[Figure]:
    """Pages of the chart. `day_start`: minutes from midnight. Raises InputError for an unknown paper."""
    width, tall = ink.papers(paper)
    room = width - RIGHT - LEFT
    notes = [KEY, ORDER, *CAUTIONS]
    foot = FOOT + 8 + furniture.note_height(notes, room)
    pages: list[list[_Panel]] = [[]]
    left = tall - TOP - _HEAD - foot
    for panel in _panels(plan, day_minutes):
        if panel.height > left and pages[-1]:
            pages.append([])
            left = tall - TOP - _HEAD - foot
        pages[-1].append(panel)
        left -= panel.height
    out = []
    for number, panels in enumerate(pages, 1):
        page = Page(paper)
        furniture.bound_edge(page)
        top, right = page.height - TOP, page.width - RIGHT
        page.line([(LEFT, top), (right, top)], ink.WIDE)
        page.text(LEFT, top - 4.2, "Work plan: what when, and for how long", 9, True)
        page.text(LEFT, top - 13.5, ink.shortened(title, right - LEFT, 17, True), 17, True)
        y = top - _HEAD
        for panel in panels:
            _draw(page, panel, y, day_start, day_minutes)
            y -= panel.height
        furniture.notes(page, LEFT, foot - 2, room, notes)
        days = f"{plan.days} {'day' if plan.days == 1 else 'days'} with work, {float(plan.work) / 60:.1f} h"
        furniture.footer(page, "", number, len(pages), days)
        out.append(page.figure)
    return out


def _panels(plan: WorkPlan, day_minutes: int) -> list[_Panel]:
    last = max((block.day for block in plan.blocks), default=-1)
    out = []
    for day in range(last + 1):
        rows: dict[tuple[int, str], list[_Bar]] = {}
        blocks = [block for block in plan.blocks if block.day == day]
        for block in blocks:
            task = plan.tasks[block.task]
            bar = _Bar(float(block.start), float(block.end), str(task.load + 1) if _loads(plan, task) > 1 else "", False, False)
            rows.setdefault((task.run, task.stage.key), []).append(bar)
        for k, start, end in plan.waits:
            low, high = max(start - day * _DAY, Fraction(0)), end - day * _DAY
            if low < day_minutes and high > 0:
                key = plan.tasks[k].run, plan.tasks[k].stage.key
                bar = _Bar(float(low), float(min(high, Fraction(day_minutes))), "", True, high > day_minutes)
                rows.setdefault(key, []).append(bar)
        order = list(dict.fromkeys((t.run, t.stage.key) for t in plan.tasks))
        named = tuple((_name(plan, key), tuple(rows[key])) for key in order if key in rows)
        if named:
            out.append(_Panel(day, sum((b.end - b.start for b in blocks), Fraction(0)), named))
    return out


def _loads(plan: WorkPlan, task: Task) -> int:
    return next(r.loads for r in plan.rows if r.run == plan.names[task.run] and r.stage.key == task.stage.key)


def _name(plan: WorkPlan, key: tuple[int, str]) -> str:
    title = next(t.stage.title for t in plan.tasks if (t.run, t.stage.key) == key)
    return title if len(plan.names) == 1 else f"{title}, {plan.names[key[0]]}"


def _draw(page: Page, panel: _Panel, top: float, day_start: int, day_minutes: int) -> None:
    x0, right = LEFT + _LABEL, page.width - RIGHT
    scale = (right - x0) / day_minutes
    worked = f"{float(panel.work):.0f} min of work" if panel.work < 90 else f"{float(panel.work) / 60:.1f} h of work"
    page.text(LEFT, top - 4.6, f"day {panel.day + 1}", 12, True)
    page.text(LEFT, top - 9.4, worked if panel.work else "nothing to do but wait", ink.SMALL)
    y0, y1 = top - _PANEL_HEAD - _ROW * len(panel.rows), top - _PANEL_HEAD
    first = -(-day_start // 60) * 60
    every = 60 if day_minutes <= 9 * 60 else 120
    for minute in range(first, day_start + day_minutes + 1, every):
        x = x0 + (minute - day_start) * scale
        page.line([(x, y0), (x, y1 + 1.5)], ink.NARROW * 0.6, colour="#777777", zorder=0.5)
        page.text(min(x, right - 5), y1 + 2.6, clock(minute), ink.SMALL, ha="center" if x > x0 else "left")
    page.line([(LEFT, y1), (right, y1)], ink.NARROW)
    for k, (name, bars) in enumerate(panel.rows):
        low = y1 - (k + 1) * _ROW
        page.text(LEFT + 0.8, low + 1.9, ink.shortened(name, _LABEL - 2, 9), 9)
        page.line([(LEFT, low), (right, low)], ink.NARROW * 0.6, colour="#555555", zorder=0.5)
        for bar in bars:
            _bar(page, bar, low, x0, scale)
    page.line([(LEFT, y0), (right, y0)], ink.NARROW)


def _bar(page: Page, bar: _Bar, low: float, x0: float, scale: float) -> None:
    a, b = x0 + bar.start * scale, x0 + bar.end * scale
    if bar.waits:
        ring = ink.corners((a, low + 1.6, b, low + _ROW - 1.6))
        page.area([ring], fill=ink.WHITE, edge=ink.BLACK, thick=ink.NARROW, zorder=1)
        page.hatch([ring], 1.4, ink.NARROW * 0.7)
        if bar.on and b - a > 5:
            page.arrow((b - 4.5, low + _ROW / 2), (b, low + _ROW / 2), ink.WIDE, 2.4)
        return
    page.area([ink.corners((a, low + 0.9, max(b, a + 0.5), low + _ROW - 0.9))], fill=ink.BLACK, edge=ink.WHITE,
              thick=ink.NARROW, zorder=3)  # fmt: skip
    if bar.text and ink.width(bar.text, ink.SMALL, True) + 0.8 <= b - a:
        page.text((a + b) / 2, low + _ROW / 2, bar.text, ink.SMALL, True, ha="center", va="center", colour=ink.WHITE)
