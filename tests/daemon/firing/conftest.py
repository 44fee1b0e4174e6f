"""Readings made by hand, without noise, for tests of a single rule."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import replace
from functools import cache
from itertools import pairwise

import pytest

from daemon.firing.plan.plan import Plan, Step
from daemon.firing.plan.schedule import anneal_hold, planned_parts, top_hold
from daemon.firing.situation.view import View
from daemon.firing.trace.recent import Trail
from daemon.glass.materials import FAMILIES
from daemon.regression import Line, RunningSums

FUSE = Plan("Fuse", "C", (
    Step(300.0, 600.0, 1800.0, "squeeze"), Step(300.0, 800.0, 600.0, "top"), Step(None, 516.0, 3600.0, "anneal"),
    Step(60.0, 400.0), Step(None, 50.0)))
"""Parts by index: 0 climb to 600, 1 squeeze, 2 climb to 800, 3 top, 4 free fall, 5 anneal, 6 cooling, 7 off."""


parts_of = cache(planned_parts)
"""A firing has one set of planned parts, which its views share."""


def line_of(curve: Callable[[float], float], t_s: float) -> Line:
    """Return the line through the last three minutes of ``curve``, a function of the second."""
    sums = RunningSums(7200.0)
    for second in range(int(t_s) - 180, int(t_s) + 1, 20):
        sums.add(float(second), curve(float(second)))
    line = sums.line_between(0, len(sums.times))
    assert line is not None
    return line


@pytest.fixture(scope="session")
def along() -> Callable[..., list[tuple[float, float]]]:
    """Return a function: readings (s, °C) every ``every_s`` on straight lines between corners, both ends included."""

    def readings(*corners: tuple[float, float], every_s: float = 10.0) -> list[tuple[float, float]]:
        found = []
        for (t0, c0), (t1, c1) in pairwise(corners):
            count = round((t1 - t0) / every_s)
            found += [(t0 + every_s * i, c0 + (c1 - c0) * i / count) for i in range(count)]
        return [*found, corners[-1]]

    return readings


@pytest.fixture(scope="session")
def trail_of() -> Callable[..., Trail]:
    """Return a function: a trail of these readings (s, °C) exactly, with the noise [K] and step [s] given."""

    def build(readings: Iterable[tuple[float, float]], noise: float = 0.1, step_s: float = 10.0) -> Trail:
        trail = Trail()
        for t_s, temp_c in readings:
            trail.add(t_s, temp_c)
        trail.noise_k, trail.step_s = noise, step_s
        return trail

    return build


@pytest.fixture(scope="session")
def view_of(trail_of) -> Callable[..., View]:
    """Return a function: the view at the last of these readings (s, °C), in FUSE unless another plan is given."""

    def build(readings: Iterable[tuple[float, float]], state: int, plan: Plan = FUSE, **changed) -> View:
        trail, parts = trail_of(readings), parts_of(plan)
        glass = FAMILIES["90"]
        view = View(
            t_s=trail.times[-1], temp_c=trail.temps[-1], trail=trail, wander_k=0.5, plan=plan, parts=parts,
            anneal=anneal_hold(parts, glass), top=top_hold(parts), glass=glass, thickness_mm=6.0, faces=1,
            state=state, found=(), offset_k=0.0, offset_known=True, peak_c=max(trail.temps), resumed_s=0.0,
            first_c=trail.temps[0], first_s=trail.times[0], offset_elsewhere_k=None, haze_s=0.0)
        return replace(view, **changed)

    return build
