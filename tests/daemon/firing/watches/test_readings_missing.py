"""No reading at all: what is found while there is none, and at the first reading after missing rows."""

from __future__ import annotations

import pytest

from daemon.firing.detection.blindness import WAKE_AFTER_S, Outage, SwappedLeads
from daemon.firing.events import Rank
from daemon.firing.kind import Finding
from daemon.firing.watches.readings_missing import KIND, readings_missing
from daemon.firing.watches.sensor_fault import Blind


@pytest.mark.parametrize(("lasted_s", "dangerous", "is_over", "rank"), [
    (60.0, True, False, Rank.LOOK),
    (WAKE_AFTER_S - 1.0, True, False, Rank.LOOK),
    (WAKE_AFTER_S, True, False, Rank.WAKE),
    (WAKE_AFTER_S, False, False, Rank.LOOK),
    (36_000.0, True, True, Rank.LOOK),  # the rows were missing; now it reads again
])
def test_it_wakes_after_four_minutes_where_that_can_cost_the_piece_and_it_is_not_over(reading_of, lasted_s, dangerous,
                                                                                      is_over, rank):
    outage = Outage(600.0, lasted_s, 798.0, is_fault=False, is_over=is_over)
    found = readings_missing(reading_of(900.0, None, fault="silent", outage=outage, is_blindness_dangerous=dangerous))
    assert found == Finding(KIND, rank, 600.0, Blind(lasted_s, 798.0, is_over))


def test_a_thermocouple_at_fault_swapped_wires_and_a_temperature_are_told_otherwise_or_not_at_all(reading_of):
    assert readings_missing(reading_of(900.0, None, outage=Outage(600.0, 300.0, 798.0, True, False))) is None
    assert readings_missing(reading_of(900.0, -20.0, outage=SwappedLeads(60.0, -20.0))) is None
    assert readings_missing(reading_of(900.0, 700.0)) is None
