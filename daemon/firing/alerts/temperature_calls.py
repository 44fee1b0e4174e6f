"""Calls the maker asked for: "call me at 640", climbing or falling; slumps and tacks are judged by eye."""

from __future__ import annotations

from daemon.firing.events import Call, Milestone, Said
from daemon.firing.units import Units

MOST = 8
"""Calls that wait at once; the oldest gives way. [chosen: bounds the memory]"""
_READINGS = 2
"""So many readings in a row at the temperature or past it call. [derived: a spike of one reading calls nobody]"""


class Calls:
    """The calls that wait; each is made once."""

    def __init__(self, wording: Units) -> None:
        self._wording = wording
        self._waiting: list[Call] = []
        self._past: dict[Call, int] = {}

    @property
    def waiting(self) -> tuple[Call, ...]:
        """Return the calls that have not been made yet, the one asked first at the front."""
        return tuple(self._waiting)

    def ask(self, said: Said, temp_c: float | None) -> None:
        """Take a wish to be called: climbing where the kiln is below it now, else falling."""
        if said.temp_c is None:
            return
        call = Call(said.temp_c, rising=temp_c is None or temp_c < said.temp_c)
        self._waiting = [*(one for one in self._waiting if one.temp_c != call.temp_c), call][-MOST:]

    def drop(self, said: Said) -> None:
        """Take a wish back; without a temperature all of them."""
        self._waiting = [] if said.temp_c is None else [c for c in self._waiting if c.temp_c != said.temp_c]

    def see(self, t_s: float, temp_c: float) -> list[Milestone]:
        """Return the calls to be made at this reading [s, °C]."""
        if not self._waiting:
            return []
        due: list[Milestone] = []
        for call in self.waiting:
            past = temp_c >= call.temp_c if call.rising else temp_c <= call.temp_c
            self._past[call] = self._past.get(call, 0) + 1 if past else 0
            if self._past[call] >= _READINGS:
                self._waiting.remove(call)
                del self._past[call]
                due.append(Milestone(
                    t_s, f"call-{call.temp_c:.0f}",
                    f"{self._wording.temp(call.temp_c)}, {'climbing' if call.rising else 'falling'}: "
                    "you asked to be called. Look in only briefly, protected, and never reach in: with the lid "
                    "open the elements may still be live.", temp_c=call.temp_c))
        return due
