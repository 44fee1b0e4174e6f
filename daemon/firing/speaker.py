"""Who puts findings into words: the owner's unit, the load, and the lines that mend a firing.

What each kind of alert says stands in its own file in daemon/firing/watches. The advice is common practice of the
trade. Every text that asks for an act carries one of the cautions below; none of it makes the program a safety
device.
"""

from __future__ import annotations

from dataclasses import dataclass

from daemon.firing.recovery.recovery import Mender, Mending
from daemon.firing.recovery.recovery_text import key_in, keyed
from daemon.firing.units import Units

ELECTRIC = "Insulated gloves, dry hands; if anything smells or smokes, stay out and call for help."
LID = "Close it from outside with insulated gloves, hands never inside; an open lid may not cut the current."
ISOLATOR = ("Switch off at the isolator now; the controller's stop key may not do it, since contacts can weld. "
            "Don't open the kiln.")
CLOSED = "Leave the kiln closed; never open it hot to look."
OWN_DISPLAY = "Read the kiln's own display and judge the firing by it."
"""What to do while Lehrling cannot be believed."""
PROBE_OUTSIDE = ("Look at the probe's plug and wires outside the kiln only; don't touch the probe in a hot kiln. "
                 + ELECTRIC)


@dataclass(frozen=True, slots=True)
class Undone:
    """A planned part that was not done, and where the kiln is now."""

    index: int
    """The part's, from 0 (see daemon.firing.plan.schedule)."""
    held_s: float
    """How much of it was held, where it is a hold [s]."""
    here_c: float
    """Where the kiln is now, as its controller reads [°C]."""


class Speaker(Units):
    """Formats figures and gives the lines to key in, for one load in the unit its owner reads.

    Parameters
    ----------
    unit
        "C" or "F".
    thickness_mm
        Thickest piece of the load [mm].
    mender
        Knows what to key in when the firing broke off; None where there is no plan to go back to.
    """

    def __init__(self, unit: str, thickness_mm: float, mender: Mender | None = None) -> None:
        super().__init__(unit)
        self.thickness_mm = thickness_mm
        self._mender = mender

    def mending(self, undone: Undone | None, from_c: float | None = None, fell_k: float = 0.0) -> Mending | None:
        """Return what mends a firing that broke off in ``undone``; None where that is not known.

        Parameters
        ----------
        undone
            What was not done.
        from_c
            Where it broke off [°C].
        fell_k
            How far the kiln is above the lowest it has been since [K].
        """
        if self._mender is None or undone is None:
            return None
        return self._mender.mend(undone.index, undone.held_s, undone.here_c,
                                 lowest_c=undone.here_c - max(0.0, fell_k), from_c=from_c)

    def key_in(self, mending: Mending | None) -> str:
        """Return what to key in, as whole sentences."""
        if mending is None:
            return "Go on with the plan's step, slowly while the glass is brittle."
        return key_in(mending, self.temp, self.rate)

    def back_to_anneal(self, here_c: float) -> str:
        """Return how to go back to the anneal from ``here_c`` [°C], as the end of a sentence."""
        if self._mender is None:
            return "go back to the anneal hold, whole."
        return f"key in the anneal again: {keyed(self._mender.anneal_lines(here_c), self.temp, self.rate)}."

    def anneal_after_runaway(self) -> str:
        """Return what the glass still needs once a runaway is off, and that the kiln is not to be trusted."""
        needs = "" if self._mender is None else (
            f": {keyed(self._mender.anneal_lines(), self.temp, self.rate)}")
        return (f"Let it fall, closed. The glass still needs its anneal{needs}. Do that once a licensed electrician "
                "has looked at the kiln.")


def until_s(to_c: float | None, temp_c: float, fall_c_per_h: float) -> float | None:
    """Return how long the fall from ``temp_c`` to ``to_c`` takes [s]; None where it is not above it."""
    if not to_c or temp_c <= to_c:
        return None
    return (temp_c - to_c) / max(fall_c_per_h, 1.0) * 3600


def lower(sentence: str) -> str:
    """Return ``sentence`` to stand behind a colon."""
    return sentence[:1].lower() + sentence[1:]
