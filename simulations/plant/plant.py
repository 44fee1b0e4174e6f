"""The whole bench plant: kiln, controller, both sensors, mains and mishaps, in steps of five seconds.

It knows the truth: which part the controller ran when, what went wrong when, and how warm the glass
really was.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import replace

from simulations.faults import Fault
from simulations.plant.builds import Build
from simulations.plant.controller import Controller, RanPart, Segment
from simulations.plant.kiln import STEP_S, Kiln
from simulations.plant.mishaps import VENT_W_PER_K, Happened, Mishaps
from simulations.plant.placement import Placement
from simulations.plant.sheath import Sheath
from simulations.plant.surroundings import Surroundings
from simulations.plant.wiring import Wiring

NEVER_S = 3 * 3600.0
"""A controller that nobody starts is watched this long [s]. [chosen: a watcher is asked to miss the start sooner]"""
_ROOM_EVERY_S = 300.0
"""Room and mains follow the day this often [s]. [chosen: either moves little in it]"""
_PULL_TAU_S = 30.0
"""Time constant with which a probe that is moved comes to its new place's temperature, beside the lag of its sheath
[s]. [chosen: the air round a stem changes within a minute]"""
_CUT_OUT_C = 1250.0
"""The kiln's own cut-out opens when the elements pass this [°C].
[common practice: glass kilns are rated to 1000 °C or a little more, and their wire to some 1300]"""
_BOX_WARMER_K = 4.0
_BOX_SHELL_SHARE = 0.08
"""Lehrling's box is warmer than the room by its own heat, and by a share of what the shell is warmer
[K, share]. [chosen: it hangs on the wall near the kiln]"""
_HEAD_SHELL_SHARE = 0.5
"""The probe's head lies half way between room and shell. [chosen: it stands out a little]"""
_ORDER_FROM_C, _ORDER_TO_C, _DISORDER_C = 250.0, 550.0, 650.0
"""Type K orders between the first two temperatures, which makes it read high, and loses its order above the third.
[common practice: sensor makers' notes]"""
_ORDERING_TAU_S = 2.0 * 3600
_DISORDERING_TAU_S = 600.0
"""Time constants of the two [s]. [chosen: hours to set in, minutes to go]"""
_SHOWS_FROM_C, _SHOWS_OVER_K, _FADES_OVER_K = 200.0, 50.0, 100.0
"""The error sets in above the first temperature within the second, and fades within the third below the temperature
at which the order is lost. [chosen: so that the reading has no step in it]"""


