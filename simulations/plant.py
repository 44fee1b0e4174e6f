"""The whole bench plant: kiln, controller, both sensors, mains and mishaps, in steps of five seconds.

It knows the truth: which part the controller ran when, what went wrong when, and how warm the glass
really was.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace

from simulations.controller import Controller, Ran, Segment
from simulations.faults import Fault
from simulations.kiln import STEP_S, Build, Kiln
from simulations.sheath import Sheath

VENT_W_PER_K = 9.0
"""An open vent's draught [W/K]; common practice, a hand-sized opening."""
BLINK_S = 30.0
"""A controller carries its step over a mains blink this short."""
SENSOR_FAULTS = ("open", "short", "silent")


@dataclass(slots=True)
class Happened:
    """A fault as it came about."""

    name: str
    size: float | None
    at_s: float
    until_s: float | None


@dataclass(frozen=True, slots=True)
class Surroundings:
    """What differs from firing to firing around the same kiln and program.

    Attributes
    ----------
    room_c
        Room temperature [°C].
    mains_share
        Power the elements really give, as a share of the nominal: sag and age.
    sensor_offset_c
        The controller's own sensor reads this much too high [°C].
    load_share
        Glass and shelf as a share of the preset's.
    start_c
        Temperature of the kiln when the firing begins [°C]; None is the room's.
    """

    room_c: float = 20.0
    mains_share: float = 1.0
    sensor_offset_c: float = 0.0
    load_share: float = 1.0
    start_c: float | None = None


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
    """

    def __init__(
        self, build: Build, program: Sequence[Segment], faults: Iterable[Fault] = (), start_s: float = 120.0,
        around: Surroundings | None = None,
    ) -> None:
        self.around = around or Surroundings()
        self.build = replace(
            build, glass_kg=build.glass_kg * self.around.load_share,
            shelf_kg=build.shelf_kg * self.around.load_share,
        )
        self.kiln = Kiln(self.build, self.around.room_c, self.around.start_c)
        here = self.around.room_c if self.around.start_c is None else self.around.start_c
        self.probe = Sheath(start_c=here)
        """Lehrling's own thermocouple."""
        self.sensor = Sheath(4.5, (0.04, 0.66, 0.30), here)
        """The controller's."""
        self.controller = Controller(program, room_c=self.around.room_c)
        self.happened: list[Happened] = []
        self._waiting = [fault for fault in faults if not fault.name.startswith("start-")]
        for fault in faults:
            if fault.name.startswith("start-") and fault.length_s is not None:
                start_s = fault.length_s if fault.name == "start-late" else -fault.length_s
                self.happened.append(Happened(fault.name, None, min(0.0, start_s), max(0.0, start_s)))
        self.start_s = start_s
        self.t_s = min(0.0, start_s - start_s % STEP_S)
        self.started = False
        self.mains = True
        self._standing: list[tuple[Happened, Fault]] = []
        self._back_at_step_1 = False

    @property
    def ran(self) -> list[Ran]:
        """Return the parts the controller ran, the running one without an end."""
        return self.controller.ran

    @property
    def probe_fault(self) -> str | None:
        """Return what is wrong with our own thermocouple now: "open", "short", "silent" or None."""
        for happened, _ in self._standing:
            if happened.name in SENSOR_FAULTS:
                return happened.name
        return None

    @property
    def cold_junction_c(self) -> float:
        """Return the temperature inside Lehrling's box [°C]: it hangs near the kiln's shell."""
        room = self.around.room_c
        return room + 4.0 + 0.08 * (self.kiln.wall_c[-1] - room)

    @property
    def over(self) -> bool:
        """Return whether the program has run, or never will go on, and nothing is left to go wrong."""
        return self.started and self.controller.part is None and not self._pending_power

    @property
    def _pending_power(self) -> bool:
        return any(h.until_s is not None for h, f in self._standing if f.name in ("power-cut", "restart"))

    def advance(self) -> None:
        """Go on by one step of STEP_S seconds."""
        t_s = self.t_s
        here_c = self.sensor.temp_c + self.around.sensor_offset_c
        if not self.started and t_s >= self.start_s:
            self.started = True
            self.controller.start(t_s, here_c)
        if self._waiting or self._standing:
            self._mishaps(t_s, here_c)
        duty = self.controller.tick(t_s, STEP_S, here_c) if self.mains else 0.0
        lid = 0.0
        for happened, _ in self._standing:
            if happened.name == "runaway":
                duty = 1.0
            elif happened.name == "lid":
                lid = 1.0
        power_w = duty * self.build.power_w * self.around.mains_share if self.mains else 0.0
        self.kiln.step(STEP_S, power_w, lid, self.controller.vent_share * VENT_W_PER_K)
        self.probe.follow(STEP_S, self.kiln)
        self.sensor.follow(STEP_S, self.kiln)
        self.t_s = t_s + STEP_S

    def _mishaps(self, t_s: float, here_c: float) -> None:
        for entry in [e for e in self._standing if e[0].until_s is not None and t_s >= e[0].until_s]:
            self._standing.remove(entry)
            self._ends(entry[1], entry[0], t_s, here_c)
        for fault in [f for f in self._waiting if self._due(f, t_s)]:
            self._waiting.remove(fault)
            until_s = None if fault.length_s is None else t_s + fault.length_s
            happened = Happened(fault.name, fault.size, t_s, until_s)
            self.happened.append(happened)
            self._begins(fault, t_s)
            if fault.name not in ("skip-hold", "hold-short"):
                self._standing.append((happened, fault))

    def _due(self, fault: Fault, t_s: float) -> bool:
        if fault.at_s is not None:
            return t_s >= fault.at_s
        ctl = self.controller
        return ctl.part == fault.part and ctl.step == fault.step and t_s >= ctl.part_since_s + fault.after_s

    def _begins(self, fault: Fault, t_s: float) -> None:
        ctl = self.controller
        if fault.name == "cooling":
            ctl.cooling_factor = fault.size or 1.0
        elif fault.name in ("power-cut", "restart"):
            self.mains = False
            if fault.name == "restart" or fault.length_s is None or fault.length_s > BLINK_S:
                ctl.lose_power(t_s)
        elif fault.name == "stuck":
            ctl.frozen = True
        elif fault.name == "skip-hold" and ctl.part == "hold":
            ctl.next_part(t_s, STEP_S)
        elif fault.name == "hold-short" and fault.size is not None:
            ctl.hold_factor = fault.size

    def _ends(self, fault: Fault, happened: Happened, t_s: float, here_c: float) -> None:
        ctl = self.controller
        if fault.name == "cooling":
            ctl.cooling_factor = 1.0
        elif fault.name == "stuck":
            ctl.frozen = False
        elif fault.name in ("power-cut", "restart"):
            self.mains = True
            if not self.started:
                return
            if fault.name == "restart":
                ctl.start(t_s, here_c)
            elif ctl.part is None:
                ctl.resume(t_s, here_c)
