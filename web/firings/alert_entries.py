"""Alerts as entries of a log: rank, time, text and how each stands now, in the page's words."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from daemon.firing.durations import time_left
from daemon.firing.events import Alert, Rank
from web import words
from web.drawing.trace_model import kind_words


@dataclass(frozen=True, slots=True)
class AlertEntry:
    """One alert as an entry of the log."""

    no: int
    rank: str
    rank_words: str
    kind: str
    when: str
    what: str
    meaning: str
    do: str
    time_left: str
    state: str
    """``standing``, ``acknowledged at 02:20``, ``over at 02:40``."""
    standing: bool
    """Whether its cause is still there."""
    wants_answer: bool
    """Whether it stands and nobody has acknowledged it."""
    at_s: float = 0.0
    """When it was told [s of firing]."""
    with_it: str = ""
    """What followed from it, as words."""


def alert_entries(alerts: Sequence[Alert], starts: datetime, *, ended: bool = False) -> tuple[AlertEntry, ...]:
    """Return ``alerts`` as entries: those that stand first, wakes before the rest, then the latest first.

    In a firing that has ended none stands any more.
    """
    entries = [(entry_of(a, starts, alerts, ended=ended), a) for a in alerts if a.under is None]
    entries.sort(key=lambda pair: (
        not pair[0].standing, not pair[0].wants_answer, -pair[1].rank.height, -pair[1].raised_s))
    return tuple(entry for entry, _ in entries)


def entry_of(alert: Alert, starts: datetime, alerts: Sequence[Alert] = (), *, ended: bool = False) -> AlertEntry:
    """Return one alert as an entry; among ``alerts`` are its consequences."""
    standing = alert.cleared_s is None and not ended
    if alert.cleared_s is not None:
        state = f"over at {words.clock(starts, alert.cleared_s)}"
    elif alert.acknowledged_s is not None:
        state = f"acknowledged at {words.clock(starts, alert.acknowledged_s)}"
        if alert.quiet_until_s is not None and standing:
            state += f", quiet until {words.clock(starts, alert.quiet_until_s)}"
    elif alert.quiet_until_s is not None and standing:
        state = f"quiet until {words.clock(starts, alert.quiet_until_s)}"
    elif ended:
        state = "until the end"
    else:
        state = "standing"
    left_s = alert.text.time_left_s
    shown = alert.woke_s if alert.woke_s is not None else alert.raised_s
    return AlertEntry(
        no=alert.no, rank=alert.rank.value, rank_words=words.RANKS[alert.rank.value],
        kind=kind_words(alert.kind), when=words.clock(starts, shown), what=words.bound(alert.text.what),
        meaning=words.bound(alert.text.meaning), do=words.bound(alert.text.do),
        time_left=time_left(left_s) if left_s is not None and standing else "",
        state=state, standing=standing,
        at_s=shown, wants_answer=standing and alert.acknowledged_s is None and alert.rank is not Rank.LOG,
        with_it=", ".join(dict.fromkeys(kind_words(a.kind) for a in alerts if a.under == alert.kind)),
    )
