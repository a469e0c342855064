"""Why a sheet gives no more, in one line for the bench."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from ..explaining import Counts, Finding, Reason
from ..lengths import Unit, mm, show

_ORDINALS = ("first", "second", "third", "fourth", "fifth", "sixth", "seventh", "eighth", "ninth", "tenth")
NAMED = 8


def reason_lines(reasons: Sequence[Reason], unit: Unit) -> list[str]:
    """A line for each group of sheets, their numbers before it."""
    out: dict[str, list[str]] = {}
    for reason in reasons:
        out.setdefault(reason_line(reason, unit), []).extend(reason.sheets)
    return [f"{_listed(ids)}: {line}" for line, ids in out.items()]


def reason_line(reason: Reason, unit: Unit) -> str:
    """What one sheet gives and why not more."""
    return "; ".join([_counts(reason.gives), *(_said(f, reason.gives, unit) for f in reason.findings)])


def why(reason: Reason, unit: Unit) -> str:
    """Why a sheet gives no more, for a page that says what it gives; empty where that was not looked into."""
    if all(f.kind == "time" for f in reason.findings):
        return ""
    return "Why no more: " + "; ".join(_said(f, reason.gives, unit) for f in reason.findings) + "."


def reason_values(reason: Reason, unit: Unit) -> dict[str, Any]:
    """The same for JSON: lengths in mm."""
    return {"sheets": list(reason.sheets), "layouts": list(reason.layouts), "gives": dict(reason.gives),
            "text": reason_line(reason, unit), "reasons": [_values(f) for f in reason.findings]}  # fmt: skip


def _values(found: Finding) -> dict[str, Any]:
    out: dict[str, Any] = {"kind": found.kind}
    if found.gives:
        out["would_give"] = dict(found.gives)
    if found.kind == "size":
        out |= {"blank": found.blank, "side": found.side, "would_do": mm(found.size), "less": mm(found.less)}
    if found.kind == "paper":
        out["share"] = round(float(found.share), 4)
    if found.kind == "open":
        out["no_more_than"] = found.most
    return out


def _said(found: Finding, gives: Counts, unit: Unit) -> str:
    would = _counts(found.gives)
    if len(found.gives) == 1 and [name for name, _ in found.gives] == [name for name, _ in gives]:
        would = str(found.gives[0][1])  # of the same blank: the number says it
    if found.kind == "size":
        side = {"width": "wide", "height": "high"}[found.side]
        what = "" if len(gives) <= 1 and len(found.gives) == 1 else f"{found.blank} "
        short = f"short by {show(found.less, unit)} each of {_more(found.gives, gives)}"
        return f"{short}: {what}{show(found.size, unit)} {side} would give {would}"
    if found.kind == "grain" and found.unknown:
        return f"its grain is not known: without the grain rule {would}"
    if found.kind == "paper":
        return f"{round(100 * found.share)} % of its good paper is pieces: too little is left for another"
    if found.kind == "open":
        return f"no more than {found.most}{' pieces' if len(gives) > 1 else ''} could be possible"
    return {
        "wanted": f"all that is wanted is made; it could give {would}",
        "mix": f"by itself it could give {would}",
        "grain": f"without the grain rule {would}",
        "print": f"without the print rule {would}",
        "rules": f"without the grain and print rules {would}",
        "damage": f"without its damage {would}",
        "holes": f"without its holes {would}",
        "spoiled": f"without its holes and damage {would}",
        "fixed": "planned around what was chosen for it by hand",
        "squaring": f"if its edges were true {would}",
        "inset": f"without the distance kept from its edges {would}",
        "most": "that is the most it can give: proven" if gives else "nothing that is wanted fits",
        "time": "why no more was not looked into: the time was up",
    }[found.kind]


def _more(would: Counts, gives: Counts) -> str:
    """The first piece that is missing: "a fourth", or more of them."""
    now, then = sum(n for _, n in gives), sum(n for _, n in would)
    if len(would) == 1 and then == now + 1:
        return f"a {_ORDINALS[now]}" if now < len(_ORDINALS) else "one more"
    return f"{then - now} more" if then > now else "more"


def _counts(gives: Counts) -> str:
    return ", ".join(f"{n} {name}" for name, n in gives) or "nothing"


def _listed(ids: Sequence[str]) -> str:
    names = list(dict.fromkeys(ids))
    return ", ".join(names) if len(names) <= NAMED else f"{', '.join(names[:NAMED])} and {len(names) - NAMED} more"
