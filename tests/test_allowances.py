"""Folding and allowances against published and worked figures (the rest: `test_trade_table`), B1, B2, B3, B6."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from nesting.blanks import Blank
from nesting.errors import InputError
from nesting.lengths import TICKS_PER_INCH, TICKS_PER_MM, parse
from nesting.notebook import allowances, folding
from nesting.notebook.formats import Dummy, Format, Grains, Trims, finished_from
from nesting.sheets import Sheet

BOOK = [0.29] + [0.1] * 12  # cover outside, T26 and T29


def test_t27_printers_rule() -> None:
    assert folding.printers_creep(48, 0.135) == pytest.approx(1.62, abs=1e-6)  # onlineprinters "Bundzuwachs"
    # Geometry has one interval less (trade.md trap 10).
    assert folding.creep([0.135] * 12, "sharp") == pytest.approx(1.485, abs=1e-6)


def test_t32_gallivans_lengths() -> None:
    # Gallivan 2002: L = pi t / 6 (2^n + 4)(2^n - 1); every layer outward takes pi t more, which is our round fold.
    step = 2 * folding.push_out([1.0, 1.0], "round")[1]
    assert step == pytest.approx(math.pi)
    for folds, expected in ((1, 1), (2, 4), (3, 14)):
        used = sum(layer * step for fold in range(folds) for layer in range(1, 2**fold + 1)) / math.pi
        assert used == pytest.approx(expected)
        assert used == pytest.approx((2**folds + 4) * (2**folds - 1) / 6)


def test_t35_a4_halved_folded_trimmed() -> None:
    assert finished_from(210, 148.5, Trims()) == (102, 142.5)
    # Grain long in the A4 sheet lies along the spine of its halves, without a turn.
    a4 = Sheet.rectangle("A4", 210, 297, grain="y", material="folio")
    folio = allowances.blank_of(Format.make("half A5", 102, 142.5), "folio")
    assert (folio.width, folio.height) == (210 * TICKS_PER_MM, 148.5 * TICKS_PER_MM)
    assert folio.turns_on(a4) == (0,)
    with pytest.raises(InputError, match="trims"):
        finished_from(6, 100, Trims())


def test_t53_cover_wrap() -> None:
    # R = 1.49, t = 0.29: geometry
    assert folding.wrap(BOOK, "sharp") == 0
    assert folding.wrap(BOOK, "round") == pytest.approx(1.245, abs=1e-3)
    assert folding.wrap(BOOK, "square") == pytest.approx(2.400, abs=1e-3)


@given(st.lists(st.floats(0.02, 0.8), min_size=1, max_size=60))
def test_round_creep_by_arcs_agrees(calipers: list[float]) -> None:
    """A second construction: quarter turns of each sheet's middle line about the innermost point of the spine."""
    total = sum(calipers)
    depth, reach = 0.0, []
    for caliper in calipers:
        radius = total - depth - caliper / 2
        reach.append(total - math.pi / 2 * radius)  # from the outside of the spine, past half the flat width
        depth += caliper
    expected = [r - reach[0] for r in reach]
    assert folding.push_out(calipers, "round") == pytest.approx(expected, abs=1e-9)
    assert folding.wrap(calipers, "round") == pytest.approx(max(0.0, -2 * reach[0]), abs=1e-9)


INCH_B1 = {"trim": "1/8 in", "unit": "in"}
B1 = Format.make("B1", "3-1/2 in", "5-1/2 in", **INCH_B1)
B2 = Format.make("B2", "3-1/2 in", "5-1/4 in", head="3/32 in", tail="3/32 in", fore_edge="1/8 in", true_up="1/16 in", unit="in")


def sides(blank: Blank) -> tuple[int, int]:
    return blank.width, blank.height


def test_b1_folio() -> None:
    # bench story B1: common practice, no source
    folio = allowances.blank_of(B1, "folio")
    assert sides(folio) == (parse("7-1/4 in"), parse("5-3/4 in"))
    assert folio.grain == "y" and folio.material == "folio"


