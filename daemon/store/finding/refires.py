"""The firings of hazy pieces with their peak and their minutes above a temperature, as they were judged."""

from __future__ import annotations

from collections.abc import Sequence

import sqlite_utils

from daemon.firing.plan.plan import to_unit
from daemon.kiln.haze_record import Refire
from daemon.store.finding.figures import Refired, figures_of


def judged(db: sqlite_utils.Database, refired: Sequence[Refired], limit_c: float,
           unit: str) -> list[tuple[Refired, Refire]]:
    """Return those of the firings whose peak and time above ``limit_c`` [°C] are known, with both.

    Parameters
    ----------
    db
        The record.
    refired
        The firings.
    limit_c
        One of ``daemon.glass.exposure.ABOVE_C``.
    unit
        "C" or "F", in which the peak is told.
    """
    told = figures_of(db, [one.firing_id for one in refired])
    found = []
    for one in refired:
        kept = told.get(one.firing_id)
        above_s = None if kept is None else kept.above_s.get(f"{limit_c:g}")
        if kept is not None and kept.peak_c is not None and above_s is not None:
            found.append((one, Refire(round(to_unit(kept.peak_c, unit)), above_s / 60, one.cleared)))
    return found
