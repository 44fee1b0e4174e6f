"""Files of other loggers that were sent and wait until their reader has looked at them; a few, and not for long."""

from __future__ import annotations

import os
import re
import secrets
from contextlib import suppress
from pathlib import Path
from typing import IO

from daemon.store.chain.source_file import MOST_BYTES

FOLDER = "other-logs"
MOST = 5
"""Files that wait at most; the oldest makes room. [chosen: bounds the disk]"""
KEPT_S = 86_400.0
"""A file that was not taken in within this is removed when the next one comes [s]. [chosen: a day]"""
_BLOCK_BYTES = 64 * 1024
"""Copied in one go. [chosen: bounds the memory of a small Pi]"""
_TOKEN = re.compile(r"[0-9a-f]{32}", re.ASCII)


class TooLong(ValueError):
    """The file is longer than a file that is kept may be."""


def put(folder: Path, stream: IO[bytes], now_s: float) -> str:
    """Write what was sent into ``folder`` and return the token that names it.

    Parameters
    ----------
    folder
        Of the files that wait; made where it is missing.
    stream
        What was sent.
    now_s
        Wall time as Unix time [s].

    Raises
    ------
    TooLong
        Where it is longer than MOST_BYTES; nothing of it stays.
    OSError
        Where the disk refuses; nothing of it stays.
    """
    folder.mkdir(mode=0o700, exist_ok=True)
    _make_room(folder, now_s)
    token = secrets.token_hex(16)
    part, left = folder / f"{token}.part", MOST_BYTES
    try:
        with part.open("xb") as file:
            while block := stream.read(_BLOCK_BYTES):
                left -= len(block)
                if left < 0:
                    raise TooLong
                file.write(block)
        os.replace(part, folder / token)
    finally:
        part.unlink(missing_ok=True)
    return token


def path_of(folder: Path, token: str) -> Path | None:
    """Return where a file waits; None where it waits no longer."""
    path = folder / token
    return path if _TOKEN.fullmatch(token) and path.is_file() else None


def remove(folder: Path, token: str) -> None:
    """Remove a file that was taken in."""
    path = path_of(folder, token)
    if path is not None:
        path.unlink(missing_ok=True)


def _make_room(folder: Path, now_s: float) -> None:
    """Remove files that waited too long, and the oldest ones where there are too many."""
    found = []
    for path in folder.iterdir():
        with suppress(OSError):
            found.append((path.stat().st_mtime, path))
    found.sort()
    for number, (written_s, path) in enumerate(found, start=1):
        if now_s - written_s > KEPT_S or number <= len(found) - (MOST - 1):
            path.unlink(missing_ok=True)
