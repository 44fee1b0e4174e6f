"""What maker, mains and mishap do to a firing: when each begins and ends, and what it does while it lasts."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from simulations.faults import Fault
from simulations.plant.mishaps import Happened
from simulations.second_plant.programmer import Programmer


@dataclass(slots=True)
class Effects:
    """What is so just now."""

    is_mains_on: bool = True
    is_to_start_again: bool = False
    """The maker stopped the controller and will start it again."""
    is_welded: bool = False
    is_element_out: bool = False
    open_share: float = 0.0
    vent_w_per_k: float = 0.0
    probe: str = ""
    """"open", "frozen", "flickers", "zeros" or "gap"; empty where the probe is well."""
    fallen: float = 0.0
    """By what share of its length the probe has dropped out."""


_OPENS = ("ajar", "vent", "peek", "prop", "door")
_PROBE = ("open", "frozen", "flickers", "zeros", "gap")


class Maker:
    """Begins and ends what was to happen, at its place in the program or its temperature.

    Parameters
    ----------
    faults
        What is to happen, faults and habits alike; each happens once.
    """

    def __init__(self, faults: Iterable[Fault]) -> None:
        self._waiting = list(faults)
        self._going: list[tuple[Fault, Happened]] = []
        self.happened: list[Happened] = []
        self._highest_c = -1e9
        self._begun: dict[tuple[int, str], float] = {}

    def on_part(self, step: int, part: str, t_s: float) -> None:
        """Note that the controller began a part."""
        self._begun.setdefault((step, part), t_s)

    def step(self, t_s: float, measured_c: float, controller: Programmer) -> Effects:
        """Begin and end what is due at ``t_s``, and return what is so then."""
        self._highest_c = max(self._highest_c, measured_c)
        for fault in [f for f in self._waiting if self._is_due(f, t_s, measured_c, controller)]:
            self._waiting.remove(fault)
            happened = Happened(fault.name, fault.size, t_s, None)
            self.happened.append(happened)
            self._going.append((fault, happened))
            _begin(fault, t_s, measured_c, controller)
        effects = Effects()
        for entry in list(self._going):
            fault, happened = entry
            if fault.length_s is not None and t_s >= happened.at_s + fault.length_s:
                happened.until_s = t_s
                self._going.remove(entry)
                _end(fault, t_s, measured_c, controller)
            else:
                _act(fault, effects, controller)
        return effects

    def _is_due(self, fault: Fault, t_s: float, measured_c: float, controller: Programmer) -> bool:
        """Return whether something begins now."""
        if fault.at_s is not None:
            return t_s >= fault.at_s
        if fault.passing_c is not None:
            if fault.rising:
                return measured_c > fault.passing_c
            return measured_c < fault.passing_c < self._highest_c - 30.0
        begun_s = self._begun.get((fault.step or 0, fault.part))
        is_there = (controller.index + 1, controller.part) == (fault.step, fault.part)
        return begun_s is not None and is_there and t_s >= begun_s + fault.after_s


def _begin(fault: Fault, t_s: float, measured_c: float, controller: Programmer) -> None:
    """Do what is done once, at the beginning."""
    size = fault.size or 0.0
    if fault.name in ("hold-short", "hold-long", "minutes-added"):
        controller.meddling.hold_factor = size
    elif fault.name == "skip-hold":
        controller.meddling.hold_factor = 0.0
    elif fault.name == "hold-off":
        controller.meddling.hold_off_k = size
    elif fault.name == "cooling":
        controller.meddling.rate_factor = size
    elif fault.name == "restart":
        controller.start(t_s, measured_c)
    elif fault.name == "aborted-start":
        controller.stop(t_s)


def _act(fault: Fault, effects: Effects, controller: Programmer) -> None:
    """Do what is done as long as it lasts."""
    size = fault.size or 0.0
    if fault.name in _OPENS:
        effects.open_share = max(effects.open_share, size)
    elif fault.name == "plug":
        effects.vent_w_per_k = size
    elif fault.name in _PROBE:
        effects.probe = fault.name
    elif fault.name == "fallen":
        effects.fallen = size
    elif fault.name == "power-cut":
        effects.is_mains_on = False
    elif fault.name == "welded":
        effects.is_welded = True
    elif fault.name == "element-out":
        effects.is_element_out = True
    elif fault.name == "stuck":
        controller.meddling.is_stuck = True
    elif fault.name == "aborted-start":
        effects.is_to_start_again = True


def _end(fault: Fault, t_s: float, measured_c: float, controller: Programmer) -> None:
    """Do what is done once it is over."""
    if fault.name == "stuck":
        controller.meddling.is_stuck = False
    elif fault.name == "aborted-start":
        controller.start(t_s, measured_c)
    elif fault.name == "power-cut" and controller.is_running:
        if controller.habits.after_cut == "begins-again":
            controller.start(t_s, measured_c)
        elif controller.habits.after_cut == "goes-on":
            controller.resume(measured_c)
        else:
            controller.stop(t_s)
