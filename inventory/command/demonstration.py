"""`quirestock demo`: a workshop of our own making, and the whole main job done in it with the real commands."""

from __future__ import annotations

import os
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from nesting.errors import InputError

from .common import DONE, emit, say

if TYPE_CHECKING:
    from nesting import Blank, Sheet
    from nesting.cutters import Cutter

FILES = ("workshop.toml", "salvage.txt", "bought.txt", "pocket.toml", "job.toml")
PLAN = "job-plan/plan.json"
STEPS: tuple[tuple[str, tuple[str, ...]], ...] = (
    ("What was saved, and what was bought, goes into the stock book.", ("sheet", "import", "salvage.txt")),
    ("", ("sheet", "import", "bought.txt")),
    ("The pile as a picture, to hold beside the heap.", ("sheet", "picture", "--out", "pile.pdf")),
    ("A notebook becomes blanks: what to cut, and why so large.", ("notebook", "blanks", "pocket.toml", "--books", "32")),
    ("How many books a ream gives; 495 sheets of it are good.",
     ("ream", "pocket.toml", "--count", "495", "--size", "A4", "--size", "RA2", "--size", "SRA2", "--size", "letter")),
    ("The job is planned, checked and drawn.", ("plan", "job.toml")),
    ("A second look at the plan, by code that shares nothing with the search.", ("check", PLAN)),
)  # fmt: skip
AFTER: tuple[tuple[str, tuple[str, ...]], ...] = (
    ("At the bench the sheets are cut; the stock book is told.", ("cut", PLAN)),
    ("What came back to stock.", ("sheet", "list", "--kind", "offcut")),
    ("And the book still adds up.", ("book", "verify")),
)


def demo(
    folder: Annotated[Path, typer.Argument(metavar="DIR", help="Where the demo workshop is made.")],
) -> None:
    """Make a demo workshop in DIR and do the whole main job in it, with the commands as you would type them."""
    if (folder / "job.toml").exists() and (folder / "workshop.toml").exists():
        # no error: whoever types the README's command again has what it makes
        say(f"{folder} holds a workshop already: nothing was changed. Look at {folder / PLAN},")
        say("or name another folder for a new demo.")
        return
    if folder.is_file() or (folder.is_dir() and any(folder.iterdir())):
        raise InputError("demo, DIR", "a new or empty folder", str(folder), "Name another; nothing was changed.")
    _make(folder)
    with _inside(folder):
        for told, words in STEPS:
            _run(told, words)
        _compare()
        for told, words in AFTER:
            _run(told, words)
    emit("")
    emit(f"Print the cut diagrams:  {folder / 'job-plan' / 'plan.pdf'}")
    emit(f"The pile as a picture:   {folder / 'pile.pdf'}")
    emit(f"Next:  cd {folder}  and put in a sheet of your own:  quirestock sheet add '420 x 297; torn R 15'")


def _make(folder: Path) -> None:
    from importlib.resources import files

    from inventory.errors import StorageError
    from inventory.files import write_whole

    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise StorageError(f"The folder {folder} cannot be made ({error.strerror}). Name another.") from None
    for name in FILES:
        write_whole(folder / name, files("inventory.scenario").joinpath(name).read_bytes())


@contextmanager
def _inside(folder: Path) -> Iterator[None]:
    """Work in a folder, as a maker would, with its own stock book."""
    before, book = Path.cwd(), os.environ.pop("QUIRESTOCK_BOOK", None)
    os.chdir(folder)
    try:
        yield
    finally:
        os.chdir(before)
        if book is not None:
            os.environ["QUIRESTOCK_BOOK"] = book


def _run(told: str, words: tuple[str, ...]) -> None:
    from .main import status

    if told:
        emit(f"\n# {told}")
    emit(f"$ quirestock {' '.join(words)}")
    code = status(words)
    if code != DONE:
        say(f"The demo stops here: quirestock {' '.join(words)} ended with code {code}.")
        raise typer.Exit(code)


def _compare() -> None:
    """The hand way against the search, on every irregular sheet of the pile, for one cover size."""
    from inventory.formats import load

    from .common import open_book, workshop

    shop = workshop()
    cover = next(b for b in load("A6", shop.bare_unit, shop.allowances).blanks(None) if b.material == "cover")
    with open_book(None, readonly=True) as stock:
        odd = [s.sheet for s in stock.sheets(material="cover") if not s.sheet.is_clear_rectangle]
    by_hand, planned, most = compare(odd, cover, shop.cutter)
    from nesting.lengths import number, show

    emit("\n# What the search is worth: covers from the irregular sheets alone.")
    emit(f"{len(odd)} irregular sheets, covers {number(cover.width, shop.unit)} x {show(cover.height, shop.unit)}:")
    emit(f"  by hand (largest clear rectangle, then a plain grid)  {by_hand}")
    emit(f"  by quirestock                                         {planned}")
    emit(f"  no more than                                          {most}  are possible at the angles tried")


def compare(sheets: list[Sheet], cover: Blank, cutter: Cutter) -> tuple[int, int, int]:
    """Covers by the hand way, covers by the search, and the limit, over single sheets; rules with a price left out."""
    import nesting
    from nesting.search.handway import hand_way

    cover = cover.with_rules(*(rule if isinstance(rule, str) else None for rule in (cover.grain, cover.up)))
    by_hand = planned = most = 0
    for sheet in sheets:
        count = sheet.count or 1
        by_hand += count * hand_way(sheet, cover, cutter)
        try:
            found = nesting.fill(sheet, [cover], cutter)
        except nesting.ImpossibleJob:
            continue
        planned += count * (found.layout.counts().get(cover.name, 0) if found.layout else 0)
        most += count * round(found.upper_bound / float(cover.area_mm2))
    return by_hand, planned, most


__all__ = ["compare", "demo"]
