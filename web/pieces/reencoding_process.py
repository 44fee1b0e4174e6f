"""Photographs decoded and drawn anew in a process of their own: ``python -m web.pieces.reencoding_process``.

A decoder takes what strangers' files tell it to take. Here it has a bound of memory, of processor time and of what it
may write, it is ended where it takes too long, and what it took is given back when it ends: the page itself never
decodes a picture and imports no decoder.
"""

from __future__ import annotations

import argparse
import contextlib
import json
import os
import resource
import shutil
import subprocess
import sys
import tempfile
import threading
from collections.abc import Iterator, Sequence
from hashlib import sha256
from pathlib import Path
from typing import IO, Any

from web.pieces.picture_limits import Kept, NotAPicture

LONGEST_S = 60.0
"""A picture that takes longer is given up [s]. [chosen: some ten times what a small computer needs]"""
MEMORY_BYTES = 400 * 1024 * 1024
"""Address space of the process [bytes]. [derived: MOST_UNSCALED_PIXELS at 19 bytes, and 100 MB for Python, its
libraries and the results]"""
_WRITES_BYTES = 16 * 1024 * 1024
"""Longest file that the process may write [bytes]. [chosen: ten times a kept picture]"""
_ONE_AT_A_TIME = threading.Lock()
_ROOM_TO_WAIT = threading.BoundedSemaphore(2)
"""One picture is drawn and one may wait; a third is asked to come again, so that threads are left for the page."""
_BUSY = "Another picture is being kept just now. Wait a moment and send it again."
_SLOW = "This picture took too long to read. Send a smaller one."
_BROKE = ("This picture could not be drawn: reading it failed or took too much memory. Send a smaller one, or "
          "another kind.")


def develop(upload: IO[bytes], folder: Path) -> Kept:
    """Keep a photograph in its three sizes, under the hash of what was drawn.

    Parameters
    ----------
    upload
        What was sent; read from its beginning.
    folder
        Where pictures are kept; made where it is missing.

    Raises
    ------
    NotAPicture
        Where it is none, is broken, is larger than any camera takes, or could not be drawn in time.
    OSError
        Where the folder can't be written.
    """
    if not _ROOM_TO_WAIT.acquire(blocking=False):
        raise NotAPicture(_BUSY)
    try:
        if not _ONE_AT_A_TIME.acquire(timeout=LONGEST_S):
            raise NotAPicture(_BUSY)
        try:
            return _developed(upload, folder)
        finally:
            _ONE_AT_A_TIME.release()
    finally:
        _ROOM_TO_WAIT.release()


def _developed(upload: IO[bytes], folder: Path) -> Kept:
    """Draw in the other process and put the files where they are kept."""
    from daemon.store.photographs import SIZES  # the other process needs no record

    folder.mkdir(mode=0o750, exist_ok=True)
    with tempfile.TemporaryDirectory(prefix="unfinished-", dir=folder) as place:
        files = [Path(place, f"{size}.jpg") for size in SIZES]
        with _as_file(upload, place) as source:
            said = _drawn_elsewhere(source, files)
        refused = said.get("refused")
        if refused is not None:
            raise NotAPicture(str(refused))
        mark = sha256(files[0].read_bytes()).hexdigest()
        for file in files:
            file.replace(folder / f"{mark}-{file.name}")
    return Kept(mark, int(said["width"]), int(said["height"]))


@contextlib.contextmanager
def _as_file(upload: IO[bytes], place: str) -> Iterator[IO[bytes]]:
    """Give an upload as an open file in ``place``, which another process can read from its beginning."""
    with tempfile.TemporaryFile(dir=place) as copy:
        upload.seek(0)
        shutil.copyfileobj(upload, copy)
        copy.seek(0)
        yield copy


def _drawn_elsewhere(source: IO[bytes], files: Sequence[Path]) -> dict[str, Any]:
    """Return what the process said.

    Raises
    ------
    NotAPicture
        Where it was ended, or died of its bounds.
    """
    try:
        ran = subprocess.run(
            [sys.executable, "-m", "web.pieces.reencoding_process", *map(str, files)],
            stdin=source, stdout=subprocess.PIPE, stderr=subprocess.DEVNULL, timeout=LONGEST_S, check=False)
    except subprocess.TimeoutExpired:
        raise NotAPicture(_SLOW) from None
    try:
        said = json.loads(ran.stdout) if ran.returncode == 0 else None
    except ValueError:
        said = None
    if not isinstance(said, dict):
        raise NotAPicture(_BROKE)
    return said


def main(arguments: list[str] | None = None) -> int:
    """Draw the picture that comes on standard input; print its size, or why not, as JSON."""
    parser = argparse.ArgumentParser()
    parser.add_argument("files", type=Path, nargs=3)
    args = parser.parse_args(arguments)
    _bound(resource.RLIMIT_AS, MEMORY_BYTES)
    _bound(resource.RLIMIT_CPU, round(LONGEST_S))
    _bound(resource.RLIMIT_FSIZE, _WRITES_BYTES)
    _bound(resource.RLIMIT_CORE, 0)
    with contextlib.suppress(OSError):  # a service may be forbidden to
        os.nice(5)  # the watch goes first
    from web.pieces.image_reencoding import draw

    try:
        width, height = draw(sys.stdin.buffer, *args.files)
        said: dict[str, object] = {"width": width, "height": height}
    except NotAPicture as error:
        said = {"refused": str(error)}
    json.dump(said, sys.stdout)
    return 0


def _bound(what: int, most: int) -> None:
    """Bound what this process may take; never above what it is bound to already."""
    _, hard = resource.getrlimit(what)
    most = most if hard == resource.RLIM_INFINITY else min(most, hard)
    resource.setrlimit(what, (most, most))


if __name__ == "__main__":
    sys.exit(main())
