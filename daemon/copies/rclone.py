"""Copies with rclone, in any store that the owner's rclone.conf names. It is installed by the owner, not by us."""

from __future__ import annotations

import json
import tempfile
from collections.abc import Collection, Sequence
from pathlib import Path

from daemon.copies.place import PICTURES, TOP, NotTaken, Stored
from daemon.copies.tool import call
from daemon.settings.elsewhere import RCLONE_FILE

SETTINGS = RCLONE_FILE
"""rclone's own settings, in the data folder."""
_NO_FOLDER = 3
"""Its exit code for a folder that is not there. [source: rclone documentation, "Exit code"]"""
_BOUNDS = ("--retries", "2", "--low-level-retries", "3", "--contimeout", "20s", "--timeout", "120s")
"""How patient it is with a network. [chosen: the next hour tries again]"""


class RclonePlace:
    """A remote of rclone's with a path.

    Parameters
    ----------
    called
        What it is called in a sentence.
    remote
        The remote and the path, as ``nas:kiln``.
    data
        The folder with rclone.conf.
    """

    def __init__(self, called: str, remote: str, data: Path) -> None:
        self.called = called
        self._top = remote + TOP if remote.endswith((":", "/")) else f"{remote}/{TOP}"
        self._settings = data / SETTINGS

    def marks(self) -> list[str]:
        """Return the marks of all records that have copies there."""
        return sorted(name.rstrip("/") for name in self._rclone("lsf", "--dirs-only", self._top).splitlines())

    def stored(self, mark: str) -> Stored:
        """Return what lies there of a record."""
        said = self._rclone("lsjson", "--recursive", "--files-only", "--no-modtime", "--no-mimetype",
                            f"{self._top}/{mark}")
        try:
            found = {str(row["Path"]): int(row["Size"]) for row in json.loads(said or "[]")}
        except (ValueError, KeyError, TypeError):
            raise NotTaken(f"rclone’s answer about {self.called} makes no sense.", "Update rclone.") from None
        return Stored({name: size for name, size in found.items() if "/" not in name},
                      {name.removeprefix(f"{PICTURES}/"): size for name, size in found.items()
                       if name.startswith(f"{PICTURES}/")})

    def put(self, mark: str, copy: Path, pictures: Sequence[Path]) -> None:
        """Write a copy, and the photographs that are not there in full."""
        there = self.stored(mark)
        new = [path for path in pictures if there.pictures.get(path.name) != path.stat().st_size]
        if new:
            with tempfile.NamedTemporaryFile("w", encoding="utf-8") as names:
                names.write("".join(f"{path.name}\n" for path in new))
                names.flush()
                self._rclone("copy", "--ignore-times", "--files-from-raw", names.name, str(new[0].parent),
                             f"{self._top}/{mark}/{PICTURES}")
        if there.copies.get(copy.name) != copy.stat().st_size:
            self._rclone("copyto", "--ignore-times", str(copy), f"{self._top}/{mark}/{copy.name}")

    def read_back(self, mark: str, name: str, scratch: Path) -> Path:
        """Return a file with what lies there."""
        target = scratch / name
        target.unlink(missing_ok=True)
        self._rclone("copyto", self._at(mark, name), str(target))
        if not target.is_file():
            raise NotTaken(f"There is no {name} at {self.called}.", "Take a copy again: lehrling copies make")
        return target

    def drop(self, mark: str, names: Collection[str]) -> None:
        """Remove files of ours."""
        for name in names:
            self._rclone("deletefile", self._at(mark, name))

    def _at(self, mark: str, name: str) -> str:
        return f"{self._top}/{mark}/{PICTURES + '/' if name.endswith('.jpg') else ''}{name}"

    def _rclone(self, *words: str) -> str:
        if not self._settings.is_file():
            raise NotTaken(f"There is no {self._settings}.", "Name the remote there: sudo -u lehrling rclone config "
                           f"--config {self._settings}")
        return call(self.called, ["rclone", "--config", str(self._settings), *_BOUNDS, *words], {},
                    empty=(_NO_FOLDER,))
