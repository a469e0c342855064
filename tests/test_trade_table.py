"""The check values T01 to T54 of the trade, one row each: computed here, expected, its source, and how far it is to be trusted.

Flags: V read in the source itself, V2 reported by a second one, D derived, M from memory, C common practice, no source. The
rows are printed as a table at the end of the test report.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass

import pytest

from nesting import Cutter, Sheet
from nesting.lengths import TICKS_PER_INCH, TICKS_PER_MM, parse
from nesting.notebook import corners, folding, paper, scoring, sizes, stapling, trimming
from nesting.notebook.allowances import blank_of
from nesting.notebook.formats import TRIM_IN, TRIM_IN_SEWN, Format, Grains, Trims, finished_from
from nesting.notebook.reams import Paper, ream_rows
from nesting.programme.steps import cuts_with_stacking, steps

from .drawn_cases import across, grid, layout, piece, shavings
from .trade_report import ROWS

Numbers = Sequence[float]


@dataclass(frozen=True)
class Row:
    """One check value. `relative`: whether `tolerance` is a share of what is expected."""

    id: str
    what: str
    got: Callable[[], Numbers]
    expected: Numbers
    tolerance: float
    source: str
    flag: str
    relative: bool = False


def mm(*lengths: int) -> list[float]:
    return [length / TICKS_PER_MM for length in lengths]


def sides(name: str) -> list[float]:
    size = sizes.find(name)
    return mm(size.width, size.height)


def grams(pounds: float, kind: str) -> float:
    return paper.read_grammage(f"{pounds:g} lb {kind}")


def area_m2(name: str) -> float:
    return math.prod(sides(name)) / 1e6


BOOK = [0.29] + [0.1] * 12  # cover outside


def creeps(calipers: Sequence[float]) -> Numbers:
    return [folding.creep(calipers, fold) for fold in folding.FOLDS]


def gallivan(folds: int) -> float:
    """Length used up in units of pi t, every layer outward taking twice our round push-out more (Gallivan 2002)."""
    step = 2 * folding.push_out([1.0, 1.0], "round")[1] / math.pi
    return sum(layer * step for fold in range(folds) for layer in range(1, 2**fold + 1))


def pieces_out(sheet: str, width: str, height: str) -> Numbers:
    """Pieces of one size from one sheet, and percent of waste, by the search."""
    name, w, h = sizes.read(sheet, "mm")
    flat = [parse(side, "mm") / TICKS_PER_MM for side in (width, height)]
    free = Format.make("piece", flat[0] / 2, flat[1], 1, trim=0, grains=Grains(folio="off"))
    (row,) = ream_rows(free, [Paper.of_sides(name, w, h)], 1)
    assert row.proven
    return row.pieces, 100 * row.waste


def halved_settings() -> Numbers:
    """T40: 0.060 in off the far edge of 40 in first, then the half."""
    sheet = Sheet.rectangle("p", "40 in", "10 in", true_edges="all")
    made = layout(sheet, across("39.94 in", across("19.97 in", piece("half"), piece("half")), shavings))
    return [step.setting / TICKS_PER_INCH for step in steps(made, sheet, Cutter()) if step.setting is not None]


def strip(gutter: float, ends: float) -> Numbers:
    """T42: width of four strips of 105 with gutters between and both ends trimmed, and the cuts they take."""
    width = 4 * 105 + 3 * gutter + 2 * ends
    sheet = Sheet.rectangle("p", width, 100, true_edges="all")
    branch, at = shavings, width - ends
    for i in range(4):
        branch = across(at, piece("strip"), branch)
        at -= 105
        if i < 3 and gutter:
            branch = across(at, shavings, branch)
            at -= gutter
    return width, len(steps(layout(sheet, across(at, shavings, branch)), sheet, Cutter()))


def grain_of_half() -> float:
    """T35: 0 where the halves of grain-long A4 lie with the grain along the spine unturned."""
    a4 = Sheet.rectangle("A4", 210, 297, grain="y", material="folio")
    (turn,) = blank_of(Format.make("half A5", 102, 142.5), "folio").turns_on(a4)
    return turn


def grid_cuts() -> Numbers:
    found = grid(4, 2, 105, 148, 0, 0)
    return len(steps(found.layouts[0], found.sheets[0], None)), cuts_with_stacking(found.layouts[0])


def a6() -> Numbers:
    return mm(*(side for made in Format.make("A6", 105, 148).allowances() for side in (made.width, made.height)))


def card_error(reference: str, over: float) -> float:
    """T52: 0.1 mm wrong on the long side of a reference grows with the length that is measured by it."""
    return 0.1 * over / sides(reference)[1]


TABLE = (
    Row("T01", "841 x 1189 halved four times", lambda: sizes.halved(841, 1189, 4), (210, 297), 0, "ISO 216", "V2"),
    Row("T02", "A6", lambda: sides("A6"), (105, 148), 0, "ISO 216", "V2"),
    Row("T03", "B4, not 352", lambda: sides("B4"), (250, 353), 0, "ISO 216", "V2"),
    Row("T04", "C6", lambda: sides("C6"), (114, 162), 0, "ISO 269", "V2"),
    Row("T05", "JIS B5, JIS B6", lambda: [*sides("JIS B5"), *sides("JIS B6")], (182, 257, 128, 182), 0, "JIS P 0138", "V2"),
    Row("T06", "RA2, SRA3", lambda: [*sides("RA2"), *sides("SRA3")], (430, 610, 320, 450), 0, "ISO 217", "V2"),
    Row("T07", "m2 of A0, RA0, SRA0", lambda: [area_m2(n) for n in ("A0", "RA0", "SRA0")], (0.999949, 1.0492, 1.1520), 1e-6,
        "ISO 216, ISO 217", "D"),
    Row("T08", "tolerance of trimmed sides", lambda: [sizes.trimmed_tolerance(s) for s in (148, 150, 151, 600, 601)],
        (1.5, 1.5, 2, 2, 3), 0, "ISO 216", "V2"),
    Row("T09", "tolerance of untrimmed sides", lambda: [sizes.untrimmed_tolerance(s) for s in (600, 640, 1000, 1220)],
        (3, 4, 4, 5), 0, "ISO 479:1975", "V"),
    Row("T10", "ANSI C in mm", lambda: sides("ANSI C"), (431.8, 558.8), 0.05, "ASME Y14.1", "V2"),
    Row("T11", "3 reams + 4 quires", lambda: [paper.read_count("3 reams + 4 quires")], (1600,), 0, "ISO 4046-3", "V2"),
    Row("T12", "20 lb bond", lambda: [grams(20, "bond")], (75.2,), 1e-3, "printwiki", "V", True),
    Row("T13", "28 lb bond", lambda: [grams(28, "bond")], (105.3,), 1e-3, "Sylvamo", "V", True),
    Row("T14", "90 lb text", lambda: [grams(90, "text")], (133.218,), 1e-3, "Xerox paper guide", "V", True),
    Row("T15", "100 lb cover", lambda: [grams(100, "cover")], (270.42,), 1e-3, "Xerox paper guide", "V", True),
    Row("T16", "110 lb index, 67 lb bristol", lambda: [grams(110, "index"), grams(67, "bristol")], (198.88, 147), 2e-3,
        "Xerox factors; weight tables", "V", True),
    Row("T17", "103.6 g/m2 in lb of 25 x 38", lambda: [paper.basis_weight(103.6, 25, 38)], (69.93,), 2e-3, "printwiki", "V",
        True),
    Row("T18", "lb to g/m2, the constant", lambda: [paper.POUND_CONSTANT], (1406.13916,), 1e-5, "definition", "D"),
    Row("T19", "a ream of A4, 80 g/m2, in g", lambda: [paper.mass(*sides("A4"), 80, 500)], (2494.8,), 0.1, "ISO 536 quantity",
        "D"),
    Row("T20", "60 g/m2 of bulk 1.5 and 2.0", lambda: [paper.caliper(60, 1.5), paper.caliper(60, 2.0)], (0.090, 0.120), 1e-6,
        "Holmen", "V"),
    Row("T21", "bulk of 75 g/m2, 0.095 mm", lambda: [paper.bulk(75, 0.095)], (1.267,), 1e-3, "JCP O-63", "V"),
    Row("T22", "bulk of 255 g/m2 index", lambda: [paper.bulk(255, 0.290)], (1.137,), 1e-3, "JCP K10", "V"),
    Row("T23", "bulk of 105 g/m2 map paper", lambda: [paper.bulk(105, 0.100)], (0.952,), 1e-3, "JCP E10", "V"),
    Row("T24", "98 leaves of 170 g/m2, bulk 1", lambda: [paper.pile_height(98, 170, 1.0)], (16.7,), 0.05, "kawidruck", "V"),
    Row("T25", "leaves and pages of 12 folios", lambda: [folding.leaves(12), folding.pages(12)], (24, 48), 0,
        "Roberts & Etherington", "V"),
    Row("T26", "closed thickness, stitch grip", lambda: [folding.closed_thickness(BOOK), folding.stitch_grip(BOOK)],
        (2.98, 1.49), 1e-6, "geometry", "D"),
    Row("T27", "printers' creep, 48 pages 135 g/m2", lambda: [folding.printers_creep(48, 0.135)], (1.62,), 1e-6,
        "onlineprinters", "V"),
    Row("T28", "creep of 12 x 0.100", lambda: creeps([0.1] * 12), (1.100, 1.7279, 2.200), 1e-4, "geometry", "D"),
    Row("T29", "the same in a cover of 0.29", lambda: creeps(BOOK), (1.295, 2.0342, 2.590), 1e-4, "geometry", "D"),
    Row("T30", "A4, 3 mm thick: centre page", lambda: [210 - folding.creep([1.5 / 60] * 60, "square")], (207,), 0.2, "webmartuk",
        "V"),
    Row("T31", "16 sheets of 0.005 in, in mm", lambda: [25.4 * folding.creep([0.005] * 16, "sharp")], (1.905,), 1e-6,
        "Color Vision", "V/D"),
    Row("T32", "Gallivan's lengths, 1 to 3 folds", lambda: [gallivan(n) for n in (1, 2, 3)], (1, 4, 14), 1e-9, "Gallivan 2002",
        "V"),
    Row("T33", "trims 1/8 and 3/16 in", lambda: mm(TRIM_IN, TRIM_IN_SEWN), (3.175, 4.7625), 1e-6, "Gray; Roberts & Etherington",
        "V"),
    Row("T34", "blanks of A6, trims 3", a6, (216, 154) * 3, 0, "rule V, values D", "D"),
    Row("T35", "A4 halved, folded, trimmed; its turn", lambda: [*finished_from(210, 148.5, Trims()), grain_of_half()],
        (102, 142.5, 0), 0, "geometry", "D"),
    Row("T36", "8.5 x 11 out of 17 x 22, waste %", lambda: pieces_out("17 x 22 in", "8.5 in", "11 in"), (4, 0), 0.01,
        "forum worked example", "V"),
    Row("T37", "8.5 x 11 out of 25 x 38, waste %", lambda: pieces_out("25 x 38 in", "8.5 in", "11 in"), (8, 21.26), 0.01,
        "cancellation method", "D"),
    Row("T38", "8.5 x 11 out of 23 x 35, waste %", lambda: pieces_out("23 x 35 in", "8.5 in", "11 in"), (8, 7.08), 0.01,
        "cancellation method", "D"),
    Row("T39", "216 x 154 out of SRA3 and SRA2", lambda: [*pieces_out("SRA3", "216", "154"), *pieces_out("SRA2", "216", "154")],
        (4, 7.60, 8, 7.60), 0.01, "cancellation method", "D"),
    Row("T40", "settings for halving 40 in", halved_settings, (39.940, 19.970), 0, "Palko 2011", "V"),
    Row("T41", "cuts of a 2 x 4 grid; stacked", grid_cuts, (7, 4), 0, "arithmetic", "D"),
    Row("T42", "4 x 105, gutter 6, ends 3; butted", lambda: [*strip(6, 3), *strip(0, 3)], (444, 8, 426, 5), 0, "arithmetic", "D"),
    Row("T43", "500 sheets of 0.1, lift 20", lambda: trimming.lifts(500, 800, 20 * TICKS_PER_MM), (200, 3), 0,
        "arithmetic", "D"),
    Row("T44", "sheets of 0.1 in a lift of 70", lambda: [trimming.lifts(700, 800, 70 * TICKS_PER_MM)[0] or 0], (700,), 0,
        "do-druck", "V"),
    Row("T45", "297 across the grain, 0.4 %", lambda: [paper.damp_growth(sides("A4")[1], max(paper.DAMP_ACROSS))], (1.188,),
        1e-6, "trade blog, bond", "V2/D"),
    Row("T46", "11/32, 9/32, 8/32 in", lambda: mm(*(parse(f"{n}/32 in") for n in (11, 9, 8))), (8.731, 7.144, 6.350), 1e-3,
        "US rulings", "V2"),
    Row("T47", "DIN no. 25: 30 lines of 9 mm on A4", lambda: [mm(30 * parse("9 mm"))[0], sides("A4")[1] // 9 >= 30], (270, True),
        0, "DIN 16552-1", "V2"),
    Row("T48", "two staples on 148", lambda: mm(*stapling.places(Format.make("A6", 105, 148))), (37, 111), 0, "none", "C"),
    Row("T49", "wire 24 and 25 in mm; saving", lambda: [*mm(parse("0.023 in"), parse("0.0204 in")), 1 - 8496 / 10800],
        (0.584, 0.518, 0.213), 1e-3, "wire supplier's table", "V"),
    Row("T50", "corner 6.35: area, edge, tip", lambda: [f(6.35) for f in (corners.area, corners.shorter, corners.tip)],
        (8.653, 2.725, 2.630), 1e-3, "geometry; Formax", "V/D"),
    Row("T51", "ID-1; its inches are rounded apart", lambda: [*sides("ID-1"), parse("3.370 in") == sizes.find("ID-1").height],
        (53.98, 85.60, False), 0, "ISO/IEC 7810", "V2"),
    Row("T52", "0.1 mm on a card, on A4, over 594", lambda: [card_error("ID-1", 594), card_error("A4", 594)], (0.694, 0.200),
        1e-3, "derived", "D"),
    Row("T53", "wrap, round and square", lambda: [folding.wrap(BOOK, "round"), folding.wrap(BOOK, "square")], (1.245, 2.400),
        1e-3, "geometry", "D"),
    Row("T54", "crease for 0.290, rule 0.71", lambda: [scoring.crease(0.290)[0]], (1.29,), 1e-6, "Condat; rule memory", "V/M"),
)  # fmt: skip


@pytest.mark.parametrize("row", TABLE, ids=[row.id for row in TABLE])
def test_row(row: Row) -> None:
    got = list(row.got())
    tolerance = {"rel": row.tolerance} if row.relative else {"abs": row.tolerance}
    right = got == pytest.approx(list(row.expected), **({"abs": 1e-9} if not row.tolerance else tolerance))
    ROWS.append((row.id, row.what, _shown(row.expected), _shown(got), row.source, row.flag, "" if right else "WRONG"))
    assert right, (got, row.expected)


def _shown(numbers: Numbers) -> str:
    return " ".join(f"{number:g}" if not isinstance(number, bool) else str(number) for number in numbers[:5])


def test_all_rows_are_there() -> None:
    assert [row.id for row in TABLE] == [f"T{n:02}" for n in range(1, 55)]
    assert {row.flag for row in TABLE} <= {"V", "V2", "D", "M", "C", "V/D", "V2/D", "V/M"}
