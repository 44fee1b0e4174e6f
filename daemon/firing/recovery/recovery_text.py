"""The lines that mend a firing, and what its breaking off means, in words."""

from __future__ import annotations

from collections.abc import Callable

from daemon.firing.durations import minutes_of, whole_minutes
from daemon.firing.recovery.recovery import OFF_BELOW_C, PAST_MENDING_C, Line, Mending, Place

Say = Callable[[float], str]
"""Puts a temperature [°C] or a rate [°C/h] into the owner's unit."""


def keyed(lines: tuple[Line, ...], temp: Say, rate: Say) -> str:
    """Return ``lines`` as they are keyed in, one after another, without a full stop."""
    said = []
    for number, line in enumerate(lines):
        if line.rate_c_per_h is None and line.to_c < OFF_BELOW_C and not line.hold_s and number == len(lines) - 1:
            said.append("off")
            continue
        pace = "as fast as it goes to" if line.rate_c_per_h is None else f"{rate(line.rate_c_per_h)} to"
        hold = f", hold {whole_minutes(line.hold_s)}" if line.hold_s else ""
        said.append(f"{pace} {temp(line.to_c)}{hold}")
    return "; then ".join(said)


def broke_off(mending: Mending, temp: Say) -> str:
    """Return where the firing broke off and what that means, in one or two sentences."""
    to = temp(mending.to_c)
    if mending.place is Place.CLIMB:
        where = f"in the hold at {to}" if mending.asked_s else f"on the climb to {to}"
        if mending.is_brittle:
            return f"It broke off {where}, and is brittle by now: climb slowly, or it cracks. Haze time counts again."
        return f"It broke off {where}: nothing is lost yet, but time where haze forms counts again."
    if mending.place is Place.TOP:
        held = minutes_of(mending.held_s, mending.asked_s)
        return f"It broke off at the top, {to}, after {held}. Time where haze forms counts again."
    if mending.place is Place.ABOVE:
        return "The top is done, the anneal is not. Fired again from its first step, the top is done twice."
    if mending.place is Place.ANNEAL:
        return ("The anneal hold is not whole; cooled from here, its stress stays in the glass. Heated too fast, it "
                "cracks.")
    if mending.place is Place.COOLING:
        return ("It cooled too fast where stress is frozen in: the anneal has to be done again. Heated too fast, it "
                "cracks.")
    if mending.place is Place.COLD:
        return (f"The glass may not be annealed, and below about {temp(PAST_MENDING_C)} this night mends nothing. "
                "It may crack days later: it is not done until it is annealed again.")
    return "The anneal is behind it; only the end of the cooling was without power."


def key_in(mending: Mending, temp: Say, rate: Say) -> str:
    """Return what to key in now, or another day, as whole sentences."""
    if mending.place is Place.LATE:
        return "Nothing to mend: leave it off and closed, and let it cool."
    lines = keyed(mending.lines, temp, rate)
    if mending.is_gentler:
        lines += " (longer or slower than the plan, as this thickness asks)"
    if mending.place is Place.COLD:
        return f"Controller off, kiln closed. Another day, from cold, key in: {lines}."
    if mending.place in (Place.CLIMB, Place.TOP) and mending.is_brittle:
        return (f"Don't let the controller go on with step {mending.step} by itself: the glass is brittle here, and "
                f"that is too fast for one plate. Stop it and key in: {lines}.")
    if mending.place is Place.CLIMB or mending.place is Place.TOP:
        return f"If the controller goes on with step {mending.step} by itself, leave it; if not, key in: {lines}."
    return f"Stop what the controller runs and key in: {lines}."
