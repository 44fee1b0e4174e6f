"""Too hot: above the plan's highest target, about to be, or climbing straight through a hold.

Through a hold is a look: it may have been left out on purpose. It wakes where the kiln also climbed at several times
its planned rate (daemon/firing/detection/fast_climb.py), since it may then not stop at all.

What it wakes for was often told in part: the kiln climbed too fast, heated again, or did not cool. Power that does
not switch off is behind each of them, and the act is the same. So the alert that stands takes this name, and nobody
has two. Weighed: two alerts, since a kiln that heats again may be a controller that began again. But once it is too
hot, or climbs as no program does, what matters is to switch it off; and the words for that were already said.
"""

from __future__ import annotations

from dataclasses import replace

from daemon.firing.detection.fast_climb import Fast, FastClimb, stands
from daemon.firing.detection.over_limit import KNOWN_FOR_S, KNOWN_MARGIN_K, UNKNOWN_MARGIN_K, OverLimit, limit_k
from daemon.firing.detection.runaway import holds_as_planned, since, unasked_climb
from daemon.firing.detection.steps.step_signs import strays
from daemon.firing.events import Rank
from daemon.firing.kind import AtReadings, Example, Finding, Kind, Reading, Stage, Vaguer
from daemon.firing.plan.schedule import PlannedPart, part_before
from daemon.firing.situation.view import View
from daemon.firing.watches.too_hot import Facts, Runaway, ThroughHold, TooHot, words

FORECAST_S = KNOWN_FOR_S
"""A climb is drawn on for so long [s]. [derived: a reading above the limit is believed after so long, so that a kiln
is told to be too hot when it is]"""
_FORECAST_FROM_K = 5.0
"""A forecast speaks only within this of the limit [K]: a brisk kiln passes its top by more than half of the margin
and still stops. [tuned: by trial on the bench, study not kept]
"""
_DOUBTFUL_FOR_S = 60.0
"""Where the difference is not known, a forecast must have stood for so long [s]. [derived: a climb that goes on is
told within a minute of the limit all the same, and a controller that stops at its own top has stopped by then]"""
_LINE_S, _LEAST_LINE_S = 150.0, 100.0
"""A climb is measured over this window, and not at all over less than the second [s]. [tuned: by trial on the bench,
study not kept]
"""
_SURE, _LEAST_C_PER_H = 4.0, 30.0
"""A climb surely goes on where its slope is so many standard errors and at least this rate [°C/h]. [tuned: by trial
on the bench, study not kept]
"""
_LOOK_S, _DIP_K, _BACK_K = 600.0, 12.0, 15.0
"""A kiln that lost so much [K] within the last so many seconds, and is no further than the third [K] above where it
stood before, only comes back to there. [tuned: by trial on the bench, study not kept]
"""
_LONG_S, _JUST_PASSED_K = 900.0, 60.0
"""A hold this long [s] cannot have been held unseen between two readings; passed by no more than this [K] it has just
been passed. [tuned: by trial on the bench, study not kept]
"""
_WORTH_S = 300.0
"""A hold ahead that is shorter than this may be over before it can be told [s]. [tuned: by trial on the bench, study
not kept]
"""
_STEEP_SHARE, _STEEP_C_PER_H = 0.5, 60.0
"""A climb goes on through a hold at more than this share of the rate of the ramp before it; where that is free, at
more than this rate [°C/h]. [tuned: by trial on the bench, study not kept]
"""
_FALLEN_SINCE_K = _DIP_K
"""A reading this far below the line of a forecast has left it: a lid has just opened [K]. [derived: the same dip]"""
_RESOUND_S = 60.0
"""A wake that nobody answers sounds again after so long [s]. [chosen: its minutes cannot be given back]"""


