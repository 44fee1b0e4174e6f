"""A slope against its plan and its limit, on traces drawn with numbers known beforehand."""

from __future__ import annotations

from dataclasses import replace
from math import sqrt
from random import Random
from statistics import median

import numpy as np
import pytest

from daemon.firing.detection import rate_test
from daemon.firing.detection.rate_test import surest
from daemon.firing.plan.plan import Plan, Step
from daemon.firing.plan.schedule import planned_parts
from daemon.firing.situation.view import View
from daemon.firing.trace.recent import Trail
from daemon.glass.materials import FAMILIES

PLANNED, TOLERATED = 55.0, 1.12 * 55.0


def view_of(*legs: tuple[float, float], noise_k: float = 1.0, wander_k: float = 0.3, seed: int = 1) -> View:
    """Return a view at the end of ``legs`` (minutes, °C/h falling), one after another from 520 °C."""
    rng, trail, here_c, t_s = Random(seed), Trail(), 520.0, 0.0
    for minutes, fall in legs:
        for _ in range(round(minutes * 12)):
            t_s, here_c = t_s + 5.0, here_c - fall / 720
            trail.offer(t_s, here_c + rng.gauss(0.0, noise_k))
    plan = Plan("drawn", "C", (Step(PLANNED, 400.0, 0.0),))
    return View(
        t_s=t_s, temp_c=here_c, trail=trail, wander_k=wander_k, plan=plan, parts=planned_parts(plan, 520.0),
        anneal=None, top=None, glass=FAMILIES["90"], thickness_mm=6.0, faces=1, state=1, found=(), offset_k=0.0,
        offset_known=True, peak_c=520.0, resumed_s=0.0, first_c=520.0, first_s=0.0, offset_elsewhere_k=None,
        haze_s=0.0)


def test_a_slope_is_read_as_it_was_drawn():
    found = surest(view_of((60, 100.0), noise_k=0.3), 70.0, 0.0, way=-1)
    assert found is not None
    assert found.c_per_h == pytest.approx(100.0, abs=3 * found.error_c_per_h)


@pytest.mark.parametrize("seed", range(5))
def test_the_plan_itself_and_a_little_more_pass_nothing(seed):
    for fall in (PLANNED, 1.08 * PLANNED):
        assert surest(view_of((90, fall), seed=seed), TOLERATED, 0.0, way=-1, planned_c_per_h=PLANNED) is None


@pytest.mark.parametrize("seed", range(5))
def test_a_third_more_passes_within_a_quarter_of_an_hour_sooner_than_by_the_tolerance_alone(seed):
    view = view_of((40, PLANNED), (14, 1.33 * PLANNED), seed=seed)
    assert surest(view, TOLERATED, 0.0, way=-1, planned_c_per_h=PLANNED) is not None
    early = view_of((40, PLANNED), (10, 1.33 * PLANNED), seed=seed)
    assert surest(early, TOLERATED, 0.0, way=-1) is None


def test_a_slope_has_both_to_differ_from_its_plan_beyond_doubt_and_to_pass_its_limit():
    view = view_of((40, 60.0), noise_k=0.05, wander_k=0.02)
    for limit, planned, passes in ((55.0, 50.0, True), (61.0, 50.0, False), (55.0, 55.5, False)):
        found = surest(view, limit, 0.0, way=-1, planned_c_per_h=planned)
        assert (found is not None) is passes


@pytest.mark.parametrize(("noise_k", "passes"), [(0.3, True), (2.2, False)])
def test_a_probe_with_more_than_ordinary_noise_has_to_move_further(noise_k, passes):
    """57 °C/h leave 50 by 4.7 K in 40 min; 2.5 K and half of one are wanted, and 2.5 times 1 K for this noise."""
    found = surest(view_of((40, 57.0), noise_k=noise_k), 51.0, 0.0, way=-1, planned_c_per_h=50.0)
    assert (found is not None) is passes


@pytest.mark.parametrize(("step_k", "passes"), [(9.0, True), (16.0, False)])
def test_a_line_with_a_step_in_it_is_no_rate(step_k, passes):
    """A step leaves its line by a quarter of its height on average, and 3 K are too much."""
    view = view_of((20, 50.0), (1 / 12, 720.0 * step_k), (20, 50.0), noise_k=0.05, wander_k=0.02)
    assert (surest(view, 55.0, 0.0, way=-1, planned_c_per_h=50.0) is not None) is passes


@pytest.mark.parametrize(("minutes", "passes"), [(1.5, False), (2.0, True)])
def test_100_seconds_are_seen_at_least(minutes, passes):
    view = view_of((10, 50.0), (minutes, 900.0), noise_k=0.05, wander_k=0.02)
    found = surest(view, 60.0, view.t_s - 60.0 * minutes, way=-1, planned_c_per_h=50.0)
    assert (found is not None) is passes


