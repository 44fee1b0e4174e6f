"""What the resident memory of this process is made of, so that growth can be laid at somebody's door."""

from __future__ import annotations

import ctypes
import ctypes.util
import sys
from pathlib import Path

MB = 1e6


class _Mallinfo(ctypes.Structure):
    """What mallinfo2(3) of glibc returns of its main arena: those of other threads are not in it."""

    _fields_ = tuple((name, ctypes.c_size_t) for name in (
        "arena", "ordblks", "smblks", "hblks", "hblkhd", "usmblks", "fsmblks", "uordblks", "fordblks", "keepcost"))


def held() -> dict[str, float]:
    """Return parts of the resident memory [MB]; they overlap, and what this computer can't say is left out.

    ``resident`` is ``anonymous`` and what is mapped from files. Of the anonymous part glibc has given out
    ``malloc_used`` and keeps ``malloc_free`` for later; ``sqlite`` is in use by SQLite, and counts in the former. The
    rest is mostly Python's own allocator: ``python_blocks`` are the small objects in it, in thousands.
    """
    status = dict(line.split(":", 1) for line in Path("/proc/self/status").read_text().splitlines())
    return {"resident": int(status["VmRSS"].split()[0]) * 1024 / MB,
            "anonymous": int(status["RssAnon"].split()[0]) * 1024 / MB,
            "python_blocks": sys.getallocatedblocks() / 1000, **_of_malloc(), **_of_sqlite()}


def _of_malloc() -> dict[str, float]:
    libc = ctypes.CDLL(None)
    if not hasattr(libc, "mallinfo2"):
        return {}
    libc.mallinfo2.restype = _Mallinfo
    info = libc.mallinfo2()
    return {"malloc_used": info.uordblks / MB, "malloc_free": info.fordblks / MB}


def _of_sqlite() -> dict[str, float]:
    name = ctypes.util.find_library("sqlite3")
    if name is None:
        return {}
    library = ctypes.CDLL(name)
    library.sqlite3_memory_used.restype = ctypes.c_int64
    return {"sqlite": library.sqlite3_memory_used() / MB}
