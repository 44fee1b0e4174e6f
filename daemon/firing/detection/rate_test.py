"""A slope held against a limit over several windows, the surest one counting."""

from __future__ import annotations

from math import hypot, sqrt
from typing import NamedTuple

from daemon.firing.situation.view import View

WINDOWS_S = (180.0, 240.0, 360.0, 480.0, 660.0, 900.0, 1200.0, 1700.0, 2400.0)
"""Each about four thirds of the one before: a change under way is diluted in no window by much."""
SURE = 3.7
"""Standard errors by which a slope must pass its limit; by trial on clean firings of the bench."""
LURCH_BELOW_C = 120.0
"""Below this a cold kiln lurches before it follows its controller, and no rate is asked of it [°C]."""
DIFFERS = 3.7
"""Standard errors by which it must differ from what was planned, where that is asked; by trial as well."""
BEYOND = 1.5
"""Standard errors by which a slope that surely differs from its plan must pass the tolerance, too."""
_SLOW_AIR_K2_PER_S = 3e-4
"""How fast slow air strays [K²/s]: 0.6 K that forget in 40 min (2 × 0.6²/2400). The wander, measured over ten minutes
of a hold, does not know of it, and a long window leans on it."""
_LEAST_K, _LEAST_WANDERS = 2.5, 1.5
"""What the readings must have moved beyond the plan at all [K, and in wanders]: slow air moves them less."""
_ORDINARY_NOISE_K, _HARSH_TIMES = 1.2, 2.5
"""A probe noisier than this [K] has company that no figure here measures: hum, spikes in a row."""
_STEP_K = 3.0
"""Readings this far from their line on average are no steady slope [K]."""


class Rate(NamedTuple):
    """A rate that passes its limit beyond doubt."""

    since_s: float
    c_per_h: float
    error_c_per_h: float
    """Its standard error [°C/h]."""


def surest(view: View, limit_c_per_h: float, not_before_s: float, *, way: int,
           planned_c_per_h: float | None = None, beyond: float = BEYOND) -> Rate | None:
    """Return the rate of the surest window in which it passes the limit; None if none does.

    Two questions are asked of a slope whose plan is given: does it differ from the plan at all, which wants
    certainty (DIFFERS), and is it past the limit, of which the limit's own place is a matter of taste
    (``beyond`` standard errors). Asking certainty of the second alone is late by minutes. Without a plan the
    limit is passed by SURE.

    Parameters
    ----------
    view
        The firing now.
    limit_c_per_h
        What the rate must pass [°C/h], counted along ``way``.
    not_before_s
        The windows reach no further back [s].
    way
        +1 for climbing, −1 for falling.
    planned_c_per_h
        The planned rate [°C/h] along ``way``; None where only the limit is known.
    beyond
        Standard errors by which the limit is passed where the plan is given.
    """
    if limit_c_per_h == float("inf"):
        return None
    base, differs, past = limit_c_per_h, SURE, SURE
    if planned_c_per_h is not None:
        base, differs, past = planned_c_per_h, DIFFERS, beyond
    best, found = 1.0, None
    harsh_k = max(0.0, view.trail.noise_k - _ORDINARY_NOISE_K)
    least_k = _LEAST_K + _LEAST_WANDERS * view.wander_k + _HARSH_TIMES * harsh_k
    for window_s in WINDOWS_S:
        line = view.line(window_s, not_before_s)
        if line is None or line.span_s < 100.0:
            continue
        if line.sse / (line.number - 2) > (_STEP_K + 3.0 * view.trail.noise_k) ** 2:
            continue  # a step lies in it, a lid or a cut: not a rate
        rate = way * line.slope_c_per_s * 3600
        error = hypot(view.error_c_per_h(line), _slow_air_c_per_h(line.span_s))
        sure = min((rate - base) / differs, (rate - limit_c_per_h) / past) / error
        if sure > best and (rate - base) * line.span_s / 3600 > least_k and view.goes_on(line, way):
            best, found = sure, Rate(view.t_s - line.span_s, rate, error)
        if line.span_s < window_s - 30.0:
            break  # longer windows see the same readings
    return found


def _slow_air_c_per_h(span_s: float) -> float:
    """Return the standard error that straying air alone gives a line's slope [°C/h].

    The slope of least squares through a random walk has the variance 6/5 of its diffusion over the span (from
    memory; tests/daemon/firing/watches/test_rate_test.py walks it).
    """
    return sqrt(1.2 * _SLOW_AIR_K2_PER_S / span_s) * 3600
