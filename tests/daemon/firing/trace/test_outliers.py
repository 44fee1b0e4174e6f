"""Readings that stand alone never pass; steps, falls and slow loggers do."""

from math import ceil

import pytest
from hypothesis import given
from hypothesis import strategies as st

from daemon.firing.trace.outliers import OutlierFilter


def passed(readings, noise_k=0.5):
    gate = OutlierFilter()
    return [kept for t_s, temp_c in readings for kept in gate.offer(t_s, temp_c, noise_k)]


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
    assert passed(readings, noise_k=5.0) == readings


@given(st.lists(st.floats(-50.0, 900.0), min_size=30, max_size=60), st.sampled_from([1.0, 5.0, 30.0, 60.0]))
def test_whatever_comes_the_gate_never_stays_shut(temps, every_s):
    times = [t_s for t_s, _ in passed([(every_s * i, temp_c) for i, temp_c in enumerate(temps)])]
    longest_s = max(b - a for a, b in zip(times, [*times[1:], every_s * len(temps)], strict=True))
    assert longest_s <= max(30.0, 2.5 * every_s) + every_s


def test_a_noisy_free_fall_read_once_a_minute_is_not_shut_out():
    # One reading that has not fallen, then the fall as before: it was a rejected "step" for ever.
    fall = [697.2, 687.1, 683.8, 670.0, 669.6, 663.9, 656.8, 648.2, 646.1, 639.0, 634.5, 628.6, 621.8, 616.8]
    assert passed([(60.0 * i, temp_c) for i, temp_c in enumerate(fall)])[-1] == (60.0 * 13, 616.8)


# --- small situations, reading by reading -----------------------------------------------------------------


def believed(gate, *readings, noise_k=0.5):
    """Return what the gate gives out at each of ``readings`` (s, °C)."""
    return [gate.offer(t_s, temp_c, noise_k) for t_s, temp_c in readings]


@pytest.mark.parametrize(("away_c", "noise_k", "gap_s", "passes"), [
    # At least 6 K, or six times the noise, and 0.1 K for every second since the last reading.
    (6.4, 0.5, 5.0, True), (6.6, 0.5, 5.0, False), (-6.4, 0.5, 5.0, True), (-6.6, 0.5, 5.0, False),
    (12.4, 2.0, 5.0, True), (12.6, 2.0, 5.0, False), (7.9, 0.5, 20.0, True), (8.1, 0.5, 20.0, False),
])
def test_a_jump_beyond_what_noise_and_the_kiln_may_do_is_held_back(away_c, noise_k, gap_s, passes):
    gate = OutlierFilter()
    assert believed(gate, (0.0, 500.0)) == [((0.0, 500.0),)]
    there = (gap_s, 500.0 + away_c)
    assert believed(gate, there, noise_k=noise_k) == [(there,) if passes else ()]


def test_what_was_held_back_comes_out_at_once_after_fifteen_seconds():
    jumped = [(5.0, 540.0), (10.0, 541.0), (15.0, 542.0), (20.0, 543.0)]
    assert believed(OutlierFilter(), (0.0, 500.0), *jumped) == [((0.0, 500.0),), (), (), (), tuple(jumped)]


@pytest.mark.parametrize(("second_c", "first", "last"), [(524.5, 0, 3), (523.5, 1, 4)])
def test_a_jump_counts_from_its_start_while_it_keeps_six_tenths_of_its_height(second_c, first, last):
    # 40 K up: 524 °C is six tenths. Below that the first one was a spike, and the count begins with the second.
    given = [(5.0, 540.0), (10.0, second_c), (15.0, 540.0), (20.0, 540.0), (25.0, 540.0)]
    out = believed(OutlierFilter(), (0.0, 500.0), *given)[1:]
    assert out[:last] == [()] * last
    assert out[last] == tuple(given[first:last + 1])


def test_after_a_step_more_of_the_same_way_passes_at_once_and_the_other_way_is_held():
    gate = OutlierFilter()
    believed(gate, (0.0, 500.0), *[(5.0 * i, 540.0) for i in range(1, 5)])
    assert believed(gate, (25.0, 570.0), (30.0, 530.0)) == [((25.0, 570.0),), ()]
    gate = OutlierFilter()
    believed(gate, (0.0, 500.0), *[(5.0 * i, 460.0) for i in range(1, 5)])
    assert believed(gate, (25.0, 430.0), (30.0, 470.0)) == [((25.0, 430.0),), ()]


def test_after_a_quiet_reading_the_way_of_the_step_is_forgotten():
    gate = OutlierFilter()
    believed(gate, (0.0, 500.0), *[(5.0 * i, 540.0) for i in range(1, 5)], (25.0, 541.0))
    assert believed(gate, (30.0, 570.0)) == [()]


@pytest.mark.parametrize(("every_s", "temp_c", "passes"), [
    # 12 K a minute so far: after 60 s the kiln may have stood or gone on, and 6 + 0.1 · 60 K more.
    (60.0, 524.0 - 11.9, True), (60.0, 536.0 + 11.9, True), (60.0, 536.0 + 12.1, False),
    (60.0, 524.0 - 12.1, False),
    # Every 20 s it is expected to stay: 6 + 2 K.
    (20.0, 524.0 + 7.9, True), (20.0, 524.0 + 8.1, False),
])
def test_a_slow_logger_is_expected_to_go_on_as_it_went(every_s, temp_c, passes):
    gate = OutlierFilter()
    rate = 12.0 if every_s == 60.0 else 4.0
    believed(gate, (0.0, 524.0 - rate), (every_s, 524.0))
    assert believed(gate, (2 * every_s, temp_c)) == [((2 * every_s, temp_c),) if passes else ()]
    falling, mirrored = OutlierFilter(), 1048.0 - temp_c
    believed(falling, (0.0, 524.0 + rate), (every_s, 524.0))
    assert believed(falling, (2 * every_s, mirrored)) == [((2 * every_s, mirrored),) if passes else ()]


@pytest.mark.parametrize(("every_s", "believed_at"), [(4.0, 8), (20.0, 3)])
def test_what_never_agrees_is_believed_after_half_a_minute_or_two_and_a_half_steps(every_s, believed_at):
    # Up and down in turn: no two readings agree. At 4 s a step the first beyond 30 s is the eighth (32 s);
    # at 20 s a step the first beyond 50 s is the third (60 s).
    wild = [(every_s * i, 500.0 + (60.0 if i % 2 else -60.0)) for i in range(1, 10)]
    out = believed(OutlierFilter(), (0.0, 500.0), *wild)
    assert [i for i, kept in enumerate(out) if kept][1] == believed_at
    assert out[believed_at] == (wild[believed_at - 1],)


def test_after_a_gap_everything_is_believed_anew():
    gate = OutlierFilter()
    believed(gate, (0.0, 500.0), *[(5.0 * i, 540.0) for i in range(1, 5)], (25.0, 590.0), (30.0, 500.0))
    gate.forget()
    assert believed(gate, (300.0, 100.0)) == [((300.0, 100.0),)]
    assert believed(gate, (305.0, 140.0), (310.0, 100.0)) == [(), ((310.0, 100.0),)]
