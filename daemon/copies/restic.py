"""Copies with restic, in a repository of the owner's. restic is installed by the owner, not by us.

Each copy is one snapshot: the copy of the record and all photographs, which restic stores only once.
"""

from __future__ import annotations

import json
import re
import stat
from collections.abc import Collection, Mapping, Sequence
from pathlib import Path
from typing import Any, NamedTuple

from daemon.copies.place import TOP, NotTaken, Stored
from daemon.copies.tool import call
from daemon.files import read_text
from daemon.settings.elsewhere import RESTIC_ENDING
from daemon.store.safety.copies import Copy, by_name

ENDING = RESTIC_ENDING
"""Of the file in the data folder that holds restic's variables, a line each: ``RESTIC_REPOSITORY=…``."""
_VARIABLE = re.compile(r"\s*((?:RESTIC|AWS|B2|AZURE|GOOGLE|OS|ST|RCLONE)_[A-Z0-9_]+)=(.*)")
_NEEDED = ("RESTIC_REPOSITORY", "RESTIC_PASSWORD")


class _Snapshot(NamedTuple):
    number: str
    copy: Copy
    """The copy in it."""
    tags: tuple[str, ...]


class ResticPlace:
    """A repository of restic's.

    Parameters
    ----------
    called
        What it is called in a sentence.
    file
        Holds restic's variables.
    """

    def __init__(self, called: str, file: Path) -> None:
        self.called = called
        self._file = file
        self._found: list[_Snapshot] | None = None
        self._held: dict[str, dict[str, int]] = {}
        """Files in a snapshot that was asked for, with their sizes; a snapshot never changes."""

    def marks(self) -> list[str]:
        """Return the marks of all records that have copies there."""
        return sorted({tag for snapshot in self._snapshots() for tag in snapshot.tags if tag != TOP})

    def stored(self, mark: str) -> Stored:
        """Return what lies there of a record; the photographs are those of the newest copy."""
        snapshots = self._snapshots(mark)
        sizes = [self._files(snapshot) for snapshot in snapshots[-1:]]
        newest = sizes[0] if sizes else {}
        copies = {snapshot.copy.path.name: newest.get(str(snapshot.copy.path), 0) for snapshot in snapshots}
        return Stored(copies, {Path(path).name: size for path, size in newest.items() if path.endswith(".jpg")})

    def put(self, mark: str, copy: Path, pictures: Sequence[Path]) -> None:
        """Make a snapshot of a copy and all photographs, unless there is one of it."""
        if any(snapshot.copy.path.name == copy.name for snapshot in self._snapshots(mark)):
            return
        self._restic("backup", "--quiet", "--host", "lehrling", "--tag", f"{TOP},{mark}", str(copy.absolute()),
                     *sorted({str(picture.absolute().parent) for picture in pictures}))
        self._found = None

    def read_back(self, mark: str, name: str, scratch: Path) -> Path:
        """Return a file with what lies there; a photograph is taken from the newest copy's snapshot."""
        for snapshot in reversed(self._snapshots(mark)):
            path = str(snapshot.copy.path) if name.endswith(".db") else next(
                (path for path in self._files(snapshot) if Path(path).name == name), "")
            if Path(path).name == name:
                target = scratch / name
                self._restic("dump", snapshot.number, path, to=target)
                return target
        raise NotTaken(f"There is no {name} at {self.called}.", "Take a copy again: lehrling copies make")

    def drop(self, mark: str, names: Collection[str]) -> None:
        """Forget the snapshots of copies of ours. Photographs go with the last snapshot that has them."""
        numbers = [snapshot.number for snapshot in self._snapshots(mark) if snapshot.copy.path.name in names]
        if numbers:
            self._restic("forget", "--quiet", "--prune", *numbers)
            self._found = None

    def _snapshots(self, mark: str = "") -> list[_Snapshot]:
        """Return the snapshots that hold a copy of a record, or of any, in the order of the copies' making."""
        if self._found is None:  # each call of restic takes a small computer some seconds
            found = []
            for row in self._rows(self._restic("snapshots", "--json", "--tag", TOP)):
                paths = (by_name(Path(str(path))) for path in row.get("paths") or ())
                copy = next((copy for copy in paths if copy is not None), None)
                if copy is not None:
                    found.append(_Snapshot(str(row.get("id")), copy, tuple(row.get("tags") or ())))
            self._found = sorted(found, key=lambda snapshot: snapshot.copy)
        return [snapshot for snapshot in self._found if not mark or mark in snapshot.tags]

    def _files(self, snapshot: _Snapshot) -> dict[str, int]:
        """Return the files in a snapshot with their sizes [bytes]."""
        if snapshot.number not in self._held:
            lines = self._restic("ls", "--json", snapshot.number).splitlines()
            self._held[snapshot.number] = {
                str(row["path"]): int(row.get("size", 0)) for line in lines if line.strip()
                for row in self._rows(f"[{line}]") if row.get("type") == "file"}
        return self._held[snapshot.number]

    def _rows(self, said: str) -> list[Mapping[str, Any]]:
        """Return the rows of an answer."""
        try:
            return [row for row in json.loads(said or "[]") or () if isinstance(row, dict)]
        except (ValueError, TypeError):
            raise NotTaken(f"restic’s answer about {self.called} makes no sense.", "Update restic.") from None

    def _restic(self, *words: str, to: Path | None = None) -> str:
        return call(self.called, ["restic", *words], self._variables(), to=to)

    def _variables(self) -> dict[str, str]:
        """Return what the owner's file sets; it holds a password, so nobody else may read it."""
        remedy = f"Write {', '.join(f'{name}=…' for name in _NEEDED)} into it, a line each."
        if not self._file.is_file():
            raise NotTaken(f"There is no {self._file}.", remedy)
        if self._file.stat().st_mode & stat.S_IRWXO:
            raise NotTaken(f"Everybody on this computer may read {self._file}, and it holds a password.",
                           f"Type: sudo chmod 600 {self._file}")
        lines = [line for line in read_text(str(self._file), what="file of variables").splitlines()
                 if line.strip() and not line.lstrip().startswith("#")]
        found = [_VARIABLE.fullmatch(line) for line in lines]
        if None in found:
            raise NotTaken(f"A line of {self._file} is no variable of restic’s.", remedy)
        kept = {match[1]: match[2].strip() for match in found if match}
        missing = [name for name in _NEEDED if name not in kept and f"{name}_FILE" not in kept]
        if missing:
            raise NotTaken(f"{self._file} lacks {' and '.join(missing)}.", remedy)
        return kept
