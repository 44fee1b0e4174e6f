"""A step down: a lid, a falling probe, or the first minute of something that will get its own name."""

from __future__ import annotations

from math import sqrt
from typing import NamedTuple

from daemon.firing.detection.step_signs import is_no_air, stands_still, strays
from daemon.firing.plan.schedule import ASSUMED_ROOM_C
from daemon.firing.situation.natural_fall import FASTEST_TIME_H
from daemon.firing.situation.phase import FreeFall
from daemon.firing.trace.recent import Trail
from daemon.glass.materials import Glass

WAKE_AFTER_S = 120.0
"""A step that stands this long stays [s]. [chosen: longer than a look inside]"""
STEP_SETTLES_S = 240.0
"""For so long after a step that came back no slope is taken [s]: chamber and probe still come to one temperature.
[tuned: by trial on the bench, study not kept]
"""
_FALLING_S = 75.0
"""For so long into a step no slope is taken [s]; what goes on falling after it falls by itself. [tuned: by trial on
the bench, study not kept]
"""
_BEFORE_S, _AFTER_S = 240.0, 60.0
"""The line that a step leaves is drawn through the readings between so long ago and so long ago [s]. [tuned: by trial
on the bench, study not kept]
"""
_LEAST_LINE_S = 60.0
"""A line shorter than this leads nowhere [s]. [tuned: by trial on the bench, study not kept]"""
_LEAST_K = 8.0
"""A smaller step is none [K]. [tuned: by trial on the bench, study not kept]"""
_SURE = 6.0
"""Standard deviations of noise and wander that a step is larger than. [tuned: by trial on the bench, study not kept]
"""
_FASTER_TIMES = 1.7
"""A step is faster than the fastest kiln falls by so many times. [tuned: by trial on the bench, study not kept]"""
_ONSET_SHARE = 0.15
"""A reading has left the line where it is below it by this share of the step. [tuned: by trial on the bench, study
not kept]
"""
_RECOVERED_SHARE = 0.5
"""A step is over where less than this share of its greatest depth is left. [chosen: nearer its line than its depth]
"""
_STAYS_SHARE = 0.85
"""A step of which less than this share is left is coming back, however slowly a thick sheath does [1].
[chosen: more than noise, less than half a recovery]"""
_GIVE_UP_S = 1200.0
"""A step that stands this long is where the kiln now is [s]. [tuned: by trial on the bench, study not kept]"""
VENT_S = 540.0
"""A vent opened to cool fast is shut within this time [s]. While it stands open the air may read below the annealing
range, though the glass is far above it. [common practice: vents of one to six minutes]"""
_STAYS_LEAST_K = 20.0
"""A smaller step may be a regime of the controller, as an on/off one that swings; it never stays [K].
[common practice: controllers with 3 to 8 K of hysteresis swing by up to 16 K]"""
_GIVEN_BACK_S = 900.0
"""So long after a lid was shut, brick and glass have given back to the air what they had more than it [s].
[chosen: the air of the bench's kilns is back within ten minutes]"""
_COLD_C = 100.0
"""Below this there is nothing to lose and no steady line [°C]. [common practice]"""


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


