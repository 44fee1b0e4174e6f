"""Finding the probe that the settings name, and keeping at it where a running firing needs one."""

from __future__ import annotations

import logging
from collections.abc import Callable, Mapping
from contextlib import suppress
from importlib.metadata import entry_points
from typing import Any

from daemon.errors import BadInput
from daemon.fields import Fields
from hw.thermocouple import Fault, ProbeError, ProbeOpener, Reading, Thermocouple

LOG = logging.getLogger(__name__)
GROUP = "lehrling.probes"
NOT_WATCHED = "There is no probe, so the kiln is not watched."
RETRY_S = 10.0
"""Time between two tries to open a probe that is missing [s of the firing clock]. [chosen: soon against a firing,
seldom against the log]"""


def opener(kind: str) -> ProbeOpener:
    """Return the opener of a kind of probe.

    Raises
    ------
    BadInput
        Where no such probe is installed.
    """
    points = {point.name: point for point in entry_points(group=GROUP)}
    if kind not in points:
        raise BadInput("[probe] kind", f"{kind!r} is not installed.", f"Installed: {', '.join(sorted(points))}.")
    found: ProbeOpener = points[kind].load()
    return found


class _Checked(Exception):
    """The settings of a probe can be used."""


class _OnlyChecked(Fields):
    """Settings that are checked as an opener checks them, and end it before it opens anything."""

    def finish(self) -> None:
        """Raise every problem noted; where there is none, end the opener."""
        super().finish()
        raise _Checked


def check_probe(kind: str, settings: Mapping[str, Any]) -> None:
    """Check the settings of a probe by its opener, which reads them all before it opens anything.

    Raises
    ------
    BadInput
        Naming the setting that is wrong, and the remedy.
    """
    with suppress(_Checked):
        opener(kind)(_OnlyChecked(settings, "[probe] "), lambda: 0.0)


def open_probe(kind: str, settings: Mapping[str, Any], now_s: Callable[[], float], *,
               wrong: str = "", stubborn: bool = False) -> Thermocouple:
    """Open the probe.

    Parameters
    ----------
    kind, settings
        As ``[probe]`` names them.
    now_s
        The firing clock [s].
    wrong
        Why the owner's settings of it can't be used; empty where they can.
    stubborn
        Whether a probe that can't be opened now is waited for instead of refused, so that the page and the channels
        can say that nothing is watched.

    Raises
    ------
    BadInput
        Naming the setting or device that is wrong, and the remedy.
    """
    chosen = opener(kind)

    def attempt() -> Thermocouple:
        if wrong:
            where, colon, what = wrong.partition(": ")  # it names the setting itself
            raise BadInput(where, what) if colon else BadInput("[probe]", wrong)
        return chosen(Fields(settings, "[probe] "), now_s)

    try:
        return attempt()
    except (ProbeError, BadInput) as err:
        if not stubborn:
            raise err if isinstance(err, BadInput) else BadInput(f"probe {kind}", str(err)) from None
        LOG.error("The probe can't be opened: %s It is tried again every %.0f s.", err, RETRY_S)
        return StubbornProbe(kind, attempt, now_s, str(err))


class StubbornProbe:
    """Says ``silent`` until the probe it stands for can be opened, then hands every question on to it."""

    def __init__(self, name: str, attempt: Callable[[], Thermocouple], now_s: Callable[[], float], why: str) -> None:
        self._name = name
        self._attempt = attempt
        self._now_s = now_s
        self._next_s = now_s() + RETRY_S
        self._probe: Thermocouple | None = None
        self._why = why

    @property
    def name(self) -> str:
        """Return the kind of the probe that is waited for."""
        return self._name

    @property
    def trouble(self) -> list[str]:
        """Return why nothing is watched, in a list; an empty one once the probe is open."""
        return [] if self._probe is not None else [f"{NOT_WATCHED} {self._why}"]

    def read(self) -> Reading:
        """Return the probe's word, or that it is silent."""
        if self._probe is None and self._now_s() >= self._next_s:
            self._next_s = self._now_s() + RETRY_S
            try:
                self._probe = self._attempt()
                LOG.info("The probe is there.")
            except (ProbeError, BadInput, OSError) as err:
                self._why = str(err)
                return Reading(None, fault=Fault.SILENT, detail=self._why)
        if self._probe is None:
            return Reading(None, fault=Fault.SILENT, detail="the probe could not be opened")
        return self._probe.read()

    def close(self) -> None:
        """Let go of the probe."""
        if self._probe is not None:
            self._probe.close()
