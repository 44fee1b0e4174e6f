"""Small hand-made situations for a watch: the readings, where the plan is, and whatever else matters.

``view_of`` makes the View of a beat, ``reading_of`` what a watch of every reading sees. Both need only what the test
is about; any field can be given by its name.

A watch that a test calls with a View is asked again of the same firing some days later by the clock, and has to
answer the same (``at_any_second``).
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from copy import copy
from dataclasses import asdict, replace
from functools import wraps
from inspect import isfunction, signature
from math import pi
from types import ModuleType
from typing import Any

import pytest

from daemon.firing.events import Part, Sample
from daemon.firing.kind import Finding, Reading
from daemon.firing.plan.plan import parse_plan
from daemon.firing.plan.schedule import PlannedPart, anneal_hold, planned_parts, top_hold
from daemon.firing.situation.view import View
from daemon.firing.trace.recent import Trail
from daemon.firing.tracking.offset import Offset
from daemon.glass.materials import FAMILIES

FUSE = """title = "Full fuse"
unit = "C"
step = [
    { rate = 220, to = 620 }, { rate = 50, to = 670, hold_min = 30 }, { rate = 250, to = 800, hold_min = 10 },
    { rate = "free", to = 516, hold_min = 60 }, { rate = 80, to = 461 }, { rate = 150, to = 406 },
]"""
"""Parts: 0 and 1 climb, 2 holds at 670 °C, 3 climbs, 4 is the top, 5 falls freely, 6 anneals, 7 and 8 cool."""
Pairs = Iterable[tuple[float, float]]
Run = tuple[int, float] | tuple[int, float, float]
"""A part of the plan as the kiln ran it: index, start [s], end [s]; the last one has no end where it still runs."""


def leg(from_c: float, to_c: float, minutes: float, *, from_s: float = 0.0, every_s: float = 5.0,
        ripple_k: float = 0.3) -> list[tuple[float, float]]:
    """Return readings (second, °C) along a straight line, with a ripple that no two neighbours share."""
    number = round(minutes * 60.0 / every_s)
    return [(from_s + every_s * i, from_c + (to_c - from_c) * i / number + ripple_k * _ripple(i))
            for i in range(number + 1)]


def _ripple(i: int) -> float:
    """Return a fixed sequence between −1 and 1 that looks like noise and needs no seed."""
    return 2.0 * ((i * i * pi + i * 0.618) % 1.0) - 1.0


def build_view(readings: Pairs, *, plan: str = FUSE, found: Sequence[Run] = (), glass: str = "90",
               **fields: Any) -> View:
    """Return the View after ``readings`` (second, °C), with the parts of ``plan`` that were ``found``.

    What is not given is as quiet as it can be: a probe that reads as the plan, little wander, nothing broken off.
    The follower is in the last part found.
    """
    known, trail = parse_plan(plan, "plan.toml"), Trail()
    pairs = list(readings)
    for t_s, temp_c in pairs:
        trail.offer(t_s, temp_c)
    parts, family, temps = planned_parts(known), FAMILIES[glass], [temp_c for _, temp_c in pairs]
    ran = tuple(_part(run, parts, trail) for run in found)
    return View(**{
        "t_s": pairs[-1][0], "temp_c": temps[-1], "trail": trail, "wander_k": 0.3, "plan": known, "parts": parts,
        "anneal": anneal_hold(parts, family), "top": top_hold(parts), "glass": family, "thickness_mm": 6.0,
        "faces": 1, "state": ran[-1].index + 1 if ran else 0, "found": ran, "offset_k": 0.0, "offset_known": True,
        "peak_c": max(temps), "resumed_s": pairs[0][0], "first_c": temps[0], "first_s": pairs[0][0],
        "offset_elsewhere_k": 0.0, "haze_s": 0.0, **fields})


def _part(run: Run, parts: tuple[PlannedPart, ...], trail: Trail) -> Part:
    planned, start_s = parts[run[0]], run[1]
    end_s = run[2] if len(run) > 2 else None
    line = trail.line(start_s, end_s)
    return Part(planned.index, planned.step, planned.part, start_s, end_s,
                rate_c_per_h=line.slope_c_per_s * 3600 if line else None, mean_c=line.mean_c if line else None)


def build_reading(t_s: float, temp_c: float | None, **fields: Any) -> Reading:
    """Return what a watch of every reading sees: one entry, and nothing else of note."""
    fault = fields.pop("fault", None if temp_c is not None else "open")
    nothing = Reading(Sample(t_s, temp_c, fault), Trail(), Offset((), {}, is_owner_sure=True), False)
    return nothing._replace(**fields)


LATER_S = 2.0**18
"""Three days [s]; of a power of two, so that the seconds of a test stay exact."""


def days_later(view: View) -> View:
    """Return the same firing as if it had begun LATER_S later by the clock."""
    def moment(seconds: float | None) -> float | None:
        return None if seconds is None else seconds + LATER_S

    trail = copy(view.trail)  # its sums are counted from its base
    trail.times = [t_s + LATER_S for t_s in trail.times]
    trail.unbroken_from_s += LATER_S
    trail._base_s += LATER_S
    found = tuple(replace(part, start_s=part.start_s + LATER_S, end_s=moment(part.end_s)) for part in view.found)
    segments = view.new_segments and tuple(
        replace(one, start_s=one.start_s + LATER_S, end_s=moment(one.end_s), until_s=one.until_s + LATER_S)
        for one in view.new_segments)
    broken = view.broken and replace(view.broken, t_s=view.broken.t_s + LATER_S, back_s=moment(view.broken.back_s))
    moments = ("t_s", "resumed_s", "first_s", "dropped_s", "vented_s", "fell_until_s")
    return replace(view, trail=trail, found=found, new_segments=segments, broken=broken,
                   **{name: moment(getattr(view, name)) for name in moments})


def assert_same(was: dict[str, Any], later: dict[str, Any]) -> None:
    """Check that facts are the same days later, but for the moments in them."""
    for name, value in was.items():
        if isinstance(value, dict):
            assert_same(value, later[name])
        elif isinstance(value, float):
            assert later[name] in (pytest.approx(value), pytest.approx(value + LATER_S, abs=1e-3)), name
        else:
            assert later[name] == value, name


def asked_twice(watch: Callable[[View], Finding[Any] | None]) -> Callable[[View], Finding[Any] | None]:
    """Return the watch, which then answers only where it answers the same of the firing days later."""
    @wraps(watch)
    def ask(view: View) -> Finding[Any] | None:
        found, later = watch(view), watch(days_later(view))
        if found is None or later is None:
            assert later is found
            return found
        assert (later.rank, later.step) == (found.rank, found.step)
        assert later.since_s - LATER_S == pytest.approx(found.since_s, abs=1e-3)
        assert_same(asdict(found.facts), asdict(later.facts))
        return found

    return ask


@pytest.fixture(autouse=True)
def at_any_second(request: pytest.FixtureRequest, monkeypatch: pytest.MonkeyPatch) -> None:
    """Ask the watches of the test's module twice: what they find must not hang on the second the clock began at."""
    module: ModuleType = request.module
    for name, watch in list(vars(module).items()):
        if isfunction(watch) and watch.__module__.startswith("daemon.firing.watches."):
            takes = list(signature(watch).parameters.values())
            if [one.annotation for one in takes] == ["View"]:
                monkeypatch.setattr(module, name, asked_twice(watch))


@pytest.fixture
def view_of() -> Callable[..., View]:
    """Return build_view."""
    return build_view


@pytest.fixture
def leg_of() -> Callable[..., list[tuple[float, float]]]:
    """Return leg."""
    return leg


@pytest.fixture
def reading_of() -> Callable[..., Reading]:
    """Return build_reading."""
    return build_reading
