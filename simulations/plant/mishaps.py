"""Faults as they come about in a plant: which wait, which are active, and what the active ones do.

Some act on the controller when they begin and end, the others are summed up as effects on kiln and probe.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from math import inf
from random import Random

from simulations.faults import Fault
from simulations.plant.controller import Controller
from simulations.plant.kiln import STEP_S

SENSOR_FAULTS = ("open", "short", "silent", "chip-stuck", "gap")
"""Faults that leave no temperature to read; a gap leaves not even a row."""
POWER_FAULTS = ("power-cut", "restart")
BLINK_S = 30.0
"""A controller carries its step over a mains blink this short [s].
[chosen: controllers differ]"""
VENT_W_PER_K = 9.0
"""An open vent's draught [W/K]. [common practice: a hand-sized opening]"""
PULL_S = 1200.0
"""How long a probe takes to slide out [s]. [chosen: too slow for a step in the reading]"""
LOSS_S = 20.0
"""Mean time for which a loose contact is lost [s]. [chosen: some readings long, too short to be told by itself]"""
_PASSED_K = 10.0
"""A kiln falls past a temperature only when it has been warmer by this [K]. [chosen: a hold's ripple is no fall]"""
_MOMENTARY = ("advance", "chip-reset", "skip-hold", "hold-short", "hold-long")
"""Done at once; nothing is active afterwards."""
_OF_A_HOLD = ("hold-off", "swing")
"""Over with the hold, or before."""


@dataclass(slots=True)
class Happened:
    """A fault as it came about."""

    name: str
    size: float | None
    at_s: float
    until_s: float | None


@dataclass(slots=True)
class Effects:
    """What the active faults do to kiln and probe in this step."""

    is_mains_on: bool = True
    is_welded: bool = False
    power_share: float = 1.0
    lid_share: float = 0.0
    vent_w_per_k: float = 0.0
    probe_fault: str | None = None
    is_frozen: bool = False
    """The reading stays what it was."""
    out_share: float = 0.0
    """How far the probe is out of the kiln, 0 to 1."""
    is_in_wall: bool = False
    zero_every: int = 0
    """Of so many readings one is written as 0.0; 0 for none."""
    added_k: float = 0.0
    bad_bits: float = 0.0
    hum_k: float = 0.0
    spikes_per_h: float = 0.0


class LooseContact:
    """A contact that comes and goes by chance, with mean times of holding and of being lost.

    Parameters
    ----------
    fault
        The fault ``flickers``; the same fault gives the same losses.
    """

    def __init__(self, fault: Fault) -> None:
        self._chance = Random(repr(fault))
        self._losses_per_h = fault.size or 0.0
        self._is_lost = False

    def is_lost_next(self) -> bool:
        """Go on by STEP_S seconds; return whether the contact is lost in them."""
        per_s = 1.0 / LOSS_S if self._is_lost else self._losses_per_h / 3600
        if self._chance.random() < per_s * STEP_S:
            self._is_lost = not self._is_lost
        return self._is_lost


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
        self._active: list[tuple[Happened, Fault]] = []
        self._highest_c = -inf
        self.happened: list[Happened] = []
        self.effects = Effects()
        self._is_gradual = False
        self._contacts: dict[Fault, LooseContact] = {}

    @property
    def power_will_be_back(self) -> bool:
        """Return whether the mains is away for a while only."""
        return any(h.until_s is not None for h, f in self._active if f.name in POWER_FAULTS)

    @property
    def never_started(self) -> bool:
        """Return whether nobody ever starts the controller."""
        return any(fault.name == "never-started" for fault in self.waiting) or any(
            h.name == "never-started" for h in self.happened)

    def advance(self, t_s: float, here_c: float, *, started: bool) -> None:
        """Begin and end what is due at ``t_s`` with the controller's sensor at ``here_c`` [°C]."""
        if not (self.waiting or self._active):
            return
        self._highest_c = max(self._highest_c, here_c)
        changed = self._is_gradual
        for entry in [e for e in self._active if e[0].until_s is not None and t_s >= e[0].until_s]:
            self._active.remove(entry)
            self._ends(entry[1], t_s, here_c, started=started)
            changed = True
        for fault in [f for f in self.waiting if self._due(f, t_s, here_c)]:
            self.waiting.remove(fault)
            until_s = None if fault.length_s is None else t_s + fault.length_s
            happened = Happened(fault.name, fault.size, t_s, until_s)
            self.happened.append(happened)
            self._begins(fault, t_s)
            if fault.name not in _MOMENTARY:
                self._active.append((happened, fault))
            changed = True
        if changed:
            self._sum_up(t_s)

    def _due(self, fault: Fault, t_s: float, here_c: float) -> bool:
        """Return whether a waiting fault begins now: by its time, its temperature, or its place in the program."""
        if fault.at_s is not None:
            return t_s >= fault.at_s
        if fault.passing_c is not None:
            if fault.rising:
                return here_c >= fault.passing_c
            return here_c <= fault.passing_c < self._highest_c - _PASSED_K
        ctl = self._controller
        return ctl.part == fault.part and ctl.step == fault.step and t_s >= ctl.part_since_s + fault.after_s

    def _begins(self, fault: Fault, t_s: float) -> None:
        """Do to the controller what a fault does when it begins."""
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
        """Put the controller right when a fault ends; one without power takes its program up again."""
        ctl = self._controller
        if fault.name == "cooling":
            ctl.cooling_factor = 1.0
        elif fault.name == "heating":
            ctl.heating_factor = 1.0
        elif fault.name == "stuck":
            ctl.frozen = False
        elif fault.name in _OF_A_HOLD:
            ctl.hold_off_k = ctl.swing_k = 0.0
        elif fault.name == "restart" and started:
            ctl.start(t_s, here_c)
        elif fault.name == "power-cut" and started and ctl.part is None:
            ctl.resume(t_s, here_c)

    def _sum_up(self, t_s: float) -> None:
        """Sum up what the active faults do now."""
        effects = Effects()
        self._is_gradual = False
        for happened, fault in self._active:
            size = fault.size if fault.size is not None else 1.0
            match fault.name:
                case "power-cut" | "restart":
                    effects.is_mains_on = False
                case "runaway":
                    effects.is_welded = True
                case "sag":
                    effects.power_share *= size
                case "lid":
                    effects.lid_share = 1.0
                case "ajar":
                    effects.lid_share = max(effects.lid_share, size)
                case "vent":
                    effects.vent_w_per_k += size * VENT_W_PER_K
                case "open" | "short" | "silent" | "chip-stuck" | "gap":
                    effects.probe_fault = fault.name
                case "frozen":
                    effects.is_frozen = True
                case "flickers":
                    if self._contacts.setdefault(fault, LooseContact(fault)).is_lost_next():
                        effects.probe_fault = effects.probe_fault or "open"
                    self._is_gradual = True
                case "zeros":
                    effects.zero_every = round(size)
                case "wall-short":
                    effects.is_in_wall = True
                case "fallen":
                    effects.out_share = max(effects.out_share, size)
                case "pulled":
                    effects.out_share = max(effects.out_share, size * min(1.0, (t_s - happened.at_s) / PULL_S))
                    self._is_gradual = True
                case "moved":
                    effects.added_k += size
                case "drift":
                    effects.added_k += size * (t_s - happened.at_s) / 3600
                    self._is_gradual = True
                case "bad-bits":
                    effects.bad_bits = size
                case "hum":
                    effects.hum_k += size
                case "spikes":
                    effects.spikes_per_h += size
        self.effects = effects
