"""How badly the watcher did in one firing, as two numbers of a hunt can be compared: too loud, or too late."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from daemon.firing.durations import firing_clock
from daemon.firing.events import Alert, Rank
from daemon.firing.report import Report, judge
from simulations.cases import Case, Expected
from simulations.studies.consequences import as_due
from simulations.studies.onsets import Course, onset_s
from simulations.studies.quiet import is_as_meant, mechanism
from simulations.studies.scoring import answer

LATE_MIN = 12.0
"""A wake that is due is late from so many minutes on.
[derived: the longest 95th percentile that simulations.studies.delay_targets promises of a wake]"""


@dataclass(frozen=True, slots=True)
class Badness:
    """What a hunt makes of one firing.

    Attributes
    ----------
    weight
        Figures of which the first that differs decides; more is worse.
    mechanism
        Firings with the same mechanism are one finding.
    told
        What happened, in words.
    is_bad
        Whether it counts as a mistake of the watcher: it woke for nothing, or late, or never.
    """

    weight: tuple[float, ...]
    mechanism: str
    told: str
    is_bad: bool


def loudness(case: Case) -> Badness | None:
    """Return how loudly a quiet firing wakes; None where it was not run as meant.

    Alerts that wake count first, then the minutes that they stood until the watcher took them back, which tells how
    sure it was, then the looks and how long they stood.
    """
    fired = case.fire()
    course = Course(case, fired)
    if not is_as_meant(case, course):
        return None
    report = judge(case.setup, case.entries(fired))
    own = [alert for alert in report.alerts if alert.under is None]
    wakes = [alert for alert in own if alert.rank is Rank.WAKE]
    looks = [alert for alert in own if alert.rank is Rank.LOOK]
    looks_min = round(sum(_stood_min(alert, report) for alert in looks), 1)
    if not wakes:
        # Each kind of look is gone on from: it is from there that a small change may wake.
        kind = max(looks, key=lambda alert: _stood_min(alert, report)).kind if looks else "no look"
        return Badness((0.0, 0.0, float(len(looks)), looks_min), f"no wake: {kind}",
                       f"Wakes nobody; {_looks(looks)}.", False)
    stood_min = sum(_stood_min(alert, report) for alert in wakes)
    first = min(wakes, key=_woke_s)
    why = mechanism(case, course, _woke_s(first))
    told = ", ".join(f"{alert.kind} at {firing_clock(_woke_s(alert))}" for alert in wakes)
    return Badness(
        (float(len(wakes)), round(stood_min, 1), float(len(looks)), looks_min), f"{first.kind}: {why}",
        f"Wakes for nothing: {told}; stood for {stood_min:.0f} min in all; {_looks(looks)}. "
        f"What went on: {why}.", True)


def _looks(looks: list[Alert]) -> str:
    """Return how many looks there were, in words."""
    return f"{len(looks)} {'look' if len(looks) == 1 else 'looks'}"


def _woke_s(alert: Alert) -> float:
    """Return when an alert woke [s]."""
    return alert.raised_s if alert.woke_s is None else alert.woke_s


def _stood_min(alert: Alert, report: Report) -> float:
    """Return how long an alert stood after it woke, at most to the end of the firing [min]."""
    until_s = report.duration_s if alert.cleared_s is None else alert.cleared_s
    return max(0.0, until_s - _woke_s(alert)) / 60


def silence(case: Case) -> Badness | None:
    """Return how late the worst fault that should wake is told; None where none came to that.

    Never told is worse than told for the morning only, and that is worse than late; then minutes and kelvins decide.
    """
    if not any(expected.rank == "wake" for expected in case.expected):
        return None
    fired = case.fire()
    course = Course(case, fired)
    due = [(wanted, at_s) for wanted in (as_due(expected, course) for expected in case.expected)
           if wanted.rank == "wake" and (at_s := onset_s(wanted, course)) is not None]
    if not due:
        return None
    report = judge(case.setup, case.entries(fired))
    return max((_lateness(case, wanted, at_s, report, course) for wanted, at_s in due), key=lambda bad: bad.weight)


def _lateness(case: Case, wanted: Expected, at_s: float, report: Report, course: Course) -> Badness:
    """Return how late one thing was told that should wake, from ``at_s`` on [s].

    What never woke has lost the minutes for which the study waits, and what the reading truly moved in them.
    """
    got = answer(wanted, at_s, report, course)
    height = 0 if got.woke_min is not None else 2 if got.raised_min is None else 1
    minutes = wanted.within_s / 60 if got.woke_min is None else max(0.0, got.woke_min)
    before_c = course.at(at_s)
    after_c = course.at(at_s + wanted.wake_after_s + minutes * 60)
    if after_c is None and course.temps:
        after_c = course.temps[-1]
    lost_k = 0.0 if before_c is None or after_c is None else abs(after_c - before_c)
    said = (f"woke {minutes:.1f} min late", "told for the morning only", "never told")[height]
    return Badness(
        (float(height), round(minutes, 1), round(lost_k, 1)), case.row,
        f"{wanted.kinds[0]}, due {firing_clock(at_s + wanted.wake_after_s)}: {said}; the reading truly moved "
        f"{lost_k:.0f} K in {minutes:.0f} min.", bool(height) or minutes > LATE_MIN)


AIMS: dict[str, Callable[[Case], Badness | None]] = {"wakes": loudness, "silence": silence}
"""What a hunt can look for."""
