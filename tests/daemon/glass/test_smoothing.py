"""Smoothing follows the measured noise: none where there is none, bends and lids kept, holes never bridged."""

from __future__ import annotations

from random import Random

import numpy as np
import pytest

from daemon.glass.smoothing import QUIET_K, SMOOTH_K, Smoother

Row = tuple[float, float]


def smoothed(rows: list[Row]) -> tuple[list[Row], Smoother]:
    smoother = Smoother()
    out = [row for t_s, temp_c in rows for row in smoother.offer(t_s, temp_c)]
    return [*out, *smoother.rest()], smoother


def ramp(rate_c_per_h: float, noise_k: float, step_s: float = 5.0, number: int = 2000, seed: int = 1) -> list[Row]:
    rng = Random(seed)
    return [(step_s * k, 560.0 - rate_c_per_h * step_s * k / 3600 + rng.gauss(0.0, noise_k)) for k in range(number)]


@pytest.mark.parametrize("noise_k", [0.1, 0.5, 2.0])
@pytest.mark.parametrize("step_s", [1.0, 5.0, 60.0])
def test_the_noise_is_measured_to_a_fifth_whatever_the_spacing(noise_k: float, step_s: float) -> None:
    _, smoother = smoothed(ramp(60.0, noise_k, step_s))
    assert smoother.noise_k == pytest.approx(noise_k, rel=0.2)


def test_a_free_fall_read_once_a_minute_has_no_noise() -> None:
    # An exponential of one hour bends by 0.2 K a minute: curvature, and no noise. The readings come out as they are.
    rows = [(60.0 * k, 20.0 + 780.0 * float(np.exp(-k / 60.0))) for k in range(400)]
    out, smoother = smoothed(rows)
    assert smoother.noise_k is not None
    assert smoother.noise_k < QUIET_K
    assert out == rows


def test_readings_without_noise_come_out_untouched_lids_and_all() -> None:
    rows = ramp(60.0, 0.0)
    rows = [(t, c - 60.0 if 5000.0 < t < 5030.0 else c) for t, c in rows]
    assert smoothed(rows)[0] == rows


def test_noise_is_brought_down_sevenfold_and_more_on_a_straight_fall() -> None:
    out, _ = smoothed(ramp(60.0, 0.5))
    inner = [(t, c) for t, c in out if 1000.0 < t < 9000.0]
    off = np.array([c - (560.0 - 60.0 * t / 3600) for t, c in inner])
    assert float(off.std()) < 0.5 / 7


def test_a_new_rate_is_not_rounded_off() -> None:
    rng = Random(3)
    true = [560.0 - max(0.0, 5.0 * k - 5000.0) * 300.0 / 3600 for k in range(2000)]
    out, _ = smoothed([(5.0 * k, c + rng.gauss(0.0, 0.3)) for k, c in enumerate(true)])
    at_bend = [c - true[round(t / 5)] for t, c in out if 4900.0 < t < 5100.0]
    assert max(abs(off) for off in at_bend) < 0.9  # three standard deviations; a window of 600 s would round off 25 K


def test_a_step_in_noise_is_not_rounded_off() -> None:
    rng = Random(5)
    true = [560.0 - (5.0 if k >= 1000 else 0.0) for k in range(2000)]
    out, _ = smoothed([(5.0 * k, c + rng.gauss(0.0, 0.3)) for k, c in enumerate(true)])
    off = [c - true[round(t / 5)] for t, c in out if 4700.0 < t < 5300.0]
    assert max(map(abs, off)) < 0.9  # three standard deviations; a line across the step is off by 2.5 K


def test_one_mad_reading_is_left_out_and_an_opened_lid_is_not() -> None:
    rows = ramp(60.0, 0.0, number=400)
    mad = list(rows)
    mad[200] = (mad[200][0], 1300.0)
    assert smoothed(mad)[0] == rows[:200] + rows[201:]
    lid = [(t, c - 80.0 * float(np.exp(-(t - 1000.0) / 60.0)) if t >= 1000.0 else c) for t, c in rows]
    assert smoothed(lid)[0] == lid


def test_nothing_is_smoothed_across_a_hole() -> None:
    rng = Random(4)
    rows = [(5.0 * k, 560.0 + rng.gauss(0.0, 0.3)) for k in range(400)]
    rows += [(2000.0 + 1800.0 + 5.0 * k, 400.0 + rng.gauss(0.0, 0.3)) for k in range(400)]
    out, _ = smoothed(rows)
    assert all(abs(c - (560.0 if t < 2000.0 else 400.0)) < 1.0 for t, c in out)


