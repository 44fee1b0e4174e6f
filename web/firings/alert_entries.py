"""Alerts as entries of a log: rank, time, text and how each stands now, in the page's words."""

from __future__ import annotations

import json
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from types import MappingProxyType

from daemon.firing.alerts.registry import HEAT_KINDS, PROBE_KINDS, may_be_quieted, may_go_on
from daemon.firing.durations import deadline, time_left
from daemon.firing.events import Alert, IfNotKeyed, Line, Part, Rank, Text
from daemon.firing.speaker import ISOLATOR_OFF, LEAVE_IT
from daemon.firing.told_before import is_ended_by_lines
from daemon.firing.units import LineWords, Units
from web import words
from web.drawing.trace_model import kind_words

_REST_S = 86_400.0
"""A quiet for longer than this is one for the rest of the firing [s]. [chosen: none that is asked for lasts a day]"""


@dataclass(frozen=True, slots=True)
class Telling:
    """What an alert says, for a page: acts and lines as lists."""

    what: str
    head: str
    """What happened, without the present temperature."""
    meaning: str
    acts: tuple[str, ...]
    """What to do."""
    lines: tuple[LineWords, ...]
    """The lines to key in, in the controller's unit."""
    lines_after: int | None
    """Which of ``acts`` they follow, counted from 0; None where there are none."""
    lines_unit: str
    """That unit, where the page is in the other one; else empty."""
    is_for_later: bool
    caution: str
    keyed: str
    """The lines as values, for the button that says they were keyed in; empty where there are none for now."""
    deadline: str
    """Until when to act; empty where that is not known."""
    instead: str = ""
    """What to do for who can't key the lines in; empty where there are none for now, or where an act says it."""


@dataclass(frozen=True, slots=True)
class AlertEntry:
    """One alert as an entry of the log."""

    no: int
    rank: str
    rank_words: str
    kind: str
    when: str
    said: Telling
    state: str
    """``still so``, ``answered at 02:20``, ``over at 02:40``."""
    standing: bool
    """Whether its cause is still there."""
    wants_answer: bool
    """Whether it stands and nobody has answered it."""
    since: str = ""
    """When it was first noticed, where that was before it was told."""
    since_s: float = 0.0
    over: str = ""
    """When it was over; empty while it stands."""
    over_s: float = float("inf")
    may_be_quieted: bool = True
    is_of_sensor: bool = False
    """Whether it tells of Lehrling's own sensor, so that the kiln's own display can take its place."""
    at_s: float = 0.0
    """When it was told [s of firing]."""
    with_it: str = ""
    """What followed from it, as words."""
    is_history: bool = False
    """Whether its words are those of then, not of now."""
    again: tuple[tuple[str, str], ...] = ()
    """When it was said again, and how."""
    is_ended_by_lines: bool = False
    """Whether it ended because lines were keyed in."""


def alert_entries(alerts: Sequence[Alert], starts: datetime, *, ended: bool = False, unit: str = "",
                  now_s: float | None = None, parts: Sequence[Part] = (),
                  keyed_s: Collection[float] = ()) -> tuple[AlertEntry, ...]:
    """Return ``alerts`` as entries: those that stand first, wakes before the rest, then the latest first.

    In a firing that has ended none stands any more. ``now_s`` is the present [s of firing], where their words are of
    the present; ``parts`` are those that were run. ``keyed_s`` is as ``entry_of`` has it.
    """
    entries = [(entry_of(a, starts, alerts, ended=ended, unit=unit, now_s=now_s, parts=parts, keyed_s=keyed_s), a)
               for a in alerts if a.under is None]
    entries.sort(key=lambda pair: (
        not pair[0].standing, not pair[0].wants_answer, -pair[1].rank.height, -pair[1].raised_s))
    return tuple(entry for entry, _ in entries)


