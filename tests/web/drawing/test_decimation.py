"""Thinning loses no extreme and bridges no gap, whatever the trace."""

from __future__ import annotations

from itertools import pairwise

from hypothesis import given, settings
from hypothesis import strategies as st

from daemon.firing.events import Sample
from web.drawing.decimation import thin

TRACES = st.lists(
    st.tuples(st.integers(1, 60), st.one_of(st.none(), st.floats(-20, 1300))), min_size=1, max_size=300,
)


def _samples(steps: list[tuple[int, float | None]]) -> list[Sample]:
    samples, t_s = [], 0
    for step_s, temp_c in steps:
        t_s += step_s
        samples.append(Sample(float(t_s), temp_c, None if temp_c is not None else "open"))
    return samples


@settings(max_examples=100, deadline=None)
@given(TRACES, st.integers(1, 50))
def test_the_highest_and_the_lowest_are_kept(steps, count):
    samples = _samples(steps)
    temps = [s.temp_c for s in samples if s.temp_c is not None]
    columns = thin(samples, count)
    lows = [c[1] for c in columns if c[1] is not None]
    highs = [c[3] for c in columns if c[3] is not None]
    assert (min(lows, default=None), max(highs, default=None)) == (min(temps, default=None), max(temps, default=None))


@settings(max_examples=100, deadline=None)
@given(TRACES, st.integers(1, 50))
def test_no_column_reaches_over_a_reading_without_a_temperature(steps, count):
    samples = _samples(steps)
    columns = thin(samples, count)
    times = [c[0] for c in columns]
    assert times == sorted(times)
    for before, after in pairwise(columns):
        if before[1] is not None and after[1] is not None:
            between = [s for s in samples if before[0] < s.t_s <= after[0]]
            assert all(s.temp_c is not None for s in between)


def test_the_lowest_of_the_seconds_inside_a_reading_counts_too():
    [column] = thin([Sample(0.0, 500.0, None, 480.0, 505.0)], 10)
    assert column == (0.0, 480.0, 500.0, 505.0)


def test_two_days_come_down_to_what_a_drawing_can_show():
    assert len(thin([Sample(5.0 * i, 500.0) for i in range(34_560)], 700)) <= 702
