"""Sounding the sounder at the kiln once, from a command or the page: the daemon has its pins, and is asked."""

from __future__ import annotations

from pathlib import Path

from daemon.errors import BadInput
from daemon.service.control_socket import FILE_NAME as SOCKET_NAME
from daemon.service.socket_call import call

KIND = "sounder-trial"
"""The kind of such a request. It comes by the socket alone: sounded later, it would only frighten."""


def try_sounder(run_dir: Path) -> None:
    """Let the daemon sound and light what is at the kiln, for ``TRIAL_S`` of ``daemon.service.kiln_alarm``.

    Parameters
    ----------
    run_dir
        Where the daemon's socket is.

    Raises
    ------
    BadInput
        Why it does not sound.
    """
    outcome = call(run_dir / SOCKET_NAME, KIND, {})
    if outcome is None:
        raise BadInput("sounder", "not tried: lehrling daemon, which has its pins, does not run here.",
                       "Start it, then try again.")
    if outcome == "waiting":
        raise BadInput("sounder", "not tried: lehrling daemon is busy and has not answered.",
                       "Try again in a minute.")
    if outcome != "done":
        raise BadInput("sounder", outcome.removeprefix("refused: ").removeprefix("sounder: "))
