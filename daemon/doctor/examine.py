"""The whole look over the box, in an order that a tired maker can follow. It sends, switches and changes nothing."""

from __future__ import annotations

import json
import logging
import os
import socket
import sqlite3
from collections.abc import Callable
from dataclasses import dataclass, replace
from datetime import datetime
from pathlib import Path
from typing import Any

from daemon.clock import Clock
from daemon.doctor import computer as machine
from daemon.doctor import reach, record
from daemon.doctor.computer import Computer
from daemon.doctor.elsewhere import PART, copy_elsewhere
from daemon.doctor.finding import Finding, State, found_in, good, mend, note
from daemon.doctor.places import Places, settings_in_use
from daemon.doctor.probe_part import probe_findings
from daemon.errors import BadInput
from daemon.installed import typed_in
from daemon.notify.trouble import Ailing
from daemon.service.control_socket import FILE_NAME as SOCKET_NAME
from daemon.service.state_reader import DaemonState, read_daemon_state
from daemon.store.stamps import moment, stamp

LOG = logging.getLogger(__name__)
KEPT_NAME = "doctor.json"
"""The last result, in the data folder."""
SPEAKS_S = 5.0
"""A daemon that was just started is waited for so long [s]. [chosen: its first word comes after the first reading]"""
_OWN_LINE = (Ailing.PROBE, Ailing.SOUNDER, Ailing.SETTINGS, Ailing.COPIES)
"""Parts that have a line of their own, where their trouble stands."""
_EACH_S = 0.25
"""Time between two looks whether it speaks [s]. [chosen: short against SPEAKS_S]"""


@dataclass(frozen=True)
class Result:
    """What a look over the box came to."""

    checked_utc: datetime
    findings: list[Finding]

    @property
    def is_good(self) -> bool:
        """Return whether nothing is to be mended."""
        return all(finding.state is not State.MEND for finding in self.findings)

    def as_json(self) -> dict[str, Any]:
        """Return it as ``lehrling doctor --json`` prints it."""
        return {"checked_utc": stamp(self.checked_utc), "good": self.is_good,
                "findings": [finding.as_json() for finding in self.findings]}


def examine(places: Places, clock: Clock, computer: Computer, *, may_open_probe: bool) -> Result:
    """Look over the box.

    Parameters
    ----------
    places
        Where things are.
    clock
        Wall time and a clock for what is bounded.
    computer
        Where the kernel tells of itself.
    may_open_probe
        Whether the probe may be opened where no daemon runs.
    """
    config, settings = settings_in_use(places)
    state, watch = _watch(places, clock)
    findings = [settings, watch]

    def add(part: str, look: Callable[[], Finding | list[Finding]]) -> None:
        try:
            found = look()
        except (OSError, ValueError, sqlite3.Error, BadInput) as err:
            found = note(part, f"It could not be looked at: {err}.")
        findings.extend(found if isinstance(found, list) else [found])

    add("probe", lambda: probe_findings(places, config, clock, computer, state, may_open=may_open_probe))
    add("sounder", lambda: reach.sounder(config, None if state is None else [
        trouble.text for trouble in state.troubles if trouble.ailing is Ailing.SOUNDER]))
    add("channels", lambda: reach.channels(config, places.record))
    add("sign of life", lambda: reach.sign_of_life(config))
    add("MQTT broker", lambda: reach.broker(config))
    add("page", lambda: reach.page(config, places.data / "passcode"))
    add("clock", lambda: machine.clock(computer, clock.utc(), is_set=clock.synchronised()))
    add("disk", lambda: machine.disk(computer, places.data))
    add("record", lambda: record.record(places.record))
    add("newest copy", lambda: record.newest_copy(places.record, clock.utc(), clock.now_s))
    add(PART, lambda: copy_elsewhere(places.data, config.copies, clock.utc()))
    add("versions", machine.versions)
    return Result(clock.utc(), [replace(one, said=typed_in(one.said, places.data), do=typed_in(one.do, places.data))
                                for one in findings])


def _watch(places: Places, clock: Clock) -> tuple[DaemonState | None, Finding]:
    """Return what a daemon that watches said last, and whether one does; None where none does."""
    state = watching(places, clock)
    if state is None:
        return None, mend("watch", "Nobody watches the kiln just now.", "sudo systemctl restart lehrling-daemon. If "
                          "that does not help, read why: journalctl -u lehrling-daemon -n 20")
    told = [trouble.text for trouble in state.troubles if trouble.ailing not in _OWN_LINE]
    if told:
        return state, mend("watch", " ".join(told), "The watch goes on. The page says what to do first.")
    if any(trouble.ailing is Ailing.PROBE for trouble in state.troubles):
        return state, note("watch", "The daemon runs, and waits for a probe.")
    return state, good("watch", "The daemon watches." + (
        "" if state.number("t_s") is None else " A firing is open."))


def watching(places: Places, clock: Clock) -> DaemonState | None:
    """Return what a daemon that watches said last, waiting some seconds for one that was just started; else None."""
    until_s = clock.now_s() + SPEAKS_S
    state = read_daemon_state(places.run, clock.utc())
    while (state is None or state.stale) and _answers(places.run / SOCKET_NAME) and clock.now_s() < until_s:
        clock.sleep_until(clock.now_s() + _EACH_S)
        state = read_daemon_state(places.run, clock.utc())
    return None if state is None or state.stale else state


def _answers(path: Path) -> bool:
    """Return whether a daemon listens at its socket."""
    try:
        with socket.socket(socket.AF_UNIX) as line:
            line.settimeout(1.0)
            line.connect(str(path))
    except OSError:
        return False
    return True


def keep(result: Result, data: Path) -> None:
    """Keep a result for the page, where this user owns the folder and the disk takes it."""
    part = data / (KEPT_NAME + ".part")
    try:
        if data.stat().st_uid != os.geteuid():
            return
        part.write_text(json.dumps(result.as_json(), ensure_ascii=False), encoding="utf-8")
        os.replace(part, data / KEPT_NAME)
    except OSError as err:
        LOG.warning("The result can't be kept: %s.", err.strerror)


def kept(data: Path) -> Result | None:
    """Return the last result that was kept; None where there is none that makes sense."""
    try:
        said = json.loads((data / KEPT_NAME).read_text(encoding="utf-8"))
        return Result(moment(said["checked_utc"]), found_in(said))
    except (OSError, ValueError, KeyError, TypeError):
        return None
