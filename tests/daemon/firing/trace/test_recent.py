"""The trail: a median that one spike cannot move, slopes with honest errors, knots where the bends are."""

from __future__ import annotations

import numpy as np
import pytest
import scipy

from daemon.firing.trace.recent import BREAK_S, KEEP_S, Trail


def trail_of(times, temps) -> Trail:
    trail = Trail()
    for t_s, temp_c in zip(times, temps, strict=True):
        trail.offer(float(t_s), float(temp_c))
    return trail


def ramp(count: int, rate_c_per_h: float = 200.0, noise_k: float = 0.0, seed: int = 1, every_s: float = 5.0):
    rng = np.random.default_rng(seed)
    times = every_s * np.arange(count)
    return times, 20.0 + rate_c_per_h * times / 3600 + rng.normal(0.0, noise_k, count)


# --- the median of three -------------------------------------------------------------------------


@pytest.mark.parametrize("spike_c", [-400.0, 400.0])
def test_one_spike_moves_nothing(spike_c):
    times, temps = ramp(200)
    spiked = temps.copy()
    spiked[120] += spike_c
    clean, hit = trail_of(times, temps), trail_of(times, spiked)
    assert hit.times == [t_s for t_s in clean.times if t_s != times[120]]
    assert hit.temps == [c for t_s, c in zip(clean.times, clean.temps, strict=True) if t_s != times[120]]
    for window_s in (60.0, 240.0):
        line, undisturbed = hit.line(times[122] - window_s), clean.line(times[122] - window_s)
        assert line.slope_c_per_s * 3600 == pytest.approx(undisturbed.slope_c_per_s * 3600, abs=1.0)
    assert hit.noise_k < clean.noise_k + 0.06


def test_a_spike_between_readings_that_are_alike_moves_nothing():
    # A logger of whole degrees in a hold gives the same figure again and again.
    temps = np.full(100, 516.0)
    temps[40], temps[70] = 470.0, 600.0
    assert set(trail_of(5.0 * np.arange(100), temps).temps) == {516.0}


def test_a_real_step_is_seen_as_soon_as_it_has_lasted_fifteen_seconds():
    times = 5.0 * np.arange(100)
    temps = np.where(times < 250.0, 500.0, 480.0)
    trail = trail_of(times[:53], temps[:53])  # the readings of seconds 250 to 260 have come: they may be a spike
    assert trail.temps[-1] == 500.0
    trail.offer(265.0, 480.0)
    assert (trail.times[-3:], trail.temps[-3:]) == ([250.0, 255.0, 260.0], [480.0, 480.0, 480.0])


def test_readings_on_a_ramp_pass_unchanged():
    times, temps = ramp(300)
    trail = trail_of(times, temps)
    assert trail.times == times[:-1].tolist()
    assert trail.temps == temps[:-1].tolist()


def test_readings_a_minute_apart_are_taken_as_they_are():
    times, temps = ramp(50, every_s=60.0)
    trail = trail_of(times, temps)
    assert trail.times == times.tolist()
    assert trail.temps == temps.tolist()


# --- slopes --------------------------------------------------------------------------------------


@pytest.mark.parametrize("seed", range(3))
def test_a_slope_is_that_of_the_readings_taken_in(seed):
    rng = np.random.default_rng(seed)
    times = np.cumsum(rng.uniform(1.0, 15.0, 3000))
    temps = 500 + 200 * np.sin(times / 4000) + rng.normal(0, 0.5, 3000)
    trail = trail_of(times, temps)
    for window_s in (60.0, 240.0, 2400.0, 7000.0):
        chosen = np.array(trail.times) >= times[-1] - window_s
        fit = scipy.stats.linregress(np.array(trail.times)[chosen], np.array(trail.temps)[chosen])
        line = trail.line(float(times[-1]) - window_s)
        assert line.slope_c_per_s * 3600 == pytest.approx(fit.slope * 3600, rel=1e-7, abs=0.001)


