"""What a plan says of itself where lines were keyed in on the way of its firing."""

from __future__ import annotations

from typing import Any, NamedTuple

from daemon.toml import finite

_KEYS = {"at_s", "step", "made_up"}


class KeyedIn(NamedTuple):
    """When lines were keyed in, and which steps are they."""

    at_s: float
    """Second of the firing."""
    step: int
    """The first step that was keyed in, from 1; all after it were as well."""
    made_up: tuple[int, ...] = ()
    """The steps before that which nobody planned, from 1: what broke off as far as it went, and the fall after it.

    They stand in the plan so that it can be followed from its beginning. Nothing is asked there.
    """


def read_keyed_in(value: Any, steps: int) -> KeyedIn | None:
    """Return what a plan's key ``keyed_in`` says; None where it is nothing of the kind.

    Parameters
    ----------
    value
        The value as read.
    steps
        How many steps the plan has.
    """
    if not isinstance(value, dict) or not {"at_s", "step"} <= set(value) <= _KEYS:
        return None
    at_s, step, made_up = finite(value["at_s"]), value["step"], value.get("made_up", [])
    if at_s is None or not _is_step(step, steps) or not isinstance(made_up, list):
        return None
    if not all(_is_step(number, step - 1) for number in made_up):
        return None
    return KeyedIn(at_s, step, tuple(made_up))


def _is_step(value: Any, most: int) -> bool:
    """Return whether a value is the number of a step, from 1 to ``most``."""
    return isinstance(value, int) and not isinstance(value, bool) and 1 <= value <= most
