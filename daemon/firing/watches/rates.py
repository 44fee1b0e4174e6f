"""A slope held against a limit over several windows, the surest one counting."""

from __future__ import annotations

from daemon.firing.view import View

WINDOWS_S = (180.0, 240.0, 360.0, 600.0, 1200.0, 2400.0)
SURE = 3.7
"""Standard errors by which a slope must pass its limit; by trial on clean firings of the bench."""
_STEP_K = 3.0
"""Readings this far from their line on average are no steady slope [K]."""


def surest(view: View, limit_c_per_h: float, not_before_s: float, *, way: int) -> tuple[float, float] | None:
    """Return (since, rate) of the surest window in which the rate passes the limit; None if none does.

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
    best: tuple[float, float, float] | None = None
    for window_s in WINDOWS_S:
        line = view.line(window_s, not_before_s)
        if line is None or line.span_s < 100.0:
            continue
        if line.sse / (line.number - 2) > (_STEP_K + 3.0 * view.trail.noise_c) ** 2:
            continue  # a step lies in it, a lid or a cut: not a rate
        rate = way * line.slope_c_per_s * 3600
        sure = (rate - limit_c_per_h) / view.error_c_per_h(line)
        if sure > SURE and (best is None or sure > best[0]):
            best = (sure, view.t_s - line.span_s, rate)
        if line.span_s < window_s - 30.0:
            break  # longer windows see the same readings
    return best and best[1:]