@pytest.mark.parametrize("from_s", [0.0, 1e6, 1.8e9])
@pytest.mark.parametrize("grain_k", [0.0, 0.25, 1.0])
def test_a_line_is_the_same_far_from_the_clocks_origin_and_by_a_logger_that_rounds(from_s, grain_k):
    # Against scipy's linregress: the slope, and what the readings scatter about it, from its standard error.
    rng = np.random.default_rng(5)
    times = from_s + np.cumsum(rng.uniform(1.0, 15.0, 1500))
    temps = 900.0 - (times - from_s) * 55 / 3600 + rng.normal(0, 0.8, 1500)
    trail = trail_of(times, np.round(temps / grain_k) * grain_k if grain_k else temps)
    for window_s in (240.0, 2400.0, 7000.0):
        line = trail.line(float(times[-1]) - window_s)
        x, y = np.array(trail.times[-line.number:]), np.array(trail.temps[-line.number:])
        fit = scipy.stats.linregress(x - x[0], y)
        assert line.slope_c_per_s * 3600 == pytest.approx(fit.slope * 3600, abs=0.001)
        scatter_c = fit.stderr * np.sqrt(np.sum((x - x.mean()) ** 2))
        assert (line.sse / (line.number - 2)) ** 0.5 == pytest.approx(scatter_c, rel=1e-4)


def test_two_hours_are_kept_whatever_the_length_of_the_firing():
    times, temps = ramp(24 * 720, rate_c_per_h=20.0, noise_k=0.3)
    trail = trail_of(times, temps)
    assert trail.times[-1] - trail.times[0] >= KEEP_S
    assert trail.times[-1] - trail.times[0] <= 3 * KEEP_S
    line = trail.line(times[-1] - KEEP_S)
    fit = scipy.stats.linregress(trail.times[-line.number:], trail.temps[-line.number:])
    assert line.slope_c_per_s == pytest.approx(fit.slope, rel=1e-8)
    assert line.slope_c_per_s * 3600 == pytest.approx(20.0, abs=0.05)


def test_no_slope_is_drawn_across_a_hole():
    times, temps = ramp(400)
    late = times >= 1000.0
    times, temps = np.where(late, times + BREAK_S + 300.0, times), np.where(late, 900.0 - temps, temps)
    trail = trail_of(times, temps)
    first_after = float(times[late][0])
    line = trail.line(0.0)
    assert line.mean_t_s - line.span_s / 2 >= first_after - 1e-6
    assert line.slope_c_per_s * 3600 == pytest.approx(-200.0, abs=0.5)
    # Asked for by place, the readings on either side are still there.
    assert trail.line_between(0, 100).slope_c_per_s * 3600 == pytest.approx(200.0, abs=0.5)


def test_a_slow_logger_is_no_row_of_holes():
    times, temps = ramp(120, every_s=90.0)
    line = trail_of(times, temps).line(0.0)
    assert line.span_s >= 118 * 90.0 - 1e-6
    assert line.slope_c_per_s * 3600 == pytest.approx(200.0)


def test_after_a_hole_three_readings_are_needed_again():
    trail = trail_of(*ramp(100))
    trail.offer(1000.0, 700.0)
    assert trail.line(0.0) is None
    for t_s in (1005.0, 1010.0, 1015.0):
        trail.offer(t_s, 700.0)
    assert trail.line(0.0).mean_c == pytest.approx(700.0)


# --- noise and errors ----------------------------------------------------------------------------


@pytest.mark.parametrize("sigma_c", [0.05, 0.3, 1.0, 2.0])
@pytest.mark.parametrize("rate_c_per_h", [0.0, -400.0])
def test_the_noise_is_measured_whatever_the_kiln_does(sigma_c, rate_c_per_h):
    trail = trail_of(*ramp(4000, rate_c_per_h, sigma_c, seed=11))
    # It follows the last hundred readings or so, whose neighbours share noise: by itself it is good to a tenth.
    assert trail.noise_k == pytest.approx(sigma_c, rel=0.25)
    many = [trail_of(*ramp(2000, rate_c_per_h, sigma_c, seed=s)).noise_k for s in range(12)]
    assert np.mean(many) == pytest.approx(sigma_c, rel=0.08)


