"""A reading that stands still to its last digit, and readings that may."""

from __future__ import annotations

from itertools import groupby, pairwise
from math import sqrt
from random import Random
from statistics import median

import numpy as np
import pytest

from daemon.firing import example_firing
from daemon.firing.events import Rank, Sample
from daemon.firing.kind import Finding
from daemon.firing.plan.plan import parse_plan
from daemon.firing.report import judge
from daemon.firing.setup import Setup
from daemon.firing.speaker import ELECTRIC
from daemon.firing.trace.recent import Trail
from daemon.firing.watches.reading_frozen import (
    FROZEN_AFTER_S,
    KIND,
    NOISE_GRAINS,
    NOISE_PER_BEND,
    FrozenWatch,
    ReadingFrozen,
    bent_noise_grains,
    is_noise_seen,
    least_readings,
)
from daemon.glass.materials import FAMILIES


@pytest.fixture
def see(reading_of):
    """Return a function that shows readings (second, °C) to a watch and returns what it finds at each."""
    def seen(watch, readings, *, dangerous=False):
        trail, found = Trail(), []
        for t_s, temp_c in readings:
            found.append(watch.see(reading_of(t_s, temp_c, trail=trail, is_blindness_dangerous=dangerous)))
            if temp_c is not None:
                trail.offer(t_s, temp_c)
        return found
    return seen


def noisy(hours, *, rate=0.0, noise_k=0.3, grain_k=1 / 128, from_c=600.0, every_s=5.0, seed=1, swing_k=0.0):
    """Return a kiln that goes at ``rate`` [°C/h], as a logger that rounds to ``grain_k`` writes it."""
    rng = Random(seed)
    readings = []
    for i in range(round(hours * 3600 / every_s)):
        t_s = every_s * i
        true_c = from_c + rate * t_s / 3600 + swing_k * np.sin(t_s / 400.0) + rng.gauss(0.0, noise_k)
        readings.append((t_s, round(true_c / grain_k) * grain_k))
    return readings


def frozen_after(readings, minutes):
    """Return ``readings`` going on with their last value for some minutes."""
    (t_s, temp_c), every_s = readings[-1], readings[-1][0] - readings[-2][0]
    return [*readings, *((t_s + every_s * i, temp_c) for i in range(1, round(minutes * 60 / every_s) + 1))]


@pytest.mark.parametrize(("rate", "every_s"), [(220.0, 5.0), (0.0, 5.0), (-80.0, 1.0), (40.0, 30.0), (0.0, 60.0)])
def test_a_reading_that_stops_moving_is_told_within_ten_minutes(see, rate, every_s):
    readings = noisy(2.5, rate=rate, every_s=every_s)
    found = see(FrozenWatch(), frozen_after(readings, 12.0))
    told = next(finding for finding in found if finding is not None)
    # It began with the last reading that was real.
    assert (told.kind, told.rank, told.since_s) == (KIND, Rank.LOOK, readings[-1][0])
    assert FROZEN_AFTER_S <= told.facts.frozen_s < 600.0
    assert told.facts.temp_c == readings[-1][1]
    assert all(finding is not None for finding in found[found.index(told):])


def test_by_a_logger_of_a_minute_nine_readings_make_a_run(see):
    readings = frozen_after(noisy(2.5, every_s=60.0), 12.0)
    told = next(finding for finding in see(FrozenWatch(), readings) if finding is not None)
    assert told.facts.frozen_s == 8 * 60.0


def test_it_wakes_only_where_blindness_is_dangerous(see):
    readings = frozen_after(noisy(1.0, rate=200.0), 4.0)  # no sooner than blindness does
    assert see(FrozenWatch(), readings, dangerous=True)[-2].rank is Rank.LOOK
    for dangerous, rank in ((True, Rank.WAKE), (False, Rank.LOOK)):
        assert see(FrozenWatch(), readings, dangerous=dangerous)[-1].rank is rank


def test_one_reading_that_moves_ends_it_and_it_is_told_again_as_soon(see):
    watch = FrozenWatch()
    readings = frozen_after(noisy(1.0, rate=200.0), 8.0)
    assert see(watch, readings)[-1] is not None
    t_s, temp_c = readings[-1]
    after = [(t_s + 5.0, temp_c + 0.4), (t_s + 10.0, temp_c - 0.2), (t_s + 15.0, temp_c + 0.1)]
    assert see(watch, after) == [None] * 3
    # A run that was told is none that this firing ordinarily has.
    told = [finding for finding in see(watch, frozen_after(after, 8.0)) if finding is not None]
    assert FROZEN_AFTER_S <= told[0].facts.frozen_s < FROZEN_AFTER_S + 10.0


