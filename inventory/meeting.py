"""A job whose folios' lines are to meet: which of them can be planned so far, and its plan."""

from __future__ import annotations

from collections.abc import Sequence

from nesting import Blank, Plan, Sheet
from nesting.cutters import Cutter
from nesting.errors import InputError
from nesting.lengths import mm

from .jobs import Job


def plan_of_meeting(job: Job, sheets: Sequence[Sheet], blanks: Sequence[Blank], cutter: Cutter | None,
                    least: tuple[int, int] | None) -> Plan:  # fmt: skip
    """The plan of folios of one format from one ruled paper. Raises InputError by name for what is not planned yet."""
    from nesting.notebook.ruled_plan import plan_that_meets

    where = f"job {job.name}"
    if len(blanks) != 1:
        raise InputError(f"{where}, lines_meet", "folios of one format alone, where their lines are to meet",
                         ", ".join(blank.name for blank in blanks),
                         'Write materials = ["folio"] and one [[books]] here, and a second job for the rest.')  # fmt: skip
    usable = [sheet for sheet in sheets if sheet.id not in job.exclude]
    if len(usable) != 1:
        raise InputError(f"{where}, papers", "one ruled paper, where lines are to meet",
                         ", ".join(sheet.id for sheet in usable) or "none", 'Name it: [papers] folio = ["pad-1"].')  # fmt: skip
    if job.aim != "least-stock":
        raise InputError(f"{where}, aim", "least-stock, where lines are to meet", job.aim,
                         "How many books a paper gives: quirestock notebook folios.")  # fmt: skip
    if job.fixed:
        raise InputError(f"{where}, fixed", "none, where lines are to meet", job.fixed[0].blank)
    return plan_that_meets(usable[0], blanks[0], cutter, None if least is None else tuple(mm(v) for v in least))
