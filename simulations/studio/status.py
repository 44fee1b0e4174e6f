"""The demonstration's live status: a progress bar on a terminal, now and then a line in a pipe."""

from __future__ import annotations

import sys
from collections.abc import Mapping
from typing import Any, TextIO

from tqdm import tqdm

_QUIET_S = 20.0
"""A line at least this often in a pipe [wall s]. [chosen: to show that it goes on]"""
_BAR = "{percentage:3.0f}% |{bar:16}| {desc}"
_SAYS = {"wake": "wake", "look": "when you're up", "log": "noted"}


class Status:
    """Says where the firing stands.

    Parameters
    ----------
    total_s
        How long the firing will take [s of firing].
    out
        Where to; a terminal gets the bar.
    """

    def __init__(self, total_s: float, out: TextIO | None = None) -> None:
        self._out = sys.stdout if out is None else out
        self._total_s = total_s
        self._bar: tqdm[Any] | None = None
        if self._out.isatty():
            self._bar = tqdm(total=round(total_s), bar_format=_BAR, file=self._out, dynamic_ncols=True, leave=False)
        self._last_part: Any = None
        self._told: dict[int, tuple[str, bool]] = {}
        self._said_s = -_QUIET_S

    def show(self, present: Mapping[str, Any], wall_s: float) -> None:
        """Show ``present`` (the state file's content) at ``wall_s`` of some steady clock [s]."""
        for alert in present["alerts"]:
            self._alert(alert)
        line = describe(present)
        if self._bar is not None:
            self._bar.set_description_str(line, refresh=False)
            self._bar.n = min(round(present["t_s"] or 0), round(self._total_s))
            self._bar.refresh()
            return
        part = present["part"] and (present["part"]["step"], present["part"]["part"])
        if part != self._last_part or wall_s - self._said_s >= _QUIET_S:
            self._last_part, self._said_s = part, wall_s
            self.say(line)

    def say(self, line: str) -> None:
        """Write a line that stays."""
        if self._bar is not None:
            self._bar.write(line, file=self._out)
        else:
            self._out.write(line + "\n")
            self._out.flush()

    def close(self) -> None:
        """Leave the terminal in order."""
        if self._bar is not None:
            self._bar.close()
            self._bar = None

    def _alert(self, alert: Mapping[str, Any]) -> None:
        """Say an alert that is new, has another rank, or is over."""
        now = (alert["rank"], alert["cleared_s"] is not None)
        if self._told.get(alert["no"]) == now:
            return
        first = alert["no"] not in self._told
        raised = first or self._told[alert["no"]][0] != now[0]
        self._told[alert["no"]] = now
        if raised:
            text = alert["text"]
            self.say(f"{_SAYS[alert['rank']]}: {text['what']} {text['meaning']} {text['do']}")
        elif now[1]:
            self.say(f"over: {alert['kind'].replace('-', ' ')}")


def describe(present: Mapping[str, Any]) -> str:
    """Return one line about the firing: its time, temperature, place in the plan and sentence."""
    t_s = present["t_s"] or 0
    temp = "no reading" if present["temp_c"] is None else f"{present['temp_c']:.0f} °C"
    part = present["part"]
    place = f", step {part['step']}, {part['part']}" if part else ""
    return f"{int(t_s // 3600):2d}:{int(t_s // 60 % 60):02d} h  {temp}{place}  {present['sentence']}"