def test_the_stall_that_a_frozen_reading_looks_like_stands_under_it():
    plan = parse_plan('title = "Slump"\nunit = "C"\nstep = [{ rate = 220, to = 650, hold_min = 15 }]', "slump.toml")
    readings = frozen_after(noisy(2.6, rate=220.0, from_c=20.0), 45.0)
    alerts = judge(Setup(plan, FAMILIES["90"], offset_k=0.0), [Sample(*reading) for reading in readings]).alerts
    assert [(alert.kind, alert.under, alert.rank) for alert in alerts] == [
        ("reading-frozen", None, Rank.WAKE), ("not-climbing", "reading-frozen", Rank.LOG)]  # 592 °C, and climbing


def test_the_words_say_where_it_is_stuck_and_that_the_kiln_may_not_be():
    text = KIND.words(Finding(KIND, Rank.WAKE, 0.0, ReadingFrozen(720.0, 516.0)), example_firing.speaker())
    assert text.what == "Reading stuck at 516 °C for 12 min. Lehrling may be blind."
    assert "The kiln may be at any temperature" in text.meaning
    assert text.do.startswith("Read the kiln's own display. Believe that one, not Lehrling.")
    assert text.do.endswith(ELECTRIC)


@pytest.mark.parametrize("noise_k", [0.0, 0.05, 0.15, 0.3])
@pytest.mark.parametrize("at_c", [516.0, 516.5])
def test_a_logger_of_whole_degrees_may_repeat_itself_for_hours(see, noise_k, at_c):
    climb = noisy(1.0, rate=200.0, noise_k=noise_k, grain_k=1.0, from_c=at_c - 200.0)
    hold = [(3600.0 + t_s, temp_c) for t_s, temp_c in noisy(4.0, noise_k=noise_k, grain_k=1.0, from_c=at_c, seed=2)]
    still = [(18_000.0 + 5.0 * i, 516.0) for i in range(1440)]
    assert see(FrozenWatch(), [*climb, *hold, *still]) == [None] * (720 + 2880 + 1440)


@pytest.mark.parametrize(("noise_k", "within_min"), [(0.6, 60.0), (0.7, 20.0), (1.0, 8.0)])
@pytest.mark.parametrize("at_c", [516.0, 516.5])
def test_a_logger_of_whole_degrees_that_never_stood_still_is_frozen_when_it_does(see, noise_k, within_min, at_c):
    """Half the noise, in the middle of a degree, would be one number for so long once in ten million times."""
    hold = noisy(1.0, noise_k=noise_k, grain_k=1.0, from_c=at_c)
    told = [finding for finding in see(FrozenWatch(), frozen_after(hold, 90.0)) if finding is not None]
    assert FROZEN_AFTER_S <= told[0].facts.frozen_s < within_min * 60.0


def test_noise_that_stops_with_the_elements_may_still_leave_half_of_it(see):
    """Noise of 0.7 grains, then of 0.35 in the middle of a grain: 83 in 100 readings repeat the one before them."""
    readings = noisy(1.0, noise_k=0.7, grain_k=1.0, from_c=516.0)
    after = [(3600.0 + t_s, temp_c) for t_s, temp_c in noisy(12.0, noise_k=0.35, grain_k=1.0, from_c=516.0, seed=3)]
    assert see(FrozenWatch(), [*readings, *after]) == [None] * (720 + 12 * 720)


def test_a_cold_kiln_in_whole_degrees_may_stand_all_night(see):
    assert see(FrozenWatch(), [(5.0 * i, 19.0) for i in range(5000)]) == [None] * 5000


def test_two_values_in_turn_are_no_noise(see):
    """Pick-up that alternates between two whole degrees stops where the kiln drifts to the middle of one."""
    readings = [(5.0 * i, 516.0 + i % 2) for i in range(500)] + [(2500.0 + 5.0 * i, 516.0) for i in range(500)]
    assert see(FrozenWatch(), readings) == [None] * 1000


def test_a_device_that_is_asked_more_often_than_it_measures_is_not_frozen(see):
    slow = noisy(10.0, every_s=240.0)  # measures every four minutes, and is asked every ten seconds
    readings = [(t_s + 10.0 * i, temp_c) for t_s, temp_c in slow for i in range(24)]
    assert see(FrozenWatch(), readings) == [None] * len(readings)
    longest_s = 240.0 * max(len(list(same)) for _, same in groupby(temp_c for _, temp_c in slow)) - 10.0
    told = [finding for finding in see(FrozenWatch(), frozen_after(readings, 60.0)) if finding is not None]
    assert 4 * longest_s <= told[0].facts.frozen_s <= 4 * longest_s + 10.0


