"""Changing settings from outside the daemon: by way of it where it runs, else in the file itself."""

from __future__ import annotations

from pathlib import Path

from daemon.clock import Clock, SystemClock
from daemon.errors import BadInput
from daemon.service.control_socket import FILE_NAME as SOCKET_NAME
from daemon.service.settings_desk import KIND, check_settings
from daemon.service.socket_call import call
from daemon.service.state_reader import STALE_S, read_daemon_state
from daemon.settings.change import Changes, change

_LOOK_S = 0.25
"""Time between two tries to reach a daemon that starts afresh [s]. [chosen: short against its start]"""


def ask_settings(file: Path, run_dir: Path, changes: Changes, clock: Clock | None = None) -> bool:
    """Change settings; return whether a running daemon did it, which works with them at once.

    Parameters
    ----------
    file
        The settings file.
    run_dir
        Where the daemon's socket is.
    changes
        As ``change`` takes them.
    clock
        The computer's own where left out.

    Raises
    ------
    BadInput
        Saying what can't be used and the remedy; nothing is changed then.
    """
    payload = {"file": str(file.resolve()), "changes": dict(changes)}
    outcome = call(run_dir / SOCKET_NAME, KIND, payload)
    clock = clock or SystemClock()
    until_s = clock.now_s() + STALE_S
    while outcome is None and clock.now_s() < until_s and _spoke_just_now(run_dir, clock):
        # It starts afresh with the change before this one; what were written past it now, it would not see.
        clock.sleep_until(clock.now_s() + _LOOK_S)
        outcome = call(run_dir / SOCKET_NAME, KIND, payload)
    if outcome is None:
        change(file, changes, check_settings)
        return False
    if outcome == "waiting":
        raise BadInput("lehrling daemon", "is busy and has not answered.", "Look in a minute whether it was kept.")
    if outcome != "done":
        raise BadInput("not kept", outcome.removeprefix("refused: "))
    return True


def _spoke_just_now(run_dir: Path, clock: Clock) -> bool:
    """Return whether a daemon wrote its state so lately that it may be starting afresh."""
    state = read_daemon_state(run_dir, clock.utc())
    return state is not None and not state.stale
