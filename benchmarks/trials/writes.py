"""Every write that some processes made to files of a folder, as ``strace`` saw them, and the disk after any of them.

A killed process leaves each write that it made, in order, since the kernel holds them. A power cut leaves what was
flushed (``fsync``), and of what was not any part, in sectors. ``Disk`` gives both for any moment of the record. Names
of files are taken for kept at once; a file system that loses a name after a flush of its file is not tried.
"""

from __future__ import annotations

import random
import re
import subprocess
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from pathlib import Path

SECTOR = 512
"""What a disk writes whole or not at all [bytes]."""
_LONGEST = 16_777_216
"""So much of one write is recorded [bytes]."""
_CALLS = ("write,pwrite64,fsync,fdatasync,ftruncate,openat,unlinkat,renameat,renameat2,"
          "?open,?creat,?unlink,?rename,?writev,?pwritev,?sendfile,?copy_file_range")
_UNFOLLOWED = ("writev", "pwritev", "sendfile", "copy_file_range", "open", "creat")
"""Calls that nothing here makes on the folder's files; one that does ends the trial instead of being overlooked."""
_SEEN = re.compile(r"^(\d+) +(.*)$")
_UNFINISHED = " <unfinished ...>"
_RESUMED = re.compile(r"^<\.\.\. \w+ resumed>(.*)$")
_CALL = re.compile(r"^(\w+)\((.*)\) += +(-?\d+)", re.DOTALL)
_OF_HANDLE = re.compile(r"^\d+<((?:\\x[0-9a-f]{2})*)>(\(deleted\))?")
_TEXT = re.compile(r'"((?:\\x[0-9a-f]{2})*)"(\.\.\.)?')


@dataclass(frozen=True)
class Write:
    """One thing done to a file of the folder.

    ``what`` is ``write``, ``flush``, ``cut`` (to length ``at``), ``make`` (empty), ``remove`` or ``rename`` (to
    ``to``). ``at`` is a byte of the file; None for its end.
    """

    what: str
    name: str
    data: bytes = b""
    at: int | None = None
    to: str = ""


def why_not() -> str:
    """Return why nothing can be recorded here; empty where it can."""
    try:
        tried = subprocess.run(["strace", "-o", "/dev/null", "true"], capture_output=True, check=False)
    except FileNotFoundError:
        return "strace is not installed"
    return "" if tried.returncode == 0 else "this machine lets no process trace another"


def recorded(command: Sequence[str | Path], log: Path, cwd: Path) -> int:
    """Run a command and all it starts under ``strace``, with every write in ``log``; return its exit code."""
    strace = ["strace", "--seccomp-bpf", "-f", "-y", "-xx", "-s", str(_LONGEST), "-e", "signal=none",
              "-e", f"trace={_CALLS}", "-o", str(log)]
    return subprocess.run([*strace, *map(str, command)], cwd=cwd, check=False).returncode


def read_log(log: Path, folder: Path) -> Iterator[Write]:
    """Give what ``log`` says was done to files of ``folder``, in the order of doing."""
    begun: dict[str, str] = {}
    with log.open(encoding="ascii") as lines:
        for line in lines:
            found = _SEEN.match(line)
            if found is None:
                continue
            process, text = found[1], found[2]
            if text.endswith(_UNFINISHED):
                begun[process] = text.removesuffix(_UNFINISHED)
                continue
            rest = _RESUMED.match(text)
            text = begun.pop(process, "") + rest[1] if rest else text
            call = _CALL.match(text)
            if call is not None and int(call[3]) >= 0:
                yield from _write(call[1], call[2], int(call[3]), f"{folder}/")