def test_what_happens_in_a_hole_is_no_run(see):
    readings = noisy(1.0)
    t_s, temp_c = readings[-1]
    assert see(FrozenWatch(), [*readings, (t_s + 7200.0, temp_c), (t_s + 7205.0, temp_c)])[-2:] == [None, None]


def test_no_run_is_judged_before_the_noise_is_known(see):
    assert see(FrozenWatch(), frozen_after(noisy(60 * 5.0 / 3600), 30.0))[-1] is None


def test_blind_entries_are_no_repeats(see):
    readings = noisy(1.0)
    t_s = readings[-1][0]
    assert see(FrozenWatch(), [*readings, *((t_s + 5.0 * i, None) for i in range(1, 200))])[-1] is None


def test_the_noise_is_read_off_second_differences_as_numpy_makes_it():
    bends = np.abs(np.diff(np.random.default_rng(3).normal(0.0, 1.0, 400_000), 2))
    assert NOISE_PER_BEND * median(bends) == pytest.approx(1.0, rel=0.01)


@pytest.mark.parametrize("at_grains", [0.0, 0.25, 0.5])
def test_noise_that_can_be_seen_seldom_repeats_a_reading_wherever_the_kiln_stands(at_grains):
    """Half as much true noise as it has to measure is never seen; it would repeat 0.19 of its readings."""
    drawn = np.round(np.random.default_rng(4).normal(at_grains, NOISE_GRAINS / 2, 200_000))
    assert np.mean(np.diff(drawn) == 0) == pytest.approx(1 / (2 * sqrt(np.pi) * NOISE_GRAINS / 2), rel=0.03)
    different = drawn[np.flatnonzero(np.diff(drawn, prepend=np.nan) != 0)]
    windows = different[:len(different) // 200 * 200].reshape(-1, 200).tolist()
    assert len(windows) > 500
    assert not any(is_noise_seen(window) for window in windows)


@pytest.mark.parametrize("at_grains", [0.0, 0.25, 0.5])
@pytest.mark.parametrize("noise_grains", [0.5, 0.7, 1.0, 3.0])
def test_noise_about_as_large_as_the_grain_is_read_off_bends_wherever_the_kiln_stands(noise_grains, at_grains):
    drawn = np.round(np.random.default_rng(7).normal(at_grains, noise_grains, 100_000))
    assert bent_noise_grains(drawn.tolist()) == pytest.approx(noise_grains, rel=0.12)


@pytest.mark.parametrize("rate_k", [0.0, 0.03, 0.27, 0.9])
@pytest.mark.parametrize("goes_k", [0.0, 0.3, 0.5])
def test_what_goes_back_and_forth_by_less_than_a_grain_is_no_noise(rate_k, goes_k):
    """A quiet kiln that stands or moves, in whole degrees, with hum of up to half a degree either way."""
    readings = [float(round(516.2 + rate_k * i + goes_k * 0.99 * np.sin(2.1 * i))) for i in range(5000)]
    assert bent_noise_grains(readings) < 0.45


@pytest.mark.parametrize("noise_grains", [0.3, 0.5, 1.0])
def test_no_run_of_equal_readings_is_as_long_by_chance(noise_grains):
    """The longest of 200,000 readings of rounded noise in the middle of a grain, where most repeat."""
    drawn = np.round(np.random.default_rng(8).normal(0.0, noise_grains, 200_000)).tolist()
    assert max(len(list(same)) for _, same in groupby(drawn)) < least_readings(drawn)


@pytest.mark.parametrize(("rate_k", "is_seen"), [(0.0, True), (0.3, True), (-0.3, True), (-40.0, False)])
def test_noise_far_above_the_grain_is_seen_unless_every_step_is_large(rate_k, is_seen):
    """A step is what the kiln moves between two readings; 0.3 K are 220 °C/h every 5 s."""
    rng = Random(5)
    readings = [round((700.0 + rate_k * i + rng.gauss(0.0, 0.3)) * 128) / 128 for i in range(200)]
    assert is_noise_seen(readings) is is_seen
    assert not is_noise_seen(readings[:99])


@pytest.mark.parametrize("decimals", [1, 2, 4])
def test_a_logger_of_whole_fahrenheit_written_in_celsius_has_no_finer_grain(decimals):
    """Half of its steps are 0.5 and half 0.6 °C; a hold between two degrees looks like noise, and ends in one."""
    rng = Random(6)
    fahrenheit = [1241 + round(i / 40) + rng.choice((0, 1)) for i in range(2000)]
    celsius = [round((f - 32) / 1.8, decimals) for f in fahrenheit]
    different = [after for before, after in pairwise(celsius) if after != before]
    assert not any(is_noise_seen(different[i:i + 200]) for i in range(0, len(different) - 200, 50))