def test_b2_folio_is_cut_larger_and_trued_up() -> None:
    # bench story B2: common practice, no source
    made = next(m for m in B2.allowances() if m.material == "folio")
    assert made.trued_height == parse("5-7/16 in") and made.height == parse("5-1/2 in")
    assert sides(allowances.blank_of(B2, "folio")) == (parse("7-1/4 in"), parse("5-1/2 in"))
    assert "folio: cut at 5-1/2 in, then true up at 5-7/16 in" in [r.text for r in allowances.remarks(B2)]


def test_true_up_only_where_sheets_are_halved() -> None:
    heights = {m.material: m.true_up for m in B2.allowances()}
    assert heights == {"cover": 0, "card": parse("1/16 in"), "folio": parse("1/16 in")}


def test_b3_cover() -> None:
    # bench story B3: finished 90 x 140, trims 3: cover 186 x 146
    assert sides(allowances.blank_of(Format.make("B3", 90, 140), "cover")) == (186 * TICKS_PER_MM, 146 * TICKS_PER_MM)


B6 = Format.make("B6", 90, 140, folio_caliper=0.1, card_caliper=0.3, cover_caliper=0.12, glue_caliper=0.02)


def test_b6_thickness() -> None:
    # bench story B6: common practice, no source
    assert B6.stitch_grip() == round(1.64 * TICKS_PER_MM)
    assert B6.closed_thickness() == round(3.28 * TICKS_PER_MM)


def lines(fmt: Format, material: str) -> dict[str, int]:
    made = next(m for m in fmt.allowances() if m.material == material)
    return {line.label: line.ticks for line in (*made.width_lines, *made.height_lines)}


def test_overhang_is_never_counted_twice() -> None:
    # All three blanks of a plain format are alike: the trims are the overhang (trade.md section 9).
    assert len({(m.width, m.height) for m in B6.allowances()}) == 1
    slack = Format.make("slack", 90, 140, slack=1.5)
    cover, card, folio = slack.allowances()
    assert (cover.width - card.width, cover.height - card.height) == (3 * TICKS_PER_MM, 3 * TICKS_PER_MM)
    assert (card.width, card.height) == (folio.width, folio.height) == (186 * TICKS_PER_MM, 146 * TICKS_PER_MM)


def test_creep_is_named_and_not_added() -> None:
    assert lines(B6, "folio")["creep: not added, comes off with the fore-edge trim"] == 0
    asked = Format.make("asked", 90, 140, folio_caliper=0.1, card_caliper=0.3, cover_caliper=0.12, glue_caliper=0.02,
                        creep_room=True)  # fmt: skip
    # Shell 0.44, 12 x 0.10, round: pi/2 (0.44 + 1.1 + 0.05 - 0.22) = 2.152, up to a setting: 2.2 a side.
    for material in ("cover", "card", "folio"):
        assert lines(asked, material)["creep room, both sides"] == round(4.4 * TICKS_PER_MM)


def wrapped(wrap: str, folio: float = 0.1, unit: str = "mm", fold: str = "round") -> Format:
    return Format.make("w", 90, 140, folio_caliper=folio, card_caliper=0.3, cover_caliper=0.12, glue_caliper=0.02,
                       wrap=wrap, unit=unit, fold=fold)  # fmt: skip


def test_wrap_goes_to_cover_and_card_and_not_to_folios() -> None:
    # R = 1.64, r = 1.42: pi r - 2 R = 1.181, up to a setting: 1.2
    for material in ("cover", "card"):
        assert lines(wrapped("yes"), material)["wrap at the spine"] == round(1.2 * TICKS_PER_MM)
    assert "wrap at the spine" not in lines(wrapped("yes"), "folio")
    assert "wrap at the spine" not in lines(wrapped("no"), "cover")
    assert lines(wrapped("yes", unit="in"), "cover")["wrap at the spine"] == parse("3/64 in")


