"""Giving memory that the process no longer uses back to the computer."""

from __future__ import annotations

import ctypes


def give_back() -> bool:
    """Let the C library return what it keeps for later, in all its arenas; whether there was any (malloc_trim(3)).

    glibc returns by itself only what lies at the end of an arena. A night's work takes some megabytes in pieces of a
    page each, and a single piece behind them keeps them all. Other C libraries have no such call: nothing happens.
    """
    trim = getattr(ctypes.CDLL(None), "malloc_trim", None)
    return trim is not None and bool(trim(0))
