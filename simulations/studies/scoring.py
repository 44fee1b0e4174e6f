"""One firing judged and its judgement held against the truth."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import inf
from time import process_time

from daemon.firing.events import Alert, AlertChanged, Part, Rank
from daemon.firing.report import Report, judge
from simulations.cases import Expected, ToJudge
from simulations.studies.consequences import as_due
from simulations.studies.onsets import Course, onset_s
from simulations.studies.quiet import drags, is_as_meant, mechanism
from simulations.truth import TruePart

QUIET_ROWS = ("clean", "harsh")
EARLY_S = 90.0
"""An alert may come this much before the true onset; an earlier one was about something else [s].
[chosen: an onset found on the true course may lie some readings late]"""
SHORT_S = 60.0
"""True parts shorter than this are left out: nobody could see them [s]. [chosen: a dozen readings]"""
_SHOWS_LATER = ("power", "lid")
"""Onsets at which a fault that is there already has come to something; no other fault comes between.
[derived: the onsets of onsets.py whose fault is what is told]"""
NEAR_S, FAR_S = 180, 600
"""A boundary counts as found within either [s]. [chosen: 3 and 10 min are what figures are told by]"""


@dataclass(frozen=True, slots=True)
class Answer:
    """What a watcher made of one thing it should have said.

    Attributes
    ----------
    rank
        What it should have reached.
    raised_min, woke_min
        Minutes from the true onset until it was told, and until it woke (from when that was due); None where
        it never was.
    named
        The name the first alert of it had in the end, or None.
    is_named_right, is_ranked_right
        Whether that name is right; whether the rank was reached, and no higher one.
    lost_k
        How far the probe's true temperature had gone from the onset until it was told [K].
    """

    kinds: tuple[str, ...]
    rank: str
    raised_min: float | None
    woke_min: float | None
    named: str | None
    is_named_right: bool
    is_ranked_right: bool
    lost_k: float | None


@dataclass(frozen=True, slots=True)
class Score:
    """One firing's figures.

    Attributes
    ----------
    answers
        One for each thing that should have been said.
    is_as_meant
        Whether what was to go wrong truly did, and a quiet firing's plan was run; where not, the firing counts
        for nothing but its cost.
    wakes, looks
        Alerts of a clean firing by their highest rank, as (kind, second); consequences left out. In a faulty
        one, those that have nothing to do with the fault: told before it began, or by no name that fits it.
    boundaries, within_3, within_10, missing, extra
        Ends of true parts; how many were found within so many minutes; parts not found, and found that never
        were.
    cpu_s, fire_s, readings
        What judging cost, what firing cost, and how many readings there were.
    mechanisms, look_mechanisms
        What truly went on at each of ``wakes`` and of ``looks``, where nothing was wrong.
    """

    name: str
    row: str
    answers: tuple[Answer, ...]
    is_as_meant: bool
    wakes: tuple[tuple[str, float], ...]
    looks: tuple[tuple[str, float], ...]
    boundaries: int
    within_3: int
    within_10: int
    missing: int
    extra: int
    cpu_s: float
    fire_s: float
    readings: int
    mechanisms: tuple[str, ...] = ()
    look_mechanisms: tuple[str, ...] = ()


def score(case: ToJudge) -> Score:
    """Fire the case, judge it, and hold the judgement against the truth."""
    began_s = process_time()
    fired = case.fire()
    fired_s = process_time()
    case = case.labelled(fired)
    report = judge(case.setup, case.entries(fired))
    judged_s = process_time()
    course = Course(case, fired)
    wanted = [as_due(expected, course) for expected in case.expected]
    onsets = [onset_s(expected, course) for expected in wanted]
    answers = tuple(
        answer(expected, at_s, report, course)
        for expected, at_s in zip(wanted, onsets, strict=True) if at_s is not None
    )
    first_s = min((at_s for at_s in onsets if at_s is not None), default=None)
    is_quiet = case.row in QUIET_ROWS
    wakes, looks = _unexpected(case, report, None if first_s is None else min(first_s, _began_s(wanted, course)),
                                fired.truth.parts)
    true_parts = [p for p in fired.truth.parts if p.end_s is None or p.end_s - p.start_s >= SHORT_S]
    right = compare_boundaries(true_parts, report.parts) if not case.keyed else (0, 0, 0, 0, 0)
    return Score(
        case.name, case.row, answers,
        len(answers) == len(case.expected) and (not is_quiet or is_as_meant(case, course)),
        wakes, looks, *right,
        judged_s - fired_s, fired_s - began_s, report.readings,
        *(tuple(mechanism(case, course, at_s) for _, at_s in told) if is_quiet else () for told in (wakes, looks)),
    )


def answer(expected: Expected, at_s: float, report: Report, course: Course) -> Answer:
    """Return what the report says to what was expected from ``at_s`` on.

    An alert that told of the beginning already and takes the right name now says so by that: nobody is woken twice.
    An alert that is a consequence of another counts only where no other does. Of a power cut or an open lid that is
    due to be told later than it came, what was told meanwhile counts as told when it was due.
    """
    cut = course.happened(expected.fault) if expected.onset in _SHOWS_LATER else None
    began_s = at_s if cut is None else min(cut.at_s, at_s)
    wanted = {*expected.kinds, *expected.near}
    loud_s = {} if expected.rank == "log" else _loud_s(report)
    heard = [(_told_s(alert, expected, at_s, loud_s.get(alert.no, alert.raised_s)), alert) for alert in report.alerts
             if _names(alert) & wanted and (alert.rank is not Rank.LOG or expected.rank == "log")]
    told = [(told_s if told_s >= at_s - EARLY_S else at_s, alert) for told_s, alert in heard
            if began_s - EARLY_S <= told_s <= at_s + expected.within_s]
    told = [(told_s, alert) for told_s, alert in told if alert.under is None] or told
    if not told:
        return Answer(expected.kinds, expected.rank, None, None, None, False, False, None)
    first_s, first = min(told, key=lambda entry: entry[0])
    due_s = at_s + expected.wake_after_s
    woken = [max(alert.woke_s, told_s) for told_s, alert in told
             if alert.woke_s is not None and alert.woke_s <= due_s + expected.within_s]
    before_c, after_c = course.at(at_s), course.at(first_s)
    return Answer(
        expected.kinds, expected.rank, (first_s - at_s) / 60, (min(woken) - due_s) / 60 if woken else None,
        first.kind, first.kind in expected.kinds, _is_ranked_right(expected, first, is_woken=bool(woken)),
        None if before_c is None or after_c is None else abs(after_c - before_c),
    )


def _loud_s(report: Report) -> dict[int, float]:
    """Return when each alert, by its number, was first more than a line in the log [s]."""
    first_s: dict[int, float] = {}
    for event in report.events:
        if isinstance(event, AlertChanged) and event.alert.rank is not Rank.LOG:
            first_s.setdefault(event.alert.no, event.t_s)
    return first_s


def _told_s(alert: Alert, expected: Expected, at_s: float, raised_s: float) -> float:
    """Return when an alert told of what is expected: when it was raised or, earlier than that, took its last name.

    ``raised_s`` is when it was first more than a line in the log [s], where more was expected.
    """
    if alert.raised_s < at_s - EARLY_S and alert.named and alert.kind in expected.kinds:
        return alert.named[-1][0]
    return raised_s


def _is_ranked_right(expected: Expected, first: Alert, *, is_woken: bool) -> bool:
    """Return whether the rank was reached, and no higher one without leave."""
    if expected.rank == "log":
        return first.rank is Rank.LOG and not is_woken
    return is_woken if expected.rank == "wake" else not is_woken or expected.is_wake_fine


def _names(alert: Alert) -> set[str]:
    """Return every kind the alert was ever called by."""
    return {alert.kind, *(kind for _, kind in alert.named)}


def _began_s(wanted: Sequence[Expected], course: Course) -> float:
    """Return when the first of the faults began [s], infinity for none.

    What a fault brings about begins with it, though what is asked for may be due later: a controller that begins
    again after an hour without power has let the kiln fall for that hour.
    """
    happened = [found.at_s for expected in wanted if (found := course.happened(expected.fault)) is not None]
    return min(happened, default=inf)


def _unexpected(
    case: ToJudge, report: Report, first_s: float | None, true_parts: Sequence[TruePart] = (),
) -> tuple[tuple[tuple[str, float], ...], tuple[tuple[str, float], ...]]:
    """Return the wakes and looks that were not expected: before ``first_s`` [s], or by none of the right names."""
    fine = {kind for expected in case.expected for kind in (*expected.kinds, *expected.near)}
    unexpected = [
        alert for alert in report.alerts
        if alert.under is None and not _is_weak_kiln(alert, case, true_parts) and (
            first_s is None or _last_s(alert) < first_s - EARLY_S or _names(alert).isdisjoint(fine))
    ]
    return (
        tuple((a.kind, a.woke_s if a.woke_s is not None else a.raised_s) for a in unexpected if a.rank is Rank.WAKE),
        tuple((a.kind, a.raised_s) for a in unexpected if a.rank is Rank.LOOK),
    )


def _is_weak_kiln(alert: Alert, case: ToJudge, true_parts: Sequence[TruePart]) -> bool:
    """Return whether an alert says that the kiln does not climb while it truly can't do what its plan asks.

    That is so whatever else goes wrong. A quiet firing in such a kiln is left out of its row (``is_as_meant``). Where
    another plan was keyed, the true parts are that one's, and say nothing of what the chosen plan asks.
    """
    return alert.kind == "not-climbing" and case.keyed is None and any(
        drags(case, part) and part.start_s <= alert.raised_s <= (part.end_s or inf) for part in true_parts)


def _last_s(alert: Alert) -> float:
    """Return when an alert last changed: was raised, renamed or woke [s]."""
    return max(alert.raised_s, *(named_s for named_s, _ in alert.named), alert.woke_s or 0.0)


def compare_boundaries(true: Sequence[TruePart], found: Sequence[Part]) -> tuple[int, int, int, int, int]:
    """Return boundaries that could be seen, found within 3 and 10 min, parts missing and parts too many.

    A boundary is where a part begins; one before the first reading, or that leaves no mark, can't be seen. Any time
    between the controller's own and the one at which the curve bends is right. Parts are matched in order by step and
    kind, each with the nearest of its like.
    """
    left = list(found)
    seen = within_3 = within_10 = missing = 0
    for part in true:
        like = [p for p in left if (p.step, p.part) == (part.step, part.part)]
        match = min(like, key=lambda p: (part.off_s(p.start_s), abs(p.start_s - part.start_s)), default=None)
        if match is None:
            missing += 1
        else:
            left.remove(match)
        if part.start_s <= 0 or part.bend_s == inf:
            continue
        seen += 1
        if match is not None:
            off_s = part.off_s(match.start_s)
            within_3 += off_s <= NEAR_S
            within_10 += off_s <= FAR_S
    return seen, within_3, within_10, missing, len(left)
