"""Readings that stand alone never pass; steps, falls and slow loggers do."""

from math import ceil

import pytest
from hypothesis import given
from hypothesis import strategies as st

from daemon.firing.trace.outliers import OutlierFilter


def passed(readings, noise_c=0.5):
    gate = OutlierFilter()
    return [kept for t_s, temp_c in readings for kept in gate.offer(t_s, temp_c, noise_c)]


def flat(n, every_s=5.0, temp_c=516.0):
    return [(every_s * i, temp_c) for i in range(n)]


@pytest.mark.parametrize("length", [1, 2, 3])
@pytest.mark.parametrize("spike_c", [-60.0, 25.0, 400.0])
def test_a_spike_of_up_to_three_readings_never_passes(length, spike_c):
    readings = flat(60)
    for i in range(30, 30 + length):
        readings[i] = (readings[i][0], 516.0 + spike_c)
    assert passed(readings) == [r for i, r in enumerate(readings) if not 30 <= i < 30 + length]


@pytest.mark.parametrize("every_s", [1.0, 5.0, 10.0, 60.0])
def test_a_step_passes_whole_once_it_has_lasted(every_s):
    readings = [(every_s * i, 516.0 if i < 20 else 480.0) for i in range(60)]
    assert passed(readings) == readings
    first = next(i for i in range(21, 61) if len(passed(readings[:i])) > 20)
    assert readings[first - 1][0] - readings[20][0] == pytest.approx(ceil(15.0 / every_s) * every_s)


def test_a_crash_cool_of_a_kelvin_a_second_is_late_only_where_it_begins():
    # 40 K in half a minute is the steepest a vented studio kiln shows a bare probe; common practice.
    readings = [(5.0 * i, 790.0 - max(0.0, 1.6 * 5.0 * (i - 20))) for i in range(80)]
    assert passed(readings) == readings
    for i in range(26, 80):
        assert passed(readings[:i]) == readings[:i]


def test_a_climb_read_once_a_minute_passes_at_once():
    readings = [(60.0 * i, 20.0 + 9.0 * i) for i in range(60)]  # 540 °C/h
    for i in range(1, 60):
        assert passed(readings[:i]) == readings[:i]


def test_spikes_up_and_down_in_turn_are_no_step():
    readings = flat(60)
    for i, away in ((30, 50.0), (31, -50.0), (32, 50.0), (33, -50.0)):
        readings[i] = (readings[i][0], 516.0 + away)
    assert [temp for _, temp in passed(readings)] == [516.0] * 56


def test_two_spikes_on_end_are_no_step():
    readings = flat(60)
    for i, away in enumerate((53.0, 24.0, 22.0, 50.0), start=30):
        readings[i] = (readings[i][0], 516.0 + away)
    assert {temp for _, temp in passed(readings)} == {516.0}


def test_noise_as_large_as_the_jump_is_no_reason_to_hold_it_back():
    readings = [(5.0 * i, 516.0 + (5.0 if i % 2 else -5.0)) for i in range(60)]
    assert passed(readings, noise_c=5.0) == readings


@given(st.lists(st.floats(-50.0, 900.0), min_size=30, max_size=60), st.sampled_from([1.0, 5.0, 30.0, 60.0]))
def test_whatever_comes_the_gate_never_stays_shut(temps, every_s):
    times = [t_s for t_s, _ in passed([(every_s * i, temp_c) for i, temp_c in enumerate(temps)])]
    longest_s = max(b - a for a, b in zip(times, [*times[1:], every_s * len(temps)], strict=True))
    assert longest_s <= max(30.0, 2.5 * every_s) + every_s


def test_a_noisy_free_fall_read_once_a_minute_is_not_shut_out():
    # One reading that has not fallen, then the fall as before: it was a rejected "step" for ever.
    fall = [697.2, 687.1, 683.8, 670.0, 669.6, 663.9, 656.8, 648.2, 646.1, 639.0, 634.5, 628.6, 621.8, 616.8]
    assert passed([(60.0 * i, temp_c) for i, temp_c in enumerate(fall)])[-1] == (60.0 * 13, 616.8)