class Plant:
    """One firing on the bench.

    Parameters
    ----------
    build
        Which kiln.
    program
        What is keyed into its controller.
    faults
        What will go wrong.
    start_s
        When the controller is started [s from the start press]; may be negative.
    around
        What is particular to this firing.
    kind
        Type of our own thermocouple.
    """

    def __init__(
        self, build: Build, program: Sequence[Segment], faults: Iterable[Fault] = (), start_s: float = 120.0,
        around: Surroundings | None = None, kind: str = "K",
    ) -> None:
        faults = tuple(faults)
        self.around = around or Surroundings()
        self.build = replace(
            build, glass_kg=build.glass_kg * self.around.load_share,
            shelf_kg=build.shelf_kg * self.around.load_share,
        )
        self.kiln = Kiln(self.build, self.around.room_c, self.around.start_c)
        here = self.around.room_c if self.around.start_c is None else self.around.start_c
        self.probe = Sheath(self.around.probe or Placement(self.around.sheath_mm), here)
        """Lehrling's own thermocouple."""
        self.junction_c = here
        """What the junction of it really has [°C], wherever it has slid to, and what ails its alloys."""
        self.sensor = Sheath(self.around.sensor, here)
        """The controller's."""
        self.controller = Controller(program, self.around.tuning, room_c=self.around.room_c)
        self.wiring = _wiring(faults, kind)
        self.mishaps = Mishaps(faults, self.controller)
        for fault in faults:
            if fault.name.startswith("start-") and fault.length_s is not None:
                start_s = fault.length_s if fault.name == "start-late" else -fault.length_s
                happened = Happened(fault.name, None, min(0.0, start_s), max(0.0, start_s))
                self.mishaps.happened.append(happened)
        self.start_s = start_s
        self.t_s = min(0.0, start_s - start_s % STEP_S)
        self.started = False
        self._room_at_s = self.t_s
        self.on_s = 0.0
        """How long the elements were switched on so far, in seconds of full power."""
        self._power = 1.0
        self._out_share = 0.0
        self._order = 0.0
        self.is_cut_out = False
        """Whether the kiln's own cut-out has opened, as a runaway makes it do; it stays open."""

    @property
    def ran(self) -> list[RanPart]:
        """Return the parts the controller ran, the running one without an end."""
        return self.controller.ran

    @property
    def happened(self) -> list[Happened]:
        """Return what went wrong so far."""
        return self.mishaps.happened

    @property
    def probe_fault(self) -> str | None:
        """Return what is wrong with our own thermocouple now: one of mishaps.SENSOR_FAULTS, or None."""
        return self.mishaps.effects.probe_fault

    @property
    def is_reading_frozen(self) -> bool:
        """Return whether our own reading stays what it was, whatever the kiln does."""
        return self.mishaps.effects.is_frozen

    @property
    def cold_junction_c(self) -> float:
        """Return the temperature inside Lehrling's box [°C]: it hangs near the kiln's shell."""
        room_c = self.kiln.room_c
        return room_c + _BOX_WARMER_K + _BOX_SHELL_SHARE * (self.kiln.wall_c[-1] - room_c)

    @property
    def head_c(self) -> float:
        """Return the temperature of the probe's head [°C], just outside the shell."""
        return _HEAD_SHELL_SHARE * (self.kiln.room_c + self.kiln.wall_c[-1])

    @property
    def shown_c(self) -> float | None:
        """Return what a faultless chip would show [°C]; None where its type has no such voltage."""
        if self.wiring.is_right:
            return self.junction_c
        return self.wiring.shown_c(self.junction_c, self.cold_junction_c, self.head_c)

    @property
    def over(self) -> bool:
        """Return whether the program has run, or never will go on, and nothing is left to go wrong."""
        if self.mishaps.never_started:
            return self.t_s > NEVER_S
        return self.started and self.controller.part is None and not self.mishaps.power_will_be_back

    def advance(self) -> None:
        """Go on by one step of STEP_S seconds."""
        t_s = self.t_s
        here_c = self.sensor.temp_c * self.sensor.placement.gain + self.around.sensor_offset_k
        if not self.started and t_s >= self.start_s and not self.mishaps.never_started:
            self.started = True
            self.controller.start(t_s, here_c)
        self.mishaps.advance(t_s, here_c, started=self.started)
        now = self.mishaps.effects
        duty = self.controller.tick(t_s, STEP_S, here_c) if now.is_mains_on else 0.0
        if now.is_welded:
            duty = 1.0
        if t_s >= self._room_at_s:
            self._follow_the_day(t_s)
        self.is_cut_out = self.is_cut_out or self.kiln.element_c > _CUT_OUT_C
        if self.is_cut_out:
            duty = 0.0
        duty = duty if now.is_mains_on else 0.0
        self.on_s += duty * STEP_S
        power_w = duty * self.build.power_w * self._power * now.power_share
        vent_w_per_k = self.controller.vent_share * VENT_W_PER_K + now.vent_w_per_k
        self.kiln.step(STEP_S, power_w, now.lid_share, vent_w_per_k)
        draught_w_k = vent_w_per_k + self.kiln.lid_draught_w_k(now.lid_share)
        self.probe.follow(STEP_S, self.kiln, draught_w_k)
        self.sensor.follow(STEP_S, self.kiln, draught_w_k)
        self._read_junction()
        self.t_s = t_s + STEP_S

    def _follow_the_day(self, t_s: float) -> None:
        """Set the room's temperature and the mains to what the hour gives."""
        around, time_of_day = self.around, self.around.time_of_day(t_s)
        self._room_at_s = t_s + _ROOM_EVERY_S
        self.kiln.room_c = around.room_c + around.room_swing_k * time_of_day
        self._power = around.mains_share * (1.0 + around.mains_swing * time_of_day)

    def _read_junction(self) -> None:
        """Set the junction's temperature: the probe's, where it has slid to, and what its alloys add."""
        now, here_c = self.mishaps.effects, self.probe.temp_c
        if now.out_share or self._out_share > 0.001:
            self._out_share += (now.out_share - self._out_share) * STEP_S / _PULL_TAU_S
            here_c += self._out_share * (self.kiln.wall_c[-2] - here_c)
        if now.is_in_wall:
            here_c = self.kiln.wall_c[2]
        if self.around.hysteresis_k:
            here_c += self.around.hysteresis_k * self._ordering(here_c)
        placed = self.probe.placement
        drift_k = placed.drift_k_per_h * self.t_s / 3600
        here_c = here_c * placed.gain + drift_k + now.added_k + placed.shift_k
        self.junction_c = here_c

    def _ordering(self, here_c: float) -> float:
        """Return which share of type K's ordering error shows at ``here_c`` [°C], and let it set in or go."""
        if _ORDER_FROM_C < here_c < _ORDER_TO_C:
            self._order += (1.0 - self._order) * STEP_S / _ORDERING_TAU_S
        elif here_c > _DISORDER_C:
            self._order -= self._order * STEP_S / _DISORDERING_TAU_S
        return self._order * max(
            0.0, min(1.0, (here_c - _SHOWS_FROM_C) / _SHOWS_OVER_K, (_DISORDER_C - here_c) / _FADES_OVER_K))


def _wiring(faults: Sequence[Fault], kind: str) -> Wiring:
    """Return how the probe is wired, mistakes included; they are there from the first reading on."""
    names = {fault.name for fault in faults}
    set_to = "N" if "set-to-n" in names else "S" if "set-to-s" in names else kind
    if "n-set-to-k" in names:
        kind, set_to = "N", "K"
    return Wiring(kind, set_to, "reversed" in names, "copper-lead" in names)
