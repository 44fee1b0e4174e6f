"""Temperatures, differences and rates as text, in the unit the owner reads."""

from __future__ import annotations

from daemon.firing.plan.plan import rate_to_unit, to_unit

NO_SAFETY_DEVICE = "This is a helper, not a safety device."


class Units:
    """Formats figures in one unit.

    Parameters
    ----------
    unit
        "C" or "F".
    """

    def __init__(self, unit: str) -> None:
        self._unit = unit

    def temp(self, temp_c: float) -> str:
        """Return a temperature [°C] in the owner's unit, to the degree."""
        return f"{round(to_unit(temp_c, self._unit))} °{self._unit}"

    def difference(self, kelvin: float) -> str:
        """Return a difference [K] in the owner's unit, to the degree."""
        return f"{rate_to_unit(kelvin, self._unit):.0f} °{self._unit}"

    def between(self, one_c: float, other_c: float) -> str:
        """Return the difference of two temperatures [°C] as they are shown, so that the reader's sum is right."""
        shown = abs(round(to_unit(one_c, self._unit)) - round(to_unit(other_c, self._unit)))
        return f"{shown} °{self._unit}"

    def rate(self, rate_c_per_h: float) -> str:
        """Return a rate [°C/h] in the owner's unit, unsigned."""
        return f"{abs(rate_to_unit(rate_c_per_h, self._unit)):.0f} °{self._unit}/h"
