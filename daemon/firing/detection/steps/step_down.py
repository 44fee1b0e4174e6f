"""A step down: a lid, a falling probe, or the first minute of something that will get its own name."""

from __future__ import annotations

from collections import deque
from math import inf
from typing import NamedTuple

from daemon.firing.detection.steps.heat_under_air import (
    RECOVERED_SHARE,
    STILL_FALLING_S,
    VENT_S,
    HeatUnderAir,
    air_fell_from_c,
)
from daemon.firing.detection.steps.left_open import LeftOpen
from daemon.firing.detection.steps.standing_step import GIVE_UP_S, StandingStep, comes_back
from daemon.firing.detection.steps.step_onset import Onset, onset
from daemon.firing.detection.steps.step_signs import is_no_air, stands_still
from daemon.firing.plan.schedule import ASSUMED_ROOM_C
from daemon.firing.situation.natural_fall import SLOWEST_TIME_H
from daemon.firing.situation.phase import FreeFall
from daemon.firing.trace.recent import Trail
from daemon.firing.trace.swings import CONTROLLERS_MOST_K
from daemon.glass.materials import Glass

WAKE_AFTER_S = 120.0
"""A step that stands this long stays [s]. [chosen: longer than a look inside]"""
STEP_SETTLES_S = 240.0
"""For so long after a step that came back no slope is taken [s]: chamber and probe still come to one temperature.
[tuned: by trial on the bench, study not kept]
"""
_STOOD_MOST = 32
"""So many steps that lasted are remembered. [chosen: bounds the memory]"""
FALLS_ON_S = 600.0
"""Whether the readings fall on as a kiln without power does is told over so long [s].
[chosen: half of GIVE_UP_S, long after the step]"""
_HEAT_LEFT_S = 3600.0
"""For so long after a step was given up, brick and glass may still be hotter than the air [s].
[chosen: an hour, in which a lid that stood open is found and shut]"""


class Drop(NamedTuple):
    """The readings stand a step below where they were going."""

    since_s: float
    from_c: float
    """Where they were when they left their line [°C]."""
    temp_c: float
    drop_k: float
    """How far they are below where they were going [K]."""
    stays: bool
    """Whether it has lasted, out of the annealing range or above it, and no vent explains it."""
    not_air: bool
    """Whether they are colder than the air of this kiln can be: the probe failed or was pulled out."""
    is_elsewhere: bool = False
    """Whether they say nothing of brick and glass (see StepDown)."""
    has_stayed: bool = False
    """Whether it has lasted too long for a look inside at any time, though it may be coming back by now."""