def test_wrap_under_1_mm_only_where_always_asked() -> None:
    # 12 x 0.06: R = 1.16, r = 0.94: 0.633
    assert "wrap at the spine" not in lines(wrapped("yes", 0.06), "cover")
    assert lines(wrapped("always", 0.06), "cover")["wrap at the spine"] == round(0.7 * TICKS_PER_MM)
    assert not any("wrap" in r.text for r in allowances.remarks(wrapped("no", 0.06)))


def test_wrap_without_calipers_is_refused() -> None:
    with pytest.raises(InputError, match="caliper"):
        Format.make("w", 90, 140, wrap="yes")


def warnings(fmt: Format) -> list[str]:
    return [r.text for r in allowances.remarks(fmt) if r.kind == "warning"]


def test_warns_where_the_trim_cannot_pass_the_creep() -> None:
    assert warnings(Format.make("thin", 90, 140, folio_caliper=0.05, card_caliper=0.2, cover_caliper=0.1)) == []
    thick = {"folio_caliper": 0.1, "card_caliper": 0.3, "cover_caliper": 0.12, "folios": 24}
    found = warnings(Format.make("thick", 90, 140, **thick))
    # creep pi/2 (0.42 + 2.3 + 0.05 - 0.21) = 4.0 against 3 mm
    assert any("the fore-edge steps by ~4 mm" in text and "creep_room" in text for text in found)
    room = Format.make("room", 90, 140, creep_room=True, **thick)
    assert not any("steps" in text for text in warnings(room))


def test_warns_where_the_cover_does_not_reach() -> None:
    # Square back, 30 folios: the cover loses R - t = 3.0 of its 3 mm trim; a wrap mends it.
    bulky = {"folio_caliper": 0.1, "card_caliper": 0.3, "cover_caliper": 0.12, "folios": 30, "fold": "square"}
    assert any("lose" in text for text in warnings(Format.make("bulky", 90, 140, fore_edge=3, **bulky)))
    assert not any("lose" in text for text in warnings(Format.make("mended", 90, 140, wrap="yes", fore_edge=4.5, **bulky)))
    assert any("lose" in text for text in warnings(Format.make("not mended", 90, 140, wrap="no", fore_edge=3.5, **bulky)))


def test_losses_by_hand() -> None:
    # B6, round: shell r = 1.42: pi/2 1.42 - 1.64 = 0.5905; first folio r = 1.15: 0.1664; last r = 0.05: -1.5615
    lost = [x / TICKS_PER_MM for x in allowances.losses(B6, B6.layers() or ())]
    assert (lost[0], lost[1], lost[-1]) == pytest.approx((0.5905, 0.1664, -1.5615), abs=1e-3)


def test_unmeasured_paper_is_said_and_not_guessed() -> None:
    plain = Format.make("A6", 105, 148)
    assert plain.layers() is None and plain.unmeasured() == ("cover", "card", "folio")
    assert any("creep is not reckoned" in r.text for r in allowances.remarks(plain))


def test_grain_and_print_rules() -> None:
    cover, card, folio = B6.blanks(10)
    # the card governs: soft for a thin cover, its print firmer (design.md section 3; common practice, no source)
    assert (cover.grain, card.grain, folio.grain) == (("y", round(0.02 * cover.area_mm2)), "y", "y")
    assert (cover.up, cover.turns) == (("+y", round(0.05 * cover.area_mm2)), (0, 90, 180, 270))
    off = Format.make("o", 90, 140, grains=Grains(cover="off"), cover_up=False).blanks(10)[0]
    assert (off.grain, off.up) == (None, None)
    assert card.turns == folio.turns == (0, 90)
    ruled = Format.make("r", 90, 140, grains=Grains("spine", "off", "across"), cover_up=True)
    cover, card, folio = ruled.blanks(10)
    assert (cover.grain, card.grain, folio.grain) == ("y", None, "x")
    assert (cover.up, cover.turns) == ("+y", (0, 90, 180, 270))
    upside_down = Sheet.rectangle("s", 400, 400, grain="y", up="-y", material="cover")
    assert cover.turns_on(upside_down) == (180,)


