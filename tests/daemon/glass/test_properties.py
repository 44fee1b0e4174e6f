"""What must hold of any slab and any trace, tried by hypothesis."""

from __future__ import annotations

from itertools import pairwise

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from daemon.glass.load import Load, Suffered
from daemon.glass.materials import FAMILIES
from daemon.glass.stress import WEIGHTS, Stress

GLASS = FAMILIES["90"]
Points = tuple[tuple[float, float], ...]
"""Corners as (second, °C)."""

thicknesses = st.sampled_from([4.0, 6.0, 9.0, 12.0, 19.0])
rates = st.floats(20.0, 300.0)


def suffered(points: Points, thickness_mm: float, faces: int = 1, *, step_s: float = 20.0,
             shift_s: float = 0.0) -> Suffered:
    load = Load(GLASS, (thickness_mm,), faces)
    for (t0, c0), (t1, c1) in pairwise(points):
        n = max(1, round((t1 - t0) / step_s))
        for k in range(n):
            load.offer(shift_s + t0 + (t1 - t0) * k / n, c0 + (c1 - c0) * k / n)
    load.offer(shift_s + points[-1][0], points[-1][1])
    found = load.figures()
    assert found is not None
    return found.slabs[0]


def cooled(rate_c_per_h: float) -> Points:
    return (0.0, 560.0), (600.0, 560.0), (600.0 + 460.0 / rate_c_per_h * 3600, 100.0)


@settings(max_examples=12, deadline=None)
@given(thicknesses, rates, st.floats(1.05, 3.0))
def test_faster_never_suffers_less(thickness_mm: float, rate: float, more: float) -> None:
    slow, fast = suffered(cooled(rate), thickness_mm), suffered(cooled(rate * more), thickness_mm)
    assert fast.maxwell_core_mpa >= slow.maxwell_core_mpa * 0.999
    assert fast.maxwell_surface_mpa <= slow.maxwell_surface_mpa * 0.999 + 1e-6
    assert fast.difference_last_passage_k >= slow.difference_last_passage_k


@settings(max_examples=12, deadline=None)
@given(thicknesses, rates, st.floats(1.05, 2.0))
def test_thicker_never_suffers_less(thickness_mm: float, rate: float, more: float) -> None:
    thin, thick = suffered(cooled(rate), thickness_mm), suffered(cooled(rate), thickness_mm * more)
    assert thick.maxwell_core_mpa >= thin.maxwell_core_mpa * 0.999
    assert thick.difference_last_passage_k >= thin.difference_last_passage_k
    assert thick.peak_tension_below_band_mpa >= thin.peak_tension_below_band_mpa * 0.99 - 1e-9


traces = st.lists(st.tuples(st.floats(60.0, 3600.0), st.floats(50.0, 800.0)), min_size=2, max_size=8).map(
    lambda legs: tuple((sum(s for s, _ in legs[:k + 1]), c) for k, (_, c) in enumerate(legs)))


@settings(max_examples=12, deadline=None)
@given(traces, thicknesses)
def test_two_faces_at_twice_the_thickness_are_one_face_on_any_trace(points: Points, thickness_mm: float) -> None:
    one, two = suffered(points, thickness_mm, 1), suffered(points, 2 * thickness_mm, 2)
    for figure in ("difference_last_passage_k", "maxwell_core_mpa", "maxwell_surface_mpa",
                   "peak_tension_below_band_mpa"):
        assert getattr(one, figure) == pytest.approx(getattr(two, figure), rel=1e-9, abs=1e-9)


@settings(max_examples=12, deadline=None)
@given(traces, thicknesses, st.integers(1, 31_536_000))
def test_the_clock_it_starts_by_changes_nothing(points: Points, thickness_mm: float, shift_s: int) -> None:
    here, later = suffered(points, thickness_mm), suffered(points, thickness_mm, shift_s=float(shift_s))
    assert later.maxwell_core_mpa == pytest.approx(here.maxwell_core_mpa, rel=1e-4, abs=1e-4)
    assert later.difference_last_passage_k == pytest.approx(here.difference_last_passage_k, rel=1e-4, abs=1e-4)


@settings(max_examples=12, deadline=None)
@example(((60.0, 463.0), (120.0, 50.0), (180.0, 470.0)), 9.0)
@given(traces, thicknesses)
def test_stress_is_balanced_and_finite_whatever_the_trace(points: Points, thickness_mm: float) -> None:
    found = suffered(points, thickness_mm)
    assert abs(found.maxwell_core_mpa) < 1000
    assert found.peak_tension_below_band_mpa >= 0.0
    assert found.difference_last_passage_k >= 0.0
    # No net force through the thickness, at any moment. (Core and face alone may pull the same way: a quench and a
    # reheating within minutes leave a profile that bends twice.)
    slab = Stress(GLASS, thickness_mm, 1, points[0][1])
    for (t0, c0), (t1, c1) in pairwise(points):
        n = max(1, round((t1 - t0) / 20.0))
        for k in range(n):
            slab.advance(c0 + (c1 - c0) * k / n, c0 + (c1 - c0) * (k + 1) / n, (t1 - t0) / n)
            stresses = slab.stress_mpa
            net_mpa = sum(w * s for w, s in zip(WEIGHTS, stresses, strict=True))
            assert abs(net_mpa) <= 1e-6 + 1e-3 * max(map(abs, stresses))


@settings(max_examples=8, deadline=None)
@given(st.lists(st.integers(1, 99), min_size=1, max_size=12, unique=True), thicknesses)
def test_readings_that_lie_on_the_line_add_nothing(hundredths: list[int], thickness_mm: float) -> None:
    # The trace is straight between readings, so one more on the line is the same trace.
    start, hold, end = cooled(90.0)
    more = tuple((hold[0] + (end[0] - hold[0]) * k / 100, hold[1] + (end[1] - hold[1]) * k / 100)
                 for k in sorted(hundredths))
    plain, dotted = suffered((start, hold, end), thickness_mm), suffered((start, hold, *more, end), thickness_mm)
    assert dotted.maxwell_core_mpa == pytest.approx(plain.maxwell_core_mpa, rel=5e-3, abs=2e-3)


@settings(max_examples=10, deadline=None)
@given(traces, thicknesses)
def test_the_range_holds_the_headline_at_one_end(points: Points, thickness_mm: float) -> None:
    for faces in (1, 2):
        found = suffered(points, thickness_mm, faces)
        assert found.range_core_mpa[2 - faces] == found.expected_core_mpa