class StepDown:
    """Sees every temperature; knows the line before a step and whether the readings come back to it.

    A step to where no air can be (see is_no_air) lasts until the readings come back: the probe failed. One that
    stands still after it is no vent (see stands_still). Any other may be a vent opened to cool fast. Where the plan
    surely falls freely, that does not count. Where the plan may begin to fall freely at any minute, it counts but
    does not stay for VENT_S, however cold the air, nor later while it reads above the annealing range: it wakes
    nobody. Within and below that range nobody vents: a step out of it may stay, unless it was seen to be shut. In any
    free fall a vent or lid that has not been shut after VENT_S (see LeftOpen) was forgotten, and stays.

    Of a step that stays it is asked after GIVE_UP_S whether it falls on like a kiln without power. One that does not
    is of something else until the readings come back: a kiln that has its power would have gone back to its target.
    The lid is open and the elements heat against it, or the sensor measures another place. One that does stands for
    as long as it reads colder than a closed kiln would: no kiln without power is so cold under a shut lid. It ends
    where the closed kiln would have come to by then, or as the air comes back.
    """

    def __init__(self, glass: Glass) -> None:
        self._low_c, self._high_c = glass.band_low_c, glass.band_high_c
        self._step: StandingStep | None = None
        self._passed: StandingStep | None = None
        """The last step that was passed over, as a vent in a free fall."""
        self._heat: HeatUnderAir | None = None
        self._free_s = -inf
        """When the plan last let the kiln fall freely, by the temperature read then [s]."""
        self.seen_s: float | None = None
        """When the readings last stood a step down [s]."""
        self.air_s: float | None = None
        """When they were last those of air far colder than the kiln [s]: in a step down, and under a lid opened once
        more before the readings have settled, which is too soon for a step to be seen."""
        self.vented_s: float | None = None
        """When they last stood a step down in a free fall, as under a vent opened to cool fast [s]."""
        self.settled_from_s = -inf
        """When the readings have settled after the last step [s]; slopes reach no further back."""
        self.over: deque[tuple[float, float]] = deque(maxlen=_STOOD_MOST)
        """From when to when steps stood that are over, with the time in which the readings settled again [s]."""
        self.stood: deque[tuple[float, float]] = deque(maxlen=_STOOD_MOST)
        """From when to when steps stood that lasted with no vent to explain them [s], the last one up to now."""

    @property
    def kiln_c(self) -> float | None:
        """Return what brick and glass may still have under the air [°C] (see HeatUnderAir); None where air tells."""
        return None if self._heat is None else self._heat.kiln_c

    @property
    def hides_kiln(self) -> bool:
        """Return whether the readings are those of air over a kiln that may be in any part of its plan.

        So they are in a step down that no vent made, and as long as it may be air.
        """
        step = self._step
        return step is not None and not (step.may_be_vent or step.not_air or step.is_elsewhere)

    @property
    def may_be_vent(self) -> bool:
        """Return whether a step down stands that a vent may have made."""
        return self._step is not None and self._step.may_be_vent

    def see(self, t_s: float, temp_c: float, trail: Trail, wander_k: float, *, falls: FreeFall,
            natural_per_h: float | None = None) -> Drop | None:
        """Return the step down while the readings stand a step below where they were going.

        ``wander_k`` is how far a hold strays in this kiln [K]; ``falls`` tells whether the plan falls freely here;
        ``natural_per_h`` is how fast the kiln falls without power, per hour, as a share of its distance from the room
        (NaturalFall), None where that is not known.
        """
        if self._heat is not None and not self._heat.follow(t_s, max((temp_c, *trail.temps[-2:]))):
            self._heat = None  # of the last readings the highest: a spike down is no air that falls
        if self._heat is not None and temp_c < self._heat.kiln_c - CONTROLLERS_MOST_K:
            self.air_s = t_s
        if falls is not FreeFall.NO:
            self._free_s = t_s
        for opened in (self._step, self._passed):
            if opened is not None:
                opened.open.see(t_s, temp_c, trail)
        if self._passed is not None and (stands_still(t_s, self._passed.onset.since_s, trail) or (
                self._step is None and self._passed.open.stands(t_s))):
            self._step, self._passed = self._passed, None
        if self._step is None:
            self._step = self._begun(onset(t_s, temp_c, trail, wander_k), t_s, temp_c, trail, falls)
            if self._step is not None:
                self._step.natural_per_h = natural_per_h
        step = self._step
        if step is None:
            if self._heat is None and falls is not FreeFall.NO:
                from_c = air_fell_from_c(t_s, temp_c, trail)
                self._heat = None if from_c is None else HeatUnderAir(t_s, from_c - temp_c, temp_c)
            return None
        self._judge(step, t_s, temp_c, trail)
        drop_k = step.drop_k(t_s, temp_c)
        step.deepest_k = max(step.deepest_k, drop_k)
        if step.has_stayed and not step.is_judged and t_s - step.onset.since_s > GIVE_UP_S:
            step.is_judged, step.is_elsewhere = True, not falls_on(t_s - FALLS_ON_S, trail)
        is_given_up = step.is_given_up(t_s, temp_c, trail)
        if is_given_up or drop_k < RECOVERED_SHARE * step.deepest_k:
            self._step = None
            is_young = t_s - step.onset.since_s < GIVE_UP_S
            self.settled_from_s = t_s + (STEP_SETTLES_S if is_young or comes_back(t_s, temp_c, trail) else 0.0)
            self.over.append((step.onset.since_s, self.settled_from_s))
            if is_given_up and self._heat is not None:
                self._heat.give_up(step.onset.from_c, t_s + _HEAT_LEFT_S)
            return None
        self._remember(step, t_s, temp_c)
        stays = self._stays(step, t_s, temp_c, drop_k, trail)
        self._count(step, t_s, stays=stays)
        return Drop(step.onset.since_s, step.onset.from_c, temp_c, drop_k, stays, step.not_air, step.is_elsewhere,
                    step.has_stayed)

    def _begun(
        self, found: Onset | None, t_s: float, temp_c: float, trail: Trail, falls: FreeFall,
    ) -> StandingStep | None:
        """Return the step that begins with an onset; one that is a vent in a sure free fall is passed over."""
        if found is None:
            return None
        had_c = max(found.from_c, trail.temps[trail.index_at(found.since_s)])
        self._heat = HeatUnderAir(t_s, had_c - temp_c, temp_c)
        step = StandingStep(found, t_s, found.drop_k, LeftOpen(found.since_s, found.from_c, temp_c))
        if falls is not FreeFall.CERTAIN or is_no_air(temp_c, found.from_c):
            return step
        self._passed, self.vented_s = step, t_s
        return None

    def _judge(self, step: StandingStep, t_s: float, temp_c: float, trail: Trail) -> None:
        """Judge whether a failed probe made the step, or a vent may have."""
        from_c, open_c = step.onset.from_c, step.open_c(t_s)
        falls_freely = (self.vented_s is not None and t_s - self.vented_s < VENT_S) or (
            self._free_s >= step.onset.since_s and not self._low_c <= from_c <= self._high_c)
        step.not_air = step.not_air or is_no_air(max(temp_c, *trail.temps[-2:]), open_c)
        step.may_be_vent = not step.not_air and not step.is_still and (step.may_be_vent or falls_freely)

    def _remember(self, step: StandingStep, t_s: float, temp_c: float) -> None:
        """Take note that the step stands: what others may not conclude from these readings hangs on it."""
        if self._heat is None:
            self._heat = HeatUnderAir(step.began_s, step.deepest_k, temp_c)
        self._heat.stands(step.deepest_k, temp_c)
        self.settled_from_s = max(self.settled_from_s, step.onset.since_s + STILL_FALLING_S)
        self.seen_s = self.air_s = t_s
        if step.may_be_vent:
            self.vented_s = t_s

    def _count(self, step: StandingStep, t_s: float, *, stays: bool) -> None:
        """Note that a step has stayed, and for how long it stands by now."""
        if step.has_stayed:
            self.stood[-1] = (step.onset.since_s, t_s)
        elif stays:
            step.has_stayed = True
            self.stood.append((step.onset.since_s, t_s))

    def _stays(self, step: StandingStep, t_s: float, temp_c: float, drop_k: float, trail: Trail) -> bool:
        """Return whether the step has lasted, and no vent explains it."""
        since_s = step.onset.since_s
        # No vent is left open through the annealing range.
        vented = step.may_be_vent and not step.open.stands(t_s) and (
            temp_c >= self._low_c or t_s - since_s < VENT_S or step.open.was_shut)
        is_down = drop_k >= CONTROLLERS_MOST_K and not step.is_coming_back(t_s, drop_k, trail)
        if not is_down:
            step.back_s = t_s
        step.is_still = step.is_still or (is_down and stands_still(t_s, since_s, trail))
        has_lasted = t_s - max(since_s, step.back_s) >= WAKE_AFTER_S  # no time at all where it is not down
        return has_lasted and step.onset.from_c >= self._low_c and not vented


def falls_on(from_s: float, trail: Trail, for_s: float = FALLS_ON_S) -> bool:
    """Return whether, for ``for_s`` from ``from_s`` [s], they fell as a slow unpowered kiln; true without a line."""
    line = trail.line(from_s, from_s + for_s)
    return line is None or -line.slope_c_per_s * 3600 >= max(0.0, line.mean_c - ASSUMED_ROOM_C) / SLOWEST_TIME_H
