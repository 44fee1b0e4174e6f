"""A learned kiln as text, as the record keeps it, and back."""

from __future__ import annotations

import json
from math import isfinite
from typing import Any

from daemon.firing.energy.thermal import Thermal
from daemon.firing.verdict.slowing import KNOTS, Slowing
from daemon.kiln.kiln_model import Difference, KilnModel, PartKind


def as_text(model: KilnModel) -> str:
    """Return a kiln as JSON, under the names of its fields."""
    return json.dumps(model._asdict() | {
        "thermal": model.thermal._asdict(), "slows": model.slows.log_times,
        "differences": {kind.value: difference._asdict() for kind, difference in model.differences.items()}})


def from_text(text: str) -> KilnModel | None:
    """Return the kiln of a text; None where it is none of this program: then it is learned again."""
    try:
        kept = json.loads(text, parse_constant=_refused)
        found = KilnModel(**kept | {
            "thermal": Thermal(**kept["thermal"]), "slows": Slowing(tuple(kept["slows"])),
            "differences": {PartKind(kind): Difference(**each) for kind, each in kept["differences"].items()}})
        figures = [*found.thermal, found.power_k_per_s, found.waits_s_per_k, found.starts_s, *found.slows.log_times,
                   *(value for each in found.differences.values() for value in each)]
        if not all(isfinite(value) for value in figures) or min(found.thermal) <= 0.0:
            return None
        if len(found.slows.log_times) != KNOTS:
            return None
    except (ValueError, TypeError, KeyError, AttributeError):
        return None
    return found


def _refused(_: str) -> Any:
    raise ValueError