def test_a_slopes_error_is_what_slopes_scatter_by():
    # White noise alone, no wander: the slopes of many windows scatter by √(12 σ² / n) / span (textbook), and the
    # median of three, which leaves less than the whole variance, makes that an upper bound.
    slopes = []
    for seed in range(150):
        trail = trail_of(*ramp(150, 100.0, 1.0, seed))
        line = trail.line(trail.times[-1] - 240.0)
        slopes.append(line.slope_c_per_s)
    trail.noise_k = 1.0
    claimed = trail.slope_error(line, 0.0, 240.0)
    assert claimed == pytest.approx((12 / line.number) ** 0.5 / line.span_s)
    assert 0.5 * claimed < np.std(slopes) < 1.15 * claimed


def test_wander_makes_a_slope_less_sure_and_long_windows_surer():
    trail = trail_of(*ramp(2000, 100.0, 0.3))
    short, long = trail.line(trail.times[-1] - 240.0), trail.line(trail.times[-1] - 2400.0)
    assert trail.slope_error(short, 1.0, 240.0) > 2 * trail.slope_error(short, 0.0, 240.0)
    assert trail.slope_error(long, 1.0, 240.0) < 0.1 * trail.slope_error(short, 1.0, 240.0)


@pytest.mark.parametrize("period_s", [200.0, 400.0, 700.0])
@pytest.mark.parametrize("window_s", [150.0, 300.0, 600.0, 1200.0])
def test_the_error_of_a_slope_covers_what_an_on_off_controller_makes_of_it(period_s, window_s):
    """Least-squares lines through a sine of 16 K from top to bottom, by numpy, spread no wider than is claimed."""
    times = 5.0 * np.arange(1440)
    temps = 500.0 + 8.0 * np.sin(2 * np.pi * times / period_s)
    trail = trail_of(times, temps)
    trail.noise_k = 0.1
    count = round(window_s / 5.0)
    spread = np.std([np.polyfit(times[i:i + count], temps[i:i + count], 1)[0] for i in range(200, 1000, 7)])
    flat = trail.line(times[-1] - window_s)
    assert spread < 1.3 * trail.slope_error(flat._replace(slope_c_per_s=0.0), 0.0, 240.0)


def test_a_line_that_goes_further_than_the_readings_swing_is_no_swing():
    times = 5.0 * np.arange(1440)
    trail = trail_of(times, 500.0 + 8.0 * np.sin(2 * np.pi * times / 300.0))
    line = trail.line(times[-1] - 600.0)
    claimed = [trail.slope_error(line._replace(slope_c_per_s=k / line.span_s), 0.0, 240.0) for k in (0.0, 24.0, 33.0)]
    assert claimed[0] > 1.9 * claimed[1] > 10 * claimed[2]


# --- the knot ------------------------------------------------------------------------------------


def bent(noise_k: float, seed: int = 1, at_s: float = 600.0, count: int = 240):
    rng = np.random.default_rng(seed)
    times = 5.0 * np.arange(count)
    temps = 600.0 + np.where(times < at_s, 0.0, -(times - at_s) * 80 / 3600)
    return times, temps + rng.normal(0, noise_k, count)


def brute_force(times, temps, knots) -> tuple[float, float]:
    """Return (knot, gain in K²) of the best continuous two-line fit, by numpy at every knot."""
    def sse(*more):
        design = np.column_stack([np.ones_like(times), times, *more])
        fit, *_ = np.linalg.lstsq(design, temps, rcond=None)
        return float(((temps - design @ fit) ** 2).sum())
    straight = sse()
    gains = [(straight - sse(np.maximum(0.0, times - knot)), knot) for knot in knots]
    gain, knot = max(gains)
    return knot, gain


@pytest.mark.parametrize("seed", range(5))
def test_the_knot_is_the_best_of_all_that_a_brute_fit_tries(seed):
    trail = trail_of(*bent(0.4, seed))
    times, temps = np.array(trail.times), np.array(trail.temps)
    window = (times >= 200.0) & (times < 1000.0)
    knots = times[(times >= 450.0) & (times < 750.0)]
    knot, gain = brute_force(times[window], temps[window], knots)
    found = trail.two_line_fit(200.0, 1000.0, 450.0, 750.0)
    assert found[0] == knot
    assert found[1] * trail.noise_k**2 == pytest.approx(gain, rel=1e-5)


