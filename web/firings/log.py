"""The log of one firing: milestones, what the maker said, gaps, steps of the clock, notes, alerts, as they came.

A milestone stands where its part began, which is known some minutes after it was noticed.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from daemon.firing.events import Milestone, Part, Said, Saying
from daemon.store.found_parts import Gap
from daemon.store.notes import Note
from web import words
from web.firings.alert_entries import AlertEntry
from web.firings.moments import ClockStep, step_words
from web.times import date_words, local

SAID = {
    Saying.VENTED: "You vented.", Saying.LENGTHENED: "You lengthened the hold.",
    Saying.ADVANCED: "You went on to the next step.", Saying.PEEKED: "You looked in.",
    Saying.CALL: "You asked to be called.", Saying.CALL_OFF: "You took a call back.",
    Saying.KEYED_IN: "You keyed lines in; they are the plan from here.",
    Saying.OWN_DISPLAY: "You watch the kiln’s own display: a dead sensor rings no more.",
    Saying.OWN_DISPLAY_OFF: "A dead sensor rings again.",
    Saying.PROBE_OUT: "You took the probe out of service.", Saying.PROBE_BACK: "You put the probe back.",
}
"""What a maker said, in the page's words; acknowledging and asking for quiet stand with their alert."""
NOTICED_S = 120.0
"""From so long after its beginning on it is said when a part was noticed [s]. [chosen: times are in minutes]"""
_HOLDS = ("squeeze-begun", "top-reached", "anneal-begun")
_STEP = "step-"


@dataclass(frozen=True, slots=True)
class Entry:
    """One entry: when, and either words or an alert."""

    t_s: float
    when: str
    text: str = ""
    tone: str = ""
    """``milestone``, ``said``, ``gap`` or ``note``."""
    alert: AlertEntry | None = None


@dataclass(frozen=True, slots=True)
class Day:
    """The entries of one calendar day."""

    date: str
    entries: tuple[Entry, ...]


def chronicle(starts: datetime, alerts: Sequence[tuple[float, AlertEntry]], milestones: Sequence[Milestone],
              said: Sequence[Said], gaps: Sequence[Gap], notes: Sequence[tuple[float, Note]],
              clock: Sequence[ClockStep] = (), parts: Sequence[Part] = ()) -> tuple[Day, ...]:
    """Return the log of a firing by days.

    Parameters
    ----------
    starts
        Wall time of second 0, in the owner's zone.
    alerts
        Alerts with the second each began to be told.
    milestones, said, gaps
        As they are kept.
    notes
        With the second each was written at.
    clock
        Steps of the computer's clock.
    parts
        The parts that were run, for when a milestone truly came.
    """
    found = [Entry(t_s, words.clock(starts, t_s), alert=entry) for t_s, entry in alerts]
    found += [Entry(t_s, words.clock(starts, t_s), words.bound(text), "milestone")
              for t_s, text in (dated(milestone, parts, starts) for milestone in milestones)]
    found += [Entry(s.t_s, words.clock(starts, s.t_s), SAID[s.what], "said") for s in said if s.what in SAID]
    found += [Entry(g.from_s, words.clock(starts, g.from_s), _gap(g, starts), "gap") for g in gaps]
    found += [Entry(c.t_s, words.clock(starts, c.t_s), words.bound(step_words(c)), "gap") for c in clock]
    found += [Entry(t_s, words.clock(starts, t_s), note.text, "note") for t_s, note in notes]
    found.sort(key=lambda entry: entry.t_s)
    days: dict[str, list[Entry]] = {}
    for entry in found:
        days.setdefault(_date(starts, entry.t_s), []).append(entry)
    return tuple(Day(date, tuple(entries)) for date, entries in days.items())


def dated(milestone: Milestone, parts: Sequence[Part], starts: datetime) -> tuple[float, str]:
    """Return when a milestone came [s], and its words, with when it was noticed where that was later.

    A part is told while it goes on, and its beginning is found more closely afterwards. The time is the beginning of
    the part as it is kept, so the log says what the table of the steps says.

    Parameters
    ----------
    milestone
        As it was noticed.
    parts
        The parts of the firing as they are kept now, in the order of time.
    starts
        Wall time of second 0, in the owner's zone.
    """
    began_s = _began_s(milestone, parts)
    if began_s is None or began_s > milestone.t_s:
        return milestone.t_s, milestone.text
    if milestone.t_s - began_s < NOTICED_S:
        return began_s, milestone.text
    return began_s, f"{milestone.text} Noticed at {words.clock(starts, milestone.t_s)}."


def _began_s(milestone: Milestone, parts: Sequence[Part]) -> float | None:
    """Return when the part that a milestone tells of began [s]; None where it tells of no part.

    That is the hold, or the ramp, that began nearest to when it was noticed: its beginning, found more closely
    afterwards, may even lie a little later.
    """
    kind = "hold" if milestone.name in _HOLDS else "ramp" if milestone.name == "anneal-done" else None
    if kind is not None:
        starts_s = (part.start_s for part in parts if part.part == kind)
        return min(starts_s, key=lambda start_s: abs(start_s - milestone.t_s), default=None)
    if not milestone.name.startswith(_STEP):
        return None
    began_s = None
    for part in reversed([part for part in parts if part.start_s <= milestone.t_s]):
        if part.step == milestone.step:
            began_s = part.start_s
        elif began_s is not None:
            break
    return began_s


def _date(starts: datetime, t_s: float) -> str:
    return date_words(local(starts, t_s))


def _gap(gap: Gap, starts: datetime) -> str:
    return f"No reading until {words.clock(starts, gap.to_s)}: {gap.reason}. Nothing is invented there."
