"""A contact sheet of single firings: what a study missed, or woke for, as small pictures side by side."""

from __future__ import annotations

from collections.abc import Sequence

from daemon.firing.events import Rank
from daemon.firing.report import Report, judge
from simulations.cases import ToJudge
from simulations.firing import Simulated
from simulations.studies.onsets import Course, onset_s
from simulations.studies.small_picture import Picture, Tick, sheet
from simulations.studies.study import case_named, each

_COLUMNS = 3
"""Pictures side by side. [chosen: three across fill a wide window]"""


def contact_sheet(names: Sequence[str], title: str, jobs: int | None = None) -> str:
    """Return the firings named, judged again, as one SVG of small pictures.

    Each has the readings, hairlines where parts truly began, a broken line where something went wrong, and a
    tick with its kind for every alert: heavy where it woke.
    """
    cells = each(_cell, names, jobs) if names else ['<text x="14" y="24">none</text>']
    return sheet(cells, title, _COLUMNS)


def _cell(name: str) -> str:
    """Fire, judge and draw the firing of that name."""
    case = case_named(name)
    fired = case.fire()
    case = case.labelled(fired)
    return "".join(_picture(case, fired, judge(case.setup, case.entries(fired))).svg())


def _picture(case: ToJudge, fired: Simulated, report: Report) -> Picture:
    """Return one firing's picture, with what was asked and what was told of it."""
    course = Course(case, fired)
    onsets_s = [onset_s(expected, course) for expected in case.expected]
    asked = "; ".join(f"{'/'.join(expected.kinds)}, {expected.rank}" for expected in case.expected)
    return Picture(
        heading=case.name, note=f"asked: {asked}" if asked else "", samples=fired.samples,
        begins_s=[part.start_s for part in fired.truth.parts],
        wrong_s=[at_s for at_s in onsets_s if at_s is not None], highest_c=case.plan.highest_c,
        ticks=[Tick(a.kind, a.raised_s, a.rank is Rank.WAKE) for a in report.alerts
               if a.under is None and a.rank is not Rank.LOG],
    )
