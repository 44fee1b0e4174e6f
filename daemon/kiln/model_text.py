"""A learned kiln as text, as the record keeps it, and back."""

from __future__ import annotations

import json
from math import inf, isfinite
from typing import Any

from daemon.firing.energy.known_kiln import KnownKiln
from daemon.firing.energy.thermal import Thermal
from daemon.firing.verdict.slowing import KNOTS, Slowing
from daemon.kiln.kiln_model import Difference, KilnModel, PartKind


def as_text(model: KilnModel) -> str:
    """Return a kiln as JSON, under the names of its fields."""
    return json.dumps(model._asdict() | {
        "thermal": model.thermal._asdict(), "slows": model.slows.log_times,
        "differences": {kind.value: difference._asdict() for kind, difference in model.differences.items()},
        "for_watches": None if model.for_watches is None else _plain(model.for_watches)})


def from_text(text: str) -> KilnModel | None:
    """Return the kiln of a text; None where it is none of this program: then it is learned again."""
    try:
        kept = json.loads(text, parse_constant=_refused)
        found = KilnModel(**kept | {
            "thermal": Thermal(**kept["thermal"]), "slows": Slowing(tuple(kept["slows"])),
            "differences": {PartKind(kind): Difference(**each) for kind, each in kept["differences"].items()},
            "for_watches": None if kept.get("for_watches") is None else _known(kept["for_watches"])})
        figures = [*found.thermal, found.power_k_per_s, found.waits_s_per_k, found.starts_s, *found.slows.log_times,
                   *(value for each in found.differences.values() for value in each)]
        if not all(isfinite(value) for value in figures) or min(found.thermal) <= 0.0:
            return None
        if len(found.slows.log_times) != KNOTS:
            return None
    except (ValueError, TypeError, KeyError, AttributeError):
        return None
    return found


def known_as_text(known: KnownKiln) -> str:
    """Return what the watches were told, as JSON under the names of its fields."""
    return json.dumps(_plain(known))


def known_from_text(text: str) -> KnownKiln | None:
    """Return what the watches were told; None where the text is none of this program."""
    try:
        return _known(json.loads(text, parse_constant=_refused))
    except (ValueError, TypeError, KeyError, AttributeError):
        return None


def _plain(known: KnownKiln) -> dict[str, Any]:
    return known._asdict() | {"thermal": known.thermal._asdict()}


def _known(kept: dict[str, Any]) -> KnownKiln:
    """Return what the watches were told; ValueError where a figure is none."""
    found = KnownKiln(**kept | {"thermal": Thermal(**kept["thermal"])})
    figures = [*found.thermal, found.power_k_per_s, found.climb_off]
    if not all(isfinite(value) and value > 0.0 for value in figures) or not 0.0 <= found.waits_s_per_k < inf:
        raise ValueError("a figure of the known kiln is none")
    return found


def _refused(_: str) -> Any:
    raise ValueError