def test_quantities() -> None:
    assert [(b.name, b.quantity, b.material) for b in B6.blanks(40)] == [
        ("B6 cover", 40, "cover"), ("B6 card", 40, "card"), ("B6 folio", 480, "folio")]  # fmt: skip
    assert [b.quantity for b in B6.blanks()] == [None] * 3
    no_card = Format.make("self", 90, 140, cards=0)
    assert [b.name for b in no_card.blanks(1)] == ["self cover", "self folio"]


@pytest.mark.parametrize("books", [0, -1, 1.5, True, 10**9, "40"])
def test_books_refused(books: object) -> None:
    with pytest.raises(InputError, match="books"):
        B6.blanks(books)  # type: ignore[arg-type]


def test_landscape_keeps_the_spine_at_the_side() -> None:
    wide = Format.make("wide", 148, 105)
    assert wide.orientation == "landscape"
    folio = allowances.blank_of(wide, "folio")
    assert sides(folio) == (302 * TICKS_PER_MM, 111 * TICKS_PER_MM) and folio.grain == "y"


def test_weight_of_the_folios_is_told() -> None:
    known = Format.make("B8", 90, 140, folio_grammage=80.0)
    assert any("12 folios weigh 26.1 g" in r.text and "2.2 g" in r.text for r in allowances.remarks(known))


def made_dummy(**dummy: int) -> Format:
    return Format.make("B6", 90, 140, folio_caliper=0.1, card_caliper=0.3, cover_caliper=0.12, glue_caliper=0.02,
                       dummy=Dummy(**dummy))  # fmt: skip


def test_the_dummy_comes_before_what_is_reckoned() -> None:
    t = TICKS_PER_MM
    dummy = made_dummy(thickness=3 * t, creep=16_000, height=139 * t)
    assert dummy.closed_thickness() == 3 * t and dummy.stitch_grip() == round(1.64 * t)  # stapled before it is pressed
    assert lines(dummy, "folio")["finished height, measured on the dummy"] == 139 * t
    assert [m.height for m in dummy.allowances()] == [145 * t] * 3
    least, expected, most = allowances.creep_range(dummy) or (0, 0, 0)
    # shell 0.44, 12 x 0.1: 0.22 + 1.1 + 0.05 = 1.37 apart
    assert (least / t, expected / t, most / t) == pytest.approx((1.37, 2.0, 2.74))
    assert any("creep: the middle leaves stand out 2 mm (measured on the dummy" in r.text for r in allowances.remarks(dummy))
    x0, y0, x1, y1 = allowances.front_of(dummy)
    assert (x1 - x0, y1 - y0) == (90 * t, 139 * t)


def test_the_dummys_creep_bends_the_wrap_too() -> None:
    """A creep as by the round fold gives the round fold's wrap and losses: one shape of fold for both."""
    layers = B6.layers() or ()
    as_round = made_dummy(creep=round(folding.creep(layers, "round")))
    assert allowances.wrap_of(as_round) == allowances.wrap_of(B6)
    assert allowances.losses(as_round, layers) == pytest.approx(allowances.losses(B6, layers), abs=2)
    assert allowances.wrap_of(made_dummy(creep=round(folding.creep(layers, "sharp")))) == 0


def test_a_dummy_that_cannot_be_is_measured_again() -> None:
    assert any("measure the dummy" in text for text in warnings(made_dummy(creep=5 * TICKS_PER_MM)))
    assert not any("measure the dummy" in text for text in warnings(made_dummy(creep=2 * TICKS_PER_MM)))


