"""When the sounder and the lamp at the kiln are on, second by second, by the alerts that are active."""

from __future__ import annotations

import logging
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from importlib.metadata import entry_points
from typing import Any

from daemon.errors import BadInput
from daemon.fields import Fields
from daemon.firing.alerts.registry import RUNAWAY
from daemon.firing.events import Alert, Rank
from hw.sounder import Sounder, SounderError, SounderOpener

LOG = logging.getLogger(__name__)
GROUP = "lehrling.sounders"
HOT_C = 100.0
"""Trouble of Lehrling itself sounds while the kiln is at least this hot [°C]. [chosen: a cooler kiln has little to
lose by morning]"""
_AGAIN_AFTER = 60
"""Seconds between two tries to open a sounder that could not be opened. [chosen: seldom against the log]"""
TRIAL_S = 8
"""A trial sounds for so long [s]. [chosen: twice the pattern of an alert that must wake]"""
_WAKE = (True, True, False, False)
_RUNAWAY = (True, True, True, False)
_TROUBLE = (True, *([False] * 59))
"""On and off by the second: long and even, so that nobody takes it for the three short pulses that mean fire
(ISO 8201, from memory)."""


@dataclass(frozen=True)
class Call:
    """What the sounder and the lamp shall do."""

    sound: bool
    lamp: bool


def call(t_s: int, alerts: Iterable[Alert], now_s: float, *, troubled: bool, hot: bool, tried: bool = False) -> Call:
    """Return what sounder and lamp do in this second.

    Parameters
    ----------
    t_s
        Counts seconds, for the pattern.
    alerts
        Every alert of the open firing.
    now_s
        Second of the firing.
    troubled
        Whether record or delivery are in trouble.
    hot
        Whether the kiln is.
    tried
        Whether the owner tries it: it then sounds as for an alert that must wake.
    """
    standing = [alert for alert in alerts if alert.cleared_s is None and alert.rank is not Rank.LOG]
    loud = [alert for alert in standing if alert.rank is Rank.WAKE and not _is_quiet(alert, now_s)]
    pattern: tuple[bool, ...] = ()
    if any(alert.kind == RUNAWAY for alert in loud):
        pattern = _RUNAWAY
    elif loud or tried:
        pattern = _WAKE
    elif troubled and hot:
        pattern = _TROUBLE
    return Call(bool(pattern) and pattern[t_s % len(pattern)], bool(standing) or tried or (troubled and hot))


def _is_quiet(alert: Alert, now_s: float) -> bool:
    return alert.kind != RUNAWAY and alert.quiet_until_s is not None and now_s < alert.quiet_until_s


_MISSING = "There is no sounder at the kiln. {} It is tried again every minute."


class KilnAlarm:
    """Switches the sounder; a failure is reported and does not stop the watch.

    Parameters
    ----------
    sounder
        None where there is none.
    trouble
        Why there is none, where one is set.
    attempt
        Opens it, where it could not be opened; raises BadInput where it still can't be.
    """

    def __init__(self, sounder: Sounder | None, trouble: str | None = None,
                 attempt: Callable[[], Sounder] | None = None) -> None:
        self._sounder = sounder
        self._attempt = attempt
        self._waited = 0
        self._shown: Call | None = None
        self._tried_until_s = 0.0
        self.trouble = [] if trouble is None else [trouble]

    def try_out(self, clock_s: float) -> None:
        """Have it sound from ``clock_s`` of the firing clock on, for TRIAL_S.

        Raises
        ------
        BadInput
            Where there is none, or it can't be switched.
        """
        if self._sounder is None:
            raise BadInput("sounder", self.trouble[0] if self.trouble else "none is set at the kiln.")
        self._shown = None  # it is switched though nothing changes, to see whether it can be
        self.ring(Call(sound=True, lamp=True))
        if self.trouble:
            raise BadInput("sounder", self.trouble[0])
        self._tried_until_s = clock_s + TRIAL_S

    def is_tried(self, clock_s: float) -> bool:
        """Return whether the owner tries it at ``clock_s`` of the firing clock [s]."""
        return clock_s < self._tried_until_s

    def ring(self, wanted: Call) -> None:
        """Switch where something changes; asked every second."""
        if self._sounder is None and self._attempt is not None:
            self._try_again(self._attempt)
        if self._sounder is None or wanted == self._shown:
            return
        try:
            self._sounder.show(sound=wanted.sound, lamp=wanted.lamp)
        except OSError as err:
            if not self.trouble:
                LOG.error("The sounder can't be switched: %s.", err)
            self.trouble = [f"The sounder at the kiln can't be switched ({err}). It will not wake you."]
            return
        self._shown, self.trouble = wanted, []

    def _try_again(self, attempt: Callable[[], Sounder]) -> None:
        """Open a sounder that could not be opened before, once in a while."""
        self._waited += 1
        if self._waited % _AGAIN_AFTER:
            return
        try:
            self._sounder, self.trouble = attempt(), []
            LOG.info("The sounder is there.")
        except BadInput as err:
            self.trouble = [_MISSING.format(err.text)]

    def close(self) -> None:
        """Switch off."""
        if self._sounder is not None:
            try:
                self._sounder.close()
            except OSError as err:
                LOG.error("The sounder can't be switched off: %s.", err)


def open_kiln_alarm(settings: Mapping[str, Any] | None) -> KilnAlarm:
    """Return the alarm that the settings describe; one without a sounder where none is named or it can't be used.

    A sounder that can't be used is in the alarm's ``trouble``: the kiln is watched without it.
    """
    if settings is None:
        return KilnAlarm(None)
    try:
        return KilnAlarm(_open_sounder(settings))
    except BadInput as err:
        LOG.error("The kiln is watched without a sounder. %s", err.text)
        return KilnAlarm(None, _MISSING.format(err.text), lambda: _open_sounder(settings))


def _open_sounder(settings: Mapping[str, Any]) -> Sounder:
    """Return the sounder that the settings describe.

    Raises
    ------
    BadInput
        Naming what is wrong and the remedy.
    """
    kind = str(settings["kind"])
    points = {point.name: point for point in entry_points(group=GROUP)}
    if kind not in points:
        raise BadInput("[sounder] kind", f"{kind!r} is not installed.", f"Installed: {', '.join(sorted(points))}.")
    opener: SounderOpener = points[kind].load()
    try:
        return opener(Fields({key: settings[key] for key in settings if key != "kind"}, "[sounder] "))
    except SounderError as err:
        raise BadInput("[sounder]", err.problem, err.remedy) from None
    except (ImportError, OSError, RuntimeError) as err:
        raise BadInput("[sounder]", f"it can't be opened ({err}).", "Is it wired as docs/install.md says?") from None
