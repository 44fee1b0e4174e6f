"""Whether the readings climb or fall faster than a limit, asked over windows of several lengths; the surest counts.

A generalised likelihood ratio test with windows of limited length: neither the rate nor its beginning is known, and
the answer must name both. Slow air and a probe with more than ordinary noise are allowed for.
"""

from __future__ import annotations

from math import hypot, inf, sqrt
from typing import NamedTuple

from daemon.firing.situation.view import View

WINDOWS_S = (180.0, 240.0, 360.0, 480.0, 660.0, 900.0, 1200.0, 1700.0, 2400.0)
"""Lengths of the windows [s]. [chosen: each about four thirds of the one before, so that some window is hardly longer
than the change under way]"""
SURE = 3.7
"""Standard errors by which a slope must pass its limit, or differ from what was planned.
[tuned: clean firings of the bench, study not kept]"""
LIKELY = 2.0
"""Standard errors by which a slope passes its limit where that need not be certain.
[common practice: one in forty by chance]"""
LURCH_BELOW_C = 120.0
"""Below this a cold kiln lurches before it follows its controller, and no rate is asked of it [°C].
[common practice]"""
BEYOND = 1.5
"""Standard errors by which a slope that surely differs from its plan must also pass the limit.
[tuned: by trial on the bench, study not kept]"""
_SLOW_AIR_K2_PER_S = 3e-4
"""Diffusion of the slow air's temperature [K²/s]. The wander, measured over ten minutes of a hold, does not contain
it, and a long window would take it for a slope. [derived: 0.6 K with a memory of 40 min, 2 × 0.6²/2400]"""
_WALK_SHARE = 1.2
"""Variance of the slope of least squares through a random walk, per diffusion and span.
[from memory: 6/5; tests/daemon/firing/detection/test_rate_test.py walks it]"""
_LEAST_K, _LEAST_WANDERS = 2.5, 1.5
"""What the readings must have moved beyond the plan at all [K, and in wanders]: slow air moves them less.
[tuned: by trial on the bench, study not kept]"""
_ORDINARY_NOISE_K, _HARSH_TIMES = 1.2, 2.5
"""For each kelvin by which a probe is noisier than this [K], so many kelvins more: it picks up hum and spikes in a
row, which the noise does not contain. [tuned: by trial on the bench, study not kept]"""
_STEP_K, _STEP_NOISES = 3.0, 3.0
"""Readings so far from their line on average, and so many times the noise further, are no steady slope [K].
[tuned: by trial on the bench, study not kept]"""
_SWINGS_SHARE = 0.5
"""Where it is only asked which way the kiln goes, a swing of a controller is no step: it strays from its middle, on
average, by no more than this share of its depth [1]. How fast it goes is not asked of such a line: half a swing more
or less at its ends is a rate by itself. [derived: half for a wave that is square, less for any other]"""
LEAST_SPAN_S, _EDGE_S = 100.0, 30.0
"""A line that spans less shows no rate; one that lacks more than the second at its beginning sees no more in a longer
window [s]. [tuned: by trial on the bench, study not kept]"""


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
    certainty (SURE), and is it past the limit, of which the limit's own place is a matter of taste
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
    if limit_c_per_h == inf:
        return None
    base, past = limit_c_per_h, SURE
    if planned_c_per_h is not None:
        base, past = planned_c_per_h, beyond
    best, found = 1.0, None
    least_k = least_moved_k(view)
    swings_k = view.trail.swings_k if base <= 0.0 else 0.0
    most_k2 = (_STEP_K + _STEP_NOISES * view.trail.noise_k + _SWINGS_SHARE * swings_k) ** 2
    for window_s in WINDOWS_S:
        line = view.line(window_s, not_before_s)
        if line is None or line.span_s < LEAST_SPAN_S:
            continue
        if line.sse / (line.number - 2) > most_k2:
            continue  # a step lies in it, a lid or a cut: not a rate
        rate = way * line.slope_c_per_s * 3600
        if rate > limit_c_per_h:
            error = hypot(view.error_c_per_h(line), _slow_air_c_per_h(line.span_s))
            sure = min((rate - base) / SURE, (rate - limit_c_per_h) / past) / error
            if sure > best and (rate - base) * line.span_s / 3600 > least_k and view.goes_on(line, way):
                best, found = sure, Rate(view.t_s - line.span_s, rate, error)
        if line.span_s < window_s - _EDGE_S:
            break  # longer windows see the same readings
    return found


def least_moved_k(view: View) -> float:
    """Return by how much the readings must have gone beyond the plan at all [K]."""
    return _LEAST_K + _LEAST_WANDERS * view.wander_k + harsh_k(view)


def harsh_k(view: View) -> float:
    """Return how much further off a harsh probe may read than an ordinary one, for a minute or so [K]."""
    return _HARSH_TIMES * max(0.0, view.trail.noise_k - _ORDINARY_NOISE_K)


def _slow_air_c_per_h(span_s: float) -> float:
    """Return the standard error that straying air alone gives a line's slope [°C/h].

    The slope of least squares through a random walk of diffusion D over the span T has the variance 6/5 · D/T.
    """
    return sqrt(_WALK_SHARE * _SLOW_AIR_K2_PER_S / span_s) * 3600