def test_a_change_under_way_is_found_in_a_window_of_its_own_age():
    view = view_of((60, PLANNED), (15, 1.5 * PLANNED))
    found = surest(view, TOLERATED, 0.0, way=-1, planned_c_per_h=PLANNED)
    assert found is not None
    assert view.t_s - found.since_s == pytest.approx(15 * 60, rel=0.4)


def test_a_wandering_trace_must_move_further():
    legs = ((40, PLANNED), (14, 1.33 * PLANNED))
    assert surest(view_of(*legs, wander_k=2.0), TOLERATED, 0.0, way=-1, planned_c_per_h=PLANNED) is None


def test_no_window_reaches_back_before_what_may_count():
    view = view_of((30, 110.0), (20, PLANNED))
    assert surest(view, TOLERATED, view.t_s - 1200.0, way=-1, planned_c_per_h=PLANNED) is None
    assert surest(view, TOLERATED, 0.0, way=-1, planned_c_per_h=PLANNED) is not None


def test_a_step_is_no_rate():
    rng, view = Random(3), view_of((30, 0.0))
    for n in range(60):
        view.trail.offer(view.t_s + 5.0 * (n + 1), 470.0 + rng.gauss(0.0, 1.0))
    view.t_s += 300.0
    assert surest(view, 200.0, 0.0, way=-1) is None


@pytest.mark.parametrize("times", [1.6, 2.5])
def test_a_faster_fall_is_found_about_when_its_evidence_suffices(times):
    """The window is long enough once the excess is SURE of its standard errors (Draper & Smith, ch. 1, for white
    noise); chance moves single firings to either side of it."""
    found_s = []
    for seed in range(24):
        for minutes in range(1, 31):
            view = view_of((60, PLANNED), (minutes, times * PLANNED), seed=seed, wander_k=0.2)
            if surest(view, TOLERATED, 0.0, way=-1, planned_c_per_h=PLANNED) is not None:
                found_s.append(60.0 * minutes)
                break
    excess = (times - 1.0) * PLANNED

    def suffices(span_s: float) -> bool:
        white = sqrt(12.0) / (span_s * sqrt(span_s / 5.0)) * 3600
        slow = sqrt(12.0 * 0.2**2 * min(1.0, 240.0 / span_s)) / span_s * 3600
        error = sqrt(white**2 + slow**2 + rate_test._slow_air_c_per_h(span_s) ** 2)
        return excess > rate_test.SURE * error and excess * span_s / 3600 > 2.5 + 1.5 * 0.2

    due_s = next(span_s for span_s in range(100, 3600, 5) if suffices(span_s))
    assert median(found_s) == pytest.approx(due_s, abs=max(60.0, 0.3 * due_s))


@pytest.mark.parametrize("span_s", [240.0, 900.0, 2400.0])
def test_a_slope_through_straying_air_errs_by_what_it_is_granted(span_s):
    """Against numpy's own least squares through 4,000 random walks."""
    rng = np.random.default_rng(7)
    times_s = np.arange(0.0, span_s + 1.0, 5.0)
    steps_k = rng.normal(0.0, (rate_test._SLOW_AIR_K2_PER_S * 5.0) ** 0.5, (times_s.size, 4000))
    slopes = np.polyfit(times_s, np.cumsum(steps_k, axis=0), 1)[0] * 3600
    assert rate_test._slow_air_c_per_h(span_s) == pytest.approx(slopes.std(), rel=0.04)


@pytest.mark.parametrize(("climb", "passes"), [(0.0, False), (100.0, True)])
def test_a_climb_is_seen_through_a_controllers_teeth(climb, passes):
    """Teeth of 18 K in 5 min, each 6 K from its middle on average (triangle, depth / √12), in a line of 28 min."""
    view = view_of((1, 0.0), noise_k=0.3)
    for i in range(60 * 12):
        t_s = 60.0 + 5.0 * (i + 1)
        tooth_k = 18.0 * abs((t_s / 300.0) % 1.0 - 0.5) * 2.0
        view.trail.offer(t_s, 520.0 + climb * max(0.0, t_s - 2000.0) / 3600.0 + tooth_k)
    view = replace(view, t_s=t_s, temp_c=view.trail.temps[-1])
    assert view.trail.swings_k > 9.0
    assert (surest(view, 0.0, 2000.0, way=1) is not None) is passes
    assert surest(view, 50.0, 2000.0, way=1) is None  # nor how fast