def test_a_sharp_bend_is_found_to_the_reading():
    assert trail_of(*bent(0.0)).two_line_fit(100.0, 1100.0, 300.0, 900.0)[0] == pytest.approx(600.0, abs=5.0)


def test_where_nothing_bends_a_knot_gains_next_to_nothing():
    gains = []
    for seed in range(20):
        found = trail_of(*ramp(240, 100.0, 0.4, seed)).two_line_fit(100.0, 1100.0, 300.0, 900.0)
        gains.append(found[1] if found else 0.0)
    # Pure chance gains about one noise variance a knot, and a few for the best of them; a bend gains hundreds.
    assert max(gains) < 9.0 < trail_of(*bent(0.4)).two_line_fit(100.0, 1100.0, 300.0, 900.0)[1]


def test_too_few_readings_have_no_knot():
    assert trail_of(*ramp(8)).two_line_fit(0.0, 40.0, 0.0, 40.0) is None
    assert Trail().two_line_fit(0.0, 40.0, 0.0, 40.0) is None


# --- small situations ------------------------------------------------------------------------------------


@pytest.mark.parametrize(("times", "step_s", "longest_s"), [
    ([0.0], 0.0, 60.0),
    ([0.0, 5.0], 5.0, 60.0),
    ([0.0, 5.0, 15.0], 5.0, 60.0),  # the shorter one of the last two
    ([0.0, 10.0, 15.0], 5.0, 60.0),
    ([0.0, 5.0, 15.0, 25.0], 10.0, 60.0),
    ([0.0, 40.0, 80.0], 40.0, 100.0),  # two and a half steps of a slow logger
    ([0.0, 24.0, 48.0], 24.0, 60.0),
])
def test_the_usual_step_is_the_shorter_of_the_last_two_and_a_gap_is_longer_than_it(times, step_s, longest_s):
    trail = trail_of(times, [500.0] * len(times))
    assert (trail.step_s, trail.longest_step_s, trail.last_s) == (step_s, longest_s, times[-1])


@pytest.mark.parametrize(("before_s", "gap_s", "breaks"), [
    (5.0, 61.0, True), (5.0, 60.0, False), (30.0, 74.0, False), (30.0, 76.0, True), (60.0, 149.0, False),
    (60.0, 151.0, True),
])
def test_a_gap_longer_than_a_minute_and_two_and_a_half_steps_begins_a_new_stretch(before_s, gap_s, breaks):
    trail = trail_of([0.0, before_s, before_s + gap_s], [500.0, 500.0, 500.0])
    assert trail.unbroken_from_s == (before_s + gap_s if breaks else float("-inf"))


def test_after_a_gap_what_stood_before_it_holds_no_reading_back():
    trail = trail_of([0.0, 5.0, 10.0, 15.0, 300.0, 305.0, 310.0], [500.0, 500.0, 500.0, 500.0, 300.0, 301.0, 302.0])
    assert trail.temps[-2:] == [300.0, 301.0]


@pytest.mark.parametrize(("temps", "grain_k"), [
    ([500.0, 501.0, 503.0, 503.0], 1.0), ([500.0, 500.0], float("inf")), ([500.0, 499.5, 500.5], 0.5),
    ([500.0, 500.25, 500.5], 0.25),
])
def test_the_grain_is_the_smallest_step_but_none(temps, grain_k):
    assert trail_of(5.0 * np.arange(len(temps)), temps).grain_k == grain_k


def test_one_wild_second_difference_counts_for_six_noises_and_a_half_kelvin_at_most():
    # Noise so far 0.6 K, of which each reading forgets a hundredth; a mean |second difference| d is a standard
    # deviation of d / (√6 · √(2/π)) for white noise. The jump of 6 K has a second difference of 6 K: 4.1 K count.
    per = 1 / (6**0.5 * (2 / np.pi) ** 0.5)
    trail = trail_of([0.0, 5.0, 10.0], [500.0, 500.0, 501.0])
    assert trail.noise_k == pytest.approx(0.6 + 0.01 * (per * 1.0 - 0.6), rel=1e-4)
    trail = trail_of([0.0, 5.0, 10.0], [500.0, 500.0, 506.0])
    assert trail.noise_k == pytest.approx(0.6 + 0.01 * (per * (6 * 0.6 + 0.5) - 0.6), rel=1e-4)


