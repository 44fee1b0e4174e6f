"""The whole bench plant: kiln, controller, both sensors, mains and mishaps, in steps of five seconds.

It knows the truth: which part the controller ran when, what went wrong when, and how warm the glass
really was.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import replace

from simulations.faults import Fault
from simulations.plant.controller import Controller, Ran, Segment
from simulations.plant.kiln import STEP_S, Build, Kiln
from simulations.plant.mishaps import SENSOR_FAULTS, VENT_W_PER_K, Happened, Mishaps
from simulations.plant.sheath import Sheath
from simulations.plant.surroundings import Surroundings
from simulations.plant.wiring import Wiring

__all__ = ["SENSOR_FAULTS", "Happened", "Plant", "Surroundings"]

NEVER_S = 3 * 3600.0
"""A controller that nobody starts is watched this long [s]."""
_SUN_S = 300.0
"""The room's temperature is looked at this often [s]."""
_PULL_TAU_S = 30.0
_AGEING_TAU_S = 2.0 * 3600
_HEALING_TAU_S = 600.0


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
        self.probe = Sheath(self.around.sheath_mm, start_c=here)
        """Lehrling's own thermocouple."""
        self.junction_c = here
        """What the junction of it really has [°C], wherever it has slid to, and what ails its alloys."""
        self.sensor = Sheath(4.5, (0.04, 0.66, 0.30), here)
        """The controller's."""
        self.controller = Controller(program, self.around.habits, room_c=self.around.room_c)
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
        self._sun_s = self.t_s
        self._power = 1.0
        self._out_share = 0.0
        self._aged = 0.0

    @property
    def ran(self) -> list[Ran]:
        """Return the parts the controller ran, the running one without an end."""
        return self.controller.ran

    @property
    def happened(self) -> list[Happened]:
        """Return what went wrong so far."""
        return self.mishaps.happened

    @property
    def probe_fault(self) -> str | None:
        """Return what is wrong with our own thermocouple now: one of SENSOR_FAULTS, or None."""
        return self.mishaps.now.probe_fault

    @property
    def cold_junction_c(self) -> float:
        """Return the temperature inside Lehrling's box [°C]: it hangs near the kiln's shell."""
        room = self.kiln.room_c
        return room + 4.0 + 0.08 * (self.kiln.wall_c[-1] - room)

    @property
    def head_c(self) -> float:
        """Return the temperature of the probe's head [°C], just outside the shell."""
        return 0.5 * (self.kiln.room_c + self.kiln.wall_c[-1])

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
        here_c = self.sensor.temp_c + self.around.sensor_offset_k
        if not self.started and t_s >= self.start_s and not self.mishaps.never_started:
            self.started = True
            self.controller.start(t_s, here_c)
        self.mishaps.go_on(t_s, here_c, started=self.started)
        now = self.mishaps.now
        duty = self.controller.tick(t_s, STEP_S, here_c) if now.is_mains_on else 0.0
        if now.is_welded:
            duty = 1.0
        if t_s >= self._sun_s:
            self._sun(t_s)
        power_w = duty * self.build.power_w * self._power * now.power_share if now.is_mains_on else 0.0
        vent_w_per_k = self.controller.vent_share * VENT_W_PER_K + now.vent_w_per_k
        self.kiln.step(STEP_S, power_w, now.lid_share, vent_w_per_k)
        self.probe.follow(STEP_S, self.kiln)
        self.sensor.follow(STEP_S, self.kiln)
        self._feel()
        self.t_s = t_s + STEP_S

    def _sun(self, t_s: float) -> None:
        around, sun = self.around, self.around.sun(t_s)
        self._sun_s = t_s + _SUN_S
        self.kiln.room_c = around.room_c + around.room_swing_k * sun
        self._power = around.mains_share * (1.0 + around.mains_swing * sun)

    def _feel(self) -> None:
        """Bring the junction up to where it is and what its alloys make of it."""
        now, here_c = self.mishaps.now, self.probe.temp_c
        if now.out_share or self._out_share > 0.001:
            self._out_share += (now.out_share - self._out_share) * STEP_S / _PULL_TAU_S
            here_c += self._out_share * (self.kiln.wall_c[-2] - here_c)
        if now.is_in_wall:
            here_c = self.kiln.wall_c[2]
        if self.around.hysteresis_k:
            here_c += self.around.hysteresis_k * self._age(here_c)
        self.junction_c = here_c + now.added_k

    def _age(self, here_c: float) -> float:
        """Return how far type K's order has set in, as a share: within 250 to 550 °C it does, above 650 it goes."""
        if 250.0 < here_c < 550.0:
            self._aged += (1.0 - self._aged) * STEP_S / _AGEING_TAU_S
        elif here_c > 650.0:
            self._aged -= self._aged * STEP_S / _HEALING_TAU_S
        return self._aged * max(0.0, min(1.0, (here_c - 200.0) / 50.0, (650.0 - here_c) / 100.0))


def _wiring(faults: Sequence[Fault], kind: str) -> Wiring:
    """Return how the probe is wired, mistakes included; they are there from the first reading on."""
    names = {fault.name for fault in faults}
    set_to = "N" if "set-to-n" in names else "S" if "set-to-s" in names else kind
    if "n-set-to-k" in names:
        kind, set_to = "N", "K"
    return Wiring(kind, set_to, "reversed" in names, "copper-lead" in names)
