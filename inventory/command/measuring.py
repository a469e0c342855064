"""`quirestock notebook paper`: what is known of a paper, from its label and from ten sheets of it."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated, Any

import typer

from .common import JsonOption, emit, emit_json, unit_of, workshop

if TYPE_CHECKING:
    from nesting.lengths import Unit
    from nesting.notebook.labels import Label
    from nesting.notebook.measures import Measures

SizeArgument = Annotated[
    str | None,
    typer.Argument(metavar="[LABEL]", help="Size and grain as on the label: 25 x 38 in grain long, 11M x 17 in, SRA2 SB."),
]


def paper(
    label: SizeArgument = None,
    grammage: Annotated[str | None, typer.Option("--grammage", metavar="WEIGHT", help="80, 20 lb bond, 20 lb 17 x 22.")] = None,
    caliper: Annotated[str | None, typer.Option("--caliper", metavar="LENGTH", help="0.1 mm, 10 sheets 1.02 mm, 10 pt.")] = None,
    bulk: Annotated[float | None, typer.Option("--bulk", metavar="CM3/G", help="Caliper in micrometres by grammage.")] = None,
    material: Annotated[str, typer.Option("--for", metavar="MATERIAL", help="folio, card or cover.")] = "folio",
    json: JsonOption = False,
) -> None:
    """A paper's weight, caliper and bulk from any two, and its label's grain."""
    from inventory.stock import MATERIALS
    from nesting.errors import InputError
    from nesting.lengths import TICKS_PER_MM
    from nesting.notebook.formats import chosen
    from nesting.notebook.labels import read_label
    from nesting.notebook.measures import measure, read_caliper
    from nesting.notebook.paper import read_grammage

    shop = workshop()
    for_what: Any = chosen(material, MATERIALS, "--for")
    if label is None and grammage is None and caliper is None and bulk is None:
        raise InputError("paper", "a label, or --grammage, --caliper, --bulk", "nothing", "See quirestock notebook paper --help.")
    size = None if label is None else read_label(label, shop.bare_unit)
    known = None
    if grammage is not None or caliper is not None or bulk is not None:
        grams = None if grammage is None else read_grammage(grammage, "--grammage")
        thick = None if caliper is None else read_caliper(caliper, shop.bare_unit, "--caliper") / TICKS_PER_MM
        known = measure(grams, thick, bulk, material=for_what)
    if json:
        emit_json(_document(size, known))
        return
    emit("\n".join((*_size(size, unit_of(None, shop.unit)), *_measures(known, size, shop.cutter.lift))))


def _size(label: Label | None, unit: Unit) -> list[str]:
    from nesting.lengths import mm, number, show
    from nesting.notebook.paper import DAMP_ACROSS, damp_growth

    if label is None:
        return []
    written: Unit = "in" if label.name.rstrip().endswith(("in", '"')) else unit
    out = [f"{label.name}: {number(label.width, written)} x {show(label.height, written)}"]
    if label.grain is None:
        return [*out, "grain   not known", f"ASK: {label.question}"]
    way = {"x": "across", "y": "up"}[label.axis or "y"]
    across = label.height if label.axis == "x" else label.width
    least, most = (damp_growth(mm(across), percent) for percent in DAMP_ACROSS)
    return [*out, f"grain   {label.grain}: in the stock book, grain {way}",
            f"damp    the side of {show(across, written)} may grow {least:.1f} to {most:.1f} mm (weak figures)"]  # fmt: skip


def _measures(known: Measures | None, label: Label | None, lift: int | None) -> list[str]:
    from nesting.lengths import TICKS_PER_MM, mm
    from nesting.notebook.paper import REAM, mass
    from nesting.notebook.scoring import advice
    from nesting.notebook.trimming import lifts

    if known is None:
        return []
    out = [f"weight  {known.grammage:.1f} g/m2", f"caliper {known.caliper:.3f} mm", f"bulk    {known.bulk:.2f} cm3/g"]
    if label is not None:
        one = mass(mm(label.width), mm(label.height), known.grammage)
        out.append(f"sheet   {one:.1f} g; a ream of {REAM} {one * REAM / 1000:.2f} kg")
    if lift is not None:
        a_lift, count = lifts(REAM, max(1, round(known.caliper * TICKS_PER_MM)), lift)
        out.append(f"lift    {a_lift} sheets; a ream {count} {'lift' if count == 1 else 'lifts'}")
    score = advice(known.grammage)
    if score != "none":
        out.append("fold    score it first" if score == "needed" else "fold    a scored sheet folds cleaner")
    if known.assumed:
        out.append("- the bulk is a usual one and was not measured: measure ten sheets together, --caliper '10 sheets 1.02 mm'.")
    return out


def _document(label: Label | None, known: Measures | None) -> dict[str, Any]:
    from nesting.lengths import mm

    size = None if label is None else {
        "name": label.name, "width": mm(label.width), "height": mm(label.height), "grain": label.grain, "axis": label.axis,
        "question": label.question}  # fmt: skip
    measures = None if known is None else {
        "grammage": known.grammage, "caliper": known.caliper, "bulk": known.bulk, "bulk_assumed": known.assumed}  # fmt: skip
    return {"unit": "mm", "label": size, "paper": measures}
