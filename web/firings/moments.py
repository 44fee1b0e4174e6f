"""When something was noted or photographed during a firing, and how hot it was then."""

from __future__ import annotations

from datetime import datetime

from daemon.store import found_parts, readings
from daemon.store.firings import Firing
from web import words
from web.firings.wall_times import second_of
from web.request.context import database, settings
from web.times import time_words

NEAR_S = 120.0
"""A reading this near tells how hot it was [s]. [chosen: at 300 °C/h ten degrees]"""


def moment_words(firing: Firing, wall_utc: datetime) -> str:
    """Return a moment of a firing: ``22:40, at 503 °C``; the time alone where no reading is near it."""
    zone, unit = settings().zone, settings().unit
    t_s = second_of(wall_utc, firing, found_parts.clock_marks(database(), firing.firing_id))
    when = words.clock(firing.started_utc.astimezone(zone), t_s) if firing.speed == 1.0 \
        else time_words(wall_utc.astimezone(zone))  # a bench's clock and the wall's differ
    near = [sample for sample in readings.samples(database(), firing.firing_id, t_s - NEAR_S, t_s + NEAR_S)
            if sample.temp_c is not None]
    if not near:
        return when
    temp_c = min(near, key=lambda sample: abs(sample.t_s - t_s)).temp_c
    return words.bound(f"{when}, at {words.temp(temp_c, unit)} °{unit}")
