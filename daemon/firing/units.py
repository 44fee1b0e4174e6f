"""Temperatures, differences, rates and lines to key in as text in one unit: the one owner of how they look."""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

from daemon.firing.durations import whole_minutes
from daemon.firing.events import Line
from daemon.firing.plan.plan import rate_to_unit, to_unit

NO_SAFETY_DEVICE = "This is a helper, not a safety device."
OFF_BELOW_C = 100.0
"""A free fall to less than this, at the end, is the power off [°C]. [chosen: no rate is keyed in for so cool]"""
_FREE, _FREE_SAID = "fastest", "as fast as it goes"
"""What is keyed in for a step without a rate: in a narrow table, and in a sentence."""

_ABOUT_K = 10.0
"""Two temperatures no further apart are told as one [K]. [chosen: as near as a target is told]"""
_SLOW = 10.0
"""A rate below this is keyed in to two figures [degrees an hour]. [chosen: rounded to the degree it would be off by
more than a twentieth]"""
_VERY_SLOW = 2.0
"""A rate below this is said to two figures [degrees an hour]. [chosen: to the degree it would be off by a quarter, or
nothing]"""


def percent(share: float) -> str:
    """Return a share, 0 to 1, in whole per cent: ``12 %``; the page keeps figure and sign on one line."""
    return f"{100 * share:.0f} %"


class LineWords(NamedTuple):
    """One line to key in as a row of a list; the last may be only ``off``."""

    rate: str
    to: str = ""
    hold: str = ""
    way: str = ""
    """Whether the kiln goes ``up`` or ``down`` by it; empty where it stays, or where that is not known."""

    @property
    def arrow(self) -> str:
        """Return the way as an arrow; empty where there is none."""
        return {"up": "↑", "down": "↓"}.get(self.way, "")


class Units:
    """Formats figures in one unit.

    Parameters
    ----------
    unit
        "C" or "F".
    """

    def __init__(self, unit: str) -> None:
        self.unit = unit

    def bare(self, temp_c: float) -> str:
        """Return a temperature [°C] as a whole number without its unit; never a zero with a sign."""
        return str(round(to_unit(temp_c, self.unit)))

    def temp(self, temp_c: float) -> str:
        """Return a temperature [°C] in the owner's unit, to the degree."""
        return f"{self.bare(temp_c)} °{self.unit}"

    def about(self, low_c: float, high_c: float) -> str:
        """Return where something lies that is only known to lie between two temperatures [°C], the first lower."""
        if high_c - low_c < _ABOUT_K:
            return f"about {self.temp((low_c + high_c) / 2)}"
        return f"{self.bare(low_c)} to {self.temp(high_c)}"

    def difference(self, kelvin: float) -> str:
        """Return a difference [K] in the owner's unit, to the degree."""
        return f"{round(rate_to_unit(kelvin, self.unit))} °{self.unit}"

    def between(self, one_c: float, other_c: float) -> str:
        """Return the difference of two temperatures [°C] as they are shown, so that the reader's sum is right."""
        shown = abs(round(to_unit(one_c, self.unit)) - round(to_unit(other_c, self.unit)))
        return f"{shown} °{self.unit}"

    def rate(self, rate_c_per_h: float) -> str:
        """Return a rate [°C/h] in the owner's unit, unsigned, to the degree; a very slow one to two figures."""
        value = abs(rate_to_unit(rate_c_per_h, self.unit))
        figure = f"{value:.0f}" if value >= _VERY_SLOW else f"{round(float(f'{value:.2g}'), 2):g}"
        return f"{figure} °{self.unit}/h"

    def rate_between(self, one_c_per_h: float, other_c_per_h: float) -> str:
        """Return the difference of two rates [°C/h] as they are shown, so that the reader's sum is right."""
        one, other = (round(abs(rate_to_unit(rate, self.unit))) for rate in (one_c_per_h, other_c_per_h))
        return f"{abs(one - other)} °{self.unit}/h"

    def retold(self, text: str, temp_c: float | None) -> str:
        """Return ``text``, which names the temperature ``temp_c`` [°C] in one unit or the other, in this one."""
        if temp_c is None:
            return text
        other = Units("C" if self.unit == "F" else "F")
        return text.replace(other.temp(temp_c), self.temp(temp_c))

    def lines(self, lines: Sequence[Line], from_c: float | None = None) -> tuple[LineWords, ...]:
        """Return the lines to key in as rows: how fast, where to, how long to stay; the end may be ``off``.

        With ``from_c``, where the kiln is at the first line [°C], that line too has its way, up or down.
        """
        before = (from_c, *(line.to_c for line in lines))
        return tuple(self._line(line, was_c, is_last=line is lines[-1])
                     for was_c, line in zip(before, lines, strict=False))

    def listed(self, lines: Sequence[Line], from_c: float | None) -> list[str]:
        """Return the lines to key in, each as a row of a list in a message: its way as an arrow, then as in rows."""
        return [f"{words.arrow} {row}".lstrip()
                for words, row in zip(self.lines(lines, from_c), self.rows(lines), strict=True)]

    def rows(self, lines: Sequence[Line]) -> list[str]:
        """Return the lines to key in, each as one row of text: ``150 °C/h to 516 °C, hold 60 min``."""
        return [(_FREE_SAID if row.rate == _FREE else row.rate) + (f" to {row.to}" if row.to else "")
                + (f", hold {row.hold}" if row.hold else "") for row in self.lines(lines)]

    def _line(self, line: Line, from_c: float | None, *, is_last: bool) -> LineWords:
        if line.rate_c_per_h is None and line.to_c < OFF_BELOW_C and not line.hold_s and is_last:
            return LineWords("off")
        rate = _FREE if line.rate_c_per_h is None else self._keyed_rate(line.rate_c_per_h)
        hold = whole_minutes(line.hold_s) if line.hold_s else ""
        return LineWords(rate, self.temp(line.to_c), hold, self._way(from_c, line.to_c))

    def _way(self, from_c: float | None, to_c: float) -> str:
        """Return ``up`` or ``down`` where the two are shown as different temperatures."""
        if from_c is None or self.bare(from_c) == self.bare(to_c):
            return ""
        return "up" if to_c > from_c else "down"

    def _keyed_rate(self, rate_c_per_h: float) -> str:
        """Return a rate to key in; a slow one with its tenth, which is much of it."""
        value = rate_to_unit(rate_c_per_h, self.unit)
        return f"{value:.2g} °{self.unit}/h" if value < _SLOW else self.rate(rate_c_per_h)

    def keyed_rate_c_per_h(self, rate_c_per_h: float) -> float:
        """Return a rate [°C/h] as it is after it was keyed in, rounded in this unit."""
        keyed = float(self._keyed_rate(rate_c_per_h).split(" ", 1)[0])
        return keyed * 5 / 9 if self.unit == "F" else keyed

    def keyed(self, lines: Sequence[Line]) -> str:
        """Return the lines to key in one after another, as the end of a sentence, without a full stop."""
        return "; then ".join(self.rows(lines))
