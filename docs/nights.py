"""The nights that docs/sheet.py photographs: what goes wrong in each, and when somebody looks at the page.

Every firing is simulated and invented; the same seed gives the same night. ``tests/test_sheet.py`` holds that at the
moment of the photograph the alert of that name really stands, or is over.
"""

from __future__ import annotations

import importlib.util
import sys
from dataclasses import dataclass, replace
from datetime import UTC, datetime, timedelta
from functools import cache
from pathlib import Path
from types import ModuleType
from typing import Any

from daemon.firing.plan.plan import Plan, parse_plan, write_plan
from hw.thermocouple import Fault
from simulations.firing import Simulated, read_faults, simulate
from simulations.random_plans import on_paper

ROOT = Path(__file__).parents[1]
PLAN = write_plan(on_paper(
    "Full fuse, two layers, 6 mm", "400/800/10 top, free/516/60 anneal, 80/461, 150/406, free/40"))
"""Climbed fast, so that a night is simulated in seconds: only its top and its anneal matter here."""
PIECE = "Shallow bowl, river blue"
SEED = 7
WOKEN_AT = datetime(2026, 3, 2, 2, 12, tzinfo=UTC)
"""When every photograph is taken: 03:12 in Berlin, where the invented studio is."""


@dataclass(frozen=True)
class Night:
    """A firing in which something goes wrong, and the moment at which its maker looks at the page."""

    caption: str
    faults: tuple[str, ...]
    kind: str
    """The alert that has woken by then."""
    at_s: float
    """Second of the firing at which the photograph is taken."""
    is_over: bool = False
    """Whether the alert is over by then, or still stands."""
    dark: tuple[float, float] | None = None
    """From when to when Lehrling itself was without power [s of the firing]."""

    def plan(self) -> Plan:
        """Return what the controller was given."""
        return parse_plan(PLAN, "the night's plan")

    def fired(self) -> Simulated:
        """Return the firing until a little after the photograph."""
        return _fired(self.faults, self.at_s + 60.0)


@cache
def _fired(faults: tuple[str, ...], longest_s: float) -> Simulated:
    plan = parse_plan(PLAN, "the night's plan")
    return simulate(plan, faults=read_faults(faults, plan), seed=SEED, longest_s=longest_s)


NIGHTS = {
    "power-off": Night(
        "Woken: the power failed in the anneal", ("power-cut@step2:hold+15min",), "firing-stopped", 13_400.0),
    "runaway": Night(
        "Woken: the relay is welded, the kiln climbs on", ("runaway@step1:ramp+90min",), "over-temperature", 9_900.0),
    "lid-open": Night(
        "Woken: the lid stands open in the anneal", ("lid=25min@step2:hold+20min",), "sudden-drop", 13_550.0),
    "cooling-too-fast": Night(
        "Woken: cooling too fast after the anneal", ("cooling=2.5@step3:ramp",), "cooling-too-fast", 16_200.0),
    "sensor-failed": Night(
        "Woken: the thermocouple failed in the anneal", ("open@step2:hold+10min",), "sensor-fault", 13_100.0),
    "anneal-cut-short": Night(
        "Woken: the controller left the anneal early", ("skip-hold@step2:hold+15min",), "hold-cut-short", 13_700.0),
    "just-over": Night(
        "Woken, and already over: the lid was open for six minutes", ("lid=6min@step2:hold+20min",), "sudden-drop",
        13_900.0, is_over=True),
    "power-back": Night(
        "Power back: kiln and Lehrling were dark for 25 min", ("power-cut=25min@step2:hold+15min",),
        "restarted", 14_680.0, dark=(12_990.0, 14_490.0)),
}
"""By name; each photographed on Now."""
TWELVE = (
    "heating=1.8@step1:ramp+10min", "lid=6min@step1:ramp+60min",
    "power-cut=18min@step2:hold+10min", "open=10min@step2:hold+40min", "lid=8min@step2:hold+55min",
    "cooling=3@step3:ramp")
"""What goes wrong in the night with twelve alerts."""


def house_at(night: Night, folder: Path) -> Any:
    """Return the real daemon in ``folder``, run by hand until the moment of the photograph.

    The returned house (``Studio`` of tests/daemon/conftest.py) has its state file and its database there.
    """
    fired = night.fired()
    temps = {round(sample.t_s / 5): sample.temp_c for sample in fired.samples}
    house = _parts().Studio(folder)
    house.config = replace(house.config, kiln_name="Kiln in the shed")
    house.kill()
    house.start()
    plan_id = house.add_plan(PLAN)
    house.clock.wall = WOKEN_AT - timedelta(seconds=night.at_s)
    house.start_firing(title=PIECE, plan_id=plan_id)
    began_s = house.clock.now_s()
    house.says = lambda s: temps.get(round((s - began_s) / 5)) or Fault.OPEN
    if night.dark is None:
        house.run(night.at_s)
        return house
    from_s, to_s = night.dark
    house.run(from_s)
    house.kill()
    booted_s = 20.5  # where reboot() puts the clock
    house.says = lambda s: temps.get(round((s - booted_s + to_s) / 5)) or Fault.OPEN
    house.reboot(to_s - from_s)
    house.run(night.at_s - to_s)
    return house


def played(name: str, folder: Path) -> datetime:
    """Play one of the NIGHTS in ``folder``, until the moment of its photograph; return when that is."""
    house = house_at(NIGHTS[name], folder)
    house.kill()
    now_utc: datetime = house.clock.utc()
    return now_utc


@cache
def _parts() -> ModuleType:
    """Return tests/daemon/conftest.py, where a daemon is turned by hand; tests have no packages."""
    return load("lehrling_sheet_house", ROOT / "tests" / "daemon" / "conftest.py")


def load(name: str, path: Path) -> ModuleType:
    """Return the module that stands in a file outside any package."""
    spec = importlib.util.spec_from_file_location(name, path)
    if spec is None or spec.loader is None:
        raise ImportError(f"{path}: no Python file")
    module = importlib.util.module_from_spec(spec)
    sys.modules[name] = module
    spec.loader.exec_module(module)
    return module


def idle_house(folder: Path, now_utc: datetime) -> Any:
    """Return the real daemon in ``folder`` at a time, beside a cold kiln, with nothing in its record."""
    house = _parts().Studio(folder)
    house.clock.wall = now_utc - timedelta(seconds=20)
    house.run(20.0)
    return house
