"""Changing settings from outside the daemon: by way of it where it runs, else in the file itself."""

from __future__ import annotations

from pathlib import Path

from daemon.errors import BadInput
from daemon.service.control_socket import FILE_NAME as SOCKET_NAME
from daemon.service.settings_desk import KIND
from daemon.service.socket_call import call
from daemon.settings.change import Changes, change


def ask_settings(file: Path, run_dir: Path, changes: Changes) -> bool:
    """Change settings; return whether a running daemon did it, which works with them at once.

    Parameters
    ----------
    file
        The settings file.
    run_dir
        Where the daemon's socket is.
    changes
        As ``change`` takes them.

    Raises
    ------
    BadInput
        Saying what can't be used and the remedy; nothing is changed then.
    """
    outcome = call(run_dir / SOCKET_NAME, KIND, {"file": str(file.resolve()), "changes": dict(changes)})
    if outcome is None:
        change(file, changes)
        return False
    if outcome == "waiting":
        raise BadInput("lehrling daemon", "is busy and has not answered.", "Look in a minute whether it was kept.")
    if outcome != "done":
        raise BadInput("not kept", outcome.removeprefix("refused: "))
    return True