def _write(call: str, arguments: str, result: int, under: str) -> Iterator[Write]:
    """Give what one call did, where it was to a file whose path begins with ``under``."""
    texts = [_bytes(text[1]) for text in _TEXT.finditer(arguments)]
    handle = _OF_HANDLE.match(arguments)
    if handle is not None and not arguments.startswith("AT_FDCWD"):
        name = _bytes(handle[1]).decode()
        if handle[2] or not name.startswith(under):
            return
        name = name.removeprefix(under)
        if call in _UNFOLLOWED:
            raise ValueError(f"{call} on {name} is not followed")
        if call == "pwrite64":
            yield Write("write", name, texts[0][:result], int(arguments.rsplit(",", 1)[1]))
        elif call == "write":
            yield Write("write", name, texts[0][:result])
        elif call == "ftruncate":
            yield Write("cut", name, at=int(arguments.rsplit(",", 1)[1]))
        elif call in ("fsync", "fdatasync"):
            yield Write("flush", name)
        return
    names = [text.decode() for text in texts]
    if not names or not names[0].startswith(under):
        return
    name = names[0].removeprefix(under)
    if call in _UNFOLLOWED:
        raise ValueError(f"{call} of {name} is not followed")
    if call == "openat" and ("O_TRUNC" in arguments or "O_CREAT" in arguments):
        yield Write("make" if "O_TRUNC" in arguments else "write", name, at=0)
    elif call.startswith("unlink"):
        yield Write("remove", name)
    elif call.startswith("rename"):
        yield Write("rename", name, to=names[1].removeprefix(under))


def _bytes(text: str) -> bytes:
    return bytes.fromhex(text.replace("\\x", ""))


@dataclass
class _File:
    """What a file holds, what of it is flushed, and what was done to it since."""

    now: bytearray = field(default_factory=bytearray)
    flushed: bytearray = field(default_factory=bytearray)
    waiting: list[Write] = field(default_factory=list)


class Disk:
    """The folder's files as the writes so far left them."""

    def __init__(self) -> None:
        self._files: dict[str, _File] = {}

    def do(self, write: Write) -> None:
        """Let one write happen."""
        if write.what == "remove":
            self._files.pop(write.name, None)
        elif write.what == "flush" and write.name not in self._files:
            return  # a folder
        elif write.what == "rename":
            self._files[write.to] = self._files.pop(write.name)
        else:
            file = self._files.setdefault(write.name, _File())
            if write.what == "flush":
                file.flushed, file.waiting = bytearray(file.now), []
            else:
                placed = Write(write.what, write.name, write.data, len(file.now) if write.at is None else write.at)
                _apply(file.now, placed)
                file.waiting.append(placed)

    def after_kill(self) -> dict[str, bytes]:
        """Return each file as another process finds it."""
        return {name: bytes(file.now) for name, file in self._files.items()}

    def after_half(self, write: Write) -> dict[str, bytes]:
        """Return each file as it is when ``write``, the next one, is broken off in its middle."""
        files = self.after_kill()
        if write.what == "write" and write.name in files:
            torn = bytearray(files[write.name])
            at = len(torn) if write.at is None else write.at
            _apply(torn, Write("write", write.name, write.data[:len(write.data) // 2], at))
            files[write.name] = bytes(torn)
        return files

    def after_power_cut(self, chance: random.Random) -> dict[str, bytes]:
        """Return each file as a disk may hold it that lost its power: what was not flushed is there by chance."""
        files = {}
        for name, file in self._files.items():
            kept = bytearray(file.flushed)
            for write in file.waiting:
                if write.what != "write":
                    if chance.random() < 0.5:
                        _apply(kept, write)
                    continue
                for start in range(0, len(write.data), SECTOR):
                    if chance.random() < 0.5:
                        _apply(kept, Write("write", name, write.data[start:start + SECTOR], (write.at or 0) + start))
            files[name] = bytes(kept)
        return files


def _apply(content: bytearray, write: Write) -> None:
    """Change the content of a file; a write beyond its end leaves zeros before it."""
    at = write.at or 0
    if write.what == "make":
        del content[:]
    elif write.what == "cut":
        del content[at:]
        content.extend(bytes(at - len(content)))
    elif write.data:
        content.extend(bytes(max(0, at - len(content))))
        content[at:at + len(write.data)] = write.data
