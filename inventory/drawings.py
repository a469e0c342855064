"""Figures written to files: one PDF of all pages, or an SVG or PNG of each.

The same figures give the same bytes: no dates are written, and names inside SVG are fixed.
"""

from __future__ import annotations

import io
import re
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

from nesting.errors import InputError

from .errors import StorageError
from .files import write_whole

if TYPE_CHECKING:
    from matplotlib.figure import Figure

FORMATS = ("pdf", "svg", "png")
DOTS_PER_INCH = 200
# letters keep their true width (no hinting), and stay text in a PDF
_SETTINGS: dict[str, Any] = {"text.hinting": "none", "pdf.fonttype": 42, "svg.fonttype": "path", "svg.hashsalt": "quirestock"}


def write_pages(figures: Sequence[Figure], folder: str | Path, stem: str, format: str = "pdf") -> list[Path]:
    """Write the pages into a folder, made where needed, and return the files.

    `format` "pdf": all pages in STEM.pdf; "svg" or "png": STEM-1, STEM-2, ... with leading zeros. Each file is
    written whole or not at all. Pages of that name and format that an earlier run has left are removed after it.
    Raises InputError for another format, StorageError where folder or file cannot be made, or an old page not removed.
    """
    kind = format.lower()
    if kind not in FORMATS:
        raise InputError("--format", ", ".join(FORMATS[:-1]) + f" or {FORMATS[-1]}", format)
    target = Path(folder)
    _make(target)
    if kind == "pdf":
        path = target / f"{stem}.pdf"
        write_whole(path, pdf_bytes(figures))
        return [path]
    digits = len(str(len(figures)))
    out = []
    for number, figure in enumerate(figures, 1):
        path = target / f"{stem}-{number:0{digits}d}.{kind}"
        write_whole(path, page_bytes(figure, kind))
        out.append(path)
    _remove_others(target, stem, kind, out)
    return out


def _remove_others(folder: Path, stem: str, kind: str, kept: Sequence[Path]) -> None:
    """Remove STEM-1, STEM-2, ... of this format but the pages kept: they belong to an earlier run. Raises StorageError."""
    page = re.compile(rf"{re.escape(stem)}-[0-9]+\.{kind}")
    names = {path.name for path in kept}
    for old in sorted(folder.iterdir()):
        if page.fullmatch(old.name) and old.name not in names and old.is_file():
            try:
                old.unlink()
            except OSError as error:
                raise StorageError(f"{old} is a page of an earlier run and cannot be removed ({error.strerror or error}). "
                                   "Delete it: it is none of these.") from None  # fmt: skip


def pdf_bytes(figures: Sequence[Figure]) -> bytes:
    """All pages as one PDF, without a date."""
    import matplotlib
    from matplotlib.backends.backend_pdf import PdfPages

    out = io.BytesIO()
    with matplotlib.rc_context(_SETTINGS), PdfPages(out, metadata={"Creator": "quirestock", "CreationDate": None}) as pdf:
        for figure in figures:
            pdf.savefig(figure)
    return out.getvalue()


def page_bytes(figure: Figure, kind: str) -> bytes:
    """One page as SVG or PNG, without a date."""
    import matplotlib

    metadata = {"Date": None, "Creator": "quirestock"} if kind == "svg" else {"Software": "quirestock"}
    out = io.BytesIO()
    with matplotlib.rc_context(_SETTINGS):
        figure.savefig(out, format=kind, dpi=DOTS_PER_INCH if kind == "png" else 72, metadata=metadata)
    return out.getvalue()


def _make(folder: Path) -> None:
    """A folder made where there is none. Raises StorageError."""
    if folder.exists() and not folder.is_dir():
        raise StorageError(f"{folder} is a file, a folder is needed for the drawings. Name another with --out.")
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except PermissionError:
        raise StorageError(f"The folder {folder} may not be made here. Name a folder of your own with --out.") from None
    except OSError as error:
        raise StorageError(f"The folder {folder} cannot be made ({error.strerror or error}). Name another with --out.") from None
