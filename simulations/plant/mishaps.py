"""Faults as they come about in a plant: what waits, what stands, and what each does while it stands."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from simulations.faults import Fault
from simulations.plant.controller import Controller
from simulations.plant.kiln import STEP_S

SENSOR_FAULTS = ("open", "short", "silent", "chip-stuck", "gap")
"""Faults that leave no temperature to read; a gap leaves not even a row."""
POWER_FAULTS = ("power-cut", "restart")
BLINK_S = 30.0
"""A controller carries its step over a mains blink this short."""
VENT_W_PER_K = 9.0
"""An open vent's draught [W/K]; common practice, a hand-sized opening."""
PULL_S = 1200.0
"""How long a probe takes to slide out [s]."""
_MOMENTARY = ("advance", "chip-reset", "skip-hold", "hold-short", "hold-long")
"""Done at once; nothing stands afterwards."""
_ENDING_WITH_THE_PART = ("hold-off", "swing")


@dataclass(slots=True)
class Happened:
    """A fault as it came about."""

    name: str
    size: float | None
    at_s: float
    until_s: float | None


@dataclass(slots=True)
class Influence:
    """What the standing faults do to kiln and probe in this step."""

    is_mains_on: bool = True
    is_welded: bool = False
    power_share: float = 1.0
    lid_share: float = 0.0
    vent_w_per_k: float = 0.0
    probe_fault: str | None = None
    out_share: float = 0.0
    """How far the probe is out of the kiln, 0 to 1."""
    is_in_wall: bool = False
    added_k: float = 0.0
    bad_bits: float = 0.0
    hum_k: float = 0.0
    spikes_per_h: float = 0.0


class Mishaps:
    """The faults of one firing.

    Parameters
    ----------
    faults
        What will go wrong.
    controller
        The controller that some of them befall.
    """

    def __init__(self, faults: Iterable[Fault], controller: Controller) -> None:
        self._controller = controller
        self.waiting = [fault for fault in faults if not fault.name.startswith("start-")]
        self._standing: list[tuple[Happened, Fault]] = []
        self._highest_c = -273.15
        self.happened: list[Happened] = []
        self.now = Influence()
        self._moving = False

    @property
    def power_will_be_back(self) -> bool:
        """Return whether the mains is away for a while only."""
        return any(h.until_s is not None for h, f in self._standing if f.name in POWER_FAULTS)

    @property
    def never_started(self) -> bool:
        """Return whether nobody ever starts the controller."""
        return any(fault.name == "never-started" for fault in self.waiting) or any(
            h.name == "never-started" for h in self.happened)

    def go_on(self, t_s: float, here_c: float, *, started: bool) -> None:
        """Let begin and end what is due at ``t_s`` with the controller's sensor at ``here_c`` [°C]."""
        if not (self.waiting or self._standing):
            return
        self._highest_c = max(self._highest_c, here_c)
        changed = self._moving
        for entry in [e for e in self._standing if e[0].until_s is not None and t_s >= e[0].until_s]:
            self._standing.remove(entry)
            self._ends(entry[1], t_s, here_c, started=started)
            changed = True
        for fault in [f for f in self.waiting if self._due(f, t_s, here_c)]:
            self.waiting.remove(fault)
            until_s = None if fault.length_s is None else t_s + fault.length_s
            happened = Happened(fault.name, fault.size, t_s, until_s)
            self.happened.append(happened)
            self._begins(fault, t_s)
            if fault.name not in _MOMENTARY:
                self._standing.append((happened, fault))
            changed = True
        if changed:
            self._reckon(t_s)

    def _due(self, fault: Fault, t_s: float, here_c: float) -> bool:
        if fault.at_s is not None:
            return t_s >= fault.at_s
        if fault.passing_c is not None:
            if fault.rising:
                return here_c >= fault.passing_c
            return here_c <= fault.passing_c < self._highest_c - 10.0
        ctl = self._controller
        return ctl.part == fault.part and ctl.step == fault.step and t_s >= ctl.part_since_s + fault.after_s

    def _begins(self, fault: Fault, t_s: float) -> None:
        ctl, size = self._controller, fault.size if fault.size is not None else 1.0
        if fault.name == "cooling":
            ctl.cooling_factor = size
        elif fault.name == "heating":
            ctl.heating_factor = size
        elif fault.name == "stuck":
            ctl.frozen = True
        elif fault.name == "advance" or (fault.name == "skip-hold" and ctl.part == "hold"):
            ctl.next_part(t_s, STEP_S)
        elif fault.name in ("hold-short", "hold-long"):
            ctl.hold_factor = size
        elif fault.name == "hold-off":
            ctl.hold_off_k = size
        elif fault.name == "swing":
            ctl.swing_k = size
        elif fault.name in POWER_FAULTS and (
            fault.name == "restart" or fault.length_s is None or fault.length_s > BLINK_S
        ):
            ctl.lose_power(t_s)

    def _ends(self, fault: Fault, t_s: float, here_c: float, *, started: bool) -> None:
        ctl = self._controller
        if fault.name == "cooling":
            ctl.cooling_factor = 1.0
        elif fault.name == "heating":
            ctl.heating_factor = 1.0
        elif fault.name == "stuck":
            ctl.frozen = False
        elif fault.name in _ENDING_WITH_THE_PART:
            ctl.hold_off_k = ctl.swing_k = 0.0
        elif fault.name == "restart" and started:
            ctl.start(t_s, here_c)
        elif fault.name == "power-cut" and started and ctl.part is None:
            ctl.resume(t_s, here_c)

    def _reckon(self, t_s: float) -> None:
        """Sum up what the standing faults do now."""
        now = Influence()
        self._moving = False
        for happened, fault in self._standing:
            size = fault.size if fault.size is not None else 1.0
            match fault.name:
                case "power-cut" | "restart":
                    now.is_mains_on = False
                case "runaway":
                    now.is_welded = True
                case "sag":
                    now.power_share *= size
                case "lid":
                    now.lid_share = 1.0
                case "ajar":
                    now.lid_share = max(now.lid_share, size)
                case "vent":
                    now.vent_w_per_k += size * VENT_W_PER_K
                case "open" | "short" | "silent" | "chip-stuck" | "gap":
                    now.probe_fault = fault.name
                case "wall-short":
                    now.is_in_wall = True
                case "fallen":
                    now.out_share = max(now.out_share, size)
                case "pulled":
                    now.out_share = max(now.out_share, size * min(1.0, (t_s - happened.at_s) / PULL_S))
                    self._moving = True
                case "moved":
                    now.added_k += size
                case "drift":
                    now.added_k += size * (t_s - happened.at_s) / 3600
                    self._moving = True
                case "bad-bits":
                    now.bad_bits = size
                case "hum":
                    now.hum_k += size
                case "spikes":
                    now.spikes_per_h += size
        self.now = now
