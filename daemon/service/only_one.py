"""One process at a time works in a data folder and on its probe: the daemon, or the doctor's own short look."""

from __future__ import annotations

import fcntl
import os
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from daemon.errors import BadInput

WAIT_S = 4.0
"""The daemon waits so long for the doctor to end its look [s]. [chosen: a second more than such a look may take]"""
_EACH_S = 0.1
"""Time between two tries [s]. [chosen: short against a start]"""


@contextmanager
def only_one(folder: Path, *, wait_s: float = WAIT_S) -> Iterator[None]:
    """Hold the data folder; the lock is the folder's own, so that it works on a full or read-only disk too.

    Parameters
    ----------
    folder
        The data folder.
    wait_s
        How long to wait for another that holds it [s].

    Raises
    ------
    BadInput
        Where another still holds it.
    """
    handle = os.open(folder, os.O_RDONLY | os.O_DIRECTORY)
    try:
        for left in range(round(wait_s / _EACH_S), -1, -1):
            try:
                fcntl.flock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)
                break
            except OSError:
                if left == 0:
                    raise BadInput(str(folder), "another Lehrling daemon works in this data folder.",
                                   "End that one first, or name another folder with --data.") from None
                time.sleep(_EACH_S)
        yield
    finally:
        os.close(handle)
