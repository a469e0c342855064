"""The contact sheet on paper: figures of `nesting.draw.contact` written to a PDF or to PNG files."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from nesting.errors import InputError

if TYPE_CHECKING:
    from inventory.stock import StockSheet
    from inventory.workshop import Workshop


def write_contact_sheet(sheets: Sequence[StockSheet], out: Path, shop: Workshop) -> list[Path]:
    """Write the pages and return the files: one PDF, or a PNG a page (numbered where there are more).

    Raises InputError for another ending, StorageError where a file cannot be written.
    """
    from inventory.drawings import page_bytes, pdf_bytes
    from inventory.files import write_whole
    from nesting.draw.contact import contact_pages

    kind = out.suffix.lower()
    if kind not in (".pdf", ".png"):
        raise InputError("--out", "a file that ends in .pdf or .png", str(out))
    captions = {sheet.id: _caption(sheet) for sheet in sheets}
    pages = contact_pages([sheet.sheet for sheet in sheets], unit=shop.unit, paper=shop.paper, captions=captions)
    if kind == ".pdf":
        write_whole(out, pdf_bytes(pages))
        return [out]
    paths = [out] if len(pages) == 1 else [out.with_name(f"{out.stem}-{i}{out.suffix}") for i in range(1, len(pages) + 1)]
    for path, page in zip(paths, pages, strict=True):
        write_whole(path, page_bytes(page, "png"))
    return paths


def _caption(sheet: StockSheet) -> str:
    from_parent = f"from {sheet.parent}" if sheet.parent else ""
    return ", ".join(part for part in (sheet.sheet.material or "", sheet.source or from_parent, sheet.note) if part)
