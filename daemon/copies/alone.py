"""One process at a time takes copies or puts the record back."""

from __future__ import annotations

import fcntl
import os
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from daemon.errors import BadInput
from daemon.update.debian import as_owner

LOCK = "copies-elsewhere.lock"
"""Held by whoever takes copies or puts one back, in the data folder."""


class Busy(BadInput):
    """Another process takes copies or puts one back."""


@contextmanager
def alone(data: Path, command: str) -> Iterator[None]:
    """Hold the lock; its file belongs to the owner of the data folder, also where root holds it.

    Parameters
    ----------
    data
        The data folder.
    command
        Who wants it, for the words.

    Raises
    ------
    Busy
        Where another process holds it.
    """
    lock = data / LOCK
    as_owner(data, lambda: _made(lock))
    handle = os.open(lock, os.O_RDONLY | os.O_NOFOLLOW)
    try:
        try:
            fcntl.flock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)
        except OSError:
            raise Busy(command, "a copy is being taken or put back just now.", "Try again in a while.") from None
        yield
    finally:
        os.close(handle)


def _made(lock: Path) -> str:
    """Make the file where there is none."""
    lock.touch()
    return ""
