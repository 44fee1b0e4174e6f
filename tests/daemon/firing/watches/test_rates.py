"""Straying air in a slope, against slopes through walked random walks."""

from __future__ import annotations

import numpy as np
import pytest

from daemon.firing.watches import rates


@pytest.mark.parametrize("span_s", [240.0, 900.0, 2400.0])
def test_a_slope_through_straying_air_errs_by_what_it_is_granted(span_s):
    """Against numpy's own least squares through 4,000 random walks."""
    rng = np.random.default_rng(7)
    times_s = np.arange(0.0, span_s + 1.0, 5.0)
    steps_k = rng.normal(0.0, (rates._SLOW_AIR_K2_PER_S * 5.0) ** 0.5, (times_s.size, 4000))
    slopes = np.polyfit(times_s, np.cumsum(steps_k, axis=0), 1)[0] * 3600
    assert rates._slow_air_c_per_h(span_s) == pytest.approx(slopes.std(), rel=0.04)