def test_a_dummy_stands_in_for_calipers() -> None:
    bare = Format.make("bare", 90, 140, dummy=Dummy(24_000, 16_000))
    assert (bare.closed_thickness(), bare.stitch_grip()) == (24_000, 12_000)
    assert allowances.creep_range(bare) == (16_000, 16_000, 16_000)
    room = Format.make("room", 90, 140, dummy=Dummy(creep=16_000), creep_room=True)
    assert lines(room, "folio")["creep room, both sides"] == 32_000


def test_flap_and_turn_in_take_the_place_of_the_fore_edge_trim() -> None:
    t = TICKS_PER_MM
    cover, card, folio = Format.make("f", 90, 140, flap=60, turn_in=15).allowances()
    assert (cover.width, card.width, folio.width) == ((180 + 120 + 30) * t, (180 + 120) * t, 186 * t)
    assert {m.height for m in (cover, card, folio)} == {146 * t}  # head and tail are trimmed through everything
    turned = Format.make("t", 90, 140, turn_in=15)
    assert [m.width for m in turned.allowances()] == [210 * t, 180 * t, 186 * t]
    assert any("before the cover goes on" in r.text for r in allowances.remarks(turned))
    x0, _, x1, _ = allowances.front_of(Format.make("f", 90, 140, flap=60))
    assert (x0, x1) == (150 * t, 240 * t)


def test_a_cover_with_a_flap_that_falls_short_asks_for_wrap() -> None:
    bulky = {"folio_caliper": 0.1, "card_caliper": 0.3, "cover_caliper": 0.12, "folios": 16, "flap": 60}
    assert any('wrap = "always"' in text for text in warnings(Format.make("short", 90, 140, **bulky)))
    assert not any('wrap = "always"' in text for text in warnings(Format.make("reaches", 90, 140, wrap="always", **bulky)))


mm_lengths = st.integers(1, 8_000 * 3).map(lambda t: t / 8_000)


@given(
    st.integers(20, 300), st.integers(20, 300), st.integers(1, 40), mm_lengths, mm_lengths, mm_lengths, mm_lengths, mm_lengths,
    st.sampled_from(folding.FOLDS), st.sampled_from(("no", "yes", "always")), st.booleans(), st.sampled_from(("mm", "in")),
    st.floats(0.03, 0.3),
)  # fmt: skip
def test_lines_sum_to_the_blank_the_planner_gets(
    w: int, h: int, folios: int, head: float, tail: float, fore: float, slack: float, true_up: float, fold: str, wrap: str,
    room: bool, unit: str, caliper: float,
) -> None:  # fmt: skip
    fmt = Format.make("x", w, h, folios, head=head, tail=tail, fore_edge=fore, slack=slack, true_up=true_up, fold=fold, wrap=wrap,
                      creep_room=room, unit=unit, folio_caliper=caliper, card_caliper=0.3, cover_caliper=0.1)  # fmt: skip
    for made, blank in zip(fmt.allowances(), fmt.blanks(3), strict=True):
        assert (made.name, made.per_book * 3) == (blank.name, blank.quantity)
        assert sum(line.ticks for line in made.width_lines) == blank.width
        assert sum(line.ticks for line in made.height_lines) == blank.height
        assert all(line.ticks >= 0 and line.label and line.source for line in (*made.width_lines, *made.height_lines))
        assert blank.width >= 2 * w * TICKS_PER_MM and blank.height >= h * TICKS_PER_MM
    allowances.remarks(fmt)


def test_inch_and_mm_workshops_agree() -> None:
    inch = Format.make("i", "3-1/2 in", "5-1/2 in", trim="1/8 in", unit="in")
    metric = Format.make("i", 88.9, 139.7, trim=3.175)
    assert [sides(b) for b in inch.blanks()] == [sides(b) for b in metric.blanks()]
    assert sides(inch.blanks()[0]) == (29 * TICKS_PER_INCH // 4, 23 * TICKS_PER_INCH // 4)