@pytest.mark.parametrize(("step_s", "silence_s", "is_hole"), [
    (5.0, 55.0, False), (5.0, 65.0, True),  # a minute
    (60.0, 175.0, False), (60.0, 185.0, True),  # three steps of a slow logger
])
def test_a_hole_is_a_minute_or_three_steps(step_s: float, silence_s: float, is_hole: bool) -> None:
    # A step so small that it does not stand out of the noise is rounded off, unless a hole lies where it is.
    rng, silent_s = Random(7), 300 * step_s
    rows = [(step_s * k, 500.0 + rng.gauss(0.0, 0.5)) for k in range(301)]
    rows += [(silent_s + silence_s + step_s * k, 500.8 + rng.gauss(0.0, 0.5)) for k in range(300)]
    out, _ = smoothed(rows)
    before = [c for t, c in out if t <= silent_s][-1]
    after = next(c for t, c in out if t > silent_s)
    assert (after - before > 0.5) is is_hole


def test_a_new_spacing_is_learned_over_twenty_steps() -> None:
    smoother = Smoother()
    times_s = [5.0 * k for k in range(101)] + [500.0 + 60.0 * k for k in range(1, 21)]
    for t_s in [*times_s, times_s[-1] + 60.0]:  # the last one is held back
        smoother.offer(t_s, 500.0)
    assert smoother._step_s == pytest.approx(60.0 - 55.0 / np.e, rel=0.03)


def test_what_is_held_back_may_be_asked_for_at_any_time_and_stays() -> None:
    asked, unasked, rows = Smoother(), Smoother(), ramp(60.0, 0.5, number=800)
    ours: list[Row] = []
    theirs: list[Row] = []
    for n, row in enumerate(rows):
        ours += asked.offer(*row)
        theirs += unasked.offer(*row)
        if n % 50 == 0:
            list(asked.rest())
    assert ours == theirs
    assert list(asked.rest()) == list(unasked.rest())


def test_the_noise_is_known_from_ten_blocks_of_four_readings_on() -> None:
    rng = Random(3)
    smoother = Smoother()
    known = []
    for k in range(45):
        smoother.offer(5.0 * k, 500.0 + rng.gauss(0.0, 0.5))
        known.append(smoother.noise_k is not None)
    assert known.index(True) == 40  # the last of forty readings is taken when the next one shows that it did not leap


def test_a_slow_logger_is_smoothed_over_twenty_of_its_steps() -> None:
    # The mean of a line at its middle over 2 · 20 + 1 readings leaves σ/√41 = 0.16 of the noise; over ten minutes to
    # each side of a minute's logger it would be σ/√21 = 0.22.
    rng = Random(4)
    rows = [(60.0 * k, 500.0 + rng.gauss(0.0, 1.0)) for k in range(1200)]
    smoother = Smoother()
    out = [smooth_c for row in rows for _, smooth_c in smoother.offer(*row)]
    assert float(np.std(out)) == pytest.approx(0.16, abs=0.03)


def test_a_window_is_as_wide_as_brings_the_noise_down_to_what_is_wanted() -> None:
    # σ/√n = SMOOTH_K: 0.2 K want 100 readings, within a fifth, as the noise is measured and some windows are halved.
    out = []
    for seed in (1, 2, 3, 4):
        smoother = Smoother()
        for row in ramp(0.0, 0.2, number=4000, seed=seed):
            out += [smooth_c - 560.0 for _, smooth_c in smoother.offer(*row)]
    assert float(np.std(out)) == pytest.approx(SMOOTH_K, rel=0.2)


def test_of_readings_smoothed_alike_one_comes_out_in_twenty_seconds() -> None:
    # 0.5 K of noise at 5 s ask for the widest window, ±10 min; an eighth of that would be longer than 20 s.
    smoother = Smoother()
    times_s = [t_s for row in ramp(60.0, 0.5) for t_s, _ in smoother.offer(*row)]
    gaps_s = np.diff(times_s)
    assert float(np.median(gaps_s)) == float(np.max(gaps_s)) == 20.0


def test_so_it_is_of_those_too_that_come_out_at_once() -> None:
    # The noise is known after 200 s; 0.1 K ask for ±62 s, so that two minutes of readings come out then.
    # An eighth of 62 s is 7.8 s, and of readings 5 s apart every second one.
    smoother = Smoother()
    out = [[t_s for t_s, _ in smoother.offer(*row)] for row in ramp(60.0, 0.1)]
    first = next(times_s for times_s in out if times_s)
    assert len(first) > 5
    assert min(np.diff(first)) >= 10.0