class OverTemperatureWatch:
    """Sees every reading, since its minutes cannot be given back: the one kind that no quiet spell silences.

    Three things are too hot. A probe above the limit, which is the plan's top and a margin, for long enough that it
    is no spike (see OverLimit); it is a look where only the probe may be too hot. A climb that will pass the limit
    within FORECAST_S, or that goes straight through a hold. And a runaway: a climb faster than any of the plan's,
    where the plan only falls.

    Parameters
    ----------
    highest_c
        The plan's top [°C].
    """

    def __init__(self, highest_c: float) -> None:
        self.highest_c = highest_c
        self._limit = OverLimit(highest_c)
        self._ahead_since_s: float | None = None
        self._runaway: Finding[Facts] | None = None
        self._fast = FastClimb()
        self._through: Finding[Facts] | None = None
        """A climb through a hold that wakes, as first found."""

    def see(self, now: Reading) -> Finding[Facts] | None:
        """Return the finding at this reading: too hot now or, where a beat was made, a forecast or a runaway."""
        if now.too_hot_for_any is not None:
            return None  # as long as the scale is believed false, nothing is too hot by it; sensor-fault tells it
        t_s, temp_c, ahead = now.sample.t_s, now.sample.temp_c, None
        if now.view is not None:
            ahead = self._ahead(now.view)
            self._limit.see_beat(now.view)
        if temp_c is None:
            return None
        if ahead is not None and temp_c < ahead.facts.temp_c - _FALLEN_SINCE_K:
            ahead = None  # a lid has just opened: the line drawn on ends above the reading
        offset_k, is_known = now.offset.at(temp_c)
        above = self.above(t_s, temp_c, offset_k, offset_known=is_known)
        return ahead if above is None or (ahead is not None and ahead.rank.height > above.rank.height) else above

    def above(self, t_s: float, temp_c: float, offset_k: float, *, offset_known: bool) -> Finding[Facts] | None:
        """Return the finding where the probe has been above the limit long enough."""
        over = self._limit.see(t_s, temp_c, offset_k, offset_known=offset_known)
        if over is None:
            return None
        facts = TooHot(temp_c, over.over_k, self.highest_c, may_be_probe=over.may_be_probe)
        return Finding(KIND, Rank.LOOK if over.may_be_probe else Rank.WAKE, over.since_s, facts, severity_c=temp_c)

    def _ahead(self, view: View) -> Finding[Facts] | None:
        """Return the louder of a climb that will be too hot and one that should not be at all."""
        self._runaway = _kept(self._runaway or runaway(view), view)
        fast, forecast = self._fast.see(view), self._forecast(view)
        self._through = _kept_through(self._through, view) or _through_fast(forecast, fast)
        found = [finding for finding in (forecast, self._runaway, self._through) if finding is not None]
        return max(found, key=lambda finding: finding.rank.height, default=None)

    def _forecast(self, view: View) -> Finding[Facts] | None:
        """Return the forecast, where it has stood long enough for what is known of the probe."""
        finding = over_temperature_ahead(view)
        if finding is None or finding.rank is not Rank.WAKE:
            self._ahead_since_s = None
            return finding
        if self._ahead_since_s is None:
            self._ahead_since_s = view.t_s
        is_sure = view.offset_known or view.t_s - self._ahead_since_s >= _DOUBTFUL_FOR_S
        return finding if is_sure else None


def _kept(finding: Finding[Facts] | None, view: View) -> Finding[Facts] | None:
    """Return a runaway found before, with the present temperature and rate; None once the kiln falls.

    It ends as well where the kiln holds as its plan does: a program is behind that. It stands through a flat stretch
    elsewhere: a kiln that has reached all it can give is still not under control.
    """
    if finding is not None and holds_as_planned(view):
        return None
    climb = None if finding is None else since(view, finding.since_s)
    if finding is None or climb is None or not isinstance(finding.facts, Runaway):
        return finding
    if climb.falls:
        return None
    facts = replace(finding.facts, temp_c=view.temp_c, rate_c_per_h=climb.rate_c_per_h)
    return replace(finding, severity_c=view.temp_c, facts=facts)


def _through_fast(finding: Finding[Facts] | None, fast: Fast | None) -> Finding[Facts] | None:
    """Return the wake for a climb through a hold that was several times too fast; None where it is not both."""
    if finding is None or fast is None or not isinstance(finding.facts, ThroughHold):
        return None
    facts = replace(finding.facts, fastest_c_per_h=fast.rate_c_per_h, planned_c_per_h=fast.planned_c_per_h)
    return replace(finding, rank=Rank.WAKE, facts=facts)


def _kept_through(finding: Finding[Facts] | None, view: View) -> Finding[Facts] | None:
    """Return a climb through a hold found before, with the present temperature and rate; None once it has stopped."""
    if finding is None or not isinstance(finding.facts, ThroughHold) or stands(view, finding.since_s):
        return None
    line = view.line(_LINE_S, view.resumed_s)
    rate = finding.facts.rate_c_per_h if line is None else max(0.0, line.slope_c_per_s * 3600)
    return replace(finding, severity_c=view.temp_c, facts=replace(
        finding.facts, temp_c=view.temp_c, rate_c_per_h=rate))


def runaway(view: View) -> Finding[Facts] | None:
    """Return the finding where the kiln climbs faster than its plan ever does, and should not climb at all."""
    climb = unasked_climb(view)
    if climb is None:
        return None
    facts = Runaway(view.temp_c, climb.rate.c_per_h, climb.fastest_c_per_h)
    return Finding(KIND, Rank.WAKE, climb.rate.since_s, facts, severity_c=view.temp_c)


def over_temperature_ahead(view: View) -> Finding[Facts] | None:
    """Return the finding where the climb goes on past a target: the highest (wake) or a hold's (look).

    Nothing is raised for a line that readings stray from, or that slackens in its second half: a lid was just closed,
    or the controller is stopping. Nor where the kiln only comes back to where it stood before a look inside, nor
    further from the limit than _FORECAST_FROM_K.
    """
    line = view.line(_LINE_S, view.resumed_s)
    if line is None or line.span_s < _LEAST_LINE_S:
        return None
    slope = line.slope_c_per_s * 3600
    if slope < _LEAST_C_PER_H or slope < _SURE * view.error_c_per_h(line):
        return None
    found = _past_target(view, line.at(view.t_s) - view.offset_k, slope)
    if found is None or strays(line, view.trail.noise_k) or not view.goes_on(line, +1):
        return None  # spikes or a step, a lid just closed: no climb to draw on
    return None if _comes_back(view) else found


