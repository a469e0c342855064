"""A fault: one thing that is wrong in a plan."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class Fault:
    """`code`: a short stable word. `where`: the layout, sheet, piece or field. `text`: what is wrong, in a sentence."""

    code: str
    where: str
    text: str

    def __str__(self) -> str:
        return f"{self.where}: {self.text}"
