"""A view made by hand, of a kiln that stands still."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import pytest

from daemon.firing.plan.plan import Plan
from daemon.firing.plan.schedule import anneal_hold, planned_parts, top_hold
from daemon.firing.situation.view import View
from daemon.firing.trace.recent import Trail
from daemon.glass.materials import FAMILIES


@pytest.fixture(scope="session")
def still() -> Callable[..., View]:
    """Return a function: the view of a kiln at 800 °C in a state of a plan, with little noise."""
    def build(plan: Plan, state: int, **changed: object) -> View:
        trail, parts, glass = Trail(), planned_parts(plan), FAMILIES["90"]
        for beat in range(60):
            trail.add(10.0 * beat, 800.0)
        trail.noise_k, trail.step_s = 0.2, 10.0
        return replace(View(
            t_s=600.0, temp_c=800.0, trail=trail, wander_k=0.5, plan=plan, parts=parts,
            anneal=anneal_hold(parts, glass), top=top_hold(parts), glass=glass, thickness_mm=6.0, faces=1,
            state=state, found=(), offset_k=0.0, offset_known=True, peak_c=800.0, resumed_s=0.0, first_c=20.0,
            first_s=0.0, offset_elsewhere_k=None, haze_s=0.0), **changed)
    return build