def _past_target(view: View, temp_c: float, slope: float) -> Finding[Facts] | None:
    """Return the finding where a climb at ``slope`` [°C/h], now at ``temp_c`` by the plan [°C], is past a target."""
    margin_k = KNOWN_MARGIN_K if view.offset_known else UNKNOWN_MARGIN_K
    highest_c = view.plan.highest_c
    limit_c, ahead_c = highest_c + limit_k(view), temp_c + slope * FORECAST_S / 3600
    if temp_c > limit_c - _FORECAST_FROM_K and ahead_c > limit_c:
        facts = TooHot(temp_c + view.offset_k, temp_c - highest_c, highest_c, slope)
        return Finding(KIND, Rank.WAKE, view.t_s, facts, severity_c=temp_c + view.offset_k)
    hold = _hold_passed(view)
    if hold and hold.to_c < highest_c and temp_c > hold.to_c + margin_k and _still_steep(view, hold, slope):
        return Finding(KIND, Rank.LOOK, view.t_s, ThroughHold(temp_c, hold.to_c, slope), hold.step, severity_c=temp_c)
    return None


def _comes_back(view: View) -> bool:
    """Return whether the kiln only comes back to where it stood minutes ago: a lid was open for a look."""
    trail = view.trail
    first = trail.index_at(view.t_s - _LOOK_S)
    temps = trail.temps[first:]
    if not temps:
        return False  # the latest readings are held back as outliers, and those before are older
    lowest = min(range(len(temps)), key=temps.__getitem__)
    before_c = max(temps[:lowest + 1])
    return before_c - temps[lowest] > _DIP_K and view.temp_c < before_c + _BACK_K


def _hold_passed(view: View) -> PlannedPart | None:
    """Return the hold that the kiln should be in, or has just left unheld, while it climbs; None where there is none.

    It is the hold the follower is in. Else the one just before the present climb, if it is too long to have been held
    unseen and the follower never was in it. Else the next one ahead that is worth the name: a kiln that climbs too
    fast is found in a step behind the one it is in.
    """
    part = view.part
    if part is None:
        return None
    if part.part == "hold":
        return part
    before = part_before(view.parts, part.index)
    if before is not None and before.part == "hold" and before.duration_s >= _LONG_S and part.direction > 0 and (
            view.temp_c - view.offset_k < before.to_c + _JUST_PASSED_K) and len(view.found) > 1 and (
            view.found[-2].index < before.index):
        return before
    for ahead in view.parts[part.index:]:
        if ahead.part == "hold" and ahead.duration_s >= _WORTH_S:
            return ahead
        if ahead.direction < 0:
            return None
    return None


def _still_steep(view: View, hold: PlannedPart, slope: float) -> bool:
    """Return whether the kiln climbs through ``hold`` at ``slope`` [°C/h] much as it climbed up to it."""
    rate = next(part.rate_c_per_h for part in view.parts if part.step == hold.step)  # a step begins with its ramp
    return slope > _STEEP_SHARE * rate if rate else slope > _STEEP_C_PER_H


def _wakes(facts: Facts) -> bool:
    """Return whether it gets somebody up: not a hold that may have been left out, nor a probe that may read high."""
    if isinstance(facts, TooHot):
        return not facts.may_be_probe
    return not isinstance(facts, ThroughHold) or facts.fastest_c_per_h is not None


KIND: Kind[Facts] = Kind(
    name="over-temperature",
    title="too hot",
    watch=AtReadings(Stage.AFTER_BEAT,
                     lambda setup: OverTemperatureWatch(setup.plan.highest_c).see if setup.plan else None),
    words=words,
    examples=(
        Example(TooHot(830.0, 30.0, 800.0), "past the top"),
        Example(TooHot(812.0, 12.0, 800.0, 410.0), "past the top, climbing"),
        Example(TooHot(795.0, -5.0, 800.0, 900.0), "about to pass the top"),
        Example(TooHot(827.0, 27.0, 800.0, may_be_probe=True), "above the top, and holding", Rank.LOOK),
        Example(ThroughHold(690.0, 670.0, 220.0), "through a hold", Rank.LOOK),
        Example(ThroughHold(696.0, 670.0, 220.0, 770.0, 220.0), "through a hold, after a climb far too fast"),
        Example(Runaway(569.0, 700.0, 250.0), "climbing where the plan only falls"),
        Example(Runaway(790.0, 0.0, 250.0), "climbed where the plan only falls, and stays hot"),
    ),
    on_delay_s=0.0, off_delay_s=120.0,
    # A climb that was found hours ago and still stands is the same climb.
    may_replace=tuple(Vaguer(name, float("inf")) for name in ("heating-too-fast", "restarted", "not-cooling")),
    may_replace_now=_wakes,
    may_be_quieted=False,
    is_of_power=True,
    resound_s=_RESOUND_S,
)
