"""What the breaking off of a firing means, and the act of keying in the lines that mend it, in words."""

from __future__ import annotations

from collections.abc import Callable

from daemon.firing.durations import minutes_of
from daemon.firing.recovery.recovery import PAST_MENDING_C, Mending, Place

Say = Callable[[float], str]
"""Puts a temperature [°C] into the owner's unit."""
STOP = "Stop the controller."
KEY_IN = "Key in these lines, then press start:"
_HAZE = "The way back can add haze."
_SLOWLY = "Reheat slowly, or it cracks."


def broke_off(mending: Mending, temp: Say) -> str:
    """Return where the firing broke off and what that means, in a few short sentences."""
    return _meaning(mending, temp) + (
        " The lines are longer or slower than the plan: this thickness needs it." if mending.is_gentler else "")


def _meaning(mending: Mending, temp: Say) -> str:
    to = temp(mending.to_c)
    # A kiln that is at its anneal need not be brought up slowly: its first line has no rate.
    slowly = f" {_SLOWLY}" if mending.lines and mending.lines[0].rate_c_per_h is not None else ""
    if mending.place is Place.CLIMB:
        where = f"in the hold at {to}" if mending.asked_s else f"on the climb to {to}"
        if mending.is_brittle:
            return f"It stopped {where}. The glass is brittle now. {_SLOWLY}"
        return f"It stopped {where}. Nothing is lost yet. {_HAZE}"
    if mending.place is Place.TOP:
        return f"It stopped at the top, {to}, after {minutes_of(mending.held_s, mending.asked_s)}. {_HAZE}"
    if mending.place is Place.ABOVE:
        return ("The top is done, the anneal is not. If the controller begins again, it goes to the top a second "
                "time.")
    if mending.place is Place.ANNEAL:
        return f"The anneal was cut short. If the glass cools now it may crack later.{slowly}"
    if mending.place is Place.COOLING:
        return f"It cooled too fast and has stress in it. It needs its anneal again.{slowly}"
    if mending.place is Place.COLD:
        return (f"The anneal is not done. Below about {temp(PAST_MENDING_C)} it is too cold to save tonight. "
                "The glass may crack days later, until it is annealed again.")
    return "The anneal is done. Only the end of the cooling was without power."


def wants_stop(mending: Mending) -> bool:
    """Return whether what the controller would do by itself harms the glass, so that it has to be stopped."""
    return mending.is_brittle or mending.place in (Place.ABOVE, Place.ANNEAL, Place.COOLING, Place.COLD)


def key_in(mending: Mending, temp: Say) -> str:
    """Return the act of keying in the mending's lines, now or another day; it ends with a colon where they follow.

    ``temp`` puts a temperature into the controller's unit.
    """
    if mending.place is Place.LATE:
        return "Nothing to mend. Leave the kiln off and closed, and let it cool."
    if mending.place is Place.COLD:
        return "Controller off, kiln closed. Another day, from cold, key in these lines:"
    if mending.place in (Place.CLIMB, Place.TOP) and mending.is_brittle:
        return f"Stop the controller: its step {mending.step} is too fast for brittle glass. {KEY_IN}"
    if mending.place is Place.CLIMB or mending.place is Place.TOP:
        goes_on = f"it {'holds at' if mending.asked_s else 'climbs to'} {temp(mending.to_c)}"
        return f"If {goes_on}, leave it. Else key in these lines, press start:"
    return f"{STOP} {KEY_IN}"


def key_in_stopped(mending: Mending, temp: Say) -> str:
    """Return the same act as ``key_in`` for a controller that an act before it has stopped."""
    return key_in(mending, temp) if mending.place in (Place.LATE, Place.COLD) else KEY_IN