class StepDown:
    """Sees every temperature; knows the line before a step and whether the readings come back to it."""

    def __init__(self, glass: Glass) -> None:
        self._low_c, self._high_c = glass.band_low_c, glass.band_high_c
        self._since_s: float | None = None
        self._from_c = 0.0
        self._slope = 0.0
        self._deepest_k = 0.0
        self._may_be_vent = self._not_air = self._is_still = False
        self._free_s = self._back_s = float("-inf")
        """When the plan last let the kiln fall freely, by the temperature read then; and when a step was last on its
        way back [s]."""
        self._passed_s: float | None = None
        """When the last step began that was passed over, as a vent in a free fall [s]."""
        self.seen_s: float | None = None
        """When the readings last stood a step down [s]."""
        self.vented_s: float | None = None
        """When they last stood a step down in a free fall, as under a vent opened to cool fast [s]."""
        self._under: tuple[float, float, float] | None = None
        """How deep the last step was [K], the lowest reading since it began [°C], and until when it counts [s]."""
        self._began_s = float("-inf")
        """When the last step began, also one that is a vent [s]."""
        self.settled_from_s = float("-inf")
        """When the readings have settled after the last step [s]; slopes reach no further back."""

    def see(self, t_s: float, temp_c: float, trail: Trail, wander_k: float, *, falls: FreeFall) -> Drop | None:
        """Return the step down while the readings stand a step below where they were going.

        A step to where no air can be (see is_no_air) lasts until the readings come back: the probe failed. One that
        stands still after it is no vent (see stands_still). Any other may be a vent opened to cool fast. Where the
        plan surely falls freely, that does not count. Where the plan may begin to fall freely at any minute, it
        counts but does not stay for VENT_S, however cold the air, nor later while it reads above the annealing range:
        it wakes nobody. Within and below that range nobody vents: a step out of it may stay.
        """
        self._follow(t_s, temp_c)
        if falls is not FreeFall.NO:
            self._free_s = t_s
        if self._passed_s is not None and stands_still(t_s, self._passed_s, trail):
            self._since_s, self._passed_s = self._passed_s, None
        if self._since_s is None:
            if not self._begins(t_s, temp_c, trail, wander_k):
                return None
            had_c = max(self._from_c, trail.temps[trail.index_at(self._since_s or 0.0)])
            self._under = (had_c - temp_c, temp_c, t_s + VENT_S + _GIVEN_BACK_S)
            self._began_s = t_s
            if falls is FreeFall.CERTAIN and not is_no_air(temp_c, self._from_c):
                self._passed_s, self._since_s, self.vented_s = self._since_s, None, t_s
                return None
        since_s = self._since_s if self._since_s is not None else t_s
        venting = self.vented_s is not None and t_s - self.vented_s < VENT_S
        falls_freely = venting or (self._free_s >= since_s and not self._low_c <= self._from_c <= self._high_c)
        self._not_air = self._not_air or is_no_air(max(temp_c, *trail.temps[-2:]), self._from_c)
        self._may_be_vent = not self._not_air and not self._is_still and (self._may_be_vent or falls_freely)
        going_c = self._from_c + (0.0 if self._not_air else min(self._slope, 0.0) * (t_s - since_s))
        drop_k = going_c - temp_c
        self._deepest_k = max(self._deepest_k, drop_k)
        given_up = t_s - since_s > _GIVE_UP_S and not self._not_air  # wires that touch go on touching
        if drop_k < _RECOVERED_SHARE * self._deepest_k or given_up:
            self.settled_from_s = t_s + (STEP_SETTLES_S if t_s - since_s < _GIVE_UP_S else 0.0)
            self._since_s, self._may_be_vent, self._not_air, self._is_still = None, False, False, False
            return None
        self._under = (self._deepest_k, min(temp_c, self._under[1] if self._under else temp_c), float("inf"))
        self.settled_from_s = max(self.settled_from_s, since_s + _FALLING_S)
        self.seen_s = t_s
        if self._may_be_vent:
            self.vented_s = t_s
        lasted_s = t_s - since_s
        # No vent is left open through the annealing range.
        vented = self._may_be_vent and (temp_c >= self._low_c or lasted_s < VENT_S)
        is_down = drop_k >= max(_STAYS_LEAST_K, _STAYS_SHARE * self._deepest_k)  # else it is on its way back
        if not is_down:
            self._back_s = t_s
        self._is_still = self._is_still or (is_down and stands_still(t_s, since_s, trail))
        has_lasted = t_s - max(since_s, self._back_s) >= WAKE_AFTER_S
        stays = has_lasted and self._from_c >= self._low_c and is_down and not vented
        return Drop(since_s, self._from_c, temp_c, drop_k, stays, self._not_air)

    @property
    def kiln_c(self) -> float | None:
        """Return what brick and glass may still have under the air that is read [°C]; None where the air tells.

        Under an open lid the air is colder than the kiln by as much as it stepped down. Once the lid is shut the air
        comes back, faster than any element heats, to no more than that: heat given back, and no heating.
        """
        return None if self._under is None else self._under[1] + self._under[0]

    def _follow(self, t_s: float, temp_c: float) -> None:
        """Follow the kiln under the air since the last step, until a while after the air has come back."""
        if self._under is None:
            return
        depth_k, lowest_c, until_s = self._under
        if t_s > until_s:
            self._under = None
            return
        if t_s < self._began_s + _FALLING_S:
            depth_k += max(0.0, lowest_c - temp_c)  # the step itself is still going on
        if temp_c > lowest_c + (1.0 - _RECOVERED_SHARE) * depth_k:
            until_s = min(until_s, t_s + _GIVEN_BACK_S)
        self._under = (depth_k, min(lowest_c, temp_c), until_s)

    @property
    def may_be_vent(self) -> bool:
        """Return whether a step down stands that a vent may have made."""
        return self._since_s is not None and self._may_be_vent

    def _begins(self, t_s: float, temp_c: float, trail: Trail, wander_k: float) -> bool:
        """Return whether a step down begins, and take note of where and from which slope if so.

        The last three readings must lie below the line of the minutes before by more than the line's own scatter, the
        wander and the free fall of a brisk kiln explain.
        """
        earlier = trail.index_at(t_s - _AFTER_S)
        if earlier >= len(trail.temps) or trail.temps[earlier] - temp_c < _LEAST_K:
            return False  # most readings are done here: no need of a line
        before = trail.line(t_s - _BEFORE_S, t_s - _AFTER_S)
        if before is None or before.span_s < _LEAST_LINE_S or before.mean_c < _COLD_C:
            return False
        if strays(before, trail.noise_k):
            return False  # spikes lie in it: it leads nowhere
        going_c = before.at(t_s)
        drop_k = going_c - max(temp_c, *trail.temps[-2:])  # one or two readings are no step
        natural_k = (before.mean_c - ASSUMED_ROOM_C) / FASTEST_TIME_H / 3600 * _AFTER_S
        noise_k = sqrt(max(trail.noise_k**2, before.sse / (before.number - 2)) + wander_k**2)
        if drop_k < max(_LEAST_K, _SURE * noise_k) + _FASTER_TIMES * natural_k:
            return False
        self._since_s, self._from_c, self._slope = self._onset(t_s, trail, before.slope_c_per_s, going_c, drop_k)
        self._deepest_k = drop_k
        return True

    @staticmethod
    def _onset(t_s: float, trail: Trail, slope: float, going_c: float, drop_k: float) -> tuple[float, float, float]:
        """Return (second, °C, slope) of where the readings left their line."""
        for i in range(len(trail.times) - 1, -1, -1):
            at_s = trail.times[i]
            line_c = going_c - slope * (t_s - at_s)
            if line_c - trail.temps[i] < _ONSET_SHARE * drop_k:
                return at_s, line_c, slope
        return t_s, going_c, slope
