"""The day round a firing."""

from __future__ import annotations

import pytest

from simulations.plant.surroundings import Surroundings


@pytest.mark.parametrize(("hour", "expected"), [(0, 0.0), (6, 1.0), (12, 0.0), (18, -1.0), (24, 0.0), (2, 0.5)])
def test_the_day_turns_in_24_hours_and_is_warmest_after_six(hour, expected):
    assert Surroundings().time_of_day(3600.0 * hour) == pytest.approx(expected, abs=1e-9)


def test_a_firing_may_begin_at_any_hour():
    assert Surroundings(day_s=4 * 3600.0).time_of_day(2 * 3600.0) == pytest.approx(1.0)
