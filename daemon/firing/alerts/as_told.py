"""Alerts found by judging stored readings anew go on as the record tells of them.

A restart judges the stored readings again. A newer program, or other knowledge of the kiln, may then find a trouble a
little earlier, later or not at all. What was told stays told: the record decides which alerts there are and which of
them are over. The new judgement only says which of those that stand are still found.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Sequence
from dataclasses import dataclass, replace

from daemon.firing.alerts.live_alert import LiveAlert, end_quiet
from daemon.firing.events import Alert


@dataclass(frozen=True, slots=True)
class AsTold:
    """What becomes of the alerts that stand after a new judgement."""

    live: dict[str, LiveAlert]
    """Those that the record has standing, too, by kind, with the record's number, words and times."""
    gone: tuple[Alert, ...]
    """Those that the record has standing and the new judgement does not."""
    unknown: dict[str, float]
    """Kinds found now of which the record knows nothing, with when they were found first [s]."""


def is_as_told(alerts: Iterable[Alert], record: Iterable[Alert]) -> bool:
    """Return whether two lists of alerts tell of the same steps: numbers, names, ranks and times."""
    return [_steps(alert) for alert in alerts] == [_steps(alert) for alert in record]


def as_told(live: Collection[LiveAlert], record: Sequence[Alert]) -> AsTold:
    """Return the alerts that stand, as ``record`` tells of them.

    Parameters
    ----------
    live
        What stands after the new judgement.
    record
        Every alert of the record, numbered as the new judgement numbers its own.
    """
    left = list(live)
    kept: dict[str, LiveAlert] = {}
    gone: list[Alert] = []
    for alert in record:
        if alert.cleared_s is not None:
            continue
        same = next((one for one in left if _is_one_trouble(alert, one.alert)), None)
        if same is None:
            gone.append(alert)
        else:
            left.remove(same)
            kept[alert.kind] = _under_its_number(same, alert)
    over = [alert for alert in record if alert.cleared_s is not None]
    unknown = {one.alert.kind: one.alert.raised_s for one in left
               if one.alert.kind not in kept and not any(_was_told(alert, one.alert) for alert in over)}
    return AsTold(kept, tuple(gone), unknown)


def _under_its_number(live: LiveAlert, told: Alert) -> LiveAlert:
    """Return a standing alert as it was told; its quiet stays only where the same answer was given to it."""
    if live.alert.acknowledged_s != told.acknowledged_s:
        end_quiet(live)
    live.alert = replace(told, quiet_until_s=live.alert.quiet_until_s)
    return live


def _is_one_trouble(told: Alert, found: Alert) -> bool:
    """Return whether an alert of the record and one found anew have a name in common."""
    return not _names(told).isdisjoint(_names(found))


def _was_told(over: Alert, found: Alert) -> bool:
    """Return whether an alert that is over told of what is found: under a common name, and over after it began."""
    return _is_one_trouble(over, found) and over.cleared_s is not None and over.cleared_s >= found.since_s


def _names(alert: Alert) -> frozenset[str]:
    """Return every name that an alert has had."""
    return frozenset([alert.kind, *(kind for _, kind in alert.named)])


def _steps(alert: Alert) -> tuple[object, ...]:
    """Return what the steps of an alert's life have made of it."""
    return (alert.no, alert.kind, alert.rank, alert.raised_s, alert.woke_s, alert.cleared_s, alert.acknowledged_s,
            alert.under, alert.named)
