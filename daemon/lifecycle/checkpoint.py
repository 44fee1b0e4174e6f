"""A checkpoint: what the decision remembers of the open firing, kept in a file beside the record.

Without one, a restart late in a firing judges every stored reading again, which takes a slow computer half a minute.
With one, only the readings since are judged. A checkpoint is only a shortcut. It is thrown away wherever it is not
certainly the same: written by another program, of another firing, plan or load, or after other entries than the
record holds. Then everything is judged again, and what is told is the same.
"""

from __future__ import annotations

import io
import logging
import os
import pickle
import sys
import zlib
from collections.abc import Sequence
from functools import lru_cache
from hashlib import sha256
from pathlib import Path
from types import FunctionType, MethodType
from typing import Any, NamedTuple

from daemon.firing.alerts.registry import KINDS
from daemon.firing.events import Said, Sample
from daemon.firing.kind import Kind
from daemon.firing.setup import Setup
from daemon.firing.state import State

LOG = logging.getLogger(__name__)
FILE_NAME = "checkpoint"
_PACKAGE = "daemon"
"""A checkpoint holds objects of this package's classes only, and what they are made of."""
_PLAIN = frozenset({("collections", "deque")})
"""What else it may name."""
_KINDS = {kind.name: kind for kind in KINDS}


class Taken(NamedTuple):
    """Which entries a decision has taken: how many, and a checksum over them in their order."""

    number: int = 0
    checksum: int = 0

    def after(self, entry: Sample | Said) -> Taken:
        """Return the same with one entry more."""
        return Taken(self.number + 1, zlib.crc32(repr(entry).encode(), self.checksum))


class Of(NamedTuple):
    """What a checkpoint is of."""

    firing_id: int
    alert_base: int
    """Alerts up to this number were raised under an earlier plan."""
    setup: Setup


def write(path: Path, of: Of, taken: Taken, state: State) -> None:
    """Write a checkpoint, or leave the last one as it was.

    Parameters
    ----------
    path
        The file.
    of
        The firing.
    taken
        The entries that ``state`` has taken; the record holds every one of them.
    state
        What the decision remembers.

    Raises
    ------
    OSError
        Where the file can't be written.
    """
    held = io.BytesIO()
    _Writer(held, protocol=pickle.HIGHEST_PROTOCOL).dump((program(), of, taken, state))
    packed = zlib.compress(held.getvalue(), level=1)
    unfinished = path.with_name(f".{path.name}.unfinished")
    handle = os.open(unfinished, os.O_WRONLY | os.O_CREAT | os.O_TRUNC, 0o600)
    with os.fdopen(handle, "wb") as file:
        file.write(sha256(packed).digest() + packed)
        file.flush()
        os.fsync(file.fileno())
    unfinished.replace(path)


def read(path: Path, of: Of, entries: Sequence[Sample | Said]) -> tuple[State, Taken] | None:
    """Return what the decision remembered, and which entries it had taken by then.

    Parameters
    ----------
    path
        The file.
    of
        The firing as it is known now.
    entries
        Its stored entries, in the order they are judged.

    Returns
    -------
    tuple or None
        None where there is no checkpoint, or one that is not certainly of this firing and its first entries.
    """
    try:
        data = path.read_bytes()
    except OSError:
        return None
    digest, packed = data[:32], data[32:]
    if sha256(packed).digest() != digest:
        LOG.warning("The checkpoint %s is damaged: the whole firing is judged again.", path)
        return None
    try:
        written_by, was_of, taken, state = _Reader(io.BytesIO(zlib.decompress(packed))).load()
    except Exception as err:  # of an older program: its classes may be gone or have other attributes
        LOG.info("The checkpoint can't be used, and the whole firing is judged again: %s.", err)
        return None
    if (written_by, was_of) == (program(), of) and isinstance(taken, Taken) and isinstance(state, State) and (
            after_all(entries[:taken.number]) == taken):
        return state, taken
    LOG.info("The checkpoint is of another program, plan or firing: the whole firing is judged again.")
    return None


def after_all(entries: Sequence[Sample | Said], taken: Taken | None = None) -> Taken:
    """Return what a decision has taken that took ``taken`` first, if anything, and then all these entries."""
    taken = taken or Taken()
    for entry in entries:
        taken = taken.after(entry)
    return taken


@lru_cache(maxsize=1)
def program() -> str:
    """Return what tells this program from any other: a digest over its own sources and Python's version."""
    found = sha256(sys.version.encode())
    here = Path(__file__).parents[1]
    for source in sorted(here.rglob("*.py")):
        found.update(str(source.relative_to(here)).encode() + b"\0" + source.read_bytes())
    return found.hexdigest()


def _method(of: object, name: str) -> Any:
    """Return a method of an object of this package, as a watch is kept by its ``see``."""
    if type(of).__module__.split(".")[0] != _PACKAGE:
        raise pickle.UnpicklingError(f"{type(of).__name__} is no class of this program")
    return getattr(of, name)


class _Writer(pickle.Pickler):
    """Keeps a kind of alert by its name, since it holds functions without one."""

    def persistent_id(self, obj: Any) -> str | None:
        """Return the name of a kind; None for anything else."""
        return obj.name if isinstance(obj, Kind) else None

    def reducer_override(self, obj: Any) -> Any:
        """Return how a bound method is made again; anything else is kept as usual."""
        if isinstance(obj, MethodType) and not isinstance(obj.__self__, type):
            return _method, (obj.__self__, obj.__name__)
        return NotImplemented


class _Reader(pickle.Unpickler):
    """Makes objects of this package's classes only."""

    def persistent_load(self, pid: Any) -> Kind[Any]:
        """Return the kind of alert of a name."""
        return _KINDS[pid]

    def find_class(self, module: str, name: str) -> Any:
        """Return a class or a function of this package, or one of the few plain ones."""
        if (module, name) not in _PLAIN and module.split(".")[0] != _PACKAGE:
            raise pickle.UnpicklingError(f"{module}.{name} has no place in a checkpoint")
        found = super().find_class(module, name)
        if not isinstance(found, type | FunctionType):
            raise pickle.UnpicklingError(f"{module}.{name} has no place in a checkpoint")
        return found
