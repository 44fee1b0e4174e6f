"""Too hot: above the plan's highest target, about to be, or climbing straight through a hold."""

from __future__ import annotations

from daemon.firing.events import Rank
from daemon.firing.plan.schedule import PlannedPart
from daemon.firing.situation.view import Finding, View

KNOWN_MARGIN_C = 15.0
UNKNOWN_MARGIN_C = 25.0
UNKNOWN_FOR_S = 120.0
KNOWN_FOR_S = 20.0
FORECAST_S = 45.0
_FORECAST_FROM = 5.0
"""A forecast speaks only within this of the limit [K]: a brisk kiln passes its top by more than half of it."""
_SURE = 4.0
_LOOK_S, _DIP_K, _BACK_K = 600.0, 12.0, 15.0
"""A kiln that stood within so much of now, and lost so much, so lately only comes back [s, K, K]; by trial."""
_LONG_S, _JUST_PASSED_K = 900.0, 60.0
"""A hold this long can't be lost between two readings; passed by no more than this it has just been passed."""
_STEP_K = 3.0
"""Readings this far from their line on average are no steady climb [K]."""


class OverTemperatureWatch:
    """Sees every reading: the one watch whose minutes cannot be given back."""

    def __init__(self, highest_c: float) -> None:
        self.highest_c = highest_c
        self._above_since_s: float | None = None

    def see(self, t_s: float, temp_c: float, offset_c: float, *, offset_known: bool) -> Finding | None:
        """Return the finding where the probe has been above the limit long enough."""
        margin_c = KNOWN_MARGIN_C if offset_known else UNKNOWN_MARGIN_C
        over_c = temp_c - offset_c - self.highest_c
        if over_c <= margin_c:
            self._above_since_s = None
            return None
        if self._above_since_s is None:
            self._above_since_s = t_s
        if t_s - self._above_since_s < (KNOWN_FOR_S if offset_known else UNKNOWN_FOR_S):
            return None
        return _over(t_s, temp_c, self._above_since_s, over_c, self.highest_c)


def _over(t_s: float, temp_c: float, since_s: float, over_c: float, highest_c: float) -> Finding:
    return Finding("over-temperature", Rank.WAKE, since_s, severity_c=temp_c,
                   facts={"temp_c": temp_c, "over_c": over_c, "highest_c": highest_c})


def over_temperature_ahead(view: View) -> Finding | None:
    """Return the finding where the climb goes on past a target: the highest (wake) or a hold's (look)."""
    line = view.line(150.0, view.resumed_s)
    if line is None or line.span_s < 100.0:
        return None
    if line.sse / (line.number - 2) > (_STEP_K + 3.0 * view.trail.noise_c) ** 2 or not view.goes_on(line, +1):
        return None  # spikes or a step, a lid just closed: no climb to draw on
    slope, error = line.slope_c_per_s * 3600, view.error_c_per_h(line)
    if slope < _SURE * error or slope < 30.0:
        return None
    if _comes_back(view):
        return None
    temp_c = line.at(view.t_s) - view.offset_c
    margin_c = KNOWN_MARGIN_C if view.offset_known else UNKNOWN_MARGIN_C
    highest_c = view.plan.highest_c
    ahead_c = temp_c + slope * FORECAST_S / 3600
    if temp_c > highest_c + margin_c - _FORECAST_FROM and ahead_c > highest_c + margin_c:
        found = _over(view.t_s, temp_c + view.offset_c, view.t_s, temp_c - highest_c, highest_c)
        return Finding(found.kind, found.rank, found.since_s, severity_c=found.severity_c,
                       facts=found.facts | {"rate_c_per_h": slope})
    hold = _hold_passed(view)
    if hold and hold.to_c < highest_c and temp_c > hold.to_c + margin_c and _still_steep(view, hold, slope):
        return Finding("over-temperature", Rank.LOOK, view.t_s, step=hold.step, severity_c=temp_c,
                       facts={"temp_c": temp_c, "hold_c": hold.to_c, "rate_c_per_h": slope})
    return None


def _comes_back(view: View) -> bool:
    """Return whether the kiln only comes back to where it stood minutes ago: a lid was open for a look."""
    trail = view.trail
    first = trail.index_at(view.t_s - _LOOK_S)
    temps = trail.temps[first:]
    if not temps or not max(temps) - min(temps) > _DIP_K:
        return False
    lowest = min(range(len(temps)), key=temps.__getitem__)
    before_c = max(temps[:lowest], default=temps[0])
    return before_c - temps[lowest] > _DIP_K and view.temp_c < before_c + _BACK_K


def _hold_passed(view: View) -> PlannedPart | None:
    """Return the hold that the kiln should be in or has just left unheld, while it climbs."""
    part = view.part
    if part is None:
        return None
    if part.part == "hold":
        return part
    before = view.parts[part.index - 1] if part.index else None
    if before is not None and before.part == "hold" and before.duration_s >= _LONG_S and part.direction > 0 and (
            view.temp_c - view.offset_c < before.to_c + _JUST_PASSED_K) and len(view.found) > 1 and (
            view.found[-2].index < before.index):
        return before
    for ahead in view.parts[part.index:]:
        if ahead.part == "hold" and ahead.duration_s >= 300:
            return ahead  # where it climbs so fast that it is found a step behind, all the more
        if ahead.direction < 0:
            return None
    return None


def _still_steep(view: View, hold: PlannedPart, slope: float) -> bool:
    ramp = next((p for p in view.parts if p.step == hold.step and p.part == "ramp"), None)
    rate = ramp.rate_c_per_h if ramp else None
    return slope > 0.5 * rate if rate else slope > 60.0
