"""What the daemon says of a sounder whose settings have just changed: whether it could open it."""

from __future__ import annotations

from pathlib import Path
from typing import Literal, NamedTuple

from daemon.clock import Clock, SystemClock
from daemon.notify.trouble import Ailing
from daemon.service.control_socket import FILE_NAME as SOCKET_NAME
from daemon.service.state_reader import FILE_NAME as STATE_NAME
from daemon.service.state_reader import read_daemon_state
from daemon.settings.change import Changes, file_mark

WAIT_S = 10.0
"""How long to wait for the daemon's fresh start [s]. [chosen: a start on a Raspberry Pi, and what a page may take]"""
_LOOK_S = 0.2
"""Time between two looks [s]. [chosen: short against a start]"""

Found = Literal["opened", "not opened", "not tried"]
Mark = tuple[int, int, int] | None
"""Of the daemon's socket, which each start makes anew; None where none runs."""


class Word(NamedTuple):
    """Whether the daemon opened the sounder, and its sentence where it could not."""

    found: Found
    why: str = ""


def is_set(changes: Changes) -> bool:
    """Return whether changes give the sounder a pin, or another meaning of one."""
    return any(key.startswith("sounder.") and value is not None for key, value in changes.items())


def before_change(run_dir: Path) -> Mark:
    """Return what tells the daemon that runs from the one that starts afresh after a change."""
    return file_mark(run_dir / SOCKET_NAME)


def after_change(run_dir: Path, before: Mark, clock: Clock | None = None) -> Word:
    """Wait for the daemon that starts afresh, and return what it says of the sounder.

    Parameters
    ----------
    run_dir
        Where its socket and its state file are.
    before
        What ``before_change`` returned.
    clock
        The computer's own where left out.
    """
    clock = clock or SystemClock()
    until_s = clock.now_s() + WAIT_S
    while clock.now_s() < until_s:
        socket, state = file_mark(run_dir / SOCKET_NAME), file_mark(run_dir / STATE_NAME)
        # A state written after the new socket is the fresh daemon's own.
        if socket is not None and socket != before and state is not None and state[0] > socket[0]:
            said = read_daemon_state(run_dir, clock.utc())
            if said is not None:
                why = [one.text for one in said.troubles if one.ailing is Ailing.SOUNDER]
                return Word("not opened", " ".join(why)) if why else Word("opened")
        clock.sleep_until(clock.now_s() + _LOOK_S)
    return Word("not tried")
