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
    _, smoother = smoothed(ramp(60.0, noise_k, step_s, number=600))
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


def test_beside_a_step_the_readings_of_its_own_side_are_smoothed_while_it_is_fresh() -> None:
    # A line through n readings is known to 2σ/√n at its end: to a third of σ from 36 readings on.
    off = []
    for seed in range(10):
        rng = Random(seed)
        true = [560.0 if k < 150 else 550.0 for k in range(200)]
        out, _ = smoothed([(5.0 * k, c + rng.gauss(0.0, 0.3)) for k, c in enumerate(true)])
        off += [c - true[round(t / 5)] for t, c in out if 740.0 < t < 755.0]
    assert len(off) >= 20
    assert float(np.std(off)) < 0.3 / 2


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
    assert min(np.diff(first)) == 10.0


# --- the noise ---------------------------------------------------------------------------------------------


def uneven(number: int, noise_k: float, seed: int = 6) -> list[Row]:
    """Return readings 1 to 9 s apart on a parabola, with noise."""
    rng, t_s, rows = Random(seed), 0.0, []
    for _ in range(number):
        t_s += rng.uniform(1.0, 9.0)
        rows.append((t_s, 500.0 - 0.02 * t_s + 1e-4 * t_s * t_s + rng.gauss(0.0, noise_k)))
    return rows


def left_by_a_parabola(block: list[Row]) -> float:
    """Return the root of the sum of squares that numpy's least-squares parabola leaves of four readings [K]."""
    t_s, temp_c = np.array(block).T
    t_s = t_s - t_s.mean()
    return float(np.linalg.norm(temp_c - np.polyval(np.polyfit(t_s, temp_c, 2), t_s)))


def test_the_noise_is_what_parabolas_leave_of_four_readings_however_they_are_spaced() -> None:
    rows = uneven(41, 0.5)
    left = sorted(left_by_a_parabola(rows[4 * k:4 * k + 4]) for k in range(10))
    # The median of |x| is 0.6745 standard deviations of normal noise; of ten the sixth is taken.
    assert smoothed(rows)[1].noise_k == pytest.approx(left[5] / 0.6745, rel=1e-3)


def known_noise(noise_k: float = 0.5) -> Smoother:
    """Return a smoother that has just learned a noise of about so much."""
    return smoothed(ramp(0.0, noise_k, number=41))[1]


def offered(smoother: Smoother, temps_c: list[float]) -> float:
    """Return the noise after further readings, 5 s apart from 205 s on."""
    for k, temp_c in enumerate(temps_c):
        smoother.offer(205.0 + 5.0 * k, temp_c)
    assert smoother.noise_k is not None
    return smoother.noise_k


def test_noise_that_ended_is_forgotten_over_a_hundred_readings() -> None:
    first = known_noise().noise_k
    assert first is not None
    # The 41st reading is still one with noise: it is the first of 25 blocks, and the last reading is held back.
    assert offered(known_noise(), [560.0] * 104) == pytest.approx(first / np.e, rel=0.15)


def test_one_wild_block_counts_for_no_more_than_four_times_the_noise() -> None:
    first = known_noise().noise_k
    assert first is not None
    # 0.04 · (4 · 1.2533 − 1) = 0.16
    assert offered(known_noise(), [560.0, 600.0, 560.0, 560.0]) == pytest.approx(1.16 * first, rel=0.01)


def test_a_step_in_quiet_readings_makes_no_noise() -> None:
    smoother = smoothed(ramp(0.0, 0.0, number=41))[1]
    assert smoother.noise_k == 0.0
    assert 0.0 < offered(smoother, [560.0, 530.0, 530.0, 530.0]) < QUIET_K / 40


@pytest.mark.parametrize(("noise_k", "is_smoothed"), [(0.045, False), (0.06, True)])
def test_readings_with_less_noise_than_a_twentieth_kelvin_are_taken_as_they_are(noise_k: float,
                                                                               is_smoothed: bool) -> None:
    # Of readings in turn above and below, a parabola through four leaves 8/√20 of how far they are off.
    off_k = noise_k * 0.6745 * 20**0.5 / 8
    rows = [(5.0 * k, 560.0 + (off_k if k % 2 else -off_k)) for k in range(60)]
    out, smoother = smoothed(rows)
    assert smoother.noise_k is not None
    assert (out != rows) is is_smoothed


# --- how far it reaches --------------------------------------------------------------------------------------


def reaches_s(noise_k: float, step_s: float, number: int) -> float:
    """Return how long before a reading it counts [s]: a little is added to one, and what comes out is compared."""
    rows = ramp(0.0, noise_k, step_s, number)
    middle = number // 2
    changed = [(t, c + 0.2 * noise_k * (k == middle)) for k, (t, c) in enumerate(rows)]
    pairs = list(zip(smoothed(rows)[0], smoothed(changed)[0], strict=False))
    return max(rows[middle][0] - a[0] for a, b in pairs if abs(a[1] - b[1]) > 1e-6 * noise_k)