def entry_of(alert: Alert, starts: datetime, alerts: Sequence[Alert] = (), *, ended: bool = False, unit: str = "",
             now_s: float | None = None, parts: Sequence[Part] = (),
             again: Mapping[int, Sequence[tuple[float, str]]] = MappingProxyType({}),
             keyed_s: Collection[float] = ()) -> AlertEntry:
    """Return one alert as an entry; among ``alerts`` are its consequences.

    Parameters
    ----------
    alert, starts
        The alert, and the wall time of second 0.
    alerts
        All of the firing.
    ended
        Whether the firing has ended.
    unit
        The reader's unit; empty takes the words as they were told.
    now_s
        The present [s of firing], where the words are of the present; None where they are history.
    parts
        The parts that were run: a later hold or climb shows that the kiln was heated again.
    again
        What each alert said later, by its number: second and words.
    keyed_s
        When lines were keyed in [s of firing].
    """
    by_lines = is_ended_by_lines(alert, keyed_s)
    standing = alert.cleared_s is None and not ended
    shown = alert.woke_s if alert.woke_s is not None else alert.raised_s
    return AlertEntry(
        no=alert.no, rank=alert.rank.value, rank_words=words.RANKS[alert.rank.value],
        kind=kind_words(alert.kind), when=words.clock(starts, shown),
        said=telling(alert.text.in_unit(unit), unit, starts, now_s if standing else None),
        state=_over(alert, alert.cleared_s, starts, alerts, parts, by_lines=by_lines)
        if alert.cleared_s is not None else _state(alert, starts, standing=standing, ended=ended), standing=standing,
        since=words.clock(starts, alert.since_s), since_s=alert.since_s,
        over="" if alert.cleared_s is None else words.clock(starts, alert.cleared_s),
        over_s=float("inf") if alert.cleared_s is None else alert.cleared_s,
        may_be_quieted=may_be_quieted(alert.kind), is_of_sensor=alert.kind in PROBE_KINDS,
        at_s=shown, wants_answer=standing and alert.acknowledged_s is None and alert.rank is not Rank.LOG,
        with_it=", ".join(dict.fromkeys(kind_words(a.kind) for a in alerts if a.under == alert.kind)),
        is_history=now_s is None,
        again=tuple((words.clock(starts, t_s), words.bound(what) if unit in ("", alert.text.unit) else "")
                    for t_s, what in again.get(alert.no, ())),
        is_ended_by_lines=by_lines,
    )


def _over(alert: Alert, cleared_s: float, starts: datetime, alerts: Sequence[Alert], parts: Sequence[Part], *,
          by_lines: bool) -> str:
    """Return how an alert ended: over, no longer seen, or answered by lines that were keyed in."""
    when = words.clock(starts, cleared_s)
    if by_lines:
        return f"answered by the lines keyed in at {when}"
    heats_again = any(a.kind in HEAT_KINDS and a.raised_s >= alert.raised_s for a in alerts) or any(
        part.start_s > alert.raised_s and (part.part == "hold" or (part.rate_c_per_h or 0.0) > 0.0)
        for part in parts)
    going_on = "" if heats_again else may_go_on(alert.kind)
    return f"no longer seen from {when}; {going_on}" if going_on else f"over at {when}"


def _state(alert: Alert, starts: datetime, *, standing: bool, ended: bool) -> str:
    """Return how an alert stands that is not over: answered, quiet, not seen lately, or still so."""
    state = "until the end" if ended else "still so"
    if alert.acknowledged_s is not None:
        state = f"answered at {words.clock(starts, alert.acknowledged_s)}"
    if not standing:
        return state
    if alert.seen_s is not None:
        state = f"not seen since {words.clock(starts, alert.seen_s)}"
    if alert.quiet_until_s is not None:
        is_for_good = alert.quiet_until_s - alert.raised_s > _REST_S
        until = "for this firing" if is_for_good else f"until {words.clock(starts, alert.quiet_until_s)}"
        state += f", quiet {until}"
    return state


def telling(text: Text, unit: str, starts: datetime, now_s: float | None) -> Telling:
    """Return what an alert says; ``now_s`` is the present where it says it now [s of firing], else None."""
    key_unit = text.key_unit or unit or "C"
    until = ""
    if text.time_left_s is not None and now_s is not None:
        until = time_left(text.time_left_s) if text.before_s is None else deadline(
            words.clock(starts, text.before_s), text.before_s - now_s)
    return Telling(
        what=words.bound(text.what), head=words.bound(text.head or text.what), meaning=words.bound(text.meaning),
        acts=tuple(words.bound(act) for act in text.acts or ((text.do,) if text.do else ())),
        lines=tuple(LineWords(*map(words.bound, row))
                    for row in Units(key_unit).lines(text.lines, text.keyed_from_c)),
        lines_after=text.lines_after, lines_unit=key_unit if key_unit != unit and unit else "",
        is_for_later=text.is_for_later,
        caution=words.bound(text.caution), keyed="" if text.is_for_later else keyed_value(text.lines),
        deadline=words.bound(until), instead=words.bound(_instead(text)),
    )


def _instead(text: Text) -> str:
    """Return the safe thing to do for who can't key in the lines of ``text``.

    A program that would fire the piece anew is ended at the isolator. Else the controller goes on by itself: without
    power the kiln would fall faster than it does now.
    """
    told = {IfNotKeyed.LEAVE: LEAVE_IT, IfNotKeyed.ISOLATOR: ISOLATOR_OFF}.get(text.if_not_keyed)
    return "" if told is None else f"You can’t key the lines in? {told}"


def keyed_value(lines: Sequence[Line]) -> str:
    """Return lines as the value of a form's hidden field; empty where there are none."""
    return json.dumps([list(line) for line in lines]) if lines else ""
