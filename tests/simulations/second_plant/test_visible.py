"""When the beginning of a part can be seen in the watched curve."""

from __future__ import annotations

import pytest

from simulations.marks import AFTER_S
from simulations.second_plant.visible import with_visible_starts
from simulations.truth import TruePart, Truth


def truth(course_c, parts) -> Truth:
    times = tuple(5.0 * n for n in range(2000))
    temps = tuple(course_c(t_s) for t_s in times)
    return Truth(parts, (), 0.0, temps, temps, temps, times)


RAMP_TO_HOLD = (TruePart(1, "hold", 3000.0, None),)


def test_a_ramp_that_ends_is_seen_once_the_curve_has_left_its_line():
    # From 3000 s on the curve leaves its line of 0.05 K/s by 0.05 K a second: 1.5 K after 30 s.
    seen = with_visible_starts(truth(lambda t: 0.05 * min(t, 3000), RAMP_TO_HOLD), 0.1, [0.5] * 2000)
    assert seen.parts[0].bend_s == pytest.approx(3035, abs=5)


def test_a_noisy_reading_shows_it_later():
    course = truth(lambda t: 0.05 * min(t, 3000), RAMP_TO_HOLD)
    assert with_visible_starts(course, 2.0, [0.5] * 2000).parts[0].bend_s == pytest.approx(3085, abs=5)


def test_what_bends_too_late_counts_as_seen_at_the_latest():
    seen = with_visible_starts(truth(lambda t: 0.05 * t, RAMP_TO_HOLD), 0.1, [0.5] * 2000)
    assert seen.parts[0].bend_s == 3000 + AFTER_S
