"""What the label of a bought paper says of size and grain, however it is written; what it does not say is asked.

An underlined figure lies along the grain in the United States and across it in Germany, and some mills write the grain's
figure second: neither is ever read as grain (trade.md traps 1 and 2).

>>> read_label("11M x 17 in").grain, read_label("long grain A4").grain, read_label("64 x 88 cm").grain
('short', 'long', None)
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import Literal

from nesting.errors import InputError
from nesting.lengths import Unit, exact, rounded, show
from nesting.sheets import Grain

from .sizes import read

LabelGrain = Literal["long", "short"]
_TRY = "Bend the sheet both ways: it bends more easily round the grain. Then write grain long or grain short."
_UNDERLINED = ("An underlined figure lies along the grain in the United States, across it in Germany, so it says nothing here. "
               + _TRY)  # fmt: skip
_UNSAID = "The label does not say the grain. " + _TRY
_UNMARKED = "The order of the two figures says nothing: some mills write the grain's figure second. " + _TRY

# German SB and BB: Schmalbahn, grain along the long side, and Breitbahn (zfamedien.de).
_WORDS: dict[str, LabelGrain] = {
    "schmalbahn": "long", "sb": "long", "breitbahn": "short", "bb": "short", "lg": "long", "sg": "short",
}  # fmt: skip
_WORD = re.compile(r"\b(schmalbahn|breitbahn|sb|bb|lg|sg)\b", re.IGNORECASE)
_SIDE = re.compile(r"\b(?:(long|short)[\s-]+grain(?:ed)?|grain(?:ed)?[\s:-]+(long|short))\b", re.IGNORECASE)
# "M" on the figure of the machine direction: 11M x 17 is grain short (Xerox paper guide).
_M = re.compile(r"(?<=[0-9½¼¾⅛⅜⅝⅞])\s*(?:M|\(M\))(?=\s*(?:x|×|by\b|,|;|$|in\b|cm\b|mm\b|\"))")
_ALONG = re.compile(r"[,;]?\s*\bgrain(?:\s+(?:along|parallel\s+to))?\s*:?\s+(?=[0-9½¼¾])([^,;]+)", re.IGNORECASE)
_UNDERLINE = re.compile(r"</?u>|[\u0332_]|\bunderlined?\b", re.IGNORECASE)


@dataclass(frozen=True)
class Label:
    """A bought size in ticks as written, first figure first; `grain` None where the label does not say it for sure.

    `question`: what to do then, else nothing.
    """

    name: str
    width: int
    height: int
    grain: LabelGrain | None
    question: str = ""

    @property
    def axis(self) -> Grain | None:
        """The grain of the sheet as it lies, first figure across."""
        if self.grain is None:
            return None
        wide = self.width > self.height
        return "x" if wide == (self.grain == "long") else "y"


def read_label(text: str, unit: Unit | None = None, field: str = "label") -> Label:
    """Size and grain of a label: `25 x 38 in grain long`, `11M x 17 in`, `SRA2 SB`, `17 x 22 in, grain 22`.

    Raises InputError for no size, for marks that contradict each other, and for a long or short side of a square sheet.
    """
    rest, underlined = _UNDERLINE.subn("", text)
    found: list[LabelGrain] = []
    rest = _SIDE.sub(lambda m: _note(found, (m[1] or m[2]).lower()), rest)
    rest = _WORD.sub(lambda m: _note(found, _WORDS[m[1].lower()]), rest)
    along = [m[1].strip() for m in _ALONG.finditer(rest)]
    rest = _ALONG.sub(" ", rest)
    marked = [rest[: m.start()].count("x") + rest[: m.start()].count("×") for m in _M.finditer(rest)]
    rest = _M.sub("", rest).strip(" ,;")
    if re.search(r"\bgrain", rest, re.IGNORECASE):
        raise InputError(field, "grain long, grain short, or grain and its figure", text, _TRY)
    name, width, height = read(rest, unit, field)
    square = width == height
    for side in marked:
        found.append(_long(width if side == 0 else height, width, height))
    written = re.search(r"(?:mm|cm|in|\")\s*$", rest)
    for figure in along:
        said = figure if re.search(r"[a-zA-Z\"″]$", figure) or not written else f"{figure} {written.group()}"
        length = rounded(exact(said, unit, f"{field}, grain"), "down")
        if length not in (width, height):
            sides = f"{show(width, unit or 'mm')} or {show(height, unit or 'mm')}"
            raise InputError(f"{field}, grain", f"one of its sides, {sides}", figure)
        found.append(_long(length, width, height))
    if len(set(found)) > 1 or len(marked) > 1:
        raise InputError(field, "one grain", text, f"Its marks contradict each other. {_TRY}")
    if square and (found or marked):
        raise InputError(field, "no long or short grain of a square sheet", text,
                         "Mark the edge along the grain in pencil.")
    if found:
        return Label(name, width, height, found[0])
    figures = len(re.findall(r"[0-9½¼¾⅛⅜⅝⅞]+", rest)) > 1
    return Label(name, width, height, None, _UNDERLINED if underlined else _UNMARKED if figures else _UNSAID)


def _note(found: list[LabelGrain], word: str) -> str:
    found.append("long" if word == "long" else "short")
    return " "


def _long(side: int, width: int, height: int) -> LabelGrain:
    return "long" if side == max(width, height) else "short"
