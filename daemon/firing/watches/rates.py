"""A slope held against a limit over several windows, the surest one counting."""

from __future__ import annotations

from typing import NamedTuple

from daemon.firing.view import View

WINDOWS_S = (180.0, 240.0, 360.0, 600.0, 1200.0, 2400.0)
SURE = 3.7
"""Standard errors by which a slope must pass its limit; by trial on clean firings of the bench."""
_ALSO_SURE = 2.0
_LEAST_K, _LEAST_WANDERS = 1.5, 1.5
"""What the readings must have moved beyond the limit at all [K, and in wanders]: slow air moves them less."""
_STEP_K = 3.0
"""Readings this far from their line on average are no steady slope [K]."""


class Rate(NamedTuple):
    """A rate that passes its limit beyond doubt."""

    since_s: float
    c_per_h: float
    error_c_per_h: float
    """Its standard error [°C/h]."""

    def passes(self, limit_c_per_h: float) -> bool:
        """Return whether it passes another, higher limit as well, as likely as matters once it is sure at all."""
        return self.c_per_h - limit_c_per_h > _ALSO_SURE * self.error_c_per_h


def surest(view: View, limit_c_per_h: float, not_before_s: float, *, way: int) -> Rate | None:
    """Return the rate of the surest window in which it passes the limit; None if none does.

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
    """
    if limit_c_per_h == float("inf"):
        return None
    best, found = SURE, None
    least_k = _LEAST_K + _LEAST_WANDERS * view.wander_c
    for window_s in WINDOWS_S:
        line = view.line(window_s, not_before_s)
        if line is None or line.span_s < 100.0:
            continue
        if line.sse / (line.number - 2) > (_STEP_K + 3.0 * view.trail.noise_c) ** 2:
            continue  # a step lies in it, a lid or a cut: not a rate
        rate, error = way * line.slope_c_per_s * 3600, view.error_c_per_h(line)
        sure = (rate - limit_c_per_h) / error
        if sure > best and view.goes_on(line, way) and (rate - limit_c_per_h) * line.span_s / 3600 > least_k:
            best, found = sure, Rate(view.t_s - line.span_s, rate, error)
        if line.span_s < window_s - 30.0:
            break  # longer windows see the same readings
    return found
