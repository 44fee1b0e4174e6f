"""Where the plan is by its own clock, while no reading tells where the kiln is."""

from __future__ import annotations

from math import exp

import pytest

from daemon.firing.events import Part
from daemon.firing.plan.plan import Plan, Step
from daemon.firing.plan.schedule import planned_parts
from daemon.firing.situation.by_the_clock import ByClock, by_the_clock

HOUR = 3600.0
PARTS = planned_parts(Plan("fuse", "C", (
    Step(200.0, 620.0, 1800.0), Step(300.0, 800.0, 600.0, "top"), Step(None, 516.0, HOUR, "anneal"),
    Step(80.0, 436.0), Step(None, 40.0))))
CLIMB = Part(0, 1, "ramp", 0.0, 3 * HOUR)
"""620 − 20 °C at 200 °C/h: three hours."""
HOLD = Part(1, 1, "hold", 3 * HOUR, None)


def at(t_s, found=(CLIMB, HOLD), lost_s=3.25 * HOUR):
    return by_the_clock(PARTS, found, lost_s, t_s)


@pytest.mark.parametrize(("t_s", "temp_c"), [
    (3.3 * HOUR, 620.0),  # still in the hold of half an hour
    (3.6 * HOUR, 620.0 + 300.0 * 0.1),  # 6 min into the climb at 300 °C/h
    (4.1 * HOUR, 800.0),  # the climb took 36 min
    (4.26 * HOUR, 800.0),  # the top lasts 10 min more, to 4.267 h
])
def test_where_the_plan_has_rates_its_clock_tells_one_temperature(t_s, temp_c):
    assert at(t_s) == ByClock(pytest.approx(temp_c), pytest.approx(temp_c))


def test_how_long_a_free_fall_takes_is_not_known_so_it_tells_a_range():
    """The briskest small kiln falls with a time constant of 1 h, the slowest with 5 h (common practice)."""
    top_s = (3.0 + 0.5 + 0.6) * HOUR + 600.0
    found = at(top_s + 600.0)
    assert found.low_c == pytest.approx(20.0 + 780.0 * exp(-600.0 / HOUR))
    assert found.high_c == pytest.approx(20.0 + 780.0 * exp(-600.0 / (5 * HOUR)))
    # An hour later the one is in the anneal at 516 °C since half an hour, the other still at 20 + 780·e^(−0.2).
    assert at(top_s + HOUR) is None  # 659 °C and 516 °C: that tells nothing
    late = at(top_s + 1.4 * HOUR)
    assert late == ByClock(516.0, pytest.approx(20.0 + 780.0 * exp(-1.4 / 5)))


def test_a_hold_that_was_late_already_is_taken_to_end_when_the_readings_did():
    assert at(4.0 * HOUR + 360.0, lost_s=4.0 * HOUR) == ByClock(pytest.approx(650.0), pytest.approx(650.0))


def test_a_part_that_was_found_in_what_is_not_believed_counts_for_nothing():
    false = Part(4, 3, "ramp", 3.4 * HOUR, None)
    assert at(3.6 * HOUR, (CLIMB, HOLD, false)) == at(3.6 * HOUR)


def test_where_nothing_was_seen_or_the_plan_may_be_over_the_clock_tells_nothing():
    assert at(3.6 * HOUR, ()) is None
    assert by_the_clock((), (), 0.0, 100.0) is None
    assert at(100 * HOUR) is None