@pytest.mark.parametrize(("noise_k", "step_s", "half_s", "within"), [
    # σ/√n = SMOOTH_K: 0.2 K want 100 readings, and the noise is measured to a fifth.
    (0.2, 5.0, (0.2 / SMOOTH_K) ** 2 * 5.0 / 2, 0.4),
    (1.0, 5.0, 600.0, 0.03),  # 2500 readings would be ±6250 s: ten minutes at most
    (1.0, 60.0, 1200.0, 0.03),  # twenty steps of a slow logger, where they reach further
])
def test_a_reading_counts_as_far_off_as_brings_the_noise_down_to_what_is_wanted(
        noise_k: float, step_s: float, half_s: float, within: float) -> None:
    assert reaches_s(noise_k, step_s, 600) == pytest.approx(half_s, rel=within)


# --- leaps ----------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("way", [1.0, -1.0])
@pytest.mark.parametrize(("there_k", "back_k", "is_left_out"), [
    (11.0, 11.0, True), (15.0, 15.0, True),
    (9.0, 9.0, False),  # slower than 10 K/s
    (11.0, 9.0, False), (9.0, 11.0, False),
    (11.0, 0.0, False), (11.0, -11.0, False),  # a step, and one that goes on
])
def test_a_reading_that_leaps_off_both_its_neighbours_at_once_is_left_out(way: float, there_k: float, back_k: float,
                                                                         is_left_out: bool) -> None:
    rows = [(2.0 * k, 500.0) for k in range(50)]
    rows.append((100.0, 500.0 + 2.0 * way * there_k))
    rows += [(102.0 + 2.0 * k, rows[50][1] - 2.0 * way * back_k) for k in range(50)]
    assert smoothed(rows)[0] == (rows[:50] + rows[51:] if is_left_out else rows)


# --- what may be a line ------------------------------------------------------------------------------------------


def kept(temps_c: list[float]) -> Smoother:
    """Return a smoother that holds these readings, 5 s apart."""
    smoother = Smoother()
    for k, temp_c in enumerate(temps_c):
        smoother._sums.add(5.0 * k, temp_c)
    return smoother


@pytest.mark.parametrize(("variances", "is_line"), [(75.0, True), (83.0, False)])
def test_readings_that_leave_their_line_by_more_than_their_noise_make_none(variances: float, is_line: bool) -> None:
    # Noise leaves 41 variances on average; 1.3 · 41 + 4 · √41 = 78.9 of them are too many.
    smoother = kept([500.0 + (1.0 if k % 2 else -1.0) for k in range(41)])
    line = smoother._sums.line_between(0, 41)
    assert line is not None
    assert (smoother._line(0, 41, 20, (line.sse / variances) ** 0.5) is not None) is is_line


@pytest.mark.parametrize(("variances", "is_line"), [(9.0, True), (11.0, False)])
def test_readings_that_bend_where_they_are_asked_for_make_none(variances: float, is_line: bool) -> None:
    bent = [500.0 + max(0.0, k - 20.0) for k in range(41)]
    t_s = np.arange(41.0)
    straight = np.polyval(np.polyfit(t_s, bent, 1), t_s)
    explained = float(np.sum((bent - straight) ** 2))  # all that a line leaves is the bend
    assert (kept(bent)._line(0, 41, 20, (explained / variances) ** 0.5) is not None) is is_line


# --- what is held back ----------------------------------------------------------------------------------------


def test_before_the_noise_is_known_what_is_held_back_is_smoothed_by_what_was_seen() -> None:
    rows = ramp(0.0, 0.5, number=30)
    out, smoother = smoothed(rows)
    assert smoother.noise_k is None
    assert [t_s for t_s, _ in out] == [t_s for t_s, _ in rows]
    # The newest one lies on the line through those before it, whose end is known to 2 · 0.5/√n with n = 30.
    assert abs(out[-1][1] - 560.0) < 3.0 * 2.0 * 0.5 / 30**0.5
    # ±75 s on average around the middle: one straight line, whose mean is known to 0.5/√30.
    assert max(abs(temp_c - 560.0) for _, temp_c in out[10:20]) < 3.0 * 0.5 / 30**0.5
    assert smoothed([])[0] == []


def test_the_newest_reading_is_smoothed_too_unless_it_has_left_the_line() -> None:
    # 120 readings within 600 s: the end of a line through them is known to 2 · 0.5/√120 = 0.09 K.
    rows = ramp(30.0, 0.5, number=400)
    at_s, now_c = rows[-1][0], 560.0 - 30.0 * rows[-1][0] / 3600
    off = [smoothed([*rows[:-1], (at_s, now_c + noise)])[0][-1][1] - now_c for noise in (-1.0, 0.0, 1.0)]
    assert max(map(abs, off)) < 3.0 * 0.09
    opened = (at_s, now_c - 20.0)  # a lid
    assert smoothed([*rows[:-1], opened])[0][-1] == opened


@pytest.mark.parametrize(("number", "is_smoothed"), [(5, False), (6, True)])
def test_fewer_than_five_readings_after_a_hole_make_no_line(number: int, is_smoothed: bool) -> None:
    later = [(t_s + 2000.0, temp_c) for t_s, temp_c in ramp(0.0, 0.5, number=number, seed=2)]
    out, _ = smoothed(ramp(0.0, 0.5, number=200) + later)  # the last reading is held back
    assert ([row for row in out if row[0] >= 2000.0] != later) is is_smoothed
