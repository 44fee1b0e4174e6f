"""Alerts go on as the record tells of them, where judging the stored readings anew comes to other ones.

A restart without a checkpoint judges the stored readings again. A newer program, or other knowledge of the kiln, may
then find a trouble earlier, later or not at all. What was told stays told: the record decides which alerts there are
and which of them are over. One that stands there stands on, under its number and with its words. It is over once it
has not been found for its off-delay, counted from the restart, so that one which is found a moment later is not told
a second time.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from math import inf
from typing import Any

from daemon.firing.alerts.live_alert import LiveAlert, end_quiet
from daemon.firing.events import Alert
from daemon.firing.kind import Finding, Kind


def is_as_told(alerts: Iterable[Alert], record: Iterable[Alert]) -> bool:
    """Return whether two lists of alerts tell of the same steps: numbers, names, ranks and times."""
    return [_steps(alert) for alert in alerts] == [_steps(alert) for alert in record]


def standing_as_told(told: Alert, found: LiveAlert | None, kind: Kind[Any], sounded_s: float,
                     t_s: float) -> LiveAlert:
    """Return an alert that stands in the record as it goes on from ``t_s`` [s].

    Parameters
    ----------
    told
        As the record has it.
    found
        What judging anew has found of the same kind; None where it has found nothing.
    kind
        The kind.
    sounded_s
        When it was last told [s].
    t_s
        The time of the restart [s of firing].
    """
    if found is None:
        finding: Finding[Any] = Finding(kind, told.rank, told.since_s, None, told.step)
        return LiveAlert(told, finding, t_s, sounded_s, 0.0, inf, unseen=True)
    if found.alert.acknowledged_s != told.acknowledged_s:
        end_quiet(found)
    alert = replace(told, quiet_until_s=found.alert.quiet_until_s)
    return replace(found, alert=alert, sounded_s=sounded_s, told=True)


def _steps(alert: Alert) -> tuple[object, ...]:
    """Return what the steps of an alert's life have made of it."""
    return (alert.no, alert.kind, alert.rank, alert.raised_s, alert.woke_s, alert.cleared_s, alert.acknowledged_s,
            alert.under, alert.named)
