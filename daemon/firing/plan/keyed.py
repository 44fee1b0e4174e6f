"""What a plan says of itself where lines were keyed in on the way of its firing."""

from __future__ import annotations

from typing import Any, NamedTuple

from daemon.toml import finite

_KEYS = {"at_s", "step", "made_up", "left"}
MOST_PLANS = 2**63 - 1
"""The highest number a plan can have in the record. [chosen: SQLite's highest]"""

_WORTH_S = 60.0
"""So much of a part before its line was keyed in is told for itself [s]. [chosen: times are in minutes]"""


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
    left: int | None = None
    """The plan that was left for it, by its number in the record. None where that was not written down: then the
    whole firing is judged by this plan."""


def begun_before(keyed_in: KeyedIn | None, step: int, start_s: float) -> bool:
    """Return whether a part began before its line was keyed in: the plan that was in force then did not ask for it.

    So the kiln is followed through the lines from where it climbs again, which may be long before they were keyed in.

    Parameters
    ----------
    keyed_in
        What the plan says of itself; None where no lines were keyed in.
    step
        The part's step, from 1.
    start_s
        When the part began [s of firing].
    """
    return keyed_in is not None and step >= keyed_in.step and keyed_in.at_s - start_s >= _WORTH_S


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
    at_s, step, made_up, left = finite(value["at_s"]), value["step"], value.get("made_up", []), value.get("left")
    if at_s is None or not _is_number(step, steps) or not isinstance(made_up, list):
        return None
    if not all(_is_number(number, step - 1) for number in made_up):
        return None
    if left is not None and not _is_number(left, MOST_PLANS):
        return None
    return KeyedIn(at_s, step, tuple(made_up), left)


def _is_number(value: Any, most: int) -> bool:
    """Return whether a value is a whole number from 1 to ``most``."""
    return isinstance(value, int) and not isinstance(value, bool) and 1 <= value <= most
