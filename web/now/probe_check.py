"""In the morning, on Now: look after the probe, where the latest firing gave a reason to."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime

from daemon.firing.alerts.registry import PERHAPS_PROBE_KINDS, PROBE_KINDS
from daemon.firing.events import Alert
from web import words


def probe_check(alerts: Sequence[Alert], starts: datetime, unit: str) -> str:
    """Return what to do about the probe before the next firing; empty where no alert was about it.

    Parameters
    ----------
    alerts
        Those of the firing.
    starts
        Wall time of its second 0.
    unit
        The reader's.
    """
    told = [alert for alert in alerts if alert.kind in PERHAPS_PROBE_KINDS and alert.under is None]
    if not told:
        return ""
    first = min(told, key=lambda alert: alert.since_s)
    said = first.text.in_unit(unit).what
    was_probe = any(alert.kind in PROBE_KINDS for alert in told)
    look = "With the kiln cold and unplugged, look whether the probe sits as it did, and at its plug and wires."
    lid = "" if was_probe else "Was it the lid? Then the probe is well. "
    when = words.clock(starts, first.since_s)
    return words.bound(f"Before the next firing, check the probe. At {when} Lehrling said: “{said}” {lid}{look}")