@pytest.mark.parametrize(("temps", "middle_c"), [
    ([500.0, 501.0, 502.0], 501.0), ([500.0, 503.0, 502.0], 502.0), ([501.0, 500.0, 502.0], 501.0),
    ([502.0, 501.0, 500.0], 501.0), ([501.0, 503.0, 500.0], 501.0), ([502.0, 500.0, 501.0], 501.0),
])
def test_the_middle_of_three_goes_in(temps, middle_c):
    assert trail_of([0.0, 5.0, 10.0], temps).temps == [temps[0], middle_c]


@pytest.mark.parametrize(("step_s", "kept"), [(20.0, [500.0, 501.0]), (21.0, [500.0, 503.0, 501.0])])
def test_up_to_twenty_seconds_apart_readings_are_filtered(step_s, kept):
    assert trail_of([0.0, step_s, 2 * step_s], [500.0, 503.0, 501.0]).temps == kept


def test_a_line_takes_in_its_first_second_and_not_its_last():
    trail = Trail()
    for t_s in range(0, 100, 10):
        trail.add(float(t_s), 500.0 + t_s)
    line = trail.line(20.0, 60.0)
    assert (line.number, line.span_s, line.mean_t_s, line.mean_c) == (4, 30.0, 35.0, 535.0)
    assert trail.line(20.0).number == 8
    assert trail.line(80.0) is None  # two readings


@pytest.mark.parametrize(("wander", "wander_s"), [(0.0, 240.0), (1.0, 60.0), (1.0, 5000.0)])
def test_a_slopes_error_adds_white_noise_and_wander(wander, wander_s):
    # White noise: √(12 σ² / n) / T. Wander: the same without n, but for its memory over T where that is shorter.
    trail = Trail()
    for t_s in range(0, 1000, 10):
        trail.add(float(t_s), 500.0)
    trail.noise_k = 2.0
    line = trail.line(0.0)
    slow = 12 * wander**2 * min(1.0, wander_s / 990.0)
    assert trail.slope_error(line, wander, wander_s) == pytest.approx((12 * 2.0**2 / 100 + slow) ** 0.5 / 990.0)


def test_a_knot_needs_eight_readings_three_of_them_on_either_side():
    def hinged(count):
        trail = Trail()
        for i in range(count):
            trail.add(10.0 * i, 500.0 + max(0.0, 10.0 * i - 30.0))
        trail.noise_k = 0.1
        return trail.two_line_fit(0.0, 1000.0, 0.0, 1000.0)

    assert hinged(7) is None
    assert hinged(8)[0] == 30.0
    trail = Trail()
    for i in range(20):
        trail.add(10.0 * i, 500.0 + max(0.0, 10.0 * i - 20.0))
    assert trail.two_line_fit(0.0, 200.0, 0.0, 200.0)[0] == 30.0  # the bend at 20 s is too near the edge


def test_a_gain_is_in_noise_variances_and_the_least_noise_is_a_hundredth_of_a_kelvin():
    trail = Trail()
    for i in range(20):
        trail.add(10.0 * i, 500.0 + max(0.0, 10.0 * i - 100.0))
    gains = []
    for noise in (2.0, 1.0, 0.01, 0.001):
        trail.noise_k = noise
        gains.append(trail.two_line_fit(0.0, 200.0, 0.0, 200.0)[1])
    assert [gain / gains[0] for gain in gains] == pytest.approx([1.0, 4.0, 40_000.0, 40_000.0])


def test_in_a_long_window_some_eighty_knots_are_tried():
    trail = Trail()
    for i in range(800):
        trail.add(10.0 * i, 500.0 + max(0.0, 10.0 * i - 4000.0))
    found_s = trail.two_line_fit(0.0, 8000.0, 30.0, 7970.0)[0]
    assert (found_s - 30.0) % 90.0 == 0.0  # every ninth: 794 // 80
    assert abs(found_s - 4000.0) <= 45.0
